// Package supply draws the power side of a solved vehicle: the one-line diagram
// of a state with the currents of its branches and the volts of its buses, and
// what the alternator brings against what is on.
//
// Conventions: figures are labels that name the figure of the ledger they come
// from, so that a page can open them; without a ledger they stand alone. Start
// reading at [Diagram].
package supply

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/drawing"
	"fettle/internal/figure"
	"fettle/internal/loom"
	"fettle/internal/quantity"
	"fettle/internal/rule"
	"fettle/internal/vehicle"
)

// Wrong lists the addresses of the things that findings and their consequences
// are about, in one state or, with none named, in any.
func Wrong(fs []rule.Finding, state string) map[string]bool {
	out := map[string]bool{}
	var add func(fs []rule.Finding)
	add = func(fs []rule.Finding) {
		for _, f := range fs {
			if f.Waived == "" && (state == "" || f.State == "" || f.State == state) {
				out[f.Target] = true
			}
			add(f.Under)
		}
	}
	add(fs)
	return out
}

// Diagram is the power side in one state that settled.
type Diagram struct {
	Design *design.Design
	Loom   *loom.Loom
	State  *vehicle.State
	Ledger *figure.Ledger
	// Wrong and Ever are [Wrong] of the state and of any.
	Wrong, Ever map[string]bool
}

// Of is the diagram of a state of a result with its findings.
func Of(r *vehicle.Result, s *vehicle.State, fs []rule.Finding) *Diagram {
	return &Diagram{r.Vehicle.Design, r.Vehicle.Loom, s, r.Ledger, Wrong(fs, s.Name), Wrong(fs, "")}
}

const (
	milliA = 0.1  // the current below which milliamperes are printed
	idleA  = 1e-4 // the current below which a line is called off: what leaks through the model of a switched-off load
	deadV  = 1.2  // the voltage below which a line is called dead: a tenth of 12 V, at which a relay lets go at the latest (IEC 61810-1)
)

// OneLine gathers the diagram at a width.
func (o *Diagram) OneLine(name, title string, width drawing.Px) drawing.OneLine {
	out := drawing.OneLine{Name: name, Title: title, Width: width, Bus: drawing.Label{Text: "Busbar"}, Sources: o.sources()}
	if v, ok := o.State.NodeV(loom.NodeBus); ok {
		out.Bus = o.label(vehicle.NodeID(o.State.Key, loom.NodeBus), v, "V")
		out.Bus.Text = "Busbar " + out.Bus.Text
	}
	out.Post, out.Feed = drawing.Label{Text: "Post"}, o.fuse("M1")
	if v, ok := o.State.NodeV(loom.PostNode(o.Design.One("battery"), 0)); ok {
		out.Post = o.label(o.id("battery", "VoltageV"), v, "V")
		out.Post.Text = "Post " + out.Post.Text
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
			n := len(out.Mains)
			m.Same = strings.HasPrefix(from, rail) && n > 0 && m.Fuse != nil && out.Mains[n-1].Fuse != nil && out.Mains[n-1].Fuse.Name == m.Fuse.Name
			out.Mains = append(out.Mains, m)
		}
	}
	return out
}

// label prints a figure and names it, if the ledger has it.
func (o *Diagram) label(id figure.ID, si float64, unit string) drawing.Label {
	l := drawing.Label{Text: quantity.Format(si, unit, 0)}
	if _, ok := o.Ledger.Why(id); ok {
		l.Ref = string(id)
	}
	return l
}

// id is a figure of the state.
func (o *Diagram) id(subject, name string) figure.ID {
	return figure.ID(o.State.Key + "/" + subject + "/" + name)
}

// rail begins the node of an output of the ignition switch in the fuse box.
const rail = "rail "

// origins lists the nodes that fuses hang on, in the order of the loom, the
// outputs of the ignition switch together.
func (o *Diagram) origins() []string {
	var out []string
	at := 0 // behind the last rail
	for _, f := range o.Loom.Fuses {
		switch {
		case f.Feed == "" || slices.Contains(out, f.From):
		case strings.HasPrefix(f.From, rail) && at > 0:
			out = slices.Insert(out, at, f.From)
			at++
		default:
			out = append(out, f.From)
			if strings.HasPrefix(f.From, rail) {
				at = len(out)
			}
		}
	}
	return out
}

// leads reports a fuse that only supplies the ignition switch: it is drawn
// before the switch's outputs.
func (o *Diagram) leads(f *loom.Fuse) bool {
	ends := o.ends(f.Feed)
	return len(ends) > 0 && !slices.ContainsFunc(ends, func(e end) bool { return !slices.ContainsFunc(e.item.Part.Terminals, isSource) })
}

