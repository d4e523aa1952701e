package wire

import (
	"fmt"
	"math"
)

const (
	insulationWPerMK = 0.2  // PVC 0.17, cross-linked polyethylene 0.3: handbook values, from memory
	bundleWPerMK     = 0.15 // effective, across a loose bundle of insulated wires: from memory, 0.1 … 0.25
	strandFill       = 0.77 // copper in the circle around round strands
	packFill         = 0.65 // wires in the circle around a taped bundle of many

	lowestK  = 213.149 // −60 °C, with room for the rounding of a sum in °C
	hottestK = 773.15  // beyond it no insulation is left to speak of
)

// Conductor is one insulated copper wire.
type Conductor struct{ AreaM2, R20OhmPerM, OverallDiameterM float64 }

// Check tells whether a conductor can be computed with: area, resistance and
// diameter above 0, and insulation outside of the copper.
func (c Conductor) Check() error {
	switch {
	case !(c.AreaM2 > 0) || math.IsInf(c.AreaM2, 1):
		return fmt.Errorf("conductor area %.4g mm² out of range, must be above 0", c.AreaM2*1e6)
	case !(c.R20OhmPerM > 0) || math.IsInf(c.R20OhmPerM, 1):
		return fmt.Errorf("conductor resistance %.4g mΩ/m out of range, must be above 0", c.R20OhmPerM*1e3)
	case !(c.OverallDiameterM >= c.solidDiameterM()) || c.OverallDiameterM > 0.1:
		return fmt.Errorf("overall diameter %.4g mm out of range %.4g … 100 mm for %.4g mm² of copper",
			c.OverallDiameterM*1e3, c.solidDiameterM()*1e3, c.AreaM2*1e6)
	}
	return nil
}

func (c Conductor) solidDiameterM() float64 { return math.Sqrt(4 / math.Pi * c.AreaM2) }

// bundleRatio gives the diameter of the circle around n equal wires over one
// wire's. The first seven are geometry; many wires fill 65 % of their circle.
func bundleRatio(n int) float64 {
	known := [...]float64{1: 1, 2: 2, 3: 2.1547, 4: 2.4142, 5: 2.7013, 6: 3, 7: 3}
	if n < len(known) {
		return known[n]
	}
	return math.Sqrt(float64(n) / packFill)
}

// path is the way of the heat out of a wire: a cylinder in air that n like
// wires share, and the resistance from copper to the cylinder's surface for
// the heat of one wire.
type path struct {
	n                   float64
	diameterM, insideKM float64 // insideKM in K·m/W
}

func (c Conductor) path(bundleCount int) path {
	strand := math.Min(c.solidDiameterM()/math.Sqrt(strandFill), c.OverallDiameterM)
	p := path{
		n:         float64(bundleCount),
		diameterM: c.OverallDiameterM * bundleRatio(bundleCount),
		insideKM:  math.Log(c.OverallDiameterM/strand) / (2 * math.Pi * insulationWPerMK),
	}
	if bundleCount > 3 { // all of one, two or three wires lie at the surface
		p.insideKM += p.n / (4 * math.Pi * bundleWPerMK)
	}
	return p
}

// oneWPerM gives the heat of each wire at a surface temperature.
func (p path) oneWPerM(surfaceK, ambientK, pressurePa float64) float64 {
	return lossWPerM(p.diameterM, surfaceK, ambientK, pressurePa) / p.n
}

func checkPlace(c Conductor, ambientK float64, bundleCount int) error {
	if err := c.Check(); err != nil {
		return err
	}
	if !(ambientK >= lowestK && ambientK <= 473.15) {
		return fmt.Errorf("ambient %.4g °C out of range -60 … 200 °C", ambientK-273.15)
	}
	if bundleCount < 1 || bundleCount > 200 {
		return fmt.Errorf("bundle of %d wires out of range 1 … 200", bundleCount)
	}
	return nil
}

