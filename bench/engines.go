package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"os/exec"
	"regexp"
	"strconv"
	"time"

	"fettle/internal/breathing"
	"fettle/internal/calibrate"
	"fettle/internal/crank"
	"fettle/internal/cycle"
	"fettle/internal/enginemap"
	"fettle/internal/figure"
	"fettle/internal/petrol"
)

const (
	degree = math.Pi / 180
	rpm    = math.Pi / 30
)

// engines prints what the crank-angle cycle takes: a point, the tables with their
// spread, how the time grows, and the fourth-order scheme beside it.
func engines(w io.Writer) error {
	in := inventedEngine()
	g, err := cycle.NewGas(in.Fuel)
	if err != nil {
		return err
	}
	m, err := cycle.NewModelOf(enginemap.Engine(&in), g)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "\n## Engine\n\nAn invented four of 2 litres, 86 mm square, four valves a cylinder, phasers on both cams. A point is computed from nothing,\ncycle after cycle until it repeats itself; its time is the mean of idle, cruise, full load and high speed. Load average of the\nmachine at the time: %s.\n\n| what | processor time | elapsed | wanted | kept |\n|---|--:|--:|--:|---|\n", loadAverage())
	row := func(name string, usedS, elapsedS, limitS float64) {
		wanted, kept := "", ""
		if limitS > 0 {
			wanted, kept = show(limitS), "yes"
			if usedS > limitS {
				kept = "**no**"
			}
		}
		fmt.Fprintf(w, "| %s | %s | %s | %s | %s |\n", name, show(usedS), show(elapsedS), wanted, kept)
	}
	for _, mode := range []struct {
		name  string
		spark cycle.SparkMode
	}{{"a converged point, the spark given", cycle.SparkGiven}, {"a converged point, the spark sought for most work and short of knock", cycle.SparkUnderTest}} {
		four := pointsOf(m, mode.spark)
		row(mode.name, meanS(four)/4, leastS(four)/4, 1e-3)
	}
	small, err := tablesOf(in, g, 16, 16)
	if err != nil {
		return err
	}
	usedAll, elapsedAll, err := timed(small)
	if err != nil {
		return err
	}
	row("all tables 16 × 16, cams and spark sought, with their spread", usedAll, elapsedAll, 8)
	fmt.Fprint(w, "\nWanted for the tables are 4 s on two cores, 8 s of processor time.\n")
	fmt.Fprintf(w, "\nHow the time grows with the points of the tables, cams parked:\n\n| points | processor time | a point |\n|--:|--:|--:|\n")
	in.IntakePhaserRad, in.Cycle.ExhaustPhaserRad = 0, 0
	for _, n := range []int{8, 16, 32} {
		in.SpeedRadPerS, in.ManifoldPa = spaced(800*rpm, 6500*rpm, n), spaced(30e3, 99e3, n)
		used, _, err := timed(func() error {
			_, err := enginemap.Solve(context.Background(), in, g, nil)
			return err
		})
		if err != nil {
			return err
		}
		fmt.Fprintf(w, "| %d | %s | %s |\n", n*n, show(used), show(used/float64(n*n)))
	}
	return schemes(w)
}

// pointsOf computes four points, idle, cruise, full load and high speed.
func pointsOf(m *cycle.Model, spark cycle.SparkMode) func() {
	return func() {
		for _, s := range [][2]float64{{900, 40e3}, {2000, 60e3}, {3500, 90e3}, {5500, 95e3}} {
			_, e, err := m.Point(cycle.Operating{
				SpeedRadPerS: s[0] * rpm, ManifoldPa: s[1], UpstreamPa: 100e3, AmbientPa: 100e3, ChargeK: 305, LambdaRatio: 1,
				IntakeAdvanceRad: 20 * degree, Spark: spark, SparkRad: 22 * degree, MostKnockCount: 1, OilViscosityRatio: 1,
			})
			if err != nil || !e.OK {
				panic(fmt.Sprint(s, err, e.Why))
			}
		}
	}
}

