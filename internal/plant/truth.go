package plant

import (
	"math"
	"math/rand/v2"
)

// Truth is by how much this engine differs from what is computed for it.
type Truth struct {
	// AirRatio is the volumetric efficiency over the computed one at the ends
	// and the middle of speed (rows) and manifold pressure (columns).
	AirRatio      [3][3]float64
	WorkRatio     float64 // from the same charge
	FrictionRatio float64
	FilmRatio     float64 // share of the fuel that wets the wall
	FilmTimeRatio float64
	VapourRatio   float64 // share of the fuel that is vapour in the coldest port; in a hot one all of it is
	FlowRatio     float64 // of the injectors
	HeatRatio     float64 // to the coolant
	SparkRad      float64 // best spark earlier than computed
	InertiaRatio  float64
	AreaRatio     float64 // of throttle and idle valve
	LiftRatio     float64 // how much more slowly the needles lift against pressure
	ShortRatio    float64 // which way, and how far, short pulses bend; 0 not at all
}

// Nominal is an engine that does what is computed.
func Nominal() Truth {
	var t Truth
	for i := range t.AirRatio {
		for j := range t.AirRatio[i] {
			t.AirRatio[i][j] = 1
		}
	}
	t.WorkRatio, t.FrictionRatio, t.FilmRatio, t.FilmTimeRatio, t.VapourRatio = 1, 1, 1, 1, 1
	t.FlowRatio, t.HeatRatio, t.InertiaRatio, t.AreaRatio, t.LiftRatio = 1, 1, 1, 1, 1
	return t
}

// Spreads of a truth. The air is 8 % for the engine as a whole and 6 % for each
// place of the table, together 10 %; injectors are a part of a batch.
const (
	SdFrac      = 0.10
	ClipFrac    = 0.20
	wholeSdFrac = 0.08
	placeSdFrac = 0.06
	flowSdFrac  = 0.03
	sparkSdRad  = 0.035 // 2°
	liftSdFrac  = 0.5   // injectors differ by half in how pressure slows them
)

// Draw draws a truth: every ratio 10 % off at one standard deviation, never more
// than 20 %, injector flow 3 %, best spark 2°.
func Draw(seed uint64) Truth {
	rng := rand.New(rand.NewPCG(seed, 0x7407))
	off := func(sd float64) float64 {
		return 1 + math.Max(-ClipFrac, math.Min(ClipFrac, sd*rng.NormFloat64()))
	}
	var t Truth
	whole := wholeSdFrac * rng.NormFloat64()
	for i := range t.AirRatio {
		for j := range t.AirRatio[i] {
			t.AirRatio[i][j] = 1 + math.Max(-ClipFrac, math.Min(ClipFrac, whole+placeSdFrac*rng.NormFloat64()))
		}
	}
	t.WorkRatio, t.FrictionRatio = off(SdFrac), off(SdFrac)
	t.FilmRatio, t.FilmTimeRatio, t.VapourRatio = off(SdFrac), off(SdFrac), off(SdFrac)
	t.FlowRatio = off(flowSdFrac)
	t.HeatRatio, t.InertiaRatio, t.AreaRatio = off(SdFrac), off(SdFrac), off(SdFrac)
	t.SparkRad = sparkSdRad * math.Max(-2, math.Min(2, rng.NormFloat64()))
	t.LiftRatio = off(liftSdFrac)
	t.ShortRatio = math.Max(-2, math.Min(2, rng.NormFloat64()))
	return t
}

// vapour is the share that this engine's port makes vapour where a computed one makes
// so much: as far off as its truth says in the coldest port, and none in a hot one,
// which dries whatever it is given.
func (t *Truth) vapour(frac float64) float64 {
	return math.Min(1, frac*(1+(t.VapourRatio-1)*(1-frac)/(1-vapourAt[0])))
}

// air is the ratio at a place given by its shares along speed and pressure.
func (t *Truth) air(u, v float64) float64 {
	u, v = 2*math.Max(0, math.Min(1, u)), 2*math.Max(0, math.Min(1, v))
	i, j := min(int(u), 1), min(int(v), 1)
	u, v = u-float64(i), v-float64(j)
	a := &t.AirRatio
	return (1-u)*((1-v)*a[i][j]+v*a[i][j+1]) + u*((1-v)*a[i+1][j]+v*a[i+1][j+1])
}
