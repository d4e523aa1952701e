package cycle

import "math"

// sparkFound is what a search gives, advance before the firing top.
type sparkFound struct {
	best, knock, use float64
	limited          bool
}

// seek finds the spark of most work, and the greatest short of knock, for the
// charge that stands in the cylinder when the intake valve closes.
func (r *engineRun) seek() (s sparkFound) {
	try := func(advance float64) (work, knock float64) {
		c := r.c
		f := fire{spark: 2*math.Pi - advance}
		t := *r.setting
		t.closes(&c, r.m.ends[r.shuts%r.m.steps])
		work, _ = t.run(&c, &f, r.shuts, r.opens)
		return work, f.knock
	}
	s.best = top(func(x float64) float64 { w, _ := try(x); return w }, clampSpark(2*math.Pi-r.f.spark))
	s.knock, s.use = math.NaN(), s.best
	if r.op.Spark == SparkBest {
		return s
	}
	s.knock = s.best
	most := math.Log(r.op.MostKnockCount)
	over := func(x float64) float64 { _, k := try(x); return math.Log(math.Max(k, 1e-9)) - most }
	at := over(s.best)
	if at > 0 {
		s.limited = true
		s.knock = retard(over, s.best, at)
	}
	s.use = s.knock
	return s
}

func clampSpark(x float64) float64 { return math.Max(latestSpark, math.Min(earliestSpark, x)) }

// top finds the greatest value of a smooth hump near a guess: parabolas through
// three points, their spacing closing in.
func top(f func(float64) float64, guess float64) float64 {
	const deg = math.Pi / 180
	x := guess
	for _, h := range []float64{6 * deg, 3 * deg} {
		fm := f(x)
		for range 4 { // walk until the middle is the highest
			low, high := f(x-h), f(x+h)
			bend := low - 2*fm + high
			if bend < 0 {
				move := h * (low - high) / (2 * bend)
				if math.Abs(move) <= h {
					x = clampSpark(x + move)
					break
				}
			}
			if high > low {
				x, fm = x+h, high
			} else {
				x, fm = x-h, low
			}
			if x != clampSpark(x) {
				x = clampSpark(x)
				break
			}
		}
	}
	return x
}

// retard finds the spark at which a rising function passes zero, below a spark
// where it is above. If it is above at the latest spark, that is given back.
func retard(over func(float64) float64, high, fh float64) float64 {
	low := high
	fl := fh
	for fl > 0 {
		high, fh = low, fl
		if low == latestSpark {
			return latestSpark
		}
		low = math.Max(latestSpark, low-8*math.Pi/180)
		fl = over(low)
	}
	for range 5 {
		x := low + (high-low)*fl/(fl-fh)
		fx := over(x)
		if math.Abs(fx) < 2e-3 || high-low < 1e-4 {
			return x
		}
		if fx > 0 {
			high, fh = x, fx
		} else {
			low, fl = x, fx
		}
	}
	return low + (high-low)*fl/(fl-fh)
}
