package rehearsal

import (
	"math"
	"testing"

	"fettle/internal/breathing"
	"fettle/internal/control"
	"fettle/internal/driver"
	"fettle/internal/plant"
	"fettle/internal/table"
)

// idling starts an engine and lets it idle; each step is handed to look.
func idling(t *testing.T, s *Setup, w Wishes, look func(r *Run)) *Run {
	t.Helper()
	m := driver.Usual()
	m.IdleS = 1e6
	w.Manner = m
	r, err := s.Begin(w)
	if err != nil {
		t.Fatal(err)
	}
	for !r.Over() {
		r.Step()
		if look != nil {
			look(r)
		}
	}
	if e := r.Plant.Ended(); !e.OK {
		t.Fatal(e.Why)
	}
	return r
}

// TestFloodedEngine drowns the ports: with the pedal up the engine does not fire
// within 3 s, with the pedal down it is blown dry and fires with the pedal up again.
func TestFloodedEngine(t *testing.T) {
	s := sane(t, 6)
	run := func(pedal func(at float64) (float64, bool)) (fired float64, film float64) {
		m := driver.Usual()
		m.IdleS, m.MostCrankS = 1e6, 25
		r, err := s.Begin(Wishes{AmbientK: 283, Nominal: true, Manner: m, EndS: 25, CrankPedal: pedal})
		if err != nil {
			t.Fatal(err)
		}
		film = math.Inf(1)
		drowned := false
		for !r.Over() {
			if !drowned && r.TimeS() > 2.5 { // the rail has its pressure
				r.Plant.Prime(0.4)
				drowned = true
			}
			r.Step()
			film = math.Min(film, r.Plant.True().FilmKg)
		}
		return r.Start().FiredAfterS, film
	}
	wet, _ := run(nil)
	dry, _ := run(func(at float64) (float64, bool) { return 1, at < 14 })
	t.Logf("a flooded engine fires after %.1f s with the pedal up, after %.1f s when the pedal is down for the first 11 s of cranking", wet, dry)
	if wet >= 0 && wet < 3 {
		t.Errorf("flooded, it fired after %.1f s: the test does not flood it", wet)
	}
	if dry < 0 || wet >= 0 && wet < dry {
		t.Errorf("flood clear does not help: %.1f s against %.1f s", dry, wet)
	}
}

// TestPumpStopsAfterAStall starves a running engine of fuel: the pump stops
// within 2 s of the last crank signal.
func TestPumpStopsAfterAStall(t *testing.T) {
	s := sane(t, 6)
	stood, stopped := -1.0, -1.0
	m := driver.Usual()
	m.IdleS, m.MostCrankS = 1e6, 4
	r, err := s.Begin(Wishes{AmbientK: 293, Nominal: true, Manner: m, EndS: 40})
	if err != nil {
		t.Fatal(err)
	}
	for !r.Over() && stopped < 0 {
		if r.TimeS() > 15 {
			r.Plant.StarveFrac = 1
		}
		r.Step()
		_, cmd, does := r.Now()
		switch tr := r.Plant.True(); {
		case r.TimeS() < 15 || does.StartKey:
			stood = -1
		case tr.SpeedRadPerS < 1 && stood < 0:
			stood = tr.TimeS
		case stood > 0 && !cmd.PumpOn:
			stopped = tr.TimeS
		}
	}
	if stood < 0 || stopped < 0 || stopped-stood > 2 {
		t.Errorf("crankshaft stood at %.2f s, pump stopped at %.2f s; wanted within 2 s", stood, stopped)
	}
}

