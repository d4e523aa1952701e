package control

import (
	"math"
	"testing"
)

// start is an engine found standing, the key on.
func start(celsius float64) Sensors {
	in := drive(0, 100)
	in.PedalFrac, in.PedalTwoFrac, in.RoadMPerS, in.Gear, in.OilPa, in.CoolantK, in.BatteryV = 0, 0, 0, 0, 0, kelvin+celsius, 12
	return in
}

// TestPump primes once, runs with a crank signal only and stops within 2 s of losing
// it (common practice).
func TestPump(t *testing.T) {
	tables, s := simple()
	c := make1(t, tables, s)
	in := start(20)
	if cmd := go1(c, &in, 2.4); !cmd.PumpOn {
		t.Error("not primed")
	}
	if cmd := go1(c, &in, 0.3); cmd.PumpOn {
		t.Error("runs on after priming, with no crank signal")
	}
	in.SpeedRadPerS, in.StartKey = 200/toRpm, true
	if cmd := go1(c, &in, 1); !cmd.PumpOn || !cmd.StarterOn {
		t.Error("does not run with the starter")
	}
	in.SpeedRadPerS, in.StartKey = 0, false
	stopped := 0.0
	for ; stopped < 5; stopped += PeriodS {
		if cmd := go1(c, &in, PeriodS); !cmd.PumpOn {
			break
		}
	}
	if stopped > 2 || stopped < 0.5 {
		t.Errorf("stopped %.2f s after the last crank signal, wanted within 2 s", stopped)
	}
}

// TestPrimePulse gives the port its pulse once, before the first turn.
func TestPrimePulse(t *testing.T) {
	tables, s := simple()
	tables.Prime = flat("prime", 12)
	c := make1(t, tables, s)
	in := start(-10)
	given, at := 0, 0.0
	for n := range 400 {
		if cmd := go1(c, &in, PeriodS); cmd.PrimePulseS > 0 {
			given, at = given+1, cmd.PrimePulseS
		}
		if n == 250 {
			in.SpeedRadPerS = 200 / toRpm
		}
	}
	if given != 1 || math.Abs(at-12.9e-3) > 1e-6 {
		t.Errorf("%d priming pulses, the last of %.2f ms; want one of 12.9 ms", given, at*1e3)
	}
}

// TestFloodClear gives a cranked engine no fuel and all air while the pedal is down.
func TestFloodClear(t *testing.T) {
	tables, s := simple()
	c := make1(t, tables, s)
	in := start(20)
	in.SpeedRadPerS, in.StartKey = 200/toRpm, true
	if cmd := go1(c, &in, 2); !cmd.FuelOn || cmd.Status != Cranking {
		t.Errorf("no fuel while cranking: %v", cmd.Status)
	}
	in.PedalFrac, in.PedalTwoFrac = 0.79, 0.395
	if cmd := go1(c, &in, 0.5); !cmd.FuelOn {
		t.Error("no fuel at 79 % of pedal")
	}
	in.PedalFrac, in.PedalTwoFrac = 0.85, 0.425
	cmd := go1(c, &in, 0.5)
	if cmd.FuelOn || cmd.Status != FloodClear {
		t.Error("fuel at 85 % of pedal")
	}
	if !cmd.SparkOn || cmd.PlateFrac < 0.9 {
		t.Errorf("spark %v, plate %.2f: the engine is to be blown dry and to fire", cmd.SparkOn, cmd.PlateFrac)
	}
}

// TestHotRestart gives an engine that is started hot the factor of the settings,
// which falls to 1/e in its time, and a cold one nothing.
func TestHotRestart(t *testing.T) {
	tables, s := simple()
	tables.Lambda = plane("lambda", 1)
	pulses := func(celsius float64) (crank, run, late float64) {
		c := make1(t, tables, s)
		in := start(celsius)
		in.SpeedRadPerS, in.StartKey = 200/toRpm, true
		crank = go1(c, &in, 2).PulseS - 0.9e-3
		in.SpeedRadPerS, in.StartKey, in.ManifoldPa, in.OilPa = 1000/toRpm, false, 60e3, 3e5
		for c.runS == 0 {
			go1(c, &in, PeriodS)
		}
		run = go1(c, &in, 0.4).PulseS - 0.9e-3 // the pressure has settled; 2 % of the fall is over
		late = go1(c, &in, 21).PulseS - 0.9e-3
		return crank, run, late
	}
	crank, run, late := pulses(75)
	hotCrank, hotRun, hotLate := pulses(95)
	for _, r := range []struct {
		name            string
		got, want, tolF float64
	}{{"cranking", hotCrank / crank, 1.15, 1e-3}, {"running", hotRun / run, 1 + 0.15*0.98, 2e-3}, {"21 s later", hotLate / late, 1 + 0.15*math.Exp(-21.4/20), 2e-3}} {
		if math.Abs(r.got-r.want) > r.tolF*r.want {
			t.Errorf("%s: a hot engine gets %.4f of a warm one's fuel, want %.3f", r.name, r.got, r.want)
		}
	}
}

