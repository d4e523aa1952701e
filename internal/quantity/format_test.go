package quantity_test

import (
	"math"
	"strings"
	"testing"

	"fettle/internal/quantity"

	"pgregory.net/rapid"
)

// visible makes the gaps of print readable in a test row: ~ for the no-break
// space, ' for the narrow one.
var visible = strings.NewReplacer("\u00a0", "~", "\u202f", "'")

// TestFormat holds the print to the written rules: a point, a real minus, gaps
// that never break, groups from five digits on, whole units in full.
func TestFormat(t *testing.T) {
	for _, c := range []struct {
		si     float64
		unit   string
		digits int
		want   string
	}{
		{4900 * math.Pi / 30, "rpm", 0, "4900~rpm"},
		{29128, "J", 0, "29'128~J"},
		{1234567, "J", 0, "1'234'567~J"},
		{258.15, "°C", 0, "−15~°C"},
		{293.15, "°F", 0, "68~°F"},
		{12, "V", 0, "12.0~V"},
		{11.44, "V", 3, "11.4~V"},
		{9.996, "V", 3, "10.0~V"},
		{0.00345, "V", 0, "0.00345~V"},
		{-0.0004, "V", 0, "−0.000400~V"},
		{0, "V", 0, "0.00~V"},
		{1.23e-7, "m", 0, "1.23~×~10⁻⁷~m"},
		{2.0809e-6, "AWG", 0, "14~AWG"},
		{107.219e-6, "AWG", 0, "4/0~AWG"},
		{2.5e-6, "mm²", 2, "2.5~mm²"},
		{math.Pi / 18, "°", 0, "10.0°"},
		{0.85, "%", 2, "85~%"},
		{4.1, ":1", 3, "4.10:1"},
		{1.47, "", 3, "1.47"},
		{5, "", 0, "5"},
		{math.NaN(), "V", 0, "no figure~V"},
		{1, "wisdom", 0, `1 in SI (unknown unit "wisdom")`},
	} {
		if got := visible.Replace(quantity.Format(c.si, c.unit, c.digits)); got != c.want {
			t.Errorf("Format(%g, %q, %d) = %s, want %s", c.si, c.unit, c.digits, got, c.want)
		}
	}
	if got := quantity.Number(3e5, "bar", 2); got != "3.0" {
		t.Errorf("Number = %s, want 3.0", got)
	}
}

func TestFormatSpread(t *testing.T) {
	for _, c := range []struct {
		si, sd float64
		unit   string
		want   string
	}{
		{11.42, 0.15, "V", "11.4~±~0.3~V"},
		{11.42, 0.07, "V", "11.42~±~0.14~V"},
		{293.15, 2.5, "°C", "20~±~5~°C"},
		{293.15, 2.5, "°F", "68~±~9~°F"},
		{29128, 600, "J", "29'128~±~1200~J"},
		{0.5, 0.0495, "V", "0.50~±~0.10~V"},
		{12, 0, "V", "12.0~V"},
		{12, math.Inf(1), "V", "12.0~V"},
	} {
		if got := visible.Replace(quantity.FormatSpread(c.si, c.sd, c.unit)); got != c.want {
			t.Errorf("FormatSpread(%g, %g, %q) = %s, want %s", c.si, c.sd, c.unit, got, c.want)
		}
	}
}

func TestFormatFrac(t *testing.T) {
	for _, c := range []struct {
		frac float64
		n    int
		want string
	}{
		{0, 1000, "under~0.1~%"},
		{1, 1000, "over~99.9~%"},
		{0.001, 1000, "0.1~%"},
		{0.999, 1000, "99.9~%"},
		{0.993, 1000, "99.3~%"},
		{0.986, 1000, "99~%"},
		{0.5, 1000, "50~%"},
		{0, 50, "under~2~%"},
		{1, 300, "over~99.6~%"},
		{0, 0, "under~0.1~%"},
		{math.NaN(), 1000, "unknown"},
	} {
		if got := strings.ReplaceAll(visible.Replace(quantity.FormatFrac(c.frac, c.n)), " ", "~"); got != c.want {
			t.Errorf("FormatFrac(%g, %d) = %s, want %s", c.frac, c.n, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		got := visible.Replace(quantity.FormatFrac(p, rapid.IntRange(0, 100000).Draw(t, "n")))
		if got == "0~%" || got == "100~%" || strings.HasPrefix(got, "0.0~") || strings.HasPrefix(got, "100.0") || strings.Contains(got, "under 0~") || strings.Contains(got, "over 100~") {
			t.Fatalf("%g prints as %s", p, got)
		}
	})
}
