package cycle

import (
	"math"

	"fettle/internal/figure"
)

// Course is one cylinder through a whole cycle, a value at the end of each step.
type Course struct {
	AngleRad   []float64 // rising from 0 to 4π, the firing top at 2π
	PressurePa []float64
	GasK       []float64 // mean of the cylinder
	VolumeM3   []float64
	IntakeM    []float64 // lift
	ExhaustM   []float64
	BurnedFrac []float64 // of what burns
	KnockCount []float64 // knock integral so far; Result.KnockCount is that of a cycle that burns faster
	IntakePa   []float64 // before the intake valve
	ExhaustPa  []float64 // behind the exhaust valve
	PlenumPa   []float64
	InKgPerS   []float64 // kg/s through the intake valves, positive inwards
	OutKgPerS  []float64 // kg/s through the exhaust valves, positive outwards
}

// PointCourse computes an operating point as [Model.Point] does, and what one
// cylinder goes through in the cycle that repeats itself. When the cycles do not
// settle there is neither.
func (m *Model) PointCourse(op Operating) (Result, Course, figure.Ended, error) {
	op.UnconvergedAllowed = false
	if err := op.check(&m.engine); err != nil {
		return Result{}, Course{}, figure.Ended{}, err
	}
	var p props
	m.gas.fill(&p, op.LambdaRatio)
	r := m.start(&op, &p)
	res, ended, err := r.settle(mostCycles)
	if err != nil || !ended.OK {
		return Result{}, Course{}, ended, err
	}
	r.retrace()
	return res, *r.course, ended, nil
}

// retrace goes through the settled cycle once more and notes it.
func (r *engineRun) retrace() {
	n := 2 * r.m.steps
	c := &Course{}
	for _, s := range c.all() {
		*s = make([]float64, n)
	}
	e := &r.m.engine
	for k := range n {
		a := float64(k+1) * r.d
		c.AngleRad[k] = a
		lift := func(v *Valve, centre float64) float64 {
			return v.OpenM(math.Remainder(a-centre, 4*math.Pi))
		}
		c.IntakeM[k] = lift(&e.Intake, e.Intake.CentrelineRad-r.op.IntakeAdvanceRad)
		c.ExhaustM[k] = lift(&e.Exhaust, r.op.ExhaustRetardRad-e.Exhaust.CentrelineRad)
		c.VolumeM3[k] = r.m.ends[k%r.m.steps+1]
	}
	r.course = c
	r.sum = totals{}
	r.closedPart()
	r.openPart()
}

func (c *Course) all() []*[]float64 {
	return []*[]float64{
		&c.AngleRad, &c.PressurePa, &c.GasK, &c.VolumeM3, &c.IntakeM, &c.ExhaustM, &c.BurnedFrac, &c.KnockCount,
		&c.IntakePa, &c.ExhaustPa, &c.PlenumPa, &c.InKgPerS, &c.OutKgPerS,
	}
}

// note writes the end of step i down.
func (r *engineRun) note(i int) {
	c, k := r.course, i%(2*r.m.steps)
	c.PressurePa[k], c.GasK[k] = r.c.pa, r.c.kelvin
	c.IntakePa[k], c.ExhaustPa[k], c.PlenumPa[k] = r.feed.pa, r.drain.pa, r.plenum
	c.InKgPerS[k], c.OutKgPerS[k] = r.own[k], r.ownOut[k]
	if i < 2*r.m.steps { // past it the next charge comes in
		c.BurnedFrac[k], c.KnockCount[k] = r.f.done, r.f.knock
	}
}
