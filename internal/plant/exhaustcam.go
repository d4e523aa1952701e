package plant

import (
	"fmt"
	"math"

	"fettle/internal/breathing"
	"fettle/internal/cycle"
	"fettle/internal/enginemap"
)

// Places of speed and manifold pressure at which the exhaust cam is moved.
const camSpeeds, camPressures = 5, 4

// exhaustCam finds by the crank-angle cycle how the air changes with the exhaust
// cam moved all the way later, the intake's parked. The intake stroke alone knows
// nothing of it.
func (m *maps) exhaustCam(in *breathing.Input) error {
	travel := in.Cycle.ExhaustPhaserRad
	if travel <= 0 {
		return nil
	}
	e := enginemap.Engine(in)
	e.Intake.PhaserRad = 0
	model, err := cycle.NewModel(e)
	if err != nil {
		return fmt.Errorf("exhaust cam: %w", err)
	}
	var coarse [camSpeeds][camPressures]float64
	low, high := math.Max(m.speed0, in.IdleRadPerS), m.speed0+m.speedStep*(speedCount-1)
	from, to := 0.35*in.AmbientPa, in.AmbientPa+in.BoostPa
	for i := range camSpeeds {
		for j := range camPressures {
			op := cycle.Operating{
				SpeedRadPerS: low + (high-low)*float64(i)/(camSpeeds-1), ManifoldPa: from + (to-from)*float64(j)/(camPressures-1), AmbientPa: in.AmbientPa, ChargeK: in.ChargeK,
				LambdaRatio: in.CruiseLambdaRatio, Spark: cycle.SparkGiven, SparkRad: 0.35, OilViscosityRatio: 1,
			}
			op.UpstreamPa = 1.02 * math.Max(in.AmbientPa, op.ManifoldPa)
			if coarse[i][j], err = camRatio(model, op, travel); err != nil {
				return fmt.Errorf("exhaust cam at %.0f rpm and %.0f kPa: %w", op.SpeedRadPerS*30/math.Pi, op.ManifoldPa/1e3, err)
			}
		}
	}
	if err := fill(&coarse); err != nil {
		return err
	}
	m.exhaustTravel = travel
	m.exhaustCams = make([]float64, speedCount*pressureCount)
	for k := range m.exhaustCams {
		x := (m.speed0 + m.speedStep*float64(k/pressureCount) - low) / (high - low) * (camSpeeds - 1)
		y := (m.pa0 + m.paStep*float64(k%pressureCount) - from) / (to - from) * (camPressures - 1)
		x, y = math.Max(0, math.Min(camSpeeds-1-1e-9, x)), math.Max(0, math.Min(camPressures-1-1e-9, y))
		i, j := int(x), int(y)
		u, v := x-float64(i), y-float64(j)
		m.exhaustCams[k] = (1-u)*((1-v)*coarse[i][j]+v*coarse[i][j+1]) + u*((1-v)*coarse[i+1][j]+v*coarse[i+1][j+1])
	}
	return nil
}

// fill gives a place without a settled cycle the mean of its settled neighbours in
// speed; the ratio is smooth between them.
func fill(z *[camSpeeds][camPressures]float64) error {
	was := *z
	for i := range z {
		for j := range z[i] {
			if !math.IsNaN(was[i][j]) {
				continue
			}
			sum, n := 0.0, 0.0
			for _, k := range [2]int{i - 1, i + 1} {
				if k >= 0 && k < camSpeeds && !math.IsNaN(was[k][j]) {
					sum, n = sum+was[k][j], n+1
				}
			}
			if n == 0 {
				return fmt.Errorf("exhaust cam: no cycle near speed %d of %d and pressure %d of %d settles", i+1, camSpeeds, j+1, camPressures)
			}
			z[i][j] = sum / n
		}
	}
	return nil
}

// camRatio is the air with the cam moved over that with it parked; 1 where the
// charge does not burn, or does not repeat itself, with the cam moved all the way:
// no table sends the cam there, and the engine does not run there. No number where
// the cycle does not repeat itself with the cam parked either.
func camRatio(m *cycle.Model, op cycle.Operating, travel float64) (float64, error) {
	var air [2]float64
	for n, by := range []float64{0, travel} {
		op.ExhaustRetardRad = by
		r, ended, err := m.Point(op)
		switch {
		case cycle.DoesNotBurn(err), err == nil && !ended.OK && n == 1:
			return 1, nil
		case err != nil:
			return 0, err
		case !ended.OK:
			return math.NaN(), nil
		}
		air[n] = r.AirKgPerS
	}
	if !(air[0] > 0) {
		return 1, nil
	}
	return air[1] / air[0], nil
}

// exhaustCell is the air at a cell with the exhaust cam so much later, over that
// with it parked.
func (m *maps) exhaustCell(k int, laterRad float64) float64 {
	if m.exhaustCams == nil {
		return 1
	}
	return 1 + (m.exhaustCams[k]-1)*math.Max(0, math.Min(1, laterRad/m.exhaustTravel))
}

// exhaustAir is the same at a place.
func (m *maps) exhaustAir(w place, laterRad float64) float64 {
	if m.exhaustCams == nil || laterRad == 0 {
		return 1
	}
	return 1 + (w.of(m.exhaustCams)-1)*laterRad/m.exhaustTravel
}
