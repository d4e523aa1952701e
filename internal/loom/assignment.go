package loom

import (
	"math"
	"slices"

	"fettle/internal/assign"
	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

// want is one terminal, or one splice of many, that a controller pin must serve.
type want struct {
	end      string
	needs    string
	currentA float64 // while it is on; the peak where that is known
	holdA    float64 // once an injector is open, 0 when not stated
	pulseHz  float64 // 0 when it is on or off
	signalV  float64 // the greatest signal, 0 when not stated
	// coldOhm and hotOhm are a thermistor at both ends of its range, 0 when not stated.
	coldOhm, hotOhm float64
	cylinder        int    // 0 when it belongs to none
	order           int    // among those that need the same, in the order of the file, from 1
	gearbox         bool   // belongs to a gearbox that has a unit of its own
	fixed           string // the pin the user gave it
	pos             diag.Pos
}

// The costs of a pair, in points, the weightier first.
//
// A terminal goes to the unit that is meant for it; a cylinder's device to the
// channel of its number; a device's nth set of inputs to the controller's nth
// set; a pin that can do much is left to those that need it; and within a run
// of pins the first ways are taken first, in the order of the file, so that the
// spare ones stay together at its end. The sum over all pairs is the least there
// is. That banks stay together and spare ways lie side by side follows from the
// costs and is not looked at on its own: a pin that the user fixed can split them.
const (
	strayUnit    int64 = 2e11 // for each unit before the one it is on, four at most
	strayChannel int64 = 1e8  // times the square of the distance from the cylinder's channel
	strayPlace   int64 = 2e6  // times the square of the distance from the nth
	waste        int64 = 1e6  // for each thing the pin could do beside
	idleAmpere   int64 = 1e5  // for each whole ampere that the driver has to spare, ten at most
	farthest     int64 = 40   // distances count up to here
)

// assignPins serves all that want a pin at once.
func (p *planner) assignPins() {
	ways := p.ways()
	if len(p.bad) > 0 {
		return
	}
	wants := p.wants()
	p.chosen = choice{wants, p.costs(wants, ways)}
	a, err := assign.Solve(p.chosen.costs)
	if err != nil {
		panic("loom: the costs of pins: " + err.Error())
	}
	p.wayFor = map[string]int{}
	for i, j := range a.To {
		p.wayFor[wants[i].end] = j
	}
	for _, s := range a.Short {
		p.loom.Lacks = append(p.loom.Lacks, p.lack(s, wants, ways))
	}
}

// wants lists what a pin is asked for, in the order that the wires are made in.
func (p *planner) wants() []want {
	var out []want
	seen := map[string]bool{}
	add := func(w want) {
		if !seen[w.end] {
			seen[w.end] = true
			w.fixed = p.pinFix(w.end)
			out = append(out, w)
		}
	}
	ends := p.ends(role("sensor ground"))
	if joins, _ := p.groundFix("sensor"); len(ends) > 0 && (joins == "" || joins == "controller") {
		add(want{end: "sensor ground", needs: "sensor ground", currentA: p.needOf(names(ends)).meanA(), pos: p.ctl.Pos})
	}
	for _, g := range p.sensorSupplies() {
		add(want{end: g.name, needs: SensorSupply, currentA: g.currentA, pos: g.ends[0].it.Pos})
	}
	for _, e := range p.ends(func(t *catalogue.Terminal) bool { return t.Role == "output" || t.Role == "input" }) {
		switch {
		case shared(e.t.Needs):
			add(want{end: e.t.Needs, needs: e.t.Needs, pos: e.it.Pos})
		case e.it.Part.Kind != "controller" && e.t.Needs != "" && e.t.Needs != Terminal61:
			add(p.wantOf(e))
		}
	}
	for _, r := range p.coilWants() {
		add(r)
	}
	count := map[string]int{}
	for i := range out {
		count[out[i].needs]++
		out[i].order = count[out[i].needs]
	}
	p.followFiring(out)
	return out
}

func (p *planner) wantOf(e endAt) want {
	w := want{end: e.end(), needs: e.t.Needs, pos: e.it.Pos, gearbox: p.ofGearbox(e), currentA: p.draws[e.end()].meanA()}
	w.currentA = max(w.currentA, p.peakA(e))
	if e.t.HoldA != nil {
		w.holdA = e.t.HoldA.SI
	}
	if e.t.Role == "output" {
		w.cylinder = e.it.Cylinder
	}
	if e.t.PulseHz != nil {
		w.pulseHz = e.t.PulseHz.SI
	}
	if s := e.it.Part.Sensor; s != nil && e.t.Needs == analogue {
		for _, v := range []*figure.Input{s.LowV, s.HighV} {
			if v != nil {
				w.signalV = max(w.signalV, v.SI)
			}
		}
	}
	if s := e.it.Part.Sensor; s != nil && s.ColdOhm != nil && s.HotOhm != nil {
		w.coldOhm, w.hotOhm = s.ColdOhm.SI, s.HotOhm.SI
	}
	return w
}

// peakA is the greatest current a terminal's driver has to switch: as stated, or
// what an injector on a saturated driver settles at.
func (p *planner) peakA(e endAt) float64 {
	if e.t.PeakA != nil {
		return e.t.PeakA.SI
	}
	if e.t.Needs != injectorDriver {
		return 0
	}
	for i := range e.it.Part.Loads {
		if l := &e.it.Part.Loads[i]; l.Model == "injector" && (l.From == e.name || l.To == e.name) && l.Ohm != nil {
			return NominalV / l.Ohm.SI
		}
	}
	return 0
}

// What a pin can do, as the catalogue says it.
const (
	analogue       = "analogue"
	solenoidDriver = "solenoid driver"
	injectorDriver = "injector driver"
)

// ofGearbox reports whether a terminal belongs to a gearbox that is run by a unit
// of its own: its valves, and the sensors that sit where they do.
func (p *planner) ofGearbox(e endAt) bool {
	g := p.d.File.Gearbox
	if g == nil || g.RunBy != "own unit" {
		return false
	}
	if e.t.Needs == solenoidDriver {
		return true
	}
	return e.t.Role == "input" && slices.ContainsFunc(p.d.Devices, func(it design.Item) bool {
		return it.At == e.it.At && slices.ContainsFunc(it.Part.Terminals, func(t buildfile.Named[catalogue.Terminal]) bool { return t.Value.Needs == solenoidDriver })
	})
}

// coilWants lists the coils of the relays that some feed in use hangs on, by the
// names that relays gives them.
func (p *planner) coilWants() []want {
	var out []want
	uses := p.feedUses()
	n := 0
	for i := range p.d.Cat.Scheme.Relays {
		v := &p.d.Cat.Scheme.Relays[i]
		if !slices.ContainsFunc(uses, func(u *feedUse) bool { return u.relay == v.Name }) {
			continue
		}
		n++
		r := Relay{Name: relayName(n), Part: p.d.Cat.Parts[v.Value.Part.Name]}
		out = append(out, want{end: r.Node("85"), needs: v.Value.Needs, currentA: NominalV / r.Part.Relay.CoilOhm.SI, pos: p.d.Place("devices")})
	}
	return out
}

// followFiring lets the cylinders' devices follow the firing order where the
// user's own pins do so and do not follow the cylinders: the nth cylinder that
// fires is then served by channel n.
func (p *planner) followFiring(wants []want) {
	names, banks := p.wayNames()
	for _, needs := range []string{"injector driver", "peak and hold driver", "coil driver", "ignition stage"} {
		byCylinder, byFiring, any := true, true, false
		for _, w := range wants {
			if w.needs != needs || w.fixed == "" || w.cylinder == 0 {
				continue
			}
			n := rank(names, banks, w.fixed, needs)
			any = true
			byCylinder = byCylinder && n == w.cylinder
			byFiring = byFiring && n == 1+slices.Index(p.d.Firing, w.cylinder)
		}
		if !any || byCylinder || !byFiring {
			continue
		}
		for i := range wants {
			if w := &wants[i]; w.needs == needs && w.cylinder > 0 {
				w.cylinder = 1 + slices.Index(p.d.Firing, w.cylinder)
			}
		}
	}
}

func (p *planner) wayNames() (names []string, banks []*catalogue.PinBank) {
	for _, w := range p.ways() {
		names, banks = append(names, w.name), append(banks, w.bank)
	}
	return names, banks
}

// rank counts a pin among those that can do the same, from 1; 0 when it can't.
func rank(names []string, banks []*catalogue.PinBank, pin, needs string) int {
	n := 0
	for i, name := range names {
		if slices.Contains(banks[i].Can, needs) {
			n++
			if name == pin {
				return n
			}
		}
	}
	return 0
}

// costs prices every pair.
func (p *planner) costs(wants []want, ways []way) [][]int64 {
	reserved := map[string]bool{}
	for _, v := range p.d.File.Loom.Pins {
		reserved[v.Value.Pin] = true
	}
	unit := map[string]int{}
	for i, it := range Units(p.d) {
		unit[it.Name] = i
	}
	out := make([][]int64, len(wants))
	for i := range wants {
		w := &wants[i]
		out[i] = make([]int64, len(ways))
		n, place := 0, 0
		for j := range ways {
			if j == 0 || ways[j].bank != ways[j-1].bank {
				place = 0
			}
			place++
			if !slices.Contains(ways[j].bank.Can, w.needs) {
				out[i][j] = assign.Never
				continue
			}
			n++
			switch {
			case w.fixed != "" && ways[j].name != w.fixed, w.fixed == "" && reserved[ways[j].name]:
				out[i][j] = assign.Never
			case w.fixed != "":
				out[i][j] = 0 // the user's own choice, whatever it carries
			case !w.stands(ways[j].bank):
				out[i][j] = assign.Never
			default:
				out[i][j] = w.cost(&ways[j], unit[ways[j].unit.Name], n, place, len(wants))
			}
		}
	}
	return out
}

// stands reports whether a bank's driver or input bears what the terminal asks.
func (w *want) stands(b *catalogue.PinBank) bool {
	switch {
	case b.CurrentA != nil && w.currentA > b.CurrentA.SI:
		return false
	case b.HoldA != nil && w.holdA > b.HoldA.SI:
		return false
	case b.PullUpOhm != nil && w.coldOhm > 0 && SwingFrac(w.coldOhm, w.hotOhm, b.PullUpOhm.SI) < leastSwingFrac:
		return false
	case w.pulseHz > 0 && (b.Slow || b.PulseHz != nil && w.pulseHz > b.PulseHz.SI):
		return false
	case w.signalV > 0 && b.MostV != nil && w.signalV > b.MostV.SI*(1+1e-9):
		return false
	}
	return true
}

// cost is what it costs to serve a terminal by the nth pin that can, which is
// the given place of its run on the given unit.
func (w *want) cost(v *way, unit, n, place, wants int) int64 {
	c := strayUnit * min(int64(unit), 4)
	if w.gearbox && unit > 0 && unitDrives(v.unit, solenoidDriver) {
		c = 0
	} else if w.gearbox {
		c += strayUnit
	}
	if w.cylinder > 0 {
		c += strayChannel * square(n-w.cylinder)
	} else if len(v.bank.Can) == 1 {
		c += strayPlace * square(n-w.order)
	}
	c += waste * int64(len(v.bank.Can)-1)
	if v.bank.CurrentA != nil {
		c += idleAmpere * int64(math.Min(10, math.Floor(v.bank.CurrentA.SI-w.currentA)))
	}
	return c + int64(place)*int64(2*wants-w.order)
}

func square(d int) int64 {
	n := min(int64(max(d, -d)), farthest)
	return n * n
}

func unitDrives(it design.Item, needs string) bool {
	return slices.ContainsFunc(it.Part.Controller.Pins, func(b catalogue.PinBank) bool { return slices.Contains(b.Can, needs) })
}
