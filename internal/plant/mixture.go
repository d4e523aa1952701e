package plant

import "math"

// FilmFrac returns the share of the injected fuel that lands on the walls of
// the port.
//
//	X = 0.62 − 0.40 (T − 263 K)/130 K   within 0.22 … 0.65
//
// where T is the temperature of the port and the back of the intake valve.
//
// Valid: port injection onto a closed valve; 233 … 423 K, held at its ends outside.
// Accuracy: a third of the share between ports and injectors.
// Source: two-parameter film after Aquino, SAE 810494, 1981; level and slope from memory.
// Errors: none.
func FilmFrac(portK float64) float64 { return filmFrac(portK) }

func filmFrac(t float64) float64 {
	return math.Max(0.22, math.Min(0.65, 0.62-0.40*(t-263)/130))
}

// FilmS returns the time in which the film on the walls of the port gives up
// its fuel.
//
//	τ = 0.25 s · exp((393 K − T)/60 K)   at most 3 s
//
// Valid: as FilmFrac.
// Accuracy: a factor of 1.5.
// Source: two-parameter film after Aquino, SAE 810494, 1981; 0.25 s hot after Hendricks and Sorenson, SAE 900616, 1990 (both from memory).
// Errors: none.
func FilmS(portK float64) float64 { return filmS(portK) }

func filmS(t float64) float64 {
	return math.Min(3, 0.25*math.Exp((393-t)/60))
}

// vapourAt is the share of summer petrol that is vapour in the charge when the
// spark comes, by temperature of the port: the rest is washed through. From
// memory. What a cold engine is given beside it fills the film, which is counted
// apart.
var vapourAt = [...]float64{0.38, 0.45, 0.53, 0.62, 0.70, 0.78, 0.85, 0.91, 0.95, 0.98, 1} // −20 °C, each 10 K

// VapourFrac returns the share of the fuel that is vapour when the spark comes.
//
//	f = 0.38, 0.45, 0.53, 0.62, 0.70, 0.78, 0.85, 0.91, 0.95, 0.98, 1   at −20 … 80 °C
//
// drawn straight between.
//
// Valid: petrol of a summer grade; held at its ends outside.
// Accuracy: a quarter of the share between fuels and ports.
// Source: from memory, from the enrichment that cold engines are given.
// Errors: none.
func VapourFrac(portK float64) float64 { return vapourFrac(portK) }

func vapourFrac(t float64) float64 {
	x := math.Max(0, math.Min(float64(len(vapourAt)-1)-1e-9, (t-253.15)/10))
	i := int(x)
	return vapourAt[i] + (x-float64(i))*(vapourAt[i+1]-vapourAt[i])
}

// burnsFrac is the share of charges that burn: none beyond what a flame crosses,
// all between (from memory: 0.5 to 1.45 in an engine, fading over a tenth).
func burnsFrac(lambda float64) float64 {
	switch {
	case lambda > 1.4:
		return math.Max(0, 1-(lambda-1.4)/0.15)
	case lambda < 0.55:
		return math.Max(0, 1-(0.55-lambda)/0.15)
	}
	return 1
}

// workRatio is breathing.LambdaWorkRatio drawn on beyond 0.7 … 1.3 by its own
// laws.
func workRatio(lambda float64) float64 {
	if lambda > 1 {
		return (1 + 0.3*(lambda-1)) / lambda
	}
	d := (lambda - 0.88) / 0.12
	return math.Max(0, 1.04-0.04*d*d)
}

// sparkFrac is breathing.SparkWorkFrac, not below 0.
func sparkFrac(off float64) float64 {
	d := math.Abs(off)
	if d <= 0.5 {
		return 1 - 1.3*d*d
	}
	return math.Max(0, 0.675-1.3*(d-0.5))
}

// sparks reports whether the coil was charged enough.
func (p *Plant) sparks(dwellS float64) bool {
	c := &p.e.Coil
	amps := p.busV / c.Ohm * (1 - math.Exp(-dwellS*c.Ohm/c.Henry))
	return c.Henry*amps*amps/2 >= c.LeastJ
}

// Prime gives every port one pulse before the engine turns.
func (p *Plant) Prime(pulseS float64) {
	kg := p.injectedKg(pulseS) * float64(p.e.Geometry.CylinderCount)
	p.filmKg += kg
	p.injected += kg
}

// vacuumK is how much warmer a port counts for the fuel's vapour when the manifold
// is drawn empty (from memory).
const vacuumK = 25

// injectedKg is what one pulse brings.
func (p *Plant) injectedKg(pulseS float64) float64 {
	j := &p.e.Injector
	volts := math.Max(5, p.busV-j.FeedV)
	across := math.Max(0, p.acrossPa())
	dead := j.DeadS[1] + (j.DeadS[0]-j.DeadS[1])*(1/volts-1.0/14)/(1.0/8-1.0/14)
	dead *= math.Max(0.5, 1+liftPerBar*p.truth.LiftRatio*(across-j.RatedPa)/1e5)
	open := pulseS - dead
	if open <= 0 {
		return 0
	}
	open += bendMostS * p.truth.ShortRatio * math.Exp(-open/bendS) * math.Min(1, open/bendS)
	return math.Max(0, open) * j.FlowKgPerS * p.truth.FlowRatio * math.Sqrt(across/j.SetPa) * (1 - p.railVapour)
}

// What a needle does with the pressure that it lifts against, and with pulses too
// short to lift it fully (from memory: 0.04 to 0.12 a bar; open after 0.3 to 0.6 ms).
const (
	liftPerBar = 0.08
	bendMostS  = 0.15e-3
	bendS      = 0.35e-3
)

// The rail of an engine that was stopped hot holds vapour, which the injectors
// meter as if it were fuel, until fresh fuel has cooled it (from memory: a tenth
// to a quarter of the flow, gone in half a minute).
const (
	soakedK      = 353.15 // from where there is vapour
	soakPerK     = 0.008
	soakMostFrac = 0.25
	soakS        = 8.0 // of running in which it falls to 1/e
)

// soak is the share of vapour in the rail of an engine that is found hot.
func (d *Day) soak() float64 {
	return math.Max(0, math.Min(soakMostFrac, soakPerK*(d.CoolantK-soakedK)))
}

// acrossPa is the pressure across the injectors.
func (p *Plant) acrossPa() float64 {
	return p.railPa + p.day.AmbientPa - p.manifoldPa
}
