package enginemap

import (
	"context"
	"math"

	"fettle/internal/cycle"
	"fettle/internal/figure"
)

// camSpeeds is at how many speeds the cams are sought, partLoads the torques of
// part load they are sought for, as shares of that with the throttle open.
const camSpeeds = 5

var partLoads = []float64{0.25, 0.45, 0.70}

// openSeeks and partSeeks are what a search of cams counts in the progress.
const openSeeks, partSeeks = 8, 20

// camLimits are what a running engine bears (common practice).
var camLimits = cycle.Limits{MostResidualFrac: 0.25, MostBurnRad: 75 * degree}

// cams are the positions found at one speed, by rising pressure; the last is that
// of the open throttle.
type cams struct {
	speed float64
	at    []camsAt
}

type camsAt struct{ pa, intake, exhaust float64 }

// seekCams finds the cams: all speeds with the throttle open, then all the part
// loads of all speeds.
func (s *solver) seekCams(ctx context.Context) error {
	e := s.m.Engine()
	moves := e.Intake.PhaserRad > 0 || e.Exhaust.PhaserRad > 0
	speeds := s.r.TorqueNm.X.At
	low, high := math.Max(s.in.IdleRadPerS, speeds[0]), math.Min(s.in.MaxRadPerS, speeds[len(speeds)-1])
	s.cams = make([]cams, camSpeeds)
	open := make([]cycle.Cams, camSpeeds)
	err := s.each(ctx, camSpeeds, func(i int) error {
		speed := low + (high-low)*float64(i)/(camSpeeds-1)
		s.cams[i].speed = speed
		defer s.count(openSeeks)
		if !moves {
			return nil
		}
		best, ended, err := s.m.MostTorque(operating(s.in, speed, s.in.WideOpenPa(speed)), camLimits)
		if err == nil && ended.OK { // else the cams stay parked
			open[i] = best
		}
		return err
	})
	if err != nil {
		return err
	}
	part := make([]camsAt, camSpeeds*len(partLoads))
	if err := s.each(ctx, len(part), func(k int) error {
		defer s.count(partSeeks)
		i, load := k/len(partLoads), partLoads[k%len(partLoads)]
		full := open[i].Result.TorqueNm
		if !moves || full <= 0 {
			return nil
		}
		speed := s.cams[i].speed
		best, ended, err := s.leastFuel(speed, load, full)
		if err == nil && ended.OK {
			part[k] = camsAt{best.Operating.ManifoldPa, best.Operating.IntakeAdvanceRad, best.Operating.ExhaustRetardRad}
		}
		if cycle.DoesNotBurn(err) {
			err = nil // parked
		}
		return err
	}); err != nil {
		return err
	}
	for i := range s.cams {
		s.cams[i].gather(part[i*len(partLoads):(i+1)*len(partLoads)], s.in.WideOpenPa(s.cams[i].speed), &open[i].Operating)
	}
	return nil
}

// reserveFrac is how much of the pressure between that of parked cams and the
// open throttle least fuel may use up: what is left answers the pedal, and the
// torque does not hang on a degree of the cams (common practice).
const reserveFrac = 0.25

// leastFuel finds the cams of least fuel at a share of the torque with the
// throttle open.
func (s *solver) leastFuel(speed, load, fullNm float64) (cycle.Cams, figure.Ended, error) {
	top := 0.99 * s.in.WideOpenPa(speed)
	span := cycle.PressureSpan{LowPa: 15e3, HighPa: top, Set: func(op *cycle.Operating, pa float64) {
		next := operating(s.in, speed, pa)
		next.IntakeAdvanceRad, next.ExhaustRetardRad = op.IntakeAdvanceRad, op.ExhaustRetardRad
		*op = next
	}}
	parked, _, ended, err := s.m.ForTorqueIn(operating(s.in, speed, math.Min(load*top+15e3, top)), load*fullNm, span)
	if err != nil || !ended.OK {
		return cycle.Cams{}, ended, err
	}
	span.HighPa = parked.ManifoldPa + reserveFrac*(top-parked.ManifoldPa)
	return s.m.LeastFuelIn(parked, load*fullNm, camLimits, span)
}

