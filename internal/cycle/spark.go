package cycle

import "math"

// sparkFound is what a search gives, advance before the firing top.
type sparkFound struct {
	best, knock, use float64
	limited          bool
}

// seek finds the spark of most work, and the greatest short of knock, for the
// charge that stands in the cylinder when the intake valve closes: the best by
// the mean cycle, knock by a fast one. A rough search stands for the cycles
// before the last.
func (r *engineRun) seek(rough bool) (s sparkFound) {
	const degrees = math.Pi / 180
	width := 3 * degrees
	if rough {
		width = 6 * degrees
	}
	guess := 2*math.Pi - r.f.spark
	if !math.IsNaN(r.best) { // that of the seek before, which knock may have held back
		guess = r.best
	}
	guess = clampSpark(guess)
	from := r.pressed(guess + 2*width)
	s.best = top(func(x float64) float64 { w, _ := r.try(&from, x, 1, wholeBurn); return w }, guess, width)
	r.best = s.best
	s.knock, s.use = math.NaN(), s.best
	if r.op.Spark == SparkBest {
		return s
	}
	s.knock = s.best
	most := math.Log(r.op.MostKnockCount)
	over := func(x float64) float64 {
		_, k := r.try(&from, x, fastFrac, audibleFrac)
		return math.Log(math.Max(k, 1e-9)) - most
	}
	at := over(s.best)
	if at > 0 {
		s.limited = true
		s.knock = retard(over, s.best, at)
	}
	s.use = s.knock
	return s
}

// wholeBurn makes a try go on to the opening of the exhaust.
const wholeBurn = 2.0

// unlit is a charge on its way from the closing of the intake to the spark.
type unlit struct {
	c        charge
	s        setting
	step     int
	work     float64
	earliest float64 // advance
}

// pressed takes the charge that stands in the cylinder from the closing of the
// intake to a spark advance, once for all tries with less.
func (r *engineRun) pressed(earliest float64) unlit { return r.pressedFrom(r.c, earliest) }

func (r *engineRun) pressedFrom(c charge, earliest float64) unlit {
	u := unlit{c: c, s: *r.setting, step: max(r.shuts, int(math.Floor((2*math.Pi-earliest)/r.d))), earliest: earliest}
	u.s.closes(&u.c, r.m.ends[r.shuts%r.m.steps])
	u.work, _ = u.s.run(&u.c, &fire{spark: 4 * math.Pi}, r.shuts, u.step)
	return u
}

// try burns a pressed charge with a spark and a pace of the burn up to a burned
// fraction, at most to the opening of the exhaust, and returns work and knock
// integral. What has burned goes on in wide steps: they move the spark of most
// work by less than 0.02°.
func (r *engineRun) try(u *unlit, advance, pace, until float64) (work, knock float64) {
	if advance > u.earliest && u.step > r.shuts { // a long way from the guess
		earlier := r.pressed(advance)
		u = &earlier
	}
	c, s, f := u.c, u.s, fire{spark: 2*math.Pi - advance, pace: pace}
	work = u.work
	wide := s.wide()
	for i := u.step; i < r.opens && f.done < until; {
		var w float64
		if f.done >= 1 && i%2 == 0 && i+2 <= r.opens {
			w, _ = wide.step(&c, &f, i/2)
			i += 2
		} else {
			w, _ = s.step(&c, &f, i)
			i++
		}
		work += w
	}
	return work, f.knock
}

func clampSpark(x float64) float64 { return math.Max(latestSpark, math.Min(earliestSpark, x)) }

// top finds the greatest value of a smooth hump near a guess: a parabola through
// three points, walked until the middle is the highest.
func top(f func(float64) float64, x, h float64) float64 {
	low, fm, high := f(x-h), f(x), f(x+h)
	for range 12 {
		bend := low - 2*fm + high
		if bend < 0 {
			if move := h * (low - high) / (2 * bend); math.Abs(move) <= h {
				return clampSpark(x + move)
			}
		}
		side := h
		if high < low {
			side = -h
		}
		if x += side; x != clampSpark(x) {
			return clampSpark(x)
		}
		if side > 0 {
			low, fm, high = fm, high, f(x+h)
		} else {
			low, fm, high = f(x-h), low, fm
		}
	}
	return x
}

// retard finds the spark at which a rising function passes zero, below a spark
// where it is above: steps by the usual slope, then by what was found. If it is
// above at the latest spark, that is given back.
func retard(over func(float64) float64, high, fh float64) float64 {
	const slope, near = 7.0, 5e-3 // of the logarithm of the knock integral, per rad; 0.04°
	low, fl := high, fh
	for fl > 0 {
		high, fh = low, fl
		if low == latestSpark {
			return latestSpark
		}
		low = math.Max(latestSpark, low-1.2*fl/slope-0.01)
		fl = over(low)
	}
	for range 5 {
		if math.Abs(fl) < near || high-low < 1e-4 {
			return low
		}
		x := low + (high-low)*fl/(fl-fh)
		fx := over(x)
		if math.Abs(fx) < near {
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
