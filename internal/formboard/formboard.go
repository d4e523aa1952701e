// Package formboard sets the harness of a vehicle out as on the board it is made
// on: which thing sits at which place under which number, which bundles join the
// places, and by which stations a wire, a pin or a device is reached.
//
// Conventions: connectors are numbered X1, X2 … in one order for drawing, list
// and paper: the plugs of the control units first, then the devices as the file
// lists them; splices, bolts, fuses and relays keep the names the loom gave
// them. Nodes and lengths are the loom's. Everything here is made from the
// design and its loom alone; voltages are looked up by who shows them. Start
// reading at [New], then [Board.Tree], [Board.Follow] and [Board.List].
package formboard

import (
	"fmt"
	"slices"
	"strings"

	"fettle/internal/design"
	"fettle/internal/drawing"
	"fettle/internal/drawing/harness"
	"fettle/internal/loom"
)

// Board is the harness of one vehicle, set out.
type Board struct {
	Design *design.Design
	Loom   *loom.Loom
	// Connectors are all of them, in the order of their numbers.
	Connectors []Connector

	places  []harness.Place
	bundles []harness.Bundle
	root    int
	placeAt map[string]int  // index of a place
	spots   map[string]Seat // by node
	onward  map[int][]harness.Spot
	wires   map[string][]int // wires that end at a node
}

// Seat is where a node is on the board: a thing, and the way of a plug.
type Seat struct {
	Spot harness.Spot
	Way  int
	Name string // for people: "X12 fuel pump, way 1"
	ID   string // of the thing: "X12", "S3"
}

// Connector is a numbered plug.
type Connector struct {
	Number int
	Unit   bool // of a control unit
	Letter string
	Device string // the device, or the unit
	At     string
	Ways   []string // nodes, by way
	Marks  []string // as they stand on the plug
	Lines  int      // the ways stand in; 0 where nobody says
}

// ID is the connector's name on drawing, list and label.
func (c Connector) ID() string { return fmt.Sprintf("X%d", c.Number) }

// Says is the connector in words.
func (c Connector) Says() string {
	if c.Letter != "" {
		return c.Device + ", plug " + c.Letter
	}
	return c.Device
}

// New sets the harness out.
func New(d *design.Design, l *loom.Loom) *Board {
	b := &Board{Design: d, Loom: l, placeAt: map[string]int{}, spots: map[string]Seat{}, onward: map[int][]harness.Spot{}, wires: map[string][]int{}}
	for i := range l.Wires {
		for _, e := range []loom.End{l.Wires[i].From, l.Wires[i].To} {
			b.wires[e.Node] = append(b.wires[e.Node], i)
		}
	}
	for i := range d.File.Places {
		v := &d.File.Places[i]
		b.placeAt[v.Name] = i
		p := harness.Place{Name: v.Name, Bulkhead: v.Value.Bulkhead}
		if v.Value.HotK != nil {
			p.Note = drawing.Label{Text: celsius(v.Value.HotK), Ref: string(v.Value.HotK.ID)}
		}
		p.More = v.Value.Landmark
		b.places = append(b.places, p)
	}
	b.root = b.placeAt[d.One("controller").At]
	b.number()
	b.posts()
	b.box()
	b.splices()
	b.plugs()
	b.bolts()
	b.screens()
	b.join()
	b.bonds()
	b.lead()
	b.drop()
	return b
}

// number gives every connector its number.
func (b *Board) number() {
	units := map[string]bool{}
	put := func(c Connector) {
		c.Number = len(b.Connectors) + 1
		b.Connectors = append(b.Connectors, c)
	}
	for _, u := range loom.Units(b.Design) {
		units[u.Name] = true
		for _, p := range b.Loom.Plugs(u) {
			c := Connector{Unit: true, Lines: p.Rows, Letter: p.Letter, Device: u.Name, At: u.At}
			for _, w := range p.Ways {
				node := w.Name
				if len(b.wires[node]) == 0 && len(b.wires[loom.PinNode(node)]) > 0 {
					node = loom.PinNode(node)
				}
				c.Ways, c.Marks = append(c.Ways, node), append(c.Marks, w.Mark)
			}
			put(c)
		}
	}
	for _, it := range b.Design.Devices {
		if units[it.Name] {
			continue
		}
		c := Connector{Device: it.Name, At: it.At}
		for _, t := range it.Part.Terminals {
			if t.Value.Role != "post" && t.Value.Role != "case" {
				c.Ways, c.Marks = append(c.Ways, it.Name+" "+t.Name), append(c.Marks, t.Name)
			}
		}
		if len(c.Ways) > 0 {
			put(c)
		}
	}
}

// row puts a row of things at a place and tells where it stands.
func (b *Board) row(place string, r harness.Row) (p, row int) {
	p = b.placeAt[place]
	b.places[p].Rows = append(b.places[p].Rows, r)
	return p, len(b.places[p].Rows) - 1
}

