package loom

import (
	"fmt"
	"math"

	"fettle/internal/battery"
	"fettle/internal/catalogue"
	"fettle/internal/fuse"
	"fettle/internal/wire"
)

// Guard is what protects a wire.
type Guard struct {
	// By says it in words: "fuse F3", "the most injector 1 lets through".
	By string
	// Fuse is the name of the fuse that has to open, empty when none has to; its
	// window is that of [fuse.Of].
	Fuse    string
	RatingA float64
	// LimitA is the most that a device or a driver in the loop lets through, 0
	// when only the loop limits a short.
	LimitA float64
	// Declared marks the exceptions: the starter's cable, short and sleeved, and
	// the piece between the battery's post and its fuses.
	Declared bool
	// ShortA is a bolted short at the wire's beginning, FarA at its far end: of a
	// full warm battery through the loop, cold wires, no arc.
	ShortA, FarA float64
	// Via are the wires, as indices in Loom.Wires, and the fuses that a short at
	// the far end flows through before this wire.
	Via      []int
	ViaFuses []string
	// Holds says that the wire is protected over the whole time–current plane;
	// FailA is else the first current at which it is not.
	Holds bool
	FailA float64
	// MarginRatio is the least, over the sweep, of how long the wire stands a
	// current over how long the fuse may take; above 1 where it holds.
	MarginRatio float64

	damage *wire.Damage
}

// Instants that a wire's insulation is reckoned with.
const overK = 25 // K above its class for hours: ISO 6722 short-term test, from memory

// reach is how a node is supplied from the battery's positive post.
type reach struct {
	fuse  *Fuse // the last one on the way
	ohm   float64
	wires []int
	fuses []string
}

// edge is one piece of the way.
type edge struct {
	to   string
	ohm  float64
	wire int // index, −1 for none
	fuse *Fuse
}

// supplied finds how every node is supplied, along fuses, wires, relays and
// switches, all closed.
func (p *planner) supplied() map[string]reach {
	next := map[string][]edge{}
	join := func(a, b string, e edge) {
		e.to = b
		next[a] = append(next[a], e)
		e.to = a
		next[b] = append(next[b], e)
	}
	for i := range p.loom.Wires {
		w := &p.loom.Wires[i]
		if w.Kind != Return && w.Kind != Strap {
			join(w.From.Node, w.To.Node, edge{wire: i, ohm: p.wireOhm(w)})
		}
	}
	for i := range p.loom.Fuses {
		f := &p.loom.Fuses[i]
		ohm, err := fuse.ColdOhm(math.Min(f.RatingA.SI, 100))
		if err != nil {
			ohm = 0 // a rating below 1 A: the safe side
		}
		join(f.From, f.To, edge{wire: -1, fuse: f, ohm: ohm})
	}
	for i := range p.loom.Relays {
		r := &p.loom.Relays[i]
		join(r.Node("30"), r.Node("87"), edge{wire: -1, ohm: r.Part.Relay.ContactOhm.SI})
	}
	for _, it := range p.d.Devices {
		for _, c := range it.Part.Contacts {
			join(it.Name+" "+c.From, it.Name+" "+c.To, edge{wire: -1, ohm: c.Ohm.SI})
		}
	}
	plus := PostNode(p.d.One("battery"), 0)
	out := map[string]reach{plus: {}}
	for queue := []string{plus}; len(queue) > 0; queue = queue[1:] {
		at := out[queue[0]]
		for _, e := range next[queue[0]] {
			if _, seen := out[e.to]; seen {
				continue
			}
			r := reach{fuse: at.fuse, ohm: at.ohm + e.ohm, wires: at.wires, fuses: at.fuses}
			if e.fuse != nil {
				r.fuse = e.fuse
				r.fuses = append(append([]string{}, at.fuses...), e.fuse.Name)
			}
			if e.wire >= 0 {
				r.wires = append(append([]int{}, at.wires...), e.wire)
			}
			out[e.to] = r
			queue = append(queue, e.to)
		}
	}
	return out
}

// wireOhm is a cold wire's resistance with its two contacts; before it has a
// size, none.
func (p *planner) wireOhm(w *Wire) float64 {
	if w.Cable == nil {
		return 0
	}
	contact := p.d.Cat.Scheme.ContactOhm.SI
	if w.Kind == Post || w.Kind == Strap {
		contact = p.d.Cat.Scheme.BoltOhm.SI
	}
	return w.LengthM*w.Cable.OhmPerM.SI + 2*contact
}

