package cycle

import (
	"math"
	"strings"
	"testing"
)

// Impossible engines and states: a message that names the quantity, what was
// found and the range.
func TestBadInput(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(*Engine, *Operating)
		want  []string
	}{
		{"ratio low", func(e *Engine, _ *Operating) { e.Geometry.CompressionRatio = 4.5 }, []string{"compression ratio 4.5", "5 … 20"}},
		{"ratio high", func(e *Engine, _ *Operating) { e.Geometry.CompressionRatio = 21 }, []string{"compression ratio 21", "5 … 20"}},
		{"rod shorter than throw", func(e *Engine, _ *Operating) { e.Geometry.RodM = 0.04 }, []string{"rod length 0.04 m", "0.043"}},
		{"rod barely longer", func(e *Engine, _ *Operating) { e.Geometry.RodM, e.PinOffsetM = 0.055, 0.01 }, []string{"rod length 0.055 m", "0.0636"}},
		{"offset", func(e *Engine, _ *Operating) { e.PinOffsetM = 0.03 }, []string{"pin offset 0.03 m", "0 … 0.0172 m"}},
		{"valve too wide", func(e *Engine, _ *Operating) { e.Intake.HeadM = 0.07 }, []string{"intake valve diameter 0.07 m", "0.0559 m"}},
		{"valves do not fit", func(e *Engine, _ *Operating) { e.Intake.HeadM, e.Intake.LiftM = 0.055, 0.01 }, []string{"2 intake valves of 0.055 m", "0.75"}},
		{"valve lift", func(e *Engine, _ *Operating) { e.Exhaust.LiftM = 0.03 }, []string{"exhaust valve lift 0.03 m", "0.01425 m"}},
		{"no valve", func(e *Engine, _ *Operating) { e.Exhaust.Count = 0 }, []string{"exhaust valves per cylinder 0", "1 … 4"}},
		{"closes a stroke early", func(e *Engine, _ *Operating) { e.Intake.CentrelineRad = -100 * deg }, []string{"intake opening after top dead centre, phaser parked"}},
		{"closes too early", func(e *Engine, _ *Operating) { e.Intake.DurationRad, e.Intake.CentrelineRad = 150*deg, 40*deg }, []string{"intake closing after bottom dead centre, phaser parked −65.0°", "−57.3 … 126°"}},
		{"phaser carries it too far", func(e *Engine, _ *Operating) { e.Intake.PhaserRad = 100 * deg }, []string{"phaser at its end"}},
		{"not a number", func(e *Engine, _ *Operating) { e.Geometry.BoreM = math.NaN() }, []string{"bore NaN m"}},
		{"plenum", func(e *Engine, _ *Operating) { e.PlenumM3 = 0 }, []string{"plenum volume 0 m³"}},
		{"fuel unknown", func(e *Engine, _ *Operating) { e.Fuel.StoichRatio = 0 }, []string{"stoichiometric ratio 0", "5 … 20"}},
		{"fuel at odds with its atoms", func(e *Engine, _ *Operating) { e.Fuel.StoichRatio = 12 }, []string{"stoichiometric ratio 12", "atoms"}},
		{"speed", func(_ *Engine, o *Operating) { o.SpeedRadPerS = 5 }, []string{"engine speed 5 rad/s", "15 … 1500"}},
		{"manifold above its source", func(_ *Engine, o *Operating) { o.ManifoldPa = 120e3 }, []string{"manifold pressure 120000 Pa", "99500 Pa"}},
		{"lambda", func(_ *Engine, o *Operating) { o.LambdaRatio = 0.5 }, []string{"lambda 0.5", "0.65 … 1.4"}},
		{"cam beyond its travel", func(_ *Engine, o *Operating) { o.IntakeAdvanceRad = 1 }, []string{"intake cam advance 57.3°", "0.00 … 40.0°"}},
		{"spark", func(_ *Engine, o *Operating) { o.SparkRad = 2 }, []string{"spark advance 115°", "−25.0 … 70.0°"}},
		{"spark mode", func(_ *Engine, o *Operating) { o.Spark = 9 }, []string{"spark mode 9"}},
		{"knock limit", func(_ *Engine, o *Operating) { o.Spark, o.MostKnockCount = SparkUnderTest, 0 }, []string{"knock integral allowed 0", "0.1 … 10"}},
		{"oil", func(_ *Engine, o *Operating) { o.OilViscosityRatio = 0 }, []string{"oil viscosity"}},
	} {
		e, o := plainFour(), plainState(2000, 60e3)
		c.spoil(&e, &o)
		m, err := NewModel(e)
		if err == nil {
			var r Result
			r, _, err = m.Point(o)
			if r.TrappedKg != 0 {
				t.Errorf("%s: a result was given", c.name)
			}
		}
		if err == nil {
			t.Errorf("%s: accepted", c.name)
			continue
		}
		for _, w := range c.want {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%s: %q does not say %q", c.name, err, w)
			}
		}
	}
}

