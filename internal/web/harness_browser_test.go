package web

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestWireIsFollowed finds the pump's wire by typing, walks its stations by
// keyboard, opens a working, draws nearer and lets go.
func TestWireIsFollowed(t *testing.T) {
	b := newBrowser(t)
	b.size(1280, false)
	b.open("/loom?state=full")
	b.until("the live drawing", `!!document.querySelector('fettle-harness.live')`)
	eval[bool](b, `document.activeElement?.blur(), true`)
	b.do(chromedp.KeyEvent("/"))
	b.until("the find field", `document.activeElement.id === 'find'`)
	// The driver sends the sign apart from its key, so that it arrives all the same.
	eval[bool](b, `document.activeElement.select(), true`)
	wire := b.wireOf("fuel pump 1")
	b.do(chromedp.KeyEvent(fmt.Sprint(wire)), chromedp.KeyEvent("\r"))
	b.until("the followed wire", `!!document.querySelector('#station-1[aria-current]') && !!document.querySelector('fettle-harness.live')`)
	if title := eval[string](b, `document.querySelector('#follow-h').textContent`); !strings.Contains(title, "fuel pump") {
		t.Errorf("what is followed is called %q", title)
	}
	n := eval[int](b, `document.querySelectorAll('.follow .st').length`)
	if drawn := eval[int](b, `document.querySelectorAll('fettle-harness [id*="-stop-"]').length`); n < 8 || drawn != n {
		t.Errorf("%d stations in the list, %d balloons on the drawing", n, drawn)
	}
	// Every balloon stands within the view.
	if out := eval[int](b, `(v => [...document.querySelectorAll('fettle-harness [id*="-stop-"]')].filter(e => (r => r.top < v.top - 1 || r.bottom > v.bottom + 1 || r.left < v.left - 1 || r.right > v.right + 1)(e.getBoundingClientRect())).length)(document.querySelector('fettle-harness svg').getBoundingClientRect())`); out != 0 {
		t.Errorf("%d of %d stations are out of sight", out, n)
	}
	eval[bool](b, `document.querySelector('fettle-harness svg').focus(), true`)
	for i := 2; i <= 3; i++ {
		b.do(chromedp.KeyEvent(kb.ArrowRight))
		b.until(fmt.Sprintf("station %d", i), fmt.Sprintf(`!!document.querySelector('#station-%d[aria-current]') && document.activeElement.closest?.('fettle-harness') !== null`, i))
	}
	before := eval[float64](b, `document.querySelector('fettle-harness svg').viewBox.baseVal.width`)
	b.do(chromedp.KeyEvent("+"))
	if now := eval[float64](b, `document.querySelector('fettle-harness svg').viewBox.baseVal.width`); now >= before {
		t.Errorf("+ shows %g of %g", now, before)
	}
	b.do(chromedp.KeyEvent("\r"))
	b.until("the working of the station", `!!document.querySelector('dialog[open] .working')`)
	b.do(chromedp.KeyEvent("\x1b"))
	b.until("its end", `!document.querySelector('dialog[open]')`)
	eval[bool](b, `document.querySelector('fettle-harness svg').focus(), true`)
	b.do(chromedp.KeyEvent("\x1b"))
	b.until("nothing picked", `!document.querySelector('.follow') && !location.search.includes('wire')`)
	b.quiet()
}

// TestWireIsFollowedOnAPhone walks by the bar under the thumb.
func TestWireIsFollowedOnAPhone(t *testing.T) {
	b := newBrowser(t)
	b.size(360, true)
	b.open(fmt.Sprintf("/loom?state=full&wire=%d", b.wireOf("fuel pump 1")))
	if bottom := eval[bool](b, `(r => Math.abs(r.bottom - innerHeight) < 2)(document.querySelector('nav.step').getBoundingClientRect())`); !bottom {
		eval[bool](b, `document.querySelector('.follow').scrollIntoView(), true`)
	}
	if at := eval[float64](b, `document.querySelector('nav.step').getBoundingClientRect().bottom / innerHeight`); at < 0.95 || at > 1.01 {
		t.Errorf("the bar ends at %.2f of the screen", at)
	}
	eval[bool](b, `document.querySelector('nav.step a[rel=next]').click(), true`)
	b.until("station 2", `document.readyState === 'complete' && /^2 of \d+/.test(document.querySelector('nav.step > span')?.textContent ?? document.querySelectorAll('nav.step > span')[0]?.textContent ?? '')`)
	b.quiet()
}

