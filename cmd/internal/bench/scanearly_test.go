package bench

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"pouchward/triage"
)

// What is scanned while a page is only coming may lose its first symbols: the keys before
// the page is there belong to the page before, or to nobody. What is left of a tag is
// never another tag, and nothing is recorded of it. A script that listens from the first
// line of the page, before its body, was measured and hears no more of it: the keys are
// lost before the page has begun.
func TestBrowserScanIntoComingPage(t *testing.T) {
	b := newBrowser(t, stocked(t))
	tag := must(triage.RestoreTag("K9CT4?"))
	before := b.shop.size()
	whole, earlier, cut, none := 0, 0, 0, 0
	for i := range 12 {
		b.open("/due")
		b.until("document.readyState === 'complete'")
		if _, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool]("(() => { location.href = '/assess?new=1'; return true })()")); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(i%6) * 15 * time.Millisecond) // at another moment each time
		b.scan(tag)
		b.until("location.pathname === '/assess' && document.readyState === 'complete' && document.querySelector('#f-tag') || location.pathname === '/cell/' + '" + tag + "' || location.search.includes('tag=') || location.pathname === '/cell'")
		// Asked in one breath: a page that goes on has no field in between.
		got := "coming"
		for range 100 {
			if got = b.eval("location.pathname !== '/assess' ? 'elsewhere' : document.querySelector('#f-tag')?.value ?? 'coming'"); got != "coming" {
				break
			}
			time.Sleep(50 * time.Millisecond)
		}
		if got == "elsewhere" {
			earlier++ // the page before took it for its own, and asks for that cell
			continue
		}
		switch {
		case got == tag:
			whole++
		case got == "":
			none++
		case strings.HasSuffix(tag, got):
			cut++
			if _, _, err := triage.CheckTag(got); err == nil && len(got) == triage.CellTag.Length() {
				t.Errorf("what is left, %q, is taken for a cell", got)
			}
		default:
			t.Errorf("%q became %q", tag, got)
		}
	}
	t.Logf("whole %d, taken whole by the page before %d, cut %d, lost %d", whole, earlier, cut, none)
	if b.shop.size() != before {
		t.Error("recorded")
	}
}

// A tag that lost symbols at either end is refused, wherever it is scanned: its last
// symbol checks the others, and a shorter one has the length of something else.
func TestCutTagIsRefused(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	for from := range tag {
		for to := from + 1; to <= len(tag); to++ {
			cut := tag[from:to]
			if cut == tag {
				continue
			}
			w := x.get("/cell?tag=" + cut)
			if at := w.Header().Get("Location"); w.Code == http.StatusSeeOther && strings.HasPrefix(at, "/cell/") {
				t.Errorf("%s of %s leads to %s", cut, tag, at)
			}
			before := x.size()
			x.post("/assess", "draft", x.form(), "rev", "0", "do", "record", "sure", "yes", "sign", "wet", "looked", "yes", "tag", cut)
			if x.size() != before {
				t.Errorf("recorded under %s, cut from %s", cut, tag)
			}
		}
	}
}
