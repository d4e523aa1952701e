package balance

import (
	"math"
	"testing"

	"fettle/internal/injector"
	"fettle/internal/pump"
)

const (
	litrePerHour = 1e-3 / 3600
	bar          = 1e5
	rpm          = 2 * math.Pi / 60
)

// near holds a figure to a wanted one, relative to it.
func near(t *testing.T, name string, got, want, tolRatio float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tolRatio*math.Max(math.Abs(want), 1e-12)) {
		t.Errorf("%s: %.9g, want %.9g within %.2g of it (%s)", name, got, want, tolRatio, source)
	}
}

// circuit is a pump of one rated point that feeds a line whose loss is in
// proportion to its flow, 0.3 bar at that of the rated point.
func circuit(t *testing.T, flowM3PerS, pressurePa float64) *Parts {
	t.Helper()
	m, err := pump.Fit(pump.Spec{RatedV: 13.5, RatedPa: pressurePa, RatedFlowM3PerS: flowM3PerS, RatedA: 8, FreeFlowM3PerS: 2 * flowM3PerS})
	if err != nil {
		t.Fatal(err)
	}
	return &Parts{
		Pump: &Pump{Model: m},
		Fuel: Circuit{SetPa: 4 * bar, DensityKgPerM3: 750, LossPa: func(q float64) float64 { return 0.3 * bar * q / flowM3PerS }},
	}
}

// TestRailByHand holds the rail's pressure and the mixture against cases solved
// by hand. The controller meters 100 L/h at 4 bar; manifold and air are alike,
// so that across the injector stands the rail's gauge pressure p, and the
// injectors pass 100 L/h · √(p/4 bar).
func TestRailByHand(t *testing.T) {
	const hand = "solved by hand: square-root law, and a pump whose rated point is the answer"
	tests := []struct {
		name             string
		ratedL, ratedBar float64 // the pump's point at 13.5 V, line's 0.3 bar included
		railBar, litres  float64
		lambdaRatio      float64 // over the wanted one
		mostL            float64 // what it could bring at 4 bar; 0 unchecked
	}{
		// the pump passes 100·√(3.2/4) = 89.443 L/h at 3.2 bar and 0.3 bar of line
		{"the rail sinks to 3.2 bar", 100 * math.Sqrt(0.8), 3.5, 3.2, 89.4427191, 1.118033989, 0},
		// 100·√(1/4) = 50 L/h at 1 bar and 0.3 bar of line
		{"the rail sinks to 1 bar", 50, 1.3, 1, 50, 2, 0},
		// it brings just what is wanted, at 4 bar and 0.3 bar of line
		{"just enough", 100, 4.3, 4, 100, 1, 100},
	}
	for _, tt := range tests {
		p := circuit(t, tt.ratedL*litrePerHour, tt.ratedBar*bar)
		pt := Point{PumpV: 13.5, ManifoldPa: 1e5, WantedKgPerS: 100 * litrePerHour * 750, LambdaWantedRatio: 0.88}
		if err := p.fuel(State{AmbientPa: 1e5}, &pt); err != nil {
			t.Fatal(err)
		}
		// the search for the rail stops at 1e-9 of the set pressure or finer
		near(t, tt.name+": rail", pt.RailPa, tt.railBar*bar, 1e-6, hand)
		near(t, tt.name+": flow", pt.PumpM3PerS, tt.litres*litrePerHour, 1e-6, hand)
		near(t, tt.name+": fuel", pt.FuelKgPerS, tt.litres*litrePerHour*750, 1e-6, hand)
		near(t, tt.name+": lambda", pt.LambdaRatio, 0.88*tt.lambdaRatio, 1e-6, hand)
		if tt.mostL > 0 {
			near(t, tt.name+": most", pt.PumpMostM3PerS, tt.mostL*litrePerHour, 1e-6, hand)
		}
	}
}

// TestRailHeldByRegulator has a pump with flow to spare: the rail stands at the
// set pressure whatever the pump could do.
func TestRailHeldByRegulator(t *testing.T) {
	p := circuit(t, 200*litrePerHour, 4.3*bar)
	for _, volts := range []float64{11, 12, 13.5, 15} {
		pt := Point{PumpV: volts, ManifoldPa: 4e4, WantedKgPerS: 40 * litrePerHour * 750, LambdaWantedRatio: 1}
		if err := p.fuel(State{AmbientPa: 1e5}, &pt); err != nil {
			t.Fatal(err)
		}
		near(t, "rail", pt.RailPa, 4*bar, 0, "a regulator holds its pressure")
		near(t, "lambda", pt.LambdaRatio, 1, 1e-12, "what is metered is delivered")
		near(t, "across", pt.AcrossPa, 4*bar+6e4, 1e-12, "rail, less the manifold's vacuum")
	}
}

// TestRailFallsWithVoltage holds a starving pump to monotony: fewer volts never
// bring more fuel or a richer mixture.
func TestRailFallsWithVoltage(t *testing.T) {
	p := circuit(t, 100*litrePerHour, 4.3*bar)
	last := Point{RailPa: math.Inf(1), FuelKgPerS: math.Inf(1)}
	for volts := 15.0; volts > 2; volts -= 0.05 {
		pt := Point{PumpV: volts, ManifoldPa: 9e4, WantedKgPerS: 110 * litrePerHour * 750, LambdaWantedRatio: 0.88}
		if err := p.fuel(State{AmbientPa: 1e5}, &pt); err != nil {
			t.Fatal(err)
		}
		if pt.RailPa > last.RailPa+1e-3 || pt.FuelKgPerS > last.FuelKgPerS*(1+1e-9) || pt.LambdaRatio < last.LambdaRatio*(1-1e-9) {
			t.Fatalf("from %.2f V to %.2f V the rail goes from %.6g to %.6g Pa, lambda from %.6g to %.6g", volts+0.05, volts, last.RailPa, pt.RailPa, last.LambdaRatio, pt.LambdaRatio)
		}
		last = pt
	}
}

