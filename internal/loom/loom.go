// Package loom makes the wiring from a design: it gives every terminal of every
// device a controller pin, a fused supply, a ground or a splice, and every wire
// a way through the vehicle, a size, a colour and a fuse.
//
// Conventions: lengths in metres along the routes of the file, with allowance;
// currents in amperes at a nominal 13.5 V; nodes are named, a device's terminal
// as "fuel pump 1". What the user fixes in the file's loom section stands; the
// rest is decided here, and says why. Wires lie along a tree of the routes, the
// one of least copper. Pins are given out all at once at the least cost. Start reading at [Plan], then
// [Loom] and [Tree].
package loom

import (
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/fuse"
)

// Nodes that every loom has.
const (
	NodeBus    = "busbar"          // of the fuse box
	NodeBody   = "body"            // sheet metal
	NodeEngine = "engine block"    // and head
	NodeInside = "controller zero" // power ground inside the controller
)

// NominalV is the voltage that design currents are stated at.
const NominalV = 13.5

// Loom is the wiring of a vehicle.
type Loom struct {
	Wires   []Wire
	Fuses   []Fuse
	Relays  []Relay
	Splices []Splice
	Grounds []Ground
	Pins    []Pin
	// Short lists the terminals that no free controller pin can serve.
	Short []Shortage
	// Lacks explains them.
	Lacks []Lack
	// Loose lists the terminals that nothing in the vehicle can feed.
	Loose []Shortage
	// Tree is the harness that the wires make.
	Tree Tree
	// Box is the place of the fuse box and its relays.
	Box string

	wireByName  map[string]int
	loud, quiet []bool // by wire
}

// End is one end of a wire.
type End struct {
	Node  string // the electrical node
	Place string
}

// Kind says what a wire is for.
type Kind string

// The kinds of wire.
const (
	Post   Kind = "post"   // battery, starter and alternator cables
	Supply Kind = "supply" // behind a fuse
	Return Kind = "ground"
	Signal Kind = "signal"
	Output Kind = "output" // from a driver
	Strap  Kind = "strap"
	Screen Kind = "screen" // the drain wire of a screened cable
)

// Wire is one wire from end to end.
type Wire struct {
	Number   int
	Name     string // for the user: "fuel pump 1", "pump trunk"
	Kind     Kind
	From, To End
	Feed     string // the feed group, for supplies
	Routes   []int  // indices into the design's routes
	Tails    int    // how many device tails are added
	Cable    *catalogue.Cable
	Size     string // "2.5 mm²"
	Colour   string
	// Cover is the name of its insulation, Insulation what that stands.
	Cover      string
	Insulation *catalogue.Insulation
	// Area is the cross-section as an input: stated by the user or decided.
	Area *figure.Input
	// LengthM is the nominal length; HotK the hottest place it passes.
	LengthM float64
	HotK    *figure.Input
	// LeadM is its length where the file states that itself.
	LeadM *figure.Input
	// DesignA is the greatest mean current over the states, HeatA the greatest
	// root mean square, which heats; FuseA is the fuse that guards it, 0 when the
	// device in its loop lets less through than the wire carries for ever.
	DesignA, HeatA float64
	FuseA          float64
	// Lie is where it lies warmest: AmpacityA is what it carries there for ever,
	// TempK what it settles at under its own load.
	Lie       Lie
	AmpacityA float64
	TempK     float64
	// LimitV is the drop it may lose by its class.
	LimitV float64
	// Why names what made it the size it is; Asks is all that was asked of it.
	Why    string
	Asks   []Ask
	Guard  Guard
	Brief  bool // carries its current for seconds only: the starter's cables
	Fixed  bool
	Pos    diag.Pos
	Served []string // device terminals behind it

	need draw
}

