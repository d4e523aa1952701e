package loom

import (
	"fmt"
	"math"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
)

// planner holds a loom in the making.
type planner struct {
	d       *design.Design
	loom    *Loom
	paths   *paths
	lay     laying
	wayFor  map[string]int // terminal → its way, −1 for none
	chosen  choice
	colours catalogue.Colours
	box     string // place of the fuse box
	ctl     design.Item
	bad     []diag.Diagnostic

	allWays    []way
	endAt      map[string]int // device terminal → index of its device
	devicesPos diag.Pos

	groundNode map[string]string // place → node of its bolt
	draws      map[string]draw
	fixes      map[string]*design.WireFix
	held       holding

	quiet []bool // by wire: one of crank, cam or knock
	loud  []bool // by route: an injector or coil wire lies there
}

func newPlanner(d *design.Design) *planner {
	p := &planner{
		d: d, loom: &Loom{wireByName: map[string]int{}}, paths: newPaths(d), ctl: d.One("controller"),
		groundNode: map[string]string{}, draws: map[string]draw{}, fixes: map[string]*design.WireFix{},
		held: newHolding(),
	}
	p.box = d.File.Loom.FuseBox.Name
	if p.box == "" {
		p.box = d.One("battery").At
	}
	p.loom.Box = p.box
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
	p.colourScheme()
	p.shareGround()
	return p
}

// add numbers a wire and keeps it; its way comes when all are known (layAll).
func (p *planner) add(w Wire) *Wire {
	w.Number = len(p.loom.Wires) + 1
	w.need = w.need.plus(p.needOf(w.Served))
	w.DesignA = math.Max(w.DesignA, w.need.meanA())
	w.HeatA = math.Max(w.DesignA, w.need.heatA())
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
	p.loom.Splices = append(p.loom.Splices, Splice{Name: fmt.Sprintf("S%d", len(p.loom.Splices)+1), Node: node, Joins: name, Place: place})
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

// named is a terminal with its name.
type named = buildfile.Named[catalogue.Terminal]

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