// TestPulseByHand holds pulse and duty against a case solved by hand: five
// injectors of 2.6 g/s at 3 bar, with 3 bar across them, give 9.8 g/s at
// 6000 rpm, which is 39.2 mg every 20 ms: 39.2/2600 s and the dead time.
func TestPulseByHand(t *testing.T) {
	const hand = "solved by hand: mass over static flow, and dead time inversely with voltage"
	for _, tt := range []struct{ volts, deadMs, pulseMs, dutyFrac float64 }{
		{14, 0.75, 15.82692308, 0.7913461538},
		{8, 2, 17.07692308, 0.8538461538},
		{10, 1.416666667, 16.49358974, 0.8246794872}, // 0.75 + 1.25 (1/10 − 1/14)/(1/8 − 1/14) = 0.75 + 2/3
	} {
		in := Injector{Data: Metering{
			Spec:     injector.Spec{RatedM3PerS: 2.6e-3 / 750, RatedDropPa: 3 * bar, RatedDensityKgPerM3: 750},
			DeadAt8S: 2e-3, DeadAt14S: 0.75e-3,
		}}
		p := &Parts{Injectors: []Injector{in, in, in, in, in}, Fuel: Circuit{SetPa: 3 * bar, DensityKgPerM3: 750, LossPa: func(float64) float64 { return 0 }}}
		pt := Point{InjectorV: tt.volts, ManifoldPa: 1e5, WantedKgPerS: 9.8e-3, LambdaWantedRatio: 0.88, SpeedRadPerS: 6000 * rpm}
		if err := p.fuel(State{AmbientPa: 1e5}, &pt); err != nil {
			t.Fatal(err)
		}
		near(t, "dead time", pt.DeadS, tt.deadMs*1e-3, 1e-9, hand)
		near(t, "pulse", pt.PulseS, tt.pulseMs*1e-3, 1e-9, hand)
		near(t, "duty", pt.DutyFrac, tt.dutyFrac, 1e-9, hand)
	}
}

// TestDutyStopsAtOne asks more of an injector than it can give.
func TestDutyStopsAtOne(t *testing.T) {
	p := circuit(t, 300*litrePerHour, 4.3*bar)
	p.Injectors = []Injector{{Data: Metering{
		Spec:     injector.Spec{RatedM3PerS: 2.6e-3 / 750, RatedDropPa: 3 * bar, RatedDensityKgPerM3: 750},
		DeadAt8S: 2e-3, DeadAt14S: 0.75e-3,
	}}}
	pt := Point{PumpV: 13.5, InjectorV: 14, ManifoldPa: 1e5, WantedKgPerS: 9.8e-3, LambdaWantedRatio: 0.88, SpeedRadPerS: 6000 * rpm}
	if err := p.fuel(State{AmbientPa: 1e5}, &pt); err != nil {
		t.Fatal(err)
	}
	if pt.DutyFrac != 1 {
		t.Errorf("duty is %g, want 1: it can't be open for more than all of the time", pt.DutyFrac)
	}
}

// TestCoilByHand holds a coil's dwell and current against t = −(L/R) ln(1 − IR/V).
func TestCoilByHand(t *testing.T) {
	coil := Coil{Ohm: 0.5, Henry: 3e-3, ChargeA: 8, SparksRatio: 0.5}
	for _, tt := range []struct {
		name                         string
		volts, speedRPM              float64
		cranks                       bool
		dwellMs, reachedA, leftoverS float64
		source                       string
	}{
		// 6 ms · ln(12/(12 − 4)) = 6 ms · ln 1.5
		{"in time", 12, 3000, false, 2.432790649, 8, 0.039, "solved by hand: 6 ms · ln 1.5"},
		// while cranking 8 ms at most: 6/0.5 · (1 − e^(−8/6)) = 8.836834
		{"cranking at 6 V", 6, 200, true, 6.591673732, 8, 0.599, "solved by hand: 6 ms · ln 3"},
		{"cranking at 5 V", 5, 200, true, 8, 7.364028619, 0.599, "solved by hand: 10 A · (1 − e^(−4/3)) in the 8 ms there are"},
	} {
		p := &Parts{Coils: []Coil{coil}, CrankDwellS: 8e-3}
		pt := Point{CoilV: tt.volts, SpeedRadPerS: tt.speedRPM * rpm}
		if err := p.spark(State{Cranks: tt.cranks}, &pt); err != nil {
			t.Fatal(err)
		}
		near(t, tt.name+": dwell", pt.DwellS, tt.dwellMs*1e-3, 1e-8, tt.source)
		near(t, tt.name+": current", pt.CoilA, tt.reachedA, 1e-8, tt.source)
		// a spark every two turns, less 1 ms for the spark itself
		near(t, tt.name+": time", pt.DwellLeftS, tt.leftoverS, 1e-9, "two turns less 1 ms")
	}
}
