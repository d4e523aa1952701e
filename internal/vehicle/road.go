package vehicle

import "fettle/internal/driveline"

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
