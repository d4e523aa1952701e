package figure

import "math"

// Draw selects one sample of all inputs: K 0 is the nominal vehicle; every
// other K draws each input from a hash of (Seed, K, batch or ID), so that
// adding an input disturbs no other.
type Draw struct {
	Seed uint64
	K    int
	// By, when set, gives the values instead: for moving one input at a time.
	By func(*Input) float64
}

// clip is where a draw is cut off, in standard deviations: beyond it a part
// would have been rejected at the bench.
const clip = 3.0

// Seal computes the input's hash once, so that draws need not. Call it when the
// design is resolved; an unsealed input draws the same values, more slowly. To
// seal again what is sealed writes nothing, so designs may share their inputs.
func (in *Input) Seal() {
	if k := keyOf(in); in.key != k {
		in.key = k
	}
}

func keyOf(in *Input) uint64 {
	name := in.Batch
	if name == "" {
		name = string(in.ID)
	}
	h := uint64(14695981039346656037)
	for i := 0; i < len(name); i++ {
		h = (h ^ uint64(name[i])) * 1099511628211
	}
	return h
}

// Of returns the input's value in this draw. The nominal draw returns SI. Other
// draws are normal about SI with SdSI, cut at three standard deviations; a
// spread wider than a fifth of the value is drawn log-normally with the same
// median, so that no resistance or flow turns negative.
func (d Draw) Of(in *Input) float64 {
	if d.By != nil {
		return d.By(in)
	}
	if d.K == 0 || in.SdSI == 0 {
		return in.SI
	}
	key := in.key
	if key == 0 {
		key = keyOf(in)
	}
	z := d.normal(key)
	if in.SI > 0 && in.SdSI > 0.2*in.SI && in.Unit != "°C" && in.Unit != "K" {
		return in.SI * math.Exp(z*math.Log1p(in.SdSI/in.SI))
	}
	return in.SI + z*in.SdSI
}

// normal maps the hash to a standard normal deviate within ± clip.
func (d Draw) normal(key uint64) float64 {
	h := mix(mix(d.Seed^0x9e3779b97f4a7c15) ^ mix(uint64(d.K)*0xbf58476d1ce4e5b9) ^ key)
	const lo = 0.0013498980316300946 // Φ(−3)
	u := (float64(h>>11) + 0.5) / (1 << 53)
	return math.Max(-clip, math.Min(clip, math.Sqrt2*math.Erfinv(2*(lo+u*(1-2*lo))-1)))
}

// mix is the finaliser of a 64-bit counter-based generator (Steele, Lea, Flood,
// "Fast splittable pseudorandom number generators", OOPSLA 2014).
func mix(z uint64) uint64 {
	z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9
	z = (z ^ (z >> 27)) * 0x94d049bb133111eb
	return z ^ (z >> 31)
}