// ShortA returns the current of a bolted short.
//
//	I = U₀/(R_b + Σ R + R_g)
//
// where U₀ and R_b are the open voltage and the resistance of a full battery at 40 °C, Σ R the fuses, contacts and wires at 20 °C on the way, and R_g the strap that leads back.
//
// Valid: steady current, no arc; the alternator is left out, it gives its rating at most.
// Accuracy: ± 25 %, that of the battery's resistance; above six times a fuse's rating it opens at the same I²t.
// Source: Ohm's law; battery as in battery.InternalOhm.
// Errors: none
func ShortA(openV, batteryOhm, wayOhm, strapOhm float64) float64 {
	return openV / (batteryOhm + wayOhm + strapOhm)
}

// shorts is what a bolted short needs to know of the battery.
type shorts struct{ openV, batteryOhm, strapOhm float64 }

const shortK = 313.15 // a warm battery, within the range of battery.InternalOhm

func (p *planner) shorts() shorts {
	var s shorts
	var err error
	if s.openV, err = battery.OpenV(1, shortK); err != nil {
		panic("loom: a full battery at 40 °C: " + err.Error())
	}
	if s.batteryOhm, err = battery.InternalOhm(p.d.One("battery").Part.Battery.ColdA.SI, shortK, 1); err != nil {
		panic("loom: the catalogue keeps the cold cranking current above 0: " + err.Error())
	}
	s.strapOhm = math.Inf(1)
	for _, name := range []string{"engine strap", "body strap"} {
		if w, ok := p.loom.Wire(name); ok {
			s.strapOhm = math.Min(s.strapOhm, p.wireOhm(&w))
		}
	}
	return s
}

func (s shorts) at(wayOhm float64) float64 { return ShortA(s.openV, s.batteryOhm, wayOhm, s.strapOhm) }

// guards says for every wire what protects it. Before wires have sizes the
// shorts are those of the bare battery: no smaller than any.
func (p *planner) guards() {
	reached, short := p.supplied(), p.shorts()
	through, behind := p.throughLoads(reached)
	for i := range p.loom.Wires {
		w := &p.loom.Wires[i]
		w.Guard = Guard{}
		from, ok := reached[w.From.Node]
		if to, okTo := reached[w.To.Node]; okTo && (!ok || to.ohm < from.ohm || len(to.wires) < len(from.wires)) {
			from, ok = to, true
		}
		switch {
		case w.Kind == Strap:
			p.guardStrap(w, short)
		case w.Kind == Return:
			p.guardReturn(w, behind, short)
		case ok:
			p.guardSupply(w, from, short)
		default:
			p.guardLimited(w, through)
		}
		w.FuseA = w.Guard.RatingA
	}
}

func (g *Guard) behindFuse(f *Fuse) {
	g.Fuse, g.RatingA, g.By = f.Name, f.RatingA.SI, fmt.Sprintf("fuse %s, %g A", f.Name, f.RatingA.SI)
}

// guardSupply guards a wire that the battery reaches.
func (p *planner) guardSupply(w *Wire, from reach, short shorts) {
	g := &w.Guard
	g.ShortA, g.FarA = short.at(from.ohm), short.at(from.ohm+p.wireOhm(w))
	g.Via, g.ViaFuses = from.wires, from.fuses
	switch {
	case from.fuse != nil:
		g.behindFuse(from.fuse)
	case w.Brief:
		g.Declared, g.By = true, "nothing: the starter's cable, kept short and sleeved"
	case w.Name == BatteryLead:
		g.Declared, g.By = true, "nothing: the lead to the battery's fuses, kept short and sleeved"
	default:
		g.By = "nothing"
	}
}

// guardStrap guards a strap: what a fault brings through it is limited by the
// larger of the main fuses.
func (p *planner) guardStrap(w *Wire, short shorts) {
	var most *Fuse
	for i := range p.loom.Fuses {
		if f := &p.loom.Fuses[i]; (f.Name == "M1" || f.Name == "M2") && (most == nil || f.RatingA.SI > most.RatingA.SI) {
			most = f
		}
	}
	w.Guard.ShortA, w.Guard.FarA = short.at(0), short.at(0)
	w.Guard.behindFuse(most)
}

