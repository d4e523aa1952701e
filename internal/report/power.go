package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/drawing"
	"fettle/internal/loom"
	"fettle/internal/paper"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
)

// mostPx is the tallest piece of the one-line diagram: a sheet less its title
// and note.
const mostPx = 830

func (b *book) power() {
	b.doc.Sheet("Power, one-line")
	s := b.Solved.State(design.Idle)
	if s == nil || !s.Ended.OK {
		b.doc.Verdict(paper.Run{Text: "Hot idle with everything on has no answer."})
		b.doc.Lede("The diagram needs a state that settles. " + b.unsolved(design.Idle))
		return
	}
	b.doc.Verdict(paper.Run{Text: "Hot idle with everything on"})
	b.doc.Lede(fmt.Sprintf("At %s outside. Volts are those across the device that gets least, amperes those through the fuse; beneath a fuse or relay stands what it carries of what it may.",
		show(b.Design.File.Climate.HottestK.SI, "°C")))
	o := (&oneLine{book: b, s: s}).draw()
	for i, part := range o.Sheets(mostPx) {
		caption := ""
		if i == 0 {
			caption = "The alternator's cable ends at the battery's post, behind its own fuse; what M1 carries to the busbar comes from both. Dashes: return path, to the ground bolt named."
		}
		b.doc.Draw(part.Draw(), caption)
	}
}

// oneLine gathers the power side in one state.
type oneLine struct {
	*book
	s *vehicle.State
}

func (o *oneLine) draw() drawing.OneLine {
	out := drawing.OneLine{
		Name: "one-line", Title: "Power side, hot idle with everything on", Width: paper.WidthPx(),
		Bus: drawing.Label{Text: "Busbar"}, Sources: o.sources(),
	}
	if v, ok := o.s.NodeV(loom.NodeBus); ok {
		out.Bus.Text = "Busbar " + show(v, "V")
	}
	for _, from := range o.origins() {
		m := drawing.Main{Bus: o.behind(from)}
		o.lead(&m, from)
		for i := range o.Loom.Fuses {
			f := &o.Loom.Fuses[i]
			if f.From == from && f.Feed != "" && !o.leads(f) {
				m.Feeds = append(m.Feeds, o.feed(f))
			}
		}
		if len(m.Feeds) > 0 {
			out.Mains = append(out.Mains, m)
		}
	}
	return out
}

// origins lists the nodes that fuses hang on, in the order of the loom.
func (o *oneLine) origins() []string {
	var out []string
	for _, f := range o.Loom.Fuses {
		if f.Feed != "" && !slices.Contains(out, f.From) {
			out = append(out, f.From)
		}
	}
	return out
}

// leads reports a fuse that only supplies the ignition switch: it is drawn
// before the switch's outputs.
func (o *oneLine) leads(f *loom.Fuse) bool {
	for _, e := range o.ends(f.Feed) {
		if !slices.ContainsFunc(e.item.Part.Terminals, isSource) {
			return false
		}
	}
	return len(o.ends(f.Feed)) > 0
}

// named is a terminal with its name.
type named = buildfile.Named[catalogue.Terminal]

func isSource(t named) bool { return t.Value.Role == "source" }

func (o *oneLine) sources() []drawing.Source {
	p := &o.s.Point
	bat, alt := o.Design.One("battery"), o.Design.One("alternator")
	battery := drawing.Source{Kind: drawing.Battery, Name: capital(bat.Name), Fuse: o.fuse("M1"), Ground: "body, engine", Bad: o.bad[bat.Name]}
	if v, ok := o.s.NodeV(loom.PostNode(bat, 0)); ok {
		battery.Figures = append(battery.Figures, drawing.Label{Text: show(v, "V")})
	}
	flow := "gives " + show(p.BatteryA, "A")
	if p.BatteryA < 0 {
		flow = "takes " + show(-p.BatteryA, "A")
	}
	battery.Figures = append(battery.Figures, drawing.Label{Text: flow})
	charger := drawing.Source{
		Kind: drawing.Alternator, Name: capital(alt.Name), Fuse: o.fuse("M2"), Ground: "engine", Bad: o.bad[alt.Name],
		Figures: []drawing.Label{{Text: show(p.ChargerA, "A") + " of " + show(p.ChargerMostA, "A"), Bad: o.bad[alt.Name]}},
	}
	return []drawing.Source{battery, charger}
}

