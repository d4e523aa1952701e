package drawing

import (
	"fmt"
	"strings"
)

// ShadeSteps is how many classes of shading a page has.
const ShadeSteps = 48

// ShadeClass is the class of a cell by its place between the fixed ends of its
// table, 0 to 1; beyond them it is that of the nearer end.
func ShadeClass(levelFrac float64) string {
	n := int(levelFrac*(ShadeSteps-1) + 0.5)
	return fmt.Sprintf("sh%d", max(0, min(ShadeSteps-1, n)))
}

// ShadeSheet is the style sheet of the classes: cividis, with figures in black or
// white by luminance, the same by day and by night.
func ShadeSheet() string {
	var b strings.Builder
	for i := range ShadeSteps {
		f := Fill{Shade: Cividis, LevelFrac: float64(i) / (ShadeSteps - 1)}
		c := CividisAt(f.LevelFrac)
		text := "#fff"
		if f.On() == Black {
			text = "#000"
		}
		fmt.Fprintf(&b, ".sh%d{background:#%02x%02x%02x;color:%s}\n", i, c.R, c.G, c.B, text)
	}
	return b.String()
}
