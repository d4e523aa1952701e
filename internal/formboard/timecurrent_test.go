package formboard

import (
	"math"
	"testing"

	"fettle/internal/drawing"
	"fettle/internal/loom"
)

// TestTimeCurrentCharts draws the chart of every fuse of every example: nothing
// clashes, the fuse stays below what its wire stands where the guard says it
// holds, and a wire behind a fuse made far too large is shown to fail.
func TestTimeCurrentCharts(t *testing.T) {
	drawn := 0
	check := func(name string, b *Board, w *loom.Wire) (above int) {
		p := b.TimeCurrent(w, "tc", 620)
		for _, width := range []drawing.Px{620, 328} {
			p.Width = width
			if c := drawing.Clashes(p.Draw()); len(c) > 0 {
				t.Errorf("%s, fuse %s, %.0f px: %v", name, w.Guard.Fuse, width, c[0])
			}
		}
		for i, f := range p.Curves[1].Y {
			if s := p.Curves[0].Y[i]; !math.IsNaN(float64(f)) && !math.IsNaN(float64(s)) && f > s {
				above++
			}
		}
		return above
	}
	for name, b := range boards(t) {
		for i := range b.Loom.Fuses {
			w, ok := b.Weakest(b.Loom.Fuses[i].Name)
			if !ok {
				continue
			}
			drawn++
			if above := check(name, b, w); above > 0 && w.Guard.Holds {
				t.Errorf("%s: wire %d holds behind %s, and the fuse is above it at %d currents", name, w.Number, w.Guard.Fuse, above)
			}
		}
	}
	if drawn < 100 {
		t.Errorf("only %d charts were drawn", drawn)
	}
	b := boards(t)["camper"]
	w, _ := b.Wire("wire 204")
	if g, ok := b.Weakest("F19"); ok {
		w = g
	}
	large := *w
	large.Guard.RatingA, large.Guard.Holds = 40, false
	if above := check("planted", b, &large); above == 0 {
		t.Error("a fuse of 40 A is shown to protect a wire behind 7.5 A")
	}
}