// fuse is a fuse with what it carries of its rating.
func (o *oneLine) fuse(name string) *drawing.Device {
	for i := range o.Loom.Fuses {
		if f := &o.Loom.Fuses[i]; f.Name == name {
			return &drawing.Device{Name: f.Name + " " + rating(f.RatingA.SI), Bad: o.bad["fuse "+f.Name] || o.bad[f.Name]}
		}
	}
	return nil
}

// rating prints a rating without the decimals that no fuse has.
func rating(amps float64) string {
	decimals := 0
	if amps != math.Trunc(amps) {
		decimals = 1
	}
	return quantity.NumberTo(amps, "A", decimals) + "\u00a0A"
}

// lead sets what stands between the busbar and an origin: a relay, or the
// ignition switch behind its fuse.
func (o *oneLine) lead(m *drawing.Main, from string) {
	for i := range o.Loom.Relays {
		r := &o.Loom.Relays[i]
		if r.Node("87") != from {
			continue
		}
		m.Relay = o.relay(r)
		m.Bad = m.Relay.Bad
		for k := range o.Loom.Fuses {
			if f := &o.Loom.Fuses[k]; f.Feed == "" && f.Relay == r.Group {
				m.Fuse = o.fuse(f.Name)
			}
		}
		return
	}
	if terminal, ok := strings.CutPrefix(from, "rail "); ok {
		m.Relay = &drawing.Device{Name: "Switch " + terminal}
		for i := range o.Loom.Fuses {
			if f := &o.Loom.Fuses[i]; f.Feed != "" && o.leads(f) {
				m.Fuse = o.fuse(f.Name)
			}
		}
	}
}

// relay is a relay with what its contact carries of what it may.
func (o *oneLine) relay(r *loom.Relay) *drawing.Device {
	d := &drawing.Device{Name: r.Name + " " + r.Group}
	if a, ok := o.s.LinkA("relay " + r.Name); ok {
		d.Bad = math.Abs(a) > r.Part.Relay.ContactA.SI
		d.Load = drawing.Label{Text: amperes(a), Bad: d.Bad}
		if math.Abs(a) >= idleA {
			d.Load.Text += " of " + rating(r.Part.Relay.ContactA.SI)
		}
	}
	return d
}

// behind labels an origin with its voltage.
func (o *oneLine) behind(from string) drawing.Label {
	v, ok := o.s.NodeV(from)
	if !ok || from == loom.NodeBus {
		return drawing.Label{}
	}
	if v < deadV {
		return drawing.Label{Text: "dead"}
	}
	return drawing.Label{Text: show(v, "V")}
}

// deadV is the voltage below which a line is called dead.
const deadV = 0.05

// end is a terminal with its device.
type end struct {
	item     design.Item
	terminal string
}

// ends lists the terminals that a group of supply feeds.
func (b *book) ends(feed string) []end {
	var out []end
	for _, it := range b.Design.Devices {
		for _, t := range it.Part.Terminals {
			if t.Value.Role == "feed" && t.Value.Feed == feed {
				out = append(out, end{it, t.Name})
			}
		}
	}
	return out
}

