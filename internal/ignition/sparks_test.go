package ignition

import "testing"

// TestSparksRatio counts the sparks of a winding by hand.
func TestSparksRatio(t *testing.T) {
	for _, c := range []struct {
		name                string
		cylinders, windings int
		wasted              bool
		want                float64
	}{
		{"a coil on each of four plugs", 4, 4, false, 0.5},
		{"a pack for four, wasted spark", 4, 2, true, 1},
		{"two packs for eight, wasted spark", 8, 4, true, 1},
		{"wasted spark on a coil for each", 8, 8, true, 1},
		{"a distributor for six", 6, 1, false, 3},
		{"a distributor for eight", 8, 1, false, 4},
		{"a twin coil for two", 2, 1, true, 1},
		{"one cylinder", 1, 1, false, 0.5},
	} {
		if got := SparksRatio(c.cylinders, c.windings, c.wasted); got != c.want {
			t.Errorf("%s: %g sparks a turn, want %g (counted by hand over the four strokes)", c.name, got, c.want)
		}
	}
}
