package vehicle

import (
	"math"

	"fettle/internal/wire"
)

// WireOhm returns the resistance of a wire with its two terminals.
//
//	R = R′₂₀ · l · (1 + α₂₀ (T − 293.15)) + 2 R_c
//
// where R′₂₀ is the conductor's resistance per metre at 20 °C, l its length with allowance and tails, T its temperature and R_c one crimped and mated terminal.
//
// Valid: −40 … 150 °C.
// Accuracy: 1 % from the conductor's table, and the spread of the terminals.
// Source: IEC 60028; conductor from the cable table; terminals: common practice.
// Errors: none
func WireOhm(lengthM, ohmPerM20, tempK, contactOhm float64) float64 {
	return wire.ResistanceOhm(lengthM, ohmPerM20, tempK) + 2*contactOhm
}

// ContactOhm returns the resistance of a bolt, a switch contact or a track as its input states it, with the sheet metal's behind a body bolt.
//
//	R = R_stated (+ R_body)
//
// Valid: clean contact.
// Accuracy: the spread of the input.
// Source: the input's own.
// Errors: none
func ContactOhm(statedOhm float64) float64 { return statedOhm }

// ThroughA returns the current through an element from the solved network: the sum of the loads whose way leads through it.
//
//	I = Σ I_k
//
// Valid: a solved state.
// Accuracy: Kirchhoff's current law holds at every node to 1e-9.
// Source: nodal analysis; Kirchhoff's current law.
// Errors: none
func ThroughA(loadsA ...float64) float64 {
	sum := 0.0
	for _, a := range loadsA {
		sum += a
	}
	return sum
}

// LoadA returns the current of a device at the voltage it gets.
//
//	I = U/R,  I = I₀  or  I = P/U,  each times its duty
//
// where below the drop-out voltage U_d a constant current is I₀ U/U_d and a constant power P U/U_d². A pump's, an injector's, a coil's and a starter's current come from their own models.
//
// Valid: 0 … 16 V.
// Accuracy: the spread of the part's values.
// Source: definition of the load; the part's own source.
// Errors: none
func LoadA(acrossV, ohm float64) float64 { return acrossV / ohm }

// BatteryA returns the current that the battery gives: what the loads take and the alternator does not bring.
//
//	I_bat = Σ I_load − I_alt
//
// Valid: a solved state; negative when the battery charges.
// Accuracy: that of the loads.
// Source: Kirchhoff's current law.
// Errors: none
func BatteryA(loadsA, chargerA float64) float64 { return loadsA - chargerA }

// PostV returns the voltage between the battery's posts.
//
//	U = U₀ − I_bat · R_i,  with R_i = R_accept/C while it charges;  U ≤ U_set − I_alt · R_s with the alternator below its limit
//
// where U₀ is the rest voltage at its state of charge, R_i its inner resistance at the temperature, R_accept/C what limits the charge a battery of capacity C accepts, U_set and R_s the regulator's setting and slope.
//
// Valid: a solved state; battery taken as a source behind one resistance.
// Accuracy: ± 0.1 V from the rest-voltage table, 15 % of R_i.
// Source: open-circuit table (service data) and SAE J537 cold cranking rating; see the battery's formulas.
// Errors: none
func PostV(restV, currentA, innerOhm float64) float64 { return restV - currentA*innerOhm }

// ChargerA returns the alternator's current: what holds its set voltage, up to what its speed allows.
//
//	I = min((U_set − U)/R_s, I_most)
//
// Valid: a solved state.
// Accuracy: that of the output curve, ± 10 %.
// Source: ISO 8854 rating points; see the alternator's formulas.
// Errors: none
func ChargerA(setV, postV, slopeOhm, mostA float64) float64 {
	return min((setV-postV)/slopeOhm, mostA)
}

// EngineAirKgPerS returns the air that the engine takes at a speed and manifold pressure, from its response table.
//
//	ṁ = r_air · ηv(ω, p) · p/(R T) · V_d · ω/(4π)
//
// where ηv is the table's volumetric efficiency, V_d the displacement and r_air the draw of the air model's spread.
//
// Valid: within the table's axes.
// Accuracy: 6 % of the air, one standard deviation between engines.
// Source: speed-density relation; table by the crank-angle cycle, see cycle.Model.Point; with a charger by the intake stroke, see breathing.Solve.
// Errors: none
func EngineAirKgPerS(tableKgPerS, airRatio float64) float64 { return tableKgPerS * airRatio }

