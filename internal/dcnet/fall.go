package dcnet

import (
	"fmt"
	"math"
)

// mostSlides bounds the steps of one fall that can't be shortened.
const mostSlides = 3000

// fall goes on where the matrix is no longer positive definite: there is no
// answer below with every load on its present stretch, so one of them must meet
// its end. The way there is the direction in which the falling slopes feed
// themselves, the leading vector x of G⁻¹N (G the slopes that rise, N those
// that fall). Going along it by any length keeps every net current outward as
// long as N x ≥ G x at each load; if the vector isn't that clear yet, one step
// with the rising slopes only is taken, which keeps it for any network.
func (w *workspace) fall(off bool) string {
	for range mostSlides {
		if !w.build(false) {
			return fmt.Sprintf("node %q is held by nothing: no voltage can be found for it", w.nodeName(w.nodeAt(w.worstPivotN)))
		}
		w.aim()
		copy(w.trial, w.d)
		most := math.Inf(1)
		if !w.lead() {
			copy(w.d, w.trial)
			most = 1
		}
		reach := w.reach(most, off)
		if math.IsInf(reach, 1) {
			return w.unsettled()
		}
		w.advance(reach)
		if math.IsNaN(w.moved) {
			return w.unsettled()
		}
		w.spoil()
		if reach < most {
			if b := w.cross(reach, off); b != nil {
				return b.starved()
			}
			return ""
		}
		w.balance(off)
		if w.build(true) {
			return ""
		}
	}
	return w.unsettled()
}

// lead turns d into the leading vector by power iteration, downwards, and
// reports whether it is clear: no load that takes part resists.
func (w *workspace) lead() bool {
	x := w.f // free until the next balance
	for range 60 {
		copy(x, w.d)
		clear(w.d)
		any := false
		for i := range w.bent {
			b := &w.bent[i]
			if b.g < 0 {
				any = true
				y := -b.g * (x[b.a] - x[b.b])
				w.d[b.a] += y
				w.d[b.b] -= y
			}
		}
		if !any {
			return false
		}
		w.d[w.top.n] = 0
		w.solve(w.top, w.d)
		if w.certain(x) {
			return true
		}
		size := 0.0
		for _, y := range w.d {
			size = max(size, math.Abs(y))
		}
		if size == 0 {
			return false
		}
		for j := range w.d {
			w.d[j] /= size
		}
	}
	return false
}

// certain reports whether the image d of x is at least as far down as x at every
// load that falls.
func (w *workspace) certain(x []float64) bool {
	for i := range w.bent {
		b := &w.bent[i]
		if b.g >= 0 {
			continue
		}
		from, to := x[b.a]-x[b.b], w.d[b.a]-w.d[b.b]
		if to > from || from > 0 {
			return false
		}
	}
	return true
}

// damp is for models that aren't ours: it halves the step until the currents
// left over shrink. A step that is within the rounding of the voltages is taken
// whole: the currents left over can't shrink any more.
func (w *workspace) damp(off bool) float64 {
	step := 0.0
	for _, x := range w.d {
		step = max(step, math.Abs(x))
	}
	if step <= doneRatio*w.sizeV+leastV {
		return 1
	}
	copy(w.trial, w.v)
	before := w.leftOver()
	t := 1.0
	for ; t > 1.0/1024; t /= 2 {
		for j, x := range w.d {
			w.v[j] = w.trial[j] + t*x
		}
		w.balance(off)
		if after := w.leftOver(); after <= before*(1-1e-4*t) || after <= leastV {
			break
		}
	}
	copy(w.v, w.trial)
	return t
}

func (w *workspace) leftOver() float64 {
	sum := 0.0
	for _, x := range w.f[:w.top.n] {
		sum += x * x
	}
	return math.Sqrt(sum)
}

// unsettled names what still moved when the steps ran out.
func (w *workspace) unsettled() string {
	worst, at := -1.0, -1
	for i := range w.bent {
		b := &w.bent[i]
		if du := math.Abs(w.d[b.a] - w.d[b.b]); du > worst || math.IsNaN(du) {
			worst, at = du, i
		}
	}
	if at < 0 {
		return fmt.Sprintf("the voltages did not settle in %d steps", w.steps)
	}
	return fmt.Sprintf("the voltages did not settle in %d steps: %v still moved by %.3g V", w.steps, w.bent[at].e, worst)
}
