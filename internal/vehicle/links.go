package vehicle

import (
	"math"

	"fettle/internal/dcnet"
	"fettle/internal/figure"
	"fettle/internal/formula"
)

// OpenV returns the voltage across an open contact.
//
//	U = U_a − U_b
//
// where U_a and U_b are the voltages of the points on its two sides.
//
// Valid: a contact that is open in the state.
// Accuracy: that of the voltages.
// Source: definition.
// Errors: none
func OpenV(fromV, toV float64) float64 { return fromV - toV }

// MeshA returns the current of an element that shares its load with others beside it, such as one of several ground wires.
//
//	I = (U_a − U_b)/R
//
// where U_a and U_b are the voltages of the points on its two sides, from the solved network.
//
// Valid: a solved state; positive from the first point to the second.
// Accuracy: that of the voltages: Kirchhoff's current law holds at every node to 1e-9.
// Source: Ohm's law; nodal analysis.
// Errors: none
func MeshA(fromV, toV, ohm float64) float64 { return (fromV - toV) / ohm }

// links records the current, resistance and drop of every element.
func (a *accountant) links(s *State) {
	for _, l := range a.v.links {
		id := s.Key + "/" + l.name
		amps, volts := s.Point.Net.ElementA(l.id), s.Point.Net.ElementV(l.id)
		if math.IsNaN(amps) {
			continue
		}
		a.ohm(s, l, id)
		if l.on != nil && !a.v.closed(&l, s.Name) {
			ends, _ := a.ends(s, l)
			a.l.Put(figure.ID(id+"/CurrentA"), formula.VehicleThroughA, amps, "A")
			a.l.Put(figure.ID(id+"/DropV"), formula.VehicleOpenV, volts, "V", ends...)
			continue
		}
		by, in := a.through(s, l, amps)
		a.l.PutLoop(figure.ID(id+"/CurrentA"), by, amps, "A", &s.Ended, in...)
		a.l.Put(figure.ID(id+"/DropV"), formula.VehicleDropV, volts, "V", figure.ID(id+"/CurrentA"), figure.ID(id+"/Ohm"))
	}
}

// sumTol is how near a sum of currents comes to the solved one, relative to it
// and at least to an ampere: the network's currents cancel to 1e-9 of the
// largest, which is some hundred amperes while cranking.
const sumTol = 1e-6

// through says what a current is made of: the loads whose way leads through the
// element, if they sum up to it, else the voltages on its two sides.
func (a *accountant) through(s *State, l link, amps float64) (by *figure.Formula, in []figure.ID) {
	sum := 0.0
	for _, c := range a.behind[l.id] {
		sum += s.Point.Net.ElementA(c.id)
		in = append(in, figure.ID(s.Key+"/"+c.name+"/CurrentA"))
	}
	near := func(x float64) bool {
		return math.Abs(math.Abs(x)-math.Abs(amps)) <= sumTol*math.Max(math.Abs(amps), 1)
	}
	ends, ok := a.ends(s, l)
	switch {
	case near(sum):
	case len(in) == 0 && near(s.Point.ChargerA):
		in = []figure.ID{figure.ID(s.Key + "/alternator/CurrentA")}
	case ok:
		return formula.VehicleMeshA, append(ends, figure.ID(s.Key+"/"+l.name+"/Ohm"))
	}
	return formula.VehicleThroughA, in
}

// ends are the figures of the voltages on an element's two sides; ok is false
// when one lies on no device's way. The battery's negative post is 0 V and has none.
func (a *accountant) ends(s *State, l link) (in []figure.ID, ok bool) {
	for _, node := range []string{l.a, l.b} {
		switch {
		case node == a.v.postNode(true):
		case node == a.v.postNode(false):
			in = append(in, figure.ID(s.Key+"/battery/VoltageV"))
		case a.onWay[node]:
			in = append(in, NodeID(s.Key, node))
		default:
			return nil, false
		}
	}
	return in, true
}

// findThrough lists for every link the consumers whose way leads through it, and
// the nodes on any way.
func (a *accountant) findThrough() {
	a.behind, a.onWay = map[dcnet.ElementID][]consumer{}, map[string]bool{}
	for i := range a.v.fives {
		pin, _ := a.v.fiveNodes(i + 1)
		a.onWay[pin] = true
	}
	for _, c := range a.v.consumers {
		p := a.v.paths[c.name]
		for _, list := range [][]int{p.out, p.back} {
			for _, i := range list {
				id := a.v.links[i].id
				a.behind[id] = append(a.behind[id], c)
			}
		}
		for _, back := range []bool{false, true} {
			for _, h := range a.v.hops(p, back) {
				a.onWay[h.To] = true
			}
		}
	}
}
