package cranking_test

import (
	"math"
	"strings"
	"testing"

	"fettle/internal/crank"
	"fettle/internal/cranking"
	"fettle/internal/dcnet"
)

// A starter that can't turn is a resistor and an inductor: its current is known
// in closed form.
func TestLockedStarterIsAnRLCircuit(t *testing.T) {
	const source = "first-order R–L circuit, any text on circuit theory"
	st := cars[0].start(t)
	n := dcnet.New()
	post := n.Node("post")
	bat := n.Source("battery", post, dcnet.Reference, 12.5, 0.006)
	sta := n.Load("starter", post, dcnet.Reference, dcnet.Current{})
	m := st.machine
	m.LoadNm = func(float64) float64 { return 1e6 }
	b := cranking.Battery{RestV: 12.5, AtOnceOhm: 0.006, FastOhm: 1e-9, FastS: 1, SlowOhm: 1e-9, SlowS: 10}
	c, e := cranking.Run(cranking.Circuit{Net: n, Battery: bat, Starter: sta}, b, m, 0.1)
	if !e.OK {
		t.Fatal(e.Why)
	}
	r, u := m.Motor.Ohm+0.006, 12.5-m.Motor.BrushV
	for k, s := range c.TimeS {
		want := -u / r * math.Expm1(-s*r/m.InductanceH)
		if math.Abs(c.StarterA[k]-want) > 1e-4*u/r {
			t.Fatalf("at %.2f ms %.3f A, want %.3f A (%s)", 1e3*s, c.StarterA[k], want, source)
		}
		if c.SpeedRadPerS[k] != 0 {
			t.Fatalf("it turns at %g rad/s", c.SpeedRadPerS[k])
		}
	}
}

func TestCompressionGivesBackWhatItTakes(t *testing.T) {
	g := cars[1].engine
	const source = "a polytropic charge without loss returns its work; Heywood 1988, section 4.2"
	sum, most := 0.0, 0.0
	const n = 4000
	for i := range n {
		x := cranking.CompressionNm(g, math.Pi*(2*(float64(i)+0.5)/n-1), g.CylinderM3(math.Pi), 98e3, 101e3)
		sum, most = sum+x, max(most, x)
	}
	if math.Abs(sum/n) > 1e-9*most {
		t.Errorf("mean %g N·m of a peak of %g (%s)", sum/n, most, source)
	}
	// at the top the charge stands at p₀·rⁿ
	at := 1e-6
	want := -(98e3*math.Pow(g.CompressionRatio, 1.25) - 101e3) * g.VolumeSlopeM3PerRad(at)
	if got := cranking.CompressionNm(g, at, g.CylinderM3(math.Pi), 98e3, 101e3); math.Abs(got-want) > 1e-6*math.Abs(want) {
		t.Errorf("at the top %g N·m, want %g", got, want)
	}
}

// The pressure that compression reaches while cranking: a compression test.
func TestCompressionPressure(t *testing.T) {
	const source = "service manual of a small four of 1995, compression ratio 9.5: standard 14.0 and limit 10.9 kg/cm² above the atmosphere"
	g := crank.Geometry{BoreM: 0.074, StrokeM: 0.0755, RodM: 0.12, CompressionRatio: 9.5, CylinderCount: 4}
	const at, shut, ambient = 0.05, math.Pi - 50*math.Pi/180, 101325.0 // intake closes 50° after bottom dead centre: common practice
	nm := cranking.CompressionNm(g, at, g.CylinderM3(shut), ambient, ambient)
	gauge := -nm / g.VolumeSlopeM3PerRad(at) / 98066.5
	if gauge < 10.9 || gauge > 14.0 {
		t.Errorf("compression %.2f kg/cm², want 10.9 … 14.0 (%s)", gauge, source)
	}
	t.Logf("compression %.2f kg/cm²", gauge)
}

func TestCourseReadings(t *testing.T) {
	const source = "geometry of straight lines"
	c := cranking.Course{TimeS: []float64{0, 1, 2, 3, 4, 5}}
	of := []float64{12, 6, 8, 12, 9, 12}
	for _, r := range []struct{ limit, want float64 }{
		{12, 3},   // from the start to the fourth point
		{9, 1.75}, // half a second down from 12 to 6, 1.25 up by way of 8
		{6, 0},
		{5, 0},
		{7, 1.0/6 + 0.5},
	} {
		if got := c.BelowS(of, r.limit); math.Abs(got-r.want) > 1e-12 {
			t.Errorf("below %g for %g s, want %g s (%s)", r.limit, got, r.want, source)
		}
	}
	if got := c.LastingV(of, 1.75); math.Abs(got-9) > 1e-4 {
		t.Errorf("lasting %g V, want 9 V (%s)", got, source)
	}
	if got := c.LastingV(of, 0); got != 6 {
		t.Errorf("lowest %g V, want 6 V", got)
	}
	if v, s := c.LowestV(of); v != 6 || s != 1 {
		t.Errorf("lowest %g at %g", v, s)
	}
	c.StarterA = []float64{0, 3, 7, 2, 7, 1}
	if a, s := c.InrushA(); a != 7 || s != 2 {
		t.Errorf("inrush %g at %g", a, s)
	}
	flat := []float64{5, 5, 5, 5, 5, 5}
	if got := c.BelowS(flat, 6); got != 5 {
		t.Errorf("always below: %g s, want all 5 s", got)
	}
}

func TestRefused(t *testing.T) {
	for _, r := range []struct {
		name, want string
		spoil      func(*start)
		forS       float64
	}{
		{"time", "cranking time 0 s out of range", func(*start) {}, 0},
		{"inductance", "starter inductance 3000 µH out of range 5 … 2000 µH", func(s *start) { s.machine.InductanceH = 3e-3 }, 1},
		{"inertia", "cranking inertia NaN kg·m² out of range", func(s *start) { s.machine.InertiaKgM2 = math.NaN() }, 1},
		{"motor", "starter resistance", func(s *start) { s.machine.Motor.Ohm = 0 }, 1},
		{"battery", "battery rest voltage V 0 out of range", func(s *start) { s.battery.RestV = 0 }, 1},
		{"starved load", `load "device" can't be fed`, func(s *start) {
			s.circuit.Net.Load("device", s.circuit.Net.Node("far"), dcnet.Reference, dcnet.Power{PowerW: 50})
			s.circuit.Net.Resistor("long wire", s.circuit.Net.Node("far"), s.watched[0], 0.7)
		}, 1},
		{"flat", "its brushes alone take 1 V", func(s *start) { s.battery.RestV = 0.5 }, 1},
	} {
		st := cars[0].start(t)
		r.spoil(&st)
		c, e := cranking.Run(st.circuit, st.battery, st.machine, r.forS)
		if e.OK || !strings.Contains(e.Why, r.want) {
			t.Errorf("%s: %v %q, want %q", r.name, e.OK, e.Why, r.want)
		}
		if len(c.TimeS) != 0 {
			t.Errorf("%s: a course is shown all the same", r.name)
		}
	}
}

func BenchmarkRun(b *testing.B) {
	st := cars[1].start(&testing.T{})
	for b.Loop() {
		if _, e := cranking.Run(st.circuit, st.battery, st.machine, 1); !e.OK {
			b.Fatal(e.Why)
		}
	}
}