// What doesn't settle, or can't be reached, is said so and gives no figures.
func TestNotSettled(t *testing.T) {
	m, err := NewModelOf(plainFour(), tabulated())
	if err != nil {
		t.Fatal(err)
	}
	r, e, err := m.point(plainState(2000, 60e3), 2)
	if err != nil || e.OK || e.Why == "" || e.Residual <= settled || r.TorqueNm != 0 {
		t.Errorf("two cycles: %v, %+v, torque %g", err, e, r.TorqueNm)
	}
	op := plainState(2000, 60e3)
	op.UnconvergedAllowed = true
	if r, e, err := m.point(op, 2); err != nil || e.OK || r.TorqueNm == 0 {
		t.Errorf("two cycles, allowed: %v, %+v, torque %g", err, e, r.TorqueNm)
	}
	if _, r, e, err := m.ForTorque(plainState(2000, 60e3), 400); err != nil || e.OK || r.TorqueNm != 0 || !strings.Contains(e.Why, "out of reach") {
		t.Errorf("400 N·m: %v, %+v", err, e)
	}
	late := plainState(700, 15e3)
	late.IntakeAdvanceRad, late.ExhaustRetardRad = 40*deg, 30*deg
	late.Spark = SparkBest
	if r, e, err := m.Point(late); err == nil && e.OK || r.TorqueNm != 0 {
		t.Errorf("nearly all of it burned gas: %v, %+v, torque %g", err, e, r.TorqueNm)
	}
	if _, e, err := m.MostTorque(late, Limits{MostResidualFrac: 0.03, MostBurnRad: 0.5}); err != nil || e.OK || !strings.Contains(e.Why, "no cam position holds") {
		t.Errorf("limits that nothing bears: %v, %+v", err, e)
	}
	if _, _, err := m.MostTorque(late, Limits{}); err == nil {
		t.Error("no limits: accepted")
	}
}

// The torque asked for comes out, and the cams found are better than parked.
func TestCamSearch(t *testing.T) {
	m, err := NewModelOf(plainFour(), tabulated())
	if err != nil {
		t.Fatal(err)
	}
	l := Limits{MostResidualFrac: 0.25, MostBurnRad: 75 * deg}
	op := plainState(2000, 50e3)
	op.Spark = SparkBest
	op.IntakeAdvanceRad = 0
	at, parked, e, err := m.ForTorque(op, 40)
	if err != nil || !e.OK || math.Abs(parked.TorqueNm-40) > 0.1 {
		t.Fatalf("%v %+v %g N·m at %g Pa", err, e, parked.TorqueNm, at.ManifoldPa)
	}
	c, e, err := m.LeastFuel(op, 40, l)
	if err != nil || !e.OK {
		t.Fatal(err, e)
	}
	t.Logf("40 N·m at 2000 rpm: %.4f g/s parked, %.4f g/s with the intake %.0f° earlier and the exhaust %.0f° later at %.0f kPa, residual gas %.3f; %d positions tried",
		1e3*parked.FuelKgPerS, 1e3*c.Result.FuelKgPerS, c.Operating.IntakeAdvanceRad/deg, c.Operating.ExhaustRetardRad/deg, c.Operating.ManifoldPa/1e3, c.Result.ResidualFrac, c.Tried)
	if c.Result.FuelKgPerS > parked.FuelKgPerS || !l.Bears(c.Result) || math.Abs(c.Result.TorqueNm-40) > 0.1 {
		t.Errorf("found %+v", c)
	}
	for _, n := range []float64{1500, 5500} {
		op := plainState(n, 0)
		op.WideOpen, op.Spark = true, SparkUnderTest
		best, e, err := m.MostTorque(op, l)
		if err != nil || !e.OK {
			t.Fatal(err, e)
		}
		t.Logf("%g rpm, open: %.1f N·m, intake %.0f° earlier, exhaust %.0f° later", n, best.Result.TorqueNm, best.Operating.IntakeAdvanceRad/deg, best.Operating.ExhaustRetardRad/deg)
		op.IntakeAdvanceRad = 0
		if r, _, err := m.Point(op); err != nil || r.TorqueNm > best.Result.TorqueNm {
			t.Errorf("%g rpm: %.1f N·m parked, %.1f found (%v)", n, r.TorqueNm, best.Result.TorqueNm, err)
		}
	}
}