// feed is one fused line with what hangs on it.
func (o *oneLine) feed(f *loom.Fuse) drawing.Feed {
	ends := o.ends(f.Feed)
	out := drawing.Feed{Fuse: o.fuse(f.Name), Load: o.loads(f, ends), Ground: o.returns(ends)}
	if r, ok := o.Loom.Relay(f.Relay); ok && f.Relay != "" {
		out.Relay = o.relay(&r)
	}
	for i := range o.Loom.Wires {
		w := &o.Loom.Wires[i]
		if w.Feed != f.Feed || w.Kind != loom.Supply {
			continue
		}
		if w.From.Node == o.Loom.Leaves(f) {
			out.Wire = w.Colour + " " + w.Size
		}
		if dropV, _, ok := o.s.WireDropV(w.Number); ok && (o.bad[vehicle.WireName(w.Number)] || o.bad["wire "+w.Name]) {
			out.Bad = out.Bad || math.Abs(dropV) > w.LimitV
		}
	}
	if a, ok := o.s.LinkA("fuse " + f.Name); ok {
		out.Amp = drawing.Label{Text: amperes(a)}
	}
	if v, ok := o.leastV(ends); ok {
		out.Volt = drawing.Label{Text: show(v, "V"), Bad: out.Bad}
	}
	return out
}

// amperes prints a current, and what leaks as none.
func amperes(a float64) string {
	if math.Abs(a) < idleA {
		return "off"
	}
	return show(math.Abs(a), "A")
}

// idleA is the current below which a line is called off: what leaks through
// the model of a switched-off load.
const idleA = 1e-4

// leastV is the voltage across the device of the group that gets least among
// those that draw.
func (o *oneLine) leastV(ends []end) (float64, bool) {
	least, found := math.Inf(1), false
	for _, e := range ends {
		for i := range e.item.Part.Loads {
			l := &e.item.Part.Loads[i]
			if l.From != e.terminal || !slices.Contains(l.On, o.s.Name) {
				continue
			}
			if v, ok := o.s.ConsumerV(consumer(e.item, i)); ok {
				least, found = math.Min(least, v), true
			}
		}
	}
	return least, found
}

// consumer is the name of a device's load in the network.
func consumer(it design.Item, i int) string {
	if i == 0 {
		return it.Name
	}
	return fmt.Sprintf("%s %d", it.Name, i+1)
}

// loads names what a line feeds: devices of every cylinder once.
func (o *oneLine) loads(f *loom.Fuse, ends []end) string {
	var out []string
	for _, e := range ends {
		name := e.item.Name
		if e.item.Cylinder > 0 {
			name = fmt.Sprintf("%s 1 … %d", e.item.Written, o.Design.File.Engine.Cylinders)
		}
		if !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	for _, r := range o.Loom.Relays {
		if r.CoilFeed == f.Feed {
			out = append(out, "coil of "+r.Name)
		}
	}
	return capital(strings.Join(out, ", "))
}

// returns names the ground bolts that the devices' own wires go to.
func (o *oneLine) returns(ends []end) string {
	bolts := map[string]string{}
	for _, g := range o.Loom.Grounds {
		bolts[g.Node] = g.Name
	}
	var out []string
	for _, w := range o.Loom.Wires {
		if w.Kind != loom.Return || bolts[w.To.Node] == "" || slices.Contains(out, bolts[w.To.Node]) {
			continue
		}
		if slices.ContainsFunc(ends, func(e end) bool {
			return strings.HasPrefix(w.From.Node, e.item.Name+" ") && ownNode(e.item, w.From.Node)
		}) {
			out = append(out, bolts[w.To.Node])
		}
	}
	return strings.Join(out, ", ")
}

// ownNode reports whether a node is one of the device's terminals.
func ownNode(it design.Item, node string) bool {
	return slices.ContainsFunc(it.Part.Terminals, func(t named) bool { return it.Name+" "+t.Name == node })
}

// terminalOf returns a device's terminal by its node.
func terminalOf(it design.Item, node string) *catalogue.Terminal {
	for i := range it.Part.Terminals {
		if it.Name+" "+it.Part.Terminals[i].Name == node {
			return &it.Part.Terminals[i].Value
		}
	}
	return nil
}
