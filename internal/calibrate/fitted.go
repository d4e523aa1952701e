package calibrate

import (
	"math"
	"strings"

	"fettle/internal/design"
)

// Fitted is what stands beside the engine and asks for tables and settings of
// its own.
type Fitted struct {
	CrankWheel  string   // teeth less missing ones
	CamWheels   []string // windows
	Trigger     *design.Trigger
	Verified    *design.Verified
	FiringOrder string
	Inertia     string
	Electronic  bool // throttle
	Direct      bool // injection
	EthanolFrac float64
	IntakeRad   float64 // phaser travel
	ExhaustRad  float64
	ChangedCam  bool
	Clearance   string // of the changed cam
	FanCount    int
	BoostPa     float64 // above the atmosphere
	Reference   string  // of the regulator
	SetPa       float64 // of the rail, above its reference
}

// fitted reads it from a design.
func fitted(d *design.Design) Fitted {
	f := d.File
	out := Fitted{
		Trigger: f.Trigger, Verified: f.Verified, CrankWheel: f.Engine.CrankWheel, FiringOrder: f.Engine.FiringOrder, Inertia: f.System.Inertia,
		Electronic: f.Engine.Throttle == "electronic" || len(d.OfKind("throttle body")) > 0, Direct: f.Engine.Direct,
		FanCount: len(d.OfKind("fan")), Reference: f.System.Reference,
	}
	if f.Fuel.EthanolFrac != nil {
		out.EthanolFrac = f.Fuel.EthanolFrac.SI
	}
	if f.System.SetPa != nil {
		out.SetPa = f.System.SetPa.SI
	}
	if f.Boost != nil {
		out.BoostPa = f.Boost.GaugePa.SI
	}
	if f.Engine.PhaserRad != nil {
		out.IntakeRad = f.Engine.PhaserRad.SI
	}
	for _, c := range f.Engine.Cams {
		if c.Wheel != "" {
			out.CamWheels = append(out.CamWheels, c.Moves+" "+c.Wheel)
		}
		if c.TravelRad != nil {
			if strings.HasPrefix(c.Moves, "intake") || c.Moves == "both" {
				out.IntakeRad = math.Max(out.IntakeRad, c.TravelRad.SI)
			}
			if c.Moves == "exhaust" || c.Moves == "both" {
				out.ExhaustRad = math.Max(out.ExhaustRad, c.TravelRad.SI)
			}
		}
		if c.Changed {
			out.ChangedCam, out.Clearance = true, c.Clearance
		}
	}
	return out
}
