package vehicle

import (
	"math"

	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/formula"
	"fettle/internal/petrol"
	"fettle/internal/pipeflow"
)

// FittingsRatio returns the sum of the loss coefficients of a line.
//
//	ΣK = 0.5 + 0.9 n + 1.0
//
// where n is the number of tight elbows and unions; 0.5 is a sharp entry, 1.0 the end in a wide space.
//
// Valid: turbulent flow, n at or above 0.
// Accuracy: ± 30 %.
// Source: Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, table 8-4.
// Errors: none
func FittingsRatio(elbowsCount float64) float64 {
	return pipeflow.SharpEntryLossRatio + pipeflow.ElbowLossRatio*elbowsCount + pipeflow.ExitLossRatio
}

// OverflowKgPerS returns what the regulator sends back.
//
//	ṁ = ṁ_most − ṁ_burnt, at least 0
//
// where ṁ_most is what the pump brings at the set pressure.
//
// Valid: a regulator that holds the rail.
// Accuracy: that of the two flows.
// Source: balance of masses at the regulator.
// Errors: none
func OverflowKgPerS(mostKgPerS, burntKgPerS float64) float64 {
	return math.Max(0, mostKgPerS-burntKgPerS)
}

// ReturnDropPa returns what the return line loses at the regulator's overflow; the
// rail creeps above its setting by as much.
//
//	Δp = (f l/d + ΣK) · ρ v²/2
//
// as pipeflow.LineDropPa, with ΣK of an entry, two elbows and an end.
//
// Valid: a return line to the tank, open there.
// Accuracy: ± 10 % turbulent, ± 35 % between Re 2300 and 4000.
// Source: Darcy and Weisbach with Colebrook, see pipeflow.LineDropPa.
// Errors: those of pipeflow.LineDropPa; a friction factor that does not settle gives none.
func ReturnDropPa(lengthM, boreM, flowM3PerS float64, f pipeflow.Fluid) (float64, error) {
	line := pipeflow.Line{LengthM: lengthM, BoreM: boreM, RoughnessM: roughnessM, LossRatio: FittingsRatio(2)}
	drop, end, err := pipeflow.LineDropPa(line, flowM3PerS, f)
	if err == nil && !end.OK {
		return math.NaN(), nil
	}
	return drop, err
}

// CreepFrac returns by how much the rail creeps above its setting.
//
//	e = Δp/p_set
//
// where Δp is what the return line loses.
//
// Valid: a regulator at the rail with its own slope left out.
// Accuracy: that of the return line; the regulator's own slope adds some 2 %.
// Source: definition.
// Errors: none
func CreepFrac(dropPa, setPa float64) float64 { return dropPa / setPa }

// ColdKgPerS returns the fuel burnt at full power on the coldest day.
//
//	ṁ = ṁ_h (T_h/T_c)^m
//
// where ṁ_h is what is burnt on the hottest day, T_h and T_c the charge on the hottest and the coldest and m = 0.6.
//
// Valid: 230 … 330 K, no charger; with one the boost is held and the same law stands.
// Accuracy: ± 3 %.
// Source: ISO 1585, correction of power for air temperature (exponent from memory).
// Errors: none
func ColdKgPerS(hotKgPerS, hotK, coldK, exponentRatio float64) float64 {
	return hotKgPerS * math.Pow(hotK/coldK, exponentRatio)
}

// OpenTimeS returns how long an injector passes fuel in a pulse.
//
//	t = t_pulse − t₀
//
// where t₀ is the dead time.
//
// Valid: a pulse longer than its dead time.
// Accuracy: that of the dead time.
// Source: definition of dead time.
// Errors: none
func OpenTimeS(pulseS, deadS float64) float64 { return pulseS - deadS }

// DriveFrac returns the share of its volts that a pump driven by pulse width needs.
//
//	D = U_need/U
//
// where U_need are the volts that bring what is burnt at the set pressure, and U those that stand at the pump.
//
// Valid: a motor whose current does not stop between pulses, driven above some 5 kHz; more than 1 is out of reach.
// Accuracy: ± 5 points.
// Source: mean voltage of a chopped supply: Mohan, Undeland, Robbins, Power Electronics, 3rd ed. 2003, section 7-3.
// Errors: none
func DriveFrac(needV, standingV float64) float64 { return needV / standingV }

// InletPa returns the absolute pressure at the pump's inlet.
//
//	p = p_a − ρ g h − Δp
//
// where h is the inlet above the lowest fuel and Δp what the strainer takes.
//
// Valid: a vented tank, a short suction line.
// Accuracy: ± 3 kPa.
// Source: hydrostatics.
// Errors: none
func InletPa(ambientPa, densityKgPerM3, headM, strainerPa float64) float64 {
	return ambientPa - densityKgPerM3*gravityMPerS2*headM - strainerPa
}

