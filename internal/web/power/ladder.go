package power

import (
	"html/template"
	"math"
	"slices"
	"strings"

	"fettle/internal/drawing"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

// Ladder is the way of one device, out and back.
type Ladder struct {
	Device      string
	Options     []shell.Option
	State       string
	Wide, Phone template.HTML
	Volts, Amps shell.Fig
	Empty       string
}

// ladder makes the way of the picked device, or of the one with a finding, or of
// the one that gets the least.
func (v sheet) ladder(device string) Ladder {
	all := v.consumers()
	if !slices.Contains(all, device) {
		device = v.worst(all)
	}
	l := Ladder{Device: device, State: v.s.Key, Empty: "No device draws anything in this state."}
	names := slices.Clone(all)
	slices.Sort(names)
	for _, n := range names {
		l.Options = append(l.Options, shell.Option{Value: n, Text: n, Current: n == device})
	}
	if device == "" {
		return l
	}
	hops := v.r.Solved.Vehicle.Way(device)
	if len(hops) == 0 {
		l.Empty = "The way of this device is not known."
		return l
	}
	l.Volts, l.Amps, l.Empty = v.of(device, "VoltageV"), v.of(device, "CurrentA"), ""
	l.Wide = shell.Draw(v.rungs("way", device, hops, 760), false)
	l.Phone = shell.Draw(v.rungs("way-phone", device, hops, 328), false)
	return l
}

// worst is the device behind a wire that a finding is about, or the one that
// draws and gets the least.
func (v sheet) worst(all []string) string {
	for i := range v.r.Loom.Wires {
		w := &v.r.Loom.Wires[i]
		if !v.fails(w) || w.Kind == loom.Signal {
			continue
		}
		for _, name := range all {
			if strings.HasPrefix(w.Name, name+" ") {
				return name
			}
		}
	}
	for _, name := range all {
		if math.Abs(v.si(v.id(name, "CurrentA"))) > nothingA {
			return name
		}
	}
	return ""
}

// rungs draws the way of a device.
func (v sheet) rungs(name, device string, hops []vehicle.Hop, width drawing.Px) *drawing.Drawing {
	l := drawing.Ladder{Name: name, Title: "The way of " + device + ", out and back", Width: width, HeadVolt: "to battery −", HeadDrop: "lost"}
	load := drawing.Element{
		Name: device + " itself", Ref: string(v.id(device, "CurrentA")), Drop: v.fixed(v.id(device, "VoltageV"), "V", 2).Label(), Load: true,
	}
	rung := func(node string, then *drawing.Element) {
		l.Rungs = append(l.Rungs, drawing.Rung{Name: v.word(node), Volt: v.nodeVolts(node).Label(), Then: then})
	}
	for i, h := range hops {
		if h.Back && (i == 0 || !hops[i-1].Back) && i > 0 {
			rung(hops[i-1].To, &load)
		}
		e := v.element(h)
		rung(h.From, &e)
	}
	last := hops[len(hops)-1]
	if !last.Back { // it returns through its case
		rung(last.To, &load)
		return l.Draw()
	}
	rung(last.To, nil)
	return l.Draw()
}

// nodeVolts is the voltage of a node against the battery's negative post; the posts
// themselves have figures of their own.
func (v sheet) nodeVolts(node string) shell.Fig {
	if node == loom.PostNode(v.r.Design.One("battery"), 0) {
		return v.fixed(v.id("battery", "VoltageV"), "V", 2)
	}
	return v.fixed(vehicle.NodeID(v.s.Key, node), "V", 2)
}

func (v sheet) element(h vehicle.Hop) drawing.Element {
	drop := v.amount(v.id(h.Name, "DropV"), "V", 2)
	if drop.ID != "" {
		drop.Text += "\u00a0V"
	}
	e := drawing.Element{Name: h.Name, Return: h.Back, DropV: math.Abs(v.si(v.id(h.Name, "DropV"))), Ref: string(v.id(h.Name, "CurrentA"))}
	for i := range v.r.Loom.Wires {
		w := &v.r.Loom.Wires[i]
		if vehicle.WireName(w.Number) == h.Name {
			e.Name, e.Ref = h.Name+", "+w.Colour+" "+w.Size, string(w.Area.ID)
			e.Bad = v.fails(w)
		}
	}
	drop.Bad = e.Bad
	e.Drop = drop.Label()
	return e
}

// word names a node for people.
func (v sheet) word(node string) string {
	for _, g := range v.r.Loom.Grounds {
		if g.Node == node {
			return g.Name + ", " + node
		}
	}
	if fuse, ok := strings.CutSuffix(node, " in"); ok && strings.HasPrefix(fuse, "M") {
		return "fuse " + fuse + ", supply side"
	}
	if fuse, ok := strings.CutSuffix(node, " out"); ok && strings.HasPrefix(fuse, "M") {
		return "fuse " + fuse + ", load side"
	}
	for _, f := range v.r.Loom.Fuses {
		if f.To == node && f.Feed == "" && f.Relay != "" {
			return "fuse " + f.Name + ", load side"
		}
	}
	if feed, ok := strings.CutPrefix(node, "feed "); ok {
		for _, f := range v.r.Loom.Fuses {
			if f.Feed == feed {
				return "fuse " + f.Name + ", load side"
			}
		}
	}
	return node
}