func (b *Board) seat(node string, s Seat) {
	if _, taken := b.spots[node]; !taken && node != "" {
		b.spots[node] = s
	}
}

// boxPlace is where the fuse box is.
func (b *Board) boxPlace() string {
	if n := b.Design.File.Loom.FuseBox.Name; n != "" {
		return n
	}
	return b.Design.One("battery").At
}

// box puts fuses and relays where they sit.
func (b *Board) box() {
	box := b.boxPlace()
	b.rails(box)
	for i := range b.Loom.Relays {
		k := &b.Loom.Relays[i]
		p, row := b.row(box, harness.Row{Sign: harness.Relay, Label: k.Name + " relay, " + k.Group, Things: []harness.Thing{{ID: k.Name, Title: "relay " + k.Name + ", " + k.Group}}})
		for _, t := range []string{"30", "87", "86", "85"} {
			b.seat(k.Node(t), Seat{harness.Spot{Place: p, Row: row}, 0, "relay " + k.Name + " " + k.Group + ", terminal " + t, k.Name})
		}
	}
	for i := range b.Loom.Fuses {
		f := &b.Loom.Fuses[i]
		at := f.Place
		if at == "" {
			at = box
		}
		says := FuseSays(f)
		p, row := b.row(at, harness.Row{Sign: harness.Fuse, Label: f.Name + " " + says + ",", Figure: drawing.Label{Text: rating(f), Ref: string(f.RatingA.ID)}, Things: []harness.Thing{{ID: f.Name, Title: "fuse " + f.Name + ", " + says}}})
		spot := harness.Spot{Place: p, Row: row}
		b.seat(f.To, Seat{spot, 0, "fuse " + f.Name + ", load side", f.Name})
		if f.Feed == "" {
			b.seat(f.From, Seat{spot, 0, "fuse " + f.Name + ", supply side", f.Name})
		}
	}
}

// rails puts the busbar and the terminals of the key switch in the box.
func (b *Board) rails(box string) {
	if len(b.wires[loom.NodeBus]) > 0 {
		p, row := b.row(box, harness.Row{Sign: harness.Ring, Label: "busbar", Things: []harness.Thing{{ID: loom.NodeBus, Title: "busbar of the fuse box"}}})
		b.seat(loom.NodeBus, Seat{harness.Spot{Place: p, Row: row}, 0, "busbar of the fuse box", loom.NodeBus})
	}
	for i := range b.Loom.Wires { // what the key switch feeds, as terminals of the box
		if node := b.Loom.Wires[i].To.Node; strings.HasPrefix(node, "rail ") {
			p, row := b.row(box, harness.Row{Sign: harness.Ring, Label: "terminal " + strings.TrimPrefix(node, "rail "), Things: []harness.Thing{{ID: node, Title: "terminal " + strings.TrimPrefix(node, "rail ") + " of the fuse box"}}})
			b.seat(node, Seat{harness.Spot{Place: p, Row: row}, 0, "fuse box, terminal " + strings.TrimPrefix(node, "rail "), node})
		}
	}
}

// FuseSays is what a fuse is for, in a word or two.
func FuseSays(f *loom.Fuse) string {
	switch {
	case f.Feed != "":
		return f.Feed
	case f.Relay != "":
		return f.Relay + " relay"
	case f.Name == "M2":
		return "alternator"
	}
	return "main"
}

func (b *Board) splices() {
	for _, s := range b.Loom.Splices {
		says := strings.TrimPrefix(s.Node, "splice ")
		p, row := b.row(s.Place, harness.Row{Sign: harness.Splice, Label: s.Name + " splice, " + says, Things: []harness.Thing{{ID: s.Name, Title: "splice " + s.Name + ", " + says}}})
		b.seat(s.Node, Seat{harness.Spot{Place: p, Row: row}, 0, "splice " + s.Name + " " + says, s.Name})
	}
}

// plugs puts every connector at its place; those of one entry of the file share
// a row.
func (b *Board) plugs() {
	for i := 0; i < len(b.Connectors); i++ {
		c := b.Connectors[i]
		if len(c.Ways) == 0 {
			continue
		}
		n := i + 1
		written, _ := b.item(c.Device)
		for !c.Unit && written != "" && n < len(b.Connectors) && n-i < mostInRow {
			next, _ := b.item(b.Connectors[n].Device)
			if next != written || b.Connectors[n].At != c.At {
				break
			}
			n++
		}
		b.plugRow(b.Connectors[i:n])
		i = n - 1
	}
}

// mostInRow is how many connectors of one entry stand in a row.
const mostInRow = 6

