package bench

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"pouchward/cmd/internal/app"
	"pouchward/triage"
)

// stocked puts a place and a container into the log.
func stocked(t *testing.T) *shop {
	t.Helper()
	x := newShop(t)
	rec := x.s.desk.Recording("Bench 2", "JR")
	a := app.Assess(must(x.s.desk.Shop()), []app.Given{{Field: triage.Signs, Text: "dented"}})
	if _, err := rec.Record(a); err != nil {
		t.Fatal(err)
	}
	if _, err := rec.Move(a.Shop, app.Act{}, app.Move{Tags: []string{a.Verdict.Tag}, To: "Y1"}); err != nil {
		t.Fatal(err)
	}
	return x
}

// The tag K9 CT4N is scanned onto a voltage field; a swollen cell goes from there to
// its label link in eight taps.
func TestBrowserIntake(t *testing.T) {
	b := newBrowser(t, stocked(t))
	b.open("/assess")
	tag := must(triage.RestoreTag("K9CT4?"))
	b.do(chromedp.Focus(chromedp.CSS("#f-ocv_v")))
	b.scan(tag)
	b.is("document.querySelector('#f-tag').value", tag)
	b.is("document.querySelector('#f-ocv_v').value", "")
	taps := 0
	tap := func(css string) { b.Helper(); b.click(css); taps++ }
	begun := time.Now()
	tap("input[name=sign][value=swollen]")
	b.shows("WARNING")
	tap("input[name=looked][value=yes]")
	b.shows("ISOLATE")
	b.shows("Look at 15:07")
	b.goes("#record")
	taps++
	b.until("location.pathname === '/done/4'")
	for _, name := range []string{"terminals", "bag", "fill"} {
		tap("input[name=" + name + "]")
	}
	b.goes("button[name=to][value=Y1]")
	taps++
	b.until("document.body.innerText.includes('It stands at Y1')")
	b.is("document.querySelector('#label').getAttribute('href')", "/label/"+tag)
	taps++ // the link itself
	if took := time.Since(begun); taps > 8 || took > 45*time.Second {
		t.Errorf("%d taps, %v", taps, took)
	}
	b.is("document.querySelector('.hugetag').innerText", triage.SpacedTag(tag))
	if e := b.shop.entry(4); e.Tags[0] != tag || e.Issued() {
		t.Errorf("%+v", e.Draft)
	}
	for i, kind := range []string{"secured", "move"} {
		if e := b.shop.entry(int64(5 + i)); e.Kind != kind || e.Tags[0] != tag {
			t.Errorf("entry %d is a %s of %v", 5+i, e.Kind, e.Tags)
		}
	}
}

// A scan is never a decision, wherever the focus is; hands can still press.
func TestBrowserScanDecidesNothing(t *testing.T) {
	b := newBrowser(t, stocked(t))
	b.open("/assess")
	tag, other := must(triage.RestoreTag("K9CT4?")), must(triage.RestoreTag("F2XE9?"))
	before := b.shop.size()
	b.click("input[name=looked][value=yes]")
	for _, css := range []string{"#record", "#f-kind", "input[name=sign][value=wet]", "#f-tag", "#f-cell_c", "summary"} {
		b.do(chromedp.Focus(chromedp.CSS(css)))
		b.scan(tag)
		b.is("document.querySelector('#f-tag').value", tag)
		b.do(chromedp.Sleep(2100 * time.Millisecond)) // past the time in which a code counts once
	}
	b.is("location.pathname + document.querySelector('#f-cell_c').value + document.querySelector('#f-kind').value", "/assess")
	b.is("document.querySelector('input[name=sign][value=wet]').checked", "false")
	b.is("document.querySelector('#emergency').open", "false")
	// Another tag does not take the readings away from the first.
	b.scan(other)
	b.is("document.querySelector('#f-tag').value", tag)
	b.until("document.querySelector('#scan-says').innerText.includes('" + other + "')")
	b.click("#scan-says button")
	b.is("document.querySelector('#f-tag').value", other)
	// A part number goes where a person puts it, or stays in a field for any text.
	b.do(chromedp.Focus(chromedp.CSS("#f-ocv_v")))
	b.scan("BP-3850-A")
	b.is("document.querySelector('#f-ocv_v').value + document.querySelector('#f-part').value", "")
	b.click("#scan-says button")
	b.is("document.querySelector('#f-part').value", "BP-3850-A")
	// Hands are slower.
	b.do(chromedp.Focus(chromedp.CSS("#f-ocv_v")))
	b.typed("3.78\r")
	b.is("document.querySelector('#f-ocv_v').value", "3.78")
	b.is("document.activeElement.id", "f-rest_h")
	if b.shop.size() != before {
		t.Error("a scan recorded something")
	}
}

// What is typed comes back after the browser was closed, without any button.
func TestBrowserDraft(t *testing.T) {
	b := newBrowser(t, newShop(t))
	b.open("/assess")
	b.do(chromedp.Focus(chromedp.CSS("#f-ticket")))
	b.typed("R-77")
	b.click("button[value='ocv_v=us']")
	b.until("document.querySelector('[name=rev]').value !== '0'")
	b.shows("UNSAFE")
	b.do(chromedp.Navigate("about:blank"))
	b.open("/assess")
	b.is("document.querySelector('#f-ticket').value + document.querySelector('#f-ocv_v').value", "R-77us")
	b.until("document.body.innerText.includes('draft of 14:07, just now')")
}

