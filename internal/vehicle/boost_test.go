package vehicle

import (
	"math"
	"os"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/design"
)

// boosted is an estate with a boosted engine, one of the clean builds, with edits.
func boosted(t *testing.T, edits ...buildfile.Edit) *Vehicle {
	t.Helper()
	src, err := os.ReadFile("../demo/clean/wagon-flat-four-boosted.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return compile(t, string(src), edits...)
}

func edit(text string, path ...string) buildfile.Edit { return buildfile.Edit{Path: path, Text: text} }

// TestBoostReachesTheSolve holds the full-power state of a boosted engine to the
// stated boost, its rail to the regulator's reference and its injectors to the
// square-root law.
func TestBoostReachesTheSolve(t *testing.T) {
	four := edit("4 bar", "fuel system", "rail pressure")
	full := func(edits ...buildfile.Edit) *State { return solved(t, boosted(t, edits...)).State(design.Full) }
	referred := full(four)
	free := full(four, edit("atmosphere", "fuel system", "regulator reference"))
	none := full(edit("0.05 bar", "boost", "pressure"))
	for name, s := range map[string]*State{"referred": referred, "free": free, "hardly boosted": none} {
		if !s.Ended.OK {
			t.Fatalf("%s: %s", name, s.Ended.Why)
		}
	}
	ambient := referred.v.AmbientPa()
	boost := referred.Point.ManifoldPa - ambient
	in := referred.v.response.Input()
	if want := in.WideOpenPa(referred.Point.SpeedRadPerS) - ambient; math.Abs(boost-want) > 1 || boost < 0.7e5 || boost > 0.8e5 {
		t.Errorf("the manifold stands %.0f Pa above the air, want %.0f: 0.8 bar less what filter and throttle take", boost, want)
	}
	for _, c := range []struct {
		name      string
		got, want float64
		tolRatio  float64
		source    string
	}{
		{"rail, referred", referred.Point.RailPa, 4e5 + boost, 1e-9, "balance of forces on the regulator's diaphragm"},
		{"across, referred", referred.Point.AcrossPa, 4e5, 1e-9, "the same"},
		{"rail, free", free.Point.RailPa, 4e5, 1e-9, "a regulator open to the air"},
		{"across, free", free.Point.AcrossPa, 4e5 - boost, 1e-6, "definition"},
		{"fuel a pulse, free over referred", (referred.Point.PulseS - referred.Point.DeadS) / (free.Point.PulseS - free.Point.DeadS), math.Sqrt((4e5 - boost) / 4e5), 2e-3, "incompressible orifice, Q ∝ √Δp; 0.894 at 0.8 bar"},
	} {
		if math.Abs(c.got-c.want) > c.tolRatio*c.want {
			t.Errorf("%s: %.6g, want %.6g (%s)", c.name, c.got, c.want, c.source)
		}
	}
	// the air grows by nearly the pressure ratio, less what the hotter charge and the turbine take
	if r := referred.Point.AirKgPerS / none.Point.AirKgPerS; r < 1.4 || r > 1.8 {
		t.Errorf("0.8 bar of boost brings %.2f times the air", r)
	}
	if referred.Point.LimitDutyFrac <= 0 || free.Point.DutyFrac <= referred.Point.DutyFrac {
		t.Errorf("duty %.3f referred, %.3f free, %.3f at the limit", referred.Point.DutyFrac, free.Point.DutyFrac, referred.Point.LimitDutyFrac)
	}
	// the belt takes the charger's power from the crankshaft, some tenth of what the
	// engine gives (common practice), where the exhaust gives it for less
	belted := full(four, edit("a belt", "boost", "driven by"))
	perPower := func(s *State) float64 { return s.Point.FuelKgPerS / s.Point.PowerW * 3.6e9 }
	if a, b := perPower(referred), perPower(belted); b < 1.01*a || b > 1.2*a {
		t.Errorf("driven by a belt %.0f g/kWh, by the exhaust %.0f", b, a)
	}
	if g := referred.Point.FuelKgPerS / referred.Point.PowerW * 3.6e9; g < 335 || g > 395 {
		t.Errorf("%.0f g/kWh at full power (335 to 395 for boosted engines, common practice)", g)
	}
	t.Logf("%.0f kW, %.0f g/kWh, manifold %.0f kPa, duty %.1f %%, at the limit %.1f %%", referred.Point.PowerW/1e3,
		referred.Point.FuelKgPerS/referred.Point.PowerW*3.6e9, referred.Point.ManifoldPa/1e3, 100*referred.Point.DutyFrac, 100*referred.Point.LimitDutyFrac)
}
