package loomsheet

import (
	"fmt"
	"html/template"
	"net/url"
	"strconv"
	"strings"

	"fettle/internal/drawing"
	"fettle/internal/loom"
	"fettle/internal/plate"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

// Plug is a plug drawn from both sides, with the list of its ways.
type Plug struct {
	ID, Title string
	Count     string // "28 of 56 ways in use"
	Note      string
	Wires     template.HTML // the side where wires enter
	Mating    template.HTML
	Phone     template.HTML
	PhoneMate template.HTML
	Ways      []Way // in use
	Spare     []Spare
	Picked    *Picked
}

// Way is a row of the list.
type Way struct {
	ID, Mark, Href string
	Does, Serves   string
	Wires          []Wire
	By             string
	Picked         bool
}

// Wire is a wire at a way.
type Wire struct {
	Number, Href string
	Follow       string // on the drawing
	Colour       string
	Size, Length shell.Fig
	Way          string // the places it comes by
}

// Spare lists ways that could do the same and do nothing.
type Spare struct{ Marks, Can string }

// Picked is the way that was picked.
type Picked struct {
	Name, Serves, Does string
	Why                string
	Wires              []Wire
	Empty              string
}

// Widths of the drawn faces, on a sheet and on a phone.
const (
	faceWidth  = 986
	mateWidth  = 620
	phoneWidth = 328
)

func (v sheet) plug(p loom.Plug) Plug {
	title := "Plug " + p.Letter + " of the " + p.Unit
	if p.Letter == "" {
		title = "Terminals of the " + p.Unit
	}
	out := Plug{ID: "plug-" + shell.Slug(p.Unit+" "+p.Letter), Title: title}
	used := 0
	spare := map[string][]string{}
	var order []string
	face := plate.Face(v.l, &p, v.serves)
	face.Name, face.Title, face.Width = out.ID, title+", from the side where the wires enter", faceWidth
	for i := range p.Ways {
		w := &p.Ways[i]
		picked := w.Name == v.Ask.Pin
		face.Ways[i].To, face.Ways[i].Picked = wayHref(w.Name), picked
		switch {
		case w.Used():
			used++
			out.Ways = append(out.Ways, v.way(w))
		case w.Can != nil:
			can := strings.Join(w.Can, ", ")
			if spare[can] == nil {
				order = append(order, can)
			}
			spare[can] = append(spare[can], w.Mark)
		}
		if picked {
			out.Picked = v.picked(w)
		}
	}
	for _, can := range order {
		out.Spare = append(out.Spare, Spare{runs(spare[can]), can})
	}
	out.Count = fmt.Sprintf("%d of %d ways in use", used, len(p.Ways))
	if !p.Stated {
		out.Note = "Nobody has described how its ways lie in rows; they are drawn in the usual way. The numbers on the plug itself are right."
	}
	out.Note = strings.TrimSpace(out.Note + " " + v.alike(&p))
	v.drawn(&out, face)
	return out
}

// drawn draws the face from both sides, for a sheet and for a phone; only the
// side where the wires enter leads on, so that each way is one stop.
func (v sheet) drawn(out *Plug, f drawing.Face) {
	out.Wires = shell.Draw(f.Draw(), true)
	f.Name, f.Width, f.Brief = out.ID+"-phone", phoneWidth, true
	out.Phone = shell.Draw(f.Draw(), false)
	f.Ways = append([]drawing.FaceWay(nil), f.Ways...)
	for i := range f.Ways {
		f.Ways[i].To = ""
	}
	f.Mating, f.Title = true, out.Title+", from the side that mates"
	f.Name = out.ID + "-phone-mate"
	out.PhoneMate = shell.Draw(f.Draw(), false)
	f.Name, f.Width = out.ID+"-mate", mateWidth
	out.Mating = shell.Draw(f.Draw(), true)
}

// alike says how many wires of a plug share their colour with another there.
func (v sheet) alike(p *loom.Plug) string {
	count, n := map[string]int{}, 0
	for _, w := range p.Ways {
		for _, k := range w.Wires {
			count[v.l.Wires[k].Colour]++
		}
	}
	for _, c := range count {
		if c > 1 {
			n += c
		}
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("%d wires here share a colour with another; the number on the wire tells them apart.", n)
}

func wayHref(name string) string {
	return "/loom?" + url.Values{"pin": {name}}.Encode() + "#picked"
}

func (v sheet) way(w *loom.PlugWay) Way {
	row := Way{ID: "way-" + shell.Slug(w.Name), Mark: w.Mark, Href: wayHref(w.Name), Does: strings.Join(w.Can, ", "), Serves: v.serves(w), By: "decided", Picked: w.Name == v.Ask.Pin}
	if w.Pin != nil {
		row.Does = w.Pin.Can
		if w.Pin.Fixed {
			row.By = "fixed in the file"
		}
	} else {
		row.By = "by the unit"
	}
	for _, k := range w.Wires {
		row.Wires = append(row.Wires, v.wire(&v.l.Wires[k]))
	}
	return row
}

// serves says what a way is for: the terminal at the other end, or what its
// splice joins, or where its supply or ground comes from.
func (v sheet) serves(w *loom.PlugWay) string {
	if w.Pin != nil {
		return w.Pin.Device
	}
	wire := &v.l.Wires[w.Wires[0]]
	if wire.Feed != "" {
		return wire.Feed + " supply"
	}
	far := wire.To.Node
	if far == w.Name {
		far = wire.From.Node
	}
	return strings.TrimPrefix(far, "splice ")
}

func (v sheet) wire(w *loom.Wire) Wire {
	out := Wire{Number: strconv.Itoa(w.Number), Href: "/power#" + vehicle.WireAnchor(w.Number), Follow: v.wireHref(w.Number), Colour: w.Colour}
	out.Size, _ = v.Figs.Of(w.Area.ID)
	out.Length, _ = v.Figs.Of(vehicle.WireLengthID(w))
	out.Way = v.route(w)
	return out
}

// route names the places that a wire comes by.
func (v sheet) route(w *loom.Wire) string {
	stops := []string{w.From.Place}
	at := w.From.Place
	for _, k := range w.Routes {
		r := &v.Ask.Result.Design.File.Routes[k]
		switch at {
		case r.From.Name:
			at = r.To.Name
		case r.To.Name:
			at = r.From.Name
		default: // not in the order of travel: name the ends alone
			return w.From.Place + " to " + w.To.Place
		}
		stops = append(stops, at)
	}
	if len(stops) < 2 || at != w.To.Place {
		return w.From.Place + " to " + w.To.Place
	}
	return strings.Join(stops, ", ")
}

func (v sheet) picked(w *loom.PlugWay) *Picked {
	out := &Picked{Name: w.Name}
	if !w.Used() {
		out.Empty = "No wire ends here: nothing in the vehicle needs what it can do."
		out.Does = strings.Join(w.Can, ", ")
		if w.Can == nil {
			out.Empty = "Nothing is behind this way of the unit; close it with a blanking plug."
		}
		return out
	}
	row := v.way(w)
	out.Serves, out.Does, out.Wires = row.Serves, strings.Join(w.Can, ", "), row.Wires
	switch {
	case w.Pin == nil:
		out.Why = "The unit has this terminal for that, and no other."
	default:
		out.Why = capital(w.Pin.Reason())
	}
	return out
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// runs writes numbers that follow each other as a run: "3 to 6, 9".
func runs(marks []string) string {
	var out []string
	for i := 0; i < len(marks); {
		k := i
		for k+1 < len(marks) && follows(marks[k], marks[k+1]) {
			k++
		}
		switch {
		case k == i:
			out = append(out, marks[i])
		case k == i+1:
			out = append(out, marks[i], marks[k])
		default:
			out = append(out, marks[i]+" to "+marks[k])
		}
		i = k + 1
	}
	return strings.Join(out, ", ")
}

func follows(a, b string) bool {
	x, err1 := strconv.Atoi(a)
	y, err2 := strconv.Atoi(b)
	return err1 == nil && err2 == nil && y == x+1
}
