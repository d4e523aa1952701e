package loom

import (
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/harness"
)

// Group is a set of wires that run together from end to end: twisted, or as the
// cores of a screened cable.
type Group struct {
	Name  string // the device, or "CAN bus" for the wires from its splices
	Kind  string // "twisted" or "screened"
	Wires []int  // its cores, as indices in Loom.Wires
	// Drain is the wire that a screen is joined to ground by, as an index in
	// Loom.Wires; −1 for none. Grounded says where that is done: "control unit",
	// "device" or "both ends".
	Drain    int
	Grounded string
	// Together says that its cores take one way, without a splice that parts them.
	Together bool
	// DiameterM is that of its cores with screen and sheath, LengthM that of its
	// longest wire.
	DiameterM, LengthM float64
}

// The ends of a screen that are joined to ground.
const (
	AtUnit   = "control unit"
	AtDevice = "device"
	AtBoth   = "both ends"
)

// GroupOf returns the group that a wire is a core or the drain of, by its index;
// ok is false for a wire that runs alone.
func (t *Tree) GroupOf(wire int) (g *Group, ok bool) {
	for i := range t.Groups {
		if g := &t.Groups[i]; g.Drain == wire || slices.Contains(g.Wires, wire) {
			return g, true
		}
	}
	return nil, false
}

// OpenEnd reports a node at which a screen ends without being joined to anything.
func (l *Loom) OpenEnd(node string) bool {
	for i := range l.Tree.Groups {
		g := &l.Tree.Groups[i]
		if g.Drain < 0 {
			continue
		}
		w := &l.Wires[g.Drain]
		if node == w.From.Node && g.Grounded == AtUnit || node == w.To.Node && g.Grounded == AtDevice {
			return true
		}
	}
	return false
}

// Loops reports a drain wire that current can flow through: both its ends are
// joined to ground.
func (l *Loom) Loops(w *Wire) bool {
	return w.Kind == Screen && !l.OpenEnd(w.From.Node) && !l.OpenEnd(w.To.Node)
}

// gather makes the groups once every wire is known, and a drain for every screen.
func (p *planner) gather() {
	if len(p.bad) > 0 {
		return
	}
	t := &p.loom.Tree
	buses := map[string]bool{}
	for _, it := range p.d.Devices {
		g := Group{Name: it.Name, Drain: -1}
		for _, v := range it.Part.Terminals {
			i, ok := p.loom.wireByName[it.Name+" "+v.Name]
			if v.Value.Group == "" || !ok {
				continue
			}
			if g.Kind != "screened" {
				g.Kind = v.Value.Group
			}
			g.Wires = append(g.Wires, i)
			if shared(v.Value.Needs) {
				buses[v.Value.Needs] = true
			}
		}
		if len(g.Wires) > 1 {
			t.Groups = append(t.Groups, g)
		}
	}
	trunk := Group{Name: "CAN bus", Kind: "twisted", Drain: -1}
	for _, needs := range []string{"can high", "can low"} {
		if i, ok := p.loom.wireByName[needs]; ok && buses[needs] {
			trunk.Wires = append(trunk.Wires, i)
		}
	}
	if len(trunk.Wires) > 1 {
		t.Groups = append(t.Groups, trunk)
	}
	for i := range t.Groups {
		if t.Groups[i].Kind == "screened" {
			p.drain(&t.Groups[i])
		}
	}
	p.unmetScreens()
}

// unmetScreens reports screens that the user grounds and nothing has.
func (p *planner) unmetScreens() {
	var known []string
	for _, g := range p.loom.Tree.Groups {
		if g.Kind == "screened" {
			known = append(known, g.Name)
		}
	}
	for _, v := range p.d.File.Loom.Screens {
		if d, ok := buildfile.CheckRef(buildfile.Ref{Name: v.Name, Pos: v.Pos}, "screened device", known); !ok {
			p.bad = append(p.bad, d)
		}
	}
}

// drain joins a group's screen to ground where its return is joined, which is at
// the control unit; the device's end stays open unless the user joins it.
func (p *planner) drain(g *Group) {
	it := p.deviceOf(g)
	unit, _ := p.unitEnd(g)
	at := unit
	for _, i := range g.Wires {
		if to := p.loom.Wires[i].To; !strings.HasPrefix(to.Node, "pin ") {
			at = to // beside the sensor's return
		}
	}
	name := "screen of " + g.Name
	g.Grounded = AtUnit
	w := Wire{Name: name, Kind: Screen, Tails: 1, From: End{name, it.At}}
	pos := it.Pos
	for _, v := range p.d.File.Loom.Screens {
		if v.Name == g.Name {
			g.Grounded, pos, w.Fixed = v.Value.Grounded, v.Pos, true
		}
	}
	switch {
	case g.Grounded == AtDevice:
		at = End{name + ", cut back", unit.Place}
	case strings.HasPrefix(at.Node, "pin "): // no return runs in it
		if bolt, ok := p.nearestBolt(at.Place, NodeEngine); ok {
			at = End{bolt.Node, bolt.Place}
		}
	}
	if g.Grounded != AtUnit {
		p.loom.Grounds = append(p.loom.Grounds, Ground{Name: name, Node: name, Place: it.At, In: NodeEngine})
	}
	w.To = at
	made := p.add(w)
	made.Pos = pos
	g.Drain = made.Number - 1
}

