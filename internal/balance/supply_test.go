package balance

import (
	"math"
	"strings"
	"testing"

	"fettle/internal/breathing"
	"fettle/internal/crank"
	"fettle/internal/dcnet"
	"fettle/internal/petrol"
	"fettle/internal/starter"
)

// engine is an invented four of 1.6 litres.
func engine(t *testing.T) Engine {
	t.Helper()
	r, err := breathing.Solve(breathing.Input{
		Geometry:         crank.Geometry{BoreM: 0.079, StrokeM: 0.0815, RodM: 0.14, CompressionRatio: 10, CylinderCount: 4},
		IntakeValveCount: 2, IntakeValveM: 0.03, IntakeLiftM: 0.009, IntakeOpensRad: 0.1, IntakeClosesRad: 0.9,
		RunnerM: 0.38, RunnerBoreM: 0.038, IdleRadPerS: 800 * rpm, MaxRadPerS: 6300 * rpm,
		Fuel: petrol.Petrol(), FullLambdaRatio: 0.88, CruiseLambdaRatio: 1, AmbientPa: 101325, ChargeK: 310, CoolantK: 363,
		IntakeDropPa: 2500, ExhaustDropPa: 20e3,
	})
	if err != nil {
		t.Fatal(err)
	}
	return Engine{Response: r, Scale: breathing.Nominal(), Cylinders: 4, StoichRatio: 14.7, FullRatio: 1, SweptM3: 1.598e-3, CrankK: 258.15}
}

// bench is a battery, an alternator and one resistance between two nodes.
func bench(t *testing.T, loadOhm float64) *Parts {
	t.Helper()
	n := dcnet.New()
	plus := n.Node("plus")
	p := &Parts{
		Net: n, Engine: engine(t), Fuel: Circuit{SetPa: 3 * bar, DensityKgPerM3: 750, LossPa: func(float64) float64 { return 0 }},
		Battery: Battery{Element: n.Source("battery", plus, dcnet.Reference, 12.6, 0.01), OpenV: 12.6, Ohm: 0.01, ChargeOhm: 0.5},
		Charger: Charger{
			Element: n.Regulated("alternator", plus, dcnet.Reference, 14.2, 0.003, 0), SetV: 14.2, SlopeOhm: 0.003,
			RatedA: 90, PulleyRatio: 2.5, TempK: 298.15,
		},
	}
	n.Load("lamps", plus, dcnet.Reference, dcnet.Resistance{Ohm: loadOhm})
	return p
}

// TestSupplyByHand holds battery, alternator and load against nodal analysis by
// hand: with the alternator below its limit
//
//	(14.2 − U)/3 mΩ = U/R + (U − 12.6)/0.5 Ω
//
// and at its limit I_most = U/R + (U − 12.6)/R_i, where R_i is the battery's
// 10 mΩ as it then gives.
func TestSupplyByHand(t *testing.T) {
	// at 800 rpm the rotor turns at 2000 rpm: 90 A · (1 − e⁻¹)/(1 − e⁻⁵)
	mostIdleA := 90 * (1 - math.Exp(-1)) / (1 - math.Exp(-5))
	const hand = "nodal analysis by hand"
	for _, tt := range []struct {
		name             string
		loadOhm, postV   float64
		chargerA, givenA float64 // what the battery gives; negative when it charges
	}{
		{"charging", 0.5, (14.2/0.003 + 12.6/0.5) / (1/0.003 + 1/0.5 + 1/0.5), 31.22529644, -3.012648221},
		{"at its limit", 0.15, (mostIdleA + 12.6/0.01) / (1/0.15 + 1/0.01), mostIdleA, 0},
	} {
		p := bench(t, tt.loadOhm)
		pt, e := Solve(p, State{Name: "idle", Runs: true, SpeedRadPerS: 800 * rpm, AmbientPa: 101325}, nil)
		if !e.OK {
			t.Fatalf("%s: %s", tt.name, e.Why)
		}
		// the steps end at 1e-9
		near(t, tt.name+": voltage", pt.Net.ElementV(p.Battery.Element), tt.postV, 1e-8, hand)
		near(t, tt.name+": alternator", pt.ChargerA, tt.chargerA, 1e-7, hand)
		near(t, tt.name+": its most", pt.ChargerMostA, mostIdleA, 1e-9, "output curve by hand, 25 °C")
		near(t, tt.name+": sum", pt.ChargerA+pt.BatteryA, tt.postV/tt.loadOhm, 1e-7, "Kirchhoff's current law")
		if tt.givenA != 0 {
			near(t, tt.name+": battery", pt.BatteryA, tt.givenA, 1e-6, hand)
		}
		if tt.givenA == 0 && pt.BatteryA <= 0 {
			t.Errorf("%s: the battery gives %g A, want what the alternator lacks", tt.name, pt.BatteryA)
		}
	}
}

