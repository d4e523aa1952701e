package loomsheet

import (
	"html/template"
	"math"
	"net/url"
	"strconv"

	"fettle/internal/drawing"
	"fettle/internal/drawing/harness"
	"fettle/internal/figure"
	"fettle/internal/formboard"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

// Drawn is the harness with what is picked on it.
type Drawn struct {
	Harness template.HTML
	Find    string
	State   string // key, kept with the find form
	Options []shell.Option
	Matches []Match // when what was sought may be several things
	Nothing string  // when it is none
	Thing   string  // the picked thing, whose wires Matches lists
	Places  []Place // what sits where, for a narrow screen, while nothing is picked
	Pick    *Pick
}

// Place is a place with what sits there.
type Place struct {
	Name, Note string
	Things     []Match
}

// Match leads to something that was sought.
type Match struct {
	Name, Href string
	Current    bool
}

// Pick is a followed wire.
type Pick struct {
	Title      string // "Wire 23, fuel pump 1"
	Of         string // the device whose way it is
	Stations   []Station
	At         int
	Here       string
	Prev, Next *Match // stations before and after
	LetGo      string
	Strip      template.HTML
	Why        []Reason
	Chart      template.HTML // its fuse against it
}

// Station is a station with what lies behind it.
type Station struct {
	N       int
	ID      string
	Name    string
	Href    string
	Place   string
	Volt    shell.Fig
	Current bool
	Then    []Leg
}

// Leg is one thing between two stations.
type Leg struct {
	Name   string
	Href   string // of a wire
	Says   []shell.Fig
	Drop   shell.Fig
	Back   bool
	Load   bool
	Picked bool
}

// Reason is why something about the wire is as it is.
type Reason struct {
	Name string
	Figs []shell.Fig
	Text string
}

// drawWidth is the width of the drawing on a sheet.
const drawWidth = 1000

// harness makes the drawing and what is picked on it.
func (v sheet) harness() Drawn {
	b := formboard.New(v.Ask.Result.Design, v.l)
	s := shell.Chosen(v.Ask.Result, v.Ask.State)
	out := Drawn{Find: v.Ask.Find, State: v.Ask.State}
	for i := range v.Ask.Result.Solved.States {
		st := &v.Ask.Result.Solved.States[i]
		out.Options = append(out.Options, shell.Option{Value: st.Key, Text: shell.StateName(st.Name), Current: st.Key == s.Key})
	}
	tree := b.Tree("harness", drawWidth, func(id string) string { return v.address(url.Values{"thing": {id}}) })
	w := v.sought(b, &out)
	if w != nil {
		if f, ok := b.Follow(v.Ask.Result.Solved.Vehicle, w.Number); ok {
			p := &picker{sheet: v, b: b, s: s, w: w, f: f}
			out.Pick = p.pick()
			b.Mark(&tree, f, out.Pick.At, p.fails, p.stationHref)
			formboard.Fold(&tree)
		}
	}
	if out.Pick == nil {
		out.Places = v.places(b)
	}
	out.Harness = shell.Draw(tree.Draw(), false)
	return out
}

func (v sheet) places(b *formboard.Board) (out []Place) {
	for _, p := range b.Places() {
		q := Place{Name: p.Name, Note: p.Says}
		for _, t := range p.Things {
			q.Things = append(q.Things, Match{Name: t.ID + " " + t.Says, Href: v.address(url.Values{"thing": {t.ID}})})
		}
		out = append(out, q)
	}
	return out
}

// address leads to this sheet with something picked, in the same state.
func (v sheet) address(q url.Values) string {
	if v.Ask.State != "" {
		q.Set("state", v.Ask.State)
	}
	return "/loom?" + q.Encode() + "#drawing"
}

func (v sheet) wireHref(n int) string { return v.address(url.Values{"wire": {strconv.Itoa(n)}}) }

func (v sheet) wireMatch(w *loom.Wire) Match {
	return Match{Name: "wire " + strconv.Itoa(w.Number) + ", " + w.Name, Href: v.wireHref(w.Number)}
}

// picker gathers what is told of a followed wire.
type picker struct {
	sheet
	b *formboard.Board
	s *vehicle.State
	w *loom.Wire
	f formboard.Followed
}

func (p *picker) id(subject, name string) figure.ID {
	return figure.ID(p.s.Key + "/" + subject + "/" + name)
}

func (p *picker) stationHref(n int) string {
	q := url.Values{"wire": {strconv.Itoa(p.w.Number)}, "at": {strconv.Itoa(n)}}
	return p.address(q)
}

// fails reports a wire that loses more than it may in the chosen state.
func (p *picker) fails(hop string) bool {
	w, ok := p.b.Wire(hop)
	if !ok || !p.s.Ended.OK || w.LimitV <= 0 {
		return false
	}
	drop, _, ok := p.s.WireDropV(w.Number)
	return ok && math.Abs(drop) > w.LimitV
}

func (p *picker) pick() *Pick {
	out := &Pick{Title: "Wire " + strconv.Itoa(p.w.Number) + ", " + p.w.Name, Of: p.f.Device, LetGo: p.address(url.Values{})}
	n := len(p.f.Stations)
	at, err := strconv.Atoi(p.Ask.At)
	if err != nil || at < 1 || at > n {
		at = 1
	}
	out.At = at
	for i, s := range p.f.Stations {
		st := Station{N: i + 1, ID: s.Seat.ID, Name: s.Seat.Name, Href: p.stationHref(i + 1), Current: i+1 == at, Place: p.b.PlaceOf(s.Seat)}
		st.Volt = p.volts(s.Node)
		if i < len(p.f.Legs) {
			st.Then = p.legs(p.f.Legs[i])
		}
		out.Stations = append(out.Stations, st)
	}
	out.Here = out.Stations[at-1].Name
	neighbour := func(i int) *Match {
		if i < 1 || i > n {
			return nil
		}
		return &Match{Name: out.Stations[i-1].Name, Href: p.stationHref(i)}
	}
	out.Prev, out.Next = neighbour(at-1), neighbour(at+1)
	out.Strip = shell.Draw(p.strip(at), false)
	out.Why = p.reasons()
	if g := &p.w.Guard; g.Fuse != "" && g.ShortA > g.RatingA {
		plot := p.b.TimeCurrent(p.w, "fuse-chart", 340)
		plot.Height = 300
		out.Chart = shell.Draw(plot.Draw(), false)
	}
	return out
}

func (p *picker) volts(node string) shell.Fig {
	id := vehicle.NodeID(p.s.Key, node)
	if node == loom.PostNode(p.Ask.Result.Design.One("battery"), 0) {
		id = p.id("battery", "VoltageV")
	}
	f, ok := p.Figs.In(id, "V", 2)
	if ok {
		f.Text += "\u00a0V"
	}
	return f
}

func (p *picker) legs(l formboard.Leg) []Leg {
	var out []Leg
	for _, h := range l.Hops {
		leg := Leg{Name: h.Name, Back: h.Back}
		if w, ok := p.b.Wire(h.Name); ok {
			size, _ := p.Figs.Of(w.Area.ID)
			long, _ := p.Figs.Of(vehicle.WireLengthID(w))
			leg.Says = []shell.Fig{{Text: ", " + w.Colour + " "}, size, {Text: ", "}, long}
			leg.Href, leg.Picked = p.wireHref(w.Number), w.Number == p.w.Number
		}
		if f, ok := p.Figs.Amount(p.id(h.Name, "DropV"), "V", 2); ok {
			f.Text = "−" + f.Text + "\u00a0V"
			f.Bad = p.fails(h.Name)
			leg.Drop = f
		}
		out = append(out, leg)
	}
	if l.Load {
		leg := Leg{Name: p.f.Device + " itself", Load: true}
		if f, ok := p.Figs.In(p.id(p.f.Device, "VoltageV"), "V", 2); ok {
			f.Text += "\u00a0V"
			leg.Drop = f
		}
		out = append(out, leg)
	}
	return out
}

// strip is the way to scale as a line, for a phone.
func (p *picker) strip(at int) *drawing.Drawing {
	s := harness.Line{Name: "strip", Title: "The way as a strip, station " + strconv.Itoa(at) + " of " + strconv.Itoa(len(p.f.Stations)), Width: 328, At: at}
	for i := range p.f.Stations {
		stop := harness.LineStop{To: p.stationHref(i + 1)}
		if i < len(p.f.Legs) {
			for _, h := range p.f.Legs[i].Hops {
				if w, ok := p.b.Wire(h.Name); ok {
					stop.LengthMM += drawing.Number(w.LengthM * 1000)
					long, _ := p.Figs.Of(vehicle.WireLengthID(w))
					if stop.Length = long.Label(); h.Name != p.f.Legs[i].Hops[0].Name {
						stop.Length = drawing.Label{} // of several together there is no figure
					}
					stop.Bad = stop.Bad || p.fails(h.Name)
				}
			}
			stop.Return, stop.Load = p.f.Legs[i].Back, p.f.Legs[i].Load
		}
		s.Stops = append(s.Stops, stop)
	}
	return s.Draw()
}

// reasons says why the wire is as it is: its pin, size, drop and fuse.
func (p *picker) reasons() []Reason {
	name := vehicle.WireName(p.w.Number)
	out := []Reason{}
	for i := range p.l.Pins {
		pin := &p.l.Pins[i]
		if pin.Node != p.w.From.Node && pin.Node != p.w.To.Node {
			continue
		}
		out = append(out, Reason{Name: "Pin " + pin.Pin, Text: capital(pin.Reason())})
	}
	if with := p.b.Bond(p.w.Number); with != "" {
		out = append(out, Reason{Name: "Runs", Text: capital(with)})
	}
	if apart := p.b.Apart(p.w.Number); apart != "" {
		out = append(out, Reason{Name: "Keeps", Text: apart})
	}
	size := Reason{Name: "Size", Text: p.w.Why}
	if f, ok := p.Figs.Of(p.w.Area.ID); ok {
		size.Figs = append(size.Figs, f)
	}
	out = append(out, size)
	drop := Reason{Name: "Drop"}
	if f, ok := p.Figs.Amount(p.id(name, "DropV"), "V", 3); ok {
		f.Text += "\u00a0V"
		f.Bad = p.fails(name)
		drop.Figs = append(drop.Figs, f)
		if a, ok := p.Figs.Amount(p.id(name, "CurrentA"), "A", 2); ok {
			a.Text += "\u00a0A"
			drop.Figs = append(drop.Figs, shell.Fig{Text: " at "}, a)
		}
	} else {
		drop.Text = "It carries nothing that is reckoned in this state."
	}
	if f, ok := p.Figs.Of(vehicle.WireLimitID(p.w)); ok && len(drop.Figs) > 0 && p.w.LimitV > 0 {
		drop.Figs = append(drop.Figs, shell.Fig{Text: ", at most "}, f)
	}
	out = append(out, drop)
	fuse := Reason{Name: "Fuse", Text: "none of its own; guarded by " + p.w.Guard.By}
	for i := range p.l.Fuses {
		f := &p.l.Fuses[i]
		if f.Name != p.w.Guard.Fuse {
			continue
		}
		fuse.Text = ""
		fuse.Figs = []shell.Fig{{Text: f.Name + ", "}}
		if g, ok := p.Figs.Of(f.RatingA.ID); ok {
			fuse.Figs = append(fuse.Figs, g)
		}
		if !p.w.Guard.Holds {
			fuse.Figs = append(fuse.Figs, shell.Fig{Text: ": does not protect it", Bad: true})
		}
	}
	return append(out, fuse)
}
