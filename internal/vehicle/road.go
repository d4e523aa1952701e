package vehicle

import (
	"fettle/internal/driveline"
	"fettle/internal/figure"
	"fettle/internal/gas"
)

// RoadMPerS is the road speed at an engine speed in the gear of the full-power
// state; 0 when a ratio is out of range.
func (v *Vehicle) RoadMPerS(speedRadPerS float64) float64 {
	veh := &v.Design.File.Vehicle
	rolling, err := driveline.RollingM(veh.Tyre.DiameterM.SI)
	if err != nil {
		return 0
	}
	speed, err := driveline.RoadMPerS(speedRadPerS, rolling, veh.TopRatio.SI, veh.AxleRatio.SI, 0)
	if err != nil {
		return 0
	}
	return speed
}

// driveFrac is what the driveline hands on of the engine's work (common
// practice: 0.85 to 0.95 with a final drive and a closed converter).
const driveFrac = 0.9

// cruise is the engine's speed and the power it gives to hold the stated road
// speed on the level; zero speed when a ratio is out of range, which the
// balance then tells.
func (v *Vehicle) cruise(d figure.Draw) (speedRadPerS, roadW float64) {
	f := v.Design.File
	veh := &f.Vehicle
	rolling, err := driveline.RollingM(d.Of(veh.Tyre.DiameterM))
	if err != nil {
		return 0, 0
	}
	road := d.Of(veh.CruiseMPerS)
	speed, err := driveline.EngineRadPerS(road, rolling, d.Of(veh.CruiseRatio), d.Of(veh.AxleRatio), 0)
	if err != nil {
		return 0, 0
	}
	pa, err := gas.AtmospherePa(d.Of(f.Climate.AltitudeM))
	if err != nil {
		return 0, 0
	}
	rho, err := gas.AirKgPerM3(pa, d.Of(f.Climate.HottestK))
	if err != nil {
		return 0, 0
	}
	load, err := driveline.RoadLoadW(driveline.Vehicle{MassKg: d.Of(veh.MassKg), DragAreaM2: d.Of(veh.DragAreaM2), RollingFrac: d.Of(veh.RollingFrac)}, road, 0, rho)
	if err != nil {
		return 0, 0
	}
	return speed, load / driveFrac
}
