package bench

import (
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"pouchward/exports/exportstest"
)

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
		"ask-who": func() {
			b.shop.s.Config.Who = ""
			defer func() { b.shop.s.Config.Who = "MK" }()
			b.open("/assess?new=1")
			fill("swollen")
			b.shows("ISOLATE")
			b.goes("#record")
			b.until("document.querySelector('.askwho')")
		},
		"routes": func() {
			b.open("/assess?new=1")
			fill("swollen")
			b.shows("ISOLATE")
			b.click(".papers > summary")
			b.click(".papers .route:nth-of-type(2) > summary")
		},
		"who": func() { b.open("/assess?new=1"); b.click(".whois > summary") },
	}
}

// axe is the accessibility check, which .ci/run installs at a pinned version.
func axe(t *testing.T) string {
	t.Helper()
	name := os.Getenv("POUCHWARD_AXE")
	exportstest.Need(t, name != "", "axe.min.js, which POUCHWARD_AXE names (.ci/run installs it)")
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