// Below idleFrac of the open throttle's pressure the cams are parked, whatever
// was found: there cycles differ most (common practice); they go back to it from
// the least load that they were sought for.
const idleFrac, backFrac = 0.30, 0.80

// gather puts what was found in order, between the parked cams of idle and those
// of the open throttle.
func (c *cams) gather(part []camsAt, openPa float64, open *cycle.Operating) {
	parked := idleFrac * openPa
	for _, p := range part {
		if p.pa == 0 || p.pa >= 0.98*openPa {
			continue
		}
		if len(c.at) == 0 {
			parked = math.Max(parked, backFrac*p.pa)
			c.at = append(c.at, camsAt{pa: math.Min(parked, 0.97*p.pa)})
		}
		if p.pa > c.at[len(c.at)-1].pa {
			c.at = append(c.at, p)
		}
	}
	if len(c.at) == 0 { // taken back evenly
		c.at = append(c.at, camsAt{pa: 0.4 * openPa})
	}
	c.at = append(c.at, camsAt{openPa, open.IntakeAdvanceRad, open.ExhaustRetardRad})
}

// of are the positions at a pressure.
func (c *cams) of(pa float64) (intake, exhaust float64) {
	i := 1
	for i < len(c.at)-1 && pa > c.at[i].pa {
		i++
	}
	a, b := c.at[i-1], c.at[i]
	u := math.Max(0, math.Min(1, (pa-a.pa)/(b.pa-a.pa)))
	return a.intake + u*(b.intake-a.intake), a.exhaust + u*(b.exhaust-a.exhaust)
}

// at is where the cams stand at a speed and pressure.
func (s *solver) at(speed, pa float64) (intake, exhaust float64) {
	if speed < s.in.IdleRadPerS {
		return 0, 0
	}
	c := s.cams
	i := 1
	for i < len(c)-1 && speed > c[i].speed {
		i++
	}
	u := math.Max(0, math.Min(1, (speed-c[i-1].speed)/(c[i].speed-c[i-1].speed)))
	share := pa / s.in.WideOpenPa(speed) // loads are alike as shares of the open throttle's pressure
	i0, e0 := c[i-1].of(share * s.in.WideOpenPa(c[i-1].speed))
	i1, e1 := c[i].of(share * s.in.WideOpenPa(c[i].speed))
	return i0 + u*(i1-i0), e0 + u*(e1-e0)
}

// rise sees to it that torque rises with the pressure at one speed, as a throttle
// and its controller take for granted: where the cams move so far from cell to
// cell that they take more torque than the pressure brings, they go by halves
// towards where they stood in the cell before.
func (s *solver) rise(row int, misfires []bool) error {
	g := &s.r.TorqueNm
	if g.X.At[row] < s.in.IdleRadPerS {
		return nil
	}
	first, last := g.Cell(row, 0), g.Cell(row, g.Columns()-1)
	least := leastRise * (g.Z[last] - g.Z[first]) / float64(g.Columns()-1)
	for k := first + 1; k <= last; k++ {
		inBefore, exBefore := s.r.IntakeRad.Z[k-1], s.r.ExhaustRad.Z[k-1]
		for range 3 {
			in, ex := s.r.IntakeRad.Z[k], s.r.ExhaustRad.Z[k]
			if misfires[k-1] || misfires[k] || g.Z[k] >= g.Z[k-1]+least || in == inBefore && ex == exBefore {
				break
			}
			if _, err := s.cellAt(k, (in+inBefore)/2, (ex+exBefore)/2); err != nil {
				return err
			}
		}
	}
	return nil
}

// leastRise is the least rise of the torque from cell to cell, as a share of the
// row's mean.
const leastRise = 0.2
