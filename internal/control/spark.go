package control

import "math"

// spark sets advance and dwell.
func (c *Controller) spark(in Sensors, running bool) {
	rpm, kpa := c.speed*toRpm, c.pa/1e3
	c.cmd.SparkOn = c.synced && c.stopped == ""
	c.cmd.DwellS = look(&c.t.Dwell, in.BatteryV-c.s.FeedV, 0) * 1e-3
	if !running {
		c.cmd.SparkRad = math.Min(8, look(&c.t.Spark, rpm, kpa)) * degree
		return
	}
	s := look(&c.t.Spark, rpm, kpa)
	if c.idling {
		// less spark than best leaves room to hold the speed both ways. It is read at
		// the wanted speed: a table that rises with speed would take away spark as the
		// engine slows and undo what idle's own spark does (common practice: laid flat
		// about idle).
		s = math.Min(look(&c.t.Spark, c.idleTarget, kpa), 25) - 8 + look(&c.t.IdleSpark, rpm-c.idleTarget, 0)
	}
	if len(c.t.SparkAir.Z) > 0 {
		s += look(&c.t.SparkAir, in.ChargeK-kelvin, 0)
	}
	if len(c.t.SparkHot.Z) > 0 {
		s += look(&c.t.SparkHot, in.CoolantK-kelvin, 0)
	}
	c.knock(in)
	c.cmd.KnockRetardRad = c.knockRetard
	c.cmd.SparkRad = s*degree - c.knockRetard
	most := 0.9 * 4 * math.Pi / math.Max(c.speed, 10) // a coil a cylinder, once a cycle
	c.cmd.DwellS = math.Min(c.cmd.DwellS, most)
}

// knock takes 2° back at once when the ring is loud and gives half a degree a
// second back when it has been quiet (common practice).
func (c *Controller) knock(in Sensors) {
	if in.KnockCount > 0.9 {
		if c.knockQuietS > 0.1 {
			c.knockRetard = math.Min(10*degree, c.knockRetard+2*degree)
			c.knockQuietS = 0
		}
	}
	c.knockQuietS += PeriodS
	if c.knockQuietS > 2 {
		c.knockRetard = math.Max(0, c.knockRetard-0.5*degree*PeriodS)
	}
}

// cams moves the phaser to its target once there is oil and warmth; else it is parked.
func (c *Controller) cams(in Sensors, running bool) {
	c.cmd.PhaserFrac, c.cmd.PhaserTargetRad = 0, 0
	if c.s.PhaserMostRad == 0 || !running || in.OilPa < 100e3 || in.CoolantK-kelvin < 20 || c.runS < 3 {
		c.phaserSum = 0
		return
	}
	target := math.Max(0, math.Min(c.s.PhaserMostRad, look(&c.t.IntakeCam, c.speed*toRpm, c.pa/1e3)*degree))
	if c.idling {
		target = 0
	}
	c.cmd.PhaserTargetRad = target
	miss := target - in.PhaserRad
	c.phaserSum = math.Max(-0.2, math.Min(0.2, c.phaserSum+0.5*miss*PeriodS))
	c.cmd.PhaserFrac = math.Max(0, math.Min(1, 0.5+2.5*miss+c.phaserSum))
}

// charge holds the charger's pressure.
func (c *Controller) charge(in Sensors) {
	if c.s.BoostPa == 0 {
		return
	}
	target := 5e3 + 1e3*look(&c.t.Boost, 100*in.PedalFrac, c.speed*toRpm)
	if !c.learned {
		target = math.Min(target, math.Max(in.AmbientPa*1.05, c.CapPa()))
	}
	miss := (target - in.UpPa) / c.s.BoostPa
	c.wasteSum = math.Max(0, math.Min(1, c.wasteSum+1.0*miss*PeriodS))
	c.cmd.WastegateFrac = math.Max(0, math.Min(1, 0.4*miss+c.wasteSum))
}

func (c *Controller) fans(in Sensors) {
	celsius := in.CoolantK - kelvin
	switch {
	case celsius > 98:
		c.fan = true
	case celsius < 93:
		c.fan = false
	}
	c.cmd.FanOn = c.fan
}

// protect stops or cuts.
func (c *Controller) protect(in Sensors) {
	limit := look(&c.t.SpeedLimit, in.CoolantK-kelvin, 0) / toRpm
	switch {
	case c.speed > limit:
		c.speedCut = true
	case c.speed < limit-15:
		c.speedCut = false
	}
	if c.runS > 5 && in.OilPa < 30e3 {
		c.noOilS += PeriodS
		if c.noOilS > 2 {
			c.stopped = "no oil pressure for 2 s with the engine running"
		}
	} else {
		c.noOilS = 0
	}
	if in.CoolantK > c.s.CoolMostK {
		c.stopped = "coolant above its limit"
	}
	c.lean(in)
}

// leanAfterS is how long the sensor must read lean: with the way of the gas and
// the sensor's own lag the cut then comes within 0.3 s. quickPaPerS is a pedal so
// sudden that the fuel can't follow for a moment; what was metered then says
// nothing of the tables (from memory: a tip-in takes 100 to 300 ms).
const (
	leanAfterS  = 0.12
	quickPaPerS = 150e3
)

// lean cuts the fuel when the engine burns lean under load, of the limit and of
// what was aimed at when the gas was metered, and holds the load
// down for a second behind it.
func (c *Controller) lean(in Sensors) {
	c.cutS = math.Max(0, c.cutS-PeriodS)
	c.steadyS += PeriodS
	if math.Abs(c.paFast) > quickPaPerS {
		c.steadyS = 0
	}
	loaded := c.pa > c.s.LeanLoadFrac*c.s.FullPa && !c.idling
	seen := c.delayS() + c.s.LambdaLagS // since the gas that is read was metered
	sure := in.LambdaReady && c.runS > 5 && c.fuelledS > c.delayS()+blankS && c.steadyS > seen
	if loaded && sure && c.cutS == 0 && in.LambdaRatio > math.Max(c.s.LeanRatio, 1.08*c.aimedRatio) && in.LambdaRatio < 1.9 {
		c.leanS += PeriodS
		if c.leanS > leanAfterS {
			c.cutS, c.leanS = 1, 0
			c.LeanCuts++
		}
		return
	}
	c.leanS = 0
}

// gears shifts an automatic by road speed and pedal, and closes the converter.
func (c *Controller) gears(in Sensors) {
	if !c.s.Automatic {
		c.cmd.Gear = in.Gear
		return
	}
	c.shiftS += PeriodS
	n := len(c.s.GearRadPerM)
	g := max(1, min(n, c.cmd.Gear))
	limit := look(&c.t.SpeedLimit, in.CoolantK-kelvin, 0) / toRpm
	up := limit * (0.32 + 0.55*in.PedalFrac)
	if c.shiftS > 1.0 {
		was := g
		now := in.RoadMPerS * c.s.GearRadPerM[g-1]
		switch {
		case g < n && now > up && in.RoadMPerS*c.s.GearRadPerM[g] > 0.18*limit:
			g++
		case g > 1 && (now < 0.20*limit || in.RoadMPerS*c.s.GearRadPerM[g-2] < up*0.78 && in.PedalFrac > 0.25):
			g--
		}
		if g != was {
			c.shiftS = 0
		}
	}
	c.cmd.Gear = g
	turbine := in.RoadMPerS * c.s.GearRadPerM[g-1]
	c.cmd.LockUp = g >= min(3, n) && turbine > 0.22*limit && in.PedalFrac < 0.8 && c.shiftS > 0.5 && in.CoolantK-kelvin > 40
}
