// Package breathing computes an engine's response tables, torque, air, exhaust
// temperature, heat and spark over speed and manifold pressure, from its
// geometry: the intake stroke is integrated through the valves, the rest is
// sourced correlation. Package enginemap fills the same tables by a crank-angle cycle.
//
// Conventions: manifold and ambient pressures are absolute, torque is at the
// flywheel without accessories, air flow is dry air, spark advance is positive
// before top dead centre. The axes of every table are speed in rad/s (rows) and
// manifold pressure in Pa (columns). Start reading at [Solve].
package breathing

import (
	"fmt"
	"math"
	"slices"

	"fettle/internal/crank"
	"fettle/internal/gas"
	"fettle/internal/petrol"
)

// Input is the engine and the air it breathes.
type Input struct {
	Geometry crank.Geometry

	IntakeValveCount int     // per cylinder
	IntakeValveM     float64 // diameter of one head
	IntakeLiftM      float64
	IntakeOpensRad   float64 // before top dead centre, at the seat; negative after it
	IntakeClosesRad  float64 // after bottom dead centre, at the seat
	IntakePhaserRad  float64 // how far a phaser may move both earlier; 0 without

	RunnerM     float64 // from plenum to valve
	RunnerBoreM float64

	IdleRadPerS float64
	MaxRadPerS  float64

	Fuel              petrol.Fuel
	FullLambdaRatio   float64 // lambda at full load
	CruiseLambdaRatio float64 // lambda elsewhere
	AmbientPa         float64
	ChargeK           float64 // air in the manifold, before a charger when there is one
	CoolantK          float64
	IntakeDropPa      float64 // filter and open throttle, at MaxRadPerS
	ExhaustDropPa     float64 // exhaust system, at MaxRadPerS and full load
	BoostPa           float64 // highest manifold pressure above ambient; 0 without a charger
	CompressorFrac    float64 // isentropic efficiency of the charger; 0 for a charge that stays at ChargeK
	CoolerFrac        float64 // effectiveness of the charge cooler; 0 without
	TurbineRatio      float64 // back pressure of the turbine over boost; 0 without one
	BeltFrac          float64 // efficiency of the belt and gears that turn the charger; 0 where the exhaust does

	// Cycle is what the crank-angle cycle reads beside the above; what is 0 in it
	// is assumed from the rest.
	Cycle Cycle

	SpeedRadPerS []float64 // axis of the tables; nil for 16 points from half idle to the limit, idle among them
	ManifoldPa   []float64 // axis of the tables; nil for 12 points from 0.2 of ambient
}

// Cycle is the exhaust side and the chamber of an engine.
type Cycle struct {
	ExhaustValveM    float64
	ExhaustLiftM     float64
	ExhaustOpenRad   float64 // from seat to seat, crank angle
	ExhaustCentreRad float64 // full lift before top dead centre, phaser parked
	ExhaustPhaserRad float64 // how far a phaser moves it later
	ExhaustRunnerM   float64
	ExhaustRunBoreM  float64
	CollectorM3      float64
	PlenumM3         float64
	ThrottleM2       float64 // effective area, open
	BurnRatio        float64 // of the burn's length to that of a four-valve chamber
	DirectInjection  bool
}

// Check returns the first value that can't be.
func (in *Input) Check() error {
	if err := in.Geometry.Check(); err != nil {
		return err
	}
	if in.IntakeValveCount < 1 || in.IntakeValveCount > 4 {
		return fmt.Errorf("intake valves per cylinder %d is outside 1 … 4", in.IntakeValveCount)
	}
	for _, r := range []struct {
		name, unit   string
		v, low, high float64
	}{
		{"intake valve diameter", "m", in.IntakeValveM, 0.008, in.Geometry.BoreM},
		{"intake valve lift", "m", in.IntakeLiftM, 0.002, 0.03},
		{"intake opening before top dead centre", "rad", in.IntakeOpensRad, -1, 1.5},
		{"intake closing after bottom dead centre", "rad", in.IntakeClosesRad, 0, 2},
		{"phaser range", "rad", in.IntakePhaserRad, 0, 1.5},
		{"runner length", "m", in.RunnerM, 0.05, 1.5},
		{"runner bore", "m", in.RunnerBoreM, 0.015, 0.1},
		{"idle speed", "rad/s", in.IdleRadPerS, 30, 300},
		{"speed limit", "rad/s", in.MaxRadPerS, in.IdleRadPerS * 1.5, 1500},
		{"stoichiometric ratio", "", in.Fuel.StoichRatio, 5, 20},
		{"heating value", "J/kg", in.Fuel.HeatingJPerKg, 15e6, 55e6},
		{"lambda at full load", "", in.FullLambdaRatio, 0.7, 1.2},
		{"lambda at part load", "", in.CruiseLambdaRatio, 0.7, 1.3},
		{"ambient pressure", "Pa", in.AmbientPa, 50e3, 110e3},
		{"charge temperature", "K", in.ChargeK, 230, 400},
		{"coolant temperature", "K", in.CoolantK, 230, 420},
		{"intake pressure drop", "Pa", in.IntakeDropPa, 0, 0.3 * in.AmbientPa},
		{"exhaust pressure drop", "Pa", in.ExhaustDropPa, 0, in.AmbientPa},
		{"boost", "Pa", in.BoostPa, 0, 300e3},
		{"back pressure of the turbine over boost", "", in.TurbineRatio, 0, 3},
		{"efficiency of the charger's drive", "", in.BeltFrac, 0, 1},
	} {
		if !(r.v >= r.low && r.v <= r.high) {
			return fmt.Errorf("%s %g %s is outside %g … %g %s", r.name, r.v, r.unit, r.low, r.high, r.unit)
		}
	}
	if float64(in.IntakeValveCount)*in.IntakeValveM*in.IntakeValveM >= in.Geometry.BoreM*in.Geometry.BoreM {
		return fmt.Errorf("%d intake valves of %g m do not fit a bore of %g m", in.IntakeValveCount, in.IntakeValveM, in.Geometry.BoreM)
	}
	if _, err := ChargedK(in.ChargeK, (in.AmbientPa+in.BoostPa)/in.AmbientPa, in.CompressorFrac, in.CoolerFrac); err != nil {
		return err
	}
	return in.checkAxes()
}