// TestHarnessIsSeenWholeAndIsOneStop: nothing picked, all of the drawing is in its
// window and can be read; Tab comes to it once, arrows go from thing to thing and
// Enter picks one.
func TestHarnessIsSeenWholeAndIsOneStop(t *testing.T) {
	b := newBrowser(t)
	b.size(1280, false)
	b.open("/loom?state=full")
	b.until("the live drawing", `!!document.querySelector('fettle-harness.live')`)
	if out := eval[int](b, `(v => [...document.querySelectorAll('fettle-harness svg text')].filter(e => (r => r.top < v.top - 1 || r.bottom > v.bottom + 1 || r.left < v.left - 1 || r.right > v.right + 1)(e.getBoundingClientRect())).length)(document.querySelector('fettle-harness svg').getBoundingClientRect())`); out != 0 {
		t.Errorf("%d pieces of lettering are out of sight", out)
	}
	if scale := eval[float64](b, `document.querySelector('fettle-harness svg').getScreenCTM().a`); scale < 0.95 {
		t.Errorf("lettering of 12 px is drawn %.2f times as large", scale)
	}
	const stops = `[...document.querySelectorAll('fettle-harness svg, fettle-harness svg a')].filter(e => e.tabIndex === 0).length`
	if n, all := eval[int](b, stops), eval[int](b, `document.querySelectorAll('fettle-harness svg a').length`); n != 1 || all < 50 {
		t.Errorf("Tab stops %d times at a drawing of %d links", n, all)
	}
	eval[bool](b, `document.querySelector('fettle-harness svg').focus(), true`)
	seen := map[string]bool{}
	for _, key := range []string{kb.ArrowRight, kb.ArrowDown, kb.ArrowDown, kb.ArrowRight, kb.ArrowUp} {
		b.do(chromedp.KeyEvent(key))
		seen[eval[string](b, `(a => a instanceof SVGAElement ? JSON.stringify(a.getBoundingClientRect()) : '')(document.activeElement)`)] = true
	}
	if len(seen) < 4 || seen[""] {
		t.Errorf("five arrows came to %d things", len(seen))
	}
	if n := eval[int](b, stops); n != 1 {
		t.Errorf("then Tab stops %d times", n)
	}
	eval[bool](b, `[...document.querySelectorAll('fettle-harness svg a')].find(a => a.getAttribute('href')?.includes('thing='))?.focus(), true`)
	b.do(chromedp.KeyEvent("\r"))
	b.until("a followed wire", `!!document.querySelector('#station-1')`)
	b.quiet()
}

// TestHarnessOnAPhone begins where it can be read, and lists the places.
func TestHarnessOnAPhone(t *testing.T) {
	b := newBrowser(t)
	b.size(360, true)
	b.open("/loom?state=full")
	b.until("the live drawing", `!!document.querySelector('fettle-harness.live')`)
	if scale := eval[float64](b, `document.querySelector('fettle-harness svg').getScreenCTM().a`); scale < 0.95 {
		t.Errorf("lettering of 12 px is drawn %.2f times as large", scale)
	}
	if small := eval[int](b, `[...document.querySelectorAll('.places summary, fettle-harness button')].filter(e => e.getBoundingClientRect().height < 44).length`); small != 0 {
		t.Errorf("%d targets are too small for a thumb", small)
	}
	if n := eval[int](b, `document.querySelectorAll('.places details').length`); n < 8 {
		t.Errorf("%d places are listed", n)
	}
	b.quiet()
}