// TestHotSoak restarts an engine whose rail holds vapour: with the settings' factor
// it burns less lean than without.
func TestHotSoak(t *testing.T) {
	s := sane(t, 6)
	leanest := func(factor float64) float64 {
		s.Settings.Rules.HotFuelRatio = factor
		worst, sum, n := 0.0, 0.0, 0
		idling(t, s, Wishes{AmbientK: 303, CoolantK: 371, Nominal: true, EndS: 12}, func(r *Run) {
			tr := r.Plant.True()
			if since := tr.TimeS - tr.FirstFireS; tr.FirstFireS > 0 && since > 1 && since < 5 && !math.IsInf(tr.LambdaRatio, 0) {
				sum += tr.LambdaRatio
				n++
				worst = sum / float64(n)
			}
		})
		return worst
	}
	with, without := leanest(1.15), leanest(1)
	t.Logf("hot restart at 98 °C: lambda %.3f in the mean of 1 to 5 s, %.3f without its fuel", with, without)
	if without < 1.06 {
		t.Errorf("without the fuel of a hot restart lambda is %.3f: the rail holds no vapour", without)
	}
	if math.Abs(with-1) > math.Abs(without-1) || with > 1.06 {
		t.Errorf("lambda %.3f with the fuel of a hot restart, %.3f without", with, without)
	}
}

// TestLoadsAtIdle switches the air-con on at a warm idle: with its air given
// beforehand idle dips less than without.
func TestLoadsAtIdle(t *testing.T) {
	s := sane(t, 13)
	t.Logf("%.2f litres", s.Engine.Geometry.DisplacementM3()*1e3)
	was := s.Settings.Rules.AirConKgPerS
	dip := func(air float64) float64 {
		s.Settings.Rules.AirConKgPerS = air
		worst, on := 0.0, false
		idling(t, s, Wishes{AmbientK: 303, CoolantK: 358, Nominal: true, EndS: 36, AirConS: 28}, func(r *Run) {
			tr := r.Plant.True()
			_, cmd, _ := r.Now()
			on = on || cmd.AirConOn
			if tr.TimeS > 28 {
				worst = math.Max(worst, r.Control.IdleTargetRadPerS()-tr.SpeedRadPerS)
			}
		})
		if !on {
			t.Fatal("the compressor never ran")
		}
		return worst / rpm
	}
	with, without := dip(was), dip(0)
	t.Logf("air-con at idle: %.0f rpm down with its %.1f g/s given beforehand, %.0f rpm without", with, was*1e3, without)
	if with >= 0.7*without || with > 100 {
		t.Errorf("idle dips by %.0f rpm with the compressor's air, by %.0f rpm without", with, without)
	}
}

// TestInjectorTablesAct takes each table of the injectors away from the controller:
// the pulses change, and with the tables of an injector that lifts late against
// pressure the engine burns nearer to its target.
func TestInjectorTablesAct(t *testing.T) {
	s := sane(t, 6)
	s.Settings.LearnOff = true
	pulses := func(change func(*control.Tables)) (mean, lambda float64) {
		setup := *s
		change(&setup.Tables)
		sum, air, n := 0.0, 0.0, 0
		idling(t, &setup, Wishes{AmbientK: 303, CoolantK: 358, Nominal: true, EndS: 12}, func(r *Run) {
			tr := r.Plant.True()
			_, cmd, _ := r.Now()
			if tr.TimeS > 9 && !math.IsInf(tr.LambdaRatio, 0) {
				sum, air, n = sum+cmd.PulseS, air+1/tr.LambdaRatio, n+1
			}
		})
		return sum / float64(n), float64(n) / air
	}
	base, lambda := pulses(func(*control.Tables) {})
	for name, f := range map[string]func(*control.Tables){
		"injector flow": func(c *control.Tables) { c.InjectorFlow = times(c.InjectorFlow, 0.9) },
		"dead time with pressure": func(c *control.Tables) {
			c.DeadPressure = times(c.DeadPressure, 1.2)
		},
		"short pulses": func(c *control.Tables) {
			c.ShortPulse = c.ShortPulse.Clone()
			for k := range c.ShortPulse.Z {
				c.ShortPulse.Z[k] += 0.15
			}
		},
	} {
		got, rich := pulses(f)
		if got < 1.02*base || rich > 0.99*lambda {
			t.Errorf("%s: with the table changed the pulse is %.3f ms against %.3f ms, lambda %.3f against %.3f: it does not act", name, got*1e3, base*1e3, rich, lambda)
		}
	}
}

