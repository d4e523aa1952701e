package drawing

import (
	"strings"
	"testing"
)

// TestShadeSheet holds every class to the least contrast of the visual system.
func TestShadeSheet(t *testing.T) {
	sheet := ShadeSheet()
	if n := strings.Count(sheet, "{background:"); n != ShadeSteps {
		t.Fatalf("%d classes, want %d", n, ShadeSteps)
	}
	for i := range ShadeSteps {
		c := CividisAt(float64(i) / (ShadeSteps - 1))
		best := max(ContrastRatio(c, RGB{}), ContrastRatio(c, RGB{255, 255, 255}))
		if best < 4.5 {
			t.Errorf("class %d has a contrast of %.2f, at least 4.5 is due", i, best)
		}
	}
	for _, row := range []struct {
		level float64
		want  string
	}{{-1, "sh0"}, {0, "sh0"}, {1, "sh47"}, {2, "sh47"}} {
		if got := ShadeClass(row.level); got != row.want {
			t.Errorf("ShadeClass(%g) = %s, want %s", row.level, got, row.want)
		}
	}
}
