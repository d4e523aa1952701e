package vehicle

import (
	"fettle/internal/breathing"
	"fettle/internal/figure"
	"fettle/internal/formula"
)

// Hop is one element on a device's way: from the battery's positive post to the
// device, then from the device back to the negative post.
type Hop struct {
	Name     string // "wire 23", "fuse F3", "relay K1"; figures are KEY/NAME/DropV, /CurrentA, /Ohm
	From, To string // nodes, in walking order
	Back     bool
}

// Way lists the elements that a device's current passes, in walking order; nil
// when the device has no load in the network.
func (v *Vehicle) Way(device string) []Hop {
	p, ok := v.paths[device]
	if !ok {
		return nil
	}
	hops := v.hops(p, false)
	back := v.hops(p, true)
	for i := len(back) - 1; i >= 0; i-- {
		h := back[i]
		h.From, h.To = h.To, h.From
		hops = append(hops, h)
	}
	return hops
}

// hops walks a way out, or a way back, from where it begins.
func (v *Vehicle) hops(p supplyPath, back bool) []Hop {
	chain := p.out
	if back {
		chain = p.back
	}
	out := make([]Hop, 0, len(chain))
	at := v.begins(p, back)
	for _, i := range chain {
		l := v.links[i]
		to := l.b
		if to == at {
			to = l.a
		}
		out = append(out, Hop{Name: l.name, From: at, To: to, Back: back})
		at = to
	}
	return out
}

// NodeID is the ID of a node's voltage in a state.
func NodeID(key, node string) figure.ID { return figure.ID(key + "/node " + node + "/VoltageV") }

// NodeV returns the voltage of a point of the loom against the battery's negative post.
//
//	U = U_before ∓ I · R
//
// where U_before is the voltage of the point before it on the way from the battery and I·R what the element between them takes.
//
// Valid: a solved state.
// Accuracy: that of the drops.
// Source: Kirchhoff's voltage law.
// Errors: none
func NodeV(beforeV, dropV float64) float64 { return beforeV - dropV }

// SensorSupplyV returns the voltage of the controller's sensor supply between its pin and the ground inside.
//
//	U = U₅ − I · R₅
//
// where U₅ is what its regulator holds, 0 while the controller is off, and R₅ the resistance behind it.
//
// Valid: a solved state.
// Accuracy: the spread of U₅.
// Source: definition of the source; its values from the model's own inputs.
// Errors: none
func SensorSupplyV(heldV, currentA, ohm float64) float64 { return heldV - currentA*ohm }

// sensorSupplies records the sources behind the sensors.
func (a *accountant) sensorSupplies(s *State) {
	for i := range a.v.fives {
		a.sensorSupply(s, i+1)
	}
}

func (a *accountant) sensorSupply(s *State, nth int) {
	five := a.v.fives[nth-1]
	id := figure.ID(s.Key + "/" + five.name)
	var loads []figure.ID
	for _, c := range a.v.consumers {
		if a.v.paths[c.name].five == nth {
			loads = append(loads, figure.ID(s.Key+"/"+c.name+"/CurrentA"))
		}
	}
	a.l.PutLoop(id+"/CurrentA", formula.VehicleThroughA, -s.Point.Net.ElementA(five.id), "A", &s.Ended, loads...)
	volts := s.Point.Net.ElementV(five.id)
	in := []figure.ID{a.l.Leaf(a.v.k.fiveOhm), id + "/CurrentA"}
	if s.Live {
		in = append(in, a.l.Leaf(a.v.k.fiveV))
	}
	a.l.PutLoop(id+"/VoltageV", formula.VehicleSensorSupplyV, volts, "V", &s.Ended, in...)
	pin, inside := a.v.fiveNodes(nth)
	if at, ok := s.NodeV(pin); ok {
		a.l.PutLoop(NodeID(s.Key, pin), formula.VehicleNodeV, at, "V", &s.Ended, id+"/VoltageV", NodeID(s.Key, inside))
	}
}

// nodes records the voltage of every node on some device's way.
func (a *accountant) nodes(s *State) {
	for _, c := range a.v.consumers {
		p := a.v.paths[c.name]
		for _, h := range append(a.v.hops(p, false), a.v.hops(p, true)...) {
			id := NodeID(s.Key, h.To)
			volts, ok := s.NodeV(h.To)
			if _, done := a.l.Why(id); done || !ok {
				continue
			}
			in := []figure.ID{figure.ID(s.Key + "/" + h.Name + "/DropV")}
			switch h.From {
			case a.v.postNode(false):
				in = append(in, figure.ID(s.Key+"/battery/VoltageV"))
			case a.v.postNode(true): // the reference, 0 V
			default:
				in = append(in, NodeID(s.Key, h.From))
			}
			a.l.PutLoop(id, formula.VehicleNodeV, volts, "V", &s.Ended, in...)
		}
	}
}

// Engine is what the engine's tables were computed from.
func (v *Vehicle) Engine() breathing.Input { return v.response.Input() }

// Response is the engine as tables.
func (v *Vehicle) Response() *breathing.Response { return v.response }