// TestCamsParked lets the phasers leave their stops only with oil pressure, warmth,
// and oil not too hot; then they go to their tables' angles.
func TestCamsParked(t *testing.T) {
	tables, s := simple()
	s.PhaserMostRad, s.ExhaustMostRad = 40*degree, 30*degree
	tables.IntakeCam, tables.ExhaustCam = plane("intake cam", 25), plane("exhaust cam", 45)
	run := func(f func(*Sensors)) Commands {
		in := drive(3000, 60)
		f(&in)
		return go1(make1(t, tables, s), &in, 4)
	}
	cmd := run(func(*Sensors) {})
	if math.Abs(cmd.PhaserTargetRad-25*degree) > 1e-9 || cmd.PhaserFrac <= 0.5 {
		t.Errorf("intake: target %.1f°, duty %.2f; want 25° and more than holds it", cmd.PhaserTargetRad/degree, cmd.PhaserFrac)
	}
	if math.Abs(cmd.ExhaustTargetRad-30*degree) > 1e-9 || cmd.ExhaustPhaserFrac <= 0.5 {
		t.Errorf("exhaust: target %.1f°, duty %.2f; want the travel of 30°", cmd.ExhaustTargetRad/degree, cmd.ExhaustPhaserFrac)
	}
	for name, f := range map[string]func(*Sensors){
		"140 kPa of oil": func(i *Sensors) { i.OilPa = 140e3 },
		"35 °C":          func(i *Sensors) { i.CoolantK = kelvin + 35 },
		"oil at 135 °C":  func(i *Sensors) { i.OilK = kelvin + 135 },
		"idle": func(i *Sensors) {
			i.SpeedRadPerS, i.PedalFrac, i.PedalTwoFrac, i.RoadMPerS, i.Gear = 850/toRpm, 0, 0, 0, 0
		},
	} {
		if cmd := run(f); cmd.PhaserTargetRad != 0 || cmd.ExhaustTargetRad != 0 || cmd.PhaserFrac > 0.5 {
			t.Errorf("%s: the cams move: %.1f° and %.1f°", name, cmd.PhaserTargetRad/degree, cmd.ExhaustTargetRad/degree)
		}
	}
}

// TestIdleAirForLoads gives the air of compressor and fan beforehand: 0.3 s before the
// clutch, and as much as the settings say through the throttle's curve.
func TestIdleAirForLoads(t *testing.T) {
	tables, s := simple()
	c := make1(t, tables, s)
	in := drive(850, 35)
	in.PedalFrac, in.PedalTwoFrac, in.RoadMPerS, in.Gear = 0, 0, 0, 0
	before := go1(c, &in, 6).PlateFrac
	in.AirConOn = true
	cmd := go1(c, &in, 0.2)
	if cmd.AirConOn {
		t.Error("the clutch closes with its air")
	}
	// 3 g/s more on a curve of 0.04 a g/s
	if got := cmd.PlateFrac - before; math.Abs(got-0.12) > 0.01 {
		t.Errorf("%.3f more opening for the compressor, want 0.120", got)
	}
	if cmd = go1(c, &in, 0.2); !cmd.AirConOn {
		t.Error("the clutch stays open")
	}
	in.AirConOn = false
	back := go1(c, &in, 0.1).PlateFrac
	in.CoolantK = kelvin + 97
	cmd = go1(c, &in, 0.1)
	if got := cmd.PlateFrac - back; !cmd.FanOn || math.Abs(got-0.02) > 0.005 {
		t.Errorf("fan %v, %.3f more opening for it, want 0.020", cmd.FanOn, got)
	}
	in.CoolantK = kelvin + 93
	if cmd = go1(c, &in, 0.1); !cmd.FanOn {
		t.Error("the fan stops before 91 °C")
	}
}

// TestPedalTracks idles an engine whose two pedal tracks part.
func TestPedalTracks(t *testing.T) {
	tables, s := simple()
	c := make1(t, tables, s)
	in := drive(3000, 80)
	if cmd := go1(c, &in, 2); cmd.PlateFrac < 0.3 {
		t.Fatalf("plate %.2f with 30 %% of pedal", cmd.PlateFrac)
	}
	in.PedalTwoFrac = 0.10 // says 20 %
	if cmd := go1(c, &in, 0.05); cmd.PlateFrac < 0.3 {
		t.Error("let go before the tracks were apart for 0.1 s")
	}
	if cmd := go1(c, &in, 0.2); cmd.PlateFrac > 0.15 {
		t.Errorf("plate %.2f with tracks apart", cmd.PlateFrac)
	}
}

// TestStops stops an engine without oil pressure, or too hot, until the key goes off.
func TestStops(t *testing.T) {
	tables, s := simple()
	for name, f := range map[string]func(*Sensors){
		"oil":  func(i *Sensors) { i.OilPa = 40e3 },
		"heat": func(i *Sensors) { i.CoolantK = kelvin + 116 },
	} {
		c := make1(t, tables, s)
		in := drive(3000, 60)
		go1(c, &in, 6)
		f(&in)
		if cmd := go1(c, &in, 1.5); cmd.FuelOn || cmd.SparkOn || cmd.PumpOn || c.StopReason() == "" {
			t.Errorf("%s: runs on, %q", name, c.StopReason())
		}
		in.KeyOn = false
		go1(c, &in, 0.1)
		in = drive(3000, 60)
		if cmd := go1(c, &in, 2); !cmd.FuelOn {
			t.Errorf("%s: stays stopped after the key", name)
		}
	}
}

// TestLoadWaits keeps load's mixture off an idle that labours, and gives it with the
// pedal.
func TestLoadWaits(t *testing.T) {
	tables, s := simple()
	for k := range tables.Lambda.Z {
		if k%3 == 0 {
			tables.Lambda.Z[k] = 1
		}
	}
	c := make1(t, tables, s)
	in := drive(850, 90)
	in.PedalFrac, in.PedalTwoFrac, in.RoadMPerS, in.Gear = 0, 0, 0, 0
	if cmd := go1(c, &in, 2); cmd.LambdaTargetRatio != 1 {
		t.Errorf("lambda %.2f at a labouring idle, want 1", cmd.LambdaTargetRatio)
	}
	in.PedalFrac, in.PedalTwoFrac = 0.6, 0.3
	if cmd := go1(c, &in, 0.1); cmd.LambdaTargetRatio > 0.9 {
		t.Errorf("lambda %.2f with the pedal down", cmd.LambdaTargetRatio)
	}
}
