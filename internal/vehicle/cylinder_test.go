package vehicle

import (
	"math"
	"slices"
	"testing"

	"fettle/internal/design"
)

// One cylinder of the running states: at the firing top the gas is hot and
// pressed, the spark stands short of what is found best and what knock allows,
// and the torque is that of the tables. Where the engine stands there is none.
func TestCylinder(t *testing.T) {
	r := solved(t, camper(t, mended...))
	for _, name := range []string{design.Idle, design.Cruise, design.Full} {
		s := r.State(name)
		f, e, ok, err := s.Cylinder()
		if err != nil || !ok || !e.OK {
			t.Fatal(name, ok, e, err)
		}
		if f.SparkRad > f.BestRad || f.SparkRad > f.KnockRad || f.Result.KnockCount >= 1 {
			t.Errorf("%s: spark %.3f rad, best %.3f, knock %.3f, integral %.2f", name, f.SparkRad, f.BestRad, f.KnockRad, f.Result.KnockCount)
		}
		if math.Abs(f.Result.AirKgPerS/s.Point.AirKgPerS-1) > 0.03 { // the tables are read between their points
			t.Errorf("%s: %.3f g/s of air, the state has %.3f", name, 1e3*f.Result.AirKgPerS, 1e3*s.Point.AirKgPerS)
		}
		at := f.Course.AngleRad[slices.Index(f.Course.PressurePa, slices.Max(f.Course.PressurePa))]
		t.Logf("%s: peak %.1f bar %.0f° after the firing top, gas up to %.0f K, spark %.1f° of %.1f° best and %.1f° short of knock, integral %.2f", name,
			f.Result.PeakPa/1e5, (at-2*math.Pi)/math.Pi*180, slices.Max(f.Course.GasK), f.SparkRad/math.Pi*180, f.BestRad/math.Pi*180, f.KnockRad/math.Pi*180, f.Result.KnockCount)
		// for best work a petrol engine's pressure is highest 14 to 20° after the
		// top, with a later spark later, with a weak burn not at all (common practice)
		if name != design.Idle && (at < 2*math.Pi || at > 2*math.Pi+40*math.Pi/180) {
			t.Errorf("%s: the pressure is highest %.0f° after the firing top", name, (at-2*math.Pi)/math.Pi*180)
		}
	}
	for _, name := range []string{design.Parked, design.Cranking} {
		if _, _, ok, err := r.State(name).Cylinder(); ok || err != nil {
			t.Errorf("%s has a cylinder at work: %v", name, err)
		}
	}
}
