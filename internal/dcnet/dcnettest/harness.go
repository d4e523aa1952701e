package dcnettest

import (
	"math"
	"math/rand/v2"

	"fettle/internal/dcnet"
)

func logBetween(r *rand.Rand, lo, hi float64) float64 {
	return lo * math.Exp(r.Float64()*math.Log(hi/lo))
}

// Harness makes an invented vehicle's network of about the given number of
// nodes: battery, alternator, a fuse box of relays, a feed and a return of two
// contacts and a wire each for every device, three ground points. Linear leaves
// out what bends.
func Harness(nodes int, linear bool) *Twin {
	r := rand.New(rand.NewPCG(42, 42))
	t := NewTwin()
	post, box := t.Node(), t.Node()
	t.Plus = append(t.Plus, post, box)
	t.Battery(post, dcnet.Reference, 12.6, 0.012)
	t.Wire(post, box, 0.004)
	var grounds []dcnet.NodeID
	for range 3 {
		g := t.Node()
		t.Wire(g, dcnet.Reference, logBetween(r, 5e-4, 3e-3))
		grounds = append(grounds, g)
	}
	if !linear {
		t.Alternator(post, grounds[0], 14.2, 0.01, 90)
	}
	var bus dcnet.NodeID
	for k := 0; t.Net.NodeCount()+5 <= nodes; k++ {
		if k%8 == 0 {
			bus = t.Node()
			t.Switch(box, bus, 0.004, k%32 != 24)
			t.cut[bus] = k%32 == 24
			t.Plus = append(t.Plus, bus)
		}
		t.device(r, bus, grounds[k%3], k, linear)
	}
	return t
}

// device adds fuse, contact and wire to a device, and wire and contact back.
func (t *Twin) device(r *rand.Rand, bus, ground dcnet.NodeID, k int, linear bool) {
	fused, plug, dev, ret := t.Node(), t.Node(), t.Node(), t.Node()
	t.Plus = append(t.Plus, fused, plug, dev)
	t.cut[fused], t.cut[plug], t.cut[dev] = t.cut[bus], t.cut[bus], t.cut[bus]
	t.Wire(bus, fused, logBetween(r, 2e-3, 2e-2))
	t.Wire(fused, plug, logBetween(r, 2e-2, 2e-1))
	t.Wire(plug, dev, 5e-3)
	t.Wire(ret, ground, logBetween(r, 1e-2, 1e-1))
	m := dcnet.Model(dcnet.Resistance{Ohm: logBetween(r, 4, 200)})
	switch {
	case linear:
	case k%4 == 0:
		m = dcnet.Power{PowerW: logBetween(r, 2, 60), DropOutV: 7}
	case k%4 == 1:
		m = dcnet.Current{CurrentA: logBetween(r, 0.05, 2), DropOutV: 5}
	case k%8 == 2:
		m = dcnet.Curve{VoltageV: []float64{0, 4, 10, 16}, CurrentA: []float64{0, 1, 1.5, 2.5}}
	}
	t.Load(dev, ret, m)
}
