package vehicle

import (
	"slices"

	"fettle/internal/battery"
	"fettle/internal/dcnet"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/formula"
	"fettle/internal/loom"
)

// WireLimitID, WireLengthID and WireAnchor name a wire's permitted drop, its
// length and its place on a page.
func WireLimitID(w *loom.Wire) figure.ID { return figure.ID("loom/" + WireName(w.Number) + "/LimitV") }

// WireLengthID is the ID of a wire's length.
func WireLengthID(w *loom.Wire) figure.ID {
	return figure.ID("loom/" + WireName(w.Number) + "/LengthM")
}

// BranchLengthID and BranchDiameterID name the length and the diameter of a
// branch of the harness.
func BranchLengthID(b *loom.Branch) figure.ID {
	return figure.ID("loom/branch " + b.Name + "/LengthM")
}

// BranchDiameterID is the ID of a branch's diameter.
func BranchDiameterID(b *loom.Branch) figure.ID {
	return figure.ID("loom/branch " + b.Name + "/DiameterM")
}

// BranchSecondID is the ID of the diameter of a branch's second bundle.
func BranchSecondID(b *loom.Branch) figure.ID {
	return figure.ID("loom/branch " + b.Name + "/SecondM")
}

// BranchNeedID is the ID of the width that a branch's two bundles take.
func BranchNeedID(b *loom.Branch) figure.ID { return figure.ID("loom/branch " + b.Name + "/NeedM") }

// CableDiameterID is the ID of the diameter of wires that run as one cable.
func CableDiameterID(g *loom.Group) figure.ID {
	return figure.ID("loom/cable " + g.Name + "/DiameterM")
}

// WireAnchor is a wire's place on a page.
func WireAnchor(number int) string { return "wire-" + itoa(number) }

// WireDropV is a wire's drop and current in a state; ok is false when it is not
// part of the network or the state did not settle.
func (s *State) WireDropV(number int) (dropV, currentA float64, ok bool) {
	if number < 1 || number > len(s.v.wireLink) || !s.Ended.OK || s.v.wireLink[number-1] < 0 {
		return 0, 0, false
	}
	id := s.v.links[s.v.wireLink[number-1]].id
	return s.Point.Net.ElementV(id), s.Point.Net.ElementA(id), true
}

// DropV returns the voltage that a conductor takes from its circuit.
//
//	U = I · R
//
// where I is the current from the solved network and R the conductor's resistance with its two contacts.
//
// Valid: steady current.
// Accuracy: that of the resistance.
// Source: Ohm's law.
// Errors: none
func DropV(currentA, ohm float64) float64 { return currentA * ohm }

// AtDeviceV returns the voltage across a device.
//
//	U = U_post − Σ U_out − Σ U_back
//
// where U_post is the voltage between the battery's posts, or of the sensor supply for what hangs on it, and the sums go over wires, contacts, fuses and grounds to the device and back.
//
// Valid: a device with one way out and one back, as a harness is.
// Accuracy: that of the drops.
// Source: Kirchhoff's voltage law.
// Errors: none
func AtDeviceV(postV, outV, backV float64) float64 { return postV - outV - backV }

// account records the working of every figure of the result.
func (v *Vehicle) account(r *Result) {
	a := accountant{v: v, r: r, l: r.Ledger}
	for _, in := range v.Design.Inputs {
		a.l.Leaf(in)
	}
	a.findThrough()
	a.constants()
	a.loom()
	for i := range r.States {
		if r.States[i].Ended.OK {
			a.state(&r.States[i])
		}
	}
	a.keyOffs()
	a.charging()
	a.dump()
	a.curve()
	a.gears()
	a.joints()
	a.hose()
	a.fuelSides()
	a.cruise()
	a.heat()
	a.marks()
	a.margins()
}

type accountant struct {
	v *Vehicle
	r *Result
	l *figure.Ledger
	// behind lists for every link the consumers whose way leads through it; onWay
	// has the nodes on any way.
	behind map[dcnet.ElementID][]consumer
	onWay  map[string]bool
}

