package rehearsal

import (
	"math"

	"fettle/internal/plant"
)

// Share is one part of where the crankshaft's work went.
type Share struct {
	Name string
	J    float64
	Frac float64 // of the work of engine and starter
}

// Breakdown is the fuel of a drive and where its work went.
type Breakdown struct {
	DistanceM, FuelKg, FuelM3, TimeS float64
	StandingKg, StandingS            float64 // burned at rest, with the engine idling
	FuelM3PerM                       float64 // NaN when the car did not move
	WorkJ                            float64 // of engine and starter
	HeatJ                            float64 // of the fuel
	Shares                           []Share
	MissJ                            float64 // what the account lacks
	EfficiencyFrac                   float64 // work over heat
}

// Breakdown tells where fuel and work of a run went.
func (r *Run) Breakdown() Breakdown {
	w := r.Plant.Work
	f := r.setup.Engine.Fuel
	b := Breakdown{
		DistanceM: w.DistanceM, FuelKg: w.FuelKg, FuelM3: w.FuelKg / f.DensityKgPerM3, TimeS: r.TimeS(), StandingKg: w.StandingKg, StandingS: w.StandingS,
		WorkJ: w.EngineJ + w.StarterJ, HeatJ: w.FuelKg * f.HeatingJPerKg, MissJ: w.MissJ(), FuelM3PerM: math.NaN(),
	}
	if w.DistanceM > 10 {
		b.FuelM3PerM = b.FuelM3 / w.DistanceM
	}
	b.Shares = sharesOf(&w, b.WorkJ)
	if b.HeatJ > 0 {
		b.EfficiencyFrac = b.WorkJ / b.HeatJ
	}
	return b
}

func sharesOf(w *plant.Work, workJ float64) []Share {
	out := []Share{
		{Name: "air", J: w.AirJ},
		{Name: "rolling", J: w.RollingJ},
		{Name: "climbing, less descents", J: w.ClimbJ},
		{Name: "acceleration, lost in the brakes", J: w.BrakeJ},
		{Name: "acceleration, still in motion", J: w.MotionJ + w.SpinJ},
		{Name: "clutch or converter", J: w.SlipJ},
		{Name: "gearbox and axle", J: w.GearJ},
		{Name: "alternator", J: w.AccessoryJ},
	}
	for i := range out {
		if workJ > 0 {
			out[i].Frac = out[i].J / workJ
		}
	}
	return out
}
