package web

import (
	"context"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"fettle/internal/vehicle"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// browser is a headless browser on a served copy of the demo.
type browser struct {
	*bench
	ctx context.Context

	mu       sync.Mutex
	messages []string // errors that the browser complained of
}

// ci says that nothing may be left out for want of a program.
func ci() bool { return os.Getenv("CI") == "true" }

func newBrowser(t *testing.T) *browser {
	t.Helper()
	if testing.Short() {
		t.Skip("starts a browser")
	}
	path, err := exec.LookPath("chromium")
	if err != nil {
		if ci() {
			t.Fatal("chromium is missing")
		}
		t.Skip("chromium is missing")
	}
	b := &browser{bench: newBench(t)}
	b.get("/maps") // or the first page would say that the engine's tables are being filled
	if !b.s.assets.Script {
		t.Fatal("the scripts are not built: run make assets")
	}
	options := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]),
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("hide-scrollbars", true))
	alloc, stopAlloc := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, stop := chromedp.NewContext(alloc)
	ctx, timeout := context.WithTimeout(ctx, 8*time.Minute)
	t.Cleanup(func() { timeout(); stop(); stopAlloc() })
	b.ctx = ctx
	b.do(chromedp.Navigate("about:blank"))
	var wg sync.WaitGroup
	wg.Go(func() {
		for m, err := range chromedp.Console(ctx) {
			if err != nil {
				return
			}
			if text := m.String(); m.IsException() || strings.Contains(strings.ToLower(text), "error") || strings.Contains(text, "Content Security Policy") {
				if strings.Contains(text, "status of 422") {
					continue // a refused edit is answered so
				}
				b.mu.Lock()
				b.messages = append(b.messages, text)
				b.mu.Unlock()
			}
		}
	})
	t.Cleanup(func() { timeout(); wg.Wait() })
	return b
}

func (b *browser) do(steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.Fatal(err)
	}
}

func (b *browser) open(path string) {
	b.Helper()
	b.do(chromedp.Navigate(b.srv.URL+path), chromedp.WaitVisible(chromedp.CSS("#main h1")))
}

// eval evaluates an expression of the page.
func eval[T any](b *browser, js string) T {
	b.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	if err != nil {
		b.Fatalf("%.80s: %v", js, err)
	}
	return v
}

// until waits for an expression of the page to hold.
func (b *browser) until(what, js string) {
	b.Helper()
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if eval[bool](b, js) {
			return
		}
	}
	b.Fatalf("%s did not come: %s", what, js)
}

func (b *browser) size(width int64, phone bool) {
	b.Helper()
	options := []chromedp.EmulateViewportOption{chromedp.EmulateScale(1)}
	if phone {
		options = append(options, chromedp.EmulateMobile, chromedp.EmulateTouch)
	}
	b.do(chromedp.EmulateViewport(width, 800, options...))
}

func (b *browser) scheme(name string) {
	b.Helper()
	params := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: name}}}
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, params); err != nil {
		b.Fatal(err)
	}
}

func (b *browser) quiet() {
	b.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, m := range b.messages {
		b.Errorf("the browser complained: %s", m)
	}
}

const told = `document.querySelector('#told').textContent`

