package enginemap

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"fettle/internal/breathing"
	"fettle/internal/crank"
	"fettle/internal/cycle"
	"fettle/internal/petrol"
)

const rpm = math.Pi / 30

// invented is an invented four of two litres, 86 mm square.
func invented() breathing.Input {
	return breathing.Input{
		Geometry:         crank.Geometry{CylinderCount: 4, BoreM: 0.086, StrokeM: 0.086, RodM: 0.143, CompressionRatio: 10},
		IntakeValveCount: 2, IntakeValveM: 0.0335, IntakeLiftM: 0.0095,
		IntakeOpensRad: 8 * degree, IntakeClosesRad: 48 * degree, IntakePhaserRad: 40 * degree,
		IdleRadPerS: 800 * rpm, MaxRadPerS: 6500 * rpm,
		Fuel: petrol.Petrol(), FullLambdaRatio: 0.88, CruiseLambdaRatio: 1,
		RunnerM: 0.4, RunnerBoreM: 0.042,
		AmbientPa: 99e3, ChargeK: 313.15, CoolantK: 363.15, IntakeDropPa: 4e3, ExhaustDropPa: 15e3,
	}
}

// The tables of the cycle are whole, and say what any petrol engine says: best
// torque of 8 to 13 bar mean pressure, filled 0.75 to 1.1 from idle up, less where cams save fuel, spark at
// or before the best, exhaust within what iron bears.
func TestTables(t *testing.T) {
	in := invented()
	last, of := 0, 0
	r, err := Solve(context.Background(), in, nil, func(done, total int) { last, of = done, total })
	if err != nil {
		t.Fatal(err)
	}
	if last != of || of == 0 {
		t.Errorf("progress ended at %d of %d", last, of)
	}
	t.Logf("%d cells, %d without a burn", len(r.TorqueNm.Z), r.Misfires)
	most := 0.0
	for i, n := range r.TorqueNm.X.At {
		for j, pa := range r.TorqueNm.Y.At {
			k := r.TorqueNm.Cell(i, j)
			most = math.Max(most, r.TorqueNm.Z[k])
			if spark := r.SparkRad.Z[k]; n < in.IdleRadPerS {
				if spark > crankMost+1e-9 { // at most 10° while cranking, common practice
					t.Errorf("%.0f rpm %.0f kPa: spark %.1f° while cranking", n/rpm, pa/1e3, spark/degree)
				}
			} else if spark > r.BestRad.Z[k]-shortOfBest+1e-9 {
				t.Errorf("%.0f rpm %.0f kPa: spark %.1f° with the best at %.1f°", n/rpm, pa/1e3, r.SparkRad.Z[k]/degree, r.BestRad.Z[k]/degree)
			}
			if ve := r.VolEffFrac.Z[k]; n > in.IdleRadPerS && pa > 60e3 && !(ve > 0.6 && ve < 1.15) {
				t.Errorf("%.0f rpm %.0f kPa: filled %.3f", n/rpm, pa/1e3, ve)
			}
			if pa > 40e3 && r.ExhaustK.Z[k] > 1400 { // below it, near the limit, the slow burn outlasts the stroke
				t.Errorf("%.0f rpm %.0f kPa: exhaust %.0f K", n/rpm, pa/1e3, r.ExhaustK.Z[k])
			}
			if j > 0 && r.TorqueNm.Z[k] <= r.TorqueNm.Z[k-1] {
				t.Errorf("%.0f rpm: torque falls from %.1f to %.1f N·m at %.0f kPa", n/rpm, r.TorqueNm.Z[k-1], r.TorqueNm.Z[k], pa/1e3)
			}
		}
	}
	const source = "Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, section 2.7: naturally aspirated best torque 850 … 1050 kPa, four valves and 0.9 more; from memory"
	if bmep := most * 4 * math.Pi / in.Geometry.DisplacementM3(); bmep < 8e5 || bmep > 13e5 {
		t.Errorf("best torque %.1f N·m, mean pressure %.0f kPa (%s)", most, bmep/1e3, source)
	}
}

