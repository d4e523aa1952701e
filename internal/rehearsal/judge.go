package rehearsal

import (
	"fmt"
	"math"
)

// Start is what came of starting.
type Start struct {
	CrankedAtS      float64 // when the starter took hold; −1 never
	FiredAfterS     float64 // from there until every cylinder had fired; −1 never
	RanAfterS       float64 // from there until the engine ran by itself; −1 never
	IdleOffRadPerS  float64 // greatest distance from the wanted idle, of means over 0.5 s, from 20 s on
	IdleMeanRadPerS float64 // mean distance
	Stalls          int
	IdleS           float64 // how long idle was watched
	LeastBusV       float64
}

// judge watches a start.
type judge struct {
	s       Start
	run     bool
	sum     float64
	n       int
	meanSum float64
	meanN   int
}

func (j *judge) reset() {
	*j = judge{s: Start{CrankedAtS: -1, FiredAfterS: -1, RanAfterS: -1, LeastBusV: 99}}
}

// fromS is when idle has to hold, after cranking began.
const fromS = 20

func (j *judge) look(r *Run) {
	t := r.Plant.True()
	s := &j.s
	if s.CrankedAtS < 0 {
		if r.cmd.StarterOn {
			s.CrankedAtS = t.TimeS
		}
		return
	}
	s.LeastBusV = math.Min(s.LeastBusV, t.BusV)
	since := t.TimeS - s.CrankedAtS
	if s.FiredAfterS < 0 && t.FirstFireS >= 0 {
		s.FiredAfterS = t.FirstFireS - s.CrankedAtS
	}
	idle := r.setup.Engine.IdleRadPerS
	switch {
	case !j.run && t.SpeedRadPerS > 0.7*idle && !r.cmd.StarterOn:
		j.run = true
		if s.RanAfterS < 0 {
			s.RanAfterS = since
		}
	case j.run && t.SpeedRadPerS < 0.25*idle:
		j.run = false
		s.Stalls++
	}
	begins := r.Driver.BeginsS()
	if since < fromS || !j.run && s.RanAfterS < 0 || r.act.PedalFrac > 0 || r.act.Gear != 0 || (begins >= 0 && t.TimeS > begins) {
		return
	}
	target := r.Control.IdleTargetRadPerS()
	off := t.SpeedRadPerS - target
	s.IdleS += 0.01
	j.sum += off
	if j.n++; j.n == 50 {
		if m := j.sum / 50; math.Abs(m) > math.Abs(s.IdleOffRadPerS) {
			s.IdleOffRadPerS = m
		}
		j.sum, j.n = 0, 0
	}
	j.meanSum += off
	j.meanN++
	s.IdleMeanRadPerS = j.meanSum / float64(j.meanN)
}

// Start is what came of starting so far.
func (r *Run) Start() Start { return r.judge.s }

const rpm = math.Pi / 30

// Limits of a good start: fired within 3 s of cranking, idle within ± 100 rpm
// after 20 s.
const (
	mostFireS   = 3.0
	mostIdleOff = 100 * rpm
)

// Wrong says why a start is none; empty for a good one.
func (s Start) Wrong() string {
	switch {
	case s.CrankedAtS < 0:
		return "never cranked"
	case s.FiredAfterS < 0:
		return "did not fire"
	case s.FiredAfterS > mostFireS:
		return fmt.Sprintf("fired after %.1f s of cranking", s.FiredAfterS)
	case s.RanAfterS < 0:
		return "fired but did not run by itself"
	case s.Stalls > 0:
		return fmt.Sprintf("stalled %d times", s.Stalls)
	case s.IdleS < 5:
		return "did not come to idle"
	case math.Abs(s.IdleOffRadPerS) > mostIdleOff:
		return fmt.Sprintf("idle %+.0f rpm off after 20 s", s.IdleOffRadPerS/rpm)
	}
	return ""
}