// Fuse is one fuse.
type Fuse struct {
	Name     string // "F3"
	Feed     string // the feed group behind it; empty for a relay's and the main fuses
	Relay    string // the relay group it feeds alone: the relay stands behind it
	From, To string // nodes
	Place    string
	RatingA  *figure.Input
	// LoadA is the greatest root mean square of what it carries; Inrush are the
	// pulses as its loads are switched on, all at once.
	LoadA  float64
	Inrush []fuse.Pulse
	HotK   *figure.Input // around it
	Why    string        // what made it the rating it is
	Lost   Loss          // what its blowing does
	Fixed  bool
	Pos    diag.Pos
}

// Relay is one relay, with its nodes 30, 87, 86 and 85.
type Relay struct {
	Name  string // "K1"
	Group string // "main"
	Is    string
	Part  *catalogue.Part
	On    []string
	Pos   diag.Pos
	// Feeds lists the feed groups behind its contact.
	Feeds []string
	// CoilFeed is where its coil is fed from.
	CoilFeed string
}

// Node returns the relay's node of a terminal: "30", "85", "86" or "87".
func (r *Relay) Node(terminal string) string { return r.Name + " " + terminal }

// Socket is one terminal of a relay's socket, by its number of DIN 72552: 30 is
// fed, 87 switched, 86 and 85 the coil's ends, 86 on the side of the supply.
type Socket struct {
	Terminal string
	Wires    []int // indices in Loom.Wires of those that end in it
	Fuses    []string
}

// Sockets lists a relay's terminals with the wires and fuses at each.
func (l *Loom) Sockets(r *Relay) []Socket {
	var out []Socket
	for _, t := range []string{"30", "85", "86", "87"} {
		s := Socket{Terminal: t, Wires: l.at(r.Node(t))}
		for _, f := range l.Fuses {
			if f.From == r.Node(t) || f.To == r.Node(t) {
				s.Fuses = append(s.Fuses, f.Name)
			}
		}
		out = append(out, s)
	}
	return out
}

// Splice is a joint of several wires.
type Splice struct {
	Name, Node, Place string
	Joins             string // what it joins, as the file calls it: "ignition", "sensor ground"
	Fixed             bool   // its place is the user's
	Pos               diag.Pos
}

// Ground is a ground bolt.
type Ground struct {
	Name  string // "G1"
	Node  string
	Place string
	In    string // NodeBody or NodeEngine
}

// Pin is a controller pin in use.
type Pin struct {
	Unit, At string // the control unit, and its place
	Inside   string // its inner ground
	Pin, Can string
	Device   string // "injector 1 2", the terminal it serves
	Bank     *catalogue.PinBank
	Fixed    bool
	Node     string
	Why      []string // what made it this pin
}

// Shortage is a terminal that could not be served.
type Shortage struct {
	End   string // "injector 6 2"
	Needs string
	Have  int // pins of that kind on the controller
	Pos   diag.Pos
}

// Wire returns a wire by name.
func (l *Loom) Wire(name string) (Wire, bool) {
	i, ok := l.wireByName[name]
	if !ok {
		return Wire{}, false
	}
	return l.Wires[i], true
}

// Relay returns the relay of a group.
func (l *Loom) Relay(group string) (Relay, bool) {
	for _, r := range l.Relays {
		if r.Group == group {
			return r, true
		}
	}
	return Relay{}, false
}

// Plan makes the loom of a design.
func Plan(d *design.Design) (*Loom, []diag.Diagnostic) {
	p := newPlanner(d)
	if len(p.bad) > 0 {
		return nil, diag.Sort(p.bad)
	}
	p.assignPins()
	p.posts()
	p.grounds()
	p.controllerPins()
	p.supplies()
	p.gather()
	p.unmet()
	if len(p.bad) > 0 {
		return nil, diag.Sort(p.bad)
	}
	p.layAll()
	p.size()
	p.losses()
	if len(p.bad) > 0 {
		return nil, diag.Sort(p.bad)
	}
	p.tree()
	return p.loom, nil
}
