package calibrate

import (
	"fmt"
	"math"

	"fettle/internal/table"
)

// EndOfInjectionRad returns where an injection should have ended, before the
// firing top of its cylinder: in time to stand in the port before the intake
// valve opens.
//
//	θ = 360° + θ_o + 20° + ω t
//
// where θ_o is the opening of the intake valve before its top and t = 3 ms the
// flight of the fuel and its first drying.
//
// Valid: 0 … 1500 rad/s, opening −40 … 90° before the top; outside an error is returned. Beyond 700° it stands at 700°.
// Accuracy: a choice; the port forgives ± 60°.
// Source: common practice: injection on the closed valve.
// Errors: a value out of range.
func EndOfInjectionRad(intakeOpensRad, speedRadPerS float64) (float64, error) {
	if !(intakeOpensRad >= -40*degree && intakeOpensRad <= 90*degree) {
		return 0, fmt.Errorf("intake opening %g° before the top is outside −40 … 90°", intakeOpensRad/degree)
	}
	if !(speedRadPerS >= 0 && speedRadPerS <= 1500) {
		return 0, fmt.Errorf("engine speed %g rad/s is outside 0 … 1500 rad/s", speedRadPerS)
	}
	return math.Min(700*degree, 380*degree+intakeOpensRad+3e-3*speedRadPerS), nil
}

// DirectEndRad returns where an injection into the cylinder should have ended,
// before the firing top.
//
//	θ = 230°
//
// that is 130° after the top of the intake stroke.
//
// Valid: a homogeneous charge.
// Accuracy: a choice; earlier wets the piston, later leaves no time to mix.
// Source: common practice.
// Errors: none.
func DirectEndRad() float64 { return 230 * degree }

// DeadPressureRatio returns the dead time at a pressure across the injector over
// that at the rated one.
//
//	k = 1 + 0.08 (Δp − Δp₀)/bar
//
// Valid: 0.5 … 10 bar; outside an error is returned.
// Accuracy: ± 0.05 a bar between injectors.
// Source: common practice: the needle lifts against the pressure; from memory 0.04 … 0.12 a bar.
// Errors: a pressure out of range.
func DeadPressureRatio(dropPa, ratedPa float64) (float64, error) {
	if !(dropPa >= 50e3 && dropPa <= 1e6) || !(ratedPa >= 50e3 && ratedPa <= 1e6) {
		return 0, fmt.Errorf("pressure across the injector %g Pa, rated %g Pa: 50e3 … 1e6 Pa is allowed", dropPa, ratedPa)
	}
	return 1 + 0.08*(dropPa-ratedPa)/1e5, nil
}

// OpenFlowKgPerS returns the flow of an open injector at a pressure across it.
//
//	ṁ = ṁ₀ √(Δp/Δp₀)
//
// Valid: 50 kPa … 1 MPa; outside an error is returned.
// Accuracy: 2 % from half to twice the rated pressure; the part itself ± 3 %.
// Source: orifice law of an incompressible fluid; Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, equation 8-69.
// Errors: a pressure out of range.
func OpenFlowKgPerS(ratedKgPerS, ratedPa, dropPa float64) (float64, error) {
	if _, err := DeadPressureRatio(dropPa, ratedPa); err != nil {
		return 0, err
	}
	return ratedKgPerS * math.Sqrt(dropPa/ratedPa), nil
}

// ShortPulseS returns what is added to a short pulse, as far as it is known
// without a measurement: nothing, and how far that may be off.
//
//	Δt = 0 ± (0.01 ms + 0.15 ms · exp(−t/0.35 ms))
//
// where t is the pulse without dead time.
//
// Valid: t ≥ 0.
// Accuracy: the spread given is one standard deviation.
// Source: from memory: needles of port injectors open fully 0.3 … 0.6 ms after they begin to; which way the flow then bends differs.
// Errors: none.
func ShortPulseS(pulseS float64) (addedS, sdS float64) {
	return 0, 0.01e-3 + 0.15e-3*math.Exp(-pulseS/0.35e-3)
}

// injectionMaps are the tables of the injectors and their angle.
func injectionMaps(in *Input, speed table.Axis) ([]Map, []error) {
	e := &in.Engine
	angle := curve{
		name: InjectionEnd, title: "End of injection", quantity: "end of injection before the firing top", unit: "°", x: speed, by: "calibrate.EndOfInjectionRad", decimals: 0,
		cell: func(n, _ float64) (float64, float64, error) {
			v, err := EndOfInjectionRad(e.IntakeOpensRad, n*rpm)
			return v / degree, 20, err
		}, basis: "reference: firing top of the same cylinder; ends on the closed intake valve, 3 ms and 20° before it opens (common practice)", leaves: leavesOf(in),
	}
	if in.Fitted.Direct {
		angle.by, angle.basis = "calibrate.DirectEndRad", "reference: firing top of the same cylinder; in the intake stroke, for a mixed charge (common practice)"
		angle.cell = func(float64, float64) (float64, float64, error) { return DirectEndRad() / degree, 20, nil }
	}
	list := []curve{angle}
	c := in.Injector
	if c == nil || c.FlowKgPerS == nil || c.RatedPa == nil {
		return makeAll(list)
	}
	across := table.Axis{Name: "pressure across the injector", Unit: "kPa"}
	for i := range axisCount {
		across.At = append(across.At, 150+30*float64(i))
	}
	pulse := table.Axis{Name: "pulse without dead time", Unit: "ms"}
	for i := range axisCount {
		pulse.At = append(pulse.At, math.Round(10*(0.1+0.2*float64(i)))/10)
	}
	return makeAll(append(
		list,
		curve{
			name: InjectorFlow, title: "Injector flow", quantity: "flow of one injector held open", unit: "g/s", x: across, by: "calibrate.OpenFlowKgPerS", decimals: 3,
			cell: func(kPa, _ float64) (float64, float64, error) {
				v, err := OpenFlowKgPerS(c.FlowKgPerS.SI, c.RatedPa.SI, 1e3*kPa)
				far := math.Max(0, math.Abs(math.Log2(1e3*kPa/c.RatedPa.SI))-1)
				return 1e3 * v, 1e3 * v * sumSquares(c.FlowKgPerS.SdSI/c.FlowKgPerS.SI, 0.01+0.02*far), err
			}, basis: "root law through the sheet's flow at its pressure; the pressure is rail less manifold", leaves: leavesOf(in, c.FlowKgPerS, c.RatedPa),
		},
		curve{
			name: DeadPressure, title: "Dead time with pressure", quantity: "factor on the dead time", unit: "", x: across, by: "calibrate.DeadPressureRatio", decimals: 2,
			cell: func(kPa, _ float64) (float64, float64, error) {
				v, err := DeadPressureRatio(1e3*kPa, c.RatedPa.SI)
				return v, 0.5 * math.Abs(v-1), err
			}, basis: "the needle lifts against the pressure (common practice); a measured table replaces it", leaves: leavesOf(in, c.RatedPa),
		},
		curve{
			name: ShortPulse, title: "Short pulses", quantity: "added to a short pulse", unit: "ms", x: pulse, by: "calibrate.ShortPulseS", decimals: 2,
			cell: func(ms, _ float64) (float64, float64, error) {
				v, sd := ShortPulseS(1e-3 * ms)
				return 1e3 * v, 1e3 * sd, nil
			}, basis: "not known until measured: nothing is added, the uncertainty says how far that may be off; idle is kept above 0.5 ms of pulse by the choice of injector", leaves: leavesOf(in),
		},
	))
}
