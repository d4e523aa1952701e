package vehicle

import (
	"context"
	"slices"
	"strings"

	"fettle/internal/breathing"
	"fettle/internal/catalogue"
	"fettle/internal/dcnet"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/loom"
)

// link is one resistive element of the network with what makes its resistance.
type link struct {
	name         string // "wire 23", "fuse F3", "relay K1", "ground G1"
	id           dcnet.ElementID
	a, b         string // nodes
	wire         *loom.Wire
	fuse         *loom.Fuse
	relay        *loom.Relay
	on           []string // states in which a switch is closed; nil for a plain resistor
	ohm          *figure.Input
	sensorGround bool   // the pin that sensors return to
	body         bool   // a bolt in sheet metal: the metal's own resistance is added
	group        string // relay group, for switches that the controller drives
}

// consumer is one load of the network.
type consumer struct {
	name string // device, "injector 1"
	id   dcnet.ElementID
	part *catalogue.Part
	load *catalogue.Load
	item design.Item
	a, b string
	coil *loom.Relay // set when it is a relay's coil
}

// Vehicle is a design with its loom, compiled into one network.
type Vehicle struct {
	Design *design.Design
	Loom   *loom.Loom

	net         *dcnet.Network
	nodes       map[string]dcnet.NodeID
	links       []link
	byName      map[string]int // of links
	wireLink    []int          // of wires by number less one, −1 for one that carries nothing
	consumers   []consumer
	battery     dcnet.ElementID
	alt         dcnet.ElementID
	fives       []fiveVolts   // the sensor supplies inside the controllers that something hangs on
	exciteOhm   *figure.Input // the circuit through terminal 61, nil when there is none
	touched     map[string]bool
	paths       map[string]supplyPath
	places      placeIndex
	response    *breathing.Response
	engines     *Engines
	sparksRatio float64         // a coil makes in a turn
	alive       map[string]bool // by state: the controller has its switched supply
	k           constants
}

// New compiles a design and its loom and fills the engine's tables, which the
// context may end; engines may be nil.
func New(ctx context.Context, d *design.Design, l *loom.Loom, engines *Engines) (*Vehicle, error) {
	v := &Vehicle{
		Design: d, Loom: l, net: dcnet.New(), nodes: map[string]dcnet.NodeID{}, touched: map[string]bool{}, byName: map[string]int{},
		paths: map[string]supplyPath{}, k: ownConstants(), engines: engines,
	}
	v.sparksRatio = d.SparksRatio()
	v.places = placeIndex{}
	for i, p := range d.File.Places {
		v.places[p.Name] = i
	}
	v.nodes[loom.PostNode(d.One("battery"), 1)] = 0
	v.wires()
	v.fusesAndRelays()
	v.groundsAndPins()
	v.contacts()
	v.sources()
	v.loads()
	v.excitation()
	if err := v.net.Err(); err != nil {
		return nil, err
	}
	v.findPaths()
	v.alive = map[string]bool{}
	for _, state := range design.StateNames {
		v.alive[state] = v.supplied(state)
	}
	r, err := v.responseOf(ctx)
	if err != nil {
		return nil, err
	}
	v.response = r
	return v, nil
}

func (v *Vehicle) node(name string) dcnet.NodeID {
	if id, ok := v.nodes[name]; ok {
		return id
	}
	id := v.net.Node(name)
	v.nodes[name] = id
	return id
}

// placeholderOhm stands in a resistor until a state sets the real value.
const placeholderOhm = 1

func (v *Vehicle) link(l link) {
	a, b := v.node(l.a), v.node(l.b)
	if l.on != nil {
		l.id = v.net.Switch(l.name, a, b, placeholderOhm)
	} else {
		l.id = v.net.Resistor(l.name, a, b, placeholderOhm)
	}
	v.touched[l.a], v.touched[l.b] = true, true
	v.byName[l.name] = len(v.links)
	v.links = append(v.links, l)
}

// wires adds every wire that carries current: a signal wire into a controller
// input carries none worth a volt, and would float; a screen that ends open
// carries none.
func (v *Vehicle) wires() {
	v.wireLink = make([]int, len(v.Loom.Wires))
	for i := range v.Loom.Wires {
		w := &v.Loom.Wires[i]
		v.wireLink[i] = -1
		if w.Kind == loom.Signal && !v.carries(w) || w.Kind == loom.Screen && !v.Loom.Loops(w) {
			continue
		}
		v.wireLink[i] = len(v.links)
		v.link(link{name: WireName(w.Number), a: w.From.Node, b: w.To.Node, wire: w})
	}
}

// carries reports whether a signal wire is part of the sensors' supply or return.
func (v *Vehicle) carries(w *loom.Wire) bool {
	if w.Name == "sensor ground" || strings.HasPrefix(w.To.Node, "splice sensor ") {
		return true
	}
	return slices.ContainsFunc(v.Loom.Pins, func(p loom.Pin) bool { return p.Can == loom.SensorSupply && p.Node == w.To.Node })
}

