package bench

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"pouchward/cmd/internal/app"
	"pouchward/triage"
)

// A correction in a browser: both verdicts stand side by side before it is recorded.
func TestBrowserCorrection(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	b := newBrowser(t, x)
	b.open("/cell/" + tag)
	b.click("#correct summary")
	b.do(chromedp.SetValue(chromedp.CSS("#correct [name=field]"), "ocv_v"), chromedp.SetValue(chromedp.CSS("#correct [name=reason]"), "mistyped"))
	b.do(chromedp.Focus(chromedp.CSS("#correct [name=value]")))
	b.typed("0.4")
	b.goes("#correct button[value=show]")
	b.until("document.querySelectorAll('.banner').length === 2")
	b.is("[...document.querySelectorAll('section.verdict')].map((e) => e.querySelector('h2')).map((e) => e.innerText.slice(0, 15)).join('|')", "As it stands|With the change")
	if x.size() != 2 {
		t.Fatal("recorded before it was shown")
	}
	b.goes("button[value=record]")
	b.until("location.search === '?entry=3'")
	if e := x.entry(3); e.Kind != "correction" {
		t.Errorf("a %s", e.Kind)
	}
}

// Scan to pack: a cell that is packed, one that is refused with its reason in large, and
// one code twice. A scan on the button that closes closes nothing.
func TestBrowserScanToPack(t *testing.T) {
	x := newShop(t)
	first, second, bad := x.good(), x.good(), x.swollen()
	box := begin(x, first)
	b := newBrowser(t, x)
	b.open("/pack/" + box)
	b.until("document.activeElement.id === 'f-scan'")
	b.scan(second)
	b.until("document.querySelector('.answer.yes')")
	b.is("document.querySelector('.answer .big-word').innerText", "PACKED "+triage.SpacedTag(second))
	before := x.size()
	b.until("document.readyState === 'complete' && document.activeElement.id === 'f-scan'")
	b.scan(bad)
	b.until("document.querySelector('.answer.no')")
	b.is("document.querySelector('.answer .big-word').innerText", "REFUSED "+triage.SpacedTag(bad))
	b.until("document.querySelector('.answer.no').innerText.includes('ISOLATE')")
	b.is("parseFloat(getComputedStyle(document.querySelector('.answer.no .big-word')).fontSize) >= 28", "true")
	b.until("document.readyState === 'complete' && document.activeElement.id === 'f-scan'")
	b.scan(second)
	b.until("document.querySelector('.big-word').innerText.includes('ALREADY IN IT')")
	b.click("#close summary")
	b.do(chromedp.Focus(chromedp.CSS("#c-gross")))
	b.typed("0.5")
	b.do(chromedp.Focus(chromedp.CSS("#close button[value=close]")), chromedp.Sleep(2100*time.Millisecond))
	b.scan(x.good())
	b.do(chromedp.Sleep(500 * time.Millisecond))
	b.is("document.querySelector('#c-gross').value", "0.5") // what was typed stands
	s, err := app.ShowShipment(x.s.desk.Log(), box)
	if err != nil || s.Packs[0].Closed || s.Packs[0].Cells != 2 {
		t.Errorf("%+v, %v", s, err)
	}
	if got := x.size(); got != before+2 { // the assessment and the making safe of the last cell
		t.Errorf("%d entries, want %d", got, before+2)
	}
}

// With the keyboard alone from what is due to the cell, and another look at it.
func TestBrowserDueByKeyboard(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	x.now = x.now.Add(90 * time.Minute)
	b := newBrowser(t, x)
	to := func(css string) {
		b.Helper()
		for range 200 {
			if b.eval("document.activeElement.matches('"+css+"')") == "true" {
				return
			}
			b.typed("\t")
		}
		b.Fatalf("the keyboard never comes to %s", css)
	}
	b.open("/due")
	to("a[href=\"/cell/" + tag + "#recheck\"]")
	b.typed("\r")
	b.until("location.pathname === '/cell/" + tag + "' && location.hash === '#recheck'")
	to("#r-cell_c")
	b.typed("23.1")
	to("#r-ambient_c")
	b.typed("22\r") // Enter records nothing
	b.until("document.body.innerText.includes('Nothing was recorded')")
	b.is("document.querySelector('#r-cell_c').value", "23.1")
	if x.size() != 2 {
		t.Fatal("Enter recorded")
	}
	to("button[name=found][value=same]")
	b.do(chromedp.Sleep(400 * time.Millisecond))
	b.typed("\r")
	b.until("location.search === '?entry=3'")
	if e := x.entry(3); e.Kind != "recheck" || !strings.Contains(string(e.Body.Raw()), `"cell_c":"23.1"`) {
		t.Errorf("%s %s", e.Kind, e.Body.Raw())
	}
}

