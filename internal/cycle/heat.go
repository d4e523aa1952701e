package cycle

import "math"

// Constants of heat transfer.
const (
	// Woschni's coefficients for bar, K, m, m/s (SAE 670931).
	woschniLevel    = 129.8
	woschniOpen     = 6.18
	woschniClosed   = 2.28
	woschniBurn     = 3.24e-3 // m/(s·K)
	motoredExponent = 1.32    // of the pressure without combustion
	// headRatio is the area of the chamber's roof over that of the bore (pentroof, common practice).
	headRatio = 1.15
	// wallAboveK is the mean of piston, head and liner above the coolant at
	// half load; it goes with the root of the pressure (common practice).
	wallAboveK = 80.0
	wallAtPa   = 70e3
	// portShare is how much of its way to the wall's temperature the exhaust
	// goes in the port: 4 St l/D with St = 0.008, l/D = 3 (common practice).
	portShare = 0.10
	portWallK = 60.0 // above the coolant
	// portLong is the length of an intake port over its bore; its walls stand at
	// the coolant's temperature (common practice).
	portLong = 2.5
	// valveArea is the back of the intake valves' heads with the stem's foot over
	// the section of flow at their throats, valveAboveK how far they stand above
	// the coolant at 100 kPa; that goes with the root of the pressure (250 … 350 °C
	// at full load, Heywood, section 12.6; from memory).
	valveArea   = 1.3 / throatFrac
	valveAboveK = 200.0
	prandtl     = 0.71
	evapPort    = 0.4  // of the heat of evaporation taken from the charge, port injection (common practice)
	evapDirect  = 0.75 // direct injection (common practice)
)

// WoschniWPerM2K returns the heat transfer coefficient of the chamber's walls.
//
//	h = 129.8 B^(−0.2) p^0.8 T^(−0.53) w^0.8
//	w = C₁ S̄ₚ + C₂ (V_d T_r/(p_r V_r)) (p − p_mot)
//
// where p is in bar, w is the gas speed given here, C₁ = 6.18 with a valve
// open and 2.28 without, C₂ = 3.24e−3 m/(s·K) from the spark on and r marks the closing of the intake valve.
//
// Valid: bore 0.02 … 0.5 m, pressure, temperature and speed above 0; outside an error is returned.
// Accuracy: 25 % between engines.
// Source: Woschni, SAE 670931, 1967; coefficient 129.8 and exponent −0.53 as in its later form.
// Errors: a value out of range.
func WoschniWPerM2K(boreM, pressurePa, tempK, gasMPerS float64) (float64, error) {
	if err := first([]span{
		{"bore", "m", boreM, 0.02, 0.5},
		{"pressure", "Pa", pressurePa, 1, 5e7},
		{"temperature", "K", tempK, 150, 4500},
		{"gas speed", "m/s", gasMPerS, 0, 500},
	}); err != nil {
		return 0, err
	}
	return woschniLevel * math.Pow(boreM, -0.2) * math.Pow(pressurePa/1e5*gasMPerS, 0.8) * math.Pow(tempK, -0.53), nil
}

// inflow is what comes through the intake: composition and enthalpy per kg.
type inflow struct {
	share    mass // of 1 kg
	enthalpy float64
	kelvin   float64
	r        float64
}

// ManifoldHeatFrac returns how far gas that flows through a port goes towards
// the temperature of its walls.
//
//	x = 1 − exp(−St A_w/A),  St = Nu/(Re Pr),  Nu = 0.07 Re^(3/4)
//
// where A_w/A is the area of the walls over the section of flow, and Re is taken
// with the flow of the mean piston speed; Pr = 0.71.
//
// Valid: Re 1e3 … 1e6, A_w/A 0 … 200; outside an error is returned.
// Accuracy: 25 %: a correlation coefficient of 0.85 over the engines that it was made from.
// Source: Depcik, Assanis, A universal heat transfer correlation for intake and exhaust flows in a spark-ignition internal combustion engine, SAE 2002-01-0372.
// Errors: a value out of range.
func ManifoldHeatFrac(reynoldsCount, areaRatio float64) (float64, error) {
	if err := first([]span{{"Reynolds number", "", reynoldsCount, 1e3, 1e6}, {"walls over section of flow", "", areaRatio, 0, 200}}); err != nil {
		return 0, err
	}
	return manifoldHeat(reynoldsCount, areaRatio), nil
}

func manifoldHeat(reynolds, area float64) float64 {
	return -math.Expm1(-0.07 / prandtl * math.Pow(reynolds, -0.25) * area)
}

// inflow of an operating state: air, with fuel when it is injected into the
// port, cooled by its evaporation and warmed by the port's walls and the backs
// of the valves.
func (m *Model) inflow(op *Operating, p *props, manifoldPa float64) (f inflow) {
	e := &m.engine
	piston := e.Geometry.MeanPistonMPerS(op.SpeedRadPerS)
	f.share = mass{air: 1}
	f.kelvin = op.ChargeK
	if !e.DirectInjection {
		y := 1 / (1 + p.airPerFuel)
		f.share = mass{air: 1 - y, fuel: y}
		th := p.thermal(&f.share, op.ChargeK)
		f.kelvin -= evapPort * y * e.Fuel.LatentJPerKg / (th.slope + th.mr)
	}
	bore := e.Geometry.BoreM / e.IntakeRunner.BoreM
	flux := manifoldPa / (m.gas.airR * op.ChargeK) * piston * bore * bore
	reynolds := flux * e.IntakeRunner.BoreM / viscosity(op.ChargeK)
	f.kelvin += manifoldHeat(reynolds, 4*portLong) * (e.CoolantK - f.kelvin)
	valve := e.CoolantK
	if !op.ColdWalls {
		valve += valveAboveK * math.Sqrt(manifoldPa/1e5)
	}
	f.kelvin += manifoldHeat(reynolds, valveArea) * (valve - f.kelvin)
	f.enthalpy = p.enthalpy(&f.share, f.kelvin)
	f.r = p.thermal(&f.share, f.kelvin).mr
	return f
}
