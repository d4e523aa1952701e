package calibrate

import (
	"math"
	"strings"
	"testing"

	"fettle/internal/cycle"
	"fettle/internal/enginemap"
	"fettle/internal/figure"
)

// The spread that the inputs bring to air and spark by the cycle, to first order
// on a coarse grid, against a sample of the same inputs drawn through the cycle
// itself. The sample's own error is 1/√(2·150) = 6 %, the law bends, and a cell is
// read between the coarse places: a quarter in all. The place is one where the
// closing of the intake moves the air one way; about 3600 rpm, where this engine's
// runner is in tune, its effect turns and the first order says little.
func TestSpreadByCycleAgainstDraws(t *testing.T) {
	in := engine()
	g, err := cycle.NewGas(in.Engine.Fuel)
	if err != nil {
		t.Fatal(err)
	}
	if in.Response, err = enginemap.Solve(t.Context(), in.Engine, g, nil); err != nil {
		t.Fatal(err)
	}
	last, of := 0, 0
	in.Tell = func(done, total int) { last, of = done, total }
	with := tables(t, in)
	if last != of || of != len(in.Leaves)+1 {
		t.Errorf("progress ended at %d of %d", last, of)
	}
	alone := in
	alone.Leaves = nil
	without := tables(t, alone)
	const n, pa, draws = 5400 * rpm, 80e3, 150
	speeds, pressures := []float64{n, n + 1}, []float64{pa, pa + 100}
	var sum, squares [2]float64
	for k := 1; k <= draws; k++ {
		d, e := figure.Draw{Seed: 11, K: k}, in.Engine
		for _, l := range in.Leaves {
			l.Shift(&e, d.Of(l.In)-l.In.SI)
		}
		ve, spark, err := enginemap.Sample(t.Context(), e, g, in.Response, speeds, pressures)
		if err != nil {
			t.Fatal(err)
		}
		for i, z := range []float64{ve.Z[0], spark.Z[0] / degree} {
			sum[i], squares[i] = sum[i]+z, squares[i]+z*z
		}
	}
	for i, name := range []string{VE, Spark} {
		mean := sum[i] / draws
		want := math.Sqrt(squares[i]/draws - mean*mean)
		w, err := with[name].Grid.Weights(n/rpm, pa/1e3)
		if err != nil {
			t.Fatal(err)
		}
		got := math.Sqrt(math.Pow(w.SpreadOf(&with[name].Grid), 2) - math.Pow(w.SpreadOf(&without[name].Grid), 2))
		t.Logf("%s at 5400 rpm, 80 kPa: the inputs bring %.4f to first order, %.4f drawn", name, got, want)
		if math.Abs(got-want) > 0.25*want {
			t.Errorf("%s: %.4f to first order, %.4f drawn", name, got, want)
		}
		if !strings.Contains(with[name].Uncertainty, "is computed by the cycle") {
			t.Errorf("%s does not say how its spread was computed: %s", name, with[name].Uncertainty)
		}
	}
}
