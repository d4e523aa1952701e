package plant

import "math"

// TransportS returns how long exhaust gas travels through a pipe, as one plug.
//
//	t = V ρ/ṁ,   ρ = p/(R T)
//
// with R = 287.05 J/(kg·K), as for air.
//
// Valid: values above 0; else the result is 0.
// Accuracy: ± 20 %: gas mixes at the collector and cools along the pipe.
// Source: conservation of mass.
// Errors: none.
func TransportS(pipeM3, tempK, pressurePa, flowKgPerS float64) float64 {
	if !(pipeM3 > 0 && tempK > 0 && pressurePa > 0 && flowKgPerS > 0) {
		return 0
	}
	return pipeM3 * pressurePa / (airR * tempK) / flowKgPerS
}

// pipe is the exhaust between valves and lambda sensor: parcels in a row, the
// oldest leaving when its volume has been pushed through. Gas is told by phi, fuel
// over what its air would burn, which mixes in proportion.
type pipe struct {
	kg, phi    [parcels]float64
	head, size int
	heldKg     float64
	outPhi     float64
}

const parcels = 512

func (q *pipe) reset() { *q = pipe{} }

func (q *pipe) push(kg, phi float64) {
	if q.size == parcels {
		q.pop()
	}
	i := (q.head + q.size) % parcels
	q.kg[i], q.phi[i] = kg, phi
	q.size++
	q.heldKg += kg
}

func (q *pipe) pop() {
	q.outPhi = q.phi[q.head]
	q.heldKg -= q.kg[q.head]
	q.head = (q.head + 1) % parcels
	q.size--
}

// drain lets out what the pipe can't hold: capacity is its volume times density.
func (q *pipe) drain(capacityKg float64) {
	for q.size > 0 && q.heldKg-q.kg[q.head] >= capacityKg {
		q.pop()
	}
}

// exhaustPa is the pressure in the pipe (common practice: 3 to 10 kPa above outside).
const exhaustPa = 5e3

// sensedPhi is the gas at the sensor.
func (p *Plant) sensedPhi() float64 {
	p.pipe.drain(p.e.ExhaustM3 * (p.day.AmbientPa + exhaustPa) / (airR * math.Max(p.day.AmbientK, p.pipeK())))
	return p.pipe.outPhi
}

// pipeK is the gas on its way to the sensor: a fifth of its heat is lost.
func (p *Plant) pipeK() float64 { return p.day.AmbientK + 0.8*(p.exhaustK-p.day.AmbientK) }
