package vehicle

import (
	"math"
	"strings"

	"fettle/internal/balance"
	"fettle/internal/catalogue"
	"fettle/internal/dcnet"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/formula"
	"fettle/internal/loom"
)

// rotorOhm is an alternator's rotor with its brushes; the coil of a tachometer's
// signal input stands behind tachOhm (both from memory).
const (
	rotorOhm = 3.0
	tachOhm  = 10e3
)

// ExcitationOhm returns the resistance of what excites an alternator until it charges: a lamp or a resistor, and the rotor behind it.
//
//	R = U²/P + R_rotor  with a lamp,  R = R_stated + R_rotor  with a resistor
//
// where U = 12 V is what the lamp's power is stated at and R_rotor = 3 Ω.
//
// Valid: a 12 V vehicle, a lamp that glows at nearly its full voltage.
// Accuracy: ± 15 %: a lamp below its rated voltage is colder and lets more through.
// Source: Ohm's law; rotor 2.5 to 4 Ω from memory.
// Errors: none
func ExcitationOhm(lampW, statedOhm float64) float64 {
	if lampW > 0 {
		return 12*12/lampW + rotorOhm
	}
	return statedOhm + rotorOhm
}

// exciter is what feeds terminal 61: the node it is fed from and its resistance
// before the rotor; ok is false when neither a device nor the file says what it
// is. The file's word wins over the device.
func (v *Vehicle) exciter() (from string, ohm float64, in *figure.Input, ok bool) {
	e := v.Design.File.Electrical
	if e == nil {
		e = &design.Electrical{}
	}
	devices := loom.Exciters(v.Design)
	switch {
	case e.Excited == "nothing" || e.Excited == "controller":
		return "", 0, nil, false
	case e.LampW != nil:
		in, ohm = e.LampW, ExcitationOhm(e.LampW.SI, 0)-rotorOhm
	case len(devices) > 0:
		in = devices[0].Part.Loads[0].Ohm
		ohm = in.SI
	case strings.HasPrefix(e.Excited, "lamp"):
		in, ohm = v.k.lampW, ExcitationOhm(v.k.lampW.SI, 0)-rotorOhm
	case e.Excited == "resistor":
		in, ohm = v.k.exciteOhm, v.k.exciteOhm.SI
	default:
		return "", 0, nil, false
	}
	nodes := []string{"feed vehicle", "rail 15"}
	if len(devices) > 0 {
		nodes = []string{devices[0].Name + " " + devices[0].Part.Loads[0].From}
	}
	for _, from := range nodes {
		if v.touched[from] {
			return from, ohm, in, true
		}
	}
	return "", 0, nil, false
}

// excitation adds the circuit through lamp and rotor to the network.
func (v *Vehicle) excitation() {
	from, ohm, in, ok := v.exciter()
	if !ok {
		return
	}
	alt := v.Design.One("alternator")
	whole := &figure.Input{
		ID: "model/excitation circuit", SI: ohm + rotorOhm, SdSI: 0.15 * (ohm + rotorOhm), Unit: "Ω", Origin: figure.Decided, Pos: in.Pos,
		Source: "lamp or resistor at terminal 61 with a rotor of 3 Ω; rotor from memory",
	}
	whole.Seal()
	load := &catalogue.Load{Model: "resistance", Ohm: whole, On: []string{design.KeyOn}}
	to := v.caseNode(alt)
	v.exciteOhm = whole
	v.consumers = append(v.consumers, consumer{
		name: excitationName, id: v.net.Load(excitationName, v.node(from), v.node(to), dcnet.Current{}), part: alt.Part, load: load, item: alt, a: from, b: to,
	})
}

// excitationName is the circuit's name in figures.
const excitationName = "excitation"

// excites reports whether the alternator begins to charge, from the solved state
// with the key on: nothing at terminal 61, or too little through it, and it does
// not.
func (v *Vehicle) excites(d figure.Draw, keyOn *State) bool {
	if e := v.Design.File.Electrical; e != nil && e.Excited == "nothing" {
		return false
	}
	amps, ok := keyOn.ConsumerA(excitationName)
	return !ok || amps >= d.Of(v.k.exciteA)
}

