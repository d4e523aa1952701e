package vehicle

import (
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/formula"
	"fettle/internal/gas"
	"fettle/internal/petrol"
)

// marks are figures that rules hold the file against and that no state has: what
// an injector passes beside its data, what boost does to it, what an octane bears.
func (a *accountant) marks() {
	a.dataMarks()
	a.boostMarks()
	a.octaneMarks()
}

func (a *accountant) dataMarks() {
	f := a.v.Design.File
	set := a.l.Leaf(f.System.SetPa)
	if d := f.Data; d != nil {
		a.ratio("injector data/rail", f.System.SetPa.SI, d.EnteredPa.SI, set, a.l.Leaf(d.EnteredPa))
	}
	if s := a.r.State(design.Idle); s != nil && s.Ended.OK && s.Point.AcrossPa > 0 {
		a.ratio(figure.ID(s.Key)+"/injector", s.Point.AcrossPa, f.System.SetPa.SI, figure.ID(s.Key)+"/injector/AcrossPa", set)
	}
}

// ratio records what an injector passes at a pressure against another, and by
// how much that is off.
func (a *accountant) ratio(id figure.ID, acrossPa, ratedPa float64, in ...figure.ID) {
	r := AtRatedRatio(acrossPa, ratedPa)
	a.l.Put(id+"/FlowRatio", formula.VehicleAtRatedRatio, r, "", in...)
	a.l.Put(id+"/FlowOffFrac", formula.VehicleOffFrac, OffFrac(r), "%", id+"/FlowRatio")
}

// AmbientPa is the pressure of the air at the stated altitude; 0 out of range.
func (v *Vehicle) AmbientPa() float64 {
	p, err := gas.AtmospherePa(v.Design.File.Climate.AltitudeM.SI)
	if err != nil {
		return 0
	}
	return p
}

func (a *accountant) boostMarks() {
	f := a.v.Design.File
	if f.Boost == nil {
		return
	}
	ambient := a.v.AmbientPa()
	boost, set := a.l.Leaf(f.Boost.GaugePa), a.l.Leaf(f.System.SetPa)
	a.l.Put("boost/manifold/MostPa", formula.VehicleBoostedPa, BoostedPa(ambient, f.Boost.GaugePa.SI), "kPa", a.l.Leaf(f.Climate.AltitudeM), boost)
	across := a.l.Put("boost/injector/AcrossPa", formula.VehicleSetAcrossPa, SetAcrossPa(f.System.SetPa.SI, f.Boost.GaugePa.SI, false), "bar", set, boost)
	if across > 0 {
		a.ratio("boost/injector", across, f.System.SetPa.SI, "boost/injector/AcrossPa", set)
	}
}

// octane is the fuel's research octane number: the stated one as an input, else
// that of its blend.
func (v *Vehicle) octane() (stated *figure.Input, octaneCount float64) {
	f := v.Design.File.Fuel
	if f.OctaneCount > 0 {
		in := &figure.Input{
			ID: "build/fuel/octane", SI: float64(f.OctaneCount), Source: "stated in " + f.Pos.File, Origin: figure.Stated, Pos: v.Design.Place("fuel", "octane"),
		}
		if v.Design.Tree.Find("fuel", "octane") == nil {
			in.Source, in.Origin, in.SdSI = "the fuel's archetype", figure.Archetype, 0.5
		}
		return in, in.SI
	}
	blend, err := petrol.Blend(f.EthanolFrac.SI)
	if err != nil {
		return nil, 0
	}
	return nil, blend.OctaneCount
}

// octaneInputs are the ratio that 95 octane bears, and what one octane adds.
func octaneInputs() (at95, each *figure.Input) {
	at95 = &figure.Input{ID: "model/compression at 95 octane", SI: 10.5, SdSI: 0.5, Source: "from memory: port-injected engines on 95 octane", Origin: figure.Constant}
	each = &figure.Input{ID: "model/compression for an octane", SI: 0.2, SdSI: 0.05, Source: "from memory: port-injected engines on 91 to 98 octane", Origin: figure.Constant}
	return at95, each
}

// OctaneBearsRatio is the compression ratio that the vehicle's fuel bears.
func (v *Vehicle) OctaneBearsRatio() float64 {
	_, octane := v.octane()
	at95, each := octaneInputs()
	return OctaneRatio(octane, at95.SI, each.SI)
}

func (a *accountant) octaneMarks() {
	if r := a.v.response; r.Knocks > 0 {
		put := func(name string, si float64, unit string) {
			a.l.Put(figure.ID("engine/knock/"+name), formula.CycleDelayS, si, unit, a.engineLeaves()...)
		}
		put("CellCount", float64(r.Knocks), "")
		put("KnockPa", r.KnockPa, "kPa")
		put("KnockRadPerS", r.KnockRadPerS, "rpm")
	}
	stated, octane := a.v.octane()
	if octane == 0 {
		return
	}
	id := a.l.Leaf(stated)
	if stated == nil {
		id = "fuel/octane/OctaneCount"
		a.l.Put(id, formula.PetrolBlend, octane, "", a.l.Leaf(a.v.Design.File.Fuel.EthanolFrac))
	}
	at95, each := octaneInputs()
	a.l.Put("engine/compression/OctaneRatio", formula.VehicleOctaneRatio, a.v.OctaneBearsRatio(), "", id, a.l.Leaf(at95), a.l.Leaf(each))
}
