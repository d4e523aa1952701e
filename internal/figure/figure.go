// Package figure holds the two things that touch everything: every input of a
// design with its spread and source, and every computed number with the
// formula and the inputs it came from.
//
// Conventions: numbers are coherent SI; Sd is one standard deviation. An ID
// reads state/subject/name, for example "full/pump/VoltageV", and stands in
// addresses, in the book and in tests. A nil *Ledger takes every call and costs
// nothing, so that a thousand draws run the same code as the nominal vehicle.
// Start reading at [Input], then [Ledger].
package figure

import (
	"strconv"
	"strings"

	"fettle/internal/diag"
)

// ID names one number for good.
type ID string

// Origin says where an input's value came from.
type Origin int

// The origins, strongest claim last but one.
const (
	Stated    Origin = iota // written by the user in the build file
	Part                    // value of a catalogue part or of the build's own part
	Archetype               // omitted by the user: assumed
	Decided                 // chosen by fettle: a wire size, a fuse, a route
	Measured                // from the bring-up record
	Learned                 // from drive logs
	Constant                // of nature or of a standard
)

var originWords = [...]string{"stated", "part", "assumed", "decided", "measured", "learned", "constant"}

// String is the word that is shown.
func (o Origin) String() string { return originWords[o] }

// Input is one leaf of the design: never a bare float64.
type Input struct {
	ID       ID
	SI, SdSI float64
	Unit     string // the unit it was written in, and is shown in
	Literal  string // as written, "43.5 psi ± 3 %"
	Source   string // who says so
	Batch    string // parts of one batch share a draw
	Origin   Origin
	Pos      diag.Pos

	key uint64 // hash of the batch or ID, made on first use by Seal
}

// Assumed reports whether the value stands in brackets: nobody stated or
// measured it for this vehicle.
func (in *Input) Assumed() bool { return in != nil && in.Origin == Archetype }

// Name is the input in words, from its ID: "engine, bore" of
// "build/engine/bore", "in-tank pump, flow" of "part/in-tank pump/pump/flow".
func (in *Input) Name() string {
	parts := strings.Split(string(in.ID), "/")
	if len(parts) > 1 {
		parts = parts[1:]
	}
	var words []string
	for i, p := range parts {
		_, err := strconv.Atoi(p)
		middle := i > 0 && i < len(parts)-1 && strings.HasPrefix(string(in.ID), "part/")
		if err == nil || p == "loads" || middle {
			continue
		}
		words = append(words, p)
	}
	return strings.Join(words, ", ")
}

// Formula is the documentation of a computation, generated from the doc
// comment of the function that performs it.
type Formula struct {
	ID       string // "wire.ResistanceOhm"
	Returns  string // first sentence of the comment
	Text     string // the formula, in Unicode
	Where    string // symbols
	Valid    string
	Accuracy string
	Source   string
}

// Ended says how an iteration ended.
type Ended struct {
	OK       bool
	Steps    int
	Residual float64 // relative, of the last step
	Why      string  // when not OK: what did not settle, in words
}

// Figure is one number that can be shown.
type Figure struct {
	ID   ID
	SI   float64
	Unit string // the unit it is shown in
	By   *Formula
	In   []ID
	Leaf *Input // set when the figure is an input itself
	Loop *Ended // set when it is the outcome of an iteration
}

// Assumed reports whether the figure is an input that nobody stated.
func (f Figure) Assumed() bool { return f.Leaf.Assumed() }

// Ledger records figures and what they came from.
type Ledger struct {
	figs  map[ID]Figure
	order []ID
}

// NewLedger makes an empty ledger.
func NewLedger() *Ledger { return &Ledger{figs: map[ID]Figure{}} }

// Put records a figure and returns its value. A second Put of one ID replaces
// the first. Unit is the unit to show it in.
func (l *Ledger) Put(id ID, by *Formula, si float64, unit string, in ...ID) float64 {
	if l == nil {
		return si
	}
	l.add(Figure{ID: id, SI: si, Unit: unit, By: by, In: in})
	return si
}

// PutLoop is Put for the outcome of an iteration.
func (l *Ledger) PutLoop(id ID, by *Formula, si float64, unit string, loop *Ended, in ...ID) float64 {
	if l == nil {
		return si
	}
	l.add(Figure{ID: id, SI: si, Unit: unit, By: by, In: in, Loop: loop})
	return si
}

// Leaf records an input and returns its ID for use in Put.
func (l *Ledger) Leaf(in *Input) ID {
	if in == nil {
		return ""
	}
	if l != nil {
		if _, ok := l.figs[in.ID]; !ok {
			l.add(Figure{ID: in.ID, SI: in.SI, Unit: in.Unit, Leaf: in})
		}
	}
	return in.ID
}

// Take copies a figure from another ledger with all that it leans on.
func (l *Ledger) Take(from *Ledger, id ID) {
	f, ok := from.Why(id)
	if _, held := l.Why(id); l == nil || held || !ok {
		return
	}
	l.add(f)
	for _, in := range f.In {
		l.Take(from, in)
	}
}

func (l *Ledger) add(f Figure) {
	if _, ok := l.figs[f.ID]; !ok {
		l.order = append(l.order, f.ID)
	}
	l.figs[f.ID] = f
}

// Why returns the figure of an ID.
func (l *Ledger) Why(id ID) (Figure, bool) {
	if l == nil {
		return Figure{}, false
	}
	f, ok := l.figs[id]
	return f, ok
}

// All lists the figures in the order they were recorded.
func (l *Ledger) All() []Figure {
	if l == nil {
		return nil
	}
	out := make([]Figure, len(l.order))
	for i, id := range l.order {
		out[i] = l.figs[id]
	}
	return out
}

// Unresolved lists the IDs that a figure leans on, directly or through others,
// and that the ledger does not hold, and the figures that have neither formula
// nor leaf. An empty answer means that the figure resolves to sourced leaves.
func (l *Ledger) Unresolved(id ID) []ID {
	var bad []ID
	seen := map[ID]bool{}
	var walk func(ID)
	walk = func(id ID) {
		if seen[id] {
			return
		}
		seen[id] = true
		f, ok := l.Why(id)
		switch {
		case !ok, f.Leaf == nil && f.By == nil, f.Leaf != nil && f.Leaf.Source == "":
			bad = append(bad, id)
			return
		}
		for _, in := range f.In {
			walk(in)
		}
	}
	walk(id)
	return bad
}