func times(g table.Grid, by float64) table.Grid {
	g = g.Clone()
	for k := range g.Z {
		g.Z[k] *= by
	}
	return g
}

// TestEndsHonestly drains a battery that is far too small: the run ends with the
// reason and the time, and nothing of it is shown.
func TestEndsHonestly(t *testing.T) {
	s := sane(t, 6)
	s.Engine.Battery.CapacityAs = 3600
	m := driver.Usual()
	m.MostCrankS = 1e4
	s.Tables.Crank = times(s.Tables.Crank, 0)
	r, err := s.Begin(Wishes{AmbientK: 283, Nominal: true, Manner: m, EndS: 300, ChargeFrac: 0.3})
	if err != nil {
		t.Fatal(err)
	}
	err = r.Finish(nil)
	if err == nil {
		t.Fatal("an empty battery cranks on")
	}
	t.Log(err)
	if e := r.Plant.Ended(); e.OK || e.Why == "" {
		t.Errorf("ended %+v", e)
	}
	at := r.TimeS()
	var in plant.Inputs
	r.Plant.Step(&in, StepS)
	if r.TimeS() != at {
		t.Error("a run that has ended goes on")
	}
}

// TestExhaustCam holds an engine with both phasers on a brake with the throttle open:
// the exhaust cam stands parked while the engine is cold, goes to its table's angle
// when it is warm, and the engine then draws the air that the crank-angle cycle has
// for those cams.
func TestExhaustCam(t *testing.T) {
	s := changed(t, 8, func(in *breathing.Input) { in.IntakePhaserRad, in.Cycle.ExhaustPhaserRad = 35*deg, 30*deg })
	if len(s.Tables.ExhaustCam.Z) == 0 {
		t.Fatal("no table of the exhaust cam")
	}
	e := &s.Engine
	n := 0.0 // where the table moves the cam most
	for i, x := range s.Tables.ExhaustCam.X.At {
		if s.Tables.ExhaustCam.Z[s.Tables.ExhaustCam.Cell(i, s.Tables.ExhaustCam.Columns()-1)] > 12 {
			n = x * rpm
		}
	}
	if n == 0 {
		t.Fatal("the table leaves the exhaust cam parked at full load")
	}
	run := func(coolantK float64) (at, target, air, pa float64) {
		r := idling(t, s, Wishes{AmbientK: 303, CoolantK: coolantK, Nominal: true, EndS: 30, Learned: true, Brake: func(timeS float64) (float64, float64) {
			if timeS < 15 {
				return 0, 0
			}
			return n, 1
		}}, nil)
		_, cmd, _ := r.Now()
		tr := r.Plant.True()
		return tr.ExhaustPhaserRad, cmd.ExhaustTargetRad, tr.ThroughKgPerS, tr.ManifoldPa
	}
	if at, target, _, _ := run(283); at != 0 || target != 0 {
		t.Errorf("cold, the cam stands at %.1f° for %.1f°", at/deg, target/deg)
	}
	at, target, air, pa := run(363)
	if target < 10*deg || math.Abs(at-target) > 2*deg {
		t.Errorf("the cam stands at %.1f° for %.1f°", at/deg, target/deg)
	}
	ve, _ := e.Response.VolEffFrac.Clamped(n, pa)
	charge := e.Response.Input().ChargeK
	want := ve * pa * e.Geometry.DisplacementM3() / (287.05287 * charge) * n / (4 * math.Pi)
	if got := air; math.Abs(got/want-1) > 0.05 { // the manifold is some K off the tables' charge
		t.Errorf("%.2f g/s at %.0f rpm, the cycle has %.2f g/s at its cams", got*1e3, n/rpm, want*1e3)
	}
	t.Logf("%.0f rpm: exhaust cam %.1f° of %.1f°, %.2f g/s of air against %.2f g/s", n/rpm, at/deg, target/deg, air*1e3, want*1e3)
}
