package cycle

import (
	"math"
	"testing"
)

// The course of a cycle is that of its result: the work under it, the peak, the
// lifts and the volumes as the parts say, and what passes the valves as the
// balance has it.
func TestCourseIsTheCycle(t *testing.T) {
	m, err := NewModelOf(plainFour(), tabulated())
	if err != nil {
		t.Fatal(err)
	}
	op := plainState(3000, 80e3)
	op.Spark, op.MostKnockCount = SparkUnderTest, 1
	r, c, e, err := m.PointCourse(op)
	if err != nil || !e.OK {
		t.Fatal(err, e)
	}
	n := len(c.AngleRad)
	if n < 480 || math.Abs(c.AngleRad[n-1]-4*math.Pi) > 1e-9 {
		t.Fatalf("%d steps, the last at %g rad", n, c.AngleRad[n-1])
	}
	work, peak, in, out, dt := 0.0, 0.0, 0.0, 0.0, c.AngleRad[0]/op.SpeedRadPerS
	for k := range n {
		b := (k + n - 1) % n
		work += (c.PressurePa[k] + c.PressurePa[b]) / 2 * (c.VolumeM3[k] - c.VolumeM3[b])
		peak = math.Max(peak, c.PressurePa[k])
		in, out = in+c.InKgPerS[k]*dt, out+c.OutKgPerS[k]*dt
		if c.GasK[k] < 250 || c.GasK[k] > 3200 || c.BurnedFrac[k] < 0 || c.BurnedFrac[k] > 1 {
			t.Fatalf("at %g rad %g K, burned %g", c.AngleRad[k], c.GasK[k], c.BurnedFrac[k])
		}
	}
	g := m.engine.Geometry
	for _, x := range []struct {
		what           string
		got, want, tol float64
	}{
		// the trapezium rule over 1.5° against the midpoint rule of the cycle, and
		// the cycle before it, which it repeats to 5e-4
		{"work", work, (r.GrossMeanPa - r.PumpingPa) * g.SweptM3(), 3e-3},
		{"peak", peak, r.PeakPa, 2e-3},
		{"gas in", in, r.Mass.InKg, 1e-3},
		{"gas out", out, r.Mass.OutKg, 1e-3},
		{"knock integral", c.KnockCount[n-1], r.MeanKnockCount, 0.02},
		{"volume at the bottom", c.VolumeM3[n/4-1], g.ClearanceM3() + g.SweptM3(), 1e-6},
	} {
		if math.Abs(x.got/x.want-1) > x.tol {
			t.Errorf("%s %.6g, want %.6g", x.what, x.got, x.want)
		}
	}
	most := func(z []float64) (at int) {
		for k := range z {
			if z[k] > z[at] {
				at = k
			}
		}
		return at
	}
	v := m.engine.Intake
	if at := c.AngleRad[most(c.IntakeM)]; math.Abs(at-(v.CentrelineRad-op.IntakeAdvanceRad)) > 1.6*deg || math.Abs(c.IntakeM[most(c.IntakeM)]-v.LiftM) > 1e-5 {
		t.Errorf("the intake's full lift stands at %.1f°", at/deg)
	}
	if at := c.AngleRad[most(c.ExhaustM)]; math.Abs(at-(4*math.Pi-m.engine.Exhaust.CentrelineRad)) > 1.6*deg {
		t.Errorf("the exhaust's full lift stands at %.1f°", at/deg)
	}
}
