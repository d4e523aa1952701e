package dcnet_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	. "fettle/internal/dcnet"
	"fettle/internal/dcnet/dcnettest"
)

// TestPowerBalance: what sources give, the rest takes (Tellegen); and the
// currents cancel at every node, summed here from the elements.
func TestPowerBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tw := dcnettest.Random(rapid.Uint64().Draw(t, "seed"), rapid.IntRange(4, 80).Draw(t, "nodes"))
		n := tw.Net
		s, e := n.Solve(tw.Sw, nil)
		if !e.OK {
			t.Fatal(e.Why)
		}
		sum, size, largest := 0.0, 0.0, 0.0
		into := make([]float64, n.NodeCount())
		for id := ElementID(1); int(id) <= n.ElementCount(); id++ {
			a, b := n.Ends(id)
			into[a] -= s.ElementA(id)
			into[b] += s.ElementA(id)
			sum += s.ElementW(id)
			size += math.Abs(s.ElementW(id))
			largest = max(largest, math.Abs(s.ElementA(id)))
		}
		if math.Abs(sum) > 1e-9*size+1e-9 { // 1 nW: volts round at 1e-15 over a milliohm
			t.Fatalf("power %g W left over of %g W", sum, size)
		}
		for v, x := range into {
			if math.Abs(x) > 1e-9*largest+1e-10 {
				t.Fatalf("%g A left over at node %d, largest %g A", x, v, largest)
			}
		}
	})
}

// TestSuperposition: in a network of resistances the voltages of two sources
// together are the sum of those of each alone.
func TestSuperposition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := New()
		nodes := rapid.IntRange(3, 40).Draw(t, "nodes")
		ohm := func(what string) float64 { return math.Exp(rapid.Float64Range(-7, 7).Draw(t, what)) }
		for v := 1; v < nodes; v++ {
			id := n.Node(fmt.Sprint(v))
			n.Resistor("r", id, NodeID(rapid.IntRange(0, v-1).Draw(t, "to")), ohm("ohm"))
		}
		first := n.Source("first", 1, Reference, 0, ohm("inner"))
		second := n.Source("second", NodeID(nodes-1), 1, 0, ohm("inner"))
		at := func(v1, v2 float64) []float64 {
			n.SetSource(first, v1, 0.1)
			n.SetSource(second, v2, 0.3)
			s, e := n.Solve(nil, nil)
			if !e.OK {
				t.Fatal(e.Why)
			}
			return s.NodeV
		}
		a, b, both := at(12, 0), at(0, 7), at(12, 7)
		for v := range both {
			if math.Abs(a[v]+b[v]-both[v]) > 1e-9*20 {
				t.Fatalf("node %d: %g + %g V, together %g V", v, a[v], b[v], both[v])
			}
		}
	})
}

// TestLadder of equal resistances of 1 Ω: the input resistance of k sections is
// the ratio of Fibonacci numbers F(2k+1)/F(2k) (closed form).
func TestLadder(t *testing.T) {
	n := New()
	at := n.Node("in")
	src := n.Source("source", at, Reference, 1e3, 1)
	const sections = 20
	fib := []float64{0, 1}
	for k := range sections {
		next := n.Node(fmt.Sprint("rung ", k))
		n.Resistor("rail", at, next, 1)
		n.Resistor("rung", next, Reference, 1)
		at = next
		fib = append(fib, fib[2*k]+fib[2*k+1], fib[2*k]+2*fib[2*k+1])
	}
	s := solved(t, n, nil, nil)
	want := fib[2*sections+1] / fib[2*sections]
	near(t, "input resistance", s.NodeV[1]/-s.ElementA(src), want, 1e-12)
}