// No cell that an engine can reach has a knock integral (Douaud, Eyzat, SAE
// 780080; see cycle.DelayS) of 1 or more at the table's spark, and where no spark
// that a table holds will do, 20 to 1 on petrol, that is told for just those cells.
// Above the ambient pressure a charger brings no engine below idle speed.
func TestKnockHeldOff(t *testing.T) {
	g, err := cycle.NewGas(petrol.Petrol())
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		ratio, boostPa float64
		beyond         bool
	}{{10, 0, false}, {13, 0, false}, {9, 70e3, false}, {20, 0, true}} {
		in := invented()
		in.Geometry.CompressionRatio, in.BoostPa, in.TurbineRatio = c.ratio, c.boostPa, 1.2
		if c.boostPa > 0 {
			in.CompressorFrac, in.CoolerFrac = 0.7, 0.7
		}
		r, err := Solve(context.Background(), in, g, nil)
		if err != nil {
			t.Fatal(err)
		}
		knocks, worst, leastPa := 0, 0.0, math.Inf(1)
		for k := range r.SparkRad.Z {
			speed, pa := r.TorqueNm.X.At[k/r.TorqueNm.Columns()], r.TorqueNm.Y.At[k%r.TorqueNm.Columns()]
			engine, slow := Engine(&in), speed < in.IdleRadPerS
			if slow {
				engine = still(&in)
			}
			m, err := cycle.NewModelOf(engine, g)
			if err != nil {
				t.Fatal(err)
			}
			op := operating(&in, speed, pa)
			op.Spark, op.SparkRad, op.ColdWalls = cycle.SparkGiven, r.SparkRad.Z[k], slow
			op.IntakeAdvanceRad, op.ExhaustRetardRad = r.IntakeRad.Z[k], r.ExhaustRad.Z[k]
			p, e, err := m.Point(op)
			if err != nil || !e.OK || slow && in.BoostPa > 0 && pa > in.AmbientPa {
				continue
			}
			if worst = math.Max(worst, p.KnockCount); p.KnockCount >= 1 {
				knocks, leastPa = knocks+1, math.Min(leastPa, pa)
			}
		}
		t.Logf("ratio %g, boost %g kPa: knock integral at most %.2f, 1 or more in %d of %d cells, told of %d from %.0f kPa", c.ratio, c.boostPa/1e3, worst, knocks, len(r.SparkRad.Z), r.Knocks, r.KnockPa/1e3)
		if knocks != r.Knocks || c.beyond != (knocks > 0) || knocks > 0 && leastPa != r.KnockPa {
			t.Errorf("ratio %g, boost %g kPa: %d cells knock, from %g kPa; told of %d from %g", c.ratio, c.boostPa/1e3, knocks, leastPa/1e3, r.Knocks, r.KnockPa/1e3)
		}
	}
}

