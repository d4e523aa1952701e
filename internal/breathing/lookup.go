package breathing

import (
	"fmt"

	"fettle/internal/table"
)

// Scale moves a whole engine in one draw of its spread.
type Scale struct {
	VolEffRatio   float64 // air, fuel, gross torque, heat
	GrossRatio    float64 // work from the same air
	FrictionRatio float64 // friction and pumping
}

// Nominal is the scale of the engine as computed.
func Nominal() Scale { return Scale{1, 1, 1} }

// Point is one working point.
type Point struct {
	SpeedRadPerS float64
	ManifoldPa   float64
	TorqueNm     float64
	AirKgPerS    float64
	FuelKgPerS   float64
	ExhaustK     float64
	CoolantW     float64
	VolEffFrac   float64
	LambdaRatio  float64
	SparkRad     float64
}

// At looks up a working point.
func (r *Response) At(speedRadPerS, manifoldPa float64, s Scale) (Point, error) {
	w, err := r.TorqueNm.Weights(speedRadPerS, manifoldPa)
	if err != nil {
		return Point{}, err
	}
	return r.point(w, speedRadPerS, manifoldPa, s), nil
}

func (r *Response) point(w table.Weights, speed, pa float64, s Scale) Point {
	c := cell{
		ve: w.Of(&r.VolEffFrac), air: w.Of(&r.AirKgPerS), fuel: w.Of(&r.FuelKgPerS), lambda: w.Of(&r.LambdaRatio),
		gross: w.Of(&r.GrossNm), drag: w.Of(&r.DragNm), spark: w.Of(&r.SparkRad),
		exhaust: w.Of(&r.ExhaustK), coolant: w.Of(&r.CoolantW),
	}
	p := c.point(s)
	p.SpeedRadPerS, p.ManifoldPa = speed, pa
	return p
}

// WideOpen is the working point with the throttle open.
func (r *Response) WideOpen(speedRadPerS float64, s Scale) (Point, error) {
	return r.At(speedRadPerS, r.in.WideOpenPa(speedRadPerS), s)
}

// LoadFor finds the working point at which the engine gives a torque at a
// speed. Along the pressure axis the torque is linear between the table's
// points, so that the inverse is exact for the table.
func (r *Response) LoadFor(speedRadPerS, torqueNm float64, s Scale) (Point, error) {
	pas := r.TorqueNm.Y.At
	at := func(pa float64) (float64, error) {
		w, err := r.TorqueNm.Weights(speedRadPerS, pa)
		return w.Of(&r.GrossNm)*s.VolEffRatio*s.GrossRatio - w.Of(&r.DragNm)*s.FrictionRatio, err
	}
	low, err := at(pas[0])
	if err != nil {
		return Point{}, err
	}
	first := low
	for j := 1; j < len(pas); j++ {
		high, _ := at(pas[j])
		if torqueNm >= min(low, high) && torqueNm <= max(low, high) {
			pa := pas[j-1]
			if high != low {
				pa += (pas[j] - pas[j-1]) * (torqueNm - low) / (high - low)
			}
			return r.At(speedRadPerS, pa, s)
		}
		low = high
	}
	return Point{}, fmt.Errorf("torque %.4g N·m at %.4g rad/s is outside %.4g … %.4g N·m, what the manifold pressures of %.4g … %.4g Pa give",
		torqueNm, speedRadPerS, first, low, pas[0], pas[len(pas)-1])
}

// Spreads of the tables over engines, one standard deviation: judged from
// memory of the scatter of such correlations, and held in a test against the
// full load of one open engine map. That map was in view when the efficiency
// of the cycle (0.85 at γ 1.27), the friction of today's engines (0.7) and the
// runner's column were settled; nothing else was moved towards it.
const (
	VolEffSdFrac   = 0.06 // above a third of the speed limit, growing to 0.24 towards standstill
	GrossSdFrac    = 0.04 // of the work from the same air
	TorqueSdFrac   = 0.08 // of full-load torque above a third of the limit, the two together with friction
	FrictionSdFrac = 0.15
	CoolantSdFrac  = 0.20
	ExhaustSdK     = 60.0
	SparkSdRad     = 0.07 // 4°
)
