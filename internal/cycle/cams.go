package cycle

import (
	"fmt"
	"math"

	"fettle/internal/figure"
	"fettle/internal/quantity"
)

// Limits are what a running engine bears at a cam position.
type Limits struct {
	MostResidualFrac float64 // commonly 0.25: beyond it cycles differ too much from each other
	MostBurnRad      float64 // from the spark to nine tenths burned, commonly 75°
}

// Bears reports whether a result stays within the limits.
func (l Limits) Bears(r Result) bool {
	return r.ResidualFrac <= l.MostResidualFrac && r.BurnRad <= l.MostBurnRad
}

// Check returns the first limit that can't be.
func (l Limits) Check() error {
	return first([]span{
		{"limit of the residual gas", "", l.MostResidualFrac, 0.02, 0.45},
		{"limit of the burn from the spark", "rad", l.MostBurnRad, 0.3, 2.5},
	})
}

// Cams is what a search of cam positions found.
type Cams struct {
	Operating Operating // with the cams' positions, and the manifold pressure
	Result    Result
	Tried     int
}

// Steps of the search: a grid over the phasers' travel, then half steps around
// the best until none is better.
const (
	intakeGrid, exhaustGrid = 4, 2
	halvings                = 1
)

// MostTorque finds the cam positions of most torque at a speed and manifold
// pressure, or with the throttle open. The positions of the state are not read.
func (m *Model) MostTorque(op Operating, l Limits) (Cams, figure.Ended, error) {
	return m.seekCams(op, l, func(at Operating) (Operating, Result, figure.Ended, error) {
		r, e, err := m.Point(at)
		return at, r, e, err
	}, func(r Result) float64 { return r.TorqueNm })
}

// LeastFuel finds the cam positions of least fuel at a speed and torque; the
// manifold pressure comes out. The positions of the state are not read.
func (m *Model) LeastFuel(op Operating, torqueNm float64, l Limits) (Cams, figure.Ended, error) {
	return m.LeastFuelIn(op, torqueNm, l, throttled(op))
}

// LeastFuelIn is LeastFuel where what feeds the manifold changes with its
// pressure, as with a charger.
func (m *Model) LeastFuelIn(op Operating, torqueNm float64, l Limits, span PressureSpan) (Cams, figure.Ended, error) {
	guess := op.ManifoldPa
	return m.seekCams(op, l, func(at Operating) (Operating, Result, figure.Ended, error) {
		at.ManifoldPa = guess
		found, r, e, err := m.ForTorqueIn(at, torqueNm, span)
		if err == nil && e.OK {
			guess = found.ManifoldPa
		}
		return found, r, e, err
	}, func(r Result) float64 { return -r.FuelKgPerS })
}

// PressureSpan is where a manifold pressure may be sought, and what goes with it.
type PressureSpan struct {
	LowPa, HighPa float64
	// Set gives a state its manifold pressure, with all that changes with it.
	Set func(op *Operating, manifoldPa float64)
}

// throttled seeks below the pressure before the throttle.
func throttled(op Operating) PressureSpan {
	return PressureSpan{15e3, 0.99 * op.UpstreamPa, func(op *Operating, pa float64) { op.ManifoldPa = pa }}
}

type attempt func(Operating) (Operating, Result, figure.Ended, error)

