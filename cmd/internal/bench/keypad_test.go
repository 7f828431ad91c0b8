package bench

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// tap touches the middle of something with a finger, where it stands.
func (b *browser) tap(css string) {
	b.Helper()
	at, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]float64](fmt.Sprintf(`(() => {
		const e = document.querySelector(%q);
		e.scrollIntoView({ block: "nearest" });
		const r = e.getBoundingClientRect(), at = [r.x + r.width / 2, r.y + r.height / 2], on = document.elementFromPoint(...at);
		return e.contains(on) || on.contains(e) ? at : [-1, -1];
	})()`, css)))
	if err != nil || at[0] < 0 {
		b.Fatalf("%s cannot be touched: %v, %v; there is %s", css, at, err, b.eval(fmt.Sprintf("(() => { const r = document.querySelector(%q).getBoundingClientRect(); return JSON.stringify(r) + innerWidth + document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2)?.outerHTML.slice(0, 200) })()", css)))
	}
	for _, p := range []input.DispatchTouchEventParams{
		{Type: input.DispatchTouchEventTypeTouchStart, TouchPoints: []*input.TouchPoint{{X: at[0], Y: at[1]}}}, {Type: input.DispatchTouchEventTypeTouchEnd, TouchPoints: []*input.TouchPoint{}}} {
		if _, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, p); err != nil {
			b.Fatal(err)
		}
	}
}

func padKey(key string) string { return `#pad [data-key="` + key + `"]` }

// covered says what of the page the keypad covers that must be seen beside it.
const covered = `(() => {
	const box = (q) => { const e = document.querySelector(q); return e && e.checkVisibility() ? e.getBoundingClientRect() : null; };
	const pad = box("#pad"), over = (r) => r && pad.left < r.right - 1 && r.left < pad.right - 1 && pad.top < r.bottom - 1 && r.top < pad.bottom - 1;
	const field = document.activeElement.getBoundingClientRect(), banner = matchMedia("(min-width: 64rem)").matches ? box("#verdict .banner") : box("#mini");
	return [over(field) && "the field", over(banner) && "the verdict", over(box(".emergency summary")) && "EMERGENCY", (field.top < 0 || field.bottom > innerHeight) && "the field is out of sight",
		(pad.bottom > innerHeight || pad.top < 0) && "the keypad is out of sight"].filter(Boolean).join(", ");
})()`

// Gloves on a touch screen: a touch opens the keypad, which types as keys do.
func TestBrowserKeypad(t *testing.T) {
	b := newBrowser(t, stocked(t))
	for _, size := range [][2]int64{{360, 640}, {820, 1180}, {1280, 900}, {844, 390}} {
		b.do(chromedp.EmulateViewport(size[0], size[1]))
		b.open("/assess?new=1")
		b.until("document.readyState === 'complete'")
		b.is("document.querySelector('#pad') === null", "true")
		b.tap("#f-cell_c")
		b.until("document.querySelector('#pad:not([hidden])') && document.activeElement.id === 'f-cell_c'")
		b.is("document.querySelector('#pad p').innerText.startsWith(document.querySelector('label[for=f-cell_c]').innerText.split(' ')[0])", "true")
		b.is("document.querySelector('#pad p').innerText.includes('°C') && /\\d/.test(document.querySelector('#pad p').innerText)", "true")
		b.is("document.activeElement.inputMode", "none")
		b.is(covered, "")
		for _, k := range []string{"2", "2", ".", "4", "5", "\u232b", "\u2212"} {
			b.tap(padKey(k))
		}
		b.is("document.querySelector('#f-cell_c').value", "-22.4")
		b.tap(padKey("\u2212"))
		b.is("document.querySelector('#f-cell_c').value + document.activeElement.id", "22.4f-cell_c")
		b.tap(padKey("Next"))
		b.until("document.activeElement.id === 'f-ambient_c'")
		b.is(covered, "")
		b.tap(padKey("9"))
		b.until("document.querySelector('[name=rev]').value !== '0'") // judged, as after keys
		// A number takes the place of a reason.
		b.tap("button[value='ocv_v=ni']")
		b.until("document.querySelector('#pad').hidden")
		b.tap("#f-ocv_v")
		b.is(covered, "")
		b.tap(padKey("3"))
		b.is("document.querySelector('#f-ocv_v').value", "3")
		b.is("document.querySelector(\"button[value='ocv_v=ni']\").getAttribute('aria-pressed')", "false")
		b.tap(padKey("Done"))
		b.is("document.querySelector('#pad').hidden + document.activeElement.id", "truef-ocv_v")
	}
	if b.shop.size() != 3 {
		t.Error("the keypad recorded something")
	}
}

