// Package cycle computes one cylinder of a four-stroke petrol engine through
// its whole working cycle, step by step of crank angle: piston, valves, runners
// with the inertia of their gas, plenum and throttle, residual and blown-back
// gas, combustion, heat to the walls, knock. From it come volumetric
// efficiency, torque, fuel, exhaust temperature, the best and the knock-limited
// spark, and the best positions of the cams.
//
// Conventions: angles in rad, 0 where the crank throw stands at the top between
// exhaust and intake stroke, 2π at the top of the firing stroke. Pressures are
// absolute. Spark advance is positive before 2π. Cam positions are moves away
// from the parked one: the intake earlier, the exhaust later. Work done by the
// gas and heat given to the gas are positive inside, heat to the walls positive
// in results. The cylinders are alike; they share the plenum in firing order,
// evenly spaced. Start reading at [Engine], then [Model.Point].
package cycle

import (
	"math"
	"slices"

	"fettle/internal/crank"
	"fettle/internal/petrol"
)

// Valve is the valves of one side of a cylinder and their cam.
type Valve struct {
	Count       int
	HeadM       float64 // diameter of one head
	LiftM       float64
	DurationRad float64 // from seat to seat, crank angle
	// CentrelineRad is full lift with the phaser parked: after top dead centre
	// for the intake, before it for the exhaust.
	CentrelineRad float64
	// PhaserRad is how far the phaser moves: the intake earlier, the exhaust
	// later; 0 without.
	PhaserRad float64
}

// Duct is a runner from a valve to the plenum or collector.
type Duct struct{ LengthM, BoreM float64 }

// Engine is what the cycle needs to know of an engine.
type Engine struct {
	Geometry   crank.Geometry
	PinOffsetM float64 // of the piston pin's way from the crank's axis

	Intake, Exhaust             Valve
	IntakeRunner, ExhaustRunner Duct // of one cylinder, port included
	PlenumM3                    float64
	ThrottleM2                  float64 // effective area with the throttle open, filter and pipes counted in

	// ExhaustDropPa is the loss of the exhaust system at a mass flow.
	ExhaustDropPa, ExhaustDropKgPerS float64
	// CollectorM3 is what the exhaust runners of all cylinders end in, up to the
	// catalyst or the turbine; 0 for one without pulses.
	CollectorM3 float64
	// ChargerFrac is the turbocharger's overall efficiency, turbine,
	// compressor and bearings together; 0 without one.
	ChargerFrac float64
	// TurbineRatio, where it is not 0, is what the turbine holds back over the
	// boost, stated instead of reckoned from ChargerFrac.
	TurbineRatio float64

	Fuel            petrol.Fuel
	DirectInjection bool
	// BurnRatio is the burn's length against that of a four-valve chamber with
	// a central plug: about 1.3 for two valves, 0.85 with strong tumble.
	BurnRatio float64
	CoolantK  float64
}

// SparkMode says how the spark is set.
type SparkMode int

// The spark modes.
const (
	SparkGiven     SparkMode = iota // as Operating.SparkRad says
	SparkBest                       // for most work
	SparkUnderTest                  // for most work, short of knock
)

// Operating is the state an engine is computed in.
type Operating struct {
	SpeedRadPerS float64
	// ManifoldPa is the mean pressure in the plenum; with WideOpen it is not
	// read, the throttle is open and the pressure comes out.
	ManifoldPa float64
	WideOpen   bool
	UpstreamPa float64 // before the throttle: ambient, or after the charger
	AmbientPa  float64
	ChargeK    float64 // of the air in the plenum

	LambdaRatio        float64
	IntakeAdvanceRad   float64
	ExhaustRetardRad   float64
	Spark              SparkMode
	SparkRad           float64 // before top dead centre, with SparkGiven
	MostKnockCount     float64 // knock integral that SparkUnderTest allows, commonly 1
	OilViscosityRatio  float64 // of the oil's viscosity to that of warm oil, 1 when warm
	ColdWalls          bool    // walls and valves at the coolant's temperature, as in the first cycles of a start
	UnconvergedAllowed bool    // hand back the last cycle of one that didn't settle, as not OK
}

