package loom

import (
	"math"

	"fettle/internal/catalogue"
	"fettle/internal/design"
)

// perState is a number for each of design.StateNames.
type perState [len(design.StateNames)]float64

func (a perState) plus(b perState) perState {
	for i := range a {
		a[i] += b[i]
	}
	return a
}

func (a perState) most() float64 {
	m := 0.0
	for _, v := range a {
		m = math.Max(m, v)
	}
	return m
}

// draw is what is drawn in each state: the mean current, and the variance of its
// pulses about it. Pulses of different devices are taken as independent, so that
// their variances add.
type draw struct{ mean, variance perState }

func (a draw) plus(b draw) draw {
	return draw{a.mean.plus(b.mean), a.variance.plus(b.variance)}
}

func (a draw) meanA() float64 { return a.mean.most() }

// square is the mean square of the current in a state, which is what heats.
func (a *draw) square(state int) float64 { return a.mean[state]*a.mean[state] + a.variance[state] }

func (a draw) heatA() float64 {
	m := 0.0
	for i := range a.mean {
		m = math.Max(m, HeatA(a.mean[i], a.variance[i]))
	}
	return m
}

// needOf sums what device terminals draw.
func (p *planner) needOf(ends []string) draw {
	var need draw
	for _, end := range ends {
		need = need.plus(p.draws[end])
	}
	return need
}

// shareGround adds to the controller's ground terminals what its drivers bring
// in from the devices, in equal parts.
func (p *planner) shareGround() {
	var sum draw
	for _, e := range p.ends(func(t *catalogue.Terminal) bool { return t.Role == "output" && t.Needs != Terminal61 }) {
		sum = sum.plus(p.draws[e.end()])
	}
	var grounds []string
	for _, t := range p.ctl.Part.Terminals {
		if t.Value.Role == "ground" {
			grounds = append(grounds, p.ctl.Name+" "+t.Name)
		}
	}
	n := float64(max(1, len(grounds)))
	for i := range sum.mean {
		sum.mean[i] /= n
		sum.variance[i] /= n * n
	}
	for _, g := range grounds {
		p.draws[g] = p.draws[g].plus(sum)
	}
}

// addDraw notes what a load asks of its two terminals in each state.
func (p *planner) addDraw(it design.Item, l *catalogue.Load) {
	mean, square := nominalA(it.Part, l)
	var s draw
	for i, name := range design.StateNames {
		for _, on := range l.On {
			if on == name {
				s.mean[i], s.variance[i] = mean, math.Max(0, square-mean*mean)
			}
		}
	}
	for _, t := range []string{l.From, l.To} {
		key := it.Name + " " + t
		p.draws[key] = p.draws[key].plus(s)
	}
}

// Shares of the time that pulsed loads are taken to be on when wires are sized;
// the solve computes them (common practice: the injector's usual limit, and a
// coil charged for a third of the time at the speed limit).
const (
	sizingInjectorFrac = 0.85
	sizingCoilFrac     = 0.33
	sizingStarterFrac  = 0.55
)

// nominalA is a load's current at NominalV while it is on, averaged over its
// pulses, and its mean square; used to size fuses and wires only.
func nominalA(part *catalogue.Part, l *catalogue.Load) (mean, square float64) {
	if l.Model == "coil" { // rises from 0 to where it is cut
		i := part.Coil.ChargeA.SI
		return i / 2 * sizingCoilFrac, i * i / 3 * sizingCoilFrac
	}
	on, duty := onA(part, l), 1.0
	switch {
	case l.Model == "injector":
		duty = sizingInjectorFrac
	case l.DutyFrac != nil && l.Model != "pump" && l.Model != "starter":
		duty = l.DutyFrac.SI
	}
	return on * duty, on * on * duty
}

// onA is a load's current at NominalV while it flows and has settled.
func onA(part *catalogue.Part, l *catalogue.Load) float64 {
	switch l.Model {
	case "resistance", "injector":
		return NominalV / l.Ohm.SI
	case "current":
		return l.CurrentA.SI
	case "power":
		return l.PowerW.SI / NominalV
	case "pump":
		return part.Pump.CurrentA.SI
	case "coil":
		return part.Coil.ChargeA.SI
	case "starter":
		return part.Starter.StallA.SI * sizingStarterFrac
	}
	return 0
}

// pulse is what a load draws as it is switched on.
func (p *planner) pulse(part *catalogue.Part, l *catalogue.Load) (times, lastsS float64) {
	for i := range p.d.Cat.Scheme.Inrush {
		if v := &p.d.Cat.Scheme.Inrush[i]; v.Name == part.Kind && l.Model != "coil" {
			return v.Value.TimesRatio.SI, v.Value.LastsS.SI
		}
	}
	return 1, 0
}

// limitA is the most that a load lets through when its far side is shorted to
// ground.
func (p *planner) limitA(part *catalogue.Part, l *catalogue.Load) float64 {
	if l.Model == "coil" {
		return NominalV / part.Coil.Ohm.SI
	}
	times, _ := p.pulse(part, l)
	return onA(part, l) * times
}
