package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"pouchward/cmd/internal/app"
	"pouchward/triage"
)

// A browser is a real one on a real server.
type browser struct {
	*testing.T
	ctx  context.Context
	shop *shop
	url  string
	stop func() // the server

	mu       sync.Mutex
	asked    []string // addresses
	received float64  // bytes
}

// newBrowser starts both. Without a browser the test is skipped, but not where CI
// says that there must be one.
func newBrowser(t *testing.T, x *shop) *browser {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("POUCHWARD_CI") != "" {
			t.Fatal("chromium is needed (Debian: apt-get install chromium)")
		}
		t.Skip("no chromium here: the page was not driven (Debian: apt-get install chromium)")
	}
	l, err := Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	serving, stop := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { defer close(ended); _ = x.s.Serve(serving, l, io.Discard) }()
	b := &browser{T: t, shop: x, url: URL(l), stop: func() { stop(); <-ended }}
	t.Cleanup(b.stop)
	alloc, cancel := chromedp.NewExecAllocator(context.Background(), chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.NoFirstRun, chromedp.Headless,
		chromedp.Flag("disable-gpu", true), chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true))
	t.Cleanup(cancel)
	ctx, cancel := chromedp.NewContext(alloc)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, 2*time.Minute)
	t.Cleanup(cancel)
	b.ctx = ctx
	b.do(chromedp.EmulateViewport(1280, 900))
	if err := chromedp.Listen(ctx, b.heard); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	return b
}

func (b *browser) heard(ev any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch ev := ev.(type) {
	case *network.EventRequestWillBeSent:
		b.asked = append(b.asked, ev.Request.URL)
	case *network.EventLoadingFinished:
		b.received += ev.EncodedDataLength
	}
}

func (b *browser) do(steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.Fatal(err)
	}
}

func (b *browser) open(path string) {
	b.Helper()
	b.do(chromedp.Navigate(b.url + strings.TrimPrefix(path, "/")))
}

// click clicks with the mouse, as a finger does.
func (b *browser) click(css string) {
	b.Helper()
	b.do(chromedp.Click(chromedp.CSS(css)))
}

// goes clicks and waits for the page that this leads to.
func (b *browser) goes(css string) {
	b.Helper()
	if _, err := chromedp.RunResponse(b.ctx, chromedp.Click(chromedp.CSS(css))); err != nil {
		b.Fatal(err)
	}
}

// key presses a key as a keyboard does: what a page does on its way down decides
// whether it has any effect.
func (b *browser) key(r rune, at time.Time) {
	b.Helper()
	p := input.DispatchKeyEventParams{Timestamp: input.TimeSinceEpoch(float64(at.UnixMicro()) / 1e6), Key: string(r), Text: string(r), UnmodifiedText: string(r)}
	switch r {
	case '\r':
		p.Key, p.Code, p.WindowsVirtualKeyCode = "Enter", "Enter", 13
	case '\t':
		p.Key, p.Code, p.WindowsVirtualKeyCode, p.Text, p.UnmodifiedText = "Tab", "Tab", 9, "", ""
	case '\x1b':
		p.Key, p.Code, p.WindowsVirtualKeyCode, p.Text, p.UnmodifiedText = "Escape", "Escape", 27, "", ""
	case ' ':
		p.Code, p.WindowsVirtualKeyCode = "Space", 32
	}
	for _, p.Type = range []input.DispatchKeyEventType{input.DispatchKeyEventTypeKeyDown, input.DispatchKeyEventTypeKeyUp} {
		if p.Type == input.DispatchKeyEventTypeKeyUp {
			p.Text, p.UnmodifiedText = "", ""
		}
		if _, err := chromedp.Call(b.ctx, input.DispatchKeyEvent, p); err != nil {
			b.Fatal(err)
		}
	}
}

// scan types as a scanner does: fast, with Enter at the end.
func (b *browser) scan(text string) {
	b.Helper()
	at := time.Now()
	for _, r := range text + "\r" {
		b.key(r, at)
		at = at.Add(8 * time.Millisecond) // by the scanner's clock: this machine may be slow to pass them on
	}
}

// typed types as hands do.
func (b *browser) typed(text string) {
	b.Helper()
	for _, r := range text {
		b.key(r, time.Now())
		time.Sleep(70 * time.Millisecond)
	}
}

// eval evaluates an expression to a text.
func (b *browser) eval(js string) string {
	b.Helper()
	text, err := chromedp.Run(b.ctx, chromedp.Evaluate[string]("String(("+js+"))"))
	if err != nil {
		b.Fatal(js, err)
	}
	return text
}

// until waits until an expression is true.
func (b *browser) until(js string) {
	b.Helper()
	for range 100 {
		// While a page goes over into the next it has nothing to ask.
		if is, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool]("Boolean("+js+")")); err == nil && is {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.Fatalf("never true: %s\n%s", js, b.eval("document.body.innerText"))
}

// shows waits until the card says a text.
func (b *browser) shows(text string) {
	b.Helper()
	b.until(fmt.Sprintf("document.querySelector('#verdict').innerText.includes(%q)", text))
}

