package loom

import (
	"math"

	"fettle/internal/fuse"
)

// Instant is one point of the time–current plane.
type Instant struct{ CurrentA, TimeS float64 }

// Coordination is a fuse and a wire behind it on the time–current plane: what a
// chart of the two shows, on logarithmic axes.
type Coordination struct {
	Wire    int    // its number
	Fuse    string // "F3"
	RatingA float64
	LoadA   float64 // what the wire carries by design
	SureA   float64 // 1.35 times the rating: up to here the fuse need not open
	SteadyA float64 // what the wire carries for ever in its place
	ShortA  float64 // bolted short at the wire's beginning
	FarA    float64 // bolted short at its far end
	// Inrush are the pulses of the loads as they are switched on, as rectangles.
	Inrush []Instant
	// Fastest and Slowest bound when the fuse opens, from the current on at which
	// it may or must open; Withstand is how long the wire stands a current. All
	// with rising current and falling time, up to ShortA.
	Fastest, Slowest, Withstand []Instant
}

// pointsPerCurve is how finely the curves of a chart are drawn.
const pointsPerCurve = 60

// Coordination returns the time–current plane of a wire and its fuse; ok is
// false for a wire that no fuse protects, and says nothing about whether the fuse
// is small enough.
func (l *Loom) Coordination(number int) (c Coordination, ok bool) {
	if number < 1 || number > len(l.Wires) {
		return Coordination{}, false
	}
	w := &l.Wires[number-1]
	g := &w.Guard
	if g.Fuse == "" || g.damage == nil || !(g.ShortA > 0) {
		return Coordination{}, false
	}
	c = Coordination{
		Wire: number, Fuse: g.Fuse, RatingA: g.RatingA, LoadA: w.DesignA, SureA: fuse.SureRatio * g.RatingA,
		SteadyA: g.damage.SteadyA, ShortA: g.ShortA, FarA: g.FarA,
	}
	for _, f := range l.Fuses {
		if f.Name == g.Fuse {
			for _, p := range f.Inrush {
				c.Inrush = append(c.Inrush, Instant{p.CurrentA, p.LastsS})
			}
		}
	}
	curve := fuse.Of(g.RatingA)
	for _, i := range currents(curve, g) {
		for _, side := range []struct {
			to      *[]Instant
			slowest bool
		}{{&c.Fastest, false}, {&c.Slowest, true}} {
			if t, opens, err := curve.OpenS(g.RatingA, i, side.slowest); err == nil && opens {
				*side.to = append(*side.to, Instant{i, t})
			}
		}
		if t := g.damage.WithstandS(i); !math.IsInf(t, 1) {
			c.Withstand = append(c.Withstand, Instant{i, t})
		}
	}
	return c, true
}

// currents are where a chart's curves are computed: evenly spread from where the
// fuse may open to the short, and at the standard's own points and the ampacity.
func currents(curve fuse.Curve, g *Guard) []float64 {
	from := math.Min(g.RatingA, g.damage.SteadyA)
	marks := []float64{g.ShortA, g.damage.SteadyA * (1 + 1e-6)}
	for _, p := range curve.Points {
		marks = append(marks, p.MultipleRatio*g.RatingA)
	}
	for k := range pointsPerCurve {
		marks = append(marks, from*math.Pow(g.ShortA/from, float64(k)/(pointsPerCurve-1)))
	}
	return rising(marks, g.ShortA)
}
