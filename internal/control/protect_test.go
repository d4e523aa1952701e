package control

import (
	"math"
	"testing"
)

// TestSparkThenFuel takes the spark at the limit, the fuel 100 rpm above it, and gives
// both back below.
func TestSparkThenFuel(t *testing.T) {
	tables, s := simple()
	c := make1(t, tables, s)
	in := drive(6400, 60)
	for _, r := range []struct {
		rpm         float64
		spark, fuel bool
	}{{6400, true, true}, {6550, false, true}, {6650, false, false}, {6550, false, false}, {6300, true, true}} {
		in.SpeedRadPerS = r.rpm / toRpm
		cmd := go1(c, &in, 1)
		if cmd.SparkOn != r.spark || cmd.FuelOn != r.fuel {
			t.Errorf("%.0f rpm: spark %v, fuel %v; want %v and %v", r.rpm, cmd.SparkOn, cmd.FuelOn, r.spark, r.fuel)
		}
		if (cmd.Status == SpeedCut) == r.spark {
			t.Errorf("%.0f rpm: says %v", r.rpm, cmd.Status)
		}
	}
}

// TestOverBoost cuts spark and fuel 20 kPa above the boost target, not 15.
func TestOverBoost(t *testing.T) {
	tables, s := simple()
	s.BoostPa, s.FullPa = 60e3, 160e3
	tables.Boost = flat("boost", 160)
	c := make1(t, tables, s)
	in := drive(4000, 175)
	in.UpPa, in.PedalFrac, in.PedalTwoFrac, in.LambdaRatio = 180e3, 1, 0.5, 0.85
	if cmd := go1(c, &in, 3); !cmd.FuelOn || !cmd.SparkOn || c.BoostCuts != 0 {
		t.Errorf("cut at 175 kPa with a target of 160 kPa: %v", cmd.Status)
	}
	in.ManifoldPa = 181e3
	if cmd := go1(c, &in, PeriodS); cmd.FuelOn || cmd.SparkOn || cmd.Status != PressureCut || c.BoostCuts != 1 {
		t.Errorf("no cut at 181 kPa: %v", cmd.Status)
	}
	in.ManifoldPa = 150e3
	if cmd := go1(c, &in, 0.25); cmd.FuelOn || cmd.SparkOn {
		t.Error("back within 0.3 s")
	}
	if cmd := go1(c, &in, 0.2); !cmd.FuelOn || !cmd.SparkOn {
		t.Error("stays cut")
	}
}

// TestBrakeAndPedal lets the brake win over a pedal that stays down, after half a second.
func TestBrakeAndPedal(t *testing.T) {
	tables, s := simple()
	c := make1(t, tables, s)
	in := drive(3000, 60)
	in.PlateFrac = go1(c, &in, 1).PlateFrac
	in.BrakeFrac = 0.4
	if cmd := go1(c, &in, 0.4); cmd.PlateFrac < 0.2 {
		t.Errorf("let go after 0.4 s: plate %.2f", cmd.PlateFrac)
	}
	cmd := go1(c, &in, 0.3)
	if cmd.PlateFrac > 0.15 {
		t.Errorf("plate at %.2f with brake and pedal down", cmd.PlateFrac)
	}
	in.PlateFrac, in.BrakeFrac = cmd.PlateFrac, 0
	for range 100 {
		in.PlateFrac = go1(c, &in, PeriodS).PlateFrac
	}
	if in.PlateFrac < 0.2 {
		t.Errorf("plate at %.2f after the brake was let go", in.PlateFrac)
	}
}

// TestPlateStuck lets a plate go that does not follow for 0.3 s, for good.
func TestPlateStuck(t *testing.T) {
	tables, s := simple()
	c := make1(t, tables, s)
	in := drive(3000, 60)
	for range 100 {
		in.PlateFrac = go1(c, &in, PeriodS).PlateFrac + 0.07
	}
	if c.PlateLost() || c.MotorFrac(in.PlateFrac, 14, 1e-3) == 0 {
		t.Error("7 % off its target is let go")
	}
	in.PlateFrac = 0.9
	go1(c, &in, 0.25)
	if c.PlateLost() {
		t.Error("let go after 0.25 s")
	}
	go1(c, &in, 0.1)
	if !c.PlateLost() || c.MotorFrac(in.PlateFrac, 14, 1e-3) != 0 {
		t.Error("a stuck plate is still driven after 0.35 s")
	}
	in.PlateFrac = 0.3
	if go1(c, &in, 1); !c.PlateLost() {
		t.Error("driven again before the key went off")
	}
}