func (in *Input) checkAxes() error {
	if err := rising("speed axis", in.SpeedRadPerS, 20, 1500, "rad/s"); err != nil {
		return err
	}
	return rising("manifold pressure axis", in.ManifoldPa, 10e3, 450e3, "Pa")
}

func rising(name string, at []float64, low, high float64, unit string) error {
	if at == nil {
		return nil
	}
	if len(at) < 2 {
		return fmt.Errorf("%s has %d points, at least 2 are needed", name, len(at))
	}
	for i, v := range at {
		if !(v >= low && v <= high) {
			return fmt.Errorf("%s: %g %s is outside %g … %g %s", name, v, unit, low, high, unit)
		}
		if i > 0 && v <= at[i-1] {
			return fmt.Errorf("%s: %g %s is not above the %g before it", name, v, unit, at[i-1])
		}
	}
	return nil
}

// axes are the points of the tables, given or chosen.
func (in *Input) axes() (speeds, pressures []float64) {
	speeds, pressures = slices.Clone(in.SpeedRadPerS), slices.Clone(in.ManifoldPa)
	if speeds == nil {
		// two below idle, where an engine starts, and idle itself
		speeds = append([]float64{0.5 * in.IdleRadPerS, 0.8 * in.IdleRadPerS}, spaced(in.IdleRadPerS, in.MaxRadPerS, 14)...)
	}
	if pressures == nil {
		pressures = spaced(0.2*in.AmbientPa, in.AmbientPa+in.BoostPa, 12)
	}
	return speeds, pressures
}

func spaced(low, high float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = low + (high-low)*float64(i)/float64(n-1)
	}
	out[n-1] = high
	return out
}

// MachRatio returns the mean Mach number in the intake valves, beyond about 0.5
// of which an engine loses volumetric efficiency fast.
//
//	Z = π/4 · B² · S̄ₚ/(A_m a)
//
// where A_m is the effective area of one cylinder's intake valves averaged over their opening.
//
// Valid: bore, area and speed of sound above 0; else an error is returned.
// Accuracy: that of the effective area, ± 15 %.
// Source: Taylor, The Internal-Combustion Engine in Theory and Practice, vol. 1, ch. 6 (from memory); JSME Mechanical Engineering Dictionary, index 11:1002813.
// Errors: a value out of range.
func MachRatio(boreM, meanPistonMPerS, effectiveAreaM2, soundMPerS float64) (float64, error) {
	for _, err := range []error{
		within("bore", boreM, 0.02, 0.5, "m"), within("mean piston speed", meanPistonMPerS, 0, 50, "m/s"),
		within("effective valve area", effectiveAreaM2, 1e-6, 0.1, "m²"), within("speed of sound", soundMPerS, 200, 600, "m/s"),
	} {
		if err != nil {
			return 0, err
		}
	}
	return math.Pi / 4 * boreM * boreM * meanPistonMPerS / (effectiveAreaM2 * soundMPerS), nil
}

// IntakeAreaM2 returns the effective area of one cylinder's intake valves,
// averaged from opening to closing.
//
//	A_m = (1/Δθ) ∫ C · n · min(π D L(θ), 0.83 · π/4 · D²) dθ
//
// where L follows a squared sine from seat to seat and C = 0.65.
//
// Valid: as Input; a faulty one gives an error.
// Accuracy: ± 15 %.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, section 6.3 (from memory).
// Errors: those of Input.Check.
func IntakeAreaM2(in Input) (float64, error) {
	if err := in.Check(); err != nil {
		return 0, err
	}
	v := in.valve(0)
	sum := 0.0
	const n = 200
	for i := range n {
		sum += v.areaM2(v.opens + (v.closes-v.opens)*(float64(i)+0.5)/n)
	}
	return sum / n, nil
}

// AirFlowKgPerS returns the air that a four-stroke engine breathes.
//
//	ṁ = η_v · p/(R T) · V_d · ω/(4π)
//
// Valid: values above 0; else an error is returned.
// Accuracy: that of the volumetric efficiency.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 2.27.
// Errors: a value out of range.
func AirFlowKgPerS(volEffFrac, pressurePa, tempK, displacementM3, speedRadPerS float64) (float64, error) {
	for _, err := range []error{
		within("volumetric efficiency", volEffFrac, 0, 2, ""), within("displacement", displacementM3, 1e-5, 0.1, "m³"),
		within("engine speed", speedRadPerS, 0, 2000, "rad/s"),
	} {
		if err != nil {
			return 0, err
		}
	}
	density, err := gas.AirKgPerM3(pressurePa, tempK)
	return volEffFrac * density * displacementM3 * speedRadPerS / (4 * math.Pi), err
}
