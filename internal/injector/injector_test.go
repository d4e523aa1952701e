package injector

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

const (
	lb  = 0.45359237
	hp  = 745.69987
	ccm = 1e-6 / 60
)

func near(t *testing.T, name string, got float64, err error, want, tol float64, source string) {
	t.Helper()
	if err != nil || !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: got %.6g, %v, want %.6g within %g (%s)", name, got, err, want, tol, source)
	}
}

func TestFlowAgainstPressure(t *testing.T) {
	const source = "incompressible orifice, square root law"
	s := Spec{200 * ccm, 3e5, 745}
	rated, err := StaticKgPerS(s, 3e5, 745)
	near(t, "rated", rated, err, 2.483e-3, 1e-3, "200 cc/min at 0.745, arithmetic")
	for bar, want := range map[float64]float64{2.5: 0.91287, 3.5: 1.08012, 4.0: 1.15470, 4.5: 1.22474} {
		got, err := StaticKgPerS(s, bar*1e5, 745)
		near(t, "ratio", got/rated, err, want, 1e-5, source)
	}
	heptane := Spec{200 * ccm, 3e5, 684}
	got, err := StaticKgPerS(heptane, 3e5, 745)
	near(t, "density", got, err, math.Sqrt(684*745.)*200*ccm, 1e-12, "ṁ = C_d A √(2 ρ Δp)")
}

func TestSizing(t *testing.T) {
	const source = "pounds and horsepower, common practice; arithmetic"
	got, err := SizeKgPerS(250*hp, 0.50*lb/(hp*3600), 8, 0.80)
	near(t, "lb/h", got/lb*3600, err, 19.53, 2e-4, source)
	near(t, "cc/min at 0.72", got/720/ccm, err, 205.1, 3e-4, source)
	near(t, "cc/min at 0.745", got/745/ccm, err, 198.2, 3e-4, source)
	// The trade's factor between the two units belongs to one density each.
	for rho, want := range map[float64]float64{719.99: 10.5, 684: 11.05, 745: 10.15, 750: 10.08} {
		near(t, "cc/min per lb/h", lb/3600/rho/ccm, nil, want, 5e-4, "unit conversion")
	}
}

// Six cylinders, 125 kW at 3000 rpm, 200 g/kWh, specific gravity 0.85. The page
// prints 0.05; the digits beyond were recomputed.
func TestVolumePerInjection(t *testing.T) {
	m, err := FuelPerCycleKg(125e3, 0.2/3.6e6, 3000*math.Pi/30, 6)
	near(t, "cc", m/850*1e6, err, 0.0545, 1e-3, "Rajput, Thermal Engineering, example 12.1")
}

func TestPulse(t *testing.T) {
	const source = "540.6 mg of air, AFR 14.6, 200 cc/min at 0.745; arithmetic"
	fuel := 540.6e-6 / 14.6
	near(t, "fuel", fuel, nil, 37.02e-6, 3e-4, source)
	flow, _ := StaticKgPerS(Spec{200 * ccm, 3e5, 745}, 3e5, 745)
	got, err := PulseS(fuel, flow, 0)
	near(t, "pulse", got, err, 14.91e-3, 3e-4, source)
	with, err := PulseS(fuel, flow, 1e-3)
	near(t, "with dead time", with, err, 15.91e-3, 3e-4, source)
	none, err := PulseS(0, flow, 1e-3)
	if none != 0 || err != nil {
		t.Errorf("no fuel takes %g, %v", none, err)
	}
	// 6000 rpm leaves 20 ms for a cycle.
	d, err := DutyFrac(16e-3, 6000*math.Pi/30, 1)
	near(t, "duty", d, err, 0.8, 1e-12, "120/6000 s a cycle")
	d, err = DutyFrac(16e-3, 6000*math.Pi/30, 2)
	near(t, "duty of two pulses", d, err, 1.6, 1e-12, "120/6000 s a cycle")
}

// Rows of a coil of 3 mH and 0.5 Ω, and of 5 mH and 0.75 Ω, computed with two
// tools, one a circuit simulator.
func TestRise(t *testing.T) {
	const source = "circuit theory; ngspice 39 agrees"
	c := Coil{Ohm: 0.5, Henry: 3e-3}
	for _, r := range []struct{ amps, volts, ms float64 }{
		{7, 14, 1.7261}, {8, 14, 2.0188}, {7, 8, 3.452}, {7, 10, 2.585}, {7, 12, 2.069}, {7, 16, 1.481},
	} {
		got, err := RiseS(c, r.amps, r.volts)
		near(t, "rise", got, err, r.ms/1000, 3e-4, source)
	}
	got, err := RiseS(Coil{Ohm: 0.75, Henry: 5e-3}, 7, 8)
	near(t, "rise", got, err, 7.119e-3, 1e-4, source)
	if _, err := RiseS(c, 17, 8); err == nil {
		t.Error("more current than the voltage drives")
	}
}