func (p *planner) deviceOf(g *Group) design.Item {
	for _, it := range p.d.Devices {
		if it.Name == g.Name {
			return it
		}
	}
	panic("loom: a screened group belongs to no device: " + g.Name)
}

// unitEnd is where a group's first core that goes straight to a pin ends.
func (p *planner) unitEnd(g *Group) (end End, ok bool) {
	for _, i := range g.Wires {
		if to := p.loom.Wires[i].To; strings.HasPrefix(to.Node, "pin ") {
			return to, true
		}
	}
	return p.loom.Wires[g.Wires[0]].To, false
}

// home is the control unit whose place a splice is put at because a core of a
// group ends in it while others of the group go on to the unit: the pair would be
// parted on the way. A unit that is hot or that moves takes no splice.
func (p *planner) home(node string) (place string, ok bool) {
	for i := range p.loom.Tree.Groups {
		g := &p.loom.Tree.Groups[i]
		end, straight := p.unitEnd(g)
		if !straight || !slices.ContainsFunc(g.Wires, func(k int) bool { return p.loom.Wires[k].To.Node == node }) {
			continue
		}
		k := p.paths.index[end.Place]
		if p.d.File.Places[k].Value.Flexes || p.hotAt(end.Place).SI > p.d.Cat.Scheme.SpliceK.SI+sameK {
			continue
		}
		return end.Place, true
	}
	return "", false
}

// CableM returns the diameter of wires that run as one cable.
//
//	D = D_b + 2 t
//
// where D_b is the diameter of the cores laid together and t the thickness of screen and sheath, 0 for wires that are only twisted.
//
// Valid: round cores.
// Accuracy: that of the bundle of the cores.
// Source: geometry.
// Errors: a core whose diameter is not above 0.
func CableM(coresM []float64, wallM float64) (float64, error) {
	d, err := harness.BundleM(coresM)
	return d + 2*wallM, err
}

// cableM is the diameter of some cores of a group that run on together.
func (p *planner) cableM(g *Group, cores []int) float64 {
	var across []float64
	for _, i := range cores {
		across = append(across, p.loom.Wires[i].Cable.OverallM.SI)
	}
	wallM := 0.0
	if g.Kind == "screened" {
		wallM = p.d.Cat.Scheme.ScreenM.SI
	}
	d, _ := CableM(across, wallM) // cables of the catalogue have diameters
	return d
}

// across is the diameter of a bundle of wires in which every group counts as the
// cable it is; a drain lies in its cable.
func (p *planner) across(wires []int) float64 {
	grouped := map[*Group][]int{}
	var order []*Group
	var diameters []float64
	for _, i := range wires {
		g, ok := p.loom.Tree.GroupOf(i)
		switch {
		case !ok:
			diameters = append(diameters, p.loom.Wires[i].Cable.OverallM.SI)
		case g.Drain == i:
		default:
			if grouped[g] == nil {
				order = append(order, g)
			}
			grouped[g] = append(grouped[g], i)
		}
	}
	for _, g := range order {
		diameters = append(diameters, p.cableM(g, grouped[g]))
	}
	d, _ := harness.BundleM(diameters) // cables of the catalogue have diameters
	return d
}

// bind says of every group how thick and long it came out.
func (p *planner) bind() {
	for k := range p.loom.Tree.Groups {
		g := &p.loom.Tree.Groups[k]
		g.Together, g.DiameterM = true, p.cableM(g, g.Wires)
		first := &p.loom.Wires[g.Wires[0]]
		for _, i := range g.Wires {
			w := &p.loom.Wires[i]
			g.Together = g.Together && w.From.Place == first.From.Place && w.To.Place == first.To.Place && slices.Equal(w.Routes, first.Routes)
			g.LengthM = max(g.LengthM, w.LengthM)
		}
	}
}

// telling are the devices that tell the controller something, by name.
func telling(d *design.Design, whats ...string) map[string]bool {
	out := map[string]bool{}
	for _, what := range whats {
		for _, it := range d.Telling(what) {
			out[it.Name] = true
		}
	}
	return out
}
