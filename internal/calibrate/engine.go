package calibrate

import (
	"context"
	"fmt"
	"math"
	"slices"

	"fettle/internal/breathing"
	"fettle/internal/cycle"
	"fettle/internal/enginemap"
	"fettle/internal/figure"
	"fettle/internal/gas"
	"fettle/internal/quantity"
	"fettle/internal/table"
)

const (
	rpm       = math.Pi / 30
	degree    = math.Pi / 180
	axisCount = 16 // points of each axis
	// coarse points, on which the change by each input is computed; a change is
	// smoother than what it changes.
	coarseRows, coarseColumns = 8, 5
	// lowestRadPerS is the least speed of an axis, a starter turning an engine
	// on a mild day (common practice, 200 to 300 rpm).
	lowestRadPerS = 250 * rpm
	belowIdle     = 300 * rpm
	lowestPa      = 20e3
	// kickRad is the most advance while a starter turns the engine: more may
	// fire it backwards against the starter; usualRad the least that is usual
	// there (common practice, 5 to 10°).
	kickRad  = 10 * degree
	usualRad = 5 * degree
)

// axes are the points of the engine's tables: from 300 rpm below idle to the
// speed limit, in steps rounded to 50 rpm, and from 20 kPa to the pressure at
// sea level or what a charger adds to the ambient one, whichever is more, so
// that the vehicle may come down from where it lives.
func axes(e *breathing.Input) (speed, pressure table.Axis, err error) {
	low := math.Max(lowestRadPerS, e.IdleRadPerS-belowIdle)
	high := math.Max(gas.StandardPa, e.AmbientPa+e.BoostPa)
	if !(e.MaxRadPerS > e.IdleRadPerS && e.MaxRadPerS < 1500) {
		return speed, pressure, fmt.Errorf("speed limit %s is outside %s … %s, idle speed and the fastest engines",
			quantity.Format(e.MaxRadPerS, "rpm", 0), quantity.Format(e.IdleRadPerS, "rpm", 0), quantity.Format(1500, "rpm", 0))
	}
	if !(high <= 450e3) {
		return speed, pressure, fmt.Errorf("manifold pressure %s is above 450 kPa", quantity.Format(high, "kPa", 0))
	}
	speed = table.Axis{Name: "engine speed", Unit: "rpm", At: rounded(low/rpm, e.MaxRadPerS/rpm, 50)}
	pressure = table.Axis{Name: "manifold pressure, absolute", Unit: "kPa", At: rounded(lowestPa/1e3, math.Ceil(high/1e3), 1)}
	return speed, pressure, nil
}

// rounded spreads points evenly, all but the last rounded to a step.
func rounded(low, high, step float64) []float64 {
	out := make([]float64, 0, axisCount)
	for i := range axisCount {
		v := low + (high-low)*float64(i)/(axisCount-1)
		v = math.Round(v/step) * step
		if i == axisCount-1 {
			v = math.Ceil(high - 1e-9)
		}
		if len(out) == 0 || v > out[len(out)-1] {
			out = append(out, v)
		}
	}
	return out
}

// engineMaps makes the tables over speed and manifold pressure, all or none: air,
// spark and lambda in this order, then the cams'. It hands back the engine by its
// intake stroke.
func engineMaps(ctx context.Context, in *Input) ([]Map, *breathing.Response, []error) {
	none := func(err error) ([]Map, *breathing.Response, []error) { return nil, nil, []error{err} }
	speed, pressure, err := axes(&in.Engine)
	if err != nil {
		return none(err)
	}
	e := in.Engine
	e.SpeedRadPerS, e.ManifoldPa = scaled(speed.At, rpm), scaled(pressure.At, 1e3)
	e.MaxRadPerS = math.Max(e.MaxRadPerS, e.SpeedRadPerS[len(e.SpeedRadPerS)-1]) // the axis ends on a whole rpm
	r, err := breathing.Solve(e)
	if err != nil {
		return none(fmt.Errorf("engine: %w", err))
	}
	c, err := newChanges(ctx, in, e.SpeedRadPerS, e.ManifoldPa)
	if err != nil {
		return none(err)
	}
	lambda, err := lambdaMap(in, &e, speed, pressure)
	if err != nil {
		return none(err)
	}
	l := lay(in, r)
	return append([]Map{veMap(in, l, c, speed, pressure), sparkMap(in, l, c, speed, pressure), lambda}, camMaps(in, l, speed, pressure)...), r, nil
}

func scaled(at []float64, by float64) []float64 {
	out := make([]float64, len(at))
	for i, v := range at {
		out[i] = v * by
	}
	return out
}

