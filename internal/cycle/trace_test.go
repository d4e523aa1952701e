package cycle

import (
	"bufio"
	"math"
	"strconv"
	"strings"
	"testing"

	"fettle/internal/crank"
)

// heavy is the engine of the measured pressures, as published with them (bore,
// stroke, ratio); its rod is assumed: 1.75 strokes, common practice.
var heavy = crank.Geometry{CylinderCount: 1, BoreM: 0.128, StrokeM: 0.144, RodM: 1.75 * 0.144, CompressionRatio: 20.3}

func measured(t *testing.T, name string) (tr Trace) {
	t.Helper()
	in := bufio.NewScanner(openData(t, "pressure", name))
	for in.Scan() {
		f := strings.Fields(in.Text())
		if len(f) != 2 {
			continue
		}
		a, err1 := strconv.ParseFloat(f[0], 64)
		p, err2 := strconv.ParseFloat(f[1], 64)
		if err1 != nil || err2 != nil {
			t.Fatal(in.Text(), err1, err2)
		}
		tr.AngleRad, tr.PressurePa = append(tr.AngleRad, a*deg), append(tr.PressurePa, p)
	}
	if err := in.Err(); err != nil {
		t.Fatal(err)
	}
	return tr
}

// Measured compression and closed-cycle work, integrated by our own code. The
// published exponents are those of a fit over most of the compression.
func TestMeasuredPressure(t *testing.T) {
	const source = "LibICE, measured cylinder pressure, with its data's description"
	for _, c := range []struct {
		file           string
		exponent, work float64
	}{{"pExpA25.txt", 1.373, 7.19e5}, {"pExpA100.txt", 1.369, 26.21e5}} {
		tr := measured(t, c.file)
		n, err := tr.ExponentRatio(heavy, -100*deg, -20*deg)
		if err != nil {
			t.Fatal(err)
		}
		work, err := tr.MeanPa(heavy)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: exponent %.4f, published %.3f; work %.3f bar, published %.2f, %+.2f %%; peak %.1f bar", c.file, n, c.exponent, work/1e5, c.work/1e5, 100*(work/c.work-1), tr.PeakPa()/1e5)
		if math.Abs(n-c.exponent) > 0.01 {
			t.Errorf("%s: exponent %.4f, want %.3f within 0.01 (%s)", c.file, n, c.exponent, source)
		}
		if math.Abs(work/c.work-1) > 0.02 {
			t.Errorf("%s: work %.4g Pa, want %.4g within 2 %% (%s)", c.file, work, c.work, source)
		}
		for _, rod := range []float64{1.5, 2.1} { // what the assumed rod decides
			g := heavy
			g.RodM = rod * g.StrokeM
			n, _ := tr.ExponentRatio(g, -100*deg, -20*deg)
			w, _ := tr.MeanPa(g)
			t.Logf("    with a rod of %.1f strokes %.4f, %.3f bar", rod, n, w/1e5)
		}
	}
}

// Closed forms: a polytrope's exponent comes back, and its work.
func TestTraceOfPolytrope(t *testing.T) {
	var tr Trace
	for i := -170; i <= 0; i++ {
		a := float64(i) * deg
		tr.AngleRad = append(tr.AngleRad, a)
		tr.PressurePa = append(tr.PressurePa, 1e5*math.Pow(heavy.CylinderM3(-170*deg)/heavy.CylinderM3(a), 1.35))
	}
	n, err := tr.ExponentRatio(heavy, -2, -0.3)
	if err != nil || math.Abs(n-1.35) > 1e-9 {
		t.Errorf("exponent %.9f (%v)", n, err)
	}
	w, err := tr.MeanPa(heavy)
	v0, v1 := heavy.CylinderM3(-170*deg), heavy.CylinderM3(0)
	want := 1e5 * v0 / (1 - 1.35) * (math.Pow(v0/v1, 0.35) - 1) / heavy.SweptM3()
	if err != nil || math.Abs(w/want-1) > 1e-3 {
		t.Errorf("work %.5g Pa, closed form %.5g (%v)", w, want, err)
	}
	if _, err := tr.ExponentRatio(heavy, 1, 2); err == nil {
		t.Error("an interval without points: accepted")
	}
	if _, err := (Trace{AngleRad: []float64{1}, PressurePa: []float64{1e5}}).MeanPa(heavy); err == nil {
		t.Error("one point: accepted")
	}
	tr.PressurePa[3] = math.NaN()
	if _, err := tr.MeanPa(heavy); err == nil || !strings.Contains(err.Error(), "cylinder pressure NaN") {
		t.Errorf("a pressure that is no number: %v", err)
	}
}
