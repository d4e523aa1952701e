package dcnet_test

import (
	"math"
	"testing"

	. "fettle/internal/dcnet"
)

// TestFloating: what has a source and no path to the reference is named.
func TestFloating(t *testing.T) {
	n := New()
	a, b, c := n.Node("isolated plus"), n.Node("isolated minus"), n.Node("isolated lamp")
	n.Source("second battery", a, b, 12, 0.01)
	n.Resistor("wire", a, c, 1)
	n.Load("lamp", c, b, Resistance{3})
	strap := n.Switch("isolator", b, Reference, 0.001)
	refused(t, n, nil, `node "isolated plus" and 2 more float: no path to the battery's negative post`)
	var sw Switches
	sw.Close(strap)
	near(t, "with the isolator closed", solved(t, n, sw, nil).NodeV[c], 12*3/4.011, 1e-3)
	refused(t, n, sw, "and 2 more float", Change{Kind: Open, At: strap})

	alone := New()
	x := alone.Node("x")
	alone.Regulated("alternator", x, x, 14, 0.01, 10)
	refused(t, alone, nil, `node "x" floats`)
}

// TestDead: behind open switches only, a node reads 0 V and is listed; one that
// a load joins to the reference reads 0 V too and isn't, it has a potential.
func TestDead(t *testing.T) {
	n := New()
	bat, run, lone, far := n.Node("battery"), n.Node("run"), n.Node("lone"), n.Node("far")
	n.Source("battery", bat, Reference, 12, 0.01)
	key := n.Switch("key", bat, run, 0.01)
	n.Switch("relay", run, lone, 0.01)
	n.Resistor("stub", lone, far, 0.1)
	for _, m := range []Model{Resistance{5}, Power{50, 6}, Current{5, 6}, Curve{[]float64{6, 12}, []float64{1, 2}}} {
		ld := n.Load("device", run, Reference, m)
		s := solved(t, n, nil, nil)
		if s.NodeV[run] != 0 || s.ElementA(ld) != 0 || s.ElementA(key) != 0 {
			t.Errorf("%T behind the open key: %g V, %g A", m, s.NodeV[run], s.ElementA(ld))
		}
		if len(s.Dead) != 2 || s.Dead[0] != lone || s.Dead[1] != far || s.NodeV[lone] != 0 || s.NodeV[far] != 0 {
			t.Errorf("dead %v at %g V, want lone and far", s.Dead, s.NodeV[lone])
		}
		for v, x := range s.NodeV {
			if math.IsNaN(x) {
				t.Errorf("node %d is NaN", v)
			}
		}
	}
	if s := solved(t, New(), nil, nil); len(s.NodeV) != 1 || s.NodeV[0] != 0 {
		t.Errorf("the empty network: %v", s.NodeV)
	}
}

// TestBackFeed: with the key open a lamp carries the coil's current; on paper a
// divider of 12.4 V over 48 Ω and 80 Ω.
func TestBackFeed(t *testing.T) {
	n := New()
	bat, coil := n.Node("battery"), n.Node("coil")
	n.Source("battery", bat, Reference, 12.4, 0.01)
	n.Switch("key", bat, coil, 0.01)
	n.Load("warning lamp", bat, coil, Resistance{48})
	n.Load("coil", coil, Reference, Resistance{80})
	near(t, "coil", solved(t, n, nil, nil).NodeV[coil], 12.4*80/128.01, 1e-12)
}

// TestStarved: a load without drop-out that can't be fed is named.
func TestStarved(t *testing.T) {
	n, _, w, ld := feed(Power{70, 0})
	near(t, "just fed", solved(t, n, nil, nil).NodeV[2], 6+math.Sqrt(36-35), 1e-9)
	n.SetLoad(ld, Power{72.1, 0})
	refused(t, n, nil, `load "device" can't be fed`)
	n.SetLoad(ld, Current{25, 0})
	refused(t, n, nil, "25 A are more than the network can bring it (voltage collapse)")
	n.SetLoad(ld, Current{23, 0})
	near(t, "constant current", solved(t, n, nil, nil).NodeV[2], 0.5, 1e-12)
	refused(t, n, nil, `load "device" can't be fed`, Change{Kind: Open, At: w})
	s, e := n.Solve(nil, []float64{0, 12, 0.6}, Change{Kind: Joint, At: w, Ohm: 3})
	if e.OK || s.NodeV != nil {
		t.Errorf("from a warm start: %+v %v", e, s.NodeV)
	}
}

// TestAlternator in its three states, closed form.
func TestAlternator(t *testing.T) {
	n := New()
	bus := n.Node("bus")
	bat := n.Source("battery", bus, Reference, 12.5, 0.02)
	alt := n.Regulated("alternator", bus, Reference, 14.3, 0.01, 80)
	ld := n.Load("load", bus, Reference, Current{10, 5})
	rows := []struct {
		name        string
		amp, maxA   float64
		wantV, altA float64
		source      string
	}{
		{"regulating", 10, 1e4, (14.3/0.01 + 12.5/0.02 - 10) / 150, (14.3 - (14.3/0.01+12.5/0.02-10)/150) / 0.01, "Millman's theorem, closed form"},
		{"at its limit", 100, 80, 12.5 - 0.02*20, 80, "Kirchhoff, closed form"},
		{"standing", 10, 0, 12.5 - 0.02*10, 0, "Kirchhoff, closed form"},
	}
	for _, r := range rows {
		n.SetRegulated(alt, 14.3, 0.01, r.maxA)
		n.SetLoad(ld, Current{r.amp, 5})
		s := solved(t, n, nil, nil)
		near(t, r.name, s.NodeV[bus], r.wantV, 1e-12)
		near(t, r.name+" current", -s.ElementA(alt), r.altA, 1e-9)
	}
	n.SetRegulated(alt, 14.3, 0.01, 80)
	n.SetSource(bat, 15, 0.02)
	near(t, "off above its set voltage", solved(t, n, nil, nil).ElementA(alt), 0, 0)
	near(t, "alone at its limit",
		solved(t, n, nil, nil, Change{Kind: Open, At: bat}, Change{Kind: ToGround, At: ld, Ohm: 0.1}).NodeV[bus], 7, 1e-9)
	n.SetLoad(ld, Current{100, 5})
	near(t, "alone and overloaded: 80 A into the drop-out resistance of 0.05 Ω",
		solved(t, n, nil, nil, Change{Kind: Open, At: bat}).NodeV[bus], 4, 1e-9)
}

