package pump

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

const lph = 1e-3 / 3600

// An invented in-tank pump.
func spec() Spec {
	return Spec{RatedV: 13.5, RatedPa: 3e5, RatedFlowM3PerS: 190 * lph, RatedA: 8, FreeFlowM3PerS: 255 * lph}
}

func close(got, want, tol float64) bool { return math.Abs(got-want) <= tol*math.Abs(want)+1e-15 }

// The same equations solved by SciPy (fsolve for the constants, brentq for the
// working points) with the assumed shares 0.75 and 0.7.
func TestAgainstSciPy(t *testing.T) {
	m, err := Fit(spec())
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range []struct{ volts, pa, flow, amps float64 }{
		{13.5, 3e5, 5.27777778e-05, 8},
		{13.5, 0, 7.08333333e-05, 6.5468804},
		{12, 3e5, 4.53475771e-05, 7.11439909},
		{10.5, 3e5, 3.76892208e-05, 6.31078317},
		{12, 4e5, 3.92740517e-05, 7.61853835},
		{14.2, 2.5e5, 5.91774882e-05, 8.1987542},
		{5, 6e5, 0, 4.89486644},
	} {
		flow, amps := m.At(r.volts, r.pa)
		if !close(flow, r.flow, 1e-8) || !close(amps, r.amps, 1e-8) {
			t.Errorf("At(%g V, %g Pa) = %.9g, %.9g, want %.9g, %.9g (SciPy 1.10)", r.volts, r.pa, flow, amps, r.flow, r.amps)
		}
	}
	if !m.Assumed() {
		t.Error("a pump with one rated point does not say that it is assumed")
	}
}

// A second point sets the shares; the rated point and the free flow stay.
func TestSecondPoint(t *testing.T) {
	s := spec()
	s.LowV, s.LowFlowM3PerS = 10.5, 130*lph
	m, err := Fit(s)
	if err != nil {
		t.Fatal(err)
	}
	if flow, _ := m.At(10.5, 3e5); !close(flow, 130*lph, 1e-6) || m.Assumed() {
		t.Errorf("flow at the second point %g, assumed %v", flow/lph, m.Assumed())
	}
	flow, amps := m.At(13.5, 3e5)
	free, _ := m.At(13.5, 0)
	if !close(flow, 190*lph, 1e-9) || !close(amps, 8, 1e-9) || !close(free, 255*lph, 1e-9) {
		t.Errorf("rated point %g L/h, %g A, free %g L/h", flow/lph, amps, free/lph)
	}
}

// Points made by one pump lead back to it, within the accuracy that At states
// though one share stays assumed.
func TestFitRecovers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := spec()
		truth := s.identify(rapid.Float64Range(0.6, 0.9).Draw(t, "emf"), rapid.Float64Range(0.2, 0.9).Draw(t, "loss"))
		s.LowV = rapid.Float64Range(9, 12).Draw(t, "second voltage")
		s.LowFlowM3PerS, s.LowA = truth.At(s.LowV, s.RatedPa)
		m, err := Fit(s)
		if err != nil || m.Assumed() {
			t.Fatal(m.Assumed(), err)
		}
		for _, v := range []float64{10.2, 11, 14} {
			wantQ, wantA := truth.At(v, 3.5e5)
			q, a := m.At(v, 3.5e5)
			if math.Abs(q-wantQ) > 0.04*s.RatedFlowM3PerS || math.Abs(a-wantA) > 0.04*s.RatedA {
				t.Fatalf("at %g V %g, %g, want %g, %g", v, q, a, wantQ, wantA)
			}
		}
	})
}

func pump(t *rapid.T) Model {
	flow := rapid.Float64Range(80, 350).Draw(t, "flow") * lph
	s := Spec{
		RatedV: rapid.Float64Range(12, 14).Draw(t, "volts"), RatedPa: rapid.Float64Range(2.5e5, 4.5e5).Draw(t, "pressure"), RatedFlowM3PerS: flow,
		FreeFlowM3PerS: flow * rapid.Float64Range(1.15, 1.8).Draw(t, "free"),
	}
	s.RatedA = s.RatedPa * flow / s.RatedV / rapid.Float64Range(0.1, 0.3).Draw(t, "efficiency")
	m, err := Fit(s)
	if err != nil {
		t.Fatalf("%+v: %v", s, err)
	}
	return m
}

