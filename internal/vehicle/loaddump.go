package vehicle

import (
	"cmp"
	"math"
	"slices"

	"fettle/internal/alternator"
	"fettle/internal/balance"
	"fettle/internal/dcnet"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/formula"
)

// LoadDump is what the alternator gives when the battery goes at full power: by
// its isolator, or because its lead comes off.
type LoadDump struct {
	Ended    figure.Ended
	Isolator bool // there is one, and this is what it leaves joined; else all that was on
	Pulse    alternator.Dump
	LineOhm  float64 // how far the alternator's voltage rises for each ampere that it no longer gives
	Clamped  bool    // the alternator's diodes hold it
	PostV    float64 // at the alternator's terminal, at the peak
	LoadsJ   float64 // what the pulse leaves in what is on
	ClampJ   float64 // the most it leaves in the diodes, where they hold it
	Exposed  []Exposed
}

// Exposed is a device that the pulse reaches.
type Exposed struct {
	Name  string
	PeakV float64
	Bears *figure.Input // nil where its part does not say
}

// Holds reports a device that bears the pulse, or of which nobody says what it
// bears.
func (e *Exposed) Holds() bool { return e.Bears == nil || e.PeakV <= e.Bears.SI*(1+1e-3) }

// Unborne lists the devices that bear less than they get, the worst first.
func (l *LoadDump) Unborne() []Exposed {
	if l == nil || !l.Ended.OK {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(l.Exposed), func(e Exposed) bool { return e.Holds() })
}

// leastChargeA is the current below which an alternator has no field worth a
// load dump.
const leastChargeA = 1

// clampOhm is the slope of clamping diodes (from memory: 5 to 20 mΩ for the set).
const clampOhm = 5e-3

// DumpLineOhm returns how far the voltage of an alternator rises, in the instant that its battery goes, for each ampere that it no longer gives.
//
//	R = (U_s − U₀)/I₀
//
// a straight line from the point (I₀, U₀) at which it charged to the open peak U_s of the pulse: the field that made I₀ is still there.
//
// Valid: a current above 0; without one there is no field to speak of.
// Accuracy: ± 40 %: the standard states the open peak only, and that for a fully excited alternator.
// Source: decided; ISO 16750-2:2012, 4.6.4, for the open peak.
// Errors: none
func DumpLineOhm(peakV, chargingV, chargingA float64) float64 {
	return (peakV - chargingV) / chargingA
}

// dump takes the battery away from the solved full-power state and puts the
// pulse in the alternator's place. What the balance drives stands there as the
// resistance that it was.
func (w *worker) dump(p *balance.Parts, bs balance.State, s *State) *LoadDump {
	v := w.v
	alt := v.Design.One("alternator")
	out := &LoadDump{Isolator: v.hasIsolator()}
	var err error
	if out.Pulse, err = alternator.DumpOf(alt.Part.Alternator.RatedA.SI, s.Point.SpeedRadPerS*alt.Part.Alternator.PulleyRatio.SI); err != nil {
		out.Ended = figure.Ended{Why: err.Error()}
		return out
	}
	if !(s.Point.ChargerA > leastChargeA) {
		out.Ended = figure.Ended{Why: "the alternator does not charge at full power"}
		return out
	}
	out.LineOhm = DumpLineOhm(out.Pulse.PeakV, s.Point.Net.ElementV(v.alt), s.Point.ChargerA)
	net, sw := w.net.Clone(), bs.Switches.Clone()
	net.SetRegulated(v.alt, p.Charger.SetV, p.Charger.SlopeOhm, 0)
	if e := v.Design.File.Electrical; out.Isolator && e.Isolator == isolatorStops {
		v.openAll(&sw)
	}
	for _, c := range v.consumers {
		if c.load == nil {
			continue
		}
		switch c.load.Model {
		case "pump", "injector", "coil", "starter":
			volts, amps := s.Point.Net.ElementV(c.id), s.Point.Net.ElementA(c.id)
			if volts > 0 && amps > 1e-6 {
				net.SetLoad(c.id, dcnet.Resistance{Ohm: volts / amps})
			} else {
				net.SetLoad(c.id, dcnet.Current{})
			}
		}
	}
	plus, minus := net.Ends(v.alt)
	pulse := net.Source("load dump", plus, minus, out.Pulse.PeakV, out.LineOhm)
	gone := dcnet.Change{Kind: dcnet.Open, At: v.battery}
	sol, e := net.Solve(sw, nil, gone)
	if e.OK && alt.Part.Alternator.Dump == "clamped" && sol.ElementV(pulse) > alternator.ClampedV {
		line := alternator.Dump{PeakV: out.Pulse.PeakV, Ohm: out.LineOhm, LastsS: out.Pulse.LastsS}
		out.Clamped, out.ClampJ = true, line.EnergyJ(alternator.ClampedV)
		net.SetSource(pulse, alternator.ClampedV, clampOhm)
		sol, e = net.Solve(sw, nil, gone)
	}
	if out.Ended = e; !e.OK {
		return out
	}
	out.PostV = sol.ElementV(pulse)
	out.LoadsJ = DumpLoadsJ(out.PostV, -sol.ElementA(pulse), out.Pulse.LastsS)
	out.Exposed = v.exposed(&sol)
	return out
}

