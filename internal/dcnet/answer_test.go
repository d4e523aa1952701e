package dcnet_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"gonum.org/v1/gonum/mat"

	. "fettle/internal/dcnet"
	"fettle/internal/dcnet/dcnettest"
)

// TestHighestOfThree: 12 V behind 1 Ω feeds 32 W that drops out at 2 V. On
// paper the branch can stand at 8 V (upper root of U² − 12 U + 32), at 4 V
// (lower root, unstable) or at 12/(1 + 32/4) = 4/3 V, started. The answer is
// 8 V, wherever the search begins.
func TestHighestOfThree(t *testing.T) {
	n := New()
	dev := n.Node("device")
	n.Source("source", dev, Reference, 12, 1)
	n.Load("converter", dev, Reference, Power{32, 2})
	for _, start := range [][]float64{nil, {0, 4.0 / 3}, {0, 4}, {0, 0}, {0, 8}, {0, 40}, {0, -5}, {0, math.NaN()}} {
		s := solved(t, n, nil, start)
		near(t, fmt.Sprint("from ", start), s.NodeV[1], 8, 1e-12)
	}
}

// TestOneStarvesAnother: two converters behind one wire, of which the weaker
// drop-out folds and leaves the other one fed. 12 V, 1 Ω, 20 W folding below
// 6.5 V to 2.1125 Ω and 10 W without fold above 1 V. Both up would need
// U² − 12U + 30 = 0: 8.449 V, above both drop-outs, so both stay up; with 30 W
// and 10 W (40 W > 36 W) the first folds to R = 6.5²/30 and the other stands at
// the upper root of U²(1 + 1/R) − 12U + 10 = 0.
func TestOneStarvesAnother(t *testing.T) {
	n := New()
	dev := n.Node("device")
	n.Source("source", dev, Reference, 12, 1)
	a := n.Load("first", dev, Reference, Power{20, 6.5})
	n.Load("second", dev, Reference, Power{10, 1})
	near(t, "both up", solved(t, n, nil, nil).NodeV[1], 6+math.Sqrt(6), 1e-12)
	n.SetLoad(a, Power{30, 6.5})
	k := 1 + 30/(6.5*6.5)
	want := (12 + math.Sqrt(144-4*k*10)) / (2 * k)
	for _, start := range [][]float64{nil, {0, 12}, {0, 8}, {0, 1}, {0, 0.2}} {
		near(t, "one folded", solved(t, n, nil, start).NodeV[1], want, 1e-12)
	}
}

// pulled is a network of one source and constant powers to the reference, in
// dense form.
type pulled struct {
	g     *mat.SymDense // nodal conductances, constant powers as their resistance below drop-out
	inA   []float64     // what the source brings
	at    []int         // place of each load's node
	power []Power
}

func (p *pulled) wire(a, b int, siemens float64) {
	for _, k := range []int{a, b} {
		if k >= 0 {
			p.g.SetSym(k, k, p.g.At(k, k)+siemens)
		}
	}
	if a >= 0 && b >= 0 {
		p.g.SetSym(a, b, p.g.At(a, b)-siemens)
	}
}

// lowering finds the answer of Solve another way: from unloaded voltages, again
// and again solve the network (gonum, dense) with each constant power drawn at
// the voltages before. That is slow, but for loads that pull each other down it
// can only come down to the highest answer (Tarski's fixed-point theorem).
func (p *pulled) lowering(unloadedV float64) (nodeV []float64, settled bool) {
	n := len(p.inA)
	var chol mat.Cholesky
	chol.Factorize(p.g)
	v, next := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for k := range n {
		v.SetVec(k, unloadedV)
	}
	for range 20000 {
		in := mat.NewVecDense(n, append([]float64(nil), p.inA...))
		for i, m := range p.power {
			if u := v.AtVec(p.at[i]); u > m.DropOutV { // what it takes less than its resistance would
				in.SetVec(p.at[i], in.AtVec(p.at[i])+m.PowerW*(u/(m.DropOutV*m.DropOutV)-1/u))
			}
		}
		if chol.SolveVecTo(next, in) != nil {
			return nil, false
		}
		moved := 0.0
		for k := range n {
			moved = max(moved, math.Abs(next.AtVec(k)-v.AtVec(k)))
		}
		v.CopyVec(next)
		if moved < 1e-13 {
			return v.RawVector().Data, true
		}
	}
	return nil, false // a low drop-out or a branch near collapse: slower than we wait for
}