// WireName is how a wire is called everywhere.
func WireName(number int) string { return "wire " + itoa(number) }

func (v *Vehicle) fusesAndRelays() {
	for i := range v.Loom.Fuses {
		f := &v.Loom.Fuses[i]
		v.link(link{name: "fuse " + f.Name, a: f.From, b: f.To, fuse: f})
	}
	for i := range v.Loom.Relays {
		r := &v.Loom.Relays[i]
		v.link(link{
			name: "relay " + r.Name, a: r.Node("30"), b: r.Node("87"), relay: r,
			on: r.On, ohm: r.Part.Relay.ContactOhm, group: r.Group,
		})
	}
}

func (v *Vehicle) groundsAndPins() {
	s := &v.Design.Cat.Scheme
	for _, g := range v.Loom.Grounds {
		v.link(link{name: "ground " + g.Name, a: g.Node, b: g.In, ohm: s.BoltOhm, body: g.In == loom.NodeBody})
	}
	for _, unit := range loom.Units(v.Design) {
		for _, t := range unit.Part.Terminals {
			if t.Value.Role == "ground" {
				v.link(link{name: unit.Name + " ground " + t.Name, a: unit.Name + " " + t.Name, b: loom.Inside(unit), ohm: v.k.boardOhm})
			}
		}
	}
	for i := range v.Loom.Pins {
		p := &v.Loom.Pins[i]
		switch {
		case p.Can == "sensor ground":
			v.link(link{name: "pin " + p.Pin, a: p.Node, b: p.Inside, ohm: v.unit(p.Unit).Part.Controller.SensorGroundOhm, sensorGround: true})
		case p.Bank.Ohm != nil && v.touched[p.Node] && p.Can != loom.SensorSupply:
			v.link(link{name: "pin " + p.Pin, a: p.Node, b: p.Inside, ohm: p.Bank.Ohm})
		}
	}
}

func (v *Vehicle) unit(name string) design.Item {
	for _, it := range loom.Units(v.Design) {
		if it.Name == name {
			return it
		}
	}
	return v.Design.One("controller")
}

// contacts adds the switched ways through devices, such as the key switch.
func (v *Vehicle) contacts() {
	for _, it := range v.Design.Devices {
		for _, c := range it.Part.Contacts {
			a, b := it.Name+" "+c.From, it.Name+" "+c.To
			if v.touched[a] && v.touched[b] {
				v.link(link{name: it.Name + " " + c.From + "–" + c.To, a: a, b: b, on: slices.Clone(c.On), ohm: c.Ohm})
			}
		}
	}
}

func (v *Vehicle) sources() {
	bat, alt := v.Design.One("battery"), v.Design.One("alternator")
	v.battery = v.net.Source("battery", v.node(loom.PostNode(bat, 0)), 0, 12, placeholderOhm)
	v.alt = v.net.Regulated("alternator", v.node(loom.PostNode(alt, 0)), v.node(v.caseNode(alt)), 12, placeholderOhm, 0)
	for _, p := range v.Loom.Pins {
		if p.Can == loom.SensorSupply && v.touched[p.Node] {
			v.fives = append(v.fives, fiveVolts{p.Device, v.net.Source(p.Device, v.node(p.Node), v.node(p.Inside), 5, placeholderOhm)})
		}
	}
}

// caseNode is where a device without a ground wire returns: its seat on the
// engine, or the engine itself.
func (v *Vehicle) caseNode(it design.Item) string {
	for _, t := range it.Part.Terminals {
		if n := it.Name + " " + t.Name; t.Value.Role == "case" && v.touched[n] {
			return n
		}
	}
	return loom.NodeEngine
}

func (v *Vehicle) loads() {
	off := dcnet.Current{}
	for _, it := range v.Design.Devices {
		for i := range it.Part.Loads {
			l := &it.Part.Loads[i]
			a, b := it.Name+" "+l.From, it.Name+" "+l.To
			if !v.touched[a] || !v.touched[b] {
				continue // not wired: the loom says so
			}
			name := it.Name
			if i > 0 {
				name += " " + itoa(i+1)
			}
			v.consumers = append(v.consumers, consumer{
				name: name, id: v.net.Load(name, v.node(a), v.node(b), off), part: it.Part, load: l, item: it, a: a, b: b,
			})
		}
	}
	for i := range v.Loom.Relays {
		r := &v.Loom.Relays[i]
		a, b := r.Node("86"), r.Node("85")
		if v.touched[a] && v.touched[b] {
			id := v.net.Load("relay "+r.Name+" coil", v.node(a), v.node(b), off)
			v.consumers = append(v.consumers, consumer{name: "relay " + r.Name + " coil", id: id, part: r.Part, coil: r, a: a, b: b})
		}
	}
}
