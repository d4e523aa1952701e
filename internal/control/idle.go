package control

import "math"

// idle sets the air: the pedal's with a motor throttle, idle's with either.
func (c *Controller) idle(in Sensors, running bool) {
	celsius := in.CoolantK - kelvin
	c.idleTarget = look(&c.t.IdleSpeed, celsius, 0)
	forward := look(&c.t.IdleOpening, celsius, 0)
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
	if !running && in.PedalFrac > 0.8 {
		opening = 1
	}
	if c.s.Cable {
		c.cmd.IdleFrac = math.Max(0, math.Min(1, opening))
		c.cmd.PlateFrac = 0
		c.ease(in)
		return
	}
	c.cmd.IdleFrac = 0
	pedal := c.pedal(in)
	asked := opening + (1-opening)*look(&c.t.Throttle, 100*pedal, rpm)/100
	c.cmd.PlateFrac = c.capped(in, asked, opening)
}

// idleWeight fades the proportional part out above idle.
func (c *Controller) idleWeight(rpm float64) float64 {
	return math.Max(0, math.Min(1, (c.idleTarget+800-rpm)/400))
}

// pedal holds the two tracks against each other; when they part by more than
// 7 % for 0.2 s the pedal counts as up and the engine idles (common practice).
func (c *Controller) pedal(in Sensors) float64 {
	if math.Abs(in.PedalFrac-2*in.PedalTwoFrac) > 0.07 {
		c.pedalBadS += PeriodS
	} else {
		c.pedalBadS = math.Max(0, c.pedalBadS-PeriodS)
	}
	if c.pedalBadS > 0.2 {
		return 0
	}
	p := math.Max(0, math.Min(1, in.PedalFrac))
	if c.cutS > 0 { // after a lean cut the load stays off until it is over
		p = math.Min(p, 0.15)
	}
	return p
}

// capPa is the pressure the load may reach.
func (c *Controller) capPa() float64 { return 1e3 * look(&c.t.LoadCap, c.speed*toRpm, 0) }

// capped holds the plate so that the manifold's pressure stays below the cap.
func (c *Controller) capped(in Sensors, asked, least float64) float64 {
	if c.learned && c.s.BoostPa == 0 {
		return asked
	}
	limit := c.capPa()
	if c.learned {
		limit = 1.02 * c.s.FullPa
	}
	room := (limit - 1.5e3 - c.pa - 0.03*c.paRate) / limit
	if room < 0.15 {
		// the plate's opening creeps to where the pressure stands at the cap
		c.capSum = math.Min(c.capSum+room*2.5*PeriodS, asked)
		hold := math.Max(least, math.Min(asked, c.capSum+0.6*room))
		return hold
	}
	c.capSum = asked
	if asked > in.PlateFrac+0.05 { // opening: not faster than the pressure can be followed
		return math.Min(asked, in.PlateFrac+0.05+0.35*room)
	}
	return asked
}

// ease lights the lamp of a cable throttle that is pressed beyond the cap, and
// cuts when the foot does not follow.
func (c *Controller) ease(in Sensors) {
	limit := c.capPa()
	c.cmd.EaseOff = !c.learned && c.pa > limit-2e3
	if !c.learned && c.runS > 1 && c.pa > limit+2e3 {
		c.pressureS += PeriodS
	} else {
		c.pressureS = 0
	}
	c.pressureCut = c.pressureS > 0.15 || (c.pressureCut && c.runS > 0 && c.pa > limit-4e3 && in.PedalFrac > 0.02)
}

// MotorFrac is the duty of the throttle's motor for a reading of the plate: called
// more often than Step. The spring is held by feed-forward.
func (c *Controller) MotorFrac(plateFrac, batteryV, dtS float64) float64 {
	if c.s.Cable || !c.in.KeyOn {
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