// TestHighestAnswer holds networks whose loads fold, stay up, or starve one
// another against lowering.
func TestHighestAnswer(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	folded, up, slow := 0, 0, 0
	worst := 0.0
	for k := range 400 {
		count := 4 + r.IntN(12)
		p := pulled{g: mat.NewSymDense(count, nil), inA: make([]float64, count)}
		n := New()
		for v := range count {
			n.Node(fmt.Sprint("node ", v+1))
		}
		inner := 0.02 + 0.2*r.Float64()
		n.Source("battery", 1, Reference, 12, inner)
		p.wire(0, -1, 1/inner)
		p.inA[0] = 12 / inner
		var loads []ElementID
		for v := 1; v < count; v++ {
			from, ohm := r.IntN(v), 0.05+0.3*r.Float64()
			n.Resistor("wire", NodeID(from+1), NodeID(v+1), ohm)
			p.wire(from, v, 1/ohm)
			m := Power{(2 + 80*r.Float64()*r.Float64()) / (1 + float64(k%4)), math.Exp(2.1 * r.Float64() * float64(1-2*(k%3/2)))}
			loads = append(loads, n.Load(fmt.Sprint("load ", v), NodeID(v+1), Reference, m))
			p.wire(v, -1, m.PowerW/(m.DropOutV*m.DropOutV))
			p.at, p.power = append(p.at, v), append(p.power, m)
		}
		want, settled := p.lowering(12)
		if !settled {
			slow++
			continue
		}
		var s Solution
		for _, low := range []float64{math.NaN(), 0, 0.01, 1, 4} {
			start := []float64{0}
			for v := range want {
				start = append(start, want[v]*r.Float64()*low/12)
			}
			s = solved(t, n, nil, start)
			for v, x := range want {
				worst = max(worst, math.Abs(s.NodeV[v+1]-x))
				if math.Abs(s.NodeV[v+1]-x) > 1e-8 { // lowering stops at 1e-13 a round and may go on for 20000 rounds: 2e-9
					t.Errorf("network %d from %g V: node %d at %.12g V, by lowering %.12g V", k, low, v+1, s.NodeV[v+1], x)
					break
				}
			}
		}
		for i, id := range loads {
			if s.ElementV(id) < p.power[i].DropOutV {
				folded++
			} else {
				up++
			}
		}
	}
	t.Logf("%d loads folded, %d up, worst difference %.2g V; lowering too slow for %d networks", folded, up, worst, slow)
	if folded < 500 || up < 500 || slow > 40 {
		t.Errorf("%d folded, %d up: the test no longer tests both", folded, up)
	}
}

// TestStartDoesNotMatter: a warm start, from anywhere, ends at the cold answer.
func TestStartDoesNotMatter(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 9))
	for k := range 100 {
		tw := dcnettest.Random(uint64(1000+k), 60)
		cold := solved(t, tw.Net, tw.Sw, nil)
		for range 3 {
			start := make([]float64, len(cold.NodeV))
			for v := range start {
				start[v] = cold.NodeV[v] + r.NormFloat64()*3
			}
			warm := solved(t, tw.Net, tw.Sw, start)
			for v := range start {
				if math.Abs(warm.NodeV[v]-cold.NodeV[v]) > 1e-8 {
					t.Fatalf("network %d: node %d at %.12g V, cold %.12g V", k, v, warm.NodeV[v], cold.NodeV[v])
				}
			}
		}
	}
}

// TestClones solve at once, each with its own values, as they do alone.
func TestClones(t *testing.T) {
	tw := dcnettest.Harness(250, false)
	solveK := func(n *Network, k int) []float64 {
		n.SetLoad(tw.Loads[0], Power{10 + float64(k), 7})
		s, e := n.Solve(tw.Sw, nil)
		if !e.OK {
			t.Error(e.Why)
		}
		return s.NodeV
	}
	alone := make([][]float64, 8)
	for k := range alone {
		alone[k] = solveK(tw.Net.Clone(), k)
	}
	var wg sync.WaitGroup
	for k := range alone {
		n := tw.Net.Clone()
		wg.Go(func() {
			got := solveK(n, k)
			for v := range got {
				if got[v] != alone[k][v] {
					t.Errorf("clone %d differs at node %d", k, v)
					return
				}
			}
		})
	}
	wg.Wait()
	c := tw.Net.Clone()
	c.Node("only in the clone")
	if tw.Net.NodeCount() == c.NodeCount() || tw.Net.Node("only in the clone") != c.Node("only in the clone") {
		t.Error("a clone's node shows in the original")
	}
}

// TestLinearAgainstDense holds the linear harness against gonum's dense solve.
func TestLinearAgainstDense(t *testing.T) {
	tw := dcnettest.Harness(250, true)
	s := solved(t, tw.Net, tw.Sw, nil)
	g, in := tw.Dense()
	var want mat.VecDense
	if err := want.SolveVec(g, in); err != nil {
		t.Fatal(err)
	}
	for v := 1; v < len(s.NodeV); v++ {
		near(t, tw.Net.NodeName(NodeID(v)), s.NodeV[v], want.AtVec(v-1), 1e-9) // conditions of 1e6
	}
}
