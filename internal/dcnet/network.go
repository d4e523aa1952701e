// Package dcnet computes the voltages and currents of a vehicle's DC network
// by nodal analysis: wires, contacts, fuses, switches, batteries, a regulated
// alternator and loads of constant resistance, current or power, in one state
// of the switches, with or without planted faults.
//
// Conventions: volts against node 0, the battery's negative post; amperes
// positive from an element's first terminal a to its second terminal b through
// the element, so a load that draws reads positive and a battery that
// discharges reads negative (its a is the positive post). ElementIDs count from
// 1, so that a zero ElementID means none.
//
// Method: a harness is nearly a tree, so the nodal matrix is factored as LDLᵀ
// in minimum-degree order with hardly any fill; the order is found once per
// topology and shared by clones. Loads that bend are solved by Newton steps
// that stop at each bend, downwards from full supply (see [Network.Solve]).
//
// A Network is used by one goroutine at a time; [Network.Clone] gives each
// goroutine its own values over the shared order. Start reading at [New], then
// [Network.Solve]; the models of loads are in model.go, faults in change.go.
package dcnet

import (
	"fmt"
	"maps"
	"math"
	"slices"
)

// NodeID names a point of the network; 0 is the battery's negative post.
type NodeID int

// ElementID names an element; 0 means none.
type ElementID int

// Reference is the node that all voltages are measured against.
const (
	Reference     NodeID = 0
	referenceName        = "battery negative post"
)

// Resistances outside this range are refused: below, contact makers quote
// nothing and a mistyped unit is likelier; above, an insulation is not a wire.
const (
	leastOhm = 1e-7
	mostOhm  = 1e10
)

type kind uint8

const (
	wire kind = iota
	contact
	battery
	alternator
	load
)

var kindWords = [...]string{"resistor", "switch", "source", "regulated source", "load"}

type element struct {
	name   string
	kind   kind
	opened bool // by a Change
	a, b   NodeID
	ohm    float64 // series resistance of all but loads
	emfV   float64 // open-circuit or set voltage
	maxA   float64
	law    law
	joined bool   // its ends are nodes of the network
	bad    string // why its values can't be used
}

func (e *element) String() string { return fmt.Sprintf("%s %q", kindWords[e.kind], e.name) }

// Network is nodes joined by two-terminal elements.
type Network struct {
	names  []string
	byName map[string]NodeID
	lent   bool // names and byName are shared with a clone
	els    []element
	badN   int
	top    *topology
	work   workspace
}

// New makes a network that has the reference node only.
func New() *Network {
	return &Network{
		names:  []string{referenceName},
		byName: map[string]NodeID{referenceName: Reference},
		els:    make([]element, 1),
	}
}

// Clone returns a network with the same topology and values that can be
// changed and solved in another goroutine. The order of elimination is shared.
// Once it has been cloned, a network that nobody changes may be cloned from
// several goroutines at a time.
func (n *Network) Clone() *Network {
	n.order()
	if !n.lent {
		n.lent = true
	}
	return &Network{
		names: n.names, byName: n.byName, lent: true,
		els: slices.Clone(n.els), badN: n.badN, top: n.top,
	}
}

// Node returns the node of that name, adding it when it is new.
func (n *Network) Node(name string) NodeID {
	if id, ok := n.byName[name]; ok {
		return id
	}
	if n.lent {
		n.names, n.byName, n.lent = slices.Clone(n.names), maps.Clone(n.byName), false
	}
	id := NodeID(len(n.names))
	n.names = append(n.names, name)
	n.byName[name] = id
	n.top = nil
	return id
}

// NodeName returns the name a node was added with, or its number when there is
// no such node.
func (n *Network) NodeName(id NodeID) string {
	if id < 0 || int(id) >= len(n.names) {
		return fmt.Sprintf("node %d", int(id))
	}
	return n.names[id]
}

// NodeCount is the number of nodes, the reference included.
func (n *Network) NodeCount() int { return len(n.names) }

// ElementCount is the number of elements; their IDs are 1 to ElementCount.
func (n *Network) ElementCount() int { return len(n.els) - 1 }

// ElementName returns the name an element was added with.
func (n *Network) ElementName(id ElementID) string {
	if !n.has(id) {
		return fmt.Sprintf("element %d", int(id))
	}
	return n.els[id].name
}

// Ends returns the terminals of an element; both are the reference when there
// is no such element.
func (n *Network) Ends(id ElementID) (a, b NodeID) {
	if !n.has(id) {
		return Reference, Reference
	}
	return n.els[id].a, n.els[id].b
}

func (n *Network) has(id ElementID) bool { return id >= 1 && int(id) < len(n.els) }

// Resistor adds a wire, contact, fuse or joint.
func (n *Network) Resistor(name string, a, b NodeID, ohm float64) ElementID {
	id := n.add(element{name: name, kind: wire, a: a, b: b})
	n.SetOhm(id, ohm)
	return id
}

// Switch adds a relay contact, key or isolator of the given resistance when
// closed. Whether it is closed is said in Solve.
func (n *Network) Switch(name string, a, b NodeID, ohm float64) ElementID {
	id := n.add(element{name: name, kind: contact, a: a, b: b})
	n.SetOhm(id, ohm)
	return id
}