// tablesOf is the whole way from an engine to its starting tables with their spread.
func tablesOf(in breathing.Input, g *cycle.Gas, rows, columns int) (func() error, error) {
	in.SpeedRadPerS, in.ManifoldPa = spaced(0.5*in.IdleRadPerS, in.MaxRadPerS, rows), spaced(20e3, 102e3, columns)
	var leaves []calibrate.Leaf
	add := func(name string, sd float64, shift func(*breathing.Input, float64)) {
		l := &figure.Input{ID: figure.ID("bench/" + name), SdSI: sd, Source: "bench", Origin: figure.Constant}
		l.Seal()
		leaves = append(leaves, calibrate.Leaf{In: l, Shift: shift})
	}
	add("bore", 1e-3, func(e *breathing.Input, by float64) { e.Geometry.BoreM += by })
	add("stroke", 1e-3, func(e *breathing.Input, by float64) { e.Geometry.StrokeM += by })
	add("rod", 3e-3, func(e *breathing.Input, by float64) { e.Geometry.RodM += by })
	add("ratio", 0.3, func(e *breathing.Input, by float64) { e.Geometry.CompressionRatio += by })
	add("intake valve", 1e-3, func(e *breathing.Input, by float64) { e.IntakeValveM += by })
	add("intake lift", 0.5e-3, func(e *breathing.Input, by float64) { e.IntakeLiftM += by })
	add("opens", 0.1, func(e *breathing.Input, by float64) { e.IntakeOpensRad += by })
	add("closes", 0.1, func(e *breathing.Input, by float64) { e.IntakeClosesRad += by })
	add("runner", 0.05, func(e *breathing.Input, by float64) { e.RunnerM += by })
	add("runner bore", 2e-3, func(e *breathing.Input, by float64) { e.RunnerBoreM += by })
	add("warming", 5, func(e *breathing.Input, by float64) { e.ChargeK += by })
	add("intake drop", 1e3, func(e *breathing.Input, by float64) { e.IntakeDropPa += by })
	add("exhaust drop", 4e3, func(e *breathing.Input, by float64) { e.ExhaustDropPa += by })
	add("lambda", 0.02, func(e *breathing.Input, by float64) { e.FullLambdaRatio += by })
	add("hottest", 3, func(e *breathing.Input, by float64) { e.ChargeK += by })
	add("altitude", 300, func(e *breathing.Input, by float64) { e.AmbientPa *= 1 - 1.186e-4*by })
	return func() error {
		r, err := enginemap.Solve(context.Background(), in, g, nil)
		if err != nil {
			return err
		}
		_, err = calibrate.Tables(context.Background(), calibrate.Input{
			Engine: in, Response: r, Leaves: leaves, SparksRatio: 0.5,
			Fitted: calibrate.Fitted{Electronic: true, IntakeRad: in.IntakePhaserRad, ExhaustRad: in.Cycle.ExhaustPhaserRad, SetPa: 300e3},
		})
		return err
	}, nil
}

// timed is the least of three runs, processor and elapsed time each.
func timed(one func() error) (used, elapsed float64, err error) {
	used, elapsed = math.Inf(1), math.Inf(1)
	for range 3 {
		u, t := usedS(), time.Now()
		if err := one(); err != nil {
			return 0, 0, err
		}
		used, elapsed = math.Min(used, usedS()-u), math.Min(elapsed, time.Since(t).Seconds())
	}
	return used, elapsed, nil
}

// schemes prints the cheap scheme beside the classical one, which stands in the
// tests of the cycle and is run from there.
func schemes(w io.Writer) error {
	out, err := exec.Command("go", "test", "-C", "..", "./internal/cycle", "-run", "^$", "-bench", "PointFourthOrder1deg|PointSameByCycle", "-benchtime", "200x", "-cpu", "1").CombinedOutput()
	if err != nil {
		return fmt.Errorf("go test: %w: %s", err, out)
	}
	line := regexp.MustCompile(`^Benchmark(\S+)\s+\d+\s+([0-9.]+) ns/op`)
	seconds := map[string]float64{}
	for sc := bufio.NewScanner(bytes.NewReader(out)); sc.Scan(); {
		if f := line.FindStringSubmatch(sc.Text()); f != nil {
			ns, err := strconv.ParseFloat(f[2], 64)
			if err != nil {
				return err
			}
			seconds[f[1]] = ns / 1e9
		}
	}
	cheap, fourth := seconds["PointSameByCycle"], seconds["PointFourthOrder1deg"]
	if cheap == 0 || fourth == 0 {
		return fmt.Errorf("go test gave no times: %s", out)
	}
	fmt.Fprintf(w, "\nThe scheme, midpoint rule in steps of 1.5° with tabulated gas, beside classical Runge–Kutta of fourth order in steps of 1°,\none cylinder at full load and 2500 rpm, as many cycles each, elapsed: %s beside %s, %.0f times. Against the fourth order in\nsteps of 0.25° charge, work and heat to the walls stand within 0.5 %% at 1000, 2500 and 5500 rpm (`TestAgainstFinerScheme`).\n", show(cheap), show(fourth), fourth/cheap)
	return nil
}

func spaced(low, high float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = low + (high-low)*float64(i)/float64(n-1)
	}
	return out
}

func inventedEngine() breathing.Input {
	in := breathing.Input{
		Geometry:         crank.Geometry{CylinderCount: 4, BoreM: 0.086, StrokeM: 0.086, RodM: 0.143, CompressionRatio: 10},
		IntakeValveCount: 2, IntakeValveM: 0.0335, IntakeLiftM: 0.0095,
		IntakeOpensRad: 8 * degree, IntakeClosesRad: 48 * degree, IntakePhaserRad: 40 * degree,
		IdleRadPerS: 800 * rpm, MaxRadPerS: 6500 * rpm,
		Fuel: petrol.Petrol(), FullLambdaRatio: 0.88, CruiseLambdaRatio: 1,
		RunnerM: 0.4, RunnerBoreM: 0.042,
		AmbientPa: 99e3, ChargeK: 313.15, CoolantK: 363.15, IntakeDropPa: 4e3, ExhaustDropPa: 15e3,
	}
	in.Cycle.ExhaustPhaserRad = 30 * degree
	return in
}
