package control

import "math"

// fuel sets the pulse.
func (c *Controller) fuel(in Sensors, running bool) {
	celsius := in.CoolantK - kelvin
	rpm, kpa := c.speed*toRpm, math.Max(1, (c.pa+c.rise()*c.lead())/1e3)
	ve := look(&c.t.VolEff, rpm, kpa) * look(&c.Trims, rpm, kpa)
	air := ve * kpa * 1e3 * c.s.SweptM3 / (airR * in.ChargeK)
	target := c.target(rpm, kpa)
	c.cmd.LambdaTargetRatio = target
	c.overrunCut(in, running)
	// cut before the film is reckoned: a wall that gets nothing dries
	c.cmd.FuelOn = c.synced && !c.s.FireClosed && c.stopped == "" && !c.overrun && !c.speedCut && c.cutS == 0 && !c.pressureCut && !c.boostCut
	var kg, warm float64
	switch {
	case !running:
		kg = air / c.s.StoichRatio * look(&c.t.Crank, celsius, 0) * (1 + c.hot)
		if in.PedalFrac > c.s.Rules.FloodPedalFrac { // a flooded engine is cranked dry
			c.cmd.FuelOn = false
		}
		c.soak(kg, celsius)
		c.trim = 0
	default:
		c.afterStart -= c.afterStart * PeriodS / math.Max(0.5, look(&c.t.AfterStartTime, celsius, 0))
		warm = look(&c.t.WarmUp, celsius, 0)*(1+c.afterStart) - 1
		hot := c.hot * math.Exp(-c.runS/c.s.Rules.HotFadeS)
		kg = air / (c.s.StoichRatio * target) * (1 + warm) * (1 + hot) * (1 + c.trim)
		kg = c.wet(kg, celsius)
	}
	if c.cmd.FuelOn && running && !c.sparkCut { // unburned fuel says nothing
		c.fuelledS += PeriodS
	} else {
		c.fuelledS = 0
	}
	c.lambda(in, running, warm, rpm, kpa)
	c.cmd.TrimRatio = 1 + c.trim
	c.cmd.PulseS = c.pulseS(in, kg)
}

// pulseS is how long an injector is switched on for a mass: as long as it flows by
// the table of its flow at the pressure across it, with what short pulses lack, and
// the dead time at voltage and pressure.
func (c *Controller) pulseS(in Sensors, kg float64) float64 {
	across := c.s.SetPa
	if !c.s.AcrossIsSet {
		across = math.Max(0.3*c.s.SetPa, c.s.SetPa+in.AmbientPa-c.pa)
	}
	flow := c.s.FlowKgPerS * math.Sqrt(across/c.s.SetPa)
	if len(c.t.InjectorFlow.Z) > 0 {
		flow = 1e-3 * look(&c.t.InjectorFlow, across/1e3, 0)
	}
	open := math.Max(0, kg) / flow
	if open < c.s.Rules.LeastPulseS/2 { // the film gives enough
		return 0
	}
	open = math.Max(open, c.s.Rules.LeastPulseS)
	if len(c.t.ShortPulse.Z) > 0 {
		open += 1e-3 * look(&c.t.ShortPulse, 1e3*open, 0)
	}
	return open + c.deadS(in, across)
}

// deadS is the dead time at the voltage and the pressure across.
func (c *Controller) deadS(in Sensors, acrossPa float64) float64 {
	dead := look(&c.t.DeadTime, in.BatteryV-c.s.FeedV, 0) * 1e-3
	if len(c.t.DeadPressure.Z) > 0 {
		dead *= look(&c.t.DeadPressure, acrossPa/1e3, 0)
	}
	return dead
}

// lead is how far ahead the manifold's pressure is taken: what sensor, filter and
// half a step are behind, and the half turn between a pulse and the shutting of
// the intake valve it is for.
func (c *Controller) lead() float64 {
	if c.speed < 30 {
		return 0
	}
	return measuredS + math.Min(0.04, math.Pi/c.speed)
}

