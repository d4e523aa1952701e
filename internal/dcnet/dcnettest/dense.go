package dcnettest

import (
	"gonum.org/v1/gonum/mat"

	"fettle/internal/dcnet"
)

// linear is an element as a dense matrix takes it.
type linear struct {
	a, b   dcnet.NodeID
	g, inA float64 // conductance; current brought to a
}

// Dense is the nodal matrix and the currents brought to the nodes, of the
// elements that are linear; others are left out. Nodes that nothing holds are
// tied to the reference.
func (t *Twin) Dense() (*mat.Dense, *mat.VecDense) {
	n := t.Net.NodeCount() - 1
	g, in := mat.NewDense(n, n, nil), mat.NewVecDense(n, nil)
	for _, l := range t.linear {
		for _, k := range []dcnet.NodeID{l.a, l.b} {
			if k > 0 {
				i := int(k) - 1
				g.Set(i, i, g.At(i, i)+l.g)
			}
		}
		if l.a > 0 && l.b > 0 {
			i, j := int(l.a)-1, int(l.b)-1
			g.Set(i, j, g.At(i, j)-l.g)
			g.Set(j, i, g.At(j, i)-l.g)
		}
		if l.a > 0 {
			in.SetVec(int(l.a)-1, in.AtVec(int(l.a)-1)+l.inA)
		}
		if l.b > 0 {
			in.SetVec(int(l.b)-1, in.AtVec(int(l.b)-1)-l.inA)
		}
	}
	for i := range n {
		if g.At(i, i) == 0 {
			g.Set(i, i, 1)
		}
	}
	return g, in
}
