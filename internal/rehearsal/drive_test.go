package rehearsal

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"testing"

	"fettle/internal/channel"
	"fettle/internal/driver"
)

func wltc(t testing.TB) driver.Route {
	t.Helper()
	dir := os.Getenv("FETTLE_OPEN_DATA")
	if dir == "" {
		dir = filepath.Join("..", "..", "..", "shared", "data")
	}
	text, err := os.ReadFile(filepath.Join(dir, "cycles", "wltc_3b.csv"))
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("the open data are not there: %v", err)
		}
		t.Skipf("the open data are not there: %v", err)
	}
	r, found := driver.ReadRoute(bytes.NewReader(text), "wltc_3b.csv")
	if len(found) > 0 {
		t.Fatal(found)
	}
	return r
}

// TestDrives drives WLTC and the hills: the route's distance is driven, the work
// is accounted for, and half the step changes the fuel by less than 1 %.
func TestDrives(t *testing.T) {
	s := sane(t, 6)
	for _, route := range []driver.Route{wltc(t), driver.Hills()} {
		fuel := map[float64]float64{}
		for _, step := range []float64{StepS, StepS / 2} {
			r, err := s.Begin(Wishes{AmbientK: 293.15, Nominal: true, Manner: driver.Usual(), Route: route, StepS: step, Learned: true})
			if err != nil {
				t.Fatal(err)
			}
			if err := r.Finish(nil); err != nil {
				t.Fatal(err)
			}
			b := r.Breakdown()
			fuel[step] = b.FuelKg
			if st := r.Start(); st.Stalls > 0 || st.FiredAfterS < 0 {
				t.Errorf("%s: %+v", route.Name, st)
			}
			if math.Abs(b.MissJ) > 1e-6*b.WorkJ {
				t.Errorf("%s: work of %.0f J lacks %.3g J", route.Name, b.WorkJ, b.MissJ)
			}
			if want := route.DistanceM(); math.Abs(b.DistanceM-want) > 0.02*want {
				t.Errorf("%s: drove %.0f m of %.0f", route.Name, b.DistanceM, want)
			}
			t.Logf("%s, step %g ms: %.3f kg, %.2f L/100 km, %.2f MJ at the crank", route.Name, step*1e3, b.FuelKg, b.FuelM3PerM*1e8, b.WorkJ/1e6)
		}
		if a, b := fuel[StepS], fuel[StepS/2]; math.Abs(a-b) > 0.01*b {
			t.Errorf("%s: half the step takes fuel from %.4f to %.4f kg", route.Name, a, b)
		}
	}
}