// TestFromDemoToMended walks the main way: from the overview by a figure's
// working to the sheet where a mistake is mended, and back to the file.
func TestFromDemoToMended(t *testing.T) {
	b := newBrowser(t)
	before := b.file()
	b.size(1280, false)
	b.open("/?state=full")
	b.until("the typeface", `document.fonts.ready.then(() => document.fonts.check('15px "DejaVu Sans Condensed"'))`)
	b.until("the chances", `!document.querySelector('fettle-chances') && /%/.test(document.querySelector('table.rooms tbody tr td:last-child').textContent)`)

	const figure = `a[data-fig="room/full/fuel pump/VoltageV"]`
	eval[bool](b, "document.querySelector('"+figure+"').focus(), true")
	b.do(chromedp.KeyEvent("\r"))
	b.until("the working", `!!document.querySelector('dialog[open] .working .formula')`)
	if text := eval[string](b, `document.querySelector('dialog .working').textContent`); !strings.Contains(text, "What went in") || !strings.Contains(text, "Source") {
		t.Errorf("the working says %.300s", text)
	}
	eval[bool](b, `document.querySelector('dialog .inputs a[data-fig]').click(), true`)
	b.until("the working of an input", `!document.querySelector('dialog .btns .btn').hidden`)
	b.do(chromedp.KeyEvent("\x1b"))
	b.until("closing", `!document.querySelector('dialog[open]')`)
	if at := eval[string](b, `document.activeElement.getAttribute('data-fig') ?? document.activeElement.tagName`); at != "room/full/fuel pump/VoltageV" {
		t.Errorf("the focus went to %q", at)
	}

	wire := b.wireOf("fuel pump 1")
	b.do(chromedp.Click(chromedp.CSS(`.finding[id^=finding-wire-drop] a.where`)))
	b.until("the sheet of power", `document.readyState === 'complete' && location.pathname === '/power' && !!document.querySelector('#`+vehicle.WireAnchor(wire)+`')`)
	field := `#` + vehicle.WireAnchor(wire) + ` input[name=text]`
	eval[bool](b, `(e => (e.focus(), e.select(), true))(document.querySelector('`+field+`'))`)
	b.do(chromedp.KeyEvent("2.5 mm²"))
	start := time.Now()
	b.do(chromedp.KeyEvent("\r"))
	b.until("the end of the finding", `!document.querySelector('[id^=finding-wire-drop]')`)
	t.Logf("edit to new figures: %v", time.Since(start).Round(time.Millisecond))
	if at := eval[string](b, `document.activeElement.id`); at != eval[string](b, `document.querySelector('`+field+`').id`) {
		t.Errorf("the focus went to %q", at)
	}
	if !regexp.MustCompile(`\d in the way`).MatchString(eval[string](b, told)) {
		t.Errorf("read out: %q", eval[string](b, told))
	}
	gone, come := lineDiff(before, b.file())
	if len(gone) != 1 || len(come) != 1 || !strings.Contains(come[0], "size: 2.5 mm²") || strings.Count(before, "#") != strings.Count(b.file(), "#") {
		t.Errorf("the file lost %q and won %q", gone, come)
	}
	if n := eval[int](b, `document.querySelectorAll('.steps li').length`); n != 2 {
		t.Errorf("one edit made %d steps", n-1)
	}
	b.refuse(field)
	b.undoAndMend(before)
	b.quiet()
}

func (b *browser) wireOf(name string) int {
	b.Helper()
	cur, err := b.s.current(b.Context())
	if err != nil {
		b.Fatal(err)
	}
	w, ok := cur.Loom.Wire(name)
	if !ok {
		b.Fatalf("no wire %q", name)
	}
	return w.Number
}

// refuse types what can't be: the message comes to the field, nothing is saved.
func (b *browser) refuse(field string) {
	b.Helper()
	saved := b.file()
	eval[bool](b, `(e => (e.focus(), e.select(), true))(document.querySelector('`+field+`'))`)
	b.do(chromedp.KeyEvent("2.5 V\r"))
	b.until("the refusal", `!!document.querySelector('`+field+`[aria-invalid=true]')`)
	if text := eval[string](b, told); !strings.HasPrefix(text, "Not changed.") || b.file() != saved {
		b.Errorf("read out %q; saved: %v", text, b.file() != saved)
	}
}

// undoAndMend takes the edit back by key and makes a mend by its button.
func (b *browser) undoAndMend(before string) {
	b.Helper()
	b.open("/power?state=full")
	b.do(chromedp.KeyEvent("z", chromedp.KeyModifiers(2)))
	b.until("the finding again", `!!document.querySelector('[id^=finding-wire-drop]')`)
	if b.file() != before {
		b.Error("undo did not bring the file back")
	}
	b.do(chromedp.Click(chromedp.CSS(`[id^=mend-sensor-ground]`)))
	b.until("the end of the sensor ground", `!document.querySelector('[id^=finding-sensor-ground]')`)
	if !strings.Contains(b.file(), "joins: controller") {
		b.Error("the mend is not in the file")
	}
}

// TestWithoutScripts edits by a plain form.
func TestWithoutScripts(t *testing.T) {
	b := newBrowser(t)
	if _, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	b.size(1280, false)
	b.do(chromedp.Navigate(b.srv.URL + "/"))
	b.do(chromedp.Click(chromedp.CSS(`[id^=mend-sensor-ground]`)), chromedp.WaitNotPresent(chromedp.CSS(`[id^=mend-sensor-ground]`)), chromedp.WaitVisible(chromedp.CSS(`#undo`)))
	if !strings.Contains(b.file(), "joins: controller") {
		t.Error("the mend is not in the file")
	}
	b.do(chromedp.Click(chromedp.CSS(`#undo`)), chromedp.WaitVisible(chromedp.CSS(`[id^=mend-sensor-ground]`)))
	if strings.Contains(b.file(), "joins: controller") {
		t.Error("the step was not taken back")
	}
}

