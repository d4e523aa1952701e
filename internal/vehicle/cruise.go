package vehicle

import (
	"math"

	"fettle/internal/breathing"
	"fettle/internal/design"
	"fettle/internal/driveline"
	"fettle/internal/figure"
	"fettle/internal/formula"
)

// CruiseLimits are what the cruise state is held against.
type CruiseLimits struct {
	MostFrac       *figure.Input // of the full power speed, in the longest gear
	LeastRadPerS   *figure.Input // in the longest gear
	LeastGradeFrac *figure.Input // the grade that is still climbed at the cruising speed
}

// CruiseLimit returns the limits, the same for every vehicle.
func CruiseLimit() CruiseLimits {
	own := func(name string, si float64, unit, source string) *figure.Input {
		return &figure.Input{ID: figure.ID("model/" + name), SI: si, Unit: unit, Source: source, Origin: figure.Constant}
	}
	return CruiseLimits{
		MostFrac:       own("cruise speed share", 0.55, "%", "common practice: half of the full power speed, or a little more"),
		LeastRadPerS:   own("least speed at cruise", 1400*2*math.Pi/60, "rpm", "common practice: below it an engine judders under load"),
		LeastGradeFrac: own("least grade at cruise", 0.01, "%", "decided: one in a hundred, a flyover or a breeze from ahead"),
	}
}

// driveInput is driveFrac as a leaf.
func driveInput() *figure.Input {
	return &figure.Input{ID: "model/driveline efficiency", SI: driveFrac, SdSI: 0.03, Source: "common practice: 0.85 to 0.95 with a final drive and a closed converter", Origin: figure.Constant}
}

// LongestRatio is the smallest ratio of the gearbox as an input, or that of the
// cruise state when the gearbox states none.
func (v *Vehicle) LongestRatio() *figure.Input {
	f := v.Design.File
	least := f.Vehicle.CruiseRatio
	if f.Gearbox == nil {
		return least
	}
	for i, r := range f.Gearbox.Ratios {
		if i == 0 || r.SI < least.SI {
			least = r
		}
	}
	return least
}

// LongestRadPerS is the engine's speed at the cruising speed in the longest
// gear; 0 when a ratio is out of range.
func (v *Vehicle) LongestRadPerS() float64 {
	veh := &v.Design.File.Vehicle
	rolling, err := driveline.RollingM(veh.Tyre.DiameterM.SI)
	if err != nil {
		return 0
	}
	speed, err := driveline.EngineRadPerS(veh.CruiseMPerS.SI, rolling, v.LongestRatio().SI, veh.AxleRatio.SI, 0)
	if err != nil {
		return 0
	}
	return speed
}

// SpeedShareFrac returns an engine speed as a share of the full power speed.
//
//	x = ω/ω_full
//
// Valid: any speed.
// Accuracy: that of the speeds.
// Source: definition.
// Errors: none
func SpeedShareFrac(speedRadPerS, fullRadPerS float64) float64 { return speedRadPerS / fullRadPerS }

// gravityMPerS2 is standard gravity (ISO 80000-3).
const gravityMPerS2 = 9.80665

// ReserveGradeFrac returns the grade that a vehicle still climbs at a steady speed, in the same gear, when the throttle is opened.
//
//	s = η (M_open − M) ω/(m g v)
//
// where M is the torque that holds the speed on the level, ω the engine's speed and v the vehicle's.
//
// Valid: grades up to 0.3, where rise over run and over the road's length part by 5 %; below 0 the speed is not held.
// Accuracy: that of the torques, ± 10 % of M_open.
// Source: Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 4 (from memory): the power of the grade, m g v sin θ.
// Errors: none
func ReserveGradeFrac(openNm, heldNm, speedRadPerS, efficiencyFrac, massKg, roadMPerS float64) float64 {
	return efficiencyFrac * (openNm - heldNm) * speedRadPerS / (massKg * gravityMPerS2 * roadMPerS)
}

// CruiseGradeFrac is the grade that the nominal vehicle still climbs at its
// cruising speed; ok is false when the state has no answer.
func (r *Result) CruiseGradeFrac() (openNm, gradeFrac float64, ok bool) {
	s := r.State(design.Cruise)
	v := r.Vehicle
	if s == nil || !s.Ended.OK {
		return 0, 0, false
	}
	open, err := v.response.WideOpen(s.Point.SpeedRadPerS, breathing.Nominal())
	if err != nil {
		return 0, 0, false
	}
	veh := &v.Design.File.Vehicle
	return open.TorqueNm, ReserveGradeFrac(open.TorqueNm, s.Point.TorqueNm, s.Point.SpeedRadPerS, driveFrac, veh.MassKg.SI, veh.CruiseMPerS.SI), true
}

// cruise records what the cruise state is held against.
func (a *accountant) cruise() {
	f := a.v.Design.File
	veh := &f.Vehicle
	lim := CruiseLimit()
	a.l.Leaf(lim.MostFrac)
	a.l.Leaf(lim.LeastRadPerS)
	a.l.Leaf(lim.LeastGradeFrac)
	if speed := a.v.LongestRadPerS(); speed > 0 {
		a.l.Put("cruise/longest/SpeedRadPerS", formula.DrivelineEngineRadPerS, speed, "rpm",
			a.l.Leaf(veh.CruiseMPerS), a.l.Leaf(veh.Tyre.DiameterM), a.l.Leaf(veh.AxleRatio), a.l.Leaf(a.v.LongestRatio()))
		a.l.Put("cruise/longest/ShareFrac", formula.VehicleSpeedShareFrac, SpeedShareFrac(speed, f.Engine.PeakRadPerS.SI), "%",
			"cruise/longest/SpeedRadPerS", a.l.Leaf(f.Engine.PeakRadPerS))
		a.l.Put("cruise/longest/LeftFrac", formula.VehicleLeftSI, lim.MostFrac.SI-SpeedShareFrac(speed, f.Engine.PeakRadPerS.SI), "%", "cruise/longest/ShareFrac", lim.MostFrac.ID)
		a.l.Put("cruise/longest/LeftRadPerS", formula.VehicleLeftSI, speed-lim.LeastRadPerS.SI, "rpm", "cruise/longest/SpeedRadPerS", lim.LeastRadPerS.ID)
	}
	if open, grade, ok := a.r.CruiseGradeFrac(); ok {
		a.l.Put("cruise/engine/OpenNm", formula.VehicleOpenNm, open, "N·m", append([]figure.ID{"cruise/engine/SpeedRadPerS"}, a.engineLeaves()...)...)
		a.l.Put("cruise/wheels/ReserveGradeFrac", formula.VehicleReserveGradeFrac, grade, "%",
			"cruise/engine/OpenNm", "cruise/engine/TorqueNm", "cruise/engine/SpeedRadPerS", a.l.Leaf(driveInput()), a.l.Leaf(veh.MassKg), a.l.Leaf(veh.CruiseMPerS))
		a.l.Put("cruise/wheels/LeftFrac", formula.VehicleLeftSI, grade-lim.LeastGradeFrac.SI, "%", "cruise/wheels/ReserveGradeFrac", lim.LeastGradeFrac.ID)
	}
}