// A cell of the tables is the cycle itself at that point.
func TestCellIsTheCycle(t *testing.T) {
	in := invented()
	in.IntakePhaserRad = 0
	r, err := Solve(context.Background(), in, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	m, err := cycle.NewModel(Engine(&in))
	if err != nil {
		t.Fatal(err)
	}
	i, j := 8, 8
	k := r.TorqueNm.Cell(i, j)
	op := cycle.Operating{
		SpeedRadPerS: r.TorqueNm.X.At[i], ManifoldPa: r.TorqueNm.Y.At[j], UpstreamPa: in.AmbientPa, AmbientPa: in.AmbientPa, ChargeK: in.ChargeK,
		LambdaRatio: r.LambdaRatio.Z[k], Spark: cycle.SparkGiven, SparkRad: r.SparkRad.Z[k], OilViscosityRatio: 1,
	}
	p, e, err := m.Point(op)
	if err != nil || !e.OK {
		t.Fatal(err, e)
	}
	// the torque of the table's spark is carried from the one computed by the
	// spark hook: 1 % in the range that the safe side takes
	if math.Abs(r.TorqueNm.Z[k]/p.TorqueNm-1) > 0.01 || math.Abs(r.AirKgPerS.Z[k]/p.AirKgPerS-1) > 0.005 {
		t.Errorf("torque %.2f N·m, air %.3f g/s; the cycle at that spark %.2f N·m, %.3f g/s", r.TorqueNm.Z[k], 1e3*r.AirKgPerS.Z[k], p.TorqueNm, 1e3*p.AirKgPerS)
	}
}

func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	_, err := Solve(ctx, invented(), nil, func(done, of int) {
		if done > of/4 {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func TestRefuses(t *testing.T) {
	for _, r := range []struct {
		bend func(*breathing.Input)
		want string
	}{
		{func(in *breathing.Input) { in.Geometry.CompressionRatio = 25 }, "compression ratio"},
		{func(in *breathing.Input) { in.IntakeValveM = 0.07 }, "intake valve"},
		{func(in *breathing.Input) { in.Geometry.RodM = 0.04 }, "rod"},
		{func(in *breathing.Input) { in.IntakeClosesRad = 1.9; in.IntakeOpensRad = 1.4 }, "intake"},
		{func(in *breathing.Input) { in.Fuel = petrol.Fuel{} }, "stoichiometric"},
	} {
		in := invented()
		r.bend(&in)
		if _, err := Solve(context.Background(), in, nil, nil); err == nil || !strings.Contains(err.Error(), r.want) {
			t.Errorf("want an error on %q: %v", r.want, err)
		}
	}
}

func BenchmarkTables16x16(b *testing.B) {
	in := invented()
	g, err := cycle.NewGas(in.Fuel)
	if err != nil {
		b.Fatal(err)
	}
	for i := range 16 {
		in.ManifoldPa = append(in.ManifoldPa, 20e3+79e3*float64(i)/15)
	}
	for b.Loop() {
		if _, err := Solve(context.Background(), in, g, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// Cams of part load burn less fuel for the torque than parked ones, within what a
// running engine bears; at idle's pressure and below idle speed they are parked.
func TestPartLoadCams(t *testing.T) {
	in := invented()
	in.Cycle.ExhaustPhaserRad = 30 * degree
	r, err := Solve(context.Background(), in, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	still := in
	still.IntakePhaserRad, still.Cycle.ExhaustPhaserRad = 0, 0
	parked, err := Solve(context.Background(), still, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	moved, saved, cells := 0, 0.0, 0.0
	for i, n := range r.TorqueNm.X.At {
		for j, pa := range r.TorqueNm.Y.At {
			k := r.TorqueNm.Cell(i, j)
			if (n < in.IdleRadPerS || pa < 0.3*in.AmbientPa) && r.IntakeRad.Z[k]+r.ExhaustRad.Z[k] > 0 {
				t.Errorf("%.0f rpm %.0f kPa: cams at %.0f° and %.0f°, not parked", n/rpm, pa/1e3, r.IntakeRad.Z[k]/degree, r.ExhaustRad.Z[k]/degree)
			}
			if r.IntakeRad.Z[k]+r.ExhaustRad.Z[k] == 0 || pa > 0.8*in.AmbientPa || n < in.IdleRadPerS {
				continue
			}
			moved++
			if r.ResidualFrac.Z[k] > camLimits.MostResidualFrac+0.02 { // between the places sought
				t.Errorf("%.0f rpm %.0f kPa: residual gas %.3f", n/rpm, pa/1e3, r.ResidualFrac.Z[k])
			}
			same, err := parked.LoadFor(n, r.TorqueNm.Z[k], breathing.Nominal())
			if err != nil || r.TorqueNm.Z[k] < 20 {
				continue
			}
			saved, cells = saved+1-r.FuelKgPerS.Z[k]/same.FuelKgPerS, cells+1
		}
	}
	t.Logf("%d cells of part load moved; on the mean of %.0f they burn %.2f %% less fuel for the torque than parked", moved, cells, 100*saved/cells)
	const source = "variable cams save 1 … 4 % at part load; common practice"
	if moved < 30 || saved/cells < 0.005 || saved/cells > 0.08 {
		t.Errorf("%d cells moved, %.2f %% saved (%s)", moved, 100*saved/cells, source)
	}
}
