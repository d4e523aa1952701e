package dcnet

import (
	"math"
	"slices"
)

// standing is what an assembled problem is kept by for the next solve: with the
// same order and the same switches only the elements set in between are taken
// again.
type standing struct {
	top   *topology // nil when nothing is kept
	sw    Switches
	at    []int32 // by ElementID: 1 + its index in lin, or −1 − its index in bent; 0 for one that conducts nothing
	tied  []int32 // places of dead parts that are tied to the reference
	fed   []int32 // conducting sources and alternators
	moved []int32 // elements set since
	all   bool    // more than that were
}

// mostMoved is the share of the elements that may be set before taking them all
// is the shorter way.
const mostMoved = 4

// touch notes that an element's values changed.
func (n *Network) touch(id ElementID) {
	s := &n.work.kept
	switch {
	case s.top == nil || s.all:
	case len(s.moved)*mostMoved > len(n.els):
		s.all = true
	default:
		s.moved = append(s.moved, int32(id))
	}
}

// same reports a load's law that draws exactly what it drew. A curve or a model
// of the caller's own is taken to be another each time.
func (l *law) same(o *law) bool {
	return l.kind == o.kind && l.k == o.k && l.dropV == o.dropV && l.kind != lawCurve && l.kind != lawOther
}

// keep notes what has been assembled; refresh may then begin from it.
func (w *workspace) keepFor(sw Switches) {
	s := &w.kept
	s.top, s.sw = w.problem.top, append(s.sw[:0], sw...)
	s.moved, s.all, s.fed = s.moved[:0], false, s.fed[:0]
	s.at = slices.Grow(s.at[:0], len(w.problem.els))[:len(w.problem.els)]
	clear(s.at)
	for i := range w.lin {
		s.at[w.lin[i].id] = int32(i) + 1
		if w.problem.els[w.lin[i].id].kind == battery {
			s.fed = append(s.fed, w.lin[i].id)
		}
	}
	for i := range w.bent {
		s.at[w.bent[i].id] = -int32(i) - 1
		if w.bent[i].e.kind == alternator {
			s.fed = append(s.fed, w.bent[i].id)
		}
	}
}

// refresh brings a kept problem up to date; false asks for a whole assembly:
// another order, other switches, or an element that began or ceased to conduct.
func (w *workspace) refresh(p problem, sw Switches) bool {
	s := &w.kept
	if s.top == nil || s.top != p.top || s.all || !slices.Equal(s.sw, sw) {
		return false
	}
	base := false
	for _, id := range s.moved {
		e, at := &p.els[id], s.at[id]
		switch {
		case e.conducts() != (at != 0), at != 0 && e.straight() != (at > 0):
			return false
		case at > 0:
			w.lin[at-1].take(e)
			base = true
		case at < 0:
			b := &w.bent[-at-1]
			*b = newBend(e, p.top.ends[id], int(id))
		}
	}
	s.moved = s.moved[:0]
	w.problem, w.steps, w.sizeV = p, 0, 0
	if base {
		w.base()
	}
	w.emfV = 0
	for _, id := range s.fed {
		w.emfV = max(w.emfV, math.Abs(p.els[id].emfV))
	}
	w.other, w.most = false, leastMost
	for i := range w.bent {
		w.other = w.other || w.bent[i].e.law.kind == lawOther
		w.most += 4 * w.bent[i].e.branches()
	}
	return true
}

// base sums the conductances of the linear elements.
func (w *workspace) base() {
	clear(w.baseLeak)
	clear(w.baseCond)
	for i := range w.lin {
		switch l := &w.lin[i]; {
		case l.slot == noSlot:
		case l.slot >= 0:
			w.baseCond[l.slot] += l.g
		default:
			w.baseLeak[^l.slot] += l.g
		}
	}
	for _, j := range w.kept.tied {
		w.baseLeak[j] = 1
	}
}
