package web

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/folder"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

const (
	shift, ctrl = 8, 2
	right       = "\u0303"
	down        = "\u0301"
)

// press sends keys with a modifier held.
func (b *browser) press(keys string, held int64) {
	b.Helper()
	b.do(chromedp.KeyEvent(keys, chromedp.KeyModifiers(chromedp.Modifier(held))))
}

// pick puts the focus on a cell of the table.
func (b *browser) pick(row, col string) {
	b.Helper()
	eval[bool](b, `document.querySelector('#c-`+row+`-`+col+`').dispatchEvent(new PointerEvent('pointerdown', {bubbles: true})), true`)
}

// cell is the text of a cell, bare of brackets.
func (b *browser) cell(id string) string {
	b.Helper()
	return strings.Trim(eval[string](b, `document.querySelector('#c-`+id+`').textContent`), "()")
}

// because gives the reason of a change and makes it by Enter.
func (b *browser) because(reason string) {
	b.Helper()
	eval[bool](b, `document.querySelector('input[name=reason]').focus(), true`)
	b.do(chromedp.KeyEvent(reason))
	revisions := eval[int](b, `document.querySelectorAll('.revs li').length`)
	b.do(chromedp.KeyEvent("\r"))
	defer func() {
		if b.Failed() {
			b.Logf("the form says %q", eval[string](b, `[...document.querySelectorAll('#change input, #change select')].map(e => e.name + '=' + e.value).join(' ') + ' ' + document.querySelector('#change-no')?.textContent + ' busy ' + document.querySelector('fettle-sheet').getAttribute('aria-busy') + ' ' + document.querySelectorAll('.revs li').length + document.activeElement.outerHTML.slice(0,80)`))
		}
	}()
	b.until("the revision "+reason, `document.querySelectorAll('.revs li').length > `+itoa(max(revisions, 0))+` && !document.querySelector('fettle-sheet[aria-busy]')`)
}

func itoa(n int) string { return strings.Repeat("1+", n) + "0" }

// TestMapsByKeyboard does by keys what hands do in a grid: move, extend, set,
// add, scale, fill between, smooth, copy, paste, undo.
func TestMapsByKeyboard(t *testing.T) {
	b := newBrowser(t)
	b.size(1280, false)
	b.open("/maps?map=ve")
	first := b.cell("4-5")
	b.pick("4", "5")
	b.press(down, shift)
	b.press(right, shift)
	if n := eval[int](b, `document.querySelectorAll('td.picked').length`); n != 4 {
		t.Fatalf("%d cells are picked, not 2 × 2", n)
	}
	b.do(chromedp.KeyEvent("90"))
	b.until("the effect", `/4 of 4 cells would go/.test(document.querySelector('#effect').textContent)`)
	b.do(chromedp.KeyEvent("\x1b"))
	if b.cell("4-5") != first || eval[string](b, `document.activeElement.id`) != "c-5-6" {
		t.Errorf("Esc left %s, the focus is on %s", b.cell("4-5"), eval[string](b, `document.activeElement.id`))
	}
	for _, step := range []struct{ keys, reason, want string }{
		{"0.5", "set", "0.500"}, {"+0.1", "add", "0.600"}, {"+10%", "scale by a share", "0.660"}, {"*2", "scale by a factor", "1.320"},
	} {
		b.pick("4", "5")
		b.press(down+right, shift)
		b.do(chromedp.KeyEvent(step.keys))
		b.because(step.reason)
		for _, id := range []string{"4-5", "5-6"} {
			if got := b.cell(id); got != step.want {
				t.Errorf("%s: cell %s is %s, not %s", step.reason, id, got, step.want)
			}
		}
		if got := b.cell("6-6"); got == step.want {
			t.Errorf("%s: a cell beside the picked ones changed", step.reason)
		}
	}
	b.pick("4", "5")
	b.press("z", ctrl)
	b.until("undo", `document.querySelector('#c-4-5').textContent === '0.660'`)
	eval[bool](b, `document.querySelector('#c-4-5').focus(), true`)
	b.press("z", ctrl|shift)
	b.until("redo", `document.querySelector('#c-4-5').textContent === '1.320'`)
	b.shapes()
	b.clipboard()
	b.quiet()
}

// shapes fills between corners and smooths.
func (b *browser) shapes() {
	b.Helper()
	for _, act := range []string{"between", "smooth"} {
		b.pick("3", "5")
		b.press(down+down+down, shift)
		before := b.cell("4-5")
		eval[bool](b, `(document.querySelector('input[name=reason]').value = '`+act+`', document.querySelector('button[value=`+act+`]').click(), true)`)
		b.until(act, `[...document.querySelectorAll('.revs q')].some(q => q.textContent === '`+act+`')`)
		if b.cell("4-5") == before {
			b.Errorf("%s moved nothing", act)
		}
	}
}

