package cranking

import "math"

// LowestV returns the lowest of a course of voltages and when it is there.
//
//	U = min U(t)
//
// Valid: a course of at least one point.
// Accuracy: that of the course.
// Source: definition.
// Errors: none; an empty course gives infinity.
func (c Course) LowestV(ofV []float64) (lowestV, timeS float64) {
	lowestV = math.Inf(1)
	for k, x := range ofV {
		if x < lowestV {
			lowestV, timeS = x, c.TimeS[k]
		}
	}
	return lowestV, timeS
}

// InrushA returns the greatest current of the starter and when it flows.
//
//	I = max I(t)
//
// Valid: a course of at least one point.
// Accuracy: that of the course.
// Source: definition.
// Errors: none; an empty course gives 0.
func (c Course) InrushA() (currentA, timeS float64) {
	for k, x := range c.StarterA {
		if x > currentA {
			currentA, timeS = x, c.TimeS[k]
		}
	}
	return currentA, timeS
}

// BelowS returns the longest time on end that a course of voltages stays below a limit.
//
//	t = max (t₂ − t₁),  U(t) < U_limit for t₁ < t < t₂
//
// Valid: a course of at least two points, straight lines between them.
// Accuracy: that of the course; a tenth of its step.
// Source: definition.
// Errors: none.
func (c Course) BelowS(ofV []float64, limitV float64) float64 {
	longest, since := 0.0, math.NaN()
	for k := range ofV {
		under := ofV[k] < limitV
		switch {
		case under && math.IsNaN(since):
			since = c.TimeS[k]
			if k > 0 {
				since = c.crossS(ofV, k, limitV)
			}
		case !under && !math.IsNaN(since):
			longest = math.Max(longest, c.crossS(ofV, k, limitV)-since)
			since = math.NaN()
		}
	}
	if !math.IsNaN(since) {
		longest = math.Max(longest, c.TimeS[len(ofV)-1]-since)
	}
	return longest
}

// crossS is when the line from the point before k to k meets the limit.
func (c Course) crossS(of []float64, k int, limit float64) float64 {
	f := (limit - of[k-1]) / (of[k] - of[k-1])
	return c.TimeS[k-1] + f*(c.TimeS[k]-c.TimeS[k-1])
}

// LastingV returns the lowest voltage that lasts: the highest level below which a course does not stay for longer than a device bridges.
//
//	U = max { u : longest time below u ≤ t_b }
//
// where t_b is the time the device bridges. It falls short of a limit exactly
// when the course stays below that limit for longer than t_b.
//
// Valid: a course of at least two points, bridged time at least 0.
// Accuracy: 0.1 mV beside that of the course.
// Source: definition; a control unit's buffer capacitor carries it over a dip.
// Errors: none; with no time bridged it is the lowest voltage.
func (c Course) LastingV(ofV []float64, bridgedS float64) float64 {
	lo, _ := c.LowestV(ofV)
	hi := lo
	for _, x := range ofV {
		hi = max(hi, x)
	}
	if !(bridgedS > 0) {
		return lo
	}
	for hi-lo > 5e-5 {
		if mid := (lo + hi) / 2; c.BelowS(ofV, mid) > bridgedS {
			hi = mid
		} else {
			lo = mid
		}
	}
	return lo
}
