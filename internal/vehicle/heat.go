package vehicle

import (
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/formula"
)

// hotCoolantK is the coolant that a pressurised system is let to reach (common
// practice: 105 °C with 50 % glycol).
const hotCoolantK = 378.15

// RadiatorW returns the heat that the radiator sheds on the hottest day.
//
//	Q = Q_stated · (T_coolant − T_hottest)/ΔT_stated
//
// where T_coolant is 105 °C, what a pressurised system is let to reach.
//
// Valid: a radiator stated with its temperature difference and air flow as driven.
// Accuracy: ± 15 %; a radiator sheds in proportion to the temperature difference.
// Source: heat exchanger of constant effectiveness; 105 °C common practice.
// Errors: 0 when the file states no radiator.
func (v *Vehicle) RadiatorW() float64 {
	k := v.Design.File.Cooling
	if k == nil || k.RadiatorW == nil || k.AtK == nil {
		return 0
	}
	return v.radiatorW(figure.Draw{})
}

// radiatorW is RadiatorW in one draw, for a radiator that is stated.
func (v *Vehicle) radiatorW(d figure.Draw) float64 {
	k := v.Design.File.Cooling
	return d.Of(k.RadiatorW) * (hotCoolantK - d.Of(v.Design.File.Climate.HottestK)) / d.Of(k.AtK)
}

// heatMargin holds the heat to the coolant at full power against what the
// radiator sheds on the hottest day.
func (v *Vehicle) heatMargin(d figure.Draw, s *State, add addMargin) {
	if k := v.Design.File.Cooling; k != nil && k.RadiatorW != nil && k.AtK != nil {
		add("Heat to the coolant", "cooling", "HeatW", s.Point.CoolantW*d.Of(v.k.coolantRatio), v.radiatorW(d), false, "kW")
	}
}

// heat records the heat to the coolant and what the radiator sheds.
func (a *accountant) heat() {
	s := a.r.State(design.Full)
	f := a.v.Design.File
	if s.Ended.OK {
		a.l.PutLoop("full/engine/CoolantW", formula.VehicleCoolantW, s.Point.CoolantW, "kW", &s.Ended, append([]figure.ID{"full/engine/WantedKgPerS"}, a.engineLeaves()...)...)
	}
	if k := f.Cooling; k != nil && k.RadiatorW != nil && k.AtK != nil {
		a.l.Put("cooling/RadiatorW", formula.VehicleVehicleRadiatorW, a.v.RadiatorW(), "kW", a.l.Leaf(k.RadiatorW), a.l.Leaf(k.AtK), a.l.Leaf(f.Climate.HottestK))
	}
}

// CoolantW returns the heat that the engine hands to its coolant.
//
//	Q = share(ω, p) · ṁ_fuel · H_u
//
// where the share is the engine table's.
//
// Valid: within the engine's table.
// Accuracy: ± 20 %, one standard deviation between engines.
// Source: table by the crank-angle cycle: 0.85 of the heat to walls and ports and half of the friction, see cycle.WoschniWPerM2K.
// Errors: none
func CoolantW(shareFrac, fuelKgPerS, heatingJPerKg float64) float64 {
	return shareFrac * fuelKgPerS * heatingJPerKg
}
