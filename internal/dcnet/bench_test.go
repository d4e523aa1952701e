package dcnet_test

import (
	"testing"

	"gonum.org/v1/gonum/mat"

	. "fettle/internal/dcnet"
	"fettle/internal/dcnet/dcnettest"
)

// BenchmarkLinearSparse solves a harness of 250 nodes whose loads are
// resistances, cold: assembly, islands, one factorisation, three substitutions.
func BenchmarkLinearSparse(b *testing.B) {
	tw := dcnettest.Harness(250, true)
	var s Solution
	b.ReportAllocs()
	for b.Loop() {
		if e := tw.Net.SolveInto(&s, tw.Sw, nil); !e.OK {
			b.Fatal(e.Why)
		}
	}
}

// BenchmarkLinearDense factors and solves as many unknowns with gonum's LU.
func BenchmarkLinearDense(b *testing.B) {
	g, in := dcnettest.Harness(250, true).Dense()
	var lu mat.LU
	var v mat.VecDense
	for b.Loop() {
		lu.Factorize(g)
		if err := lu.SolveVecTo(&v, false, in); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCold solves the harness with loads that bend, from nothing.
func BenchmarkCold(b *testing.B) {
	for _, nodes := range []int{250, 1000} {
		b.Run(map[int]string{250: "250", 1000: "1000"}[nodes], func(b *testing.B) {
			tw := dcnettest.Harness(nodes, false)
			var s Solution
			b.ReportAllocs()
			for b.Loop() {
				if e := tw.Net.SolveInto(&s, tw.Sw, nil); !e.OK {
					b.Fatal(e.Why)
				}
			}
		})
	}
}

// BenchmarkOneLoadChanged solves again from the answer before.
func BenchmarkOneLoadChanged(b *testing.B) {
	tw := dcnettest.Harness(250, false)
	s, e := tw.Net.Solve(tw.Sw, nil)
	b.ReportAllocs()
	for k := 0; b.Loop(); k++ {
		tw.Net.SetLoad(tw.Loads[0], Power{float64(20 + k%20), 7})
		if e = tw.Net.SolveInto(&s, tw.Sw, s.NodeV); !e.OK {
			b.Fatal(e.Why)
		}
	}
}

// BenchmarkFault solves with one fault of each price: in place, and with a new
// order.
func BenchmarkFault(b *testing.B) {
	tw := dcnettest.Harness(250, false)
	healthy, _ := tw.Net.Solve(tw.Sw, nil)
	for _, ch := range []Change{{Kind: ToGround, At: tw.Loads[3], Ohm: 1}, {Kind: Joint, At: tw.Loads[3], Ohm: 1}} {
		b.Run(ch.Kind.String(), func(b *testing.B) {
			var s Solution
			b.ReportAllocs()
			for b.Loop() {
				if e := tw.Net.SolveInto(&s, tw.Sw, healthy.NodeV, ch); !e.OK {
					b.Fatal(e.Why)
				}
			}
		})
	}
}

// BenchmarkOrder finds the order of elimination anew.
func BenchmarkOrder(b *testing.B) {
	tw := dcnettest.Harness(250, false)
	var s Solution
	for k := 0; b.Loop(); k++ {
		n := tw.Net.Clone()
		n.Resistor("one more", 1, 2, 1) // spoils the order
		if e := n.SolveInto(&s, tw.Sw, nil); !e.OK {
			b.Fatal(e.Why)
		}
	}
}
