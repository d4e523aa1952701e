package drawing

import (
	"math"

	"fettle/internal/quantity"
)

// Axis is a scale of a [Plot]. From and To are its ends; both 0 leave them to
// the data. A logarithmic one shows what is above nought only.
type Axis struct {
	Name     string // "engine speed"
	Unit     string // "rpm", stands once in the head
	From, To Number
	Log      bool
	Zero     bool   // begins at nought if the data let it
	Ticks    []Tick // none: chosen
}

// Tick is a labelled place of an axis.
type Tick struct {
	At   Number
	Text string
}

// scale is an axis with its ends settled.
type scale struct {
	lo, hi   float64
	log      bool
	from, to Px // where lo and hi stand
	ticks    []Tick
	minor    []Number
}

// at is the place of a number; ok is false where the axis can't show it.
func (s *scale) at(v Number) (x Px, ok bool) {
	f := float64(v)
	if !finite(v) || s.log && f <= 0 {
		return 0, false
	}
	x = s.from + Px(s.frac(f))*(s.to-s.from)
	if !finite(Number(x)) {
		return 0, false
	}
	return max(-offSheet, min(offSheet, x)), true // what is that far out is cut off at the frame
}

const offSheet = 1e5

func (s *scale) frac(f float64) float64 {
	if s.log {
		return math.Log(f/s.lo) / math.Log(s.hi/s.lo)
	}
	return (f - s.lo) / (s.hi - s.lo)
}

// holds reports whether a number lies between the ends.
func (s *scale) holds(v Number) bool {
	f := float64(v)
	slack := 1e-9 * (s.hi - s.lo)
	return f >= s.lo-slack && f <= s.hi+slack
}

// settle fixes the ends of an axis for the numbers it has to show and about how
// many ticks it may have; ok is false when there is nothing it can show.
func (a Axis) settle(values []Number, ticks int) (s scale, ok bool) {
	s.log = a.Log
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range values {
		if f := float64(v); finite(v) && (!a.Log || f > 0) {
			lo, hi = math.Min(lo, f), math.Max(hi, f)
		}
	}
	fixed := a.From != a.To && finite(a.From) && finite(a.To) && (!a.Log || min(a.From, a.To) > 0)
	switch {
	case fixed:
		s.lo, s.hi = math.Min(float64(a.From), float64(a.To)), math.Max(float64(a.From), float64(a.To))
	case lo > hi:
		return s, false
	case a.Log:
		s.lo, s.hi = logEnds(lo, hi)
	default:
		if a.Zero && lo > 0 {
			lo = 0
		}
		if a.Zero && hi < 0 {
			hi = 0
		}
		s.lo, s.hi = niceEnds(lo, hi, ticks)
	}
	if !(s.hi > s.lo) || math.IsInf(s.hi-s.lo, 0) || a.Log && math.IsInf(s.hi/s.lo, 0) {
		return s, false
	}
	switch {
	case len(a.Ticks) > 0:
		for _, t := range a.Ticks {
			if s.holds(t.At) {
				s.ticks = append(s.ticks, t)
			}
		}
	case a.Log:
		s.logTicks(ticks)
	default:
		s.evenTicks(ticks)
	}
	return s, true
}

// niceStep is 1, 2 or 5 times a power of ten, so that a span has at most about n
// of them.
func niceStep(span float64, n int) float64 {
	raw := span / float64(max(1, n))
	p := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5} {
		if m*p >= raw*(1-1e-9) {
			return m * p
		}
	}
	return 10 * p
}

// niceEnds rounds the ends outward to whole steps.
func niceEnds(lo, hi float64, n int) (float64, float64) {
	if span, most := hi-lo, math.Max(math.Abs(lo), math.Abs(hi)); span <= 1e-9*most || span == 0 {
		d := most / 10
		if d == 0 {
			d = 1
		}
		lo, hi = lo-d, hi+d
	}
	step := niceStep(hi-lo, n)
	return step * math.Floor(lo/step+1e-9), step * math.Ceil(hi/step-1e-9)
}

func logEnds(lo, hi float64) (float64, float64) {
	down := func(v float64) float64 { return step125(v*(1+1e-9), false) }
	up := func(v float64) float64 { return step125(v*(1-1e-9), true) }
	lo, hi = down(lo), up(hi)
	if hi/lo < 9.9 {
		hi = up(lo * 9.99)
	}
	return lo, hi
}

// step125 is the next of 1, 2, 5, 10, 20 … at or beyond a number.
func step125(v float64, up bool) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	below := p
	for _, m := range []float64{1, 2, 5, 10} {
		if s := m * p; s <= v {
			below = s
		} else if up {
			return s
		}
	}
	return below
}

func (s *scale) evenTicks(n int) {
	step := niceStep(s.hi-s.lo, n)
	decimals := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	first := math.Ceil(s.lo/step - 1e-6)
	for i := range 2*n + 4 {
		v := (first + float64(i)) * step
		if v > s.hi+1e-6*step {
			return
		}
		s.ticks = append(s.ticks, Tick{Number(v), figureText(v, decimals)})
	}
}

func (s *scale) logTicks(n int) {
	decades := math.Log10(s.hi / s.lo)
	every := max(1, int(math.Ceil(decades/float64(max(1, n)))))
	for e := int(math.Floor(math.Log10(s.lo) - 1e-9)); float64(e) <= math.Log10(s.hi)+1e-9; e++ {
		for m := 1; m <= 9; m++ {
			v := float64(m) * math.Pow(10, float64(e))
			if v < s.lo*(1-1e-9) || v > s.hi*(1+1e-9) {
				continue
			}
			named := m == 1 && mod(e, every) == 0 || (m == 2 || m == 5) && 3*decades <= float64(n)
			if named {
				s.ticks = append(s.ticks, Tick{Number(v), figureText(v, max(0, -e))})
			} else if decades < 12 {
				s.minor = append(s.minor, Number(v))
			}
		}
	}
}

func mod(a, b int) int { return ((a % b) + b) % b }

// figureText prints a number in the house's way: point, narrow spaces from five
// digits on, a true minus.
func figureText(v float64, decimals int) string {
	if a := math.Abs(v); a >= 1e7 || decimals > 6 {
		return quantity.Number(v, "", 4)
	}
	return quantity.NumberTo(v, "", decimals)
}