// guardReturn guards a ground wire: a fault inside its device brings what the
// largest fuse of the device lets through.
func (p *planner) guardReturn(w *Wire, behind map[string]reach, short shorts) {
	r, ok := behind[w.From.Node]
	if !ok || r.fuse == nil {
		w.Guard.By = "the driver of its device"
		return
	}
	w.Guard.behindFuse(r.fuse)
	w.Guard.ShortA = short.at(r.ohm)
	w.Guard.FarA = short.at(r.ohm + p.wireOhm(w))
	w.Guard.Via, w.Guard.ViaFuses = r.wires, r.fuses
}

// limited is what a device lets through to its far terminal.
type limited struct {
	reach
	limitA float64
	device string
}

// throughLoads lists the terminals that are supplied through a load, with what it
// lets through, and the ground terminals with the largest fuse of their device.
func (p *planner) throughLoads(reached map[string]reach) (through map[string]limited, behind map[string]reach) {
	through, behind = map[string]limited{}, map[string]reach{}
	for i := range p.d.Devices {
		it := &p.d.Devices[i]
		var largest reach
		for _, t := range it.Part.Terminals {
			r, ok := reached[it.Name+" "+t.Name]
			if ok && t.Value.Role == "feed" && r.fuse != nil && (largest.fuse == nil || r.fuse.RatingA.SI > largest.fuse.RatingA.SI) {
				largest = r
			}
		}
		grounded := false
		for _, t := range it.Part.Terminals {
			if t.Value.Role == "ground" && largest.fuse != nil {
				behind[it.Name+" "+t.Name], grounded = largest, true
			}
		}
		for k := range it.Part.Loads {
			l := &it.Part.Loads[k]
			from, ok := reached[it.Name+" "+l.From]
			if !ok {
				continue
			}
			to := it.Name + " " + l.To
			sum := through[to]
			sum.device, sum.limitA = it.Name, sum.limitA+p.limitA(it.Part, l)
			if sum.fuse == nil || from.fuse != nil && from.fuse.RatingA.SI > sum.fuse.RatingA.SI {
				sum.reach = from
			}
			through[to] = sum
		}
		if !grounded && largest.fuse != nil {
			for _, t := range it.Part.Terminals {
				if t.Value.Role == "sensor ground" {
					behind[it.Name+" "+t.Name] = largest
				}
			}
		}
	}
	for i := range p.loom.Relays {
		r := &p.loom.Relays[i]
		if from, ok := reached[r.Node("86")]; ok {
			through[r.Node("85")] = limited{reach: from, limitA: NominalV / r.Part.Relay.CoilOhm.SI, device: "relay " + r.Name}
		}
	}
	return through, behind
}

// guardLimited guards a wire that is supplied through a device or a driver.
func (p *planner) guardLimited(w *Wire, through map[string]limited) {
	g := &w.Guard
	for _, node := range []string{w.From.Node, w.To.Node} {
		if l, ok := through[node]; ok {
			g.LimitA, g.ShortA, g.FarA = l.limitA, l.limitA, l.limitA
			g.Via, g.ViaFuses = l.wires, l.fuses
			g.By = fmt.Sprintf("%s, which lets %.3g A through at most", l.device, l.limitA)
			if l.fuse != nil {
				g.Fuse, g.RatingA = l.fuse.Name, l.fuse.RatingA.SI
			}
			return
		}
	}
	if pin := p.pinOf(w); pin != nil && pin.CurrentA != nil {
		g.LimitA, g.ShortA, g.FarA = pin.CurrentA.SI, pin.CurrentA.SI, pin.CurrentA.SI
		g.By = fmt.Sprintf("the controller's pin, which gives %.3g A at most", pin.CurrentA.SI)
		return
	}
	g.LimitA, g.ShortA, g.FarA = signalA, signalA, signalA
	g.By = "the electronics at its ends: a signal"
}

// signalA is the most that a signal's electronics give into a short (common
// practice: tens of milliamperes).
const signalA = 0.1

// pinOf is the bank of the pin that a wire, or the splice at its end, goes to.
func (p *planner) pinOf(w *Wire) *catalogue.PinBank {
	for _, node := range []string{w.To.Node, w.From.Node} {
		for i := range p.loom.Pins {
			if p.loom.Pins[i].Node == node {
				return p.loom.Pins[i].Bank
			}
		}
	}
	for i := range p.loom.Wires {
		t := &p.loom.Wires[i]
		if t != w && t.From.Node == w.To.Node {
			for k := range p.loom.Pins {
				if p.loom.Pins[k].Node == t.To.Node {
					return p.loom.Pins[k].Bank
				}
			}
		}
	}
	return nil
}
