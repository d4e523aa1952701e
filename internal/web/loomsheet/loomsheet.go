// Package loomsheet is the sheet of the wiring: the faces of the control units'
// plugs with what every way is for, one picked way with its wire and why, and
// the lists of wires, splices and grounds.
//
// Conventions: [View] is pure and makes finished strings; every number it shows
// is looked up in the ledger by its ID. A way is named as the file names it,
// "A12" on the engine controller, "gearbox unit A3" elsewhere. Start reading at
// [View], then [Plug].
package loomsheet

import (
	"embed"
	"fmt"
	"strconv"
	"strings"

	"fettle/internal/loom"
	"fettle/internal/vehicle"
	"fettle/internal/web/domain"
	"fettle/internal/web/shell"
)

//go:embed loomsheet.html
var files embed.FS

// Key names the page in addresses.
const Key = domain.LoomKey

// Template is the page's.
var Template = domain.With(files, "loomsheet.html")

// Body is what the page shows.
type Body struct {
	domain.Body
	Drawn Drawn
	Units []Unit
}

// Unit is a control unit with its plugs.
type Unit struct {
	Name  string
	Plugs []Plug
}

// sheet is the page in the making.
type sheet struct {
	*domain.Page
	l *loom.Loom
}

// View makes the page of a solved vehicle.
func View(a shell.Ask) Body {
	p := domain.New(a, Key, "Every terminal has its place.")
	v := sheet{p, a.Result.Loom}
	if n := len(v.l.Short); n > 0 {
		p.Start, p.Trouble = "Not everything finds a pin: ", fmt.Sprintf("%d terminals are left.", n)
	}
	p.Lede = domain.Says(fmt.Sprintf("%d wires, %d devices, %d fuses, %d relays, %d splices, %d pins in use. What the file fixes stands; the rest is decided, and says why.",
		len(v.l.Wires), len(a.Result.Design.Devices), len(v.l.Fuses), len(v.l.Relays), len(v.l.Splices), len(v.l.Pins)))
	p.Cautions = []string{"Take the battery's negative post off first and put it on last. Fuse the battery's leads within a hand's breadth of the post."}
	v.wires()
	v.joints()
	v.bundles()
	b := Body{}
	for _, unit := range loom.Units(a.Result.Design) {
		u := Unit{Name: unit.Name}
		for _, plug := range v.l.Plugs(unit) {
			u.Plugs = append(u.Plugs, v.plug(plug))
		}
		b.Units = append(b.Units, u)
	}
	b.Drawn = v.harness()
	b.Body = p.Body
	return b
}

func (v sheet) wires() {
	var rows [][]domain.Cell
	for i := range v.l.Wires {
		w := &v.l.Wires[i]
		why := "decided"
		if w.Fixed {
			why = "fixed in the file"
		}
		if w.FuseA > 0 {
			why += ", behind " + v.fuseOf(w)
		}
		rows = append(rows, []domain.Cell{
			domain.Words(strconv.Itoa(w.Number)), domain.Words(w.Name), domain.Words(w.From.Place), domain.Words(w.To.Place), domain.Words(w.Colour),
			domain.Figure(v.Figs.Of(w.Area.ID)), domain.Figure(v.Figs.Of(vehicle.WireLengthID(w))), domain.Words(why),
		})
	}
	v.Add("wires", "Wires", "The loom has none.", []string{"Wire", "To", "From", "At", "Colour", "Size#", "Length#", "Why"}, rows)
}

func (v sheet) fuseOf(w *loom.Wire) string {
	for _, f := range v.l.Fuses {
		if f.Feed != "" && f.Feed == w.Feed {
			return f.Name
		}
	}
	return "a main fuse"
}

// joints lists splices and ground bolts.
func (v sheet) joints() {
	var rows [][]domain.Cell
	for _, s := range v.l.Splices {
		rows = append(rows, []domain.Cell{domain.Words(s.Name), domain.Words(strings.TrimPrefix(s.Node, "splice ")), domain.Words(s.Place), domain.Quoted(v.landmark(s.Place))})
	}
	v.Add("splices", "Splices", "There is none.", []string{"Splice", "Joins", "At", "Found by"}, rows)
	rows = nil
	for _, g := range v.l.Grounds {
		rows = append(rows, []domain.Cell{domain.Words(g.Name), domain.Words(g.Place), domain.Words(g.In), domain.Quoted(v.landmark(g.Place))})
	}
	v.Add("grounds", "Grounds", "There is none.", []string{"Ground", "At", "In", "Found by"}, rows)
}

// landmark is what a person finds a place by.
func (v sheet) landmark(place string) string {
	if i, ok := v.l.Tree.Place(place); ok {
		return v.l.Tree.Places[i].Landmark
	}
	return ""
}

// bundles lists the branches of the harness.
func (v sheet) bundles() {
	var rows [][]domain.Cell
	for i := range v.l.Tree.Branches {
		b := &v.l.Tree.Branches[i]
		rows = append(rows, []domain.Cell{
			domain.Words(b.Name), domain.Figure(v.Figs.In(vehicle.BranchLengthID(b), "m", 2)), domain.Figure(v.Figs.In(vehicle.BranchDiameterID(b), "mm", 1)),
			v.second(b),
			{Text: strconv.Itoa(len(b.Wires)), Number: true},
			domain.Figure(v.Figs.Of(b.HotK.ID)),
		})
	}
	v.Add("bundles", "Bundles", "The loom has none.", []string{"From – to", "Length, m#", "Diameter, mm#", "Second, mm#", "Wires#", "Hottest#"}, rows)
}

// second is the diameter of the bundle that keeps apart from a branch's first.
func (v sheet) second(b *loom.Branch) domain.Cell {
	if len(b.Strands) < 2 {
		return domain.Cell{Number: true}
	}
	return domain.Figure(v.Figs.In(vehicle.BranchSecondID(b), "mm", 1))
}