// SteadyTempK returns the temperature of a wire's copper once it has settled under a current in still air.
//
//	n·f·I²·R′(T) = π(Nu·k·(T_s − T_a) + D·ε·σ(T_s⁴ − T_a⁴)),  T = T_s + f·I²·R′(T)·(ln(d_o/d_i)/(2πλ) + n/(4πλ_b))
//
// where n is the number of like wires in the bundle that all carry the current,
// f the share of the time it flows (or, for pulses, mean square over peak
// square), R′ the resistance per metre at the copper's temperature, Nu the
// Nusselt number of a horizontal cylinder (Churchill and Chu), k the air's
// conductivity at film temperature, D the diameter of wire or bundle, ε = 0.9,
// λ = 0.2 W/(m·K) in the insulation of diameters d_i to d_o and λ_b = 0.15
// W/(m·K) across a bundle of more than three.
//
// Valid: ambient −60 … 200 °C, 1 … 200 wires, duty above 0 up to 1, result
// below 500 °C; outside an error is returned. Sea level, no draught, no sun.
// Accuracy: ± 10 % of the rise from the correlation for one wire; ± 30 % in a
// bundle. Wire on or behind panels or in conduit runs hotter.
// Source: S. W. Churchill, H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975)
// 1049; air by U.S. Standard Atmosphere 1976; radiation by Stefan and Boltzmann.
// Errors: an argument out of range; a current under which the wire has no
// settled temperature below 500 °C.
func SteadyTempK(c Conductor, currentA, ambientK float64, bundleCount int, dutyFrac float64) (float64, error) {
	if err := checkPlace(c, ambientK, bundleCount); err != nil {
		return 0, err
	}
	if !(dutyFrac > 0 && dutyFrac <= 1) {
		return 0, fmt.Errorf("duty %.4g out of range, must be above 0 and at most 1", dutyFrac)
	}
	if math.IsNaN(currentA) || math.IsInf(currentA, 0) {
		return 0, fmt.Errorf("wire current %.4g A is not a number to work with", currentA)
	}
	p, heat := c.path(bundleCount), dutyFrac*currentA*currentA
	copperK := func(surfaceK float64) (copper, excessWPerM float64) {
		q := p.oneWPerM(surfaceK, ambientK, seaPa)
		copper = surfaceK + q*p.insideKM
		return copper, q - heat*ResistanceOhm(1, c.R20OhmPerM, copper)
	}
	if _, ex := copperK(hottestK); ex < 0 {
		return 0, fmt.Errorf("wire of %.3g mm² with %.4g A in a bundle of %d has no settled temperature below 500 °C",
			c.AreaM2*1e6, currentA, bundleCount)
	}
	surface := root(ambientK, hottestK, func(s float64) float64 { _, ex := copperK(s); return ex })
	t, _ := copperK(surface)
	if t > hottestK {
		return 0, fmt.Errorf("wire of %.3g mm² with %.4g A in a bundle of %d settles at %.4g °C, above the range up to 500 °C",
			c.AreaM2*1e6, currentA, bundleCount, t-273.15)
	}
	return t, nil
}

// AmpacityA returns the current that holds a wire's copper at a temperature in still air.
//
//	I = √(q′/R′(T)),  n·q′ = π(Nu·k·(T_s − T_a) + D·ε·σ(T_s⁴ − T_a⁴)),  T = T_s + q′·(ln(d_o/d_i)/(2πλ) + n/(4πλ_b))
//
// where T is the copper's greatest temperature and the rest reads as in
// [SteadyTempK]; the current is continuous and all n wires carry it.
//
// Valid: ambient −60 … 200 °C, 1 … 200 wires, greatest temperature above
// ambient and at most 500 °C; outside an error is returned.
// Accuracy: ± 5 % for one wire in still air, ± 15 % in a bundle. Tables for
// vehicles and boats lie below it by their margin.
// Source: as for [SteadyTempK].
// Errors: an argument out of range.
func AmpacityA(c Conductor, maxTempK, ambientK float64, bundleCount int) (float64, error) {
	return ampacityAt(c, maxTempK, ambientK, bundleCount, seaPa)
}

func ampacityAt(c Conductor, maxTempK, ambientK float64, bundleCount int, pressurePa float64) (float64, error) {
	if err := checkPlace(c, ambientK, bundleCount); err != nil {
		return 0, err
	}
	if !(maxTempK > ambientK && maxTempK <= hottestK) {
		return 0, fmt.Errorf("greatest wire temperature %.4g °C out of range, must be above the ambient %.4g °C and at most 500 °C",
			maxTempK-273.15, ambientK-273.15)
	}
	p := c.path(bundleCount)
	surface := root(ambientK, maxTempK, func(s float64) float64 {
		return s + p.oneWPerM(s, ambientK, pressurePa)*p.insideKM - maxTempK
	})
	return math.Sqrt(p.oneWPerM(surface, ambientK, pressurePa) / ResistanceOhm(1, c.R20OhmPerM, maxTempK)), nil
}

// root finds where f crosses zero upwards between lo (f ≤ 0) and hi (f ≥ 0), to
// a microkelvin, by regula falsi with the Illinois correction. The first upper
// bound is lo plus 16 K, widened while f stays below zero, because most wires
// are little warmer than their surroundings.
func root(lo, hi float64, f func(float64) float64) float64 {
	flo, x := f(lo), math.Min(lo+16, hi)
	fx := f(x)
	for fx < 0 && x < hi {
		lo, flo = x, fx
		x = math.Min(x+64, hi)
		fx = f(x)
	}
	hi, fhi := x, fx
	for side, n := 0, 0; hi-lo > 1e-6 && n < 200; n++ {
		x = (lo*fhi - hi*flo) / (fhi - flo)
		if !(x > lo && x < hi) {
			x = (lo + hi) / 2
		}
		switch fx = f(x); {
		case math.Abs(fx) < 1e-10:
			return x
		case fx < 0:
			if lo, flo = x, fx; side < 0 {
				fhi /= 2
			}
			side = -1
		default:
			if hi, fhi = x, fx; side > 0 {
				flo /= 2
			}
			side = 1
		}
	}
	return (lo + hi) / 2
}
