package dcnettest

import (
	"math/rand/v2"

	"fettle/internal/dcnet"
)

// Random makes a network of about the given number of nodes out of a seed: a
// tree of feeds with switches, a tree of returns, loads of every kind between
// them, a few meshes, one to three sources.
func Random(seed uint64, nodes int) *Twin {
	r := rand.New(rand.NewPCG(seed, 7))
	t := NewTwin()
	post := t.Node()
	t.Plus = append(t.Plus, post)
	t.Battery(post, dcnet.Reference, 11.5+1.5*r.Float64(), logBetween(r, 0.003, 0.05))
	ground := []dcnet.NodeID{dcnet.Reference}
	for range max(1, nodes/5) {
		g := t.Node()
		t.Wire(g, ground[branchAt(r, len(ground))], logBetween(r, 2e-4, 0.02))
		ground = append(ground, g)
	}
	for t.Net.NodeCount() < nodes {
		growFeed(r, t)
	}
	for range nodes / 25 { // meshes
		t.Wire(t.Plus[r.IntN(len(t.Plus))], t.Plus[r.IntN(len(t.Plus))], logBetween(r, 0.01, 1))
		t.Wire(ground[r.IntN(len(ground))], ground[r.IntN(len(ground))], logBetween(r, 1e-3, 0.1))
	}
	if r.IntN(2) == 0 {
		t.Battery(t.Plus[r.IntN(len(t.Plus))], ground[r.IntN(len(ground))], 10+4*r.Float64(), logBetween(r, 0.003, 0.5))
	}
	if r.IntN(3) > 0 {
		out := t.Node()
		t.Wire(post, out, logBetween(r, 2e-3, 2e-2))
		t.Alternator(out, ground[branchAt(r, len(ground))], 12+3*r.Float64(), logBetween(r, 0.01, 0.1), logBetween(r, 5, 200))
	}
	for _, n := range t.Plus {
		if r.Float64() < 0.6 {
			t.Load(n, ground[r.IntN(len(ground))], randomModel(r))
		}
	}
	return t
}

// growFeed adds a feed wire, and a switch in one of four.
func growFeed(r *rand.Rand, t *Twin) {
	from := t.Plus[branchAt(r, len(t.Plus))]
	to := t.Node()
	if r.IntN(4) == 0 {
		closed := r.IntN(4) > 0
		t.Switch(from, to, logBetween(r, 1e-3, 0.02), closed)
		t.cut[to] = t.cut[from] || !closed
	} else {
		t.cut[to] = t.cut[from]
		t.Wire(from, to, logBetween(r, 1e-3, 0.3))
	}
	t.Plus = append(t.Plus, to)
}

// branchAt prefers the nodes near the root, as looms do.
func branchAt(r *rand.Rand, n int) int { return int(float64(n) * r.Float64() * r.Float64()) }

func randomModel(r *rand.Rand) dcnet.Model {
	m := dcnet.Model(dcnet.Resistance{Ohm: logBetween(r, 1, 1e4)})
	switch r.IntN(5) {
	case 0:
		m = dcnet.Current{CurrentA: logBetween(r, 0.01, 8), DropOutV: 3 + 5*r.Float64()}
	case 1, 2:
		m = dcnet.Power{PowerW: logBetween(r, 0.5, 90), DropOutV: 4 + 5*r.Float64()}
	case 3:
		i := logBetween(r, 0.1, 6)
		m = dcnet.Curve{VoltageV: []float64{0, 3, 9, 16}, CurrentA: []float64{0, 0.5 * i, 0.7 * i, 1.5 * i}}
	}
	if r.IntN(5) == 0 {
		m = dcnet.Average{Model: m, DutyFrac: 0.1 + 0.8*r.Float64()}
	}
	return m
}
