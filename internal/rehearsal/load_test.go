package rehearsal

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"fettle/internal/control"
	"fettle/internal/cycle"
	"fettle/internal/driver"
	"fettle/internal/plant"
)

// knockOf computes an engine's knock integral by the crank-angle cycle, at the
// spark its table has and 6° more.
func knockOf(t testing.TB, s *Setup) *plant.Knock {
	t.Helper()
	e := &s.Engine
	g := e.Geometry
	charger := 0.0
	if e.BoostPa > 0 {
		charger = 0.40
	}
	m, err := cycle.NewModel(cycle.Engine{
		Geometry:     g,
		Intake:       cycle.Valve{Count: 2, HeadM: 0.38 * g.BoreM, LiftM: 0.105 * g.BoreM, DurationRad: 237 * deg, CentrelineRad: 112 * deg},
		Exhaust:      cycle.Valve{Count: 2, HeadM: 0.33 * g.BoreM, LiftM: 0.10 * g.BoreM, DurationRad: 232 * deg, CentrelineRad: 112 * deg},
		IntakeRunner: cycle.Duct{LengthM: 0.35, BoreM: 0.44 * g.BoreM}, ExhaustRunner: cycle.Duct{LengthM: 0.4, BoreM: 0.42 * g.BoreM},
		PlenumM3: e.ManifoldM3, ThrottleM2: e.ThrottleM2, ExhaustDropPa: 15e3, ExhaustDropKgPerS: 0.9 * 1.15 * g.DisplacementM3() * e.MaxRadPerS / (4 * math.Pi),
		ChargerFrac: charger, Fuel: e.Fuel, BurnRatio: 1, CoolantK: 363,
	})
	if err != nil {
		t.Fatal(err)
	}
	lambda := 0.86
	if e.BoostPa > 0 {
		lambda = 0.80
	}
	k := &plant.Knock{ChargeK: 313}
	for i := range 6 {
		k.SpeedRadPerS = append(k.SpeedRadPerS, math.Max(110, 0.15*e.MaxRadPerS)+float64(i)/5*(e.MaxRadPerS-math.Max(110, 0.15*e.MaxRadPerS)))
	}
	for j := range 4 {
		k.ManifoldPa = append(k.ManifoldPa, 55e3+float64(j)/3*(e.AmbientPa+e.BoostPa-55e3))
	}
	count := func(speed, pa, spark, charge float64) float64 {
		r, end, err := m.Point(cycle.Operating{
			SpeedRadPerS: speed, ManifoldPa: pa, UpstreamPa: 1.02 * math.Max(e.AmbientPa, pa), AmbientPa: e.AmbientPa, ChargeK: charge, LambdaRatio: lambda,
			Spark: cycle.SparkGiven, SparkRad: spark, OilViscosityRatio: 1,
		})
		if err != nil || !end.OK {
			t.Fatalf("cycle at %.0f rpm, %.0f kPa: %v %s", speed/rpm, pa/1e3, err, end.Why)
		}
		return math.Log(math.Max(1e-6, r.KnockCount))
	}
	for _, n := range k.SpeedRadPerS {
		for _, pa := range k.ManifoldPa {
			table, _ := s.Tables.Spark.Clamped(n/rpm, pa/1e3)
			at := table * deg
			a, b := count(n, pa, at, k.ChargeK), count(n, pa, at+6*deg, k.ChargeK)
			k.SparkRad = append(k.SparkRad, at)
			k.LogCount = append(k.LogCount, a)
			k.LogPerRad = append(k.LogPerRad, (b-a)/(6*deg))
		}
	}
	n, pa := k.SpeedRadPerS[2], k.ManifoldPa[3]
	table, _ := s.Tables.Spark.Clamped(n/rpm, pa/1e3)
	k.LogPerK = (count(n, pa, table*deg, 333) - count(n, pa, table*deg, 313)) / 20
	return k
}

// means averages lambda over half a second at a time.
type means struct {
	sum  float64
	n    int
	each []float64
}