// Result is one cycle of the engine, all cylinders together where not said
// otherwise.
type Result struct {
	ManifoldPa   float64 // mean in the plenum
	AirKgPerS    float64
	FuelKgPerS   float64
	VolEffFrac   float64 // dry air against that of the swept volume at the plenum's pressure and temperature
	ResidualFrac float64 // burned mass in the charge when the intake valve closes
	TorqueNm     float64
	BrakeMeanPa  float64
	GrossMeanPa  float64 // compression and expansion strokes
	PumpingPa    float64 // mean effective pressure lost in gas exchange, positive when lost
	FrictionPa   float64
	PowerW       float64
	// FuelKgPerJ is fuel over brake work; 1 g/kWh is 2.7778e−10 kg/J. NaN when the engine gives none.
	FuelKgPerJ     float64
	ExhaustK       float64 // mean by energy, after the port
	ExhaustPa      float64 // mean in the collector
	WallW          float64 // from the gas to the chamber's walls
	PortW          float64 // to the walls of the exhaust ports
	SparkRad       float64
	BestRad        float64 // spark of most work; NaN with SparkGiven
	KnockRad       float64 // greatest spark short of knock, not above BestRad; NaN unless sought
	KnockLimited   bool    // KnockRad is below BestRad
	KnockCount     float64 // knock integral at the spark used, of a cycle that burns fast, one in twenty
	MeanKnockCount float64 // that of the mean cycle
	Burn50Rad      float64 // half burned, after the firing top
	BurnRad        float64 // from the spark to nine tenths burned
	PeakPa         float64
	TrappedKg      float64 // one cylinder, all gas
	TrappedAirKg   float64 // one cylinder, dry air
	ClosingK       float64 // gas when the intake valve closes
	BackflowFrac   float64 // gas blown into the intake, of that trapped
	BlowByFrac     float64 // past the piston rings, of that trapped

	// Balances of one cylinder over the cycle; they close to rounding, whatever
	// the step.
	Mass   MassBalance
	Energy EnergyBalance
}

// MassBalance is the mass of one cylinder over one cycle.
type MassBalance struct{ InKg, OutKg, FuelKg, LeakKg, StoredKg float64 }

// MissFrac returns what the balance lacks, of the mass that came in.
//
//	ε = (m_in + m_f − m_out − m_l − Δm)/m_in
//
// where m_l went past the rings.
//
// Valid: a cycle in which gas came in.
// Accuracy: rounding.
// Source: conservation of mass.
// Errors: none.
func (b MassBalance) MissFrac() float64 {
	return (b.InKg + b.FuelKg - b.OutKg - b.LeakKg - b.StoredKg) / b.InKg
}

// EnergyBalance is the energy of one cylinder over one cycle, that of formation
// included; the fuel's heat is in what comes in.
type EnergyBalance struct{ InJ, OutJ, WorkJ, WallJ, LeakJ, StoredJ, FuelJ float64 }

// MissFrac returns what the balance lacks, of the fuel's heat.
//
//	ε = (H_in − H_out − H_l − W − Q − ΔU)/(m_f H_u)
//
// where H_l went past the rings.
//
// Valid: a fired cycle.
// Accuracy: rounding.
// Source: first law for an open system; Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 14.1.
// Errors: none.
func (b EnergyBalance) MissFrac() float64 {
	return (b.InJ - b.OutJ - b.LeakJ - b.WorkJ - b.WallJ - b.StoredJ) / b.FuelJ
}

// Model is an engine made ready to be computed. It is not changed by use; many
// may use it at once.
type Model struct {
	engine Engine
	gas    *Gas
	steps  int // per revolution

	// by step of one revolution: volume at its ends and in its middle
	ends, mids []float64
	motored    []float64 // (V_mid)^−1.32
	piston     float64   // m²
	least      float64   // m³
	wide       *Model    // in steps of twice the size, for searches
}

// Engine is what the model was made of.
func (m *Model) Engine() Engine { return m.engine }

// NewModel makes an engine ready.
func NewModel(e Engine) (*Model, error) {
	if err := e.Check(); err != nil {
		return nil, err
	}
	gas, err := NewGas(e.Fuel)
	if err != nil {
		return nil, err
	}
	return NewModelOf(e, gas)
}

// NewModelOf makes an engine ready with a gas already tabulated for its fuel.
func NewModelOf(e Engine, g *Gas) (*Model, error) {
	if err := e.Check(); err != nil {
		return nil, err
	}
	e.Fuel = g.fuel
	m := newModel(e, g, stepsPerTurn)
	m.wide = newModel(e, g, stepsPerTurn/2)
	return m, nil
}

// stepsPerTurn is the fineness of the cycle: 1.5° steps stand within 0.5 % of
// ones too fine to matter.
const stepsPerTurn = 240

func newModel(e Engine, g *Gas, steps int) *Model {
	m := &Model{engine: e, gas: g, steps: steps, piston: math.Pi / 4 * e.Geometry.BoreM * e.Geometry.BoreM}
	m.ends, m.mids, m.motored = make([]float64, steps+1), make([]float64, steps), make([]float64, steps)
	d := 2 * math.Pi / float64(steps)
	volume := func(a float64) float64 {
		return e.Geometry.ClearanceM3() + m.piston*pistonM(e.Geometry.StrokeM/2, e.Geometry.RodM, e.PinOffsetM, a)
	}
	for i := range steps {
		m.ends[i], m.mids[i] = volume(float64(i)*d), volume((float64(i)+0.5)*d)
		m.motored[i] = math.Pow(m.mids[i], -motoredExponent)
	}
	m.ends[steps] = m.ends[0]
	m.least = slices.Min(m.ends)
	return m
}
