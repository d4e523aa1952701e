// Package plate draws what both the pages and the book show of a vehicle: the
// engine from above, two turns of its wheels and cams, and the faces of the
// control units' plugs.
//
// Conventions: a plate is asked for by its width; on a phone the engine stands
// upright. Nothing is said that the file does not say: what is not known is told
// beneath the drawing. Start reading at [Engine], then [Trigger] and [Face].
package plate

import (
	"slices"
	"strconv"
	"strings"

	"fettle/internal/design"
	"fettle/internal/drawing"
	"fettle/internal/loom"
)

// AtWheel is how the file says that numbering begins at the flywheel.
const AtWheel = "the flywheel"

// Engine draws the cylinders from above with their order and channels.
func Engine(d *design.Design, l *loom.Loom, name string, width drawing.Px, upright bool) *drawing.Drawing {
	e := &d.File.Engine
	p := drawing.EnginePlan{
		Name: name, Title: "The cylinders from above, with their order and channels", Width: width, Upright: upright, Ends: [2]string{"timing drive", "flywheel"},
		AtWheel: e.NumberedFrom == AtWheel, Foot: "Seen from above; distances are not to scale.",
	}
	banks := make([][]drawing.Bore, 2)
	for c := 1; c <= e.Cylinders; c++ {
		k := d.BankOf(c) - 1
		banks[k] = append(banks[k], drawing.Bore{Number: strconv.Itoa(c), Notes: boreNotes(d, l, c)})
	}
	p.Banks = banks
	if len(banks[1]) == 0 {
		p.Banks = banks[:1]
	} else {
		p.Foot += " Bank 1 is the one that holds cylinder 1; on which side of the vehicle it lies the file does not say."
	}
	p.Foot += sharedFoot(d, l)
	if e.NumberedFrom == "" {
		p.Foot += " At which end cylinder 1 is the file does not say; it is drawn at the timing drive."
	}
	return p.Draw()
}

// sharedFoot says by what rule shared ways are told to cylinders.
func sharedFoot(d *design.Design, l *loom.Loom) string {
	var what []string
	for _, k := range []struct{ kind, name string }{{"injector", "a pair of injectors"}, {"coil", "a winding"}} {
		if _, ok := shared(d, l, k.kind, 1); ok {
			what = append(what, k.name)
		}
	}
	if len(what) == 0 {
		return ""
	}
	return " Two cylinders that fire a turn apart share " + strings.Join(what, " and ") + ", taken in the order of the file along the firing order: wire them so."
}

func boreNotes(d *design.Design, l *loom.Loom, c int) []drawing.Label {
	out := []drawing.Label{{Text: ordinal(slices.Index(d.Firing, c) + 1)}}
	for _, kind := range []string{"injector", "coil"} {
		if pins := Channel(d, l, kind, c); pins != "" {
			out = append(out, drawing.Label{Text: kind + " " + pins})
		}
	}
	return out
}

// Channel is the way of a control unit that serves a cylinder's device of a kind,
// its own or the one that it shares with its partner a turn away.
func Channel(d *design.Design, l *loom.Loom, kind string, cylinder int) string {
	var out []string
	for _, it := range d.OfKind(kind) {
		if it.Cylinder != cylinder {
			continue
		}
		for _, pin := range l.Pins {
			if strings.HasPrefix(pin.Device, it.Name+" ") {
				out = append(out, pin.Pin)
			}
		}
	}
	if way, ok := shared(d, l, kind, cylinder); ok && len(out) == 0 {
		return way
	}
	return strings.Join(out, ", ")
}

// shared is the way of the winding or the pair of injectors that two cylinders
// share which fire one turn apart: in the order of the file along the firing
// order, since the file names no cylinders for them.
func shared(d *design.Design, l *loom.Loom, kind string, cylinder int) (string, bool) {
	e := &d.File.Engine
	pairs := len(d.Firing) / 2
	at := slices.Index(d.Firing, cylinder)
	if at < 0 || len(d.Firing)%2 != 0 || e.Fires == unevenly || kind == "coil" && e.Spark != "wasted spark" {
		return "", false
	}
	var ways []string
	for _, it := range d.OfKind(kind) {
		if it.Cylinder != 0 {
			return "", false
		}
		var own []loom.Pin
		for _, pin := range l.Pins {
			if strings.HasPrefix(pin.Device, it.Name+" ") {
				own = append(own, pin)
			}
		}
		slices.SortFunc(own, func(a, b loom.Pin) int { return strings.Compare(a.Device, b.Device) })
		for _, pin := range own {
			ways = append(ways, pin.Pin)
		}
	}
	if len(ways) != pairs {
		return "", false
	}
	return ways[at%pairs], true
}

// ordinal says as which one a cylinder fires.
func ordinal(n int) string {
	end := "th"
	switch {
	case n <= 0:
		return "never fires"
	case n%100/10 == 1:
	case n%10 == 1:
		end = "st"
	case n%10 == 2:
		end = "nd"
	case n%10 == 3:
		end = "rd"
	}
	return "fires " + strconv.Itoa(n) + end
}

// Face makes the face of a plug as the wires enter it; serves says what a way in
// use is for. The caller sets width, side and links.
func Face(l *loom.Loom, p *loom.Plug, serves func(w *loom.PlugWay) string) drawing.Face {
	f := drawing.Face{Rows: p.Rows}
	for i := range p.Ways {
		w := &p.Ways[i]
		fw := drawing.FaceWay{Mark: w.Mark, Title: "way " + w.Mark}
		switch {
		case w.Used():
			fw.Use, fw.Serves, fw.Colour = drawing.Used, serves(w), l.Wires[w.Wires[0]].Colour
			fw.Title += ", " + fw.Serves
		case w.Can == nil:
			fw.Use = drawing.Blanked
			fw.Title += ", nothing is behind it"
		default:
			fw.Title += ", spare: " + strings.Join(w.Can, ", ")
		}
		f.Ways = append(f.Ways, fw)
	}
	return f
}
