package run_test

import (
	"context"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/loom"
	"fettle/internal/run"
	"fettle/internal/run/runtest"
	"fettle/internal/vehicle"
)

// fullDesign reads and solves the full car; every wire has its pin and every
// state settles.
func fullDesign(tb testing.TB) (*run.Cache, *run.Result) {
	tb.Helper()
	c, r := solved(tb, runtest.FullCar())
	if n := len(r.Loom.Wires); n < runtest.LeastWires {
		tb.Fatalf("the full car has %d wires, want %d", n, runtest.LeastWires)
	}
	for _, s := range append(r.Loom.Short, r.Loom.Loose...) {
		tb.Errorf("%s wants %s and finds none", s.End, s.Needs)
	}
	for _, s := range r.Solved.States {
		if !s.Ended.OK {
			tb.Fatalf("%s: %s", s.Name, s.Ended.Why)
		}
	}
	return c, r
}

// compiled is a design from pins to the solved states, without the engine's
// response tables, which hang on the engine alone and are kept.
func compiled(tb testing.TB, d *design.Design, kept *vehicle.Engines) {
	l, ds := loom.Plan(d)
	for _, x := range ds {
		tb.Fatal(x)
	}
	v, err := vehicle.New(tb.Context(), d, l, kept)
	if err != nil {
		tb.Fatal(err)
	}
	states, err := v.SolveFrom(nil)
	if err != nil {
		tb.Fatal(err)
	}
	for i := range states {
		if !states[i].Ended.OK {
			tb.Fatal(states[i].Ended.Why)
		}
	}
}

// TestFullCar wants the vehicle that the benchmarks measure to be a working one:
// 400 wires, each with its pin, every state solved.
func TestFullCar(t *testing.T) { fullDesign(t) }

// BenchmarkFullCar assigns, routes, sizes and solves all states of a vehicle of
// 400 wires.
func BenchmarkFullCar(b *testing.B) {
	_, r := fullDesign(b)
	var kept vehicle.Engines
	compiled(b, r.Design, &kept)
	for b.Loop() {
		compiled(b, r.Design, &kept)
	}
	b.ReportMetric(float64(len(r.Loom.Wires)), "wires")
}

// BenchmarkFullCarPlan is the loom alone.
func BenchmarkFullCarPlan(b *testing.B) {
	_, r := fullDesign(b)
	for b.Loop() {
		if _, ds := loom.Plan(r.Design); len(ds) > 0 {
			b.Fatal(ds[0])
		}
	}
}

// BenchmarkFullCarStates solves its states from nothing, without the start.
func BenchmarkFullCarStates(b *testing.B) {
	_, r := fullDesign(b)
	for b.Loop() {
		if _, err := r.Solved.Vehicle.SolveFrom(nil); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkFullCarOneLoadChanged solves all states again after one fan has become
// a smaller one.
func BenchmarkFullCarOneLoadChanged(b *testing.B) {
	c, r := fullDesign(b)
	after, err := c.Mended(context.Background(), r, []buildfile.Edit{{Path: []string{"devices", "fan", "part"}, Text: "small radiator fan"}})
	if err != nil || after == nil {
		b.Fatal("the fan can't be changed: ", err)
	}
	for b.Loop() {
		states, err := after.Solved.Vehicle.SolveFrom(r.Solved)
		if err != nil {
			b.Fatal(err)
		}
		for i := range states {
			if !states[i].Ended.OK {
				b.Fatal(states[i].Ended.Why)
			}
		}
	}
}