// loom records lengths, limits and the fuses that were decided.
func (a *accountant) loom() {
	v := a.v
	s := &v.Design.Cat.Scheme
	for i := range v.Loom.Wires {
		w := &v.Loom.Wires[i]
		in := []figure.ID{a.l.Leaf(s.SlackFrac), a.l.Leaf(s.TailM)}
		for _, r := range w.Routes {
			in = append(in, a.l.Leaf(v.Design.File.Routes[r].LengthM))
		}
		if w.LeadM != nil {
			in = []figure.ID{a.l.Leaf(w.LeadM)}
		}
		a.l.Put(WireLengthID(w), formula.LoomLengthM, w.LengthM, "m", in...)
		limit := []figure.ID{a.l.Leaf(s.GroundDropV)}
		if g := s.Feed(w.Feed); g != nil {
			limit = []figure.ID{a.l.Leaf(g.DropV)}
		}
		a.l.Put(WireLimitID(w), formula.LoomLimitV, w.LimitV, "V", limit...)
		a.protection(w)
	}
	for i := range v.Loom.Fuses {
		a.fuse(&v.Loom.Fuses[i])
	}
	a.branches()
}

// branches records the bundles.
func (a *accountant) branches() {
	cables := a.cables()
	for i := range a.v.Loom.Tree.Branches {
		b := &a.v.Loom.Tree.Branches[i]
		a.l.Put(BranchLengthID(b), formula.LoomLengthM, b.LengthM, "m", a.l.Leaf(a.v.Design.Cat.Scheme.SlackFrac), a.l.Leaf(a.v.Design.File.Routes[b.Route].LengthM))
		if b.DiameterM <= 0 {
			continue
		}
		a.l.Put(BranchDiameterID(b), formula.HarnessBundleM, b.DiameterM, "mm", a.strand(&b.Strands[0], cables)...)
		if len(b.Strands) > 1 {
			a.l.Put(BranchSecondID(b), formula.HarnessBundleM, b.Strands[1].DiameterM, "mm", a.strand(&b.Strands[1], cables)...)
			a.l.Put(BranchNeedID(b), formula.LoomNeedM, b.NeedM, "mm", BranchDiameterID(b), a.l.Leaf(a.v.Design.Cat.Scheme.ApartM), BranchSecondID(b))
		}
	}
}

// cables records the groups that run as one, and returns the figure of each by
// its wires.
func (a *accountant) cables() map[int]figure.ID {
	out := map[int]figure.ID{}
	for i := range a.v.Loom.Tree.Groups {
		g := &a.v.Loom.Tree.Groups[i]
		id := CableDiameterID(g)
		var in []figure.ID
		for _, w := range g.Wires {
			out[w] = id
			if leaf := a.l.Leaf(a.v.Loom.Wires[w].Cable.OverallM); !slices.Contains(in, leaf) {
				in = append(in, leaf)
			}
		}
		if g.Kind == "screened" {
			in = append(in, a.l.Leaf(a.v.Design.Cat.Scheme.ScreenM))
			out[g.Drain] = id
		}
		a.l.Put(id, formula.LoomCableM, g.DiameterM, "mm", in...)
	}
	return out
}

// strand lists what makes the diameter of a bundle: its wires', its cables'.
func (a *accountant) strand(s *loom.Strand, cables map[int]figure.ID) []figure.ID {
	var in []figure.ID
	for _, w := range s.Wires {
		id, ok := cables[w]
		if !ok {
			id = a.l.Leaf(a.v.Loom.Wires[w].Cable.OverallM)
		}
		if !slices.Contains(in, id) {
			in = append(in, id)
		}
	}
	return in
}

// served lists what makes a wire's design current.
func (a *accountant) served(w *loom.Wire) []figure.ID {
	var out []figure.ID
	for _, c := range a.v.consumers {
		if contains(w.Served, c.a) || contains(w.Served, c.b) {
			out = append(out, a.loadInputs(c)...)
		}
	}
	if len(out) == 0 {
		out = append(out, a.l.Leaf(a.v.Design.One("alternator").Part.Alternator.RatedA))
	}
	return out
}

