package loom

import (
	"slices"
	"strconv"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
)

// Plug is a plug of a control unit with all its ways, in the order of their
// numbers.
type Plug struct {
	Unit   string
	Letter string // empty for terminals that are named, not numbered
	Rows   int
	Stated bool // rows and ways are described, not taken from their number
	Ways   []PlugWay
}

// PlugWay is one way of a plug.
type PlugWay struct {
	Mark  string   // as it stands on the plug: "12"
	Name  string   // as the file names it: "A12", "controller P1"
	Can   []string // what the pin behind it can do, nil when nothing is behind it
	Pin   *Pin     // in use by a terminal
	Wires []int    // indices of the wires that end in it
}

// Used reports whether a wire ends in the way.
func (w *PlugWay) Used() bool { return len(w.Wires) > 0 }

// Plugs lists the plugs of a control unit: those of its pins, then those of its
// own supplies and grounds.
func (l *Loom) Plugs(unit design.Item) []Plug {
	names, banks, _ := Ways(unit.Part.Controller)
	byLetter := map[string][]PlugWay{}
	var letters []string
	put := func(letter string, w PlugWay) {
		if byLetter[letter] == nil {
			letters = append(letters, letter)
		}
		byLetter[letter] = append(byLetter[letter], w)
	}
	for i, n := range names {
		w := PlugWay{Mark: strings.TrimPrefix(n, banks[i].Connector), Name: unitPrefix(unit) + n, Can: banks[i].Can}
		if k := slices.IndexFunc(l.Pins, func(p Pin) bool { return p.Pin == w.Name }); k >= 0 {
			w.Pin = &l.Pins[k]
		}
		w.Wires = l.at(PinNode(w.Name))
		put(banks[i].Connector, w)
	}
	for _, t := range unit.Part.Terminals {
		letter, mark := plugOf(t.Name)
		name := unit.Name + " " + t.Name
		put(letter, PlugWay{Mark: mark, Name: name, Can: []string{t.Value.Role}, Wires: l.at(name)})
	}
	var out []Plug
	for _, letter := range letters {
		out = append(out, plug(unit, letter, byLetter[letter]))
	}
	return out
}

// mostWays is how many ways a plug can have.
const mostWays = 200

// plugOf parts P3 into the plug's letter and the way's number; a terminal that
// is named otherwise belongs to no lettered plug.
func plugOf(terminal string) (letter, mark string) {
	at := strings.IndexAny(terminal, "0123456789")
	if at != 1 || terminal[0] < 'A' || terminal[0] > 'Z' {
		return "", terminal
	}
	if n, err := strconv.Atoi(terminal[at:]); err != nil || n < 1 || n > mostWays {
		return "", terminal
	}
	return terminal[:at], terminal[at:]
}

// plug puts the ways in order, with those between that nothing is behind.
func plug(unit design.Item, letter string, ways []PlugWay) Plug {
	p := Plug{Unit: unit.Name, Letter: letter, Ways: ways}
	if letter == "" {
		p.Rows = rowsOf(len(ways))
		return p
	}
	count := 0
	for _, w := range ways {
		n, _ := strconv.Atoi(w.Mark) // plugOf and Ways give numbers alone
		count = max(count, n)
	}
	if k := slices.IndexFunc(unit.Part.Controller.Plugs, func(q buildfile.Named[catalogue.Plug]) bool { return q.Name == letter }); k >= 0 {
		q := unit.Part.Controller.Plugs[k].Value
		p.Rows, p.Stated, count = q.Rows, true, max(count, q.Ways)
	}
	all := make([]PlugWay, count)
	for i := range all {
		all[i] = PlugWay{Mark: strconv.Itoa(i + 1), Name: unitPrefix(unit) + letter + strconv.Itoa(i+1)}
	}
	for _, w := range ways {
		n, _ := strconv.Atoi(w.Mark)
		all[n-1] = w
	}
	p.Ways = all
	if !p.Stated {
		p.Rows = rowsOf(count)
	}
	return p
}

// rowsOf is how many rows a plug is drawn in when nobody says (common practice).
func rowsOf(ways int) int {
	switch {
	case ways <= 4:
		return 1
	case ways <= 16:
		return 2
	case ways <= 36:
		return 3
	}
	return 4
}

// at lists the wires that end at a node.
func (l *Loom) at(node string) (out []int) {
	for i := range l.Wires {
		if l.Wires[i].From.Node == node || l.Wires[i].To.Node == node {
			out = append(out, i)
		}
	}
	return out
}
