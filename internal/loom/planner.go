package loom

import (
	"fmt"
	"math"

	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

// planner holds a loom in the making.
type planner struct {
	d     *design.Design
	loom  *Loom
	paths *paths
	lay   laying
	box   string // place of the fuse box
	ctl   design.Item
	bad   []diag.Diagnostic

	allWays    []way
	endAt      map[string]int // device terminal → index of its device
	devicesPos diag.Pos

	groundNode map[string]string // place → node of its bolt
	draws      map[string]perState
	fixes      map[string]*design.WireFix
	ampacity   map[ampKey]float64
	fuseOf     map[string]*figure.Input // feed group → its fuse
}

// perState is a current for each of design.StateNames.
type perState [len(design.StateNames)]float64

func (a perState) plus(b perState) perState {
	for i := range a {
		a[i] += b[i]
	}
	return a
}

func (a perState) most() float64 {
	m := 0.0
	for _, v := range a {
		m = math.Max(m, v)
	}
	return m
}

func newPlanner(d *design.Design) *planner {
	p := &planner{
		d: d, loom: &Loom{wireByName: map[string]int{}}, paths: newPaths(d), ctl: d.One("controller"),
		groundNode: map[string]string{}, draws: map[string]perState{}, fixes: map[string]*design.WireFix{},
		ampacity: map[ampKey]float64{}, fuseOf: map[string]*figure.Input{},
	}
	p.box = d.File.Loom.FuseBox.Name
	if p.box == "" {
		p.box = d.One("battery").At
	}
	p.endAt, p.devicesPos = map[string]int{}, d.Place("devices")
	for i, it := range d.Devices {
		for _, t := range it.Part.Terminals {
			p.endAt[it.Name+" "+t.Name] = i
		}
	}
	p.bad = p.paths.gaps(d, p.box)
	for i := range d.File.Loom.Wires {
		v := &d.File.Loom.Wires[i]
		p.fixes[v.Name] = &v.Value
	}
	for _, it := range d.Devices {
		for i := range it.Part.Loads {
			p.addDraw(it, &it.Part.Loads[i])
		}
	}
	p.shareGround()
	return p
}

// shareGround adds to the controller's ground terminals what its drivers bring
// in from the devices, in equal parts.
func (p *planner) shareGround() {
	var sum perState
	for _, e := range p.ends(role("output")) {
		sum = sum.plus(p.draws[e.end()])
	}
	var grounds []string
	for _, t := range p.ctl.Part.Terminals {
		if t.Value.Role == "ground" {
			grounds = append(grounds, p.ctl.Name+" "+t.Name)
		}
	}
	for i := range sum {
		sum[i] /= float64(max(1, len(grounds)))
	}
	for _, g := range grounds {
		p.draws[g] = p.draws[g].plus(sum)
	}
}

// addDraw notes what a load asks of its two terminals in each state.
func (p *planner) addDraw(it design.Item, l *catalogue.Load) {
	a := nominalA(it.Part, l)
	var s perState
	for i, name := range design.StateNames {
		for _, on := range l.On {
			if on == name {
				s[i] = a
			}
		}
	}
	for _, t := range []string{l.From, l.To} {
		key := it.Name + " " + t
		p.draws[key] = p.draws[key].plus(s)
	}
}

// Shares of the time that pulsed loads are taken to be on when wires are sized;
// the solve computes them (common practice: the injector's usual limit, and a
// coil charged for a third of the time at the speed limit).
const (
	sizingInjectorFrac = 0.85
	sizingCoilFrac     = 0.33
	sizingStarterFrac  = 0.55
)

// nominalA is a load's current at NominalV while it is on, averaged over its
// pulses; used to size fuses and wires only.
func nominalA(part *catalogue.Part, l *catalogue.Load) float64 {
	duty := 1.0
	if l.DutyFrac != nil {
		duty = l.DutyFrac.SI
	}
	switch l.Model {
	case "resistance":
		return NominalV / l.Ohm.SI * duty
	case "current":
		return l.CurrentA.SI * duty
	case "power":
		return l.PowerW.SI / NominalV * duty
	case "pump":
		return part.Pump.CurrentA.SI
	case "injector":
		return NominalV / l.Ohm.SI * sizingInjectorFrac
	case "coil":
		return part.Coil.ChargeA.SI / 2 * sizingCoilFrac
	case "starter":
		return part.Starter.StallA.SI * sizingStarterFrac
	}
	return 0
}

// add numbers a wire and keeps it; its way comes when all are known (layAll).
func (p *planner) add(w Wire) *Wire {
	w.Number = len(p.loom.Wires) + 1
	var need perState
	for _, end := range w.Served {
		need = need.plus(p.draws[end])
	}
	if w.DesignA == 0 {
		w.DesignA = need.most()
	}
	w.Pos = p.servedPos(w.Served)
	if fix := p.fixes[w.Name]; fix != nil {
		w.Pos = fix.Pos
	}
	p.loom.wireByName[w.Name] = len(p.loom.Wires)
	p.loom.Wires = append(p.loom.Wires, w)
	return &p.loom.Wires[len(p.loom.Wires)-1]
}

// servedPos is where the first of the devices is written that a wire serves.
func (p *planner) servedPos(served []string) diag.Pos {
	first := -1
	for _, end := range served {
		if i, ok := p.endAt[end]; ok && (first < 0 || i < first) {
			first = i
		}
	}
	if first < 0 {
		return p.devicesPos
	}
	return p.d.Devices[first].Pos
}

func (p *planner) splice(name, place string) string {
	node := "splice " + name
	p.loom.Splices = append(p.loom.Splices, Splice{Name: fmt.Sprintf("S%d", len(p.loom.Splices)+1), Node: node, Place: place})
	return node
}

// busiest is the place that most of the items are at, the first named on a tie.
func busiest(items []endAt) string {
	count := map[string]int{}
	best := items[0].it.At
	for _, e := range items {
		count[e.it.At]++
	}
	for _, e := range items {
		if count[e.it.At] > count[best] {
			best = e.it.At
		}
	}
	return best
}

// endAt is a terminal with its device.
type endAt struct {
	it   design.Item
	name string
	t    *catalogue.Terminal
}

func (e endAt) end() string { return e.it.Name + " " + e.name }

// ends lists the terminals that a test picks, in the order of the file.
func (p *planner) ends(pick func(*catalogue.Terminal) bool) []endAt {
	var out []endAt
	for _, it := range p.d.Devices {
		for i := range it.Part.Terminals {
			t := &it.Part.Terminals[i]
			if pick(&t.Value) {
				out = append(out, endAt{it, t.Name, &t.Value})
			}
		}
	}
	return out
}

func role(word string) func(*catalogue.Terminal) bool {
	return func(t *catalogue.Terminal) bool { return t.Role == word }
}

// PostNode is the node of a device's nth post terminal.
func PostNode(it design.Item, n int) string {
	for _, t := range it.Part.Terminals {
		if t.Value.Role != "post" {
			continue
		}
		if n == 0 {
			return it.Name + " " + t.Name
		}
		n--
	}
	return ""
}