// changes holds, on a coarse grid, by how much each input's standard deviation
// moves volumetric efficiency and spark.
type changes struct {
	ve, spark []table.Grid
}

func newChanges(ctx context.Context, in *Input, speeds, pressures []float64) (*changes, error) {
	base := in.Engine
	base.SpeedRadPerS = spread(speeds, coarseRows)
	base.ManifoldPa = spread(pressures, coarseColumns)
	base.MaxRadPerS = math.Max(base.MaxRadPerS, speeds[len(speeds)-1])
	sample := byFilling
	if r := in.Response; r != nil && r.Model == breathing.ByCycle {
		g, err := cycle.NewGas(base.Fuel)
		if err != nil {
			return nil, fmt.Errorf("engine: %w", err)
		}
		sample = func(ctx context.Context, e breathing.Input) (ve, spark table.Grid, err error) {
			if e.Fuel == base.Fuel {
				return enginemap.Sample(ctx, e, g, r, e.SpeedRadPerS, e.ManifoldPa)
			}
			return enginemap.Sample(ctx, e, nil, r, e.SpeedRadPerS, e.ManifoldPa)
		}
	}
	tell := func(done int) {
		if in.Tell != nil {
			in.Tell(done, len(in.Leaves)+1)
		}
	}
	tell(0)
	ve, spark, err := sample(ctx, base)
	if err != nil {
		return nil, fmt.Errorf("engine: %w", err)
	}
	c := &changes{}
	for i, l := range in.Leaves {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		tell(i + 1)
		if l.In.SdSI <= 0 {
			continue
		}
		movedVE, movedSpark, err := moved(ctx, sample, base, l)
		if err != nil {
			return nil, fmt.Errorf("engine with %s moved by its spread: %w", l.In.ID, err)
		}
		c.ve = append(c.ve, less(&movedVE, &ve))
		c.spark = append(c.spark, less(&movedSpark, &spark))
	}
	tell(len(in.Leaves) + 1)
	return c, nil
}

// sampler computes air and spark of an engine on its own axes.
type sampler func(ctx context.Context, e breathing.Input) (ve, spark table.Grid, err error)

func byFilling(_ context.Context, e breathing.Input) (ve, spark table.Grid, err error) {
	r, err := breathing.Solve(e)
	if err != nil {
		return ve, spark, err
	}
	return r.VolEffFrac, r.SparkRad, nil
}

// moved computes the engine with an input moved up by its spread, or down where
// it can't go up.
func moved(ctx context.Context, sample sampler, base breathing.Input, l Leaf) (ve, spark table.Grid, err error) {
	up := base
	l.Shift(&up, l.In.SdSI)
	if ve, spark, err = sample(ctx, up); err == nil {
		return ve, spark, nil
	}
	down := base
	l.Shift(&down, -l.In.SdSI)
	if v, s, downErr := sample(ctx, down); downErr == nil {
		return v, s, nil
	}
	return ve, spark, err
}

// spread picks n points evenly from the first to the last.
func spread(at []float64, n int) []float64 {
	if len(at) <= n {
		return slices.Clone(at)
	}
	low, high := at[0], at[len(at)-1]
	out := make([]float64, n)
	for i := range out {
		out[i] = low + (high-low)*float64(i)/float64(n-1)
	}
	out[n-1] = high
	return out
}

func less(a, b *table.Grid) table.Grid {
	out := b.Clone()
	out.Spread = nil
	for k := len(out.Z) - 1; k >= 0; k-- {
		out.Z[k] = a.Z[k] - b.Z[k]
		if math.IsNaN(out.Z[k]) { // nothing burns there: what the next pressure has
			out.Z[k] = 0
			if (k+1)%out.Columns() != 0 {
				out.Z[k] = out.Z[k+1]
			}
		}
	}
	return out
}

// sdAt adds the changes at a place as squares, with the model's own spread.
func sdAt(grids []table.Grid, speedRadPerS, manifoldPa, modelSd float64) float64 {
	sum := modelSd * modelSd
	for i := range grids {
		z, _ := grids[i].Clamped(speedRadPerS, manifoldPa) // the axes end where the table's do
		sum += z * z
	}
	return math.Sqrt(sum)
}

// leavesOf lists the inputs behind the engine with the models' own.
func leavesOf(in *Input, own ...*figure.Input) []*figure.Input {
	out := slices.Clone(own)
	for _, l := range in.Leaves {
		out = append(out, l.In)
	}
	return out
}

// airModel is the spread of the air model over engines; the vehicle draws the same.
func airModel() *figure.Input {
	return own("air model", 1, breathing.VolEffSdFrac, "", "spread of the air model, see its Accuracy")
}

