package control

import "math"

// idle sets the air: the pedal's with a motor throttle, idle's with either.
func (c *Controller) idle(in Sensors, running bool) {
	celsius := in.CoolantK - kelvin
	c.idleTarget = look(&c.t.IdleSpeed, celsius, 0)
	forward := look(&c.t.Opening, c.idleAir(celsius), 0)
	rpm := c.speed * toRpm
	slow := in.RoadMPerS < 1.5 || (in.ClutchFrac > 0.5) || in.Gear == 0 && !c.s.Automatic
	c.idling = running && in.PedalFrac < 0.02 && (slow || rpm < c.idleTarget+150)
	miss := c.idleTarget - rpm
	if c.idling {
		gain := 0.06 // share of the opening for a second of 100 rpm
		if !c.cmd.FuelOn {
			gain = 0
		}
		c.idleSum += gain * math.Max(-2, math.Min(2, miss/100)) * PeriodS
		c.idleSum = math.Max(-0.6, math.Min(1.0, c.idleSum))
	}
	share := 1 + c.idleSum
	if running {
		share += 0.15 * math.Max(-1, math.Min(1.5, miss/300)) * c.idleWeight(rpm)
	} else {
		share *= 1.3 // more air to fire on
	}
	opening := forward * math.Max(0.15, share)
	if !running && in.PedalFrac > c.s.Rules.FloodPedalFrac {
		opening = 1
	}
	if c.s.Cable {
		c.cmd.IdleFrac = math.Max(0, math.Min(1, opening))
		c.cmd.PlateFrac = 0
		c.ease(in)
		return
	}
	c.cmd.IdleFrac = 0
	c.watchPlate(in)
	pedal := c.pedal(in)
	asked := opening + (1-opening)*look(&c.t.Throttle, 100*pedal, rpm)/100
	if running && pedal > 0.02 { // not faster than the mixture can follow
		asked = math.Min(asked, math.Max(opening, c.cmd.PlateFrac)+openPerS*PeriodS)
	}
	c.cmd.PlateFrac = c.capped(in, asked, opening)
}

// openPerS is how fast the pedal may open the plate: a third of a second from shut
// to open, which the driver does not feel as late (common practice, 0.2 to 0.4 s).
const openPerS = 3.0

// idleAir is the air that idle is given beforehand, in g/s: the engine's own, and
// what compressor and fan will ask of it.
func (c *Controller) idleAir(celsius float64) float64 {
	air := look(&c.t.IdleAir, celsius, 0)
	if c.airConS > 0 {
		air += 1e3 * c.s.Rules.AirConKgPerS
	}
	if c.fan {
		air += 1e3 * c.s.Rules.FanKgPerS
	}
	return air
}

// airAheadS is how long before the clutch its air is given (common practice).
const airAheadS = 0.3

// airCon gives the compressor's air, then closes its clutch; not in the first
// seconds, nor with the pedal down (common practice).
func (c *Controller) airCon(in Sensors, running bool) {
	if !running || !in.AirConOn || c.runS < 5 || in.PedalFrac > 0.85 {
		c.airConS, c.cmd.AirConOn = 0, false
		return
	}
	c.airConS += PeriodS
	c.cmd.AirConOn = c.airConS > airAheadS
}

// idleWeight fades the proportional part out above idle.
func (c *Controller) idleWeight(rpm float64) float64 {
	return math.Max(0, math.Min(1, (c.idleTarget+800-rpm)/400))
}

// pedal holds the two tracks against each other; when they part for more
// than a tenth of a second the pedal counts as up and the engine idles (common practice).
func (c *Controller) pedal(in Sensors) float64 {
	if math.Abs(in.PedalFrac-2*in.PedalTwoFrac) > c.s.Rules.TracksFrac {
		c.pedalBadS += PeriodS
	} else {
		c.pedalBadS = math.Max(0, c.pedalBadS-PeriodS)
	}
	if c.pedalBadS > 0.1 || c.braked(in) {
		return 0
	}
	p := math.Max(0, math.Min(1, in.PedalFrac))
	if c.cutS > 0 { // after a lean cut the load stays off until it is over
		p = math.Min(p, 0.15)
	}
	return p
}

// CapPa is the pressure the load may reach until learned.
//
//	p = p_c(ω), the table of the load cap
//
// Valid: any speed; the table's ends hold outside.
// Accuracy: that of the table.
// Source: common practice, see calibrate.LoadCapPa.
// Errors: none.
func (c *Controller) CapPa() float64 { return 1e3 * look(&c.t.LoadCap, c.speed*toRpm, 0) }

// brakedAfterS is how long brake and pedal may be pressed together before the pedal
// counts as up; it counts again when either is let go (common practice: a pedal that
// sticks must not win against the brake).
const brakedAfterS = 0.5