// TestIdleCarriesTheAlternator holds the engine's torque at idle to what the
// alternator and the belts take.
func TestIdleCarriesTheAlternator(t *testing.T) {
	last := 0.0
	for _, ohm := range []float64{10, 2, 1, 0.5, 0.3} {
		p := bench(t, ohm)
		pt, e := Solve(p, State{Name: "idle", Runs: true, SpeedRadPerS: 800 * rpm, AmbientPa: 101325}, nil)
		if !e.OK {
			t.Fatal(e.Why)
		}
		// what is left at the flywheel is nothing: the engine idles
		if math.Abs(pt.TorqueNm) > 1e-6 {
			t.Errorf("with %g Ω %g N·m are left at idle", ohm, pt.TorqueNm)
		}
		if pt.AirKgPerS <= last {
			t.Errorf("with %g Ω the engine breathes %g kg/s, no more than with less load", ohm, pt.AirKgPerS)
		}
		last = pt.AirKgPerS
		near(t, "fuel", pt.WantedKgPerS, pt.AirKgPerS/14.7, 1e-12, "lambda 1 at idle")
	}
}

// TestCrankingByHand holds a starter on a battery against the balance by hand: a
// motor of 0.025 V·s and no friction that must give 36 N·m behind 10 to 1 with
// 0.9 of it handed on takes 36/(9 · 0.025) = 160 A; the battery of 12.6 V falls
// by 160 A · 10 mΩ to 11 V, of which 1 V stays at the brushes and 160 A · 20 mΩ
// in the winding: 6.8 V turn the motor at 272 rad/s, the engine at 27.2.
func TestCrankingByHand(t *testing.T) {
	p := bench(t, 1e6)
	plus := p.Net.Node("plus")
	p.Starter = &Starter{
		Load:      p.Net.Load("starter", plus, dcnet.Reference, dcnet.Current{}),
		Motor:     starter.Motor{Ohm: 0.02, FluxVS: 0.025, BrushV: 1},
		GearRatio: 10, LoadNm: func(float64) float64 { return 36 },
	}
	pt, e := Solve(p, State{Name: "cranking", Cranks: true, AmbientPa: 101325, CrankPa: 98e3}, nil)
	if !e.OK {
		t.Fatal(e.Why)
	}
	const hand = "solved by hand, see the comment; 12.6 µA flow besides"
	near(t, "current", pt.StarterA, 160, 1e-6, hand)
	near(t, "voltage", pt.StarterV, 11, 1e-6, hand)
	near(t, "speed", pt.SpeedRadPerS, 27.2, 1e-6, hand)
	near(t, "battery", pt.BatteryA, 160, 1e-6, hand)
	// 0.75 · ρ · V · ω/4π with ρ = 98 kPa/(287.05 · 258.15 K)
	near(t, "air", pt.AirKgPerS, 0.75*98e3/(287.05*258.15)*1.598e-3*27.2/(4*math.Pi), 1e-4, "speed-density by hand, gas constant to 5 figures")
	near(t, "fuel", pt.WantedKgPerS, 3*pt.AirKgPerS/14.7, 1e-12, "three times its air's at lambda 1")
}

