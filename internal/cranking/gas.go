package cranking

import (
	"math"

	"fettle/internal/crank"
)

// exponent is the polytropic one of slow compression in a cold cylinder.
const exponent = 1.25

// CompressionNm returns the torque that the charge in one cylinder takes from the crankshaft, negative where it gives it back.
//
//	M = −(p₀·(V₀/V(θ))ⁿ − p_a)·dV/dθ
//
// where θ counts from the top dead centre of firing, V₀ is the volume at which
// the intake valve shut the charge in at p₀, p_a the pressure in the crankcase
// and n = 1.25.
//
// Valid: from the intake valve's closing to as far behind top dead centre;
// outside it is the gas exchange, whose work is part of the mean resistance.
// Accuracy: ± 15 % of the peak: cold rings leak. The peak pressure lies between
// limit and standard of compression tests.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988,
// section 4.2, polytropic; exponent from memory, 1.2 … 1.3 when cranked cold.
// Errors: none.
func CompressionNm(g crank.Geometry, angleRad, shutM3, shutPa, ambientPa float64) float64 {
	return -(shutPa*math.Pow(shutM3/g.CylinderM3(angleRad), exponent) - ambientPa) * g.VolumeSlopeM3PerRad(angleRad)
}

// gas is the torque of all the cylinders, tabulated.
type gas struct {
	interval  float64
	first     []float64 // V₀ⁿ of the charge that a cylinder holds at rest, 0 when it holds none
	phase     []float64 // of each cylinder at rest
	fullPower float64   // V₀ⁿ of a full cylinder
	shut      float64   // angle either side of top dead centre with the charge shut in
	charge    []float64 // p₀·V⁻ⁿ·dV/dθ over the shut angle
	back      []float64 // p_a·dV/dθ
	ambient   float64   // p_a/p₀: what a cylinder at rest holds has leaked to the ambient
}

const gasPoints = 720

// newGas lays out the cylinders: evenly firing, the crankshaft half an interval
// before the first one's top dead centre. What was shut in at rest has leaked
// down to the ambient pressure.
func newGas(m Machine) *gas {
	g := &gas{fullPower: math.Pow(m.Engine.CylinderM3(m.ShutRad), exponent), shut: m.ShutRad, ambient: m.AmbientPa / m.ChargePa}
	g.interval = 4 * math.Pi / float64(m.Engine.CylinderCount)
	for k := range m.Engine.CylinderCount {
		at := wrap(-g.interval/2 - float64(k)*g.interval)
		held := 0.0
		if math.Abs(at) < g.shut {
			held = math.Pow(m.Engine.CylinderM3(at), exponent)
		}
		g.phase, g.first = append(g.phase, at), append(g.first, held)
	}
	g.charge, g.back = make([]float64, gasPoints+1), make([]float64, gasPoints+1)
	for i := range g.charge {
		at := g.shut * (2*float64(i)/gasPoints - 1)
		slope := m.Engine.VolumeSlopeM3PerRad(at)
		g.charge[i] = m.ChargePa * math.Pow(m.Engine.CylinderM3(at), -exponent) * slope
		g.back[i] = m.AmbientPa * slope
	}
	return g
}

// wrap brings an angle within −2π … 2π, the four strokes.
func wrap(rad float64) float64 {
	return rad - 4*math.Pi*math.Floor((rad+2*math.Pi)/(4*math.Pi))
}

// nm is the torque that all the cylinders take, a turn of the crankshaft from rest.
func (g *gas) nm(turnedRad float64) float64 {
	sum := 0.0
	for k, from := range g.phase {
		at := wrap(from + turnedRad)
		if math.Abs(at) >= g.shut {
			continue
		}
		x := (at/g.shut + 1) / 2 * gasPoints
		i := min(int(x), gasPoints-1)
		f := x - float64(i)
		charge, back := g.charge[i]+f*(g.charge[i+1]-g.charge[i]), g.back[i]+f*(g.back[i+1]-g.back[i])
		power := g.fullPower
		if g.first[k] > 0 && turnedRad < g.shut-from {
			power = g.first[k] * g.ambient
		}
		sum -= power*charge - back
	}
	return sum
}
