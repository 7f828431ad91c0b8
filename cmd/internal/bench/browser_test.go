package bench

import (
	"context"
	"fmt"
	"io"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"pouchward/exports/exportstest"
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
	exportstest.Need(t, err == nil, "chromium (Debian: chromium)")
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
	ctx, cancel = context.WithTimeout(ctx, 4*time.Minute)
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
	var text string
	var err error
	for range 5 {
		if text, err = chromedp.Run(b.ctx, chromedp.Evaluate[string]("String(("+js+"))")); err == nil {
			return text
		}
		time.Sleep(100 * time.Millisecond) // while a page goes over into the next it has nothing to ask
	}
	b.Fatal(js, err)
	return ""
}

// until waits until an expression is true.
func (b *browser) until(js string) {
	b.Helper()
	for range 600 {
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