func veMap(in *Input, l *laid, c *changes, speed, pressure table.Axis) Map {
	m := Map{Name: VE, Title: "Volumetric efficiency", By: "breathing.VolEffFrac"}
	m.Grid = table.New("volumetric efficiency", "1", speed, pressure)
	m.Grid.Spread = make([]float64, len(m.Grid.Z))
	for i, n := range speed.At {
		for j, p := range pressure.At {
			k := m.Grid.Cell(i, j)
			m.Grid.Z[k] = math.Round(1000*l.volEff.Z[k]) / 1000
			m.Grid.Spread[k] = l.volEffSd(c, k, n*rpm, p*1e3)
		}
	}
	m.Basis = fmt.Sprintf("air trapped by the intake stroke over that of the swept volume at the manifold's pressure and temperature; "+
		"integrated through valves and runner %s on the hottest day, charge at %s; physics alone, no cell is measured",
		l.model(), quantity.Format(in.Engine.ChargeK, "°C", 0))
	l.silent(&m)
	low, high := ends(m.Grid.Spread)
	m.Uncertainty = bounds(low, high, 2, "") + ", 95 times in 100, from the air model and the spread of its inputs" + l.spreadModel()
	m.finish(leavesOf(in, airModel())...)
	return m
}

// StartRad returns the spark advance that a starting table holds: short of best
// torque and of knock, and little while a starter turns the engine.
//
//	θ = min(θ_safe, 10°)   ω < ω_idle
//	θ = θ_safe             else
//
// where θ_safe is short of best torque and of knock, by the crank-angle cycle and breathing.SafeSparkRad; rounded down to a tenth of a degree.
//
// Valid: as breathing.SafeSparkRad.
// Accuracy: a start for the listening; the knock limit of an engine lies within 6° of it.
// Source: common practice, 5 … 10° while cranking; less where a slow engine under load would knock.
// Errors: none
func StartRad(safeRad, speedRadPerS, idleRadPerS float64) float64 {
	if speedRadPerS < idleRadPerS {
		safeRad = math.Min(safeRad, kickRad)
	}
	return math.Floor(10*safeRad/degree+1e-9) / 10 * degree
}

func sparkMap(in *Input, l *laid, c *changes, speed, pressure table.Axis) Map {
	m := Map{Name: Spark, Title: "Spark advance", By: "calibrate.StartRad"}
	m.Grid = table.New("spark advance before top dead centre", "°", speed, pressure)
	m.Grid.Spread = make([]float64, len(m.Grid.Z))
	model := own("spark model", 0, breathing.SparkSdRad, "°", "common practice: spread of best spark between engines of one bore")
	held, late := 0, 0
	for i, n := range speed.At {
		for j, p := range pressure.At {
			k := m.Grid.Cell(i, j)
			safe := l.spark.Z[k]
			rad := StartRad(safe, n*rpm, in.Engine.IdleRadPerS)
			switch {
			case n*rpm >= in.Engine.IdleRadPerS:
			case safe > kickRad:
				held++
			case safe < usualRad:
				late++
			}
			m.Grid.Z[k] = math.Round(10*rad/degree) / 10
			m.Grid.Spread[k] = sdAt(c.spark, n*rpm, p*1e3, l.spark.Spread[k]) / degree
		}
	}
	m.Basis = fmt.Sprintf("on the safe side: 3° short of the best-torque estimate, above 60 kPa further back from knock by what compression %.3g, octane %.3g and a charge at %s ask, "+
		"and never more than 45° (common practice); listen for knock before any of it is raised",
		in.Engine.Geometry.CompressionRatio, in.Engine.Fuel.OctaneCount, quantity.Format(in.Engine.ChargeK, "°C", 0))
	if l.byCycle {
		m.Basis = fmt.Sprintf("on the safe side, the least of: 3° short of best torque and 5° short of where the knock integral reaches 1, both by the crank-angle cycle, and the trade's rule for best torque and knock, "+
			"at compression %.3g, octane %.3g and a charge at %s; never more than 45° (common practice); listen for knock before any of it is raised",
			in.Engine.Geometry.CompressionRatio, in.Engine.Fuel.OctaneCount, quantity.Format(in.Engine.ChargeK, "°C", 0))
	} else if l.standsIn {
		m.Basis += "; the estimate stands in for the crank-angle cycle, which does not settle everywhere"
	}
	if l.byCycle {
		if top := l.top / 1e3; pressure.At[len(pressure.At)-1] > top+0.5 {
			m.note("above %.0f kPa the cycle is not computed: there the spark falls on by at least 0.5° a kPa", top)
		}
	}
	l.silent(&m)
	low, high := ends(m.Grid.Spread)
	m.Uncertainty = bounds(low, high, 0, "°") + ", 95 times in 100, of the estimate; the knock limit of this engine is not known" + l.spreadModel()
	if l.knocks > 0 {
		m.note("in %d of the cycle's cells, from %.0f kPa on, the latest spark held does not keep the knock integral below 1: the engine must not be loaded so far", l.knocks, l.knockPa/1e3)
	}
	if held > 0 {
		m.note("%d cells below idle speed, %s, are held at 10°: enough to fire, not so much that the engine kicks back at the starter", held, quantity.Format(in.Engine.IdleRadPerS, "rpm", 0))
	}
	if late > 0 {
		m.note("%d cells below idle speed, %s, stand later than the usual 5 … 10° of cranking: slow and under load the charge has long to ignite by itself, and the spark stays short of knock and of best torque there too", late, quantity.Format(in.Engine.IdleRadPerS, "rpm", 0))
	}
	m.finish(leavesOf(in, model)...)
	return m
}