// named is a terminal with its name.
type named = buildfile.Named[catalogue.Terminal]

func isSource(t named) bool { return t.Value.Role == "source" }

func (o *Diagram) sources() []drawing.Source {
	p := &o.State.Point
	bat, alt, motor := o.Design.One("battery"), o.Design.One("alternator"), o.Design.One("starter")
	battery := drawing.Source{Kind: drawing.Battery, Name: bat.Name, Ground: "body, engine", Bad: o.Wrong["power#battery"]}
	flow := o.label(o.id("battery", "CurrentA"), math.Abs(p.BatteryA), "A")
	switch {
	case math.Abs(p.BatteryA) < idleA:
		flow = drawing.Label{Text: "idle"}
	case p.BatteryA < 0:
		flow.Text = "takes " + flow.Text
	default:
		flow.Text = "gives " + flow.Text
	}
	battery.Figures = append(battery.Figures, flow)
	charger := drawing.Source{Kind: drawing.Alternator, Name: alt.Name, Fuse: o.fuse("M2"), Ground: "engine", Bad: o.Wrong["power#alternator"]}
	given := o.label(o.id("alternator", "CurrentA"), p.ChargerA, "A")
	given.Bad = charger.Bad
	if p.ChargerMostA > 0 {
		given.Text += " of " + quantity.Format(p.ChargerMostA, "A", 0)
	} else {
		given = drawing.Label{Text: "stands still"}
	}
	charger.Figures = append(charger.Figures, given)
	out := []drawing.Source{battery, charger}
	if design.Cranks(o.State.Name) {
		starter := drawing.Source{Kind: drawing.Motor, Name: motor.Name, Ground: "engine", Bad: o.Wrong["power#starter"]}
		starter.Figures = append(starter.Figures, o.label(o.id(motor.Name, "VoltageV"), p.StarterV, "V"), o.label(o.id(motor.Name, "CurrentA"), p.StarterA, "A"))
		out = append(out, starter)
	}
	return out
}

// fuse is a fuse; one that feeds several branches says what it carries of its
// rating.
func (o *Diagram) fuse(name string) *drawing.Device {
	for i := range o.Loom.Fuses {
		f := &o.Loom.Fuses[i]
		if f.Name != name {
			continue
		}
		d := &drawing.Device{Name: f.Name + " " + Rating(f.RatingA.SI), Ref: string(f.RatingA.ID), Bad: o.Wrong["power#fuse-"+f.Name]}
		if a, ok := o.State.LinkA("fuse " + f.Name); ok && f.Feed == "" {
			d.Load = o.amperes("fuse "+f.Name, a)
		}
		return d
	}
	return nil
}

// Rating prints a rating without the decimals that no fuse has.
func Rating(ratingA float64) string {
	decimals := 0
	if ratingA != math.Trunc(ratingA) {
		decimals = 1
	}
	return quantity.NumberTo(ratingA, "A", decimals) + "\u00a0A"
}

// lead sets what stands between the busbar and an origin: a relay, or the
// ignition switch behind its fuse.
func (o *Diagram) lead(m *drawing.Main, from string) {
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
	if terminal, ok := strings.CutPrefix(from, rail); ok {
		m.Relay = &drawing.Device{Name: "Switch " + terminal}
		for i := range o.Loom.Fuses {
			if f := &o.Loom.Fuses[i]; f.Feed != "" && o.leads(f) {
				m.Fuse = o.fuse(f.Name)
				if a, ok := o.State.LinkA("fuse " + f.Name); ok {
					m.Fuse.Load = o.amperes("fuse "+f.Name, a)
				}
			}
		}
	}
}

// relay is a relay with what its contact carries of what it may.
func (o *Diagram) relay(r *loom.Relay) *drawing.Device {
	d := &drawing.Device{Name: r.Name + " " + r.Group}
	if a, ok := o.State.LinkA("relay " + r.Name); ok {
		d.Bad = math.Abs(a) > r.Part.Relay.ContactA.SI
		d.Load = o.amperes("relay "+r.Name, a)
		d.Load.Bad = d.Bad
		if math.Abs(a) >= idleA {
			d.Load.Text += " of " + Rating(r.Part.Relay.ContactA.SI)
		}
	}
	return d
}

