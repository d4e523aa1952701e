package vehicle

import (
	"fmt"
	"math"

	"fettle/internal/design"

	"fettle/internal/breathing"
	"fettle/internal/driveline"
	"fettle/internal/figure"
	"fettle/internal/formula"
)

// curvePoints is how many speeds the torque curve is shown at.
const curvePoints = 9

// curve records torque and power with the throttle open over the engine's speeds.
func (a *accountant) curve() {
	e := &a.v.Design.File.Engine
	leaves := a.engineLeaves()
	for _, c := range e.Cams {
		for _, in := range []*figure.Input{c.DurationRad, c.LiftM, c.CentreRad, c.TravelRad} {
			a.l.Leaf(in)
		}
	}
	for i := range curvePoints {
		speed := e.IdleRadPerS.SI + (e.LimitRadPerS.SI-e.IdleRadPerS.SI)*float64(i)/(curvePoints-1)
		p, err := a.v.response.WideOpen(speed, breathing.Nominal())
		if err != nil {
			continue
		}
		k := figure.ID(fmt.Sprintf("curve/%d", i+1))
		a.l.Put(k+"/SpeedRadPerS", formula.VehicleCurveRadPerS, speed, "rpm", a.l.Leaf(e.IdleRadPerS), a.l.Leaf(e.LimitRadPerS))
		a.l.Put(k+"/TorqueNm", formula.VehicleOpenNm, p.TorqueNm, "N·m", append([]figure.ID{k + "/SpeedRadPerS"}, leaves...)...)
		a.l.Put(k+"/PowerW", formula.VehiclePowerW, p.TorqueNm*speed, "kW", k+"/TorqueNm", k+"/SpeedRadPerS")
		a.l.Put(k+"/SparkRad", formula.BreathingSafeSparkRad, p.SparkRad, "°", append([]figure.ID{k + "/SpeedRadPerS"}, leaves...)...)
	}
}

// engineLeaves are the inputs that the engine's tables rest on.
func (a *accountant) engineLeaves() []figure.ID {
	f := a.v.Design.File
	e := &f.Engine
	out := []figure.ID{
		a.l.Leaf(e.BoreM), a.l.Leaf(e.StrokeM), a.l.Leaf(e.RodM), a.l.Leaf(e.CompressionRatio), a.l.Leaf(e.IntakeValveM), a.l.Leaf(e.IntakeLiftM),
		a.l.Leaf(e.IntakeOpenRad), a.l.Leaf(e.IntakeCloseRad), a.l.Leaf(e.PhaserRad), a.l.Leaf(e.RunnerM), a.l.Leaf(e.RunnerBoreM), a.l.Leaf(e.ChargeRiseK),
		a.l.Leaf(e.IntakeDropPa), a.l.Leaf(e.ExhaustDropPa), a.l.Leaf(e.LambdaFull), a.l.Leaf(f.Climate.AltitudeM), a.l.Leaf(f.Climate.HottestK),
		a.l.Leaf(e.ExhaustValveM), a.l.Leaf(e.ExhaustRunM), a.l.Leaf(e.ExhaustRunBoreM), a.l.Leaf(e.CollectorRatio), a.l.Leaf(e.PlenumRatio), a.l.Leaf(e.BurnRatio),
	}
	if b := f.Boost; b != nil {
		out = append(out, a.l.Leaf(b.GaugePa))
		if b.Driven == design.Belt {
			out = append(out, a.l.Leaf(a.v.k.blowerFrac), a.l.Leaf(a.v.k.beltFrac))
		} else {
			out = append(out, a.l.Leaf(a.v.k.compressorFrac), a.l.Leaf(a.v.k.turbineRatio))
		}
		if b.Cooler {
			out = append(out, a.l.Leaf(a.v.k.coolerFrac))
		}
	}
	return out
}

// gears records the road speed in every gear, the tyre and the shaft.
func (a *accountant) gears() {
	f := a.v.Design.File
	veh := &f.Vehicle
	rolling, err := driveline.RollingM(veh.Tyre.DiameterM.SI)
	if err != nil {
		return
	}
	a.l.Put("tyre/RollingM", formula.DrivelineRollingM, rolling, "mm", a.l.Leaf(veh.Tyre.DiameterM))
	if f.Gearbox != nil {
		for i, ratio := range f.Gearbox.Ratios {
			a.gear(i+1, ratio, rolling)
		}
	}
	a.shaft()
}

func (a *accountant) gear(n int, ratio *figure.Input, rollingM float64) {
	f := a.v.Design.File
	for _, at := range []struct {
		key   string
		speed *figure.Input
	}{{"full", f.Engine.PeakRadPerS}, {"limit", f.Engine.LimitRadPerS}} {
		road, err := driveline.RoadMPerS(at.speed.SI, rollingM, ratio.SI, f.Vehicle.AxleRatio.SI, 0)
		if err != nil {
			continue
		}
		a.l.Put(figure.ID(fmt.Sprintf("gear/%d/%s/RoadMPerS", n, at.key)), formula.DrivelineRoadMPerS, road, "km/h",
			a.l.Leaf(at.speed), "tyre/RollingM", a.l.Leaf(ratio), a.l.Leaf(f.Vehicle.AxleRatio))
	}
}