func (m *means) add(v float64) {
	m.sum += 1 / v // mixtures mix by fuel over air
	if m.n++; m.n == 50 {
		m.each = append(m.each, 50/m.sum)
		m.sum, m.n = 0, 0
	}
}

// TestLoad puts invented engines on a brake. Before learning the load is capped
// and rich; then the loop learns at part load and at the cap; then full load is
// held at six speeds. Lambda at full load is that from 3 s after the pedal; what
// stands before it is logged beside it. The knock integral is the crank-angle
// cycle's.
func TestLoad(t *testing.T) {
	var lean, entry []float64 // lambda over its bound at the cap, and on the way there
	var early []float64       // lambda over its upper end, 1.5 to 3 s after the pedal
	wrong := map[string]int{}
	drawn := engines(8, 73, 118, 125) // charged that ran hot, one that knocked on a shut plate
	n := len(drawn)
	bad := 0
	leastCap, mostCap, worstKnock := 9.0, 0.0, 0.0
	low, high, boostedLow, boostedHigh := 9.0, 0.0, 9.0, 0.0
	for _, k := range drawn {
		s := sane(t, k)
		s.Engine.Knock = knockOf(t, s)
		e := &s.Engine
		boosted := e.BoostPa > 0
		bound, least, most := 0.92, 0.78, 0.92
		if boosted {
			bound, least, most = 0.85, 0.75, 0.85
		}
		m := driver.Usual()
		m.IdleS = 1e6
		speeds := []float64{0.3, 0.42, 0.54, 0.66, 0.78, 0.90}
		loads := []float64{1, 0.15, 0.3, 0.45, 0.6, 0.8, 1}
		const first, hold, settle, pull = 18.0, 8.0, 4.0, 5.0
		capEnds := first + hold*float64(len(speeds))
		learnEnds := capEnds + settle*float64(len(speeds)*len(loads))
		ends := learnEnds + (pull+2)*float64(len(speeds))
		brake := func(at float64) (float64, float64) {
			switch {
			case at < first:
				return 0, 0
			case at < capEnds:
				x := at - first
				if math.Mod(x, hold) < 1 {
					return e.MaxRadPerS * speeds[int(x/hold)], 0.1 // at the speed first, then the pedal
				}
				return e.MaxRadPerS * speeds[int(x/hold)], 1
			case at < learnEnds:
				x := int((at - capEnds) / settle)
				return e.MaxRadPerS * speeds[x/len(loads)], loads[x%len(loads)]
			default:
				x := at - learnEnds
				p := 1.0
				if math.Mod(x, pull+2) < 1.5 {
					p = 0.1
				}
				return e.MaxRadPerS * speeds[min(int(x/(pull+2)), len(speeds)-1)], p
			}
		}
		r, err := s.Begin(Wishes{AmbientK: 303, CoolantK: 358, Seed: uint64(k), Manner: m, EndS: ends, Brake: brake})
		if err != nil {
			t.Fatal(err)
		}
		var fail []string
		say := func(format string, args ...any) { fail = append(fail, fmt.Sprintf(format, args...)) }
		full := func() float64 { return s.Settings.FullPa }
		var atCap, wide, soon, entering means
		near := 0.0
		learned := false
		for !r.Over() {
			r.Step()
			tr := r.Plant.True()
			_, cmd, does := r.Now()
			at := tr.TimeS
			switch {
			case at > first && at < capEnds && cmd.FuelOn:
				x := math.Mod(at-first, hold)
				share := tr.ManifoldPa / full()
				// the way there: from half a second after the pressure has come near the cap
				if near = near + control.PeriodS; tr.ManifoldPa < 0.9*r.Control.CapPa() || !cmd.FuelOn {
					near = 0
				}
				if x > 1.5 && near > 0.5 && x < hold-2.5 && !math.IsInf(tr.LambdaRatio, 0) {
					entering.add(tr.LambdaRatio)
				}
				if x > hold-2.5 {
					if !math.IsInf(tr.LambdaRatio, 0) {
						atCap.add(tr.LambdaRatio)
					}
					if !e.Cable {
						leastCap = math.Min(leastCap, share)
					}
					mostCap = math.Max(mostCap, share)
				}
			case at > learnEnds:
				if !learned {
					learned = true
					r.Control.Trusted(100)
					r.Control.Learned()
				}
				x := math.Mod(at-learnEnds, pull+2)
				if does.PedalFrac > 0.99 && tr.ManifoldPa > 0.94*full() && !math.IsInf(tr.LambdaRatio, 0) {
					switch {
					case x > 4.5:
						wide.add(tr.LambdaRatio)
					case x > 3:
						soon.add(tr.LambdaRatio)
					}
				}
			}
		}
		tr := r.Plant.True()
		worstKnock = math.Max(worstKnock, tr.WorstKnockCount)
		if why := r.Control.StopReason(); why != "" {
			say("protection stopped it: %s", why)
			wrong["stopped"]++
		}
		if tr.WorstKnockCount >= 1 {
			say("knock integral %.2f at %.0f rpm, %.0f kPa, %.1f°", tr.WorstKnockCount, tr.Knock.SpeedRadPerS/rpm, tr.Knock.ManifoldPa/1e3, tr.Knock.SparkRad/deg)
			wrong["knock"]++
		}
		for _, v := range atCap.each {
			lean = append(lean, v/bound)
		}
		for _, v := range entering.each {
			entry = append(entry, v/bound)
		}
		for _, v := range soon.each {
			early = append(early, v/most)
		}
		if len(wide.each) < 6 {
			say("full load was held for %d half seconds only, %s", len(wide.each), r.Control.StopReason())
			wrong["full load not held"]++
		} else {
			a, b := slices.Min(wide.each), slices.Max(wide.each)
			if boosted {
				boostedLow, boostedHigh = math.Min(boostedLow, a), math.Max(boostedHigh, b)
			} else {
				low, high = math.Min(low, a), math.Max(high, b)
			}
			if a < least || b > most {
				say("full-load lambda %.3f … %.3f, wanted %.2f … %.2f", a, b, least, most)
				wrong["full-load lambda"]++
			}
		}
		if len(fail) > 0 {
			bad++
			t.Logf("failed: engine %d (%d cylinders, %.2f L, boost %.0f kPa, cable %v): %v; %d lean cuts", k, e.Geometry.CylinderCount, e.Geometry.DisplacementM3()*1e3, e.BoostPa/1e3, e.Cable, fail, r.Control.LeanCuts)
		}
	}
	slices.Sort(lean)
	slices.Sort(entry)
	at95 := lean[int(0.95*float64(len(lean)-1))]
	t.Logf("load cap: %.3f … %.3f of full-load pressure; lambda over its bound 0.92 (boosted 0.85) at the cap, 95 %% point %.3f, greatest %.3f; from half a second after coming there %.3f at 95 %%",
		leastCap, mostCap, at95, lean[len(lean)-1], entry[int(0.95*float64(len(entry)-1))])
	t.Logf("full load after learning: lambda %.3f … %.3f, boosted %.3f … %.3f; greatest knock integral %.2f", low, high, boostedLow, boostedHigh, worstKnock)
	slices.Sort(early)
	if len(early) > 0 {
		t.Logf("from 1.5 to 3 s after the pedal lambda over its upper end: %.3f at 95 %%, greatest %.3f", early[int(0.95*float64(len(early)-1))], early[len(early)-1])
	}
	t.Logf("loaded: %d of %d engines good; %v", n-bad, n, wrong)
	if at95 > 1 {
		t.Errorf("the lean 95 %% bound at the cap is %.3f of what is allowed", at95)
	}
	if at95 := entry[int(0.95*float64(len(entry)-1))]; at95 > 1 {
		t.Errorf("half a second after coming to the cap the lean 95 %% bound is %.3f of what is allowed", at95)
	}
	if leastCap < 0.70 {
		t.Errorf("load was capped at %.3f of full load, no lower than 0.70 is wanted", leastCap)
	}
	if bad > 0 {
		t.Errorf("%d engines failed: %v", bad, wrong)
	}
}
