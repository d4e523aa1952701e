package report

import (
	"fmt"
	"slices"
	"strings"

	"fettle/internal/formboard"
	"fettle/internal/paper"
)

// sheetOf is how a list is set in the book: which of its columns, and which of
// them are said once for the rows that share them.
type sheetOf struct {
	list, title, lede string
	columns           []string
	heads             map[string]string // shorter than the list's
	once              int               // of the first columns
	joins             bool              // stands on the sheet before it
	ends              []string          // columns of ends, set short
	skip              func(row map[string]string) bool
}

// bench are the lists in the order of the work.
var bench = []sheetOf{
	{
		list: "cut", title: "Cut list", lede: "One reel after the other, the longest piece first. Lengths hold the allowance along the route and the tails.",
		columns: []string{"size", "colour", "cover", "wire", "and", "name", "length", "runs with"}, once: 3,
	},
	{
		list: "cables", title: "Wires that run as one", joins: true, lede: "Twisted pairs and screened cables run together from end to end. A screen is joined to ground at the control unit only: joined at both ends it carries the engine's current.",
		columns: []string{"cable", "is", "wires", "from", "to", "length", "diameter", "screen"},
	},
	{
		list: "apart", title: "What keeps apart", joins: true, lede: "The wires of injectors and coils lie clear of those of crank, cam and knock or cross them at right angles (common practice). Where both take one way they are two bundles.",
		columns: []string{"where", "do", "length", "their bundle", "crank, cam and knock wires", "bundle of those", "both take", "room"},
		heads:   map[string]string{"their bundle": "injectors', coils'", "crank, cam and knock wires": "crank, cam, knock", "bundle of those": "their bundle"},
	},
	{
		list: "reels", title: "Metres of each wire", lede: "Without waste; the bill of materials says what to buy.", joins: true,
		columns: []string{"size", "colour", "cover", "pieces", "length", "longest"}, once: 1,
	},
	{
		list: "wires", title: "Wire list", lede: "Every wire from end to end, under its number. X13.31 is way 31 of connector X13, K4.87 terminal 87 of relay K4; F and M are fuses, S splices, G ground bolts.",
		columns: []string{"wire", "name", "from", "to", "size", "colour", "length"}, ends: []string{"from", "to"},
	},
	{
		list: "pins", title: "Connectors", lede: "Every way of every connector of the devices, read on the wire side; the controller's are in the pin table.",
		columns: []string{"connector", "of", "place", "way", "does", "wire", "size", "colour", "leads to"}, once: 3, ends: []string{"leads to"},
	},
	{
		list: "splices", title: "Splices", columns: []string{"splice", "joins", "place", "landmark", "hottest", "wires", "which", "copper"},
	},
	{
		list: "grounds", title: "Grounds", joins: true, columns: []string{"ground", "on", "place", "landmark", "wires", "which"},
	},
	{
		list: "fuse-box", title: "Fuses and relays, terminal by terminal",
		columns: []string{"thing", "is", "terminal", "rating", "load", "wires", "joined to", "feeds"}, once: 2,
	},
	{
		list: "branches", title: "Branches", joins: true, lede: "From the fuse box outwards. The diameter is that of the bundle without its covering; the second bundles stand under What keeps apart.",
		columns: []string{"branch", "length", "diameter", "wires", "hottest", "flexes", "landmark at its end"}, heads: map[string]string{"landmark at its end": "ends at"},
	},
	{
		list: "labels", title: "Labels", joins: true, lede: "Two on every wire: its number and name, and beneath them where it goes, as the wire list says. These on what is no wire:",
		columns: []string{"label", "second line", "goes on", "place"},
		skip:    func(r map[string]string) bool { return strings.HasPrefix(r["goes on"], "wire,") },
	},
	{
		list: "materials", title: "Bill of materials", lede: "What is counted, and what to buy with an allowance for waste (common practice). Seals and cavity plugs as if every connector were sealed; a dry place inside needs none.",
		columns: []string{"group", "item", "quantity", "counted in", "allowance", "to buy", "for"}, once: 1,
		heads: map[string]string{"counted in": "in", "allowance": "more, %"},
	},
}

// lists sets what the loom is made by.
func (b *book) lists() {
	board := formboard.New(b.Design, b.Loom)
	units := map[string]bool{}
	for _, c := range board.Connectors {
		if c.Unit {
			units[c.ID()] = true
		}
	}
	for _, s := range bench {
		l, ok := board.List(s.list)
		if !ok {
			panic("report: there is no list " + s.list)
		}
		if s.joins {
			b.doc.Heading(s.title)
		} else {
			b.doc.Sheet(s.title)
		}
		if s.lede != "" {
			b.doc.Note(s.lede)
		}
		b.doc.Table(s.set(&l, func(row map[string]string) bool {
			return s.skip != nil && s.skip(row) || s.list == "pins" && units[row["connector"]]
		}))
	}
	b.doc.Note(fmt.Sprintf("All %d lists, with every column, as CSV and JSON: fettle loom.", len(formboard.ListNames())))
}

// set makes the table of a list.
func (s *sheetOf) set(l *formboard.List, skip func(map[string]string) bool) paper.Table {
	t := paper.Table{Empty: "There is none."}
	var at []int
	for _, name := range s.columns {
		k := slices.IndexFunc(l.Columns, func(c formboard.Column) bool { return c.Name == name })
		c := l.Columns[k]
		if !slices.ContainsFunc(l.Rows, func(r []string) bool { return r[k] != "" }) {
			continue // nothing in the whole vehicle has any
		}
		head := capital(name)
		if h := s.heads[name]; h != "" {
			head = capital(h)
		} else if c.Unit != "" && c.Unit != "1" {
			head += ", " + c.Unit
		}
		t.Cols, at = append(t.Cols, paper.Col{Head: head, Right: c.Unit != ""}), append(at, k)
	}
	var last []string
	for _, r := range l.Rows {
		row := map[string]string{}
		for k, c := range l.Columns {
			row[c.Name] = r[k]
		}
		if skip(row) {
			continue
		}
		cells := make([]paper.Cell, len(at))
		same := last != nil
		for i, k := range at {
			cells[i].Text = r[k]
			if slices.Contains(s.ends, l.Columns[k].Name) {
				cells[i].Text = short(r[k])
			}
			if i < s.once {
				same = same && r[k] == last[k]
				cells[i].Bold = true
				if same {
					cells[i] = paper.Cell{}
				}
			}
		}
		last = r
		t.Rows = append(t.Rows, cells)
	}
	return t
}

// short sets an end of a wire briefly: X13.31 coil 1, K4.87 start, F19 load side.
func short(end string) string {
	for _, kind := range []string{"fuse ", "splice ", "relay ", "ground bolt "} {
		if what, ok := strings.CutPrefix(end, kind); ok && !strings.HasPrefix(what, "box") {
			end = what
			break
		}
	}
	for _, sign := range []string{", way ", ", terminal "} {
		words, mark, ok := strings.Cut(end, sign)
		if !ok || strings.HasPrefix(end, "fuse box") {
			continue
		}
		words, _, _ = strings.Cut(words, ", plug ") // its number says which
		id, name, _ := strings.Cut(words, " ")
		return id + "." + mark + " " + name
	}
	return end
}