// seekCams tries positions and keeps the best that the limits bear. A position
// at which the charge doesn't burn or the cycles don't settle is passed over.
func (m *Model) seekCams(op Operating, l Limits, try attempt, worth func(Result) float64) (best Cams, ended figure.Ended, err error) {
	if err := l.Check(); err != nil {
		return Cams{}, figure.Ended{}, err
	}
	op.IntakeAdvanceRad, op.ExhaustRetardRad = 0, 0
	if err := op.check(&m.engine); err != nil {
		return Cams{}, figure.Ended{}, err
	}
	most, last := math.Inf(-1), error(nil)
	one := func(intake, exhaust float64) bool {
		at := op
		at.IntakeAdvanceRad, at.ExhaustRetardRad = intake, exhaust
		at, r, e, err := try(at)
		best.Tried++
		switch {
		case err != nil:
			last = err
		case !e.OK:
			last = fmt.Errorf("%s", e.Why)
		case !l.Bears(r):
			last = fmt.Errorf("residual gas %.3g of at most %.3g, %s of at most %s from spark to nine tenths burned", r.ResidualFrac, l.MostResidualFrac, quantity.Format(r.BurnRad, "°", 3), quantity.Format(l.MostBurnRad, "°", 3))
		case worth(r) > most:
			most, best.Operating, best.Result, ended = worth(r), at, r, e
			return true
		}
		return false
	}
	di, de := m.engine.Intake.PhaserRad/intakeGrid, m.engine.Exhaust.PhaserRad/exhaustGrid
	for i := range steps(di, intakeGrid) {
		for j := range steps(de, exhaustGrid) {
			one(di*float64(i), de*float64(j))
		}
	}
	if math.IsInf(most, -1) {
		return Cams{}, figure.Ended{Steps: best.Tried, Residual: math.Inf(1), Why: fmt.Sprintf("no cam position holds: %v", last)}, nil
	}
	m.refine(&best, di, de, one)
	return best, ended, nil
}

// steps is how many positions a travel has.
func steps(width float64, n int) int {
	if width == 0 {
		return 1
	}
	return n + 1
}

// refine tries the neighbours of the best at half the grid's spacing.
func (m *Model) refine(best *Cams, di, de float64, one func(intake, exhaust float64) bool) {
	for range halvings {
		di, de = di/2, de/2
		at := best.Operating
		for _, d := range [][2]float64{{-1, 0}, {1, 0}, {0, -1}, {0, 1}} {
			i, e := at.IntakeAdvanceRad+d[0]*di, at.ExhaustRetardRad+d[1]*de
			if i < 0 || e < 0 || i > m.engine.Intake.PhaserRad || e > m.engine.Exhaust.PhaserRad || d[0]*di+d[1]*de == 0 {
				continue
			}
			one(i, e)
		}
	}
}

// ForTorque finds the manifold pressure at which the engine gives a torque; the
// pressure of the state is a first guess. Torque is nearly linear in it, so that
// few steps do.
func (m *Model) ForTorque(op Operating, torqueNm float64) (Operating, Result, figure.Ended, error) {
	return m.ForTorqueIn(op, torqueNm, throttled(op))
}

// ForTorqueIn is ForTorque where what feeds the manifold changes with its
// pressure, as with a charger.
func (m *Model) ForTorqueIn(op Operating, torqueNm float64, span PressureSpan) (Operating, Result, figure.Ended, error) {
	op.WideOpen = false
	low, high := span.LowPa, span.HighPa
	point := func(pa float64) (Result, figure.Ended, error) {
		span.Set(&op, pa)
		return m.Point(op)
	}
	pa := math.Max(low, math.Min(high, op.ManifoldPa))
	r, e, err := point(pa)
	slope := m.engine.Geometry.DisplacementM3() / (4 * math.Pi) * 10.5 / 1e0 // N·m per Pa of charge, a first guess
	for k := 0; k < 12 && err == nil && e.OK; k++ {
		off := torqueNm - r.TorqueNm
		if math.Abs(off) < 1e-3*math.Abs(torqueNm)+0.02 {
			return op, r, e, nil
		}
		next := math.Max(low, math.Min(high, pa+off/slope))
		if next == pa {
			side := "least"
			if off > 0 {
				side = "most"
			}
			return op, Result{}, figure.Ended{Steps: k + 1, Residual: math.Abs(off / math.Max(math.Abs(torqueNm), 1)), Why: fmt.Sprintf(
				"torque %.4g N·m is out of reach: %.4g N·m is the %s, at %.4g Pa in the manifold", torqueNm, r.TorqueNm, side, pa)}, nil
		}
		var after Result
		if after, e, err = point(next); err != nil || !e.OK {
			break
		}
		if s := (after.TorqueNm - r.TorqueNm) / (next - pa); s > slope/4 && s < slope*4 {
			slope = s
		}
		pa, r = next, after
	}
	if err == nil && e.OK {
		e = figure.Ended{Steps: 12, Residual: math.Abs(torqueNm-r.TorqueNm) / math.Max(math.Abs(torqueNm), 1), Why: fmt.Sprintf("the manifold pressure for %.4g N·m was not found in 12 steps", torqueNm)}
	}
	return op, Result{}, e, err
}