func (c *Controller) braked(in Sensors) bool {
	c.brakedS = held(c.brakedS, in.BrakeFrac > 0.05 && in.PedalFrac > 0.05)
	return c.brakedS > brakedAfterS
}

// plateOffAfterS is how long the plate may be off its target before it is let go.
const plateOffAfterS = 0.3

// watchPlate lets a plate go that does not follow, until the key goes off: the
// springs then hold it a little open, to limp home on.
func (c *Controller) watchPlate(in Sensors) {
	if c.s.Cable || c.plateLost {
		return
	}
	c.plateOffS = held(c.plateOffS, math.Abs(c.cmd.PlateFrac-in.PlateFrac) > c.s.Rules.PlateOffFrac)
	c.plateLost = c.plateOffS > plateOffAfterS
}

// PlateLost reports a plate that was let go because it did not follow.
func (c *Controller) PlateLost() bool { return c.plateLost }

// CamsLost reports cams that were parked because they did not follow.
func (c *Controller) CamsLost() bool { return c.camsLost }

// capped holds the plate so that the manifold's pressure stays below the cap: it
// opens as far as the throttle table says that this pressure needs, and is moved
// from there by what the pressure then is.
func (c *Controller) capped(in Sensors, asked, idle float64) float64 {
	hot := in.CoolantK > c.s.Rules.CoolHalfK
	if c.learned && c.s.BoostPa == 0 && !hot {
		return asked
	}
	limit := c.CapPa()
	if c.learned {
		limit = 1.02 * c.s.FullPa
	}
	if hot {
		limit = math.Min(limit, c.s.FullPa/2)
	}
	limit -= 1.5e3 // the sensor's noise and the pulses
	needs := c.plateFor(in, limit, idle)
	room := (limit - c.pa - 0.03*c.paRate) / limit
	hold := math.Max(idle, needs*(1+c.capSum+1.5*math.Min(0.1, room)))
	if asked <= hold {
		c.capSum -= c.capSum * PeriodS / 0.5
		return asked
	}
	c.capSum = math.Max(-0.7, math.Min(1, c.capSum+5*math.Min(0.1, room)*PeriodS))
	return hold
}

// restShare of the open throttle's pressure is that of a pedal at rest, from where
// the throttle table lets the pressure go evenly with the pedal.
const restShare = 0.30

// plateFor is the opening at which the throttle table has the manifold's pressure
// stand at a limit.
func (c *Controller) plateFor(in Sensors, limitPa, idle float64) float64 {
	open := c.s.FullPa / (in.AmbientPa + c.s.BoostPa) * in.UpPa
	share := math.Max(0, math.Min(1, (limitPa/open-restShare)/(1-restShare)))
	return idle + (1-idle)*look(&c.t.Throttle, 100*share, c.speed*toRpm)/100
}

// ease lights the lamp of a cable throttle that is pressed beyond the cap, and
// cuts when the foot does not follow.
func (c *Controller) ease(in Sensors) {
	limit, hot := c.CapPa(), in.CoolantK > c.s.Rules.CoolHalfK
	if hot {
		limit = math.Min(limit, c.s.FullPa/2)
	}
	held := !c.learned || hot
	c.cmd.EaseOff = held && c.pa > limit-2e3
	if held && c.runS > 1 && c.pa > limit+2e3 {
		c.pressureS += PeriodS
	} else {
		c.pressureS = 0
	}
	c.pressureCut = c.pressureS > 0.15 || (c.pressureCut && c.runS > 0 && c.pa > limit-4e3 && in.PedalFrac > 0.02)
}

// MotorFrac is the duty of the throttle's motor for a reading of the plate: called
// more often than Step. The spring is held by feed-forward.
func (c *Controller) MotorFrac(plateFrac, batteryV, dtS float64) float64 {
	if c.s.Cable || !c.in.KeyOn || c.plateLost {
		c.plateSum = 0
		return 0
	}
	miss := c.cmd.PlateFrac - plateFrac
	rate := (plateFrac - c.plateTarget) / math.Max(dtS, 1e-4)
	c.plateTarget = plateFrac
	c.plateSum = math.Max(-0.1, math.Min(0.1, c.plateSum+1.2*miss*dtS))
	duty := 0.111*(c.cmd.PlateFrac-0.06) + 2.2*miss - 0.055*math.Max(-20, math.Min(20, rate)) + c.plateSum
	return math.Max(-1, math.Min(1, duty*13/math.Max(6, batteryV)))
}

// IdleTargetRadPerS is the idle speed wanted now.
func (c *Controller) IdleTargetRadPerS() float64 { return c.idleTarget / toRpm }