// Flow rises with voltage and falls with pressure, current rises with both, no
// more comes out than goes in, slopes are derivatives, NeedV undoes At, and no
// flow is left at the stall pressure.
func TestShape(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := pump(t)
		v := rapid.Float64Range(0, 17).Draw(t, "V")
		p := rapid.Float64Range(0, 8e5).Draw(t, "p")
		flow, amps := m.At(v, p)
		upV, upVA := m.At(v+0.01, p)
		upP, upPA := m.At(v, p+1e3)
		if upV < flow || upP > flow || upVA < amps-1e-12 || upPA < amps-1e-9 {
			t.Fatalf("not monotone at %g V, %g Pa: %g/%g; V+ %g/%g; p+ %g/%g", v, p, flow, amps, upV, upVA, upP, upPA)
		}
		if flow < 0 || amps < 0 || flow*p > v*amps {
			t.Fatalf("flow %g, current %g: %g W out of %g W", flow, amps, flow*p, v*amps)
		}
		const h = 1e-6
		if hi, hiA := m.At(v+h, p); v > h {
			lo, loA := m.At(v-h, p)
			if (lo > 0) == (hi > 0) && math.Abs((hi-lo)/(2*h)-m.FlowSlopeM3PerSPerV(v, p)) > 1e-5*m.FlowSlopeM3PerSPerV(v, p)+1e-13 {
				t.Fatalf("flow slope %g, by difference %g", m.FlowSlopeM3PerSPerV(v, p), (hi-lo)/(2*h))
			}
			if slope := m.CurrentSlopeAPerV(v, p); (lo > 0) == (hi > 0) && math.Abs((hiA-loA)/(2*h)-slope) > 1e-4*(slope+0.1) && !turning(m, v, h) {
				t.Fatalf("current slope %g, by difference %g", slope, (hiA-loA)/(2*h))
			}
		}
		if flow > 0 && !close(m.NeedV(flow, p), v, 1e-9) {
			t.Fatalf("NeedV gives %g for %g", m.NeedV(flow, p), v)
		}
		if stall := m.StallPa(v); stall > 0 {
			if at, _ := m.At(v, stall*1.0001); at != 0 {
				t.Fatalf("%g m³/s above the stall pressure", at)
			}
			if at, _ := m.At(v, stall*0.999); at == 0 && m.leak > 0 {
				t.Fatal("no flow below the stall pressure")
			}
		}
	})
}

// turning reports whether the pump begins to turn within h of a voltage.
func turning(m Model, v, h float64) bool { return math.Abs(m.dry*m.ohm/m.k-v) <= 2*h }

func TestLocked(t *testing.T) {
	m, err := Fit(spec())
	if err != nil {
		t.Fatal(err)
	}
	flow, amps := m.At(0.2, 3e5)
	if want := 0.2 / (0.25 * 13.5 / 8); flow != 0 || !close(amps, want, 1e-9) {
		t.Errorf("at 0.2 V: %g m³/s, %g A, want 0 and %g A by Ohm's law", flow, amps, want)
	}
	if flow, amps := m.At(-3, 3e5); flow != 0 || amps != 0 {
		t.Errorf("below no voltage: %g, %g", flow, amps)
	}
	if flow, amps := (Model{}).At(12, 3e5); flow != 0 || amps != 0 {
		t.Errorf("the empty pump: %g, %g", flow, amps)
	}
}

func TestRefusals(t *testing.T) {
	for name, spoil := range map[string]func(*Spec){
		"no current":        func(s *Spec) { s.RatedA = 0 },
		"free below rated":  func(s *Spec) { s.FreeFlowM3PerS = s.RatedFlowM3PerS },
		"litres per hour":   func(s *Spec) { s.RatedFlowM3PerS, s.FreeFlowM3PerS = 190, 255 },
		"second flow alone": func(s *Spec) { s.LowFlowM3PerS = 100 * lph },
		"second above":      func(s *Spec) { s.LowV, s.LowFlowM3PerS = 14, 150*lph },
		"second impossible": func(s *Spec) { s.LowV, s.LowFlowM3PerS = 10.5, 20*lph },
		"second current":    func(s *Spec) { s.LowV, s.LowFlowM3PerS, s.LowA = 10.5, 150*lph, 2 },
		"not a number":      func(s *Spec) { s.RatedPa = math.NaN() },
	} {
		s := spec()
		spoil(&s)
		if m, err := Fit(s); err == nil {
			t.Errorf("%s: accepted as %+v", name, m)
		}
	}
}

func BenchmarkFit(b *testing.B) {
	s := spec()
	s.LowV, s.LowFlowM3PerS, s.LowA = 10.5, 130*lph, 6.6
	for b.Loop() {
		if _, err := Fit(s); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAt(b *testing.B) {
	m, _ := Fit(spec())
	for b.Loop() {
		m.At(12, 3e5)
	}
}