// behind labels an origin with its terminal of DIN 72552 and its voltage.
func (o *Diagram) behind(from string) drawing.Label {
	v, ok := o.State.NodeV(from)
	if !ok || from == loom.NodeBus {
		return drawing.Label{}
	}
	terminal, key := strings.CutPrefix(from, rail)
	if !key {
		terminal = "87"
	}
	if v < deadV {
		return drawing.Label{Text: terminal + " dead"}
	}
	l := o.label(vehicle.NodeID(o.State.Key, from), v, "V")
	l.Text = terminal + " " + l.Text
	return l
}

// end is a terminal with its device.
type end struct {
	item     design.Item
	terminal string
}

// ends lists the terminals that a group of supply feeds.
func (o *Diagram) ends(feed string) []end {
	var out []end
	for _, it := range o.Design.Devices {
		for _, t := range it.Part.Terminals {
			if t.Value.Role == "feed" && t.Value.Feed == feed {
				out = append(out, end{it, t.Name})
			}
		}
	}
	return out
}

// feed is one fused line with what hangs on it.
func (o *Diagram) feed(f *loom.Fuse) drawing.Feed {
	ends := o.ends(f.Feed)
	out := drawing.Feed{Fuse: o.fuse(f.Name), Load: o.loads(f, ends), Ground: o.returns(ends), Bad: o.Wrong["power#feed-"+f.Feed]}
	if r, ok := o.Loom.Relay(f.Relay); ok && f.Relay != "" {
		out.Relay = o.relay(&r)
	}
	for i := range o.Loom.Wires {
		w := &o.Loom.Wires[i]
		if w.Feed != f.Feed {
			continue
		}
		if w.Kind == loom.Supply && w.From.Node == o.Loom.Leaves(f) {
			out.Wire = drawing.Label{Text: itoa(w.Number) + " " + w.Colour + " " + w.Size}
			if _, ok := o.Ledger.Why(w.Area.ID); ok {
				out.Wire.Ref = string(w.Area.ID)
			}
		}
		out.Bad = out.Bad || o.fails(w)
	}
	if a, ok := o.State.LinkA("fuse " + f.Name); ok {
		out.Amp = o.amperes("fuse "+f.Name, a)
	}
	if name, v, ok := o.least(ends); ok {
		out.Volt = o.label(o.id(name, "VoltageV"), v, "V")
		if out.Volt.Bad = out.Bad; v < deadV {
			out.Volt.Text = "dead"
		}
	}
	return out
}

// fails reports a wire that a finding of the state is about, or one of another
// state that loses more than it may in this one too.
func (o *Diagram) fails(w *loom.Wire) bool {
	at := "power#" + vehicle.WireAnchor(w.Number)
	dropV, _, ok := o.State.WireDropV(w.Number)
	return o.Wrong[at] || o.Ever[at] && ok && math.Abs(dropV) > w.LimitV
}

// amperes prints the current of a link, and what leaks as none.
func (o *Diagram) amperes(link string, a float64) drawing.Label {
	if math.Abs(a) < idleA {
		return drawing.Label{Text: "off"}
	}
	if math.Abs(a) < milliA {
		return o.label(o.id(link, "CurrentA"), math.Abs(a), "mA")
	}
	return o.label(o.id(link, "CurrentA"), math.Abs(a), "A")
}

// least is the device of the group that gets least among those that draw.
func (o *Diagram) least(ends []end) (name string, acrossV float64, found bool) {
	acrossV = math.Inf(1)
	for _, e := range ends {
		for i := range e.item.Part.Loads {
			l := &e.item.Part.Loads[i]
			if l.From != e.terminal || !slices.Contains(l.On, o.State.Name) {
				continue
			}
			at := consumer(e.item, i)
			if v, ok := o.State.ConsumerV(at); ok && v < acrossV {
				name, acrossV, found = at, v, true
			}
		}
	}
	return name, acrossV, found
}

// consumer is the name of a device's load in the network.
func consumer(it design.Item, i int) string {
	if i == 0 {
		return it.Name
	}
	return fmt.Sprintf("%s %d", it.Name, i+1)
}

// loads names what a line feeds: devices of every cylinder once.
func (o *Diagram) loads(f *loom.Fuse, ends []end) string {
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
	return strings.Join(out, ", ")
}

// returns names the ground bolts that the devices' own wires go to.
func (o *Diagram) returns(ends []end) string {
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
			return slices.ContainsFunc(e.item.Part.Terminals, func(t named) bool { return e.item.Name+" "+t.Name == w.From.Node })
		}) {
			out = append(out, bolts[w.To.Node])
		}
	}
	return strings.Join(out, ", ")
}

func itoa(n int) string { return fmt.Sprint(n) }
