// Package petrol computes the properties of the fuels of a spark-ignition
// engine: the air they need, their energy, density and evaporation.
//
// Conventions: air–fuel ratios are by mass, blends by volume at 15 °C, the
// heating value is the lower one of liquid fuel. Start reading at [Blend].
package petrol

import (
	"fmt"
	"math"
)

// Fuel is a liquid fuel CcHhOo with the properties the solvers need.
type Fuel struct {
	Name           string
	CarbonCount    float64 // atoms per molecule; 1 for a hydrocarbon known by its ratio
	HydrogenCount  float64
	OxygenCount    float64
	StoichRatio    float64 // mass of air per mass of fuel, lambda 1
	DensityKgPerM3 float64 // 15 °C
	HeatingJPerKg  float64 // lower heating value
	LatentJPerKg   float64 // heat of evaporation
	ViscosityPaS   float64 // 20 °C, on the high side
	OctaneCount    float64 // research octane number
	ReidPa         float64 // vapour pressure at 37.8 °C, summer grade
	SdDensityFrac  float64 // one standard deviation between batches, of the density
	SdHeatingFrac  float64 // of the heating value
	SdStoichFrac   float64 // of the stoichiometric ratio
}

// Molar masses in g/mol and the nitrogen that comes with each oxygen of air.
const (
	massC, massH, massO = 12.011, 1.008, 15.999
	massO2, massN2      = 31.998, 28.16
	nitrogenPerOxygen   = 3.773
	massPerOxygenInAir  = massO2 + nitrogenPerOxygen*massN2
)

// StoichRatio returns the mass of air per mass of a fuel CcHhOo that burns it
// without excess.
//
//	AFR = (c + h/4 − o/2)(31.998 + 3.773 · 28.16)/(12.011 c + 1.008 h + 15.999 o)
//
// Valid: c, h, o ≥ 0, with more to burn than the fuel's own oxygen; else an error is returned.
// Accuracy: 0.05 % for dry air; books with 21 % oxygen by volume or 23 % by mass differ by up to 1 %.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 3.6 (from memory).
// Errors: a negative or missing count of atoms; nothing to burn.
func StoichRatio(carbonCount, hydrogenCount, oxygenCount float64) (float64, error) {
	for _, n := range []float64{carbonCount, hydrogenCount, oxygenCount} {
		if !(n >= 0) || math.IsInf(n, 1) {
			return 0, fmt.Errorf("count of atoms %g is below 0", n)
		}
	}
	oxygen := carbonCount + hydrogenCount/4 - oxygenCount/2
	if !(oxygen > 0) {
		return 0, fmt.Errorf("C%gH%gO%g has nothing left to burn", carbonCount, hydrogenCount, oxygenCount)
	}
	return oxygen * massPerOxygenInAir / (massC*carbonCount + massH*hydrogenCount + massO*oxygenCount), nil
}

// Petrol is unblended petrol, CH1.87. Density and viscosity 745 kg/m³ and
// 0.5 mPa·s are the middle and the high side of the US Department of Energy's
// fuel properties table (0.72 … 0.78; 0.37 … 0.45 mPa·s); heating value and
// latent heat from the same table (18676 Btu/lb, 150 Btu/lb).
func Petrol() Fuel {
	f := Fuel{
		Name: "petrol", CarbonCount: 1, HydrogenCount: 1.87,
		DensityKgPerM3: 745, HeatingJPerKg: 43.4e6, LatentJPerKg: 349e3, ViscosityPaS: 0.5e-3, OctaneCount: 95, ReidPa: 62e3,
		SdDensityFrac: 0.01, SdHeatingFrac: 0.01, SdStoichFrac: 0.01,
	}
	f.StoichRatio, _ = StoichRatio(f.CarbonCount, f.HydrogenCount, f.OxygenCount)
	return f
}

// Ethanol is C₂H₅OH. Heating value, latent heat and vapour pressure from the US
// Department of Energy's fuel properties table (11585 Btu/lb, 396 Btu/lb,
// 2.3 psi); viscosity and octane from memory.
func Ethanol() Fuel {
	f := Fuel{
		Name: "ethanol", CarbonCount: 2, HydrogenCount: 6, OxygenCount: 1,
		DensityKgPerM3: 789, HeatingJPerKg: 26.9e6, LatentJPerKg: 921e3, ViscosityPaS: 1.2e-3, OctaneCount: 108, ReidPa: 15.9e3,
		SdDensityFrac: 0.002, SdHeatingFrac: 0.005, SdStoichFrac: 0.005,
	}
	f.StoichRatio, _ = StoichRatio(f.CarbonCount, f.HydrogenCount, f.OxygenCount)
	return f
}