// A mouse and the keys do without; the keypad stays away where it was put away; and a
// keyboard works all of it.
func TestBrowserKeypadAway(t *testing.T) {
	b := newBrowser(t, stocked(t))
	b.open("/assess?new=1")
	b.click("#f-cell_c")
	b.typed("21\t")
	b.is("document.querySelector('#pad') === null", "true")
	b.click("#g-warmth .padkey")
	b.until("document.querySelector('#pad:not([hidden])')")
	b.is("document.activeElement.id", "f-ambient_c") // the first that is blank
	b.typed("21.5")                                  // keys still go into the field
	b.is("document.querySelector('#f-ambient_c').value", "21.5")
	b.do(chromedp.Focus(chromedp.CSS(padKey("7"))))
	b.typed(" ")
	b.is("document.querySelector('#f-ambient_c').value", "21.57")
	b.arrow("ArrowDown")
	b.is("document.activeElement.textContent", "4")
	b.typed("\r")
	b.is("document.querySelector('#f-ambient_c').value", "21.574")
	b.tap(padKey("away"))
	b.is("document.querySelector('#pad').hidden + document.activeElement.id", "truef-ambient_c")
	b.open("/assess?new=1")
	b.until("document.readyState === 'complete'")
	b.tap("#f-cell_c")
	b.until("document.activeElement.id === 'f-cell_c'")
	b.is("document.querySelector('#pad') === null && document.activeElement.inputMode", "decimal")
	b.tap("#g-warmth .padkey")
	b.until("document.querySelector('#pad:not([hidden])')")
	b.open("/assess?new=1")
	b.until("document.readyState === 'complete'")
	b.tap("#f-cell_c")
	b.until("document.querySelector('#pad:not([hidden])')")
}

// The reasons of a field are one stop of the Tab key, and the arrows go along them.
func TestBrowserReasonsByKeyboard(t *testing.T) {
	b := newBrowser(t, stocked(t))
	b.open("/assess?new=1")
	b.until("document.readyState === 'complete'")
	b.do(chromedp.Focus(chromedp.CSS("#f-ocv_v")))
	b.typed("\t")
	b.is("document.activeElement.value", "ocv_v=?")
	b.arrow("ArrowRight")
	b.arrow("ArrowRight")
	b.is("document.activeElement.value", "ocv_v=us")
	b.typed(" ")
	b.is("document.querySelector('#f-ocv_v').value + document.activeElement.getAttribute('aria-pressed')", "ustrue")
	b.shows("UNSAFE")
	b.typed("\t")
	b.is("document.activeElement.id", "f-rest_h")
	if b.shop.size() != 3 {
		t.Error("recorded")
	}
}

// arrow presses a key that types nothing.
func (b *browser) arrow(key string) {
	b.Helper()
	code := map[string]int64{"ArrowLeft": 37, "ArrowUp": 38, "ArrowRight": 39, "ArrowDown": 40}[key]
	for _, is := range []input.DispatchKeyEventType{input.DispatchKeyEventTypeKeyDown, input.DispatchKeyEventTypeKeyUp} {
		if _, err := chromedp.Call(b.ctx, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: is, Key: key, Code: key, WindowsVirtualKeyCode: code}); err != nil {
			b.Fatal(err)
		}
	}
}

// The open keypad has no violation of axe-core, and keys for gloves.
func TestBrowserKeypadLooks(t *testing.T) {
	x := newShop(t)
	tag := x.swollen()
	b, dir := newBrowser(t, x), os.Getenv("POUCHWARD_SHOTS")
	for page, field := range map[string]string{"/assess?new=1": "#f-ocv_v", "/cell/" + tag: "#r-thickness_mm"} {
		for _, width := range []int64{360, 820, 1280} {
			b.do(chromedp.EmulateViewport(width, 800))
			b.open(page)
			b.until("document.readyState === 'complete'")
			b.tap(field)
			b.until("document.querySelector('#pad:not([hidden])')")
			if got := b.eval(wide) + b.eval(smallTargets); got != "" {
				t.Errorf("%s at %d px: %s", page, width, got)
			}
			if dir != "" {
				b.picture(filepath.Join(dir, fmt.Sprintf("keypad%s-%d.png", field, width)))
			}
			if os.Getenv("POUCHWARD_AXE") == "" && os.Getenv("POUCHWARD_CI") == "" || width == 820 {
				continue
			}
			found, err := chromedp.Run(b.ctx, chromedp.Evaluate[json.RawMessage](axe(t)+axeRun, chromedp.EvalAwaitPromise))
			if err != nil || string(found) != "[]" {
				t.Errorf("%s at %d px: %s, %v", page, width, found, err)
			}
		}
	}
}