// Source adds a battery: its open-circuit voltage behind its resistance. It
// takes charge as readily as it gives.
func (n *Network) Source(name string, plus, minus NodeID, openCircuitV, ohm float64) ElementID {
	id := n.add(element{name: name, kind: battery, a: plus, b: minus})
	n.SetSource(id, openCircuitV, ohm)
	return id
}

// Regulated adds an alternator: its set voltage behind slopeOhm up to maxA,
// then that current whatever the voltage. It never takes current.
func (n *Network) Regulated(name string, plus, minus NodeID, setV, slopeOhm, maxA float64) ElementID {
	id := n.add(element{name: name, kind: alternator, a: plus, b: minus})
	n.SetRegulated(id, setV, slopeOhm, maxA)
	return id
}

// Load adds a device that draws by its model from a to b.
func (n *Network) Load(name string, a, b NodeID, m Model) ElementID {
	id := n.add(element{name: name, kind: load, a: a, b: b})
	n.SetLoad(id, m)
	return id
}

func (n *Network) add(e element) ElementID {
	id := ElementID(len(n.els))
	n.els = append(n.els, e)
	n.top = nil
	return id
}

// SetOhm changes the resistance of a resistor or switch, or the inner
// resistance of a source. Errors are kept and reported by Err and Solve.
func (n *Network) SetOhm(id ElementID, ohm float64) {
	if e := n.at(id, wire, contact, battery); e != nil {
		if e.ohm != ohm {
			n.touch(id)
		}
		e.ohm = ohm
		n.judge(e, checkOhm("resistance", ohm))
	}
}

// SetSource changes a battery's open-circuit voltage and resistance.
func (n *Network) SetSource(id ElementID, openCircuitV, ohm float64) {
	if e := n.at(id, battery); e != nil {
		n.touch(id)
		e.emfV, e.ohm = openCircuitV, ohm
		n.judge(e, checkOhm("resistance", ohm), check("open-circuit voltage", openCircuitV, -1e3, 1e3, "V"))
	}
}

// SetRegulated changes an alternator's set voltage, slope and current limit. A
// limit of 0 A is an alternator that stands still or is not excited.
func (n *Network) SetRegulated(id ElementID, setV, slopeOhm, maxA float64) {
	if e := n.at(id, alternator); e != nil {
		n.touch(id)
		e.emfV, e.ohm, e.maxA = setV, slopeOhm, maxA
		n.judge(e, checkOhm("slope", slopeOhm),
			check("set voltage", setV, -1e3, 1e3, "V"), check("greatest current", maxA, 0, 1e5, "A"))
	}
}

// SetLoad changes what a load draws; topology and order stay.
func (n *Network) SetLoad(id ElementID, m Model) {
	if e := n.at(id, load); e != nil {
		l, why := lawOf(m)
		if !l.same(&e.law) {
			n.touch(id)
		}
		e.law = l
		n.judge(e, why)
	}
}

// at finds an element of one of the kinds; a wrong one spoils the network,
// since the caller meant to change something and did not.
func (n *Network) at(id ElementID, kinds ...kind) *element {
	if !n.has(id) {
		n.judge(&n.els[0], fmt.Sprintf("there is no element %d to set", int(id)))
		return nil
	}
	e := &n.els[id]
	if !slices.Contains(kinds, e.kind) {
		n.judge(&n.els[0], fmt.Sprintf("%v can't be set as a %s", e, kindWords[kinds[0]]))
		return nil
	}
	return e
}

func (n *Network) judge(e *element, whys ...string) {
	if e.joined && e.bad == "" && firstOf(whys...) == "" {
		return
	}
	if e.bad != "" {
		n.badN--
	}
	e.bad = ""
	for _, end := range []NodeID{e.a, e.b} {
		if end < 0 || int(end) >= len(n.names) {
			e.bad = fmt.Sprintf("joins node %d, which there is not", int(end))
		}
	}
	e.joined = e.bad == ""
	for _, w := range whys {
		if w != "" && e.bad == "" {
			e.bad = w
		}
	}
	if e.bad != "" {
		n.badN++
	}
}

// Err returns the first value that can't be used, or nil.
func (n *Network) Err() error {
	if n.badN == 0 {
		return nil
	}
	for i := range n.els {
		if e := &n.els[i]; e.bad != "" && i > 0 {
			return fmt.Errorf("%v: %s", e, e.bad)
		}
	}
	return fmt.Errorf("%s", n.els[0].bad)
}

func checkOhm(what string, ohm float64) string { return check(what, ohm, leastOhm, mostOhm, "Ω") }

func check(what string, x, least, most float64, unit string) string {
	if x >= least && x <= most && !math.IsNaN(x) {
		return ""
	}
	return fmt.Sprintf("%s %g %s, allowed %g … %g %s", what, x, unit, least, most, unit)
}

// checkOrNone is check that lets 0 pass.
func checkOrNone(what string, x, least, most float64, unit string) string {
	if x == 0 || check(what, x, least, most, unit) == "" {
		return ""
	}
	return fmt.Sprintf("%s %g %s, allowed 0 or %g … %g %s", what, x, unit, least, most, unit)
}