// exposed lists the devices at which a pulse arrives, those that bear least of it
// first.
func (v *Vehicle) exposed(sol *dcnet.Solution) []Exposed {
	at := map[string]*Exposed{}
	var out []*Exposed
	for _, c := range v.consumers {
		volts := sol.ElementV(c.id)
		if c.coil != nil || v.paths[c.name].five > 0 || c.name == excitationName || !(volts > releaseV) {
			continue
		}
		e := at[c.item.Name]
		if e == nil {
			e = &Exposed{Name: c.item.Name, Bears: v.bears(&c)}
			at[c.item.Name] = e
			out = append(out, e)
		}
		e.PeakV = math.Max(e.PeakV, volts)
	}
	list := make([]Exposed, len(out))
	for i, e := range out {
		list[i] = *e
	}
	slices.SortStableFunc(list, func(a, b Exposed) int { return cmp.Compare(b.ratio(), a.ratio()) })
	return list
}

// ratio is what a device gets over what it bears, 0 where nobody says.
func (e *Exposed) ratio() float64 {
	if e.Bears == nil {
		return 0
	}
	return e.PeakV / e.Bears.SI
}

// bears is what a device bears at its supply: as its part says, else what control
// units are built for.
func (v *Vehicle) bears(c *consumer) *figure.Input {
	switch {
	case c.part.Bears != nil:
		return c.part.Bears.DumpV
	case c.part.Kind == "controller":
		return v.k.bearsV
	}
	return nil
}

const isolatorStops = "stops the engine"

func (v *Vehicle) hasIsolator() bool {
	e := v.Design.File.Electrical
	return e != nil && e.Isolator != "" && e.Isolator != "none"
}

// openAll opens key contacts, and the relays that fall with them.
func (v *Vehicle) openAll(sw *dcnet.Switches) {
	for i := range v.links {
		if l := &v.links[i]; l.on != nil {
			sw.Set(l.id, false)
		}
	}
}

// DumpedV returns the voltage across a device at the peak of a load dump.
//
//	U = U_s·R/(R_l + R) less the drops on the way; at most 35 V at an alternator whose diodes clamp
//
// where R_l is the alternator's as in DumpLineOhm and R all that is still joined to the alternator, solved with the whole network, the battery gone.
//
// Valid: the peak; what follows decays.
// Accuracy: that of the pulse; a lamp that is cold draws more and lowers it.
// Source: ISO 16750-2, tests A and B; nodal analysis.
// Errors: none
func DumpedV(peakV, lineOhm, joinedOhm float64) float64 {
	return peakV * joinedOhm / (lineOhm + joinedOhm)
}

// DumpLoadsJ returns the energy that a load dump leaves in what is on.
//
//	W = U·I·τ/2,  τ = t_d/ln 10
//
// where U and I are voltage and current of the alternator at the peak.
//
// Valid: loads that draw in proportion; others draw less than that and take less.
// Accuracy: ± 30 %, that of the pulse.
// Source: integral of a decaying exponential squared.
// Errors: none
func DumpLoadsJ(postV, currentA, lastsS float64) float64 {
	return postV * currentA * lastsS / math.Ln10 / 2
}

// DumpID is the ID of a device's voltage at the peak of a load dump, or of
// another figure of the pulse: "PeakV", "Ohm", "LastsS".
func DumpID(subject, name string) figure.ID { return figure.ID("dump/" + subject + "/" + name) }

// dump records the load dump.
func (a *accountant) dump() {
	d := a.r.Dump
	if d == nil || !d.Ended.OK {
		return
	}
	alt := a.v.Design.One("alternator")
	speed := a.speed(a.r.State(design.Full))
	ohm, peak, lasts := DumpID(alt.Name, "Ohm"), DumpID(alt.Name, "PeakV"), DumpID(alt.Name, "LastsS")
	a.l.Put(ohm, formula.AlternatorDumpOhm, d.Pulse.Ohm, "Ω", a.l.Leaf(alt.Part.Alternator.RatedA), a.l.Leaf(alt.Part.Alternator.PulleyRatio), speed)
	a.l.Put(peak, formula.AlternatorDumpPeakV, d.Pulse.PeakV, "V", ohm)
	a.l.Put(lasts, formula.AlternatorDumpLastsS, d.Pulse.LastsS, "ms", ohm)
	line := DumpID(alt.Name, "LineOhm")
	a.l.Put(line, formula.VehicleDumpLineOhm, d.LineOhm, "Ω", peak, "full/alternator/CurrentA", a.l.Leaf(alt.Part.Alternator.SetV))
	loads := a.setOfLoads(a.r.State(design.Full))
	post := DumpID(alt.Name, "VoltageV")
	a.l.PutLoop(post, formula.VehicleDumpedV, d.PostV, "V", &d.Ended, append([]figure.ID{peak, line}, loads...)...)
	a.l.Put(DumpID(alt.Name, "LoadsJ"), formula.VehicleDumpLoadsJ, d.LoadsJ, "J", post, lasts)
	if d.Clamped {
		a.l.Put(DumpID(alt.Name, "ClampJ"), formula.AlternatorDumpEnergyJ, d.ClampJ, "J", peak, line, lasts)
	}
	for _, e := range d.Exposed {
		if e.Bears != nil {
			a.l.Leaf(e.Bears)
		}
		a.l.PutLoop(DumpID(e.Name, "VoltageV"), formula.VehicleDumpedV, e.PeakV, "V", &d.Ended, post)
	}
}
