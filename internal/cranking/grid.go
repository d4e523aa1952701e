package cranking

import (
	"fmt"
	"math"

	"fettle/internal/dcnet"
	"fettle/internal/figure"
)

// The grid's size: a network with drop-outs in it bends little beside what the
// starter draws.
const (
	currents = 9
	inners   = 3
)

// grid is what the network gives: voltage at the starter, the battery's current
// and the watched voltages over the battery's inner voltage and the starter's
// current.
type grid struct {
	leastV, stepV, stepA float64
	sourceOhm            float64 // of the network at the starter
	starterV, batteryA   [inners * currents]float64
	watch                [][inners * currents]float64
}

// asks solves the network for one current and inner voltage.
type asks struct {
	c   Circuit
	ohm float64
	s   dcnet.Solution
	e   figure.Ended

	// The voltages of the solve before and the start of the next.
	before, guess []float64
	ahead         bool // the steps from solve to solve are equal
}

// leastDropV is where the starter's current ends: a current that the network
// can't bring at all pulls its terminal to nothing.
const leastDropV = 1e-3

func (q *asks) solve(innerV, starterA float64) bool {
	q.c.Net.SetSource(q.c.Battery, innerV, q.ohm)
	q.c.Net.SetLoad(q.c.Starter, dcnet.Current{CurrentA: starterA, DropOutV: leastDropV})
	q.e = q.c.Net.SolveInto(&q.s, q.c.Switches, q.start())
	if !q.e.OK {
		q.e.Why = fmt.Sprintf("with %.4g A in the starter: %s", starterA, q.e.Why)
	}
	return q.e.OK
}

// start is where a solve begins: from the voltages of the one before, or, with
// ahead, as far beyond them as they were beyond those before.
func (q *asks) start() []float64 {
	last := q.s.NodeV
	if last == nil {
		return nil
	}
	q.guess = append(q.guess[:0], last...)
	if q.ahead && len(q.before) == len(last) {
		for i, v := range q.before {
			q.guess[i] += last[i] - v
		}
	}
	q.before = append(q.before[:0], last...)
	return q.guess
}

// newGrid solves the network over the grid: currents up to the stalled one,
// inner voltages down to full polarisation at it.
func newGrid(c Circuit, b Battery, m Machine) (*grid, figure.Ended) {
	q := asks{c: c, ohm: b.AtOnceOhm}
	const probeA = 50
	if !q.solve(b.RestV, 0) {
		return nil, q.e
	}
	open := q.s.ElementV(c.Starter)
	if !q.solve(b.RestV, probeA) {
		return nil, q.e
	}
	g := &grid{sourceOhm: max(0, (open-q.s.ElementV(c.Starter))/probeA), watch: make([][inners * currents]float64, len(c.Watch))}
	if !(open > m.Motor.BrushV) {
		return nil, figure.Ended{Why: fmt.Sprintf("the starter gets %.3g V before it draws anything; its brushes alone take %.3g V", open, m.Motor.BrushV)}
	}
	stall := (open - m.Motor.BrushV) / (m.Motor.Ohm + g.sourceOhm)
	g.stepA = 1.02 * stall / (currents - 1)
	sunk := min((b.FastOhm+b.SlowOhm)*1.3*stall, b.RestV/2)
	g.leastV, g.stepV = b.RestV-sunk, sunk/(inners-1)
	for i := range inners {
		for n := range currents { // to and fro, so that each solve is next to the one before
			k := n
			if i%2 == 1 {
				k = currents - 1 - n
			}
			q.ahead = n > 1
			if !q.solve(g.leastV+float64(i)*g.stepV, float64(k)*g.stepA) {
				return nil, q.e
			}
			at := i*currents + k
			g.starterV[at], g.batteryA[at] = q.s.ElementV(c.Starter), -q.s.ElementA(c.Battery)
			for w, id := range c.Watch {
				g.watch[w][at] = q.s.ElementV(id)
			}
		}
	}
	return g, figure.Ended{OK: true}
}

// place finds the cell; the last one goes on beyond the edge.
func (g *grid) place(innerV, starterA float64) (at int, fv, fa float64) {
	x, y := (innerV-g.leastV)/g.stepV, starterA/g.stepA
	i := min(max(int(math.Floor(x)), 0), inners-2)
	k := min(max(int(y), 0), currents-2)
	return i*currents + k, x - float64(i), y - float64(k)
}

func mixed(t *[inners * currents]float64, at int, fv, fa float64) float64 {
	low := t[at] + fa*(t[at+1]-t[at])
	high := t[at+currents] + fa*(t[at+currents+1]-t[at+currents])
	return low + fv*(high-low)
}

func (g *grid) at(innerV, starterA float64) (starterV, batteryA float64) {
	at, fv, fa := g.place(innerV, starterA)
	return mixed(&g.starterV, at, fv, fa), mixed(&g.batteryA, at, fv, fa)
}

func (g *grid) watchV(w int, innerV, starterA float64) float64 {
	at, fv, fa := g.place(innerV, starterA)
	return mixed(&g.watch[w], at, fv, fa)
}
