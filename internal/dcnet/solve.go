package dcnet

import (
	"fmt"
	"math"

	"fettle/internal/figure"
)

// Solution is the voltages and currents of one solve. That of a solve that
// failed is empty: its methods answer NaN, never a number.
type Solution struct {
	// NodeV is the voltage of each node against the reference.
	NodeV []float64
	// Dead are the nodes that nothing joins to the reference or to a source:
	// behind open switches only. They read 0 V.
	Dead []NodeID
	// Beyond are loads whose curve was carried on above its last point.
	Beyond []ElementID

	elementA, elementV []float64
}

// ElementA returns the current through an element from a to b.
func (s Solution) ElementA(id ElementID) float64 { return pick(s.elementA, id) }

// ElementV returns the voltage across an element, of a against b. A load that
// has a joint planted beside it shows what is left for the load itself.
func (s Solution) ElementV(id ElementID) float64 { return pick(s.elementV, id) }

// ElementW returns the power an element takes; one that is given off is
// negative.
//
//	P = U · I
//
// Valid: any solution that settled.
// Accuracy: that of the voltage and current.
// Source: definition.
// Errors: NaN for an empty solution or an element that there is not.
func (s Solution) ElementW(id ElementID) float64 { return s.ElementV(id) * s.ElementA(id) }

func pick(x []float64, id ElementID) float64 {
	if id < 1 || int(id) >= len(x) {
		return math.NaN()
	}
	return x[id]
}

// Solve returns the voltages at which the currents into every node cancel, in
// one state of the switches and with the given faults.
//
//	Σ I(Uₐ − U_b) = 0 at every node but the reference
//
// StartV is NodeV of an earlier solve, or nil; it makes the solve shorter and
// doesn't change the answer.
//
// A branch with a constant power behind resistance can have several operating
// points. The answer is the one reached from full supply, that is with the
// constant powers and currents switched on over a network that stands at its
// unloaded voltages: the highest one. All loads begin unloaded, voltages go
// down by Newton steps that stop where a load meets its drop-out, and the load
// goes on below it as a resistance. For loads that pull each other down
// (every feed and return that they share) each point on that way lies above the
// answer, since a constant power is convex in voltage (Ortega and Rheinboldt,
// monotone Newton theorem), so no answer is stepped over. From startV the
// Newton steps are plain, and what they find is kept only if the matrix is
// positive definite and every constant power below its drop-out would be so
// unloaded too; else the way down from full supply is taken.
//
// Open switches and opened elements are not there at all. Nodes that only a
// load joins to the reference stand at its potential. A part of the network
// with a source in it and no path to the reference floats, and is reported.
//
// Valid: resistances 1e-7 … 1e10 Ω; networks that are nearly trees.
// Accuracy: 1e-9 of the largest voltage, and Kirchhoff's current law within
// 1e-9 of the largest current (at least 1 µA), beyond the rounding of the
// voltages; near the voltage at which a load collapses the square root of that.
// Source: Ho, Ruehli and Brennan, "The modified nodal approach to network
// analysis", IEEE Trans. CAS-22, 1975; J. M. Ortega and W. C. Rheinboldt,
// "Iterative Solution of Nonlinear Equations in Several Variables", 1970, §13.3.
// Errors: a value out of range, a floating part, a load that can't be fed, no
// convergence: Ended.OK is false, Why names it and the solution is empty.
func (n *Network) Solve(sw Switches, startV []float64, ch ...Change) (Solution, figure.Ended) {
	var s Solution
	e := n.SolveInto(&s, sw, startV, ch...)
	return s, e
}

// SolveInto is Solve that reuses the slices of an earlier solution. StartV may
// be the NodeV of that same solution.
func (n *Network) SolveInto(s *Solution, sw Switches, startV []float64, ch ...Change) figure.Ended {
	e := n.solve(sw, startV, ch)
	if !e.OK {
		*s = Solution{}
		return e
	}
	n.work.store(s, len(n.names), len(n.els))
	return e
}

func (n *Network) solve(sw Switches, startV []float64, ch []Change) figure.Ended {
	fail := func(why string) figure.Ended { return figure.Ended{Why: why, Steps: n.work.steps} }
	n.work.steps = 0
	if err := n.Err(); err != nil {
		return fail(err.Error())
	}
	if startV != nil && len(startV) != len(n.names) {
		return fail(fmt.Sprintf("start has %d voltages, allowed %d, one per node", len(startV), len(n.names)))
	}
	p := problem{n, n.els, n.order(), len(n.names)}
	if len(ch) > 0 {
		var why string
		if p, why = n.vary(ch); why != "" {
			return fail(why)
		}
	}
	w := &n.work
	if len(ch) > 0 || !w.refresh(p, sw) {
		if why := w.assemble(p, sw); why != "" {
			return fail(why)
		}
		if len(ch) == 0 {
			w.keepFor(sw)
		}
	}
	if why := w.settle(startV); why != "" {
		return fail(why)
	}
	e := figure.Ended{OK: true, Steps: w.steps, Residual: w.residual()}
	if e.Residual > 1e-9 || math.IsNaN(e.Residual) {
		e.OK = false
		e.Why = fmt.Sprintf("the currents don't cancel: off by %.3g of the largest, allowed 1e-9", e.Residual)
	}
	return e
}

// residual is the largest current left over at a node, less what the rounding
// of the voltages accounts for, over the largest current or 1 µA.
func (w *workspace) residual() float64 {
	w.balance(false)
	clear(w.d)
	largest := 1e-6
	const ulp = 4.0 / (1 << 52)
	size := func(a, b int32, i, g float64) {
		largest = max(largest, math.Abs(i))
		noise := ulp * (math.Abs(i) + math.Abs(g)*max(math.Abs(w.v[a]), math.Abs(w.v[b])))
		w.d[a] += noise
		w.d[b] += noise
	}
	for i := range w.lin {
		l := &w.lin[i]
		size(l.a, l.b, l.g*(w.v[l.a]-w.v[l.b])+l.i0, l.g)
	}
	for i := range w.bent {
		b := &w.bent[i]
		size(b.a, b.b, b.i, b.g)
	}
	worst := 0.0
	for j := range w.top.n {
		x := math.Abs(w.f[j])
		if math.IsNaN(x) {
			return x
		}
		worst = max(worst, x-w.d[j])
	}
	if worst == 0 {
		return 0
	}
	return worst / largest
}

func (w *workspace) store(s *Solution, nodes, els int) {
	s.NodeV = resize(s.NodeV, nodes)
	s.elementA, s.elementV = resize(s.elementA, els), resize(s.elementV, els)
	s.Beyond = s.Beyond[:0]
	s.Dead = s.Dead[:0]
	for v := range nodes {
		s.NodeV[v] = w.v[w.top.place[v]]
	}
	for _, v := range w.dead {
		if int(v) < nodes {
			s.NodeV[v] = 0
			s.Dead = append(s.Dead, v)
		}
	}
	clear(s.elementA)
	for i := 1; i < els; i++ {
		at := w.top.ends[i]
		s.elementV[i] = w.v[at.a] - w.v[at.b]
	}
	for i := range w.lin {
		if l := &w.lin[i]; int(l.id) < els {
			s.elementA[l.id] = l.g*s.elementV[l.id] + l.i0
		}
	}
	for i := range w.bent {
		b := &w.bent[i]
		s.elementA[b.id] = b.i
		if l := &b.e.law; l.kind == lawCurve && s.elementV[b.id] > l.v[len(l.v)-1] {
			s.Beyond = append(s.Beyond, ElementID(b.id))
		}
	}
}