// lamp is a model that isn't ours: a lamp whose resistance rises with the
// square root of its voltage, I = √U.
type lamp struct{}

func (lamp) At(acrossV float64) (currentA, slopeSiemens float64) {
	if acrossV < 1e-3 {
		g := 1 / math.Sqrt(1e-3)
		return acrossV * g, g
	}
	return math.Sqrt(acrossV), 0.5 / math.Sqrt(acrossV)
}

// TestOtherModel: 12 − 2√U = U has the root √U = √13 − 1.
func TestOtherModel(t *testing.T) {
	n := New()
	bus := n.Node("bus")
	n.Source("source", bus, Reference, 12, 2)
	ld := n.Load("lamp", bus, Reference, lamp{})
	root := math.Sqrt(13) - 1
	near(t, "lamp", solved(t, n, nil, nil).NodeV[bus], root*root, 1e-12)
	n.SetLoad(ld, Average{lamp{}, 0.5}) // 12 − √U = U: √U = (7 − 1)/2
	near(t, "lamp half the time", solved(t, n, nil, nil).NodeV[bus], 9, 1e-12)
}

// TestBadValues: each is named with what was found and what is allowed; putting
// it right makes the network whole again.
func TestBadValues(t *testing.T) {
	rows := []struct {
		m    Model
		want string
	}{
		{nil, `load "device": has no model`},
		{Resistance{}, "resistance 0 Ω, allowed 1e-07 … 1e+10 Ω"},
		{Resistance{math.NaN()}, "resistance NaN Ω"},
		{Current{-1, 2}, "current -1 A, allowed 0 … 100000 A"},
		{Power{10, -2}, "drop-out -2 V, allowed 0 or 0.001 … 1000 V"},
		{Power{math.Inf(1), 2}, "power +Inf W"},
		{Average{Resistance{1}, 1.2}, "duty 1.2 of the time, allowed 0 … 1"},
		{Average{}, "has no model"},
		{Curve{}, "0 voltages and 0 currents"},
		{Curve{[]float64{1, 2}, []float64{1}}, "2 voltages and 1 currents"},
		{Curve{[]float64{0, 2, 2}, []float64{0, 1, 2}}, "from 2 V, 1 A to 2 V, 2 A"},
		{Curve{[]float64{0, 2, 3}, []float64{0, 1, 0.5}}, "from 2 V, 1 A to 3 V, 0.5 A"},
		{Curve{[]float64{0, math.NaN()}, []float64{0, 1}}, "finite"},
		{Curve{[]float64{-2, 2}, []float64{0, 1}}, "draws 0.5 A at 0 V"},
		{Curve{[]float64{0}, []float64{0}}, "one point"},
	}
	n, src, w, ld := feed(Resistance{6})
	for _, r := range rows {
		n.SetLoad(ld, r.m)
		refused(t, n, nil, r.want)
	}
	n.SetLoad(ld, Resistance{6})
	n.SetOhm(w, 0)
	refused(t, n, nil, `resistor "feed": resistance 0 Ω`)
	n.SetOhm(w, 0.4)
	n.SetSource(src, math.NaN(), 0.1)
	refused(t, n, nil, `source "battery": open-circuit voltage NaN V, allowed -1000 … 1000 V`)
	n.SetSource(src, 12, 0.1)
	if err := n.Err(); err != nil {
		t.Errorf("put right, but: %v", err)
	}
	solved(t, n, nil, nil)
	if _, e := n.Solve(nil, []float64{0, 1}); e.OK || e.Why != "start has 2 voltages, allowed 3, one per node" {
		t.Errorf("short start: %+v", e)
	}
	for _, spoil := range []func(n *Network){
		func(n *Network) { n.SetOhm(77, 1) },
		func(n *Network) { n.SetLoad(0, nil) },
		func(n *Network) { n.SetOhm(-1, 1) },
		func(n *Network) { n.SetRegulated(w, 14, 0.1, 10) },
		func(n *Network) { n.Resistor("astray", 1, 9, 1) },
		func(n *Network) { n.Load("astray", -4, 1, Resistance{1}) },
	} {
		m := n.Clone()
		spoil(m)
		refused(t, m, nil, "")
	}
	solved(t, n, nil, nil)
}

// TestBeyond: a curve carried on above its last point says so.
func TestBeyond(t *testing.T) {
	n, _, _, ld := feed(Curve{[]float64{0, 6, 8}, []float64{0, 1, 2}})
	s := solved(t, n, nil, nil)
	near(t, "carried on", s.NodeV[2], (12+0.5*2)/1.25, 1e-12)
	if len(s.Beyond) != 1 || s.Beyond[0] != ld {
		t.Errorf("beyond %v, want %v", s.Beyond, ld)
	}
}