// The mean of i = V/R (1 − e^(−t/τ)) over 5 ms at 12 Ω, 14 mH, 14 V by
// scipy.integrate.quad.
func TestMeanCurrent(t *testing.T) {
	c := Coil{Ohm: 12, Henry: 14e-3}
	got, err := CurrentA(c, 14, 5e-3, 1)
	near(t, "mean", got, err, 0.8981912531, 1e-9, "SciPy 1.10 integrate.quad")
	near(t, "half", must(CurrentA(c, 14, 5e-3, 0.5)), nil, got/2, 1e-12, "share of the cycle")
	near(t, "plain resistance", must(CurrentA(Coil{Ohm: 12}, 14, 5e-3, 0.5)), nil, 14./12/2, 1e-12, "Ohm's law")
}

func must(v float64, err error) float64 {
	if err != nil {
		panic(err)
	}
	return v
}

func TestDeadTime(t *testing.T) {
	d := DeadTime{VoltageV: []float64{8, 10, 12, 14, 16}, TimeS: []float64{2.6e-3, 1.75e-3, 1.25e-3, 0.95e-3, 0.75e-3}, RatedDropPa: 3e5, SlopeFracPerPa: 1e-6}
	got, err := DeadTimeS(d, 13, 3e5)
	near(t, "between", got, err, 1.1e-3, 1e-12, "linear interpolation by hand")
	got, err = DeadTimeS(d, 14, 4e5)
	near(t, "pressure", got, err, 0.95e-3*1.1, 1e-12, "linear law by hand")
	for name, err := range map[string]error{
		"below the table": second(DeadTimeS(d, 7.9, 3e5)),
		"pressure":        second(DeadTimeS(d, 12, -1)),
		"no table":        second(DeadTimeS(DeadTime{RatedDropPa: 1}, 12, 3e5)),
		"falling":         second(DeadTimeS(DeadTime{VoltageV: []float64{12, 8}, TimeS: []float64{1e-3, 2e-3}, RatedDropPa: 1}, 9, 3e5)),
		"milliseconds":    second(DeadTimeS(DeadTime{VoltageV: []float64{8, 12}, TimeS: []float64{2, 1}, RatedDropPa: 1}, 9, 3e5)),
	} {
		if err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

func second(_ float64, err error) error { return err }

// A table made from the coil passes through the known point and falls with voltage.
func TestFromCoil(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Coil{rapid.Float64Range(10, 16).Draw(t, "ohm"), rapid.Float64Range(5e-3, 30e-3).Draw(t, "henry"), rapid.Float64Range(0.1, 0.35).Draw(t, "pull-in")}
		d, err := FromCoil(c, 1e-3, 14, 3e5, []float64{7, 9, 11, 14, 16})
		if err != nil {
			t.Skip(err)
		}
		if at, _ := DeadTimeS(d, 14, 3e5); math.Abs(at-1e-3) > 1e-12 {
			t.Fatalf("known point came back as %g", at)
		}
		for i := 1; i < len(d.TimeS); i++ {
			if d.TimeS[i] >= d.TimeS[i-1] {
				t.Fatalf("rises with voltage: %v", d.TimeS)
			}
		}
	})
}

func TestRefusals(t *testing.T) {
	s := Spec{200 * ccm, 3e5, 745}
	for name, err := range map[string]error{
		"reverse drop": second(StaticKgPerS(s, -1, 745)),
		"no rating":    second(StaticKgPerS(Spec{}, 3e5, 745)),
		"density":      second(StaticKgPerS(s, 3e5, 0.745)),
		"no flow":      second(PulseS(1e-5, 0, 1e-3)),
		"negative":     second(PulseS(-1e-5, 1e-3, 1e-3)),
		"NaN":          second(PulseS(math.NaN(), 1e-3, 1e-3)),
		"duty":         second(SizeKgPerS(1e5, 1e-7, 8, 1.2)),
		"no pulses":    second(DutyFrac(1e-3, 100, 0)),
		"mean duty":    second(CurrentA(Coil{Ohm: 12}, 14, 1e-3, 1.1)),
	} {
		if err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
