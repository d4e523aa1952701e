// Package harness draws a wiring harness laid flat: bundles run from left to
// right, away from the place it begins at, to one scale; places are upright
// bars, and what sits at a place hangs from its bar in rows, so that no label
// meets another and nothing crosses.
//
// Conventions: lengths of bundles are millimetres, places on a drawing are
// [drawing.Px]; a bundle that can't be drawn to scale has its figure underlined,
// one drawn shorter has a break as well (ISO 129-1, ISO 128). Only level
// stretches measure; a bar is one place, however tall. The same input gives the
// same drawing. Start reading at [Tree], then [Tree.Draw] and [Tree.Sheets].
package harness

import "fettle/internal/drawing"

// Px is a length on the drawing.
type Px = drawing.Px

// Tree is a harness: places joined by bundles. Bundles that would close a ring
// must be left out and shown by rows with the [Onward] sign at both ends.
type Tree struct {
	Name  string // stable id
	Title string
	Width Px // of the sheet
	// Height bounds what [Tree.Sheets] puts on a sheet; 0 is as tall as it comes.
	Height  Px
	Root    int // index of the place the trunk begins at
	Places  []Place
	Bundles []Bundle
	Way     *Way
	Beside  string // what the second bundles are, for the key
}

// Place is where things sit and bundles meet.
type Place struct {
	Name     string
	Note     drawing.Label // beside the name: "85 °C"
	More     string        // after it: "(12 more)"
	Bulkhead bool          // the bundle to it goes through one
	Rows     []Row
}

// Bundle joins two places.
type Bundle struct {
	From, To   int
	LengthMM   drawing.Number
	DiameterMM drawing.Number
	BesideMM   drawing.Number // diameter of a second bundle that keeps apart; 0 for none
	Assumed    bool           // its figure stands in brackets
	Ref        string         // the figure of its length
}

// Sign says what a thing is.
type Sign uint8

// The signs.
const (
	Plug   Sign = iota // a connector, its ways seen from the wire side
	Splice             // a joint of several wires
	Ground             // a bolt
	Fuse
	Relay
	Ring   // an eyelet on a post
	Onward // goes on at another place, or on another sheet
)

// Row is one line of things of one kind under one label.
type Row struct {
	Sign   Sign
	Label  string
	Figure drawing.Label // beside the label: "7.5 A"
	Things []Thing
	Bond   Bond
	Lead   bool // stands before the root, as a control unit's plugs do
	Bad    bool
}

// Thing is one connector, splice, bolt, fuse or relay.
type Thing struct {
	ID    string // stable: "X12"
	Title string // what a screen reader says
	Label string // stands for the row's label while the thing is picked
	To    string // where it leads
	Ways  int    // of a plug
	Lines int    // its ways stand in; 0 leaves it to the drawing
}

// Spot names a thing on the drawing.
type Spot struct{ Place, Row, Thing int }

// Way is a picked way through the harness, drawn heavy while the rest falls
// back. Its stops are numbered from 1 in walking order.
type Way struct {
	Stops []Stop
	At    int // the stop that is looked at, from 1; 0 for none
}

// Stop is a station of a way.
type Stop struct {
	Spot Spot
	Way  int    // way of the plug, from 1; 0 when it is none
	To   string // where its balloon leads
	// Then is how the way goes on from here to the next stop.
	Then Leg
}

// Leg is what lies between two stops.
type Leg struct {
	None   bool // nothing is drawn: within the thing itself, or the end
	Return bool
	Bad    bool
	// Over lists Onward things it passes, in pairs: out at one, in at the other.
	Over []Spot
}
