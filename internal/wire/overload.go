package wire

import (
	"fmt"
	"math"
)

// Overload is a wire in its place and what its insulation stands.
type Overload struct {
	Wire    Conductor
	Place   Place
	StartK  float64 // copper temperature when the overload begins
	SteadyK float64 // the insulation's temperature for life
	OverK   float64 // the insulation's temperature for hours: SteadyK + 25 K by ISO 6722, SteadyK to be strict
	ShortK  float64 // the insulation's temperature for 5 s
}

// Check tells whether an overload can be computed with.
func (o Overload) Check() error {
	if err := o.Wire.Check(); err != nil {
		return err
	}
	if err := o.Place.Check(); err != nil {
		return err
	}
	if !(o.Place.AmbientK <= o.StartK && o.StartK <= o.SteadyK && o.SteadyK > o.Place.AmbientK && o.OverK >= o.SteadyK && o.ShortK > o.OverK && o.ShortK <= hottestK) {
		return fmt.Errorf("temperatures out of order: ambient %.4g, start %.4g, steady limit %.4g, overload limit %.4g, short limit %.4g °C must rise up to 500 °C",
			o.Place.AmbientK-273.15, o.StartK-273.15, o.SteadyK-273.15, o.OverK-273.15, o.ShortK-273.15)
	}
	return nil
}

// Damage is how long a wire stands what current in its place. It is computed
// once, from [Overload.Damage], and asked for many currents.
type Damage struct {
	// SteadyA is the wire's ampacity: what it carries for good.
	SteadyA float64

	heatJPerMK float64 // of the copper of one metre
	steps      []heatStep
	over       int // index of the step at the limit for hours
}

// heatStep is the wire at one temperature on its way up.
type heatStep struct{ tempK, ohmPerM, lossWPerM float64 }

// steps on the way from the start to the limit for hours, and on to the
// short-time limit. Between two of them loss and resistance are taken as
// straight: an error in time below 0.2 % but close above the ampacity.
const (
	stepsToOver  = 12
	stepsToShort = 8
)

// Damage follows a wire's heat from its start to both its limits.
func (o Overload) Damage() (Damage, error) {
	if err := o.Check(); err != nil {
		return Damage{}, err
	}
	s := o.Place.seat(o.Wire)
	ampacity, err := o.Place.AmpacityA(o.Wire, o.SteadyK)
	if err != nil {
		return Damage{}, err
	}
	d := Damage{SteadyA: ampacity, heatJPerMK: copperHeatJPerM3K * o.Wire.AreaM2}
	add := func(fromK, toK float64, n int) {
		for i := range n {
			x := fromK + (toK-fromK)*float64(i+1)/float64(n)
			t, own := s.at(x)
			d.steps = append(d.steps, heatStep{t, ResistanceOhm(1, o.Wire.R20OhmPerM, t), own})
		}
	}
	start, over, short := s.surfaceK(o.StartK), s.surfaceK(o.OverK), s.surfaceK(o.ShortK)
	add(start, start, 1)
	if over > start {
		add(start, over, stepsToOver)
	}
	d.over = len(d.steps) - 1
	add(over, short, stepsToShort)
	return d, nil
}

// HeatingS returns the time a current takes to heat a wire's copper from its start to its limit, in its place; infinite when it settles below.
//
//	t = ∫ c·A/(I²·R′(T) − q(T)) dT
//
// where c = 3.45·10⁶ J/(m³·K), A the copper's area, q the heat that one metre
// sheds at the copper temperature T as in [Place.TempK], and the integral runs
// from the start to the limit for hours or, with toShort, the short-time limit.
//
// Valid: a current of at least 0. Close to what the wire carries for good the
// time grows without bound; a long duration gives the adiabatic law.
// Accuracy: 0.2 % of the integral. On the safe side by 20 … 50 % in the overload
// range, because the heat taken up by the insulation is left out.
// Source: first law for one metre of conductor; c from IEC 60949.
// Errors: none
func (d *Damage) HeatingS(currentA float64, toShort bool) float64 {
	last := d.over
	if toShort {
		last = len(d.steps) - 1
	}
	t := 0.0
	i2 := currentA * currentA
	p := d.steps[0]
	fp := i2*p.ohmPerM - p.lossWPerM
	if !(fp > 0) {
		return math.Inf(1)
	}
	for _, q := range d.steps[1 : last+1] {
		fq := i2*q.ohmPerM - q.lossWPerM
		if !(fq > 0) {
			return math.Inf(1)
		}
		dT := q.tempK - p.tempK
		if r := fq/fp - 1; math.Abs(r) < 1e-3 { // ln(1+r)/r, to 1e-9
			t += dT / fp * (1 - r/2 + r*r/3)
		} else {
			t += dT * math.Log1p(r) / (fq - fp)
		}
		p, fp = q, fq
	}
	return t * d.heatJPerMK
}

// WithstandS returns how long a wire stands a current: for good up to its ampacity (infinite), else until its insulation has its limit.
//
//	t = max(min(t_over, 240 h), min(t_short, 5 s))
//
// where t_over and t_short are the times of [Damage.HeatingS] to the insulation's
// limit for hours and to its short-time limit.
//
// Valid: a current of at least 0. The time is infinite at and below ampacity.
// Accuracy: that of [Damage.HeatingS], on the safe side.
// Source: IEC 60949 and IEC 60724 for the short time, which hold up to 5 s;
// ISO 6722 tests insulation for 240 h at 25 K above its class, from memory.
// Errors: none
func (d *Damage) WithstandS(currentA float64) float64 {
	if currentA <= d.SteadyA {
		return math.Inf(1)
	}
	slow := math.Min(d.HeatingS(currentA, false), longestS)
	return math.Max(slow, math.Min(d.HeatingS(currentA, true), adiabaticS))
}
