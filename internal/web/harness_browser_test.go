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
