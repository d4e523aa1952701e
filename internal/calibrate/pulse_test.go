package calibrate

import (
	"math"
	"testing"

	"fettle/internal/figure"
)

// heldAll are the tables of the test's engine as they are computed.
func heldAll(t *testing.T, in Input) map[string]Held {
	t.Helper()
	ms, err := Tables(t.Context(), in)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]Held{}
	for _, m := range ms {
		out[m.Name] = Held{m, m.Grid}
	}
	return out
}

// TestPulseLaws holds the laws of a pulse against closed forms and published values.
func TestPulseLaws(t *testing.T) {
	for _, c := range []struct {
		name      string
		got       func() (float64, error)
		want, tol float64
		source    string
	}{
		{
			"air of half a litre at 101.325 kPa and 20 °C, filled whole", func() (float64, error) { return ChargeKg(1, 101325, 0.5e-3) },
			0.5e-3 * 1.2041, 1e-4, "density of dry air at 20 °C and 101.325 kPa 1.2041 kg/m³: Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, table A-9 (1.204)",
		},
		{
			"air at 0 °C over that at 20 °C", func() (float64, error) { return AirTempRatio(273.15) },
			1.2923 / 1.2041, 5e-4, "densities of dry air at 0 and 20 °C: Çengel, Cimbala, table A-9 (1.292, 1.204), ideal gas",
		},
		{"half the time constant's 1/e", func() (float64, error) { return FadedRatio(1.4, 10, 10*math.Ln2) }, 1.2, 1e-12, "closed form: half is left after T ln 2"},
		{"fuel of 500 mg of air at lambda 0.88", func() (float64, error) { return PulseFuelKg(500e-6, 14.7, 0.88, 1) }, 500e-6 / 12.936, 1e-12, "definition of lambda"},
		{"10 mg through 2.5 g/s", func() (float64, error) { return OpenS(10e-6, 2.5e-3) }, 4e-3, 1e-12, "definition of static flow"},
	} {
		got, err := c.got()
		if err != nil || math.Abs(got/c.want-1) > c.tol {
			t.Errorf("%s: %g, %v; want %g (%s)", c.name, got, err, c.want, c.source)
		}
	}
	for _, bad := range []func() (float64, error){
		func() (float64, error) { return ChargeKg(4, 1e5, 1e-3) },
		func() (float64, error) { return ChargeKg(0.8, 1, 1e-3) },
		func() (float64, error) { return AirTempRatio(20) },
		func() (float64, error) { return FadedRatio(1.2, 0, 1) },
		func() (float64, error) { return TransientRatio(1.2, 1, 1e5, 0) },
		func() (float64, error) { return PulseFuelKg(1e-4, 14.7, 0, 1) },
		func() (float64, error) { return OpenS(1e-5, math.NaN()) },
	} {
		if got, err := bad(); err == nil {
			t.Errorf("%g for what is out of range", got)
		}
	}
}

// TestTransientKeepsTheMixture runs the film of Aquino (SAE 810494) by small steps
// while the demand rises evenly: with the factor on it the cylinder gets what it
// is due.
func TestTransientKeepsTheMixture(t *testing.T) {
	const x, tau, rise, step = 0.35, 0.8, 20e3, 1e-5
	pa, film := 40e3, x*tau // of a steady 40 kPa, fuel in units of the demand there
	worst := 0.0
	for s := 0.0; s < 6*tau; s += step {
		due := pa / 40e3
		k, err := TransientRatio(x, tau, pa, rise)
		if err != nil {
			t.Fatal(err)
		}
		inject := due * k
		gets := (1-x)*inject + film/tau
		film += (x*inject - film/tau) * step
		pa += rise * step
		if s > 5*tau { // the film has settled to the rise
			worst = math.Max(worst, math.Abs(gets/due-1))
		}
	}
	if worst > 1e-3 { // e⁻⁵ of the 11 % by which the film lags the rise at first
		t.Errorf("the cylinder is off its due by %.2f %%", 100*worst)
	}
}