// TestCamsLost parks both cams when one is off its target for a second.
func TestCamsLost(t *testing.T) {
	tables, s := simple()
	s.PhaserMostRad, s.ExhaustMostRad = 40*degree, 30*degree
	tables.IntakeCam, tables.ExhaustCam = plane("intake cam", 25), plane("exhaust cam", 20)
	c := make1(t, tables, s)
	in := drive(3000, 60)
	in.PhaserRad, in.ExhaustPhaserRad = 18*degree, 20*degree
	if cmd := go1(c, &in, 5); c.CamsLost() || cmd.PhaserTargetRad == 0 {
		t.Error("7° off is parked")
	}
	in.PhaserRad = 10 * degree
	go1(c, &in, 0.9)
	if c.CamsLost() {
		t.Error("parked within a second")
	}
	if cmd := go1(c, &in, 0.2); !c.CamsLost() || cmd.PhaserFrac != 0 || cmd.ExhaustPhaserFrac != 0 {
		t.Errorf("15° off for 1.1 s: duties %.2f and %.2f", cmd.PhaserFrac, cmd.ExhaustPhaserFrac)
	}
}

// TestHotHalfLoad holds the load to half from 110 °C and stops the engine at 115 °C.
func TestHotHalfLoad(t *testing.T) {
	tables, s := simple()
	c := make1(t, tables, s)
	in := drive(3000, 90)
	in.PedalFrac, in.PedalTwoFrac = 1, 0.5
	open := func() float64 {
		var cmd Commands
		for range 200 {
			cmd = go1(c, &in, PeriodS)
			in.PlateFrac = cmd.PlateFrac
		}
		return cmd.PlateFrac
	}
	if p := open(); p < 0.99 {
		t.Errorf("plate at %.2f at 85 °C", p)
	}
	in.CoolantK = kelvin + 111
	if p := open(); p > 0.35 {
		t.Errorf("plate at %.2f at 111 °C with 90 kPa in the manifold", p)
	}
	if c.StopReason() != "" {
		t.Errorf("stopped at 111 °C: %s", c.StopReason())
	}
	in.CoolantK = kelvin + 116
	if cmd := go1(c, &in, PeriodS); cmd.Status != Stopped {
		t.Errorf("not stopped at 116 °C: %v", cmd.Status)
	}
}

// TestCrankingSpark holds the spark to its setting while the starter turns.
func TestCrankingSpark(t *testing.T) {
	tables, s := simple()
	c := make1(t, tables, s)
	in := start(20)
	in.SpeedRadPerS, in.StartKey = 200/toRpm, true
	if cmd := go1(c, &in, 2); math.Abs(cmd.SparkRad-10*degree) > 1e-9 {
		t.Errorf("%.1f° on the starter where the table has 20°, want 10°", cmd.SparkRad/degree)
	}
}

// TestFirstFireClosed turns the engine on the starter with neither fuel nor spark
// while a value that closes the first firing is not verified.
func TestFirstFireClosed(t *testing.T) {
	tables, s := simple()
	tables.Prime = flat("prime", 12)
	for _, closed := range []bool{true, false} {
		s.FireClosed = closed
		c := make1(t, tables, s)
		in := start(20)
		primed := false
		for range 200 {
			primed = go1(c, &in, PeriodS).PrimePulseS > 0 || primed
		}
		in.SpeedRadPerS, in.StartKey = 200/toRpm, true
		cmd := go1(c, &in, 2)
		if cmd.FuelOn == closed || cmd.SparkOn == closed || primed == closed || !cmd.StarterOn {
			t.Errorf("closed %v: fuel %v, spark %v, primed %v, starter %v", closed, cmd.FuelOn, cmd.SparkOn, primed, cmd.StarterOn)
		}
	}
}

// TestStartsAgain stalls an engine with a cable throttle under load and cranks it again
// at 195 rpm with 87 kPa in the manifold, above the load cap: it gets its fuel.
func TestStartsAgain(t *testing.T) {
	tables, s := simple()
	s.Cable, s.Learned = true, false
	tables.LoadCap = flat("cap", 73)
	c := make1(t, tables, s)
	in := drive(900, 60)
	in.LambdaReady, in.RoadMPerS = false, 1
	go1(c, &in, 5)
	in.ManifoldPa = 90e3
	if cmd := go1(c, &in, 0.4); cmd.FuelOn {
		t.Fatal("no cut above the cap")
	}
	in.SpeedRadPerS, in.ManifoldPa, in.PedalFrac, in.PedalTwoFrac, in.StartKey = 195/toRpm, 87e3, 0, 0, true
	if cmd := go1(c, &in, 2); !cmd.FuelOn || !cmd.StarterOn || cmd.PulseS == 0 {
		t.Errorf("fuel %v, starter %v, pulse %.2f ms for a stalled engine that is cranked", cmd.FuelOn, cmd.StarterOn, cmd.PulseS*1e3)
	}
}