// clipboard copies cells as text with tabs and pastes them elsewhere.
func (b *browser) clipboard() {
	b.Helper()
	b.pick("0", "0")
	b.press(down, shift)
	b.press(right, shift)
	want := eval[string](b, `['0-0 0-1', '1-0 1-1'].map(l => l.split(' ').map(id => document.querySelector('#c-' + id).textContent.replace(/[()]/g, '')).join('\t')).join('\n')`)
	got := eval[string](b, `(() => { const d = new DataTransfer(); document.activeElement.dispatchEvent(new ClipboardEvent('copy', {bubbles: true, cancelable: true, clipboardData: d})); return d.getData('text/plain') })()`)
	if got != want {
		b.Fatalf("copied %q, not %q", got, want)
	}
	b.pick("8", "8")
	eval[bool](b, `(() => { const d = new DataTransfer(); d.setData('text/plain', `+"`"+got+"`"+`); document.activeElement.dispatchEvent(new ClipboardEvent('paste', {bubbles: true, cancelable: true, clipboardData: d})); return true })()`)
	b.because("pasted")
	if pasted := eval[string](b, `['8-8 8-9', '9-8 9-9'].map(l => l.split(' ').map(id => document.querySelector('#c-' + id).textContent).join('\t')).join('\n')`); pasted != got {
		b.Errorf("pasted %q, not %q", pasted, got)
	}
	csv := b.get("/maps/ve.csv")
	if !strings.Contains(csv, strings.SplitN(got, "\t", 2)[0][:4]) || !strings.Contains(csv, "# basis") && !strings.Contains(csv, "basis") {
		b.Errorf("the file reads %.200s", csv)
	}
}

// TestPulseByHand asks for a moment of one's own, follows a factor to its cell and
// its working, with and without scripts.
func TestPulseByHand(t *testing.T) {
	b := newBrowser(t)
	b.size(360, true)
	b.open("/maps?map=lambda")
	b.do(chromedp.SetValue(chromedp.CSS("#m-n"), "3000"), chromedp.SetValue(chromedp.CSS("#m-p"), "95"))
	b.do(chromedp.Click(chromedp.CSS(".moment .btn")))
	b.until("the pulse of the moment", `document.readyState === 'complete' && location.search.includes('m-n=3000') && !!document.querySelector('.pulse .verdict .fig')`)
	if name := eval[string](b, `document.querySelector('#table-h').textContent`); !strings.HasPrefix(name, "Lambda") {
		t.Errorf("the table above is %q", name)
	}
	eval[bool](b, `document.querySelector('.factors .fig').click(), true`)
	b.until("the working", `!!document.querySelector('dialog[open] .inputs a[data-fig^="maps/ve/"]')`)
	eval[bool](b, `document.querySelector('dialog .inputs a[data-fig^="maps/ve/"]').click(), true`)
	b.until("the working of the cell", `/table ve, row/.test(document.querySelector('dialog .working h1').textContent)`)
	b.do(chromedp.KeyEvent("\x1b"))
	if _, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	b.do(chromedp.Navigate(b.srv.URL+"/maps?m-n=3000&m-p=95&m-c=90&m-a=40&m-v=13.8&m-s=600&m-r=0"), chromedp.WaitVisible(chromedp.CSS(".pulse .verdict .fig")))
	b.do(chromedp.Click(chromedp.CSS(".factors td.u a")), chromedp.WaitVisible(chromedp.CSS("#table-h")))
	b.quiet()
}

// TestFillingByHand gives an edit of the engine up at the foot of its sheet.
func TestFillingByHand(t *testing.T) {
	b := newBrowser(t)
	b.size(1280, false)
	b.open("/engine")
	before := b.file()
	field := `[data-path="engine/bore"] input[name=text]`
	eval[bool](b, `(e => (e.focus(), e.select(), true))(document.querySelector('`+field+`'))`)
	b.do(chromedp.KeyEvent("83.3 mm\r"))
	b.until("how far it is", `/cell \d+ of \d+/.test(document.querySelector('fettle-sheet > fettle-filling #far-text')?.textContent ?? '')`)
	b.do(chromedp.Click(chromedp.CSS("fettle-sheet > fettle-filling #far-end")))
	b.until("the end", `!document.querySelector('fettle-filling') && /Nothing was changed/.test(`+told+`)`)
	if b.file() != before {
		t.Error("the file was changed")
	}
	eval[bool](b, `(e => (e.focus(), e.select(), true))(document.querySelector('`+field+`'))`)
	b.do(chromedp.KeyEvent("83.4 mm\r"))
	b.until("the new figures", `!document.querySelector('fettle-filling') && document.querySelectorAll('.steps li').length === 2`)
	if !strings.Contains(b.file(), "83.4 mm") {
		t.Error("the edit is not in the file")
	}
	b.quiet()
}

// TestFillingIsAccessible holds the page that waits against axe-core's rules.
func TestFillingIsAccessible(t *testing.T) {
	axe, err := os.ReadFile("../../node_modules/axe-core/axe.min.js")
	if err != nil {
		t.Skip("axe-core is missing: run npm ci")
	}
	b := newBrowser(t)
	text := strings.Replace(b.file(), "bore: 82.5 mm", "bore: 83.7 mm", 1)
	if err := os.WriteFile(filepath.Join(b.dir, folder.Main), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	b.size(360, true)
	b.open("/engine")
	if !eval[bool](b, `!!document.querySelector('progress')`) {
		t.Skip("this machine fills an engine's tables before anybody could look")
	}
	eval[bool](b, string(axe)+";true")
	for _, v := range eval[[]string](b, `axe.run(document).then(r => r.violations.map(v => v.id + ': ' + v.help))`) {
		t.Error(v)
	}
	if w := eval[int](b, `document.documentElement.scrollWidth`); w > 360 {
		t.Errorf("%d px wide", w)
	}
	b.until("the sheet", `!!document.querySelector('#plan-h')`)
}