// returned records what goes back to the tank in a state, how long the injectors
// are open, and the duty of a pump driven by pulse width.
func (a *accountant) returned(s *State, densityKgPerM3 float64) {
	k := figure.ID(s.Key)
	sys := &a.v.Design.File.System
	if s.Point.PulseS > 0 {
		a.l.Put(k+"/injector/OpenS", formula.VehicleOpenTimeS, OpenTimeS(s.Point.PulseS, s.Point.DeadS), "ms", k+"/injector/PulseS", k+"/injector/DeadS")
	}
	if need, ok := a.l.Why(k + "/fuel pump/NeedV"); ok && sys.Drive == "pulse width" && s.Point.PumpV > 0 {
		a.l.Put(k+"/fuel pump/DriveFrac", formula.VehicleDriveFrac, DriveFrac(need.SI, s.Point.PumpV), "%", k+"/fuel pump/NeedV", k+"/fuel pump/VoltageV")
	}
	drop, over, ok := a.v.Return(s)
	if !ok {
		return
	}
	ethanol := a.l.Leaf(a.v.Design.File.Fuel.EthanolFrac)
	a.l.Put(k+"/return/FlowKgPerS", formula.VehicleOverflowKgPerS, over*densityKgPerM3, "g/s", k+"/fuel pump/MostKgPerS", k+"/engine/FuelKgPerS")
	a.l.Put(k+"/return/DropPa", formula.VehicleReturnDropPa, drop, "kPa", k+"/return/FlowKgPerS", a.l.Leaf(sys.ReturnM), a.l.Leaf(sys.ReturnBoreM), ethanol)
	a.l.Put(k+"/return/CreepFrac", formula.VehicleCreepFrac, CreepFrac(drop, s.Point.RailSetPa), "%", k+"/return/DropPa", k+"/rail/SetPa")
}

// Return is what the return line of a state carries and loses; ok is false without
// a return at the rail, or where nothing goes back.
func (v *Vehicle) Return(s *State) (dropPa, flowM3PerS float64, ok bool) {
	sys := &v.Design.File.System
	fuel, err := petrol.Blend(v.Design.File.Fuel.EthanolFrac.SI)
	if err != nil || sys.Return != "at the rail" || !s.Ended.OK || s.Point.PumpV <= 0 || math.IsInf(s.Point.PumpMostM3PerS, 1) {
		return 0, 0, false
	}
	flowM3PerS = OverflowKgPerS(s.Point.PumpMostM3PerS, s.Point.PumpM3PerS)
	drop, err := ReturnDropPa(sys.ReturnM.SI, sys.ReturnBoreM.SI, flowM3PerS, pipeflow.Fluid{DensityKgPerM3: fuel.DensityKgPerM3, ViscosityPaS: fuel.ViscosityPaS})
	return drop, flowM3PerS, err == nil && flowM3PerS > 0 && !math.IsNaN(drop)
}

// fuelSides records what belongs to no state: the coldest day's demand, and the
// pump's inlet.
func (a *accountant) fuelSides() {
	f := a.v.Design.File
	if s := a.r.State(design.Full); s != nil && s.Ended.OK && s.Point.WantedKgPerS > 0 {
		rise := a.l.Leaf(f.Engine.ChargeRiseK)
		a.l.Put("full/fuel/ColdKgPerS", formula.VehicleColdKgPerS, a.v.ColdKgPerS(s), "g/s", "full/engine/WantedKgPerS", a.l.Leaf(f.Climate.HottestK), a.l.Leaf(f.Climate.ColdestK), rise, a.l.Leaf(a.v.k.coldPower))
		a.l.Put("full/fuel/ColdSpareKgPerS", formula.VehicleSpareKgPerS, SpareKgPerS(s.Point.PumpMostM3PerS*a.v.density(figure.Draw{}), a.v.ColdKgPerS(s)), "g/s", "full/fuel pump/MostKgPerS", "full/fuel/ColdKgPerS")
	}
	in, vapour, ok := a.v.Inlet()
	if !ok {
		return
	}
	ethanol := a.l.Leaf(f.Fuel.EthanolFrac)
	a.l.Put("tank/inlet/PressurePa", formula.VehicleInletPa, in, "kPa", a.l.Leaf(f.Climate.AltitudeM), a.l.Leaf(f.Tank.SuctionM), a.l.Leaf(a.v.k.strainerPa), ethanol)
	a.l.Put("tank/inlet/VapourPa", formula.VehicleVapourPa, vapour, "kPa", ethanol, a.l.Leaf(a.v.k.vapour), a.l.Leaf(f.Climate.HottestK), a.l.Leaf(a.v.k.tankK))
}

// ColdKgPerS is what full power burns on the coldest day.
func (v *Vehicle) ColdKgPerS(s *State) float64 {
	c, rise := &v.Design.File.Climate, v.Design.File.Engine.ChargeRiseK.SI
	return ColdKgPerS(s.Point.WantedKgPerS, c.HottestK.SI+rise, c.ColdestK.SI+rise, v.k.coldPower.SI)
}

// Inlet is the absolute pressure at the pump's inlet with the fuel at its lowest,
// and the fuel's vapour pressure there; ok is false where no suction head is stated.
func (v *Vehicle) Inlet() (inletPa, vapourPa float64, ok bool) {
	f := v.Design.File
	if f.Tank == nil || f.Tank.SuctionM == nil {
		return 0, 0, false
	}
	fuel, err := petrol.Blend(f.Fuel.EthanolFrac.SI)
	if err != nil {
		return 0, 0, false
	}
	strainer := v.k.strainerPa.SI
	if f.Tank.Strainer == "none" {
		strainer = 0
	}
	return InletPa(v.AmbientPa(), fuel.DensityKgPerM3, f.Tank.SuctionM.SI, strainer), VapourPa(fuel.ReidPa, v.k.vapour.SI, f.Climate.HottestK.SI+v.k.tankK.SI), true
}