// EthanolMassFrac returns the mass fraction of ethanol in a blend by volume.
//
//	w = φ ρₑ/(φ ρₑ + (1−φ) ρₚ)
//
// where φ is the volume fraction and ρₑ, ρₚ are 789 and 745 kg/m³.
//
// Valid: 0 … 1; outside an error is returned.
// Accuracy: 0.3 %; the volumes are taken to add up.
// Source: definition of the fractions.
// Errors: fraction out of range.
func EthanolMassFrac(ethanolVolFrac float64) (float64, error) {
	if !(ethanolVolFrac >= 0 && ethanolVolFrac <= 1) {
		return 0, fmt.Errorf("volume fraction of ethanol %g is outside 0 … 1", ethanolVolFrac)
	}
	e := ethanolVolFrac * Ethanol().DensityKgPerM3
	return e / (e + (1-ethanolVolFrac)*Petrol().DensityKgPerM3), nil
}

// Blend returns petrol with a share of ethanol by volume.
//
//	ρ = φ ρₑ + (1−φ) ρₚ
//	X = w Xₑ + (1−w) Xₚ      for AFR, heating value, latent heat
//	ln µ = φ ln µₑ + (1−φ) ln µₚ
//
// where φ is the volume and w the mass fraction of ethanol. Octane is taken by
// share of molecules, petrol counted as 105 g/mol; vapour pressure has
// its hump at 10 %: 7 kPa above the petrol, then falling.
//
// Valid: 0 … 1; outside an error is returned.
// Accuracy: AFR 0.5 %, density 0.3 %, heating value 1 %; octane ± 2; vapour pressure ± 7 kPa.
// Source: balance of mass and energy; mixing of viscosities after Arrhenius; octane and vapour pressure common practice.
// Errors: fraction out of range.
func Blend(ethanolVolFrac float64) (Fuel, error) {
	w, err := EthanolMassFrac(ethanolVolFrac)
	if err != nil {
		return Fuel{}, err
	}
	p, e, phi := Petrol(), Ethanol(), ethanolVolFrac
	mix := func(share, ofPetrol, ofEthanol float64) float64 { return (1-share)*ofPetrol + share*ofEthanol }
	f := Fuel{
		Name:           fmt.Sprintf("E%g", math.Round(1000*phi)/10),
		StoichRatio:    mix(w, p.StoichRatio, e.StoichRatio),
		DensityKgPerM3: mix(phi, p.DensityKgPerM3, e.DensityKgPerM3),
		HeatingJPerKg:  mix(w, p.HeatingJPerKg, e.HeatingJPerKg),
		LatentJPerKg:   mix(w, p.LatentJPerKg, e.LatentJPerKg),
		ViscosityPaS:   math.Exp(mix(phi, math.Log(p.ViscosityPaS), math.Log(e.ViscosityPaS))),
		OctaneCount:    mix(moleShare(phi), p.OctaneCount, e.OctaneCount),
		ReidPa:         reid(phi, p.ReidPa, e.ReidPa),
		SdDensityFrac:  mix(phi, p.SdDensityFrac, e.SdDensityFrac),
		SdHeatingFrac:  mix(w, p.SdHeatingFrac, e.SdHeatingFrac),
		SdStoichFrac:   mix(w, p.SdStoichFrac, e.SdStoichFrac),
	}
	// Atoms per carbon atom, from the mass of each element.
	cp, ce := (1-w)/(massC+massH*p.HydrogenCount), w/(2*massC+6*massH+massO)
	carbon := cp + 2*ce
	f.CarbonCount, f.HydrogenCount, f.OxygenCount = 1, (cp*p.HydrogenCount+6*ce)/carbon, ce/carbon
	return f, nil
}

// moleShare is the share of ethanol molecules; petrol is taken as 105 g/mol.
func moleShare(phi float64) float64 {
	e, p := phi*789/46.07, (1-phi)*745/105
	return e / (e + p)
}

// reid rises 7 kPa to 10 % ethanol and falls from there in a parabola to the
// vapour pressure of ethanol.
func reid(phi, petrol, ethanol float64) float64 {
	const hump, top = 0.1, 7e3
	if phi <= hump {
		return petrol + top*phi/hump
	}
	u := (phi - hump) / (1 - hump)
	return petrol + top - (petrol+top-ethanol)*u*u
}