// TestSeedsRepeat writes the same log from the same seed, another from another.
func TestSeedsRepeat(t *testing.T) {
	s := sane(t, 3)
	log := func(seed uint64) []byte {
		m := driver.Usual()
		m.IdleS = 1e6
		r, err := s.Begin(Wishes{AmbientK: 293.15, Seed: seed, Manner: m, EndS: 15, LogHz: 50})
		if err != nil {
			t.Fatal(err)
		}
		if err := r.Finish(nil); err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := channel.Write(&b, r.Log()); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	a := log(1)
	if !bytes.Equal(a, log(1)) {
		t.Error("a seed gives two logs")
	}
	if bytes.Equal(a, log(2)) {
		t.Error("two seeds give one log")
	}
	l, found := channel.Read(bytes.NewReader(a), "log.csv")
	if len(found) > 0 {
		t.Fatal(found)
	}
	if n := l.Of(channel.EngineSpeed); n == nil || len(n.SI) < 700 {
		t.Error("the log does not read back")
	}
	if lam := l.Of(channel.Lambda); lam == nil || lam.TimeS[0] < 10 {
		t.Error("a cold lambda sensor was logged")
	}
	if trim := l.Of(channel.LambdaTrim); trim == nil || trim.SI[0] != 0 {
		t.Error("a trim that does nothing is not logged as 0 %")
	}
	if l.Of(channel.Brake) == nil || (l.Of(channel.BoostPressure) != nil) != (s.Settings.BoostPa > 0) {
		t.Error("no brake is logged, or a charger's pressure of an engine without one")
	}
}

// TestLeanCut takes fuel pressure away from an engine at its load cap: the fuel is
// cut within 0.3 s of the mixture's passing the limit.
func TestLeanCut(t *testing.T) {
	for _, k := range []int{2, 3, 5, 6} {
		s := sane(t, k)
		m := driver.Usual()
		m.IdleS = 1e6
		e := &s.Engine
		r, err := s.Begin(Wishes{AmbientK: 303, CoolantK: 358, Nominal: true, Manner: m, EndS: 40, Brake: func(at float64) (float64, float64) {
			if at < 18 {
				return 0, 0
			}
			return 0.5 * e.MaxRadPerS, math.Min(1, 0.1+0.3*math.Max(0, at-19))
		}})
		if err != nil {
			t.Fatal(err)
		}
		leanAt, cutAt := 0.0, 0.0
		for !r.Over() && cutAt == 0 {
			if r.TimeS() > 30 {
				r.Plant.StarveFrac = math.Min(0.6, r.Plant.StarveFrac+0.01)
			}
			cuts := r.Control.LeanCuts
			r.Step()
			tr := r.Plant.True()
			if r.TimeS() > 30 && leanAt == 0 && tr.LambdaRatio > s.Settings.LeanRatio*1.02 {
				leanAt = tr.TimeS
			}
			if leanAt > 0 && r.Control.LeanCuts > cuts {
				cutAt = tr.TimeS
			}
		}
		t.Logf("engine %d: cut %.2f s after the mixture passed the limit", k, cutAt-leanAt)
		if leanAt == 0 || cutAt == 0 || cutAt-leanAt > 0.3 {
			t.Errorf("engine %d: lean at %.2f s, cut at %.2f s", k, leanAt, cutAt)
		}
	}
}

// TestPumpRunsWithTheCrank primes for 2.5 s, then runs the pump only while the
// crankshaft turns (common practice).
func TestPumpRunsWithTheCrank(t *testing.T) {
	s := sane(t, 6)
	m := driver.Usual()
	m.IdleS = 1e6
	m.StartS = 8
	r, err := s.Begin(Wishes{AmbientK: 293, Nominal: true, Manner: m, EndS: 12})
	if err != nil {
		t.Fatal(err)
	}
	for !r.Over() {
		r.Step()
		_, cmd, _ := r.Now()
		at := r.TimeS()
		if at > 1 && at < 2.8 && !cmd.PumpOn {
			t.Fatalf("the pump does not prime at %.2f s", at)
		}
		if at > 3.6 && at < 7.9 && cmd.PumpOn {
			t.Fatalf("the pump runs at %.2f s without a crank signal", at)
		}
	}
	if s := r.Start(); s.RanAfterS < 0 {
		t.Fatalf("did not run: %+v", s)
	}
}

func TestBadWishes(t *testing.T) {
	s := sane(t, 6)
	for name, w := range map[string]Wishes{
		"too hot": {AmbientK: 400}, "not a number": {AmbientK: math.NaN()}, "step": {AmbientK: 293, StepS: 0.003}, "trims": {AmbientK: 293, TrimRatio: []float64{1}}, "battery": {AmbientK: 293, ChargeFrac: 2},
	} {
		if _, err := s.Begin(w); err == nil {
			t.Errorf("%s was taken", name)
		}
	}
}

// BenchmarkWLTC reports how many times faster than the road a drive runs.
func BenchmarkWLTC(b *testing.B) {
	s := sane(b, 6)
	route := wltc(b)
	driven := 0.0
	for b.Loop() {
		r, err := s.Begin(Wishes{AmbientK: 293.15, Seed: 1, Manner: driver.Usual(), Route: route, LogHz: 20, Learned: true})
		if err != nil {
			b.Fatal(err)
		}
		if err := r.Finish(nil); err != nil {
			b.Fatal(err)
		}
		driven += r.TimeS()
	}
	b.ReportMetric(driven/b.Elapsed().Seconds(), "×real-time")
}

// TestRoadLoad holds what a drive gave to air and tyres against the road-load equation
// over the route itself, closes the energy, and keeps the engine's use of its fuel
// within what its own map allows.
func TestRoadLoad(t *testing.T) {
	const source = "road load F = c_r m g cos α + ½ ρ c_d A v², summed over the route, by hand"
	s := sane(t, 6)
	route := wltc(t)
	r, err := s.Begin(Wishes{AmbientK: 293.15, Nominal: true, Manner: driver.Usual(), Route: route, Learned: true})
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Finish(nil); err != nil {
		t.Fatal(err)
	}
	b := r.Breakdown()
	shares, sum := map[string]float64{}, 0.0
	for _, p := range b.Shares {
		shares[p.Name] = p.J
		sum += p.Frac
	}
	air := 0.0
	rho := 100e3 / (287.05 * 293.15) // dry air at the day
	for i := 1; i < len(route.TimeS); i++ {
		v := (route.SpeedMPerS[i] + route.SpeedMPerS[i-1]) / 2
		air += rho / 2 * s.Car.Body.DragAreaM2 * v * v * v * (route.TimeS[i] - route.TimeS[i-1])
	}
	rolling := s.Car.Body.RollingFrac * s.Car.Body.MassKg * 9.80665 * route.DistanceM()
	// a driver follows within 2 km/h; the air's share goes with the cube
	if got := shares["air"]; math.Abs(got/air-1) > 0.03 {
		t.Errorf("air took %.3f MJ, want %.3f MJ (%s)", got/1e6, air/1e6, source)
	}
	if got := shares["rolling"]; math.Abs(got/rolling-1) > 0.02 {
		t.Errorf("rolling took %.3f MJ, want %.3f MJ (%s)", got/1e6, rolling/1e6, source)
	}
	if math.Abs(sum-1) > 1e-6 {
		t.Errorf("the shares add up to %.8f", sum)
	}
	best, m := 0.0, s.Engine.Response
	for i, n := range m.TorqueNm.X.At {
		for j := range m.TorqueNm.Y.At {
			k := m.TorqueNm.Cell(i, j)
			if f := m.FuelKgPerS.Z[k]; f > 0 {
				best = math.Max(best, m.TorqueNm.Z[k]*n/(f*s.Engine.Fuel.HeatingJPerKg))
			}
		}
	}
	if b.EfficiencyFrac >= best || b.EfficiencyFrac < 0.4*best {
		t.Errorf("%.1f %% of the heat became work; the engine's best point gives %.1f %%, and a mixed drive half of it and more (common practice)", 100*b.EfficiencyFrac, 100*best)
	}
	t.Logf("air %.2f MJ against %.2f, rolling %.2f MJ against %.2f; %.1f %% of the heat, %.1f %% at the best point", shares["air"]/1e6, air/1e6, shares["rolling"]/1e6, rolling/1e6, 100*b.EfficiencyFrac, 100*best)
}