// TestPulseIsItsFactors multiplies and adds what the list shows, as a reader would
// with pencil and paper, and finds every part resolved to its sources.
func TestPulseIsItsFactors(t *testing.T) {
	in := engine()
	in.Rail = own("rail", 4e5, 1e4, "kPa", "test")
	held := heldAll(t, in)
	l := figure.NewLedger()
	now := Present{SpeedRadPerS: 2000 * rpm, ManifoldPa: 60e3, CoolantK: 313.15, ChargeK: 303.15, BatteryV: 13.5, SinceS: 5, RisePaPerS: 20e3}
	p, err := PulseOf(&in, held, own("feed", 0.4, 0, "V", "test"), now, l)
	if err != nil {
		t.Fatal(err)
	}
	value := func(id figure.ID) float64 {
		f, ok := l.Why(id)
		if !ok || len(l.Unresolved(id)) > 0 {
			t.Errorf("%s is not in the ledger or leans on %v", id, l.Unresolved(id))
		}
		return f.SI
	}
	x, dead := 0.0, 0.0
	for _, f := range p.Factors {
		v := value(f.ID)
		switch {
		case f.Total && f.Name == "Pressure across the injector, counted on", f.Name == "Duty":
		case f.Total && f.Sign == "=" && f.Name == "Air of one cylinder, were it at 20\u00a0°C":
			if want := x * now.ManifoldPa * in.Engine.Geometry.SweptM3() / (287.05 * 293.15); math.Abs(v/want-1) > 1e-12 {
				t.Errorf("air %g, want %g", v, want)
			}
			x = v
		case f.Total && f.Sign == "=":
			if f.Name == "Pulse" {
				x += dead
			}
			if math.Abs(v/x-1) > 1e-9 {
				t.Errorf("%s is %g; the factors make %g", f.Name, v, x)
			}
		case f.Sign == "":
			x = v
		case f.Name == "on the dead time, pressure across":
			dead *= v
		case f.Sign == "×":
			x *= v
		case f.Sign == "÷":
			x /= v
		case f.Name == "Dead time":
			dead = v
		case f.Sign == "+":
			x += v
		}
		if f.Spread != "" && !(value(f.Spread) > 0) {
			t.Errorf("%s has no spread", f.Name)
		}
	}
	if math.Abs(p.WidthS/x-1) > 1e-9 || !(p.SdS > 0 && p.SdS < 0.3*p.WidthS) {
		t.Errorf("pulse %g s ± %g s, the factors make %g s", p.WidthS, p.SdS, x)
	}
	if k, err := ParsePresent(now.Key()); err != nil || k.Key() != now.Key() {
		t.Errorf("the moment's name %q reads as %q, %v", now.Key(), k.Key(), err)
	}
}

// TestPulseOfACrankedEngine takes the cranking factor and leaves out those of a
// running engine; a table changed by hand moves the pulse and says so.
func TestPulseOfACrankedEngine(t *testing.T) {
	in := engine()
	in.Rail = own("rail", 4e5, 1e4, "kPa", "test")
	held := heldAll(t, in)
	now := Present{SpeedRadPerS: 200 * rpm, ManifoldPa: 95e3, CoolantK: 273.15, ChargeK: 273.15, BatteryV: 10, HotStart: false}
	feed := own("feed", 0, 0, "V", "test")
	p, err := PulseOf(&in, held, feed, now, figure.NewLedger())
	if err != nil || !p.Cranks || len(p.Notes) == 0 {
		t.Fatal(p.Cranks, p.Notes, err)
	}
	h := held[CrankFuel]
	h.Grid = h.Grid.Clone()
	for k := range h.Grid.Z {
		h.Grid.Z[k] *= 2
	}
	held[CrankFuel] = h
	l := figure.NewLedger()
	twice, err := PulseOf(&in, held, feed, now, l)
	if err != nil {
		t.Fatal(err)
	}
	dead := p.WidthS - (twice.WidthS - p.WidthS)
	if !(dead > 0.5e-3 && dead < 4e-3) { // twice the fuel adds the open time once more: what is left is the dead time
		t.Errorf("%g s, with twice the fuel %g s", p.WidthS, twice.WidthS)
	}
	if c, ok := l.Why(CellID(CrankFuel, 3, 0)); !ok || c.Leaf == nil || c.Leaf.Origin != figure.Stated {
		t.Errorf("a cell that the file changed: %+v", c)
	}
	if _, err := PulseOf(&in, map[string]Held{}, feed, now, l); err == nil {
		t.Error("a pulse without tables")
	}
	if err := now.Set("n", "0"); err == nil {
		t.Error("a standing engine is taken")
	}
}

// TestCamWindows: a window holds an edge over the whole travel, and one in which
// two edges of the wheel fall is said not to hold.
func TestCamWindows(t *testing.T) {
	if w, err := CamWindowRad(40 * degree); err != nil || math.Abs(w-60*degree) > 1e-12 {
		t.Errorf("40° of travel: %g°, %v; 10° to each side make 60° (common practice)", w/degree, err)
	}
	if _, err := CamWindowRad(120 * degree); err == nil {
		t.Error("120° of travel are taken")
	}
	holds := func(wheel string) bool {
		f := Fitted{IntakeRad: 40 * degree, CamWheels: []string{"intake " + wheel}}
		for _, s := range f.camSettings() {
			if s.Word == "does not hold" {
				return false
			}
		}
		return true
	}
	if !holds("4") || holds("12") { // edges 180° and 60° apart
		t.Errorf("a wheel of 4: %v, of 12: %v", holds("4"), holds("12"))
	}
}