func (a *accountant) loadInputs(c consumer) []figure.ID {
	var out []figure.ID
	add := func(list ...*figure.Input) {
		for _, in := range list {
			if in != nil {
				out = append(out, a.l.Leaf(in))
			}
		}
	}
	if c.coil != nil {
		add(c.part.Relay.CoilOhm)
		return out
	}
	add(c.load.Ohm, c.load.CurrentA, c.load.PowerW, c.load.DropOutV, c.load.DutyFrac)
	switch c.load.Model {
	case "pump":
		p := c.part.Pump
		add(p.RatedV, p.RatedPa, p.Flow, p.CurrentA, p.FreeFlow)
	case "coil":
		add(c.part.Coil.Ohm, c.part.Coil.Henry, c.part.Coil.ChargeA)
	case "starter":
		s := c.part.Starter
		add(s.StallA, s.FreeA, s.FreeSpeed, s.RatedV, s.GearRatio)
	}
	return out
}

// state records what the network and the balance found in a state.
func (a *accountant) state(s *State) {
	a.links(s)
	a.sensorSupplies(s)
	a.nodes(s)
	a.posts(s)
	a.consumers(s)
	a.coupled(s)
	a.start(s)
	a.fuelFigures(s)
}

func (a *accountant) ohm(s *State, l link, id string) {
	ohm := a.v.linkOhm(a.v.linkBase(figure.Draw{}, &l), a.v.airK(figure.Draw{}, s.Name), s.Name)
	switch {
	case l.wire != nil:
		tempIn := a.l.Leaf(l.wire.HotK)
		if !design.Warm(s.Name) {
			tempIn = a.air(s)
		}
		a.l.Put(figure.ID(id+"/Ohm"), formula.VehicleWireOhm, ohm, "mΩ", WireLengthID(l.wire), a.l.Leaf(l.wire.Cable.OhmPerM), tempIn, a.l.Leaf(a.v.contactOf(l.wire)))
	case l.fuse != nil:
		a.l.Put(figure.ID(id+"/Ohm"), formula.FuseColdOhm, ohm, "mΩ", a.l.Leaf(l.fuse.RatingA), a.l.Leaf(a.v.k.fuseRatio), a.l.Leaf(a.v.fuseContact(l.fuse)))
	case l.body:
		a.l.Put(figure.ID(id+"/Ohm"), formula.VehicleContactOhm, ohm, "mΩ", a.l.Leaf(l.ohm), a.l.Leaf(a.v.Design.Cat.Scheme.BodyOhm))
	default:
		a.l.Put(figure.ID(id+"/Ohm"), formula.VehicleContactOhm, ohm, "mΩ", a.l.Leaf(l.ohm))
	}
}

// air is the ID of the temperature of the air in a state.
func (a *accountant) air(s *State) figure.ID { return a.l.Leaf(a.v.airInput(s.Name)) }

