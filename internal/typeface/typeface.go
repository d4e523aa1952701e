// Package typeface is the one typeface of fettle and the one measure of it: the
// same file dresses the page, the drawings and the book, so that what is
// measured once fits everywhere.
//
// Conventions: lengths are [Px], CSS pixels of 1/96 inch, which are 0.75
// typographic points on paper. A width is the sum of advance widths without
// kerning or ligatures; the back ends switch both off. U+00A0, U+2009 and
// U+202F never break a line, nor does the space between a figure and its unit.
// Start reading at [WidthPx], then [Wrap].
package typeface

import (
	"sync"

	"codeberg.org/go-fonts/dejavu/dejavusanscondensed"
	"codeberg.org/go-fonts/dejavu/dejavusanscondensedbold"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Px is a length in CSS pixels, 1/96 inch.
type Px float64

// PtPerPx converts to typographic points of 1/72 inch.
const PtPerPx = 0.75

// PxPerMM converts from millimetres.
const PxPerMM = 96 / 25.4

// Family is the name the typeface goes by in a style sheet.
const Family = "DejaVu Sans Condensed"

// Vertical measures in parts of the size: the height of capitals and figures
// above the base line, that of brackets and superscripts, the depth of
// descenders below it.
const (
	capFrac     = 0.73
	ascentFrac  = 0.78
	descentFrac = 0.24
)

// Regular is the TrueType file of weight 400.
func Regular() []byte { return dejavusanscondensed.TTF }

// Bold is the TrueType file of weight 600 and above.
func Bold() []byte { return dejavusanscondensedbold.TTF }

// CapPx is the height of capitals and figures at a size.
func CapPx(size Px) Px { return capFrac * size }

// AscentPx is the height of the tallest sign above the base line.
func AscentPx(size Px) Px { return ascentFrac * size }

// DescentPx is the depth of the deepest sign below the base line.
func DescentPx(size Px) Px { return descentFrac * size }

// tableRunes covers every sign that is set; rarer ones are looked up.
const tableRunes = 0x2800

type face struct {
	font     *sfnt.Font
	advances [tableRunes]float32 // in em; negative where the sign is missing
}

var (
	regular = sync.OnceValue(func() *face { return load(Regular()) })
	bold    = sync.OnceValue(func() *face { return load(Bold()) })
)

func load(ttf []byte) *face {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic("typeface: the bundled file does not parse: " + err.Error())
	}
	out := &face{font: f}
	var buf sfnt.Buffer
	for r := range out.advances {
		out.advances[r] = out.lookUp(&buf, rune(r))
	}
	return out
}

func (f *face) lookUp(buf *sfnt.Buffer, r rune) float32 {
	em := f.font.UnitsPerEm()
	i, err := f.font.GlyphIndex(buf, r)
	if err != nil {
		i = 0
	}
	a, err := f.font.GlyphAdvance(buf, i, fixed.I(int(em)), font.HintingNone)
	if err != nil {
		a = fixed.I(int(em))
	}
	w := float32(a) / 64 / float32(em)
	if i == 0 {
		return -w
	}
	return w
}

func (f *face) advance(r rune) float32 {
	if r >= 0 && r < tableRunes {
		return f.advances[r]
	}
	var buf sfnt.Buffer
	return f.lookUp(&buf, r)
}

func pick(isBold bool) *face {
	if isBold {
		return bold()
	}
	return regular()
}

// WidthPx returns how wide a text runs at a size.
func WidthPx(text string, size Px, isBold bool) Px {
	f, sum := pick(isBold), float64(0)
	for _, r := range text {
		if a := f.advance(r); a < 0 {
			sum -= float64(a)
		} else {
			sum += float64(a)
		}
	}
	return Px(sum) * size
}

// Has reports whether the typeface holds a sign.
func Has(r rune, isBold bool) bool { return pick(isBold).advance(r) >= 0 }

// Printable returns the text with every sign that the typeface lacks, and every
// control character, shown as U+FFFD, the mark for an unknown sign.
func Printable(text string, isBold bool) string {
	clean := true
	for _, r := range text {
		if !settable(r, isBold) {
			clean = false
		}
	}
	if clean {
		return text
	}
	out := make([]rune, 0, len(text))
	for _, r := range text {
		if !settable(r, isBold) {
			r = '\uFFFD'
		}
		out = append(out, r)
	}
	return string(out)
}

// settable also refuses signs beyond the basic plane, which the PDF writer
// can't carry.
func settable(r rune, isBold bool) bool {
	return r >= ' ' && r != 0x7f && r <= 0xffff && Has(r, isBold)
}
