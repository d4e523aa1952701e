package run_test

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/demo"
	"fettle/internal/figure"
	"fettle/internal/run"
)

func camper(tb testing.TB) run.Input {
	tb.Helper()
	files, err := demo.Files("camper")
	if err != nil {
		tb.Fatal(err)
	}
	in := run.Input{File: "build.yaml", Src: files["build.yaml"], Parts: map[string][]byte{}}
	for name, b := range files {
		if strings.HasPrefix(name, "parts/") {
			in.Parts[name] = b
		}
	}
	return in
}

func solved(tb testing.TB, in run.Input) (*run.Cache, *run.Result) {
	tb.Helper()
	c, err := run.NewCache()
	if err != nil {
		tb.Fatal(err)
	}
	r, err := run.Nominal(context.Background(), in, c)
	if err != nil {
		tb.Fatal(err)
	}
	for _, d := range r.Errors {
		tb.Fatal(d)
	}
	return c, r
}

// BenchmarkStatesCold solves the demo's nine states, and the first second of a cold start, from a compiled vehicle,
// with nothing to start from.
func BenchmarkStatesCold(b *testing.B) {
	_, r := solved(b, camper(b))
	v := r.Solved.Vehicle
	for b.Loop() {
		if _, err := v.Solve(nil); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkStatesWithWorking is the same with the working of every figure.
func BenchmarkStatesWithWorking(b *testing.B) {
	_, r := solved(b, camper(b))
	v := r.Solved.Vehicle
	for b.Loop() {
		if _, err := v.Solve(figure.NewLedger()); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkDraws1000 draws the inputs a thousand times and solves each draw.
func BenchmarkDraws1000(b *testing.B) {
	_, r := solved(b, camper(b))
	for b.Loop() {
		if _, err := run.Spread(context.Background(), r, run.Draws, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkNominal is everything an edit asks for: read, plan, solve, rules and
// every mend tried.
func BenchmarkNominal(b *testing.B) {
	in := camper(b)
	for b.Loop() {
		b.StopTimer()
		c, err := run.NewCache()
		if err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
		if _, err := run.Nominal(context.Background(), in, c); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkEdit is what a page waits for after an edit: the engine's tables are
// there already, everything else is done again.
func BenchmarkEdit(b *testing.B) {
	in := camper(b)
	c, _ := solved(b, in)
	n := 0
	for b.Loop() {
		n++
		in.Src = append(bytes.Clone(in.Src), fmt.Sprintf("# %d\n", n)...)
		if _, err := run.Nominal(context.Background(), in, c); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkOneLoadChanged solves the nine states again after one load has
// changed: one fan has become a smaller one.
func BenchmarkOneLoadChanged(b *testing.B) {
	c, r := solved(b, camper(b))
	after, err := c.Mended(context.Background(), r, []buildfile.Edit{{Path: []string{"devices", "left fan", "part"}, Text: "small radiator fan"}})
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
