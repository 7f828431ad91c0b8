package bench

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"pouchward/triage"
)

// With the server gone nothing on the page passes for current, and no press of a button
// leaves it for an error page: what was typed stands on this page alone.
func TestBrowserGoneServerLosesNothing(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	b := newBrowser(t, x)
	b.do(chromedp.EmulateViewport(360, 800))
	b.open("/assess?new=1")
	b.click("input[name=looked][value=yes]")
	b.until("document.querySelector('#mini').innerText.includes('HOLD')")
	b.stop()
	b.do(chromedp.Focus(chromedp.CSS("#f-ticket")))
	b.typed("R-77")
	b.until("document.querySelector('#mini').innerText === 'OLD: no answer'")
	b.is("document.querySelector('#mini').className", "banner c-none")
	b.click("#record")
	b.do(chromedp.Sleep(300e6))
	b.is("location.pathname + document.querySelector('#f-ticket').value", "/assessR-77")

	x.open()
	b = newBrowser(t, x)
	b.open("/cell/" + tag)
	b.until("document.readyState === 'complete'")
	b.stop()
	b.do(chromedp.Focus(chromedp.CSS("#raise [name=note]")))
	b.typed("hissed")
	b.do(chromedp.Sleep(800e6))
	b.click("#raise button[value=isolate]")
	b.until("document.querySelector('#raise .unkept')?.innerText.includes('this page only')")
	b.is("location.pathname + document.querySelector('#raise [name=note]').value", "/cell/"+tag+"hissed")
	if x.size() != 2 {
		t.Error("recorded")
	}
}

// A tag that is scanned into what was typed before for no tag does not take it over:
// it may be of the cell before.
func TestBrowserScanIntoRestored(t *testing.T) {
	b := newBrowser(t, stocked(t))
	tag := must(triage.RestoreTag("K9CT4?"))
	b.open("/assess?new=1")
	b.click("input[name=looked][value=yes]")
	b.until("document.querySelector('[name=rev]').value !== '0'")
	b.open("/assess")
	b.until("document.readyState === 'complete' && document.body.innerText.includes('Is it this cell?')")
	b.scan(tag)
	b.until("document.querySelector('#scan-says')?.innerText.includes('typed before')")
	b.is("document.querySelector('#f-tag').value", "")
	b.goes("#scan-says a")
	b.until("document.querySelector('#f-tag')?.value === '" + tag + "'")
	b.is("document.querySelector('input[name=looked][value=yes]').checked", "false")
	b.open("/assess")
	b.until("document.readyState === 'complete' && document.querySelector('[data-restored]')")
	b.scan(tag)
	b.click("#scan-says button")
	b.is("document.querySelector('#f-tag').value", tag)
	b.is("document.querySelector('input[name=looked][value=yes]').checked", "true")
}

// A page of what stands in the log says how old it is, where its clock goes on.
func TestBrowserPageAges(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	for page, ages := range map[string]bool{"/cell/" + tag: true, "/done/2": true, "/due": true, "/stock": true, "/pack": true, "/review": true, "/print/" + tag: true, "/assess": false, "/rules": false, "/nowhere": false} {
		if got := strings.Contains(x.get(page).Body.String(), "data-as-of hidden><b>AS OF 14:07"); got != ages {
			t.Errorf("%s says that it ages: %v", page, got)
		}
	}
	b := newBrowser(t, x)
	b.open("/cell/" + tag)
	b.until("document.readyState === 'complete'")
	b.is("document.querySelector('[data-as-of]').hidden", "true")
	// Five minutes later, by the page's own clock.
	b.eval("(() => { const now = Date.now; Date.now = () => now() + 301000; return 1 })()")
	b.until("!document.querySelector('[data-as-of]').hidden")
	b.goes("[data-as-of] a")
	b.until("location.pathname === '/cell/" + tag + "' && document.querySelector('[data-as-of]')?.hidden")
}