// A screen reader hears the class and what comes first, once for each change, and not
// the card.
func TestBrowserIsHeard(t *testing.T) {
	b := newBrowser(t, newShop(t))
	b.open("/assess")
	b.eval("window.times = 0, new MutationObserver(() => window.times++).observe(document.querySelector('#heard'), {childList: true})")
	b.click("input[name=sign][value=swollen]")
	b.until("document.querySelector('#heard').textContent.startsWith('WARNING ISOLATE')")
	heard := b.eval("document.querySelector('#heard').textContent")
	if first := b.eval("document.querySelector('#verdict .do li').textContent"); !strings.Contains(heard, strings.TrimSuffix(first, ".")) || len(heard) > 400 {
		t.Errorf("heard: %q; to do first: %q", heard, first)
	}
	b.do(chromedp.Focus(chromedp.CSS("#f-ticket")))
	b.typed("R-77")
	b.until("document.querySelector('#command').textContent.includes('R-77')")
	b.is("window.times", "1")
	b.is("document.querySelectorAll('#verdict[aria-live], #verdict [aria-live]').length", "0")
}

// With the server gone the emergency card opens all the same, and the old verdict
// says that it is old.
func TestBrowserEmergencyWithoutServer(t *testing.T) {
	for _, script := range []bool{true, false} {
		b := newBrowser(t, newShop(t))
		b.scripts(script)
		b.open("/assess")
		b.stop()
		if script {
			b.click("input[name=sign][value=wet]")
			b.until("(document.querySelector('#verdict').dataset.stale || '').includes('does not answer')")
			b.until("document.querySelector('#heard').textContent.includes('card is OLD')")
		}
		b.click("#emergency > summary")
		box, err := chromedp.Run(b.ctx, chromedp.Text(chromedp.CSS("#emergency .card")))
		if err != nil {
			t.Fatal(err)
		}
		for _, text := range []string{"DANGER", "AWAY", "WARN", "CALL", "COUNT", triage.LocalFirst} {
			if !strings.Contains(box, text) {
				t.Errorf("the card does not say %q: %s", text, box)
			}
		}
	}
}

func (b *browser) scripts(on bool) {
	b.Helper()
	if _, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on}); err != nil {
		b.Fatal(err)
	}
}

// Without script: judge, tick the box, record. Enter, as of a scanner, only judges.
func TestBrowserWithoutScript(t *testing.T) {
	b := newBrowser(t, newShop(t))
	b.scripts(false)
	b.open("/assess")
	tag := must(triage.RestoreTag("K9CT4?"))
	b.until("document.activeElement.id === 'f-tag'")
	b.scan(tag) // the scan field has the focus
	b.until("location.search !== '' && document.readyState === 'complete'")
	b.click("input[name=sign][value=swollen]")
	b.goes("#judge")
	b.shows("ISOLATE")
	b.is("document.querySelector('#f-tag').value", tag)
	b.goes("#record")
	if b.shop.size() != 1 {
		t.Fatal("recorded without the box")
	}
	b.click("input[name=sure]")
	b.goes("#record")
	b.until("location.pathname === '/done/2'")
	if e := b.shop.entry(2); e.Tags[0] != tag {
		t.Errorf("%v", e.Tags)
	}
}

// With the keyboard alone; the focus can be seen at every stop.
func TestBrowserKeyboard(t *testing.T) {
	b := newBrowser(t, stocked(t))
	b.open("/assess")
	b.until("document.activeElement.id === 'f-tag'")
	to := func(js string) {
		b.Helper()
		for range 160 {
			if b.eval("document.activeElement.matches('"+js+"')") == "true" {
				return
			}
			b.typed("\t")
			if b.eval("(() => { const e = document.activeElement, s = getComputedStyle(e.matches('.toggle input') ? e.nextElementSibling : e); return s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 3 })()") != "true" {
				b.Errorf("the focus is not seen on %s", b.eval("document.activeElement.outerHTML.slice(0, 120)"))
			}
		}
		b.Fatalf("the keyboard never comes to %s", js)
	}
	to("[name=sign][value=swollen]")
	b.typed(" ")
	to("[name=looked]")
	b.typed(" ")
	b.shows("ISOLATE")
	to("#record")
	b.do(chromedp.Sleep(400 * time.Millisecond))
	b.typed("\r")
	b.until("location.pathname === '/done/4'")
	to("[name=terminals]")
	b.typed(" ")
	to("button[name=to][value=Y1]")
	b.typed("\r")
	b.until("document.body.innerText.includes('It stands at Y1')")
	b.typed("\t")
	to("#emergency > summary")
	b.typed("\r")
	b.is("document.querySelector('#emergency').open", "true")
	b.typed("\x1b")
	b.is("document.querySelector('#emergency').open", "false")
}