func (b *browser) is(js, want string) {
	b.Helper()
	if got := b.eval(js); got != want {
		b.Errorf("%s is %q, want %q", js, got, want)
	}
}

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
	b.scan(tag) // the scan field has the focus
	b.until("location.search !== ''")
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
	b.is("document.activeElement.id", "f-tag")
	to := func(js string) {
		b.Helper()
		for range 80 {
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

// The first page is small, comes from this machine alone, stands still, and fits.
func TestBrowserBasics(t *testing.T) {
	b := newBrowser(t, stocked(t))
	b.open("/assess")
	b.do(chromedp.Sleep(500 * time.Millisecond))
	// The browser has kept what moved since the page began.
	moved, err := chromedp.Run(b.ctx, chromedp.Evaluate[float64](`new Promise((done) => {
		let sum = 0;
		new PerformanceObserver((list) => { for (const e of list.getEntries()) sum += e.value }).observe({ type: "layout-shift", buffered: true });
		setTimeout(() => done(sum), 300);
	})`, chromedp.EvalAwaitPromise))
	if err != nil || moved != 0 {
		t.Errorf("the page moved by %v, %v", moved, err)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.asked) < 3 || b.received == 0 || b.received > 100<<10 {
		t.Errorf("%d requests, %.0f bytes", len(b.asked), b.received)
	}
	t.Logf("%d requests, %.0f bytes", len(b.asked), b.received)
}

// looks are the screens that are looked at: by the accessibility check, and by eye.
func looks(b *browser) map[string]func() {
	fill := func(sign string) {
		b.click("input[name=sign][value=" + sign + "]")
		b.click("input[name=looked][value=yes]")
	}
	return map[string]func(){
		"empty":   func() { b.open("/assess?new=1") },
		"isolate": func() { b.open("/assess?new=1"); fill("swollen"); b.shows("ISOLATE") },
		"danger":  func() { b.open("/assess?new=1"); fill("smoking"); b.shows("DANGER") },
		"hold": func() {
			b.open("/assess?new=1")
			b.click("input[name=looked][value=yes]")
			b.do(chromedp.Focus(chromedp.CSS("#f-ocv_v")))
			b.typed("3,780")
			b.until("document.querySelector('#e-ocv_v').innerText !== ''")
		},
		"card": func() { b.open("/assess?new=1"); b.click("#emergency > summary") },
		"done": func() { b.open("/done/2") },
		"fail": func() { b.open("/nowhere") },
		"who":  func() { b.open("/assess?new=1"); b.click(".whois > summary") },
	}
}

// axe is the accessibility check, which .ci/run installs at a pinned version.
func axe(t *testing.T) string {
	t.Helper()
	name := os.Getenv("POUCHWARD_AXE")
	if name == "" {
		if os.Getenv("POUCHWARD_CI") != "" {
			t.Fatal("POUCHWARD_AXE must name axe.min.js (.ci/run)")
		}
		t.Skip("POUCHWARD_AXE names no axe.min.js: accessibility was not checked (.ci/run says how to install it)")
	}
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func TestBrowserAccessibility(t *testing.T) {
	script := axe(t)
	b := newBrowser(t, stocked(t))
	for name, show := range looks(b) {
		for _, width := range []int64{360, 1280} {
			b.do(chromedp.EmulateViewport(width, 900))
			show()
			found, err := chromedp.Run(b.ctx, chromedp.Evaluate[json.RawMessage](script+`;
				document.querySelectorAll("details:not(#emergency):not(.whois)").forEach((d) => { d.open = true });
				axe.run().then((r) => r.violations.map((v) => ({id: v.id, help: v.help, nodes: v.nodes.slice(0, 3).map((n) => n.html + " " + n.failureSummary)})))`, chromedp.EvalAwaitPromise))
			if err != nil {
				t.Fatal(err)
			}
			if string(found) != "[]" {
				t.Errorf("%s at %d px: %s", name, width, found)
			}
		}
	}
}

// Every screen fits at 360 px, at 640 px (1280 px at 200 %), and its targets are
// large enough for a glove. POUCHWARD_SHOTS names a folder for pictures.
func TestBrowserFits(t *testing.T) {
	b := newBrowser(t, stocked(t))
	dir := os.Getenv("POUCHWARD_SHOTS")
	for name, show := range looks(b) {
		for _, width := range []int64{360, 640, 820, 1280} {
			b.do(chromedp.EmulateViewport(width, 900))
			show()
			if got := b.eval(wide); got != "" {
				t.Errorf("%s at %d px is too wide:\n%s", name, width, got)
			}
			small := b.eval(`[...document.querySelectorAll("button, .button, summary, select, input, nav a")].filter((e) => {
				const box = (e.matches(".toggle input") ? e.parentElement : e).getBoundingClientRect();
				return e.checkVisibility() && e.tabIndex >= -1 && e.type !== "hidden" && !e.matches(".first") && (box.height < 44 || box.width < 44);
			}).map((e) => e.outerHTML.slice(0, 100)).join("\n")`)
			if small != "" {
				t.Errorf("%s at %d px has targets under 44 px:\n%s", name, width, small)
			}
			if dir != "" && width != 640 {
				b.picture(filepath.Join(dir, fmt.Sprintf("%s-%d.png", name, width)))
			}
		}
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, address := range b.asked {
		u, err := url.Parse(address)
		if err != nil || u.Scheme != "about" && u.Scheme != "data" && !strings.HasPrefix(address, b.url) {
			t.Errorf("the page asked for %s, %v", address, err)
		}
	}
}

// wide lists what stands out of the window at the right.
const wide = `document.documentElement.scrollWidth <= document.documentElement.clientWidth ? "" :
	[...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
		.map((e) => e.outerHTML.slice(0, 80)).join("\n") || "something"`

// picture writes what stands in the window.
func (b *browser) picture(name string) {
	b.Helper()
	png, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	if err == nil {
		err = os.WriteFile(name, png, 0o600)
	}
	if err != nil {
		b.Fatal(err)
	}
}