// lateSheets are the addresses of all sheets but the first, which is asked for
// by state.
func lateSheets() []string {
	var out []string
	for _, sh := range sheets[1:] {
		out = append(out, sh.href())
	}
	return out
}

// TestAccessible holds the pages against the rules of axe-core 4.14 in both
// widths, and against those of contrast in the dark as well.
func TestAccessible(t *testing.T) {
	axe, err := os.ReadFile("../../node_modules/axe-core/axe.min.js")
	if err != nil {
		if ci() {
			t.Fatal("axe-core is missing: run npm ci")
		}
		t.Skip("axe-core is missing: run npm ci")
	}
	b := newBrowser(t)
	const colours = `axe.run(document, {runOnly: ['color-contrast']}).then(r => r.passes.length < 1 ? ['axe looked at nothing'] : r.violations.map(v => v.help + ' at ' + v.nodes.slice(0, 3).map(n => n.target.join(' ')).join(', ')))`
	const all = `axe.run(document).then(r => r.passes.length < 10 ? ['axe looked at nothing'] : r.violations.map(v => v.id + ': ' + v.help + ' at ' + v.nodes.slice(0, 3).map(n => n.target.join(' ')).join(', ')))`
	for _, width := range []int64{1280, 360} {
		b.size(width, width == 360)
		for scheme, run := range map[string]string{"light": all, "dark": colours} {
			b.scheme(scheme)
			for _, path := range append(lateSheets(), "/?state=full", "/power?state=full", "/loom?thing=X7&state=full", "/why/full/fuel%20pump/VoltageV", "/why/build/engine/rod", "/rule/wire-drop", "/nothing") {
				b.open(path)
				eval[bool](b, string(axe)+";true")
				for _, v := range eval[[]string](b, run) {
					t.Errorf("%s, %d px, %s: %s", path, width, scheme, v)
				}
			}
			b.open("/?state=full")
			eval[bool](b, `document.querySelector('a[data-fig]').click(), true`)
			b.until("the working", `!!document.querySelector('dialog[open] .working')`)
			eval[bool](b, string(axe)+";true")
			for _, v := range eval[[]string](b, run) {
				t.Errorf("the working at the side, %d px, %s: %s", width, scheme, v)
			}
		}
	}
}

// TestThumb: at 360 px nothing is wider than the phone, and whatever is pressed
// is 44 px high; a tick box is pressed on its whole label.
func TestThumb(t *testing.T) {
	b := newBrowser(t)
	b.size(360, true)
	for _, path := range append(lateSheets(), "/?state=full", "/?state=crank", "/power?state=full", "/loom?thing=X7&state=full", "/why/full/fuel%20pump/VoltageV", "/why/build/engine/rod", "/rule/wire-drop") {
		b.open(path)
		if w := eval[int](b, `document.documentElement.scrollWidth`); w > 360 {
			t.Errorf("%s is %d px wide: %s", path, w, eval[string](b, `[...document.querySelectorAll('main *')].filter(e => e.getBoundingClientRect().right > 361 && !e.closest('.tabs')).slice(0, 5).map(e => e.tagName + '.' + e.className + ' ' + e.textContent.trim().slice(0, 30)).join(' | ')`))
		}
		small := eval[[]string](b, `[...document.querySelectorAll('a, button, select, summary, input:not([type=hidden])')]
			.filter(e => e.checkVisibility() && !e.closest('.skip, svg') && getComputedStyle(e).clipPath === 'none')
			.map(e => [e, (e.type === 'checkbox' && e.closest('label') || e).getBoundingClientRect()]).filter(([, r]) => r.width > 0 && r.height < 43.5)
			.slice(0, 8).map(([e, r]) => e.tagName + '.' + e.className + ' ' + e.textContent.trim().slice(0, 30) + ': ' + r.height.toFixed(1))`)
		for _, s := range small {
			t.Errorf("%s: too small for a thumb: %s px", path, s)
		}
	}
	b.quiet()
}
