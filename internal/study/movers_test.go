package study

import (
	"math"
	"slices"
	"sync/atomic"
	"testing"

	"fettle/internal/figure"
)

// TestSensitivities: of a linear margin a change is the coefficient times the
// standard deviation, exactly; inputs of one batch add up.
func TestSensitivities(t *testing.T) {
	a := &figure.Input{ID: "a", SI: 10, SdSI: 1, Unit: "V"}
	b := &figure.Input{ID: "b", SI: 10, SdSI: 0.25, Unit: "V"}
	c1 := &figure.Input{ID: "c1", SI: 10, SdSI: 0.5, Unit: "V", Batch: "c"}
	c2 := &figure.Input{ID: "c2", SI: 10, SdSI: 0.5, Unit: "V", Batch: "c"}
	idle := &figure.Input{ID: "idle", SI: 10, SdSI: 3, Unit: "V"}
	known := &figure.Input{ID: "known", SI: 10, Unit: "V"}
	got := Sensitivities([]*figure.Input{known, idle, b, a, c1, c2, a}, func(v func(*figure.Input) float64) ([]Sampled, bool) {
		x := 2*v(a) + 3*v(b) - 2*v(c1) - 3*v(c2) + v(known)
		return []Sampled{{ID: "floor", Value: x, Limit: 5, AtLeast: true}, {ID: "ceiling", Value: x, Limit: 50}}, true
	})
	for id, sign := range map[figure.ID]float64{"floor": 1, "ceiling": -1} {
		ms := got[id]
		var order []figure.ID
		for _, m := range ms {
			order = append(order, m.Input.ID)
		}
		if !slices.Equal(order, []figure.ID{"c1", "a", "b"}) || len(ms[0].With) != 1 || ms[0].With[0] != c2 {
			t.Fatalf("%s is moved by %v", id, order)
		}
		for i, want := range []float64{-2.5, 2, 0.75} {
			if math.Abs(ms[i].UpLeft-sign*want) > 1e-12 || math.Abs(ms[i].DownLeft+sign*want) > 1e-12 {
				t.Errorf("%s by %s: %g and %g, want ± %g", id, order[i], ms[i].DownLeft, ms[i].UpLeft, sign*want)
			}
		}
	}
}

// TestUnsolvedMover: an input that takes the solution away stands first.
func TestUnsolvedMover(t *testing.T) {
	a := &figure.Input{ID: "a", SI: 10, SdSI: 1, Unit: "V"}
	b := &figure.Input{ID: "b", SI: 10, SdSI: 0.1, Unit: "V"}
	one := func(v func(*figure.Input) float64) ([]Sampled, bool) {
		return []Sampled{{ID: "m", Value: 5 * v(a), AtLeast: true}}, v(b) > 9.95
	}
	ms := Sensitivities([]*figure.Input{a, b}, one)["m"]
	if len(ms) != 2 || ms[0].Input != b || !ms[0].Unsolved() || ms[0].UpLeft != 0 || ms[1].Unsolved() {
		t.Errorf("movers %+v", ms)
	}
	b.SI = 9
	if got := Sensitivities([]*figure.Input{a, b}, one); got != nil {
		t.Errorf("a vehicle without solution gave %v", got)
	}
}

// TestOffFollowsDraws: one standard deviation off is where the same fraction of
// the draws lies beyond, for the narrow law and for the wide one.
func TestOffFollowsDraws(t *testing.T) {
	const n = 20000
	const want = 0.1577311979671519 // SciPy 1.10.1 stats.truncnorm(-3, 3).cdf(-1)
	for _, in := range []*figure.Input{
		{ID: "narrow", SI: 10, SdSI: 0.5, Unit: "Ω"},
		{ID: "wide", SI: 10, SdSI: 6, Unit: "Ω"},
		{ID: "warm", SI: 300, SdSI: 100, Unit: "°C"},
		{ID: "negative", SI: -10, SdSI: 6, Unit: "A"},
	} {
		low, high := 0, 0
		for k := 1; k <= n; k++ {
			switch x := (figure.Draw{Seed: 3, K: k}).Of(in); {
			case x < off(in, -1):
				low++
			case x > off(in, 1):
				high++
			}
		}
		tol := 4 * math.Sqrt(want*(1-want)/n)
		if math.Abs(float64(low)/n-want) > tol || math.Abs(float64(high)/n-want) > tol {
			t.Errorf("%s: %d low and %d high of %d, want %g each", in.ID, low, high, n, want)
		}
	}
}

// An input that the nominal vehicle never asks for is not moved; one that it asks
// for by another member of its batch is.
func TestMoversLeaveOutTheUnasked(t *testing.T) {
	used := &figure.Input{ID: "used", SI: 2, SdSI: 0.1, Batch: "b"}
	twin := &figure.Input{ID: "twin", SI: 3, SdSI: 0.1, Batch: "b"}
	idle := &figure.Input{ID: "idle", SI: 5, SdSI: 1}
	var calls atomic.Int64
	got := Sensitivities([]*figure.Input{idle, twin, used}, func(value func(*figure.Input) float64) ([]Sampled, bool) {
		calls.Add(1)
		return []Sampled{{ID: "m", Value: value(used), AtLeast: true}}, true
	})
	if n := calls.Load(); n != 3 {
		t.Errorf("%d vehicles were solved, want the nominal one and two", n)
	}
	if ms := got["m"]; len(ms) != 1 || math.Abs(ms[0].UpLeft-0.1) > 1e-12 {
		t.Errorf("movers %+v", ms)
	}
}