// measuredS is a sensor of 8 ms (common practice), the filter of rate and half a step.
const measuredS = 0.008 + PeriodS*(1-filterFrac)/filterFrac + PeriodS/2

// rise is how fast the manifold's pressure moves, nothing below what noise and
// the pulses of single cylinders make of it (common practice: a threshold on the
// pressure's rate).
func (c *Controller) rise() float64 {
	const least = 40e3
	return math.Copysign(math.Max(0, math.Abs(c.paFast)-least), c.paFast)
}

// target is the lambda aimed at. Until logs have borne the tables out it is
// richer under load, by the table of that name. The mixture of load keeps pistons
// and valves cool under the driver's load; an engine that labours at its cold idle
// makes no such heat, and enriching it on top of what the cold is given leaves it
// too rich to burn, so that it labours more. With the pedal up the mixture is
// that of little load.
func (c *Controller) target(rpm, kpa float64) float64 {
	if c.idling {
		return look(&c.t.Lambda, rpm, c.t.Lambda.Y.At[0])
	}
	t := look(&c.t.Lambda, rpm, kpa)
	if c.learned {
		return t
	}
	return t / look(&c.t.SafeFuel, rpm, kpa)
}

// soak follows the film while the starter turns the engine.
func (c *Controller) soak(kg, celsius float64) {
	if len(c.t.Film.Z) == 0 || !c.cmd.FuelOn {
		return
	}
	per := float64(c.s.Cylinders) * c.speed / (4 * math.Pi)
	c.film += (look(&c.t.Film, celsius, 0)*kg*per - c.film/look(&c.t.FilmTime, celsius, 0)) * PeriodS
}

// wet gives the wall its due: what lands on it less what it gives up.
func (c *Controller) wet(kg, celsius float64) float64 {
	if c.s.FilmOff || len(c.t.Film.Z) == 0 {
		return kg
	}
	x, tau := look(&c.t.Film, celsius, 0), look(&c.t.FilmTime, celsius, 0)
	per := float64(c.s.Cylinders) * c.speed / (4 * math.Pi) // cylinders filled a second
	gives := c.film / tau / math.Max(per, 1)                // to each
	inject := math.Max(0, (kg-gives)/(1-x))
	inject = math.Min(inject, 4*kg)
	c.film += (x*inject*per - c.film/tau) * PeriodS
	if !c.cmd.FuelOn {
		c.film -= x * inject * per * PeriodS
	}
	c.film = math.Max(0, c.film)
	return inject
}

// blankS is how long the gas of a cut hangs about at the sensor when fuel has come
// back, beyond the way there.
const blankS = 0.5

// From closedK the sensor holds the mixture, from learnedK what it says is written
// into the table. Between them the aim is the enriched mixture of the warm-up
// tables, of which the sensor sees all fuel, burnt or not. Colder, little of the
// fuel burns and a reading says little (common practice: closed within half a
// minute of a start on a mild day, learning from 60 °C on).
const (
	closedK  = kelvin + 10
	learnedK = kelvin + 60
)

// Ends of a wide-band sensor: richer and leaner it stands still.
const richEnd, leanEnd = 0.66, 1.6

// lambda closes the loop: the sensor is compared with what was aimed at when the
// gas it sees was metered. The trim acts by an integral slow enough for that
// delay; when things are steady it is written into the place of the table.
func (c *Controller) lambda(in Sensors, running bool, warm, rpm, kpa float64) {
	aim := 1.0
	if running {
		aim = c.cmd.LambdaTargetRatio / (1 + warm) // a hot restart's fuel makes good for vapour, the sensor sees none of it
	}
	n := len(c.delay)
	c.delay[c.delayAt] = 1 / aim
	c.delayAt = (c.delayAt + 1) % n
	wait := c.delayS()
	back := min(n-1, int(wait/PeriodS))
	then := c.delay[(c.delayAt-1-back+2*n)%n]
	if then == 0 {
		then = 1 / aim
	}
	c.aimedRatio = 1 / then
	within := in.LambdaRatio > richEnd || c.aimedRatio > richEnd+0.05 // at its rich end it still says: too rich
	closed := running && in.LambdaReady && in.CoolantK > closedK && c.runS > 5 && c.fuelledS > wait+blankS && within && in.LambdaRatio < leanEnd
	if !closed {
		c.trim -= c.trim * PeriodS / 2
		return
	}
	miss := then - 1/in.LambdaRatio // in fuel over air: above 0 more fuel is due
	gain := 0.35 / (wait + 0.1)
	c.trim = math.Max(-0.25, math.Min(0.25, c.trim+gain*miss/then*PeriodS))
	steady := math.Abs(c.paRate) < 40e3
	if c.s.LearnOff || !steady || math.Abs(miss) > 0.15 || in.CoolantK < learnedK || in.LambdaRatio < richEnd {
		return
	}
	c.learn(rpm, kpa)
}