// TestUnitScaling: all conductances and currents times k leave the voltages.
func TestUnitScaling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := math.Exp(rapid.Float64Range(-4, 4).Draw(t, "k"))
		at := func(k float64) float64 {
			n := New()
			dev := n.Node("device")
			n.Source("source", dev, Reference, 12, 0.3/k)
			n.Load("power", dev, Reference, Power{40 * k, 7})
			n.Load("current", dev, Reference, Current{3 * k, 5})
			n.Load("curve", dev, Reference, Curve{[]float64{0, 5, 15}, []float64{0, k, 4 * k}})
			s, e := n.Solve(nil, nil)
			if !e.OK {
				t.Fatal(e.Why)
			}
			return s.NodeV[dev]
		}
		if d := at(k) - at(1); math.Abs(d) > 1e-9*12 {
			t.Fatalf("k = %g moves the voltage by %g V", k, d)
		}
	})
}

// TestMoreLoadLowersVoltage at every node of a harness with one return.
func TestMoreLoadLowersVoltage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tw := dcnettest.Harness(60, false)
		n := tw.Net
		id := rapid.SampledFrom(tw.Loads).Draw(t, "load")
		w := rapid.Float64Range(1, 300).Draw(t, "power")
		n.SetLoad(id, Power{w, 6})
		a, e1 := n.Solve(tw.Sw, nil)
		n.SetLoad(id, Power{w * 1.1, 6})
		b, e2 := n.Solve(tw.Sw, a.NodeV)
		if !e1.OK || !e2.OK {
			t.Fatal(e1.Why, e2.Why)
		}
		for _, v := range tw.Plus {
			if b.NodeV[v] > a.NodeV[v]+1e-9 {
				t.Fatalf("node %d rises from %g to %g V", v, a.NodeV[v], b.NodeV[v])
			}
		}
	})
}

// TestAnyNetwork: whatever is built, Solve answers or says why, and never with
// a NaN.
func TestAnyNetwork(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := New()
		node := func() NodeID { return NodeID(rapid.IntRange(0, n.NodeCount()-1).Draw(t, "node")) }
		x := func(hi float64) float64 { return hi * float64(rapid.IntRange(0, 1000).Draw(t, "x")) / 1000 }
		for k := range rapid.IntRange(1, 8).Draw(t, "nodes") {
			n.Node(fmt.Sprint(k))
		}
		var sw Switches
		for range rapid.IntRange(1, 25).Draw(t, "elements") {
			switch rapid.IntRange(0, 8).Draw(t, "kind") {
			case 0, 1:
				n.Resistor("r", node(), node(), 1e-3+x(10))
			case 2:
				sw.Set(n.Switch("s", node(), node(), 1e-3+x(1)), rapid.Bool().Draw(t, "closed"))
			case 3:
				n.Source("e", node(), node(), x(24), 1e-3+x(1))
			case 4:
				n.Regulated("g", node(), node(), x(15), 1e-3+x(1), x(100))
			case 5:
				n.Load("p", node(), node(), Power{x(500), x(12)})
			case 6:
				n.Load("i", node(), node(), Current{x(100), x(12)})
			case 7:
				n.Load("c", node(), node(), Curve{[]float64{1, 1 + 1e-3 + x(5), 12}, []float64{1, 1, 1 + x(30)}})
			case 8:
				n.Load("w", node(), node(), Average{Power{x(200), 6}, x(1)})
			}
		}
		var ch []Change
		for range rapid.IntRange(0, 2).Draw(t, "faults") {
			el := func() ElementID { return ElementID(rapid.IntRange(1, n.ElementCount()).Draw(t, "at")) }
			ch = append(ch, Change{ChangeKind(rapid.IntRange(0, 4).Draw(t, "fault")), el(), el(), x(1)})
		}
		s, e := n.Solve(sw, nil, ch...)
		if !e.OK {
			if e.Why == "" || s.NodeV != nil {
				t.Fatalf("failed without a reason or with numbers: %+v", e)
			}
			t.Log(e.Why)
			return
		}
		for v, u := range s.NodeV {
			if math.IsNaN(u) || math.IsInf(u, 0) {
				t.Fatalf("node %d at %g V", v, u)
			}
		}
	})
}
