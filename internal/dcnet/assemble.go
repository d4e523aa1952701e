package dcnet

import (
	"fmt"
	"math"
	"slices"
)

// workspace is what a solve writes to; it is kept so that the next solve
// allocates next to nothing.
type workspace struct {
	ldl
	problem
	els                []element // for variations
	lin                []linear
	bent               []bend
	baseLeak, baseCond []float64 // of the linear elements
	v, f, d            []float64 // by place, the reference last
	keep, trial        []float64
	up                 []int32 // forest of joined places
	fed                []bool  // by place of a root
	dead               []NodeID
	other              bool // there is a model that isn't ours
	most               int  // steps allowed
	steps              int
	moved              float64 // last step
	emfV               float64 // largest of a source
	sizeV              float64 // largest of all, at the last step
	kept               standing
}

// leastMost is the steps allowed to a problem without bends.
const leastMost = 100

// assemble sorts the elements of a problem that conduct into linear and bent
// ones and finds the islands. The answer is empty or says what floats.
func (w *workspace) assemble(p problem, sw Switches) string {
	w.problem = p
	t := p.top
	w.ldl.size(t)
	w.baseLeak, w.baseCond = resize(w.baseLeak, t.n+1), resize(w.baseCond, len(t.row))
	for _, s := range []*[]float64{&w.v, &w.f, &w.d, &w.keep, &w.trial} {
		*s = resize(*s, t.n+1)
	}
	if cap(w.lin) < len(p.els) {
		w.lin = make([]linear, 0, len(p.els))
	}
	w.lin, w.bent, w.dead = w.lin[:0], w.bent[:0], w.dead[:0]
	w.other, w.steps, w.most, w.emfV, w.sizeV = false, 0, leastMost, 0, 0
	w.kept.top, w.kept.tied = nil, w.kept.tied[:0]
	w.forest()
	for i := 1; i < len(p.els); i++ {
		w.take(&p.els[i], t.ends[i], i, sw)
	}
	why := w.islands()
	w.base()
	return why
}

// conducts reports whether an element that is joined draws or brings anything.
func (e *element) conducts() bool {
	return !(e.kind == load && e.law.kind == lawNone || e.kind == alternator && e.maxA < nothing)
}

// straight reports an element whose current is g·U + i0.
func (e *element) straight() bool {
	return e.kind != alternator && (e.kind != load || e.law.kind == lawOhm)
}

// take sets the conductance and current of an element that is straight.
func (l *linear) take(e *element) {
	l.i0 = 0
	switch e.kind {
	case load:
		l.g = e.law.k
	case battery:
		l.g = 1 / e.ohm
		l.i0 = -e.emfV / e.ohm
	default:
		l.g = 1 / e.ohm
	}
}

func (w *workspace) take(e *element, at end, id int, sw Switches) {
	if e.opened || e.kind == contact && !sw.Closed(ElementID(id)) || !e.conducts() {
		return
	}
	w.join(at.a, at.b)
	w.emfV = max(w.emfV, math.Abs(e.emfV))
	if e.straight() {
		l := linear{at.a, at.b, at.slot, int32(id), 0, 0}
		l.take(e)
		w.lin = append(w.lin, l)
		return
	}
	w.bent = append(w.bent, newBend(e, at, id))
	w.other = w.other || e.law.kind == lawOther
	w.most += 4 * e.branches()
}

// forest begins with every place by itself.
func (w *workspace) forest() {
	n := w.top.n + 1
	w.up = slices.Grow(w.up[:0], n)[:n]
	w.fed = slices.Grow(w.fed[:0], n)[:n]
	for j := range w.up {
		w.up[j], w.fed[j] = int32(j), false
	}
}

func (w *workspace) root(j int32) int32 {
	for w.up[j] != j {
		w.up[j] = w.up[w.up[j]]
		j = w.up[j]
	}
	return j
}

func (w *workspace) join(a, b int32) {
	a, b = w.root(a), w.root(b)
	w.up[min(a, b)] = max(a, b) // the reference, last of all, stays a root
}

// islands finds the parts without a path to the reference. One with a source
// in it floats: its currents exist, its voltages don't. One without is dead,
// and is tied to the reference at one node, through which nothing flows.
func (w *workspace) islands() string {
	ground := int32(w.top.n)
	apart := false
	for j := range ground {
		if w.root(j) != ground {
			apart = true
			break
		}
	}
	if !apart {
		return ""
	}
	for i := range w.lin {
		if w.problem.els[w.lin[i].id].kind == battery {
			w.fed[w.root(w.lin[i].a)] = true
		}
	}
	for i := range w.bent {
		if w.bent[i].e.kind == alternator {
			w.fed[w.root(w.bent[i].a)] = true
		}
	}
	var floating []int
	for v := 1; v < w.nodes; v++ {
		j := w.top.place[v]
		r := w.root(j)
		switch {
		case r == ground:
		case w.fed[r]:
			floating = append(floating, v)
		default:
			w.dead = append(w.dead, NodeID(v))
			if r == j {
				w.kept.tied = append(w.kept.tied, j)
			}
		}
	}
	return w.floats(floating)
}

func (w *workspace) floats(nodes []int) string {
	const lost = "no path to the battery's negative post"
	switch len(nodes) {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("node %q floats: %s", w.nodeName(nodes[0]), lost)
	}
	return fmt.Sprintf("node %q and %d more float: %s", w.nodeName(nodes[0]), len(nodes)-1, lost)
}

// nodeAt is the node of a place.
func (w *workspace) nodeAt(place int) int { return slices.Index(w.top.place, int32(place)) }