// posts records the battery's and the alternator's figures.
func (a *accountant) posts(s *State) {
	v := a.v
	k := figure.ID(s.Key)
	bat, alt := v.Design.One("battery").Part.Battery, v.Design.One("alternator").Part.Alternator
	post := 0.0
	if id, ok := v.nodes[loom.PostNode(v.Design.One("battery"), 0)]; ok {
		post = s.Point.Net.NodeV[id]
	}
	air := a.air(s)
	a.l.PutLoop(k+"/battery/CurrentA", formula.VehicleBatteryA, s.Point.BatteryA, "A", &s.Ended, k+"/alternator/CurrentA", k+"/loads/CurrentA")
	a.l.PutLoop(k+"/battery/VoltageV", formula.VehiclePostV, post, "V", &s.Ended,
		a.l.Leaf(v.batterySoC()), a.l.Leaf(bat.ColdA), a.l.Leaf(v.batteryAge()), a.l.Leaf(v.k.batteryRatio), a.l.Leaf(v.k.acceptVS), a.l.Leaf(bat.Capacity), air, k+"/battery/CurrentA", a.l.Leaf(alt.SetV), a.l.Leaf(alt.SlopeOhm))
	a.l.PutLoop(k+"/alternator/CurrentA", formula.VehicleChargerA, s.Point.ChargerA, "A", &s.Ended,
		a.l.Leaf(alt.SetV), a.l.Leaf(alt.SlopeOhm), k+"/alternator/MostA", k+"/loads/CurrentA")
	a.l.Put(k+"/alternator/MostA", formula.AlternatorOutputA, s.Point.ChargerMostA, "A",
		a.l.Leaf(alt.RatedA), a.l.Leaf(alt.PulleyRatio), a.speed(s), a.l.Leaf(v.placeK(v.Design.One("alternator").At)))
	if t, err := v.FlatS(s.Point.BatteryA); err == nil && s.Point.BatteryA > 0 {
		a.l.Put(k+"/battery/FlatS", formula.BatteryTimeToFlatS, t, "h", a.l.Leaf(bat.Capacity), a.l.Leaf(v.batteryAge()), a.l.Leaf(v.batterySoC()), k+"/battery/CurrentA")
	}
	var loads []figure.ID
	for _, c := range v.consumers {
		if v.paths[c.name].five == 0 {
			loads = append(loads, figure.ID(s.Key+"/"+c.name+"/CurrentA"))
		}
	}
	a.l.PutLoop(k+"/loads/CurrentA", formula.VehicleThroughA, s.Point.ChargerA+s.Point.BatteryA, "A", &s.Ended, loads...)
}

// flatFrac is the state of charge at which a starter battery no longer cranks
// (common practice, 20 to 30 %).
const flatFrac = 0.25

// FlatS is how long the battery, of its age, lasts at a current until it no
// longer cranks.
func (v *Vehicle) FlatS(currentA float64) (float64, error) {
	bat := v.Design.One("battery").Part.Battery
	left, err := battery.AgedFrac(v.batteryAge().SI)
	if err != nil {
		return 0, err
	}
	return battery.TimeToFlatS(bat.Capacity.SI*left, currentA, v.batterySoC().SI, flatFrac)
}

// speed is the ID of the engine's speed in a state.
func (a *accountant) speed(s *State) figure.ID {
	e := &a.v.Design.File.Engine
	switch {
	case s.Name == design.Full:
		return a.l.Leaf(e.PeakRadPerS)
	case design.Runs(s.Name) && s.Name != design.Cruise:
		return a.l.Leaf(e.IdleRadPerS)
	}
	return figure.ID(s.Key + "/engine/SpeedRadPerS")
}

func (a *accountant) consumers(s *State) {
	for _, c := range a.v.consumers {
		id := figure.ID(s.Key + "/" + c.name)
		volts, amps := s.Point.Net.ElementV(c.id), s.Point.Net.ElementA(c.id)
		p := a.v.paths[c.name]
		in := []figure.ID{figure.ID(s.Key + "/battery/VoltageV")}
		if p.five > 0 {
			in[0] = figure.ID(s.Key + "/" + a.v.fives[p.five-1].name + "/VoltageV")
		}
		for _, i := range append(append([]int{}, p.out...), p.back...) {
			in = append(in, figure.ID(s.Key+"/"+a.v.links[i].name+"/DropV"))
		}
		a.l.PutLoop(id+"/VoltageV", formula.VehicleAtDeviceV, volts, "V", &s.Ended, in...)
		a.l.PutLoop(id+"/CurrentA", formula.VehicleLoadA, amps, "A", &s.Ended, append(a.loadInputs(c), id+"/VoltageV")...)
	}
}

// constants records the models' own inputs.
func (a *accountant) constants() {
	for _, in := range a.v.k.all() {
		a.l.Leaf(in)
	}
}
