package dcnet

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// TestFactorAgainstDense holds the sparse factors against gonum's dense solve
// of the same nodal equations, on graphs from trees to nearly full ones, some
// of them with falling slopes.
func TestFactorAgainstDense(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	worst := 0.0
	for k := range 300 {
		nodes := 2 + r.IntN(60)
		els := randomGraph(r, nodes, k%5)
		top := newTopology(nodes, els)
		var m ldl
		m.size(top)
		clear(m.leak)
		clear(m.cond)
		dense := mat.NewDense(top.n, top.n, nil)
		for i := 1; i < len(els); i++ {
			g := math.Exp(8*r.Float64() - 4)
			if k%2 == 1 && r.IntN(20) == 0 {
				g = -1e-3 * g
			}
			m.add(top.ends[i].slot, g)
			stamp(dense, int(top.ends[i].a), int(top.ends[i].b), g)
		}
		rhs := make([]float64, top.n+1)
		for j := range top.n {
			rhs[j] = r.NormFloat64()
		}
		var chol mat.Cholesky
		sym := mat.NewSymDense(top.n, nil)
		for i := range top.n {
			for j := range i + 1 {
				sym.SetSym(i, j, dense.At(i, j))
			}
		}
		definite := chol.Factorize(sym)
		if m.factor(top) != definite {
			t.Fatalf("graph %d: definite %v by gonum, not by us", k, definite)
		}
		if !definite {
			continue
		}
		var want mat.VecDense
		if err := want.SolveVec(dense, mat.NewVecDense(top.n, append([]float64(nil), rhs[:top.n]...))); err != nil {
			continue // gonum calls it too ill-conditioned to compare
		}
		m.solve(top, rhs)
		scale := mat.Norm(&want, math.Inf(1))
		for j := range top.n {
			worst = max(worst, math.Abs(rhs[j]-want.AtVec(j))/scale)
		}
	}
	t.Logf("worst difference %.2g of the largest unknown", worst)
	if worst > 1e-9 { // conditions up to 1e6, doubles of 1e-16
		t.Errorf("worst difference %g", worst)
	}
}

func stamp(m *mat.Dense, a, b int, g float64) {
	n, _ := m.Dims()
	for _, at := range [][3]float64{{float64(a), float64(a), g}, {float64(b), float64(b), g}, {float64(a), float64(b), -g}, {float64(b), float64(a), -g}} {
		if i, j := int(at[0]), int(at[1]); i < n && j < n && a != b {
			m.Set(i, j, m.At(i, j)+at[2])
		}
	}
}

// randomGraph joins every node to an earlier one, and more the denser it is.
func randomGraph(r *rand.Rand, nodes, density int) []element {
	els := make([]element, 1)
	for v := 1; v < nodes; v++ {
		els = append(els, element{a: NodeID(v), b: NodeID(r.IntN(v))})
	}
	for range density * density * nodes / 2 {
		els = append(els, element{a: NodeID(r.IntN(nodes)), b: NodeID(r.IntN(nodes))})
	}
	return els
}

// TestTreeHasNoFill is the reason for the order of elimination.
func TestTreeHasNoFill(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 20 {
		els := randomGraph(r, 400, 0)
		joins := 0
		for _, e := range els[1:] {
			if e.b != Reference {
				joins++
			}
		}
		if top := newTopology(400, els); len(top.row) != joins {
			t.Errorf("%d entries in L for %d joins of a tree", len(top.row), joins)
		}
	}
}

// TestExtremeRatio factors 1 µΩ beside 1 GΩ: a chain of stiff joints held by
// one leak must stand at the voltage that Ohm's law gives, to the last digits.
func TestExtremeRatio(t *testing.T) {
	n := New()
	at := n.Node("start")
	n.Resistor("leak", at, Reference, 1e9)
	for range 50 {
		next := n.Node(n.NodeName(at) + "+")
		n.Resistor("joint", at, next, 1e-6)
		at = next
	}
	n.Source("source", at, Reference, 12, 1e9)
	s, e := n.Solve(nil, nil)
	if !e.OK || math.Abs(s.NodeV[1]-6) > 1e-12 {
		t.Errorf("%+v, %v V, want 6 V", e, s.NodeV[1])
	}
}
