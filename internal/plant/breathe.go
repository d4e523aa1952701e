package plant

import (
	"math"

	"fettle/internal/breathing"
)

// breathe scales the air of the intake stroke to that of the cycle, at the cams
// for which the cycle's tables are; how the air moves with the intake phaser
// stays the intake stroke's. Past the ends of the cycle's axes its last cells hold.
func (m *maps) breathe(r *breathing.Response, travelRad float64) {
	if r == nil || r.Model != breathing.ByCycle {
		return
	}
	last := len(m.ve) - 1
	for k := range m.ve[0] {
		speed, pa := m.speed0+m.speedStep*float64(k/pressureCount), m.pa0+m.paStep*float64(k%pressureCount)
		want, _ := r.VolEffFrac.Clamped(speed, pa)
		at := 0.0
		if travelRad > 0 {
			cam, _ := r.IntakeRad.Clamped(speed, pa)
			at = math.Max(0, math.Min(1, cam/travelRad)) * float64(last)
		}
		i := max(0, min(int(at), last-1))
		air := m.ve[i][k]
		if last > 0 {
			air += (at - float64(i)) * (m.ve[i+1][k] - air)
		}
		cam, _ := r.ExhaustRad.Clamped(speed, pa)
		air *= m.exhaustCell(k, cam)
		if !(air > 0) {
			continue // nothing to scale where burned gas fills the stroke
		}
		for j := range m.ve {
			m.ve[j][k] *= want / air
		}
	}
}
