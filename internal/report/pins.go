package report

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/loom"
	"fettle/internal/paper"
	"fettle/internal/quantity"
	"fettle/internal/supply"
)

// pin is one way of the controller in the table.
type pin struct {
	name string // "A12"
	does string
	node string // where its wire ends
}

func (b *book) pins() {
	ctl := b.Design.One("controller")
	all := b.controllerPins()
	b.doc.Sheet("Pin table")
	b.doc.Verdict(paper.Run{Text: capital(ctl.Name) + ", " + count(len(all), "way") + " in use"})
	b.doc.Lede(capital(ctl.Part.Is) + ". Read on the wire side; each wire carries its number at both ends. Colours after IEC 60757. “Fixed” is what the build file fixes; the rest was decided by fettle.")
	b.shortages()
	byConnector := map[string][]pin{}
	var order []string
	for _, p := range all {
		c, _ := splitPin(p.name)
		if byConnector[c] == nil {
			order = append(order, c)
		}
		byConnector[c] = append(byConnector[c], p)
	}
	for _, c := range order {
		b.doc.Heading("Plug " + c)
		b.faces(c)
		t := paper.Table{Cols: []paper.Col{
			{Head: "Pin"},
			{Head: "Does"},
			{Head: "Device and terminal"},
			{Head: "Wire", Right: true},
			{Head: "Size, mm²", Right: true},
			{Head: "Colour"},
			{Head: "Length, m", Right: true},
		}}
		for _, p := range byConnector[c] {
			t.Rows = append(t.Rows, b.pinRow(p))
		}
		b.doc.Table(t)
		if s := b.spare(c, byConnector[c]); s != "" {
			b.doc.Note(s)
		}
	}
	b.doc.Note("Lengths hold the allowance along the route and the tails at both plugs.")
}

// shortages says what no pin could serve.
func (b *book) shortages() {
	for _, s := range slices.Concat(b.Loom.Short, b.Loom.Loose) {
		b.doc.Say(paper.Run{Text: fmt.Sprintf("%s finds no pin that can be %s.", capital(s.End), s.Needs), Bold: true, Accent: true})
	}
}

// controllerPins lists the ways in use, in the order of the plugs.
func (b *book) controllerPins() []pin {
	ctl := b.Design.One("controller")
	var out []pin
	for _, t := range ctl.Part.Terminals {
		does := "ground, " + t.Value.Ground
		if t.Value.Role == "feed" {
			does = "supply, " + t.Value.Feed
		}
		out = append(out, pin{t.Name, does, ctl.Name + " " + t.Name})
	}
	for _, p := range b.Loom.Pins {
		out = append(out, pin{p.Pin, p.Can, p.Node})
	}
	slices.SortStableFunc(out, func(x, y pin) int {
		cx, nx := splitPin(x.name)
		cy, ny := splitPin(y.name)
		if cx != cy {
			return strings.Compare(cx, cy)
		}
		return nx - ny
	})
	return out
}

// splitPin parts "A12" into plug and way.
func splitPin(name string) (plug string, way int) {
	i := strings.IndexAny(name, "0123456789")
	if i < 0 {
		return name, 0
	}
	way, _ = strconv.Atoi(name[i:])
	return name[:i], way
}

func (b *book) pinRow(p pin) []paper.Cell {
	row := paper.Row(p.name, p.does)
	for i := range b.Loom.Wires {
		w := &b.Loom.Wires[i]
		far, ok := farEnd(w, p.node)
		if !ok {
			continue
		}
		size := strings.TrimSuffix(strings.TrimSuffix(w.Size, " mm²"), "\u00a0mm²")
		if w.Fixed {
			size += ", fixed"
		}
		return append(row, paper.Row(b.endWords(w, far), strconv.Itoa(w.Number), size, w.Colour, quantity.Number(w.LengthM, "m", 0))...)
	}
	return append(row, paper.Row("no wire")...)
}

// farEnd is the other end of a wire that ends at a node.
func farEnd(w *loom.Wire, node string) (loom.End, bool) {
	switch node {
	case w.From.Node:
		return w.To, true
	case w.To.Node:
		return w.From, true
	}
	return loom.End{}, false
}

// endWords says where a wire goes: a device's terminal, a fuse, a bolt, or a
// splice with all that it joins.
func (b *book) endWords(w *loom.Wire, e loom.End) string {
	for _, s := range b.Loom.Splices {
		if s.Node == e.Node {
			words := "splice " + s.Name + " at " + s.Place
			for _, f := range b.Loom.Fuses {
				if w.Feed != "" && f.Feed == w.Feed {
					words += ", behind fuse " + f.Name
				}
			}
			if w.Kind == loom.Signal && len(w.Served) > 0 {
				words += ": " + strings.Join(w.Served, ", ")
			}
			return words
		}
	}
	for _, g := range b.Loom.Grounds {
		if g.Node == e.Node {
			return "ground bolt " + g.Name + " at " + g.Place
		}
	}
	for _, f := range b.Loom.Fuses {
		if f.To == e.Node {
			return "fuse " + f.Name + ", " + supply.Rating(f.RatingA.SI)
		}
	}
	for _, it := range b.Design.Devices {
		if terminalOf(it, e.Node) != nil {
			return it.Name + ", terminal " + strings.TrimPrefix(e.Node, it.Name+" ")
		}
	}
	for _, r := range b.Loom.Relays {
		if t, ok := strings.CutPrefix(e.Node, r.Name+" "); ok {
			return "relay " + r.Name + " " + r.Group + ", terminal " + t
		}
	}
	return e.Node
}

// spare lists the ways of a plug that nothing uses, in runs of what they can do.
func (b *book) spare(plug string, used []pin) string {
	names, banks, _ := loom.Ways(b.Design.One("controller").Part.Controller)
	var runs []string
	var first, last, can string
	flush := func() {
		if first == "" {
			return
		}
		run := first
		if last != first {
			run += " … " + last
		}
		runs = append(runs, run+" "+can)
		first = ""
	}
	for i, n := range names {
		c, _ := splitPin(n)
		isUsed := slices.ContainsFunc(used, func(p pin) bool { return p.name == n })
		does := strings.Join(banks[i].Can, " or ")
		if c != plug || isUsed {
			flush()
			continue
		}
		if first != "" && does != can {
			flush()
		}
		if first == "" {
			first, can = n, does
		}
		last = n
	}
	flush()
	if len(runs) == 0 {
		return ""
	}
	return "Spare: " + strings.Join(runs, "; ") + "."
}