// Steel of a drawn tube (handbook values).
const (
	steelPa      = 205e9
	steelKgPerM3 = 7850
)

// ShaftMostFrac is the share of its critical speed that a propeller shaft is
// driven to at most (0.70 to 0.80, machine design texts).
const ShaftMostFrac = 0.75

// ShaftRadPerS is the propeller shaft's speed at the engine's limit in the gear
// of the full-power state, and its critical speed; ok is false when no shaft is
// stated or it is out of the formula's range.
func (v *Vehicle) ShaftRadPerS() (speedRadPerS, criticalRadPerS float64, ok bool) {
	s := v.Design.File.Shaft
	if s == nil {
		return 0, 0, false
	}
	critical, err := driveline.CriticalRadPerS(driveline.Tube{
		LengthM: s.LengthM.SI, OuterM: s.OutsideM.SI, InnerM: s.OutsideM.SI - 2*s.WallM.SI,
		ElasticPa: steelPa, DensityKgPerM3: steelKgPerM3,
	})
	if err != nil {
		return 0, 0, false
	}
	top := math.Inf(1)
	if g := v.Design.File.Gearbox; g != nil {
		for _, r := range g.Ratios {
			top = math.Min(top, r.SI)
		}
	}
	if math.IsInf(top, 1) {
		top = v.Design.File.Vehicle.CruiseRatio.SI
	}
	return v.Design.File.Engine.LimitRadPerS.SI / top, critical, true
}

func (a *accountant) shaft() {
	speed, critical, ok := a.v.ShaftRadPerS()
	if !ok {
		return
	}
	s := a.v.Design.File.Shaft
	a.l.Put("shaft/CriticalRadPerS", formula.DrivelineCriticalRadPerS, critical, "rpm", a.l.Leaf(s.LengthM), a.l.Leaf(s.OutsideM), a.l.Leaf(s.WallM))
	in := []figure.ID{a.l.Leaf(a.v.Design.File.Engine.LimitRadPerS)}
	if g := a.v.Design.File.Gearbox; g != nil && len(g.Ratios) > 0 {
		for _, r := range g.Ratios {
			in = append(in, a.l.Leaf(r))
		}
	} else {
		in = append(in, a.l.Leaf(a.v.Design.File.Vehicle.CruiseRatio))
	}
	a.l.Put("shaft/SpeedRadPerS", formula.VehicleShaftRadPerS, speed, "rpm", in...)
	share := &figure.Input{ID: "model/propeller shaft speed share", SI: ShaftMostFrac, Unit: "%", Source: "machine design texts: 0.70 to 0.80 of the critical speed", Origin: figure.Constant}
	most := a.l.Put("shaft/MostRadPerS", formula.VehicleShaftMostRadPerS, ShaftMostRadPerS(critical, ShaftMostFrac), "rpm", "shaft/CriticalRadPerS", a.l.Leaf(share))
	a.l.Put("shaft/LeftRadPerS", formula.VehicleLeftSI, most-speed, "rpm", "shaft/SpeedRadPerS", "shaft/MostRadPerS")
}

// ShaftMostRadPerS returns the speed that a propeller shaft is driven to at most.
//
//	ω = x ω_critical
//
// where x is a share below one, for a tube is never quite straight nor in balance.
//
// Valid: a shaft within the range of driveline.CriticalRadPerS.
// Accuracy: that of the critical speed; the share is a choice.
// Source: machine design texts, 0.70 to 0.80 of the critical speed.
// Errors: none
func ShaftMostRadPerS(criticalRadPerS, shareFrac float64) float64 { return shareFrac * criticalRadPerS }

// CurveRadPerS returns a speed that the engine's curve is shown at.
//
//	ω = ω_idle + (ω_limit − ω_idle) · i/(n − 1)
//
// Valid: between idle and the speed limit.
// Accuracy: exact.
// Source: a choice of points.
// Errors: none
func CurveRadPerS(idleRadPerS, limitRadPerS, shareFrac float64) float64 {
	return idleRadPerS + (limitRadPerS-idleRadPerS)*shareFrac
}

// OpenNm returns the torque at the flywheel with the throttle open, without alternator and belts.
//
//	M = M_table(ω, p_open)
//
// Valid: within the engine's table, hottest day.
// Accuracy: ± 7 % of the work, ± 15 % of the friction, one standard deviation.
// Source: table by the crank-angle cycle, see cycle.Model.Point; with a charger by the intake stroke, see breathing.Solve.
// Errors: none
func OpenNm(tableNm float64) float64 { return tableNm }

// ShaftRadPerS returns the propeller shaft's speed at the engine's speed limit in its longest gear.
//
//	ω = ω_limit/i_least
//
// Valid: a gearbox before the shaft.
// Accuracy: that of the ratio.
// Source: definition of the gear ratio.
// Errors: none
func ShaftRadPerS(limitRadPerS, leastRatio float64) float64 { return limitRadPerS / leastRatio }
