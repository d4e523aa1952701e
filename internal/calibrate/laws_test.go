package calibrate

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"fettle/internal/breathing"
	"fettle/internal/design"
)

// Laws against published rows and closed forms.
func TestLawRows(t *testing.T) {
	must := func(v float64, err error) float64 {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, r := range []struct {
		name           string
		got, want, tol float64
		source         string
	}{
		{"knock, 89 mm", must(KnockHz(0.089, 950)) / 1e3, 6.26, 0.01, "Draper, NACA Report 493, 1935; by hand 1.841 · 950/(π · 0.089)"},
		{"oil at 40 °C over 90 °C", must(OilViscosityRatio(313.15)), 62 / 13.2, 0.25, "5W-30: 62 mm²/s at 40 °C, 13.2 mm²/s at 90 °C by the chart of ASTM D341 (from memory)"},
		{"film, warm share", must(FilmFrac(363.15)), 0.22, 1e-9, "Hendricks, Sorenson, SAE 900616, 1990"},
		{"film, warm time", must(FilmTimeS(363.15)), 0.25, 1e-9, "Hendricks, Sorenson, SAE 900616, 1990"},
		{"plate at half the area", must(PlateFrac(0.5)), (60.12 - 5) / 85, 0.001, "cos ψ = 0.5 cos 5°, by hand"},
		{"plate shut", must(PlateFrac(0)), 0, 1e-6, "definition"},
		{"plate open", must(PlateFrac(1)), 1, 1e-12, "definition"},
		{"injector at four times the pressure", must(OpenFlowKgPerS(3e-3, 200e3, 800e3)), 6e-3, 1e-12, "root law"},
		{"cranking at 0 °C", must(CrankFuelRatio(273.15, 0)), 3, 1, "common practice, 2 to 4 times near 0 °C"},
		{"cranking warm", must(CrankFuelRatio(353.15, 0)), 1.1, 0.05, "common practice"},
		{"after the start at 20 °C", must(AfterStartRatio(293.15)), 1.25, 0.05, "common practice, 1.2 to 1.3"},
		{"warm-up at 80 °C", must(WarmUpRatio(353.15)), 1, 1e-12, "common practice: none by 60 to 80 °C"},
		{"end of injection at 1000 rpm", must(EndOfInjectionRad(10*degree, 1000*rpm)) / degree, 360 + 10 + 20 + 18, 1e-9, "3 ms at 1000 rpm are 18°"},
	} {
		if math.Abs(r.got-r.want) > r.tol {
			t.Errorf("%s: %g, want %g (%s)", r.name, r.got, r.want, r.source)
		}
	}
	if _, err := WarmUpRatio(200); err == nil || !strings.Contains(err.Error(), "coolant temperature") {
		t.Errorf("−73 °C: %v", err)
	}
	if _, err := KnockHz(2, 950); err == nil || !strings.Contains(err.Error(), "bore") {
		t.Errorf("a bore of 2 m: %v", err)
	}
}

// The safe side holds its bound: with the spread that it was made for, 95 of 100
// engines burn at the lean bound and below.
func TestSafeFuelHoldsItsBound(t *testing.T) {
	for _, sd := range []float64{0.03, 0.06, 0.1, 0.13} {
		k := SafeFuelRatio(capFrac, 1, sd, leanBound)
		if got := 1 / k * (1 + 1.645*sd); got > leanBound+1e-9 {
			t.Errorf("spread %g: lean bound of lambda %.3f, want at most %g", sd, got, leanBound)
		}
	}
	if k := SafeFuelRatio(0.5, 1, 0.1, leanBound); k != 1 {
		t.Errorf("part load: %g, want 1", k)
	}
}

// Every table covers its axes at 16 points at least, carries a spread, and says
// what it rests on; no name stands twice.
func TestEveryTable(t *testing.T) {
	in := engine()
	in.Fitted.BoostPa = 80e3
	in.Engine.BoostPa = 80e3
	seen := map[string]bool{}
	for _, m := range tables(t, in) {
		g := &m.Grid
		if seen[m.Name] || m.Title == "" || m.Basis == "" || m.Uncertainty == "" || len(m.Rests) == 0 || len(g.Spread) != len(g.Z) {
			t.Errorf("%s: a name twice, or no title, basis, uncertainty, inputs or spread", m.Name)
		}
		seen[m.Name] = true
		if (len(g.X.At) < 16 && g.X.Unit != "V") || g.Dims() == 2 && len(g.Y.At) < 16 {
			t.Errorf("%s: %d × %d points", m.Name, len(g.X.At), len(g.Y.At))
		}
	}
	for _, name := range []string{
		VE, Spark, Lambda, Dwell, DeadTime, DeadPressure, InjectorFlow, ShortPulse, CrankFuel, PrimePulse, AfterStart, AfterStartS, WarmUp,
		FilmShare, FilmTime, InjectionEnd, IdleSpeed, IdleAir, IdleSpark, ThrottleMap, BoostTarget, LoadCap, SafeFuel, SparkAir, SparkHot, Resume, SpeedLimit,
	} {
		if !seen[name] {
			t.Errorf("no table %q", name)
		}
	}
}

// Colder engines need more of everything that is added, the throttle opens with
// the pedal, the air of idle holds its speed.
func TestShapes(t *testing.T) {
	ms := tables(t, engine())
	for _, name := range []string{CrankFuel, AfterStart, AfterStartS, WarmUp, FilmShare, FilmTime, PrimePulse, IdleSpeed, IdleAir} {
		z := ms[name].Grid.Z
		for i := 1; i < len(z); i++ {
			if z[i] > z[i-1] {
				t.Errorf("%s rises from %g to %g at %g °C", name, z[i-1], z[i], ms[name].Grid.X.At[i])
			}
		}
	}
	g := &ms[ThrottleMap].Grid
	for j := range g.Columns() {
		for i := 1; i < g.Rows(); i++ {
			if g.Z[g.Cell(i, j)] < g.Z[g.Cell(i-1, j)] {
				t.Errorf("throttle closes from %g to %g %% of pedal at %g rpm", g.X.At[i-1], g.X.At[i], g.Y.At[j])
			}
		}
		if g.Z[g.Cell(0, j)] != 0 || g.Z[g.Cell(g.Rows()-1, j)] != 100 {
			t.Errorf("throttle at %g rpm goes from %g to %g %%", g.Y.At[j], g.Z[g.Cell(0, j)], g.Z[g.Cell(g.Rows()-1, j)])
		}
	}
	in := engine()
	r, err := breathing.Solve(in.Engine)
	if err != nil {
		t.Fatal(err)
	}
	warm, err := ms[IdleAir].Grid.At(90, 0)
	if err != nil {
		t.Fatal(err)
	}
	p, err := r.LoadFor(in.Engine.IdleRadPerS, beltsAtIdle, breathing.Nominal())
	if err != nil || warm < 1e3*p.AirKgPerS || warm > 1.4e3*p.AirKgPerS {
		t.Errorf("warm idle %g g/s, without reserve %g g/s (%v)", warm, 1e3*p.AirKgPerS, err)
	}
}

// The first firing opens when every value that closes it is said to be verified,
// and stays closed for any single one.
func TestFirstFire(t *testing.T) {
	in := engine()
	in.Fitted.Electronic, in.Fitted.IntakeRad, in.Fitted.ExhaustRad, in.Fitted.BoostPa = true, 40*degree, 30*degree, 60e3
	in.Fitted.ChangedCam, in.Fitted.Clearance = true, "measured"
	in.Fitted.Verified = &design.Verified{
		CrankWheel: true, CamWheels: true, Offset: true, Edge: true, Polarity: true, InputDelay: true, PhaseRule: true, FiringOrder: true,
		ThrottleRest: true, ThrottleStops: true, BoostCut: true, IntakePhaser: true, ExhaustPhaser: true,
	}
	waiting := func() int {
		t.Helper()
		list, err := Settings(in)
		if err != nil {
			t.Fatal(err)
		}
		w, of := FirstFire(list)
		if of != 14 {
			t.Fatalf("%d values close the first firing, want 14: 13 of the file's words and a changed cam's clearance", of)
		}
		return len(w)
	}
	if n := waiting(); n != 0 {
		t.Errorf("%d values wait when all are verified", n)
	}
	in.Fitted.Clearance = ""
	if n := waiting(); n != 1 {
		t.Errorf("%d values wait for a changed cam's clearance, want 1", n)
	}
	in.Fitted.Clearance = "measured"
	v := reflect.ValueOf(in.Fitted.Verified).Elem()
	for i := range v.NumField() {
		if v.Field(i).Kind() != reflect.Bool {
			continue
		}
		v.Field(i).SetBool(false)
		if n := waiting(); n != 1 {
			t.Errorf("%s: %d values wait, want 1", v.Type().Field(i).Name, n)
		}
		v.Field(i).SetBool(true)
	}
}

// What must be verified on the vehicle closes the first firing.
func TestSettings(t *testing.T) {
	in := engine()
	in.Fitted.ChangedCam = true
	list, err := Settings(in)
	if err != nil {
		t.Fatal(err)
	}
	gates, found := map[string]bool{}, map[string]Setting{}
	for _, s := range list {
		gates[s.Group] = gates[s.Group] || s.Gate
		found[s.Group+"/"+s.Name] = s
		if v, _, _ := s.Value(); v == "" || s.Why == "" || (s.In == nil) == (s.Word == "") {
			t.Errorf("%s, %s: no value or no reason, or both word and number", s.Group, s.Name)
		}
	}
	for _, g := range []string{"trigger", "throttle", "cams", "spark"} {
		if !gates[g] {
			t.Errorf("nothing of %q closes the first firing", g)
		}
	}
	if v, u, _ := found["fuel pump/prime"].Value(); v != "2.5" || u != "s" {
		t.Errorf("prime %s %s", v, u)
	}
	if s := found["cams/piston to valve clearance of the changed cam"]; !s.Gate {
		t.Error("a changed cam's clearance closes nothing")
	}
	b, err := SettingsCSV(list)
	if err != nil || strings.Count(string(b), "\n") != len(list)+1 {
		t.Errorf("settings.csv has %d lines for %d settings, %v", strings.Count(string(b), "\n"), len(list), err)
	}
}