// learn moves the trim into the cells around a place.
func (c *Controller) learn(rpm, kpa float64) {
	w, err := c.Trims.Weights(math.Max(c.Trims.X.At[0], math.Min(rpm, last(c.Trims.X.At))), math.Max(c.Trims.Y.At[0], math.Min(kpa, last(c.Trims.Y.At))))
	if err != nil {
		return
	}
	cells, share := w.Cells()
	norm := 0.0
	for _, s := range share {
		norm += s * s
	}
	move := c.trim * PeriodS / 1.0
	for i, k := range cells {
		c.Trims.Z[k] = math.Max(0.7, math.Min(1.4, c.Trims.Z[k]*(1+move*share[i]/norm)))
		c.Trims.Support[k]++
	}
	c.trim -= move
}

func last(at []float64) float64 { return at[len(at)-1] }

// delayS is the time from metering to the sensor's answer.
func (c *Controller) delayS() float64 {
	speed := math.Max(c.speed, 30)
	flow := look(&c.t.VolEff, c.speed*toRpm, c.pa/1e3) * c.pa * c.s.SweptM3 * float64(c.s.Cylinders) / (airR * math.Max(250, c.in.ChargeK)) * speed / (4 * math.Pi)
	return math.Min(1.5, c.s.ExhaustDelayRad/speed+c.s.ExhaustKg/math.Max(flow, 1e-3)+c.s.LambdaLagS)
}

// overrunCut shuts the fuel off with the pedal up and the speed high, once the
// engine is warm.
func (c *Controller) overrunCut(in Sensors, running bool) {
	off := look(&c.t.Resume, in.CoolantK-kelvin, 0) / toRpm
	switch {
	case !running || in.PedalFrac > 0.02 || c.speed < off || c.runS < 5 || in.CoolantK < c.s.Rules.OverrunColdK:
		c.overrun, c.overrunS = false, 0
	case c.speed > off+c.s.Rules.OverrunAboveRadPerS:
		c.overrunS += PeriodS
		c.overrun = c.overrun || c.overrunS > c.s.Rules.OverrunAfterS
	}
}

// Trusted spreads what was learned to the cells that were not visited: each takes
// the trim of the visited cell next to it in pressure, then in speed.
func (c *Controller) Trusted(leastCount int) (visited int) {
	rows, columns := c.Trims.Rows(), c.Trims.Columns()
	known := make([]bool, rows*columns)
	for k, n := range c.Trims.Support {
		known[k] = n >= leastCount
		if known[k] {
			visited++
		}
	}
	if visited == 0 {
		return 0
	}
	z := append([]float64(nil), c.Trims.Z...)
	for i := range rows {
		for j := range columns {
			k := c.Trims.Cell(i, j)
			if known[k] {
				continue
			}
			best, far := 1.0, math.Inf(1)
			for a := range rows {
				for b := range columns {
					m := c.Trims.Cell(a, b)
					if !known[m] {
						continue
					}
					if d := math.Hypot(float64(a-i), 0.7*float64(b-j)); d < far {
						best, far = c.Trims.Z[m], d
					}
				}
			}
			z[k] = best
		}
	}
	c.Trims.Z = z
	return visited
}