// Share of the open-throttle pressure from which the mixture is made richer, and
// at which it is that of full load; the engine model takes the same.
const (
	richFromFrac = 0.78
	richByFrac   = 0.95
)

// TargetRatio returns the lambda to aim at, and the weight of full load in it.
//
//	λ = λ_c + u (λ_f − λ_c),   u = (p/p_o − 0.78)/(0.95 − 0.78) within 0 … 1
//
// where p_o is the manifold pressure with open throttle, λ_c the target at part and λ_f at full load.
//
// Valid: pressures above 0; else an error is returned.
// Accuracy: a convention; full-load lambda for best torque is 0.85 … 0.90 on any petrol engine.
// Source: common practice.
// Errors: a pressure that is not above 0.
func TargetRatio(manifoldPa, openPa, cruiseRatio, fullRatio float64) (targetRatio, fullFrac float64, err error) {
	if !(manifoldPa > 0) || !(openPa > 0) {
		return 0, 0, fmt.Errorf("manifold pressure %g Pa and open-throttle pressure %g Pa must be above 0 Pa", manifoldPa, openPa)
	}
	u := math.Max(0, math.Min(1, (manifoldPa/openPa-richFromFrac)/(richByFrac-richFromFrac)))
	return cruiseRatio + u*(fullRatio-cruiseRatio), u, nil
}

func lambdaMap(in *Input, e *breathing.Input, speed, pressure table.Axis) (Map, error) {
	m := Map{Name: Lambda, Title: "Lambda target", By: "calibrate.TargetRatio"}
	m.Grid = table.New("lambda target", "1", speed, pressure)
	m.Grid.Spread = make([]float64, len(m.Grid.Z))
	cruise := own("lambda at part load", e.CruiseLambdaRatio, 0, "", "common practice: 1.0 where a catalyst and economy want it")
	sd := 0.0
	for _, l := range in.Leaves {
		after := *e
		l.Shift(&after, l.In.SdSI)
		sd = math.Hypot(sd, after.FullLambdaRatio-e.FullLambdaRatio)
	}
	for i, n := range speed.At {
		open := e.WideOpenPa(n * rpm)
		for j, p := range pressure.At {
			target, full, err := TargetRatio(p*1e3, open, e.CruiseLambdaRatio, e.FullLambdaRatio)
			if err != nil {
				return m, fmt.Errorf("lambda target: %w", err)
			}
			k := m.Grid.Cell(i, j)
			m.Grid.Z[k] = math.Round(1000*target) / 1000
			m.Grid.Spread[k] = full * sd
		}
	}
	m.Basis = fmt.Sprintf("%.2f up to %.0f %% of the pressure with open throttle, falling to %.2f at %.0f %% of it (common practice, to keep exhaust and pistons cool); "+
		"cold start and warm-up want more fuel than this", e.CruiseLambdaRatio, 100*richFromFrac, e.FullLambdaRatio, 100*richByFrac)
	m.Uncertainty = fmt.Sprintf("± %.3f at full load, 95 times in 100; at part load it is a choice", 2*sd)
	m.finish(leavesOf(in, cruise)...)
	return m, nil
}

// bounds prints what stands behind ± for a range of standard deviations.
func bounds(low, high float64, decimals int, unit string) string {
	a, b := fmt.Sprintf("%.*f", decimals, 2*low), fmt.Sprintf("%.*f", decimals, 2*high)
	if a == b {
		return "± " + a + unit
	}
	return "± " + a + " … " + b + unit
}

func ends(of []float64) (low, high float64) { return slices.Min(of), slices.Max(of) }
