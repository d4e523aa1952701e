package control

import (
	"math"
	"slices"

	"fettle/internal/table"
)

// spark sets advance and dwell. On a sudden pedal the pressure is taken as far ahead
// as the fuel's: spark falls with load, and read late it would stand too early for
// the charge that it fires, which then knocks. When the pressure falls, the charge that
// is fired was trapped up to a turn before: spark is read at the highest since. While a plate is thrown open spark is read at the pressure before it, since a small
// manifold fills faster than any sensor follows (common practice: spark taken back on a
// sudden opening).
func (c *Controller) spark(in Sensors, running bool) {
	rpm, kpa := c.speed*toRpm, math.Max(c.trappedPa(), c.pa+math.Max(0, c.rise())*c.lead())/1e3
	if c.thrownOpen(in) {
		kpa = math.Max(kpa, in.UpPa/1e3)
	}
	c.cmd.SparkOn = c.synced && !c.s.FireClosed && c.stopped == "" && !c.sparkCut && !c.boostCut
	c.cmd.DwellS = look(&c.t.Dwell, in.BatteryV-c.s.FeedV, 0) * 1e-3
	if !running {
		c.cmd.SparkRad = math.Min(c.s.Rules.CrankSparkRad, look(&c.t.Spark, rpm, kpa)*degree)
		return
	}
	s := look(&c.t.Spark, rpm, kpa)
	if c.idling {
		// less spark than best leaves room to hold the speed both ways. It is read at
		// the wanted speed: a table that rises with speed would take away spark as the
		// engine slows and undo what idle's own spark does (common practice: laid flat
		// about idle).
		s = math.Min(look(&c.t.Spark, c.idleTarget, kpa), 25) - c.s.Rules.ReserveRad/degree + look(&c.t.IdleSpark, rpm-c.idleTarget, 0)
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

// trappedPa is the highest pressure of the last turn, as far back as is kept.
func (c *Controller) trappedPa() float64 {
	copy(c.paBefore[1:], c.paBefore[:])
	c.paBefore[0] = c.pa
	n := int(math.Ceil(2 * math.Pi / math.Max(c.speed, 1) / PeriodS))
	return slices.Max(c.paBefore[:min(n+1, len(c.paBefore))])
}

// How fast a plate opens, of its way a second, that is thrown open, and how long
// the manifold is given to fill, beside a turn of the engine.
const (
	thrownPerS = 3
	thrownS    = 0.12
)

// thrownOpen reports a plate that was thrown open a moment ago.
func (c *Controller) thrownOpen(in Sensors) bool {
	if in.PlateFrac-c.plateBefore > thrownPerS*PeriodS {
		c.thrownForS = thrownS + 2*math.Pi/math.Max(c.speed, 30)
	}
	c.plateBefore = in.PlateFrac
	c.thrownForS = math.Max(0, c.thrownForS-PeriodS)
	return c.thrownForS > 0
}

// knock takes spark back at once when the ring is loud and gives half a degree a
// second back when it has been quiet (common practice).
func (c *Controller) knock(in Sensors) {
	if in.KnockCount > 0.9 {
		if c.knockQuietS > 0.1 {
			c.knockRetard = math.Min(10*degree, c.knockRetard+c.s.Rules.KnockBackRad)
			c.knockQuietS = 0
		}
	}
	c.knockQuietS += PeriodS
	if c.knockQuietS > 2 {
		c.knockRetard = math.Max(0, c.knockRetard-0.5*degree*PeriodS)
	}
}

// cams moves the phasers to their targets once there is oil and warmth; else they
// are parked, and at idle as well.
func (c *Controller) cams(in Sensors, running bool) {
	r := &c.s.Rules
	parked := !running || c.camsLost || in.OilPa < r.CamOilPa || in.CoolantK < r.CamColdK || in.OilK > r.CamOilK || c.runS < 3
	c.cmd.PhaserFrac, c.cmd.PhaserTargetRad = c.phase(&c.t.IntakeCam, c.s.PhaserMostRad, in.PhaserRad, &c.phaserSum, parked)
	c.cmd.ExhaustPhaserFrac, c.cmd.ExhaustTargetRad = c.phase(&c.t.ExhaustCam, c.s.ExhaustMostRad, in.ExhaustPhaserRad, &c.exhaustSum, parked)
	if parked { // oil or springs take them home, and nothing is asked of them
		c.camOffS = 0
		return
	}
	off := math.Max(math.Abs(c.cmd.PhaserTargetRad-in.PhaserRad), math.Abs(c.cmd.ExhaustTargetRad-in.ExhaustPhaserRad))
	c.camOffS = held(c.camOffS, off > r.CamOffRad)
	c.camsLost = c.camOffS > camOffS
}

// camOffS is how long a cam may be off its target before both are parked until the
// key goes off.
const camOffS = 1

// held counts for how long something has been true.
func held(beforeS float64, true1 bool) float64 {
	if !true1 {
		return 0
	}
	return beforeS + PeriodS
}

// phase is the duty that moves one phaser, and where it is to stand.
func (c *Controller) phase(g *table.Grid, travel, at float64, sum *float64, parked bool) (dutyFrac, targetRad float64) {
	if travel == 0 || parked {
		*sum = 0
		return 0, 0
	}
	if !c.idling {
		targetRad = math.Max(0, math.Min(travel, look(g, c.speed*toRpm, c.pa/1e3)*degree))
	}
	miss := targetRad - at
	*sum = math.Max(-0.2, math.Min(0.2, *sum+0.5*miss*PeriodS))
	return math.Max(0, math.Min(1, 0.5+2.5*miss+*sum)), targetRad
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
	switch {
	case in.CoolantK > c.s.Rules.FanOnK:
		c.fan = true
	case in.CoolantK < c.s.Rules.FanOffK:
		c.fan = false
	}
	c.cmd.FanOn = c.fan
}

// protect stops or cuts.
func (c *Controller) protect(in Sensors) {
	limit := look(&c.t.SpeedLimit, in.CoolantK-kelvin, 0) / toRpm
	switch {
	case c.speed > limit+c.s.Rules.SparkToFuelRadPerS:
		c.speedCut = true
	case c.speed < limit-15:
		c.speedCut = false
	}
	c.sparkCut = c.speed > limit || c.speedCut
	c.overBoost(in)
	if c.runS > 5 && c.speed > 1500/toRpm && in.OilPa < c.s.Rules.OilLeastPa {
		c.noOilS += PeriodS
		if c.noOilS > 1 {
			c.stopped = "too little oil pressure for 1 s above 1500 rpm"
		}
	} else {
		c.noOilS = 0
	}
	if in.CoolantK > c.s.Rules.CoolMostK {
		c.stopped = "coolant above its limit"
	}
	c.lean(in)
}

// boostOffS is for how long fuel and spark stay off behind a boost cut.
const boostOffS = 0.3

// overBoost cuts fuel and spark when the charger's pressure stands above its target
// by more than the settings let it.
func (c *Controller) overBoost(in Sensors) {
	if c.s.BoostPa == 0 {
		return
	}
	c.boostCutS = math.Max(0, c.boostCutS-PeriodS)
	if in.ManifoldPa > c.boostMostPa(in)+c.s.Rules.BoostOverPa {
		if c.boostCutS == 0 {
			c.BoostCuts++
		}
		c.boostCutS = boostOffS
	}
	c.boostCut = c.boostCutS > 0
}

// boostMostPa is the most that the boost table asks for at this speed: the pedal may
// come up faster than a charger runs down, which is not too much boost.
func (c *Controller) boostMostPa(in Sensors) float64 {
	return math.Max(in.AmbientPa, 1e3*look(&c.t.Boost, 100, c.speed*toRpm))
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
