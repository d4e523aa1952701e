package formboard

import (
	"slices"
	"strings"

	"fettle/internal/drawing/harness"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
)

// Followed is the way of a wire from end to end, out and back where it carries a
// load.
type Followed struct {
	Device   string // whose way it is; empty when the wire is followed alone
	Stations []Station
	Legs     []Leg // Legs[i] leads from station i to the next
}

// Station is a point on the way that a person can put a finger on.
type Station struct {
	Node string
	Seat Seat
}

// Leg is what lies between two stations.
type Leg struct {
	Hops []vehicle.Hop // wires, fuses, contacts, in walking order
	Load bool          // through the device itself
	Back bool
}

// Wire is the number of the wire that a hop is; ok is false when it is none.
func (b *Board) Wire(hop string) (w *loom.Wire, ok bool) {
	for i := range b.Loom.Wires {
		if vehicle.WireName(b.Loom.Wires[i].Number) == hop {
			return &b.Loom.Wires[i], true
		}
	}
	return nil, false
}

// step is one element of a way before stations are made of its nodes.
type step struct {
	from, to string
	hop      vehicle.Hop
	load     bool
}

// Follow follows a wire: the way of the device behind it, from the battery or
// the controller's pin out and back; a wire without a load from the control unit
// through its splices to the device.
func (b *Board) Follow(v *vehicle.Vehicle, wire int) (Followed, bool) {
	i := slices.IndexFunc(b.Loom.Wires, func(w loom.Wire) bool { return w.Number == wire })
	if i < 0 {
		return Followed{}, false
	}
	w := &b.Loom.Wires[i]
	if v != nil {
		for _, name := range b.consumers(w) {
			if steps, ok := stepsOf(v.Way(name), vehicle.WireName(wire)); ok {
				f := b.stations(steps)
				f.Device = name
				return f, len(f.Stations) > 1
			}
		}
	}
	f := b.stations(b.alone(i))
	return f, len(f.Stations) > 1
}

