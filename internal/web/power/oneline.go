package power

import (
	"slices"
	"strings"

	"fettle/internal/design"
	"fettle/internal/drawing"
	"fettle/internal/figure"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

// oneLine draws the sources, the busbar, and every feed with its fuse and relay.
func (v sheet) oneLine() *drawing.Drawing {
	o := drawing.OneLine{
		Name: "one", Title: "Power, from the sources to the loads, " + shell.StateName(v.s.Name), Width: 1000,
		Bus: drawing.Label{Text: "busbar"},
	}
	o.Sources = []drawing.Source{
		v.source("battery", drawing.Battery, "VoltageV", "CurrentA"),
		v.source("alternator", drawing.Alternator, "CurrentA"),
		v.source("starter", drawing.Motor, "CurrentA"),
	}
	o.Mains = v.branches()
	return o.Draw()
}

func (v sheet) source(kind string, sign drawing.Kind, figures ...string) drawing.Source {
	it := v.r.Design.One(kind)
	s := drawing.Source{Kind: sign, Name: it.Name, Bad: v.wrong["power#"+kind]}
	for _, name := range figures {
		if f := v.of(it.Name, name); f.ID != "" {
			s.Figures = append(s.Figures, f.Label())
		}
	}
	return s
}

// branches gathers the feeds behind the busbar, behind each terminal of the key
// switch, and behind each relay.
func (v sheet) branches() []drawing.Main {
	var order []string
	by := map[string][]drawing.Feed{}
	for i := range v.r.Loom.Fuses {
		f := &v.r.Loom.Fuses[i]
		if f.Feed == "" {
			continue
		}
		if !slices.Contains(order, f.From) {
			order = append(order, f.From)
		}
		by[f.From] = append(by[f.From], v.feedLine(f))
	}
	var out []drawing.Main
	for _, from := range order {
		m := drawing.Main{Feeds: by[from]}
		if rail, ok := strings.CutPrefix(from, "rail "); ok {
			m.Relay = &drawing.Device{Name: "key " + rail}
		}
		for i := range v.r.Loom.Relays {
			if k := &v.r.Loom.Relays[i]; k.Node("87") == from {
				m.Relay = v.relayDevice(k)
				m.Fuse = v.relayFuse(k)
			}
		}
		out = append(out, m)
	}
	return out
}

// relayFuse is the fuse before a relay that feeds several groups.
func (v sheet) relayFuse(k *loom.Relay) *drawing.Device {
	for i := range v.r.Loom.Fuses {
		if f := &v.r.Loom.Fuses[i]; f.Feed == "" && f.Relay == k.Group {
			return v.fuseDevice(f)
		}
	}
	return nil
}

func (v sheet) fuseDevice(f *loom.Fuse) *drawing.Device {
	return &drawing.Device{Name: f.Name + " " + v.plain(f.RatingA.ID), Ref: string(f.RatingA.ID)}
}

func (v sheet) relayDevice(k *loom.Relay) *drawing.Device {
	load := v.of("relay "+k.Name, "CurrentA")
	load.Bad = v.si(figure.ID("room/"+v.s.Key+"/"+k.Name+"/CurrentA/left")) < 0
	return &drawing.Device{Name: k.Name + " " + k.Group, Load: load.Label(), Bad: load.Bad}
}

// feedLine is one fuse with what hangs on it: the lowest volts of its devices.
func (v sheet) feedLine(f *loom.Fuse) drawing.Feed {
	out := drawing.Feed{
		Fuse: v.fuseDevice(f),
		Load: f.Feed, Amp: v.of("fuse "+f.Name, "CurrentA").Label(),
	}
	if k, ok := v.r.Loom.Relay(f.Relay); ok && f.Relay != "" {
		out.Relay = v.relayDevice(&k)
	}
	devices := map[string]design.Item{}
	for i := range v.r.Loom.Wires {
		w := &v.r.Loom.Wires[i]
		if w.Feed != f.Feed {
			continue
		}
		if v.r.Loom.Heads(w) && out.Wire == "" {
			out.Wire = vehicle.WireName(w.Number) + ", " + w.Colour
		}
		out.Bad = out.Bad || v.fails(w)
		if it, ok := v.deviceAt(w.To.Node); ok {
			devices[it.Name] = it
		}
	}
	least := figure.ID("")
	for name := range devices {
		id := v.id(name, "VoltageV")
		if _, ok := v.figs.Of(id); ok && (least == "" || v.si(id) < v.si(least) || v.si(id) == v.si(least) && id < least) {
			least = id
		}
		if len(devices) == 1 {
			out.Load = name
		}
	}
	if volt, ok := v.figs.Of(least); ok {
		out.Volt = volt.Label()
	}
	out.Bad = out.Bad || v.wrong["power#feed-"+f.Feed]
	out.Ground = v.bolt(devices)
	return out
}

// bolt is the ground that all devices of a feed return to, empty when they
// differ.
func (v sheet) bolt(devices map[string]design.Item) string {
	found := ""
	for i := range v.r.Loom.Wires {
		w := &v.r.Loom.Wires[i]
		it, ok := v.deviceAt(w.From.Node)
		if _, fed := devices[it.Name]; w.Kind != loom.Return || !ok || !fed {
			continue
		}
		for _, g := range v.r.Loom.Grounds {
			switch {
			case g.Node != w.To.Node:
			case found != "" && found != g.Name:
				return ""
			default:
				found = g.Name
			}
		}
	}
	return found
}

// deviceAt is the device that has a terminal at a node.
func (v sheet) deviceAt(node string) (design.Item, bool) {
	it, ok := v.at[node]
	return it, ok
}

// terminalsOf lists every device by its nodes.
func terminalsOf(d *design.Design) map[string]design.Item {
	out := map[string]design.Item{}
	for _, it := range d.Devices {
		for _, t := range it.Part.Terminals {
			out[it.Name+" "+t.Name] = it
		}
	}
	return out
}
