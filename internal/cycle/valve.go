package cycle

import "math"

// Discharge coefficients of a poppet valve with its port (Heywood, section
// 6.3.2: about 0.7 of the curtain at low lift; the port's own 0.8 of the
// throat; from memory).
const (
	curtainFlow = 0.70
	throatFlow  = 0.80
	throatFrac  = 0.83 // area of the throat over that of the head, stem taken off (common practice)
)

// OpenM returns the lift of a valve at an angle from its centreline.
//
//	L = L_max (1 − u²)²,  u = 2 φ/Δ
//
// where φ is the angle from full lift and Δ the duration from seat to seat; beyond it the valve is shut.
//
// Valid: a duration above 0.
// Accuracy: a mean lift of 8/15 of the full one, as cams of four-valve engines have it within 5 %.
// Source: polynomial cam with finite jerk at the seats; common practice.
// Errors: none.
func (v Valve) OpenM(fromCentreRad float64) float64 {
	u := 2 * fromCentreRad / v.DurationRad
	if u = 1 - u*u; u <= 0 {
		return 0
	}
	return v.LiftM * u * u
}

// FlowM2 returns the effective area of all valves of one side at a lift.
//
//	1/A² = 1/(0.70 n π D L)² + 1/(0.80 n · 0.83 π/4 D²)²
//
// where the curtain under the heads and the throats above them stand one behind
// the other; the discharge coefficient of the curtain falls with lift from 0.70.
//
// Valid: lift ≥ 0.
// Accuracy: ± 10 %; a port on a flow bench replaces it.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, section 6.3.2, coefficients (from memory); two orifices in series.
// Errors: none.
func (v Valve) FlowM2(liftM float64) float64 {
	n := float64(v.Count)
	curtain := curtainFlow * n * math.Pi * v.HeadM * liftM
	throat := throatFlow * n * throatFrac * math.Pi / 4 * v.HeadM * v.HeadM
	return curtain * throat / math.Hypot(curtain, throat)
}

// PistonM returns how far the piston stands below its top, its pin running
// beside the axis of the crank.
//
//	x = √((l + a)² − e²) − a cos θ − √(l² − (a sin θ − e)²)
//
// where a is half the stroke, l the rod and e the offset, positive towards the
// side to which the throw moves after the top; the piston's top stands at sin θ = e/(l + a).
//
// Valid: rod longer than throw and offset together; as Engine.Check.
// Accuracy: exact; the stroke is longer than 2a by a e²/(l² − a²) and less.
// Source: geometry of the offset slider-crank; without offset Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 2.5.
// Errors: none.
func (e Engine) PistonM(angleRad float64) float64 {
	return pistonM(e.Geometry.StrokeM/2, e.Geometry.RodM, e.PinOffsetM, angleRad)
}

func pistonM(throw, rod, offset, angle float64) float64 {
	s, c := math.Sincos(angle)
	side := throw*s - offset
	return math.Sqrt((rod+throw)*(rod+throw)-offset*offset) - throw*c - math.Sqrt(rod*rod-side*side)
}

// areas tabulates the effective area of both sides at the middle of each step
// of the cycle.
func (m *Model) areas(op *Operating, intake, exhaust []float64) {
	d := 2 * math.Pi / float64(m.steps)
	fill := func(at []float64, v *Valve, centre float64) {
		clear(at)
		n := len(at)
		opens, closes := v.times(centre)
		for i := int(math.Floor(opens / d)); i <= int(math.Ceil(closes/d)); i++ {
			lift := v.OpenM((float64(i)+0.5)*d - centre)
			at[(i%n+n)%n] = v.FlowM2(lift)
		}
	}
	e := &m.engine
	fill(intake, &e.Intake, e.Intake.CentrelineRad-op.IntakeAdvanceRad)
	fill(exhaust, &e.Exhaust, op.ExhaustRetardRad-e.Exhaust.CentrelineRad)
}

// psi is the flow function over its root: Ψ² = g(π) (1 − π), with g tabulated.
type psi struct {
	g        [psiNodes + 1]float64
	critical float64
	choked   float64 // Ψ²
}

const psiNodes = 64

func newPsi(gamma float64) *psi {
	p := &psi{critical: math.Pow(2/(gamma+1), gamma/(gamma-1))}
	square := func(pr float64) float64 {
		a := math.Pow(pr, 1/gamma)
		return 2 * gamma / (gamma - 1) * a * (a - pr)
	}
	p.choked = square(p.critical)
	for i := range p.g {
		pr := p.critical + (1-p.critical)*float64(i)/psiNodes
		p.g[i] = 2 // the limit of square/(1 − pr) at pr = 1
		if i < psiNodes {
			p.g[i] = square(pr) / (1 - pr)
		}
	}
	return p
}

// of is Ψ²/(1 − π).
func (p *psi) of(pr float64) float64 {
	x := (pr - p.critical) * (psiNodes / (1 - p.critical))
	if x <= 0 {
		return p.choked / (1 - pr)
	}
	i := min(int(x), psiNodes-1)
	x -= float64(i)
	return p.g[i] + (p.g[i+1]-p.g[i])*x
}

// The ratio of specific heats barely moves Ψ: fresh and burned gas have one each.
var (
	freshPsi  = newPsi(1.38)
	burnedPsi = newPsi(1.31)
)