// consumers are the names under which what a wire serves may draw current, the
// nearest first.
func (b *Board) consumers(w *loom.Wire) []string {
	var out []string
	add := func(name string) {
		if name != "" && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	for _, end := range append([]string{w.From.Node, w.To.Node}, w.Served...) {
		for _, it := range b.Design.Devices {
			if !strings.HasPrefix(end, it.Name+" ") || it.Part.Terminal(strings.TrimPrefix(end, it.Name+" ")) == nil {
				continue
			}
			for n := range it.Part.Loads {
				if n == 0 {
					add(it.Name)
				} else {
					add(it.Name + " " + digits(n+1))
				}
			}
		}
		for _, k := range b.Loom.Relays {
			if end == k.Node("85") || end == k.Node("86") {
				add("relay " + k.Name + " coil")
			}
		}
	}
	return out
}

// stepsOf puts the load between the way out and the way back; ok is false when
// the wire is not on it.
func stepsOf(hops []vehicle.Hop, wire string) (out []step, ok bool) {
	for i, h := range hops {
		ok = ok || h.Name == wire
		if h.Back && i > 0 && !hops[i-1].Back {
			out = append(out, step{from: hops[i-1].To, to: h.From, load: true})
		}
		out = append(out, step{from: h.From, to: h.To, hop: h})
	}
	return out, ok
}

// alone follows a wire by itself, through splices to a control unit's pin or to
// a fuse, beginning there.
func (b *Board) alone(i int) []step {
	w := &b.Loom.Wires[i]
	hop := func(k int, from, to string) step {
		return step{from: from, to: to, hop: vehicle.Hop{Name: vehicle.WireName(b.Loom.Wires[k].Number), From: from, To: to}}
	}
	from, to := w.From.Node, w.To.Node
	if b.leads(to) && !b.leads(from) {
		from, to = to, from
	}
	out := []step{hop(i, from, to)}
	for _, end := range []string{from, to} {
		if !strings.HasPrefix(end, "splice ") {
			continue
		}
		k := slices.IndexFunc(b.wires[end], func(k int) bool { return k != i && b.leads(other(&b.Loom.Wires[k], end)) })
		if k < 0 {
			continue
		}
		far := other(&b.Loom.Wires[b.wires[end][k]], end)
		if end == from {
			out = append([]step{hop(b.wires[end][k], far, end)}, out...)
		} else {
			out = []step{hop(b.wires[end][k], far, end), hop(i, end, from)}
		}
		break
	}
	return out
}

// leads reports a node that a way begins at: a pin of a control unit, or a fuse.
func (b *Board) leads(node string) bool {
	return strings.HasPrefix(node, "pin ") || strings.HasPrefix(node, "feed ") || strings.HasPrefix(node, "rail ")
}

func other(w *loom.Wire, node string) string {
	if w.From.Node == node {
		return w.To.Node
	}
	return w.From.Node
}

// stations makes stations of the nodes that a person can find.
func (b *Board) stations(steps []step) Followed {
	var f Followed
	var leg Leg
	begin := func(node string) {
		if seat, ok := b.Seat(node); ok {
			f.Stations = append(f.Stations, Station{node, seat})
		}
	}
	for i, s := range steps {
		if i == 0 {
			begin(s.from)
		}
		if s.load {
			leg.Load = true
		} else {
			leg.Hops, leg.Back = append(leg.Hops, s.hop), s.hop.Back
		}
		seat, ok := b.Seat(s.to)
		if !ok {
			continue
		}
		if len(f.Stations) > 0 {
			f.Legs = append(f.Legs, leg)
		}
		f.Stations = append(f.Stations, Station{s.to, seat})
		leg = Leg{}
	}
	return f
}

// Mark puts a followed way on a tree; bad says which hops fail, to leads from a
// station's balloon, at is the station that is looked at.
func (b *Board) Mark(t *harness.Tree, f Followed, at int, bad func(hop string) bool, to func(station int) string) {
	way := &harness.Way{At: at}
	for i, s := range f.Stations {
		stop := harness.Stop{Spot: s.Seat.Spot, Way: s.Seat.Way, Then: harness.Leg{None: true}}
		if to != nil {
			stop.To = to(i + 1)
		}
		if i < len(f.Legs) {
			stop.Then = b.legOf(f.Legs[i], s, f.Stations[i+1], bad)
		}
		way.Stops = append(way.Stops, stop)
	}
	t.Way = way
}

func (b *Board) legOf(l Leg, from, to Station, bad func(string) bool) harness.Leg {
	out := harness.Leg{Return: l.Back, None: l.Load}
	carried := from.Seat.Spot.Place == to.Seat.Spot.Place
	for _, h := range l.Hops {
		w, ok := b.Wire(h.Name)
		if !ok {
			continue
		}
		carried = true
		out.Bad = out.Bad || bad != nil && bad(h.Name)
		out.Over = append(out.Over, b.over(w, from.Seat.Spot.Place)...)
	}
	out.None = out.None || !carried
	return out
}

// over lists the signs at which a wire leaves the bundles for a way of its own
// and comes back, walking from a place.
func (b *Board) over(w *loom.Wire, from int) []harness.Spot {
	routes := slices.Clone(w.Routes)
	ends := func(r int) (a, c int) {
		v := &b.Design.File.Routes[r]
		return b.placeAt[v.From.Name], b.placeAt[v.To.Name]
	}
	if len(routes) > 0 {
		if a, c := ends(routes[0]); a != from && c != from {
			slices.Reverse(routes)
		}
	}
	var out []harness.Spot
	at := from
	for _, r := range routes {
		a, c := ends(r)
		next := a + c - at
		if at != a && at != c {
			return out
		}
		if rings := b.onward[r]; len(rings) == 2 {
			first, second := rings[0], rings[1]
			if first.Place != at {
				first, second = second, first
			}
			out = append(out, first, second)
		}
		at = next
	}
	return out
}

// At lists the wires that end at a thing, by their numbers.
func (b *Board) At(id string) []int {
	var out []int
	for i := range b.Loom.Wires {
		w := &b.Loom.Wires[i]
		for _, e := range []loom.End{w.From, w.To} {
			if s, ok := b.Seat(e.Node); ok && s.ID == id && !slices.Contains(out, w.Number) {
				out = append(out, w.Number)
			}
		}
	}
	return out
}
