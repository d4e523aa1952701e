package pipeflow

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, name string, got float64, err error, want, tol float64, source string) {
	t.Helper()
	if err != nil || !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: got %.6g, %v, want %.6g within %g (%s)", name, got, err, want, tol, source)
	}
}

func TestDarcy(t *testing.T) {
	const source = "python3-fluids 1.0.22, Colebrook and Clamond forms agree"
	for _, r := range []struct{ re, eps, want float64 }{
		{4e3, 0, 0.03991},
		{1e4, 0, 0.03088},
		{1e4, 0.001, 0.03238},
		{1e5, 0, 0.01799},
		{1e5, 0.001, 0.02218},
		{1e5, 0.01, 0.03850},
		{1e6, 1e-4, 0.01344},
		{1000, 0, 0.064},
		{2300, 0.01, 64. / 2300},
	} {
		got, end, err := DarcyRatio(r.re, r.eps)
		near(t, "friction factor", got, err, r.want, 3e-4, source) // last printed digit
		if !end.OK || end.Steps > 6 {
			t.Errorf("Re %g: ended %+v", r.re, end)
		}
	}
}

var water = Fluid{999, 1.138e-3}

// Water at 6 L/s through 60 m of 50 mm stainless pipe. The page goes on with
// rounded velocity and friction factor, hence 0.5 %.
func TestPipeExample(t *testing.T) {
	const source = "Çengel & Cimbala, Fluid Mechanics, example 8-3"
	l := Line{60, 0.05, 2e-6, 0}
	re, err := ReynoldsRatio(6e-3, l.BoreM, water)
	near(t, "Re", re, err, 1.341e5, 1e-3, source)
	f, _, err := DarcyRatio(re, l.RoughnessM/l.BoreM)
	near(t, "f", f, err, 0.0172, 3e-3, source)
	drop, _, err := LineDropPa(l, 6e-3, water)
	near(t, "drop", drop, err, 96.5e3, 5e-3, source)
	near(t, "head", drop/(999*9.81), err, 9.85, 5e-3, source)
	near(t, "power", drop*6e-3, err, 579, 5e-3, source)
}

// 89 m of cast iron pipe with fittings from a reservoir that gives 6 L/s at the
// other end, 4 m up: the level needed is 31.8 m.
func TestSystemExample(t *testing.T) {
	const source = "Çengel & Cimbala, Fluid Mechanics, example 8-8"
	l := Line{89, 0.05, 0.26e-3, 0.5 + 2*0.3 + 0.2 + 1.06}
	hot := Fluid{999.7, 1.307e-3} // 10 °C, as the example says
	drop, _, err := LineDropPa(l, 6e-3, hot)
	near(t, "level", 4+drop/(999.7*9.81), err, 31.8, 1e-2, source)
	re, _ := ReynoldsRatio(6e-3, l.BoreM, hot)
	f, _, err := DarcyRatio(re, l.RoughnessM/l.BoreM)
	near(t, "f", f, err, 0.0315, 3e-3, source)
}

func TestExpansionExample(t *testing.T) {
	const source = "Çengel & Cimbala, Fluid Mechanics, example 8-6"
	drop, err := MinorDropPa(0.133, 1000, 7)
	near(t, "head lost", drop/(1000*9.81), err, 0.332, 3e-3, source)
	k, err := ExpansionLossRatio(0.06, 0.09) // sudden; the cone of the example loses less
	near(t, "sudden step", k, err, (1-4.0/9)*(1-4.0/9), 1e-12, "Borda and Carnot")
}

func TestFuelLine(t *testing.T) {
	const source = "Colebrook by python3-fluids, recomputed"
	fuel := Fluid{740, 0.5e-3}
	for _, r := range []struct{ mm, lPerMin, paPerM float64 }{{8, 3, 1368}, {6, 1.5, 1605}, {9.5, 3, 604}} {
		drop, _, err := LineDropPa(Line{1, r.mm / 1000, 1.5e-6, 0}, r.lPerMin/60e3, fuel)
		near(t, "line", drop, err, r.paPerM, 1e-3, source)
	}
	v, err := VelocityMPerS(3./60e3, 0.008)
	near(t, "velocity", v, err, 0.995, 1e-3, source)
	re, err := ReynoldsRatio(3./60e3, 0.008, fuel)
	near(t, "Re", re, err, 11777, 1e-4, source)
}

// The drop is odd in the flow, rises with it through the transition, and the
// orifice laws undo each other.
func TestShape(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Line{rapid.Float64Range(0.1, 10).Draw(t, "length"), rapid.Float64Range(0.004, 0.012).Draw(t, "bore"), 1e-5, 2}
		fuel := Fluid{740, rapid.Float64Range(3e-4, 2e-3).Draw(t, "viscosity")}
		q := rapid.Float64Range(1e-7, 1e-4).Draw(t, "flow")
		a, _, err1 := LineDropPa(l, q, fuel)
		b, _, err2 := LineDropPa(l, 1.001*q, fuel)
		c, _, err3 := LineDropPa(l, -q, fuel)
		if err1 != nil || err2 != nil || err3 != nil || b <= a || a != -c {
			t.Fatalf("drops %g, %g, %g, %v %v %v", a, b, c, err1, err2, err3)
		}
		drop, _ := OrificeDropPa(1e-6, 740, q)
		back, _ := OrificeM3PerS(1e-6, 740, drop)
		if math.Abs(back-q) > 1e-9*q {
			t.Fatalf("orifice: %g came back as %g", q, back)
		}
	})
}

func TestTransitionIsContinuous(t *testing.T) {
	for _, re := range []float64{2300, 4000} {
		below, _, _ := DarcyRatio(re*(1-1e-9), 1e-3)
		above, _, _ := DarcyRatio(re*(1+1e-9), 1e-3)
		if math.Abs(below-above) > 1e-7 {
			t.Errorf("at Re %g: %g below, %g above", re, below, above)
		}
	}
}

func TestRefusals(t *testing.T) {
	_, _, e1 := DarcyRatio(-1, 0)
	_, _, e2 := DarcyRatio(1e5, 0.2)
	_, _, e3 := LineDropPa(Line{1, 0, 0, 0}, 1e-5, water)
	_, _, e4 := LineDropPa(Line{1, 0.01, 0, 0}, math.NaN(), water)
	_, _, e5 := LineDropPa(Line{1, 0.01, 0, 0}, 1e-5, Fluid{740, 0})
	_, e6 := OrificeDropPa(0, 740, 1)
	_, e7 := HoseRatedPa("R99", 0.008)
	_, e8 := ExpansionLossRatio(0.09, 0.06)
	for i, err := range []error{e1, e2, e3, e4, e5, e6, e7, e8} {
		if err == nil {
			t.Errorf("case %d accepted", i+1)
		}
	}
}

func TestHose(t *testing.T) {
	const source = "SAE J30, from memory"
	for _, r := range []struct {
		class   string
		mm, psi float64
	}{{"R7", 8, 50}, {"R7", 12.7, 35}, {"R9", 8, 100}, {"R14", 8, 50}} {
		got, err := HoseRatedPa(r.class, r.mm/1000)
		near(t, r.class, got, err, r.psi*6894.757, 1e-6, source)
	}
}
