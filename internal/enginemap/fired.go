package enginemap

import (
	"fettle/internal/breathing"
	"fettle/internal/cycle"
	"fettle/internal/figure"
)

// Fired is one cylinder at a working point of an engine's tables.
type Fired struct {
	// Result and Course are those at the tables' spark and cams.
	Result cycle.Result
	Course cycle.Course
	// SparkRad is the tables', BestRad that of most work and KnockRad the greatest
	// short of knock, not above BestRad, all before top dead centre.
	SparkRad, BestRad, KnockRad float64
	// KnockLimited says that knock and not most work ends the advance.
	KnockLimited          bool
	IntakeRad, ExhaustRad float64 // the cams', from parked: the intake earlier, the exhaust later
}

// Fire computes one cylinder at a speed and manifold pressure within an engine's
// tables, at their spark and cams. Gas is the fuel's, nil to make it. When the
// cycle does not settle Ended is not OK and there is no cylinder.
func Fire(r *breathing.Response, g *cycle.Gas, speedRadPerS, manifoldPa float64) (f Fired, e figure.Ended, err error) {
	in := r.Input()
	w, err := r.TorqueNm.Weights(speedRadPerS, manifoldPa)
	if err != nil {
		return f, e, err
	}
	if g == nil {
		if g, err = cycle.NewGas(in.Fuel); err != nil {
			return f, e, err
		}
	}
	engine := Engine(&in)
	if speedRadPerS < in.IdleRadPerS {
		engine = still(&in)
	}
	m, err := cycle.NewModelOf(engine, g)
	if err != nil {
		return f, e, err
	}
	op := operating(&in, speedRadPerS, manifoldPa)
	op.ColdWalls = speedRadPerS < in.IdleRadPerS
	f.SparkRad, f.IntakeRad, f.ExhaustRad = w.Of(&r.SparkRad), w.Of(&r.IntakeRad), w.Of(&r.ExhaustRad)
	op.IntakeAdvanceRad, op.ExhaustRetardRad = min(f.IntakeRad, engine.Intake.PhaserRad), min(f.ExhaustRad, engine.Exhaust.PhaserRad)
	sought, e, err := m.Point(op)
	if err != nil || !e.OK {
		return Fired{}, e, err
	}
	f.BestRad, f.KnockRad, f.KnockLimited = sought.BestRad, sought.KnockRad, sought.KnockLimited
	op.Spark, op.SparkRad = cycle.SparkGiven, f.SparkRad
	if f.Result, f.Course, e, err = m.PointCourse(op); err != nil || !e.OK {
		return Fired{}, e, err
	}
	return f, e, nil
}
