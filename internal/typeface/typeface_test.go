package typeface

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"golang.org/x/image/font/sfnt"
	"pgregory.net/rapid"
)

// The advances were read from the tables cmap and hmtx of the same release as
// Debian ships it (fonts-dejavu-core 2.37), by a reader of those tables written
// after the OpenType specification 1.9; 2048 units per em.
func TestAdvances(t *testing.T) {
	for _, c := range []struct {
		name, text string
		bold       bool
		want       Px // at size 2048
		tol        float64
		source     string
	}{
		{"nought", "0", false, 1172, 0.01, "DejaVuSansCondensed.ttf 2.37, hmtx, zero"},
		{"one is as wide as nought", "1", false, 1172, 0.01, "DejaVuSansCondensed.ttf 2.37, hmtx, one"},
		{"two signs without kerning", "AV", false, 1260 + 1260, 0.01, "DejaVuSansCondensed.ttf 2.37, hmtx, A and V"},
		{"ohm sign", "Ω", false, 1408, 0.01, "DejaVuSansCondensed.ttf 2.37, hmtx, Omega"},
		{"minus sign", "−", false, 1544, 0.01, "DejaVuSansCondensed.ttf 2.37, hmtx, minus"},
		{"bold figure", "7", true, 1282, 0.01, "DejaVuSansCondensed-Bold.ttf 2.37, hmtx, seven"},
		{"bold m", "m", true, 1920, 0.01, "DejaVuSansCondensed-Bold.ttf 2.37, hmtx, m"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := WidthPx(c.text, 2048, c.bold); math.Abs(float64(got-c.want)) > c.tol {
				t.Errorf("width of %q = %v, want %v (%s)", c.text, got, c.want, c.source)
			}
		})
	}
}

// A browser, told to leave kerning and ligatures out, measures the same.
func TestWidthsOfABrowser(t *testing.T) {
	const source = "Chromium, SVGTextContentElement.getComputedTextLength at 13 px, faces of fonts-dejavu-core 2.37"
	for _, c := range []struct {
		name, text string
		bold       bool
		want, tol  float64 // the browser steps by 1/64 px
	}{
		{"figure", "needs 10.3 g/s", false, 86.266, 0.02},
		{"figure, bold", "needs 10.3 g/s", true, 96.141, 0.02},
		{"pairs that kern and join", "AVAToffi 11.4 V, 78 A", false, 125.250, 0.02},
		{"the same, bold", "AVAToffi 11.4 V, 78 A", true, 141.313, 0.02},
		{"signs", "Σ Ω⁻¹ ± 3 % … −0.9", false, 117.922, 0.02},
		{"signs, bold", "Σ Ω⁻¹ ± 3 % … −0.9", true, 125.516, 0.02},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := float64(WidthPx(c.text, 13, c.bold)); math.Abs(got-c.want) > c.tol {
				t.Errorf("width of %q = %v, want %v (%s)", c.text, got, c.want, source)
			}
		})
	}
}

func TestHasWhatWePrint(t *testing.T) {
	for _, r := range "Ωρµμ∂Δ°⁻⁰¹²³⇒✓✗☐☑→≤≥≈±×·…−–’“”√∑αβλφη½⅓²₁₂₂₀′″ " {
		if !Has(r, false) || !Has(r, true) {
			t.Errorf("the typeface lacks %q %U", r, r)
		}
	}
	if Has('漢', false) {
		t.Error("a sign the family is known to lack is reported as held")
	}
	if got := Printable("a漢\x07😀b", false); got != "a\uFFFD\uFFFD\uFFFDb" {
		t.Errorf("Printable = %q", got)
	}
}

func TestWrapKeepsFigureAndUnit(t *testing.T) {
	text := "the pump needs 12.0 V and gets 11.4 V through 2 × 4.6 m of wire at (38) °C, ± 3 %"
	for width := LongestWordPx(text, 13, false); width < 500; width += 3 {
		for _, l := range Wrap(text, width, 13, false) {
			for _, bad := range []string{"V", "m", "°C", "%", "×"} {
				if strings.HasPrefix(l, bad+" ") || l == bad {
					t.Fatalf("width %v: line %q begins with a unit", width, l)
				}
			}
			if strings.HasSuffix(l, "±") || strings.HasSuffix(l, "×") {
				t.Fatalf("width %v: line %q ends in a sign", width, l)
			}
		}
	}
	if got := Wrap("i A", 6, 12, false); len(got) != 2 || got[0] != "i" || got[1] != "A" {
		t.Errorf("a blank that does not fit stays off the line: %q", got)
	}
	if got := Wrap("29\u2009128\u00a0km of road", 80, 13, false); !strings.HasPrefix(got[0], "29\u2009128\u00a0km") {
		t.Errorf("no-break spaces: %q", got)
	}
}

// Identities: no line is wider than asked (unless it is a single sign), no
// letter is lost, no line could take the next word as well.
func TestWrapIdentities(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`([a-zA-Z0-9.,/Ωµ°-]{1,30} ?){0,12}`).Draw(t, "text")
		width := Px(rapid.Float64Range(5, 400).Draw(t, "width"))
		lines := Wrap(text, width, 12, false)
		for _, l := range lines {
			if w := WidthPx(l, 12, false); w > width+0.01 && len([]rune(l)) > 1 {
				t.Fatalf("line %q is %v wide, allowed %v", l, w, width)
			}
		}
		squeeze := func(s string) string { return strings.Join(strings.Fields(s), "") }
		if got, want := squeeze(strings.Join(lines, "")), squeeze(text); got != want {
			t.Fatalf("text changed: %q to %q", want, got)
		}
	})
}

func TestWrapRunsCarriesMarks(t *testing.T) {
	got := WrapRuns([]Run{{"It would start, then ", true, 0}, {"starve at full power.", true, 1}}, 120, 20)
	var marked string
	for _, l := range got {
		for _, r := range l {
			if r.Mark == 1 {
				marked += r.Text + " "
			}
		}
	}
	if strings.Join(strings.Fields(marked), " ") != "starve at full power." {
		t.Errorf("marked text = %q in %v", marked, got)
	}
	if n := len(Wrap("one\n\ntwo", 500, 12, false)); n != 3 {
		t.Errorf("line feeds give %d lines, want 3", n)
	}
}

func TestFit(t *testing.T) {
	if l, s := Fit("11.4 V", 200, 13, 9, false); s != 13 || !slices.Equal(l, []string{"11.4 V"}) {
		t.Errorf("roomy: %q at %v", l, s)
	}
	if l, s := Fit("(100.3)", 36, 13, 8, false); len(l) != 1 || s >= 13 || WidthPx(l[0], s, false) > 36 {
		t.Errorf("tight: %q at %v", l, s)
	}
	if l, s := Fit("a very long description of a pump", 60, 13, 11, false); len(l) < 2 || s != 11 {
		t.Errorf("too long: %q at %v", l, s)
	}
}

func TestFilesParse(t *testing.T) {
	for _, ttf := range [][]byte{Regular(), Bold()} {
		if !bytes.HasPrefix(ttf, []byte{0, 1, 0, 0}) {
			t.Error("not a TrueType file")
		}
		if f, err := sfnt.Parse(ttf); err != nil || f.UnitsPerEm() != 2048 {
			t.Errorf("units per em: %v", err)
		}
	}
}