// screenLooks are the screens of this file's handlers, of a shop with a package and a
// refused scan, for the check of access and for the eye.
func screenLooks(at **browser) (names []string, show map[string]func()) {
	b, x := *at, (*at).shop
	tag, good := x.swollen(), x.good()
	react := x.record("signs=smoking")
	box := begin(x, good)
	for _, w := range [][]string{{"found", "same", "cell_c", "22.4", "ambient_c", "22", "thickness_mm", "5.1"}, {"found", "same", "cell_c", "22.9", "ambient_c", "22", "thickness_mm", "5.3"}} {
		x.now = x.now.Add(26 * time.Hour)
		x.send("/cell/"+tag, "/cell/"+tag+"/recheck", w...)
	}
	stock, err := app.Stock(x.s.desk.Log(), triage.DateOf(x.now), "container", "")
	if err != nil {
		b.Fatal(err)
	}
	bin := ""
	for i := range stock.Rows {
		if c := stock.Rows[i].Container; c != "" && c != box {
			bin = c
		}
	}
	open := func(path string) func() { return func() { (*at).open(path) } }
	show = map[string]func(){
		"due": open("/due"), "stock": open("/stock"), "stock-cells": open("/stock?by=cell&at=" + bin), "find": open("/cell"), "find-fault": open("/cell?tag=F2XE9C"),
		"cell": open("/cell/" + tag), "cell-reacts": open("/cell/" + react), "pack": open("/pack"), "package": open("/pack/" + box), "review": open("/review"), "rules": open("/rules"),
		"rule": open("/rules/us-damaged-highway"), "print-cell": open("/print/" + tag), "print-bin": open("/print/" + bin), "print-card": open("/print/emergency"),
		"cell-refused": func() {
			b := *at
			b.open("/cell/" + tag)
			b.do(chromedp.SetValue(chromedp.CSS("#r-cell_c"), "3,780"))
			b.goes("button[name=found][value=same]")
		},
		"package-refused": func() {
			b := *at
			b.open("/pack/" + box)
			b.do(chromedp.SetValue(chromedp.CSS("#f-scan"), tag))
			b.goes("form[action$=scan] button")
		},
		"change": func() {
			b := *at
			b.open("/cell/" + tag)
			b.click("#correct summary")
			b.do(chromedp.SetValue(chromedp.CSS("#correct [name=field]"), "signs"), chromedp.SetValue(chromedp.CSS("#correct [name=value]"), "none"), chromedp.SetValue(chromedp.CSS("#correct [name=reason]"), "misread"))
			b.goes("#correct button[value=show]")
		},
	}
	offer := func(path, action string, typed ...string) func() {
		return func() {
			x.post("/draft", append([]string{"form", newForm(), "action", action}, typed...)...)
			(*at).open(path)
		}
	}
	show["cell-draft"] = offer("/cell/"+tag, "/cell/"+tag+"/recheck", "cell_c", "23.4", "sign", "dented")
	show["cell-taken-up"] = func() {
		offer("/cell/"+good, "/cell/"+good+"/move", "place", "Yard locker")()
		(*at).goes("#move .draft a")
	}
	show["determine"] = func() {
		b := *at
		b.open("/cell/" + tag)
		b.click("#determine summary")
		b.do(chromedp.SetValue(chromedp.CSS("#determine [name=reason]"), "measured twice"), chromedp.SetValue(chromedp.CSS("#determine [name=condition]"), "liable"), chromedp.SetValue(chromedp.CSS("#determine [name=second]"), "LS"))
		b.click("#determine [name=criteria][value=c]")
		b.goes("#determine button[value=show]")
	}
	show["wrong"] = func() {
		b := *at
		b.open("/cell/" + tag)
		b.click("#wrong summary")
		b.do(chromedp.SetValue(chromedp.CSS("#wrong [name=right]"), good))
		b.goes("#wrong button[value=show]")
	}
	show["cell-all"] = func() {
		(*at).open("/cell/" + tag)
		(*at).eval("document.querySelectorAll('main details').forEach((d) => { d.open = true })")
	}
	show["package-closed"] = func() {
		if w := x.send("/pack/"+box, "/pack/"+box+"/close", "do", "close", "gross", "0.455", "tare", "0.41", "packed", "LS", "checked", "MK", "inner", "yes", "fill", "yes"); w.Code == http.StatusSeeOther {
			x.send("/pack/"+box, "/pack/"+box+"/reopen", "do", "reopen")
		}
		(*at).open("/pack/" + box)
	}
	return []string{"package", "package-refused", "cell-all", "cell-draft", "cell-taken-up", "determine", "wrong", "package-closed", "due", "stock", "stock-cells", "find", "find-fault", "cell", "cell-reacts", "cell-refused", "change", "pack", "review", "rules", "rule", "print-cell", "print-bin", "print-card"}, show
}