// item is the entry of the file that a device of several comes from; empty for
// one that stands alone.
func (b *Board) item(device string) (written string, ok bool) {
	for i := range b.Design.Devices {
		if it := &b.Design.Devices[i]; it.Name == device {
			if it.Name == it.Written {
				return "", true
			}
			return it.Written, true
		}
	}
	return "", false
}

func (b *Board) plugRow(cs []Connector) {
	first, last := cs[0], cs[len(cs)-1]
	r := harness.Row{Label: first.ID() + " " + first.Says()}
	if len(cs) > 1 {
		written, _ := b.item(first.Device)
		r.Label = fmt.Sprintf("%s … %s %s %s … %s", first.ID(), last.ID(), written,
			strings.TrimSpace(strings.TrimPrefix(first.Device, written)), strings.TrimSpace(strings.TrimPrefix(last.Device, written)))
	}
	for _, c := range cs {
		r.Things = append(r.Things, harness.Thing{ID: c.ID(), Title: c.ID() + " " + c.Says(), Label: c.ID() + " " + c.Says(), Ways: len(c.Ways), Lines: c.Lines})
	}
	p, row := b.row(first.At, r)
	for k, c := range cs {
		for w, node := range c.Ways {
			b.seat(node, Seat{harness.Spot{Place: p, Row: row, Thing: k}, w + 1, c.ID() + " " + c.Says() + ", way " + c.Marks[w], c.ID()})
		}
	}
}

// posts puts the terminals of battery, starter and alternator that take an
// eyelet.
func (b *Board) posts() {
	for _, it := range b.Design.Devices {
		for _, t := range it.Part.Terminals {
			if t.Value.Role != "post" {
				continue
			}
			node := it.Name + " " + t.Name
			p, row := b.row(it.At, harness.Row{Sign: harness.Ring, Label: node, Things: []harness.Thing{{ID: node, Title: node + ", eyelet"}}})
			b.seat(node, Seat{harness.Spot{Place: p, Row: row}, 0, node, node})
		}
	}
}

func (b *Board) bolts() {
	for _, g := range b.Loom.Grounds {
		if g.Node != "ground "+g.Place {
			continue // a case on the block
		}
		says := g.Name + " ground bolt, " + g.In
		p, row := b.row(g.Place, harness.Row{Sign: harness.Ground, Label: says, Things: []harness.Thing{{ID: g.Name, Title: says}}})
		b.seat(g.Node, Seat{harness.Spot{Place: p, Row: row}, 0, "ground bolt " + g.Name + ", " + g.Place, g.Name})
	}
}

// lead puts the rows of the root before it, where there are few.
func (b *Board) lead() {
	rows := b.places[b.root].Rows
	for i := range rows {
		rows[i].Lead = len(rows) <= mostLead || rows[i].Sign == harness.Plug && rows[i].Things[0].Ways > mostLead
	}
}

// mostLead is how many rows stand before the root; above it only the large plugs
// do.
const mostLead = 12

// Seat is where a node is; ok is false for nodes inside a unit or the metal of
// the vehicle.
func (b *Board) Seat(node string) (Seat, bool) {
	s, ok := b.spots[node]
	return s, ok
}

// order sorts the rows of a place: what divides first, then the plugs.
func order(s harness.Sign) int {
	return slices.Index([]harness.Sign{harness.Fuse, harness.Relay, harness.Ring, harness.Splice, harness.Ground, harness.Plug, harness.Onward}, s)
}

// PlaceOf is the name of the place that a node sits at.
func (b *Board) PlaceOf(s Seat) string { return b.places[s.Spot.Place].Name }

// Named is a thing on the board with its words.
type Named struct{ ID, Says string }

// Sited is a place with what a wire can end at there.
type Sited struct {
	Name, Says string // Says: how much is there, how a person finds it
	Things     []Named
}

// Places lists the places at which anything sits.
func (b *Board) Places() []Sited {
	var out []Sited
	for _, p := range b.places {
		s := Sited{Name: p.Name}
		for _, r := range p.Rows {
			if r.Sign == harness.Onward {
				continue
			}
			for _, t := range r.Things {
				s.Things = append(s.Things, Named{t.ID, strings.TrimSpace(strings.TrimPrefix(t.Title, t.ID))})
			}
		}
		if len(s.Things) == 0 {
			continue
		}
		says := []string{digits(len(s.Things)) + " things"}
		if len(s.Things) == 1 {
			says[0] = "1 thing"
		}
		if p.More != "" {
			says = append(says, p.More)
		}
		s.Says = strings.Join(says, ", ")
		out = append(out, s)
	}
	return out
}

// Things lists what a wire can end at, in the order of the places.
func (b *Board) Things() []Named {
	var out []Named
	for _, p := range b.Places() {
		for _, t := range p.Things {
			out = append(out, Named{t.ID, t.Says + ", " + p.Name})
		}
	}
	return out
}