// KeyOff is what flows when the engine turns and the key is turned off.
type KeyOff struct {
	Ended     figure.Ended
	SwitchedV float64 // left at the controller's switched supply
	OffV      float64 // below it the controller shuts down
	OffIn     *figure.Input
	Held      []string // relays that stay in
	RunsOn    bool     // the controller is held alive
}

// releaseV is the least voltage at which a relay lets go (data sheets of cube
// relays: 1.0 to 1.5 V for 12 V coils, cold).
const releaseV = 1.0

// keyOff solves the network with the key off and the engine still turning: the
// terminal 61 of a charging alternator stands at its voltage and feeds back
// through the charge lamp, a coil through the tachometer's signal. Relays follow
// until nothing moves: a controller below its drop-out lets its own go, a coil
// below its release voltage its contact.
func (w *worker) keyOff(p *balance.Parts, bs balance.State) *KeyOff {
	v := w.v
	net, sw := w.net.Clone(), bs.Switches.Clone()
	for i := range v.links {
		if l := &v.links[i]; l.on != nil && l.relay == nil {
			sw.Set(l.id, contains(l.on, design.AfterRun))
		}
	}
	if from, ohm, _, ok := v.exciter(); ok && !v.diode() {
		net.Source("terminal 61", v.nodes[from], v.nodes[v.caseNode(v.Design.One("alternator"))], p.Charger.SetV, ohm)
	}
	v.tachPaths(net)
	out := &KeyOff{OffV: v.k.awakeV.SI, OffIn: v.k.awakeV}
	switched := v.switchedLoad(out)
	for _, c := range v.consumers {
		if c.name == excitationName {
			net.SetLoad(c.id, dcnet.Current{})
		}
	}
	for range 2 + len(v.Loom.Relays) {
		s, e := net.Solve(sw, nil)
		if out.Ended = e; !e.OK {
			return out
		}
		out.SwitchedV = 0
		if switched != 0 {
			out.SwitchedV = s.ElementV(switched)
		}
		out.RunsOn = switched != 0 && out.SwitchedV >= out.OffV
		if !v.letGo(net, &sw, &s, out) {
			return out
		}
	}
	out.Ended = figure.Ended{Why: "the relays did not come to rest with the key off"}
	return out
}

// diode reports a charge lamp that lets no current back.
func (v *Vehicle) diode() bool {
	e := v.Design.File.Electrical
	return e != nil && e.Excited == "lamp and diode"
}

// switchedLoad finds the controller's switched supply.
func (v *Vehicle) switchedLoad(out *KeyOff) dcnet.ElementID {
	ctl := v.Design.One("controller")
	for _, c := range v.consumers {
		if c.coil == nil && c.item.Name == ctl.Name {
			if t := ctl.Part.Terminal(c.load.From); t != nil && t.Feed == "switched" {
				if c.load.DropOutV != nil {
					out.OffV, out.OffIn = c.load.DropOutV.SI, c.load.DropOutV
				}
				return c.id
			}
		}
	}
	return 0
}

// letGo opens the contacts of relays that are no longer held; it reports whether
// one moved.
func (v *Vehicle) letGo(net *dcnet.Network, sw *dcnet.Switches, s *dcnet.Solution, out *KeyOff) (moved bool) {
	out.Held = nil
	for i := range v.links {
		l := &v.links[i]
		if l.relay == nil || !sw.Closed(l.id) {
			continue
		}
		volts := math.Inf(1)
		for _, c := range v.consumers {
			if c.coil != nil && c.coil.Name == l.relay.Name {
				volts = s.ElementV(c.id)
				if !out.RunsOn {
					net.SetLoad(c.id, dcnet.Current{}) // its driver is dead
				}
			}
		}
		if out.RunsOn && volts >= releaseV {
			out.Held = append(out.Held, l.relay.Name)
			continue
		}
		sw.Set(l.id, false)
		moved = true
	}
	return moved
}