// Each of these screens has no violation of axe-core, fits, and has targets for gloves;
// POUCHWARD_SHOTS names a folder for pictures of the whole pages.
func TestBrowserScreens(t *testing.T) {
	x := newDemo(t)
	b := newBrowser(t, x)
	names, show := screenLooks(&b)
	dir, check := os.Getenv("POUCHWARD_SHOTS"), ""
	if os.Getenv("POUCHWARD_AXE") != "" || os.Getenv("POUCHWARD_CI") != "" {
		check = axe(t)
	}
	for i, name := range names {
		if i%5 == 4 {
			b = newBrowser(t, x) // each has its time
		}
		show[name]()
		for _, width := range []int64{360, 820, 1280} {
			b.do(chromedp.EmulateViewport(width, 900))
			if got := b.eval(wide); got != "" {
				t.Errorf("%s at %d px is too wide:\n%s", name, width, got)
			}
			if dir != "" {
				b.whole(filepath.Join(dir, fmt.Sprintf("%s-%d.png", name, width)))
			}
			if width == 820 {
				continue
			}
			if small := b.eval(smallTargets); small != "" {
				t.Errorf("%s at %d px has targets under 44 px:\n%s", name, width, small)
			}
			if check == "" {
				continue
			}
			found, err := chromedp.Run(b.ctx, chromedp.Evaluate[json.RawMessage](check+axeRun, chromedp.EvalAwaitPromise))
			if err != nil {
				t.Fatal(err)
			}
			if string(found) != "[]" {
				t.Errorf("%s at %d px: %s", name, width, found)
			}
		}
	}
}

const axeRun = `;
	document.querySelectorAll("details:not(#emergency):not(.whois)").forEach((d) => { d.open = true });
	axe.run().then((r) => r.violations.map((v) => ({id: v.id, help: v.help, nodes: v.nodes.slice(0, 3).map((n) => n.html + " " + n.failureSummary)})))`

// smallTargets lists what is too small to be hit with a glove.
const smallTargets = `[...document.querySelectorAll("button, .button, summary, select, textarea, input, nav a")].filter((e) => {
	const box = (e.matches(".toggle input") ? e.parentElement : e).getBoundingClientRect();
	return e.checkVisibility() && e.type !== "hidden" && !e.matches(".first") && (box.height < 44 || box.width < 44);
}).map((e) => e.outerHTML.slice(0, 100)).join("\n")`

// whole writes the whole page.
func (b *browser) whole(name string) {
	b.Helper()
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(90))
	if err == nil {
		err = os.WriteFile(name, png, 0o600)
	}
	if err != nil {
		b.Fatal(err)
	}
}