// TestStandsStill has a starter that can't turn the engine: it stands, and the
// battery gives the stalled current (12.6 − 1) V/30 mΩ.
func TestStandsStill(t *testing.T) {
	p := bench(t, 1e6)
	p.Starter = &Starter{
		Load:      p.Net.Load("starter", p.Net.Node("plus"), dcnet.Reference, dcnet.Current{}),
		Motor:     starter.Motor{Ohm: 0.02, FluxVS: 0.025, BrushV: 1},
		GearRatio: 10, LoadNm: func(float64) float64 { return 500 },
	}
	pt, e := Solve(p, State{Name: "cranking", Cranks: true, AmbientPa: 101325, CrankPa: 98e3}, nil)
	if !e.OK {
		t.Fatal(e.Why)
	}
	near(t, "current", pt.StarterA, 11.6/0.03, 1e-6, "stalled motor by hand")
	if pt.SpeedRadPerS != 0 || pt.AirKgPerS != 0 || pt.WantedKgPerS != 0 {
		t.Errorf("an engine that stands turns at %g rad/s and wants %g kg/s", pt.SpeedRadPerS, pt.WantedKgPerS)
	}
}

// TestStartDoesNotMoveTheAnswer solves from the answer of another state's point.
func TestStartDoesNotMoveTheAnswer(t *testing.T) {
	s := State{Name: "idle", Runs: true, SpeedRadPerS: 800 * rpm, AmbientPa: 101325}
	cold, e := Solve(bench(t, 0.5), s, nil)
	if !e.OK {
		t.Fatal(e.Why)
	}
	other, _ := Solve(bench(t, 0.2), State{Name: "full", Runs: true, WideOpen: true, SpeedRadPerS: 5000 * rpm, AmbientPa: 101325}, nil)
	warm, e := Solve(bench(t, 0.5), s, &other)
	if !e.OK {
		t.Fatal(e.Why)
	}
	for _, v := range []struct {
		name string
		a, b float64
	}{
		{"alternator", cold.ChargerA, warm.ChargerA},
		{"battery", cold.BatteryA, warm.BatteryA},
		{"manifold", cold.ManifoldPa, warm.ManifoldPa},
		{"air", cold.AirKgPerS, warm.AirKgPerS},
	} {
		near(t, v.name, v.b, v.a, 1e-7, "the answer does not hang on the start")
	}
}

// TestNotSettledSaysSo asks for a speed that the engine's tables don't hold.
func TestNotSettledSaysSo(t *testing.T) {
	_, e := Solve(bench(t, 0.5), State{Name: "cruise", Runs: true, SpeedRadPerS: 9000 * rpm, AmbientPa: 101325}, nil)
	const want = "cruise: the engine would turn at 9000\u00a0rpm; it is computed for 400\u00a0rpm to 6300\u00a0rpm"
	if e.OK || e.Why != want {
		t.Errorf("ended %v %q, want %q", e.OK, e.Why, want)
	}
}

// TestTooSteepSaysSo asks for more torque than the open throttle gives.
func TestTooSteepSaysSo(t *testing.T) {
	_, e := Solve(bench(t, 0.5), State{Name: "cruise", Runs: true, SpeedRadPerS: 2000 * rpm, RoadW: 200e3, AmbientPa: 101325}, nil)
	if e.OK || !strings.HasPrefix(e.Why, "cruise: 96") || !strings.Contains(e.Why, "N·m at 2000\u00a0rpm are asked of the engine; it gives at most 1") {
		t.Errorf("ended %v %q, want the torque asked, some 960 N·m, and the most there is", e.OK, e.Why)
	}
}
