package dcnet_test

import (
	"testing"

	. "fettle/internal/dcnet"
)

// bench is a small vehicle; the edits build by hand what a Change plants.
type edits struct {
	noWire, noLoad, noBattery           bool
	wireJoint, loadJoint, switchJoint   float64
	altJoint, batteryJoint              float64
	pumpToGround, pumpToStrap, fanToBus float64
	lampToPost                          float64
	swapped                             bool
}

type car struct {
	n                                                *Network
	sw                                               Switches
	battery, alt, cable, strap, key, wp, wf, wl, ret ElementID
	pump, fan, lamp                                  ElementID
}

func build(e edits) car {
	c := car{n: New()}
	n := c.n
	post, bus, run, body := n.Node("post"), n.Node("bus"), n.Node("run"), n.Node("body")
	pump, fan, lamp, back := n.Node("pump"), n.Node("fan"), n.Node("lamp"), n.Node("pump return")
	if !e.noBattery {
		c.battery = n.Source("battery", post, Reference, 12.4, 0.015+e.batteryJoint)
	}
	c.alt = n.Regulated("alternator", bus, body, 14.1, 0.02+e.altJoint, 40)
	c.cable = n.Resistor("cable", post, bus, 0.003)
	c.strap = n.Resistor("strap", body, Reference, 0.001)
	c.key = n.Switch("key", bus, run, 0.01+e.switchJoint)
	pumpEnd, fanEnd := pump, fan
	if e.swapped {
		pumpEnd, fanEnd = fan, pump
	}
	if !e.noWire {
		c.wp = n.Resistor("pump wire", pumpEnd, run, 0.12+e.wireJoint)
	}
	c.wf = n.Resistor("fan wire", fanEnd, bus, 0.05)
	c.wl = n.Resistor("lamp wire", lamp, run, 0.3)
	c.ret = n.Resistor("pump return", back, body, 0.04)
	at := pump
	if e.loadJoint > 0 {
		at = n.Node("inside")
		n.Resistor("joint", pump, at, e.loadJoint)
	}
	if !e.noLoad {
		c.pump = n.Load("pump", at, back, Power{130, 8})
	}
	c.fan = n.Load("fan", fan, body, Curve{[]float64{0, 8, 14}, []float64{0, 9, 20}})
	c.lamp = n.Load("lamp", lamp, body, Average{Resistance{2}, 0.7})
	short := func(a, b NodeID, ohm float64) {
		if ohm > 0 {
			n.Resistor("short", a, b, ohm)
		}
	}
	short(pump, Reference, e.pumpToGround)
	short(pump, body, e.pumpToStrap)
	short(lamp, post, e.lampToPost)
	short(fan, bus, e.fanToBus)
	c.sw.Close(c.key)
	return c
}

// TestChanges holds each kind of fault against a network built with it.
func TestChanges(t *testing.T) {
	c := build(edits{})
	rows := []struct {
		name string
		ch   []Change
		hand edits
	}{
		{"open wire", []Change{{Kind: Open, At: c.wp}}, edits{noWire: true}},
		{"open load", []Change{{Kind: Open, At: c.pump}}, edits{noLoad: true}},
		{"open battery", []Change{{Kind: Open, At: c.battery}}, edits{noBattery: true}},
		{"joint in wire", []Change{{Kind: Joint, At: c.wp, Ohm: 0.2}}, edits{wireJoint: 0.2}},
		{"joint at load", []Change{{Kind: Joint, At: c.pump, Ohm: 0.15}}, edits{loadJoint: 0.15}},
		{"joint in switch", []Change{{Kind: Joint, At: c.key, Ohm: 0.08}}, edits{switchJoint: 0.08}},
		{"joint at alternator", []Change{{Kind: Joint, At: c.alt, Ohm: 0.05}}, edits{altJoint: 0.05}},
		{"joint at battery", []Change{{Kind: Joint, At: c.battery, Ohm: 0.1}}, edits{batteryJoint: 0.1}},
		{"to ground", []Change{{Kind: ToGround, At: c.pump, Ohm: 0.5}}, edits{pumpToGround: 0.5}},
		{"to the body", []Change{{Kind: ToGround, At: c.pump, Other: c.fan, Ohm: 0.5}}, edits{pumpToStrap: 0.5}},
		{"to supply", []Change{{Kind: ToSupply, At: c.lamp, Ohm: 0.02}}, edits{lampToPost: 0.02}},
		{"to another supply", []Change{{Kind: ToSupply, At: c.fan, Other: c.key, Ohm: 0.02}}, edits{fanToBus: 0.02}},
		{"swap", []Change{{Kind: Swap, At: c.wp, Other: c.wf}}, edits{swapped: true}},
		{"two at once", []Change{{Kind: Joint, At: c.pump, Ohm: 0.15}, {Kind: Open, At: c.battery}}, edits{loadJoint: 0.15, noBattery: true}},
	}
	healthy := solved(t, c.n, c.sw, nil)
	for _, r := range rows {
		h := build(r.hand)
		want := solved(t, h.n, h.sw, nil)
		for _, start := range [][]float64{nil, healthy.NodeV} {
			got := solved(t, c.n, c.sw, start, r.ch...)
			moved := false
			for v := range got.NodeV {
				near(t, r.name+" at "+c.n.NodeName(NodeID(v)), got.NodeV[v], want.NodeV[v], 1e-9)
				moved = moved || got.NodeV[v] != healthy.NodeV[v]
			}
			if !moved {
				t.Errorf("%s changes nothing", r.name)
			}
			if c.pump != 0 && !r.hand.noLoad && !r.hand.noWire && h.pump != 0 {
				near(t, r.name+", at the pump itself", got.ElementV(c.pump), want.ElementV(h.pump), 1e-9)
			}
		}
	}
	again := solved(t, c.n, c.sw, nil)
	for v := range again.NodeV {
		if again.NodeV[v] != healthy.NodeV[v] {
			t.Errorf("a fault stayed behind at %s", c.n.NodeName(NodeID(v)))
		}
	}
}

// TestChangesRefused: what can't be planted is said, with the value and range.
func TestChangesRefused(t *testing.T) {
	c := build(edits{})
	refused(t, c.n, c.sw, `joint at "pump wire": resistance 0 Ω, allowed 1e-07 … 1e+10 Ω`, Change{Kind: Joint, At: c.wp})
	refused(t, c.n, c.sw, "there is no element 99", Change{Kind: Open, At: 99})
	refused(t, c.n, c.sw, "there is no element 99", Change{Kind: Swap, At: c.wp, Other: 99})
	refused(t, c.n, c.sw, "needs another element", Change{Kind: Swap, At: c.wp})
	refused(t, c.n, c.sw, "no such kind", Change{Kind: 9, At: c.wp})
	n := New()
	r := n.Resistor("alone", n.Node("x"), Reference, 1)
	refused(t, n, nil, "no source to touch", Change{Kind: ToSupply, At: r, Ohm: 1})
}