// tachPaths joins, in a network of its own, a tachometer's signal to its supply:
// through its input, to the coil whose terminal 1 it listens to.
func (v *Vehicle) tachPaths(net *dcnet.Network) {
	for _, it := range v.Design.Devices {
		for _, t := range it.Part.Terminals {
			if t.Value.Needs != "coil pulse" && t.Value.Needs != "tachometer output" {
				continue
			}
			for _, f := range it.Part.Terminals {
				at, ok := v.nodes[it.Name+" "+f.Name]
				coil, hot := v.nodes["feed ignition"]
				if f.Value.Role == "feed" && ok && hot && v.touched[it.Name+" "+f.Name] {
					net.Resistor(it.Name+" signal", coil, at, tachOhm)
				}
			}
		}
	}
}

// Isolated is what the alternator still feeds when the battery isolator opens
// with the engine idling.
type Isolated struct {
	Ended       figure.Ended
	ControllerV float64
	Fed         []string // devices that still draw
	PostV       float64  // at the alternator
}

// isolate opens the isolator: the battery is gone; one that stops the engine also
// takes terminal 15 away and the alternator's field with it.
func (w *worker) isolate(p *balance.Parts, bs balance.State) *Isolated {
	v := w.v
	net, sw := w.net.Clone(), bs.Switches.Clone()
	if v.Design.File.Electrical.Isolator == isolatorStops {
		net.SetRegulated(v.alt, p.Charger.SetV, p.Charger.SlopeOhm, 0)
		v.openAll(&sw)
	}
	s, e := net.Solve(sw, nil, dcnet.Change{Kind: dcnet.Open, At: v.battery})
	out := &Isolated{Ended: e}
	if !e.OK {
		return out
	}
	out.PostV = s.ElementV(v.alt)
	name := v.controllerLoad()
	for _, c := range v.consumers {
		if c.name == name {
			out.ControllerV = s.ElementV(c.id)
		}
		if volts := s.ElementV(c.id); volts > releaseV && s.ElementA(c.id) > 1e-6 && c.coil == nil && v.paths[c.name].five == 0 {
			out.Fed = append(out.Fed, c.name)
		}
	}
	return out
}

// BackFedV returns the voltage left on a dead feed that terminal 61 feeds back into through the charge lamp.
//
//	U = U₆₁ · R_feed/(R_lamp + R_feed)
//
// where R_feed is all that hangs on the feed, at its own voltage; solved with the
// whole network and its relays.
//
// Valid: a charging alternator, the key off.
// Accuracy: ± 1 V: the lamp's resistance falls with its voltage.
// Source: nodal analysis.
// Errors: none
func BackFedV(terminalV, lampOhm, feedOhm float64) float64 {
	return terminalV * feedOhm / (lampOhm + feedOhm)
}

// IsolatedV returns the voltage at the controller once the isolator has opened under a running engine.
//
//	U = U_alternator − Σ I·R
//
// where the sum goes over the way from the alternator, the battery gone.
//
// Valid: the moment after the field has settled; the load dump before it is
// DumpedV.
// Accuracy: that of the drops.
// Source: nodal analysis.
// Errors: none
func IsolatedV(alternatorV, dropsV float64) float64 { return alternatorV - dropsV }

// keyOffs records what was found with the key off and with the isolator open.
func (a *accountant) keyOffs() {
	alt := a.v.Design.One("alternator").Part.Alternator
	if k := a.r.KeyOff; k != nil && k.Ended.OK {
		in := []figure.ID{a.l.Leaf(alt.SetV)}
		if _, _, lamp, ok := a.v.exciter(); ok {
			in = append(in, a.l.Leaf(lamp))
		}
		a.l.PutLoop("keyoff/switched supply/VoltageV", formula.VehicleBackFedV, k.SwitchedV, "V", &k.Ended, in...)
	}
	if i := a.r.Isolated; i != nil && i.Ended.OK {
		in := []figure.ID{a.l.Leaf(alt.SetV), a.l.Leaf(alt.SlopeOhm)}
		a.l.PutLoop("isolated/controller/VoltageV", formula.VehicleIsolatedV, i.ControllerV, "V", &i.Ended, in...)
		a.l.PutLoop("isolated/alternator/VoltageV", formula.VehicleIsolatedV, i.PostV, "V", &i.Ended, in...)
	}
}
