package power

import (
	"html/template"

	"fettle/internal/supply"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

// oneLine draws the sources, the busbar, and every feed with its fuse and relay.
func (v sheet) oneLine() template.HTML {
	o := supply.Of(v.r.Solved, v.s, v.r.Findings).OneLine("one", "Power, from the sources to the loads, "+shell.StateName(v.s.Name), 1000)
	return shell.Draw(o.Draw(), false)
}

// Charging is what the alternator carries over the engine's speed.
type Charging struct {
	Wide, Phone template.HTML
	Sets        []Set
}

// Set is one set of loads.
type Set struct {
	Name, Carried  string
	Speed          shell.Fig // from which on it is carried, where that is not idle
	Demand, Output shell.Fig // at the idle speed
	Bad            bool
}

func (v sheet) charging() (c Charging) {
	p, ok := supply.Charging(v.r.Solved, "chg", 1000)
	if !ok {
		return c
	}
	c.Wide = shell.Draw(p.Draw(), false)
	p.Name, p.Width, p.Height = "chg-phone", 328, 380
	c.Phone = shell.Draw(p.Draw(), false)
	for i := range v.r.Solved.Charging {
		k := &v.r.Solved.Charging[i]
		s := Set{Name: supply.CurveNames[k.Key], Carried: supply.BalanceSays(k), Bad: !k.Balances}
		if !k.AtIdle {
			s.Speed, _ = v.figs.Of(vehicle.ChargeID(k.Key, "BalanceRadPerS"))
		}
		s.Demand, _ = v.figs.Of(vehicle.ChargePointID(k.Key, 0, "DemandA"))
		s.Output, _ = v.figs.Of(vehicle.ChargePointID(k.Key, 0, "MostA"))
		c.Sets = append(c.Sets, s)
	}
	return c
}

// Dump is what the alternator does to the loom when its battery goes.
type Dump struct {
	Isolator    bool
	None        string // why there is no answer
	Peak, Lasts shell.Fig
	At          shell.Fig // at the alternator, with what is joined to it
	Units       []Unit    // those of which the limit is known, the worst first
	Others      int
}

// Unit is a device that the pulse reaches.
type Unit struct {
	Name         string
	Volts, Bears shell.Fig
}

func (v sheet) dump() (d Dump) {
	k := v.r.Solved.Dump
	if k == nil {
		return d
	}
	d.Isolator = k.Isolator
	if !k.Ended.OK {
		d.None = k.Ended.Why
		return d
	}
	alt := v.r.Design.One("alternator").Name
	d.Peak, _ = v.figs.Of(vehicle.DumpID(alt, "PeakV"))
	d.Lasts, _ = v.figs.Of(vehicle.DumpID(alt, "LastsS"))
	d.At, _ = v.figs.Of(vehicle.DumpID(alt, "VoltageV"))
	for _, e := range k.Exposed {
		if e.Bears == nil {
			d.Others++
			continue
		}
		u := Unit{Name: e.Name}
		u.Volts, _ = v.figs.Of(vehicle.DumpID(e.Name, "VoltageV"))
		u.Volts.Bad = !e.Holds()
		u.Bears, _ = v.figs.Of(e.Bears.ID)
		d.Units = append(d.Units, u)
	}
	return d
}