// CrankAirKgPerS returns the air of an engine that the starter turns.
//
//	ṁ = 0.75 · ρ · V_d · ω/(4π)
//
// Valid: cranking, throttle ajar.
// Accuracy: ± 10 %.
// Source: speed-density relation; 0.75 from memory.
// Errors: none
func CrankAirKgPerS(densityKgPerM3, displacementM3, speedRadPerS float64) float64 {
	return 0.75 * densityKgPerM3 * displacementM3 * speedRadPerS / (4 * math.Pi)
}

// ManifoldPa returns the manifold's pressure: at idle the one whose torque carries alternator and belts, at full power the open throttle's, else the atmosphere's.
//
//	M(ω, p) = P_alt/ω + M_belts
//
// Valid: within the engine's table.
// Accuracy: that of the torque table, ± 7 % of the work and ± 15 % of the friction.
// Source: balance of torques at constant speed.
// Errors: none
func ManifoldPa(balancePa float64) float64 { return balancePa }

// LambdaWantedRatio returns the mixture that the controller is set to: 1 at part load, the stated one at full load.
//
//	λ = 1 … λ_full over the last fifth of the open-throttle pressure
//
// Valid: warm engine; cranking takes 1 and a cranking enrichment of 3.
// Accuracy: a setting.
// Source: common practice: 1.0 at cruise, 0.85 to 0.90 at full power.
// Errors: none
func LambdaWantedRatio(fullRatio float64) float64 { return fullRatio }

// TorqueNm returns the torque at the flywheel with alternator and belts taken off.
//
//	M = M_table · r − P_alt/ω − M_belts
//
// where M_belts = 4 N·m stands for the other belt drives (from memory).
//
// Valid: within the engine's table.
// Accuracy: ± 7 % of the work, ± 15 % of the friction.
// Source: table by the crank-angle cycle, see cycle.Model.Point; with a charger by the intake stroke, see breathing.Solve.
// Errors: none
func TorqueNm(tableNm, beltNm float64) float64 { return tableNm - beltNm }

// PowerW returns the power at the flywheel.
//
//	P = M · ω
//
// Valid: any speed.
// Accuracy: that of the torque.
// Source: definition.
// Errors: none
func PowerW(torqueNm, speedRadPerS float64) float64 { return torqueNm * speedRadPerS }

// AcrossPa returns the pressure across an injector.
//
//	Δp = p_rail + p_ambient − p_manifold
//
// Valid: rail pressure above the atmosphere, whatever its regulator is referred to; port injection.
// Accuracy: that of the three pressures.
// Source: definition.
// Errors: none
func AcrossPa(railPa, ambientPa, manifoldPa float64) float64 { return railPa + ambientPa - manifoldPa }

// MarginSI returns the figure that a margin watches.
//
//	x
//
// Valid: a solved state.
// Accuracy: that of the figure.
// Source: the figure's own.
// Errors: none
func MarginSI(valueSI float64) float64 { return valueSI }

// LimitSI returns what a margin's figure is held against.
//
//	x_limit
//
// Valid: a solved state.
// Accuracy: that of the limit's inputs.
// Source: the limit's own.
// Errors: none
func LimitSI(limitSI float64) float64 { return limitSI }

// LeftSI returns the room left, negative when the limit is passed.
//
//	left = limit − value for “at most”, value − limit for “at least”
//
// Valid: a solved state.
// Accuracy: that of value and limit.
// Source: definition.
// Errors: none
func LeftSI(valueSI, limitSI float64) float64 { return limitSI - valueSI }

// VapourPa returns a fuel's vapour pressure at a temperature, from its Reid pressure.
//
//	p = p_R · exp(−B (1/T − 1/310.95))
//
// where p_R is the Reid vapour pressure, measured at 37.8 °C, and B the slope of the fuel.
//
// Valid: 0 … 120 °C, petrol and its blends.
// Accuracy: ± 20 %; summer and winter grades differ by half.
// Source: Clausius and Clapeyron; B from memory; Reid pressure ASTM D323.
// Errors: none
func VapourPa(reidPa, slopeK, tempK float64) float64 {
	return reidPa * math.Exp(-slopeK*(1/tempK-1/310.95))
}

// StatedMPerS returns the road speed of the cruise state, as stated.
//
//	v = v_stated
//
// Valid: level road.
// Accuracy: a choice.
// Source: the build file, or the archetype.
// Errors: none
func StatedMPerS(statedMPerS float64) float64 { return statedMPerS }

// StandingRadPerS returns the speed of an engine that stands: zero.
//
//	ω = 0
//
// Valid: key on, parked, after-run.
// Accuracy: exact.
// Source: definition of the state.
// Errors: none
func StandingRadPerS() float64 { return 0 }
