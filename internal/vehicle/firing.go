package vehicle

import (
	"context"
	"fmt"
	"math"
	"slices"

	"fettle/internal/enginemap"
	"fettle/internal/figure"
	"fettle/internal/formula"
)

// Firing is what goes on in one cylinder in a state, and the sparks over speed
// with the throttle open, with the ledger that it opens in.
type Firing struct {
	Key    string // the state's
	Fired  enginemap.Fired
	OK     bool   // there is a cylinder to show
	No     string // why not
	Sparks []SparkAt
	Ledger *figure.Ledger
}

// SparkAt are the sparks at a speed with the throttle open, before the firing top.
type SparkAt struct {
	SpeedRadPerS float64
	TableRad     float64 // the starting spark of the engine's tables
	BestRad      float64 // of most work
	KnockRad     float64 // the greatest short of knock, not above BestRad
	KnockCount   float64 // knock integral at TableRad; 1 is knock
}

// sparkPoints is how many speeds the sparks are sought at.
const sparkPoints = 12

// Sparks seeks the sparks over speed with the throttle open. Speeds at which the
// cycle does not settle are left out.
func (v *Vehicle) Sparks(ctx context.Context) ([]SparkAt, error) {
	e := &v.Design.File.Engine
	in := v.response.Input()
	var out []SparkAt
	for i := range sparkPoints {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		speed := e.IdleRadPerS.SI + (e.LimitRadPerS.SI-e.IdleRadPerS.SI)*float64(i)/(sparkPoints-1)
		f, ended, err := v.Cylinder(speed, in.WideOpenPa(speed))
		if err != nil || !ended.OK {
			continue
		}
		out = append(out, SparkAt{speed, f.SparkRad, f.BestRad, f.KnockRad, f.Result.KnockCount})
	}
	return out, nil
}

// FiringOf computes one cylinder in a state and puts it, with the sparks over
// speed, into a ledger of its own.
func (r *Result) FiringOf(s *State, sparks []SparkAt) *Firing {
	out := &Firing{Key: s.Key, Sparks: sparks, Ledger: figure.NewLedger()}
	a := &accountant{v: r.Vehicle, r: r, l: out.Ledger}
	for i, p := range sparks {
		a.sparkAt(fmt.Sprintf("sparks/%d", i+1), p)
	}
	f, ended, ok, err := s.Cylinder()
	switch {
	case err != nil:
		out.No = err.Error()
	case !ok && !s.Ended.OK:
		out.No = "the state did not settle"
	case !ok:
		out.No = "the engine does not run in this state"
	case !ended.OK:
		out.No = ended.Why
	default:
		out.Fired, out.OK = f, true
		a.fired(s, &f, &ended)
	}
	return out
}

func (a *accountant) sparkAt(k string, p SparkAt) {
	e := &a.v.Design.File.Engine
	a.l.Put(figure.ID(k+"/SpeedRadPerS"), formula.VehicleCurveRadPerS, p.SpeedRadPerS, "rpm", a.l.Leaf(e.IdleRadPerS), a.l.Leaf(e.LimitRadPerS))
	in := append([]figure.ID{figure.ID(k + "/SpeedRadPerS")}, a.engineLeaves()...)
	a.sparksOf(k, p, in)
}

// sparksOf records the three sparks and the knock integral at the tables'.
func (a *accountant) sparksOf(k string, p SparkAt, in []figure.ID) {
	put := func(name string, by *figure.Formula, si float64, unit string) {
		a.l.Put(figure.ID(k+"/"+name), by, si, unit, in...)
	}
	put("TableRad", formula.CycleModelPoint, p.TableRad, "°")
	put("BestRad", formula.CycleModelPoint, p.BestRad, "°")
	put("KnockRad", formula.CycleModelPoint, p.KnockRad, "°")
	put("KnockCount", formula.CycleDelayS, p.KnockCount, "")
	a.l.Put(figure.ID(k+"/MarginRad"), formula.VehicleSparkMarginRad, SparkMarginRad(p.KnockRad, p.TableRad), "°", figure.ID(k+"/KnockRad"), figure.ID(k+"/TableRad"))
}

// fired records what is shown of the cylinder.
func (a *accountant) fired(s *State, f *enginemap.Fired, ended *figure.Ended) {
	k := "cylinder/" + s.Key
	a.l.Take(a.r.Ledger, figure.ID(s.Key+"/engine/ManifoldPa"))
	a.l.Take(a.r.Ledger, a.speed(s))
	in := append([]figure.ID{figure.ID(s.Key + "/engine/ManifoldPa"), a.speed(s)}, a.engineLeaves()...)
	loop := func(name string, by *figure.Formula, si float64, unit string) {
		a.l.PutLoop(figure.ID(k+"/"+name), by, si, unit, ended, in...)
	}
	c := &f.Course
	top := slices.Index(c.PressurePa, slices.Max(c.PressurePa))
	loop("PeakPa", formula.CycleModelPoint, f.Result.PeakPa, "bar")
	loop("PeakAtRad", formula.CycleModelPoint, c.AngleRad[top]-2*math.Pi, "°")
	loop("HottestK", formula.CycleModelPoint, slices.Max(c.GasK), "°C")
	loop("IntakeLiftM", formula.CycleValveOpenM, slices.Max(c.IntakeM), "mm")
	loop("ExhaustLiftM", formula.CycleValveOpenM, slices.Max(c.ExhaustM), "mm")
	loop("IntakeRad", formula.CycleModelPoint, f.IntakeRad, "°")
	loop("ExhaustRad", formula.CycleModelPoint, f.ExhaustRad, "°")
	a.sparksOf(k, SparkAt{0, f.SparkRad, f.BestRad, f.KnockRad, f.Result.KnockCount}, in)
}

// SparkMarginRad returns how far a spark stands short of knock.
//
//	Δθ = θ_k − θ
//
// where θ_k is the greatest advance at which the knock integral stays below 1, not above that of most work.
//
// Valid: a settled cycle.
// Accuracy: that of the knock integral, some 5° between engines of one kind.
// Source: definition.
// Errors: none.
func SparkMarginRad(knockRad, sparkRad float64) float64 { return knockRad - sparkRad }
