package calibrate

import (
	"fmt"
	"math"

	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/formula"
	"fettle/internal/injector"
	"fettle/internal/table"
	"fettle/internal/vehicle"
)

// Held is a table as the controller holds it: as computed, or as its file has
// been changed since.
type Held struct {
	Map  Map        // as computed now
	Grid table.Grid // as it stands
}

// Factor is one factor, divisor or summand of a pulse.
type Factor struct {
	Sign string // "×", "÷", "+", "=" or none for the first
	Name string
	ID   figure.ID // its figure; empty for a subtotal that is none
	// Table is the table that it is read from, empty for none, Row and Column its
	// cell next to the moment.
	Table       string
	Row, Column int
	Spread      figure.ID // one standard deviation; empty for none
	Note        string
	Total       bool // a subtotal, or the pulse itself
}

// Pulse is a pulse as the product and sum that it is.
type Pulse struct {
	Present Present
	Cranks  bool
	Factors []Factor
	WidthS  float64
	SdS     float64
	Notes   []string
	// Width, Duty and Sd are the figures of the pulse, of its share of the
	// engine's cycle and of its spread.
	Width, Duty, Sd figure.ID
}

// FeedLoss is what is lost between the battery and the injectors at full power in
// the solved vehicle; the controller counts on it in every state.
func FeedLoss(v *vehicle.Result) *figure.Input {
	in := own("feed to the injectors", 0, 0.1, "V", "lost between battery and injectors at full power, from the solved network")
	s := v.State(design.Full)
	if s == nil || !s.Ended.OK {
		return in
	}
	if post, ok := s.BatteryV(); ok {
		in.SI = math.Max(0, post-s.Point.InjectorV)
	}
	return in
}

// pulse is a pulse in the making.
type pulse struct {
	Pulse
	in     *Input
	held   map[string]Held
	l      *figure.Ledger
	base   string
	leaf   map[string]figure.ID // of the moment's values, by their key
	varSum float64              // of the factors' relative spreads
	fuelIn []figure.ID
	fuel   float64 // product of the factors on the fuel
	err    error
}

// PulseOf makes the pulse of a moment from the tables as they stand, and records
// every part of it in the ledger.
func PulseOf(in *Input, held map[string]Held, feed *figure.Input, now Present, l *figure.Ledger) (Pulse, error) {
	if in.Injector == nil || in.Rail == nil {
		return Pulse{}, fmt.Errorf("the vehicle has no injector, or nobody states the rail's pressure: there is no pulse")
	}
	p := &pulse{Pulse: Pulse{Present: now}, in: in, held: held, l: l, base: "pulse/" + now.Key(), leaf: map[string]figure.ID{}, fuel: 1}
	for _, r := range reads {
		p.leaf[r.key] = l.Leaf(r.leaf(&now))
	}
	p.Cranks = now.SpeedRadPerS < runningAbove(in.Engine.IdleRadPerS)
	air := p.air()
	fuel := p.onFuel(air)
	p.timed(fuel, feed)
	if p.err != nil {
		return Pulse{}, p.err
	}
	return p.Pulse, nil
}

// runningAbove is the speed from which an engine runs by itself.
func runningAbove(idleRadPerS float64) float64 { return math.Min(500*rpm, 0.6*idleRadPerS) }

func (p *pulse) id(name string) figure.ID { return figure.ID(p.base + "/" + name) }

func (p *pulse) put(name, by string, si float64, unit string, in ...figure.ID) figure.ID {
	f, ok := formula.ByID(by)
	if !ok {
		p.fail(fmt.Errorf("no formula %q is registered", by))
	}
	id := p.id(name)
	p.l.Put(id, f, si, unit, in...)
	return id
}

func (p *pulse) fail(err error) {
	if p.err == nil && err != nil {
		p.err = err
	}
}

func (p *pulse) add(f Factor) { p.Factors = append(p.Factors, f) }

// leafOf finds an input behind the engine by its ID.
func (p *pulse) leafOf(id figure.ID) figure.ID {
	for _, l := range p.in.Leaves {
		if l.In.ID == id {
			return p.l.Leaf(l.In)
		}
	}
	return p.l.Leaf(own(string(id), 0, 0, "", "the engine's archetype"))
}

// air is the air of one cylinder at 20 °C, kg.
func (p *pulse) air() float64 {
	e := &p.in.Engine
	ve, f := p.read(VE, "n", "p")
	f.Name = "Volumetric efficiency"
	p.add(f)
	p.relative(f, ve)
	bore, stroke := p.leafOf("build/engine/bore"), p.leafOf("build/engine/stroke")
	swept := p.put("swept volume/VolumeM3", "calibrate.SweptM3", SweptM3(e.Geometry.BoreM, e.Geometry.StrokeM), "cm³", bore, stroke)
	air, err := ChargeKg(ve, p.Present.ManifoldPa, e.Geometry.SweptM3())
	p.fail(err)
	id := p.put("air at 20 degrees/MassKg", "calibrate.ChargeKg", air, "mg", f.ID, p.leaf["p"], swept)
	p.add(Factor{Sign: "=", Name: "Air of one cylinder, were it at 20\u00a0°C", ID: id, Total: true})
	p.fuelIn = append(p.fuelIn, id)
	k, err := AirTempRatio(p.Present.ChargeK)
	p.fail(err)
	p.times("Air temperature", p.put("air temperature/FactorRatio", "calibrate.AirTempRatio", k, "", p.leaf["a"]), k, "the charge's temperature; there is no table of it")
	return air
}

// times puts a factor on the fuel.
func (p *pulse) times(name string, id figure.ID, k float64, note string) *Factor {
	p.fuel *= k
	p.fuelIn = append(p.fuelIn, id)
	p.add(Factor{Sign: "×", Name: name, ID: id, Note: note})
	return &p.Factors[len(p.Factors)-1]
}

// one is a factor that does not act now.
func (p *pulse) one(name, why string) {
	in := &figure.Input{ID: p.id(name + "/FactorRatio"), SI: 1, Source: why, Origin: figure.Decided}
	in.Seal()
	p.times(name, p.l.Leaf(in), 1, why)
}

// tabled is a factor read from a table.
func (p *pulse) tabled(name, table string, x, y string) {
	k, f := p.read(table, x, y)
	p.relative(f, k)
	t := p.times(name, f.ID, k, f.Note)
	t.Table, t.Row, t.Column, t.Spread = f.Table, f.Row, f.Column, f.Spread
}

// relative adds a factor's spread to that of the product.
func (p *pulse) relative(f Factor, k float64) {
	if sd, ok := p.l.Why(f.Spread); ok && k > 0 {
		p.varSum += sd.SI / k * sd.SI / k
	}
}

// onFuel is the fuel of one injection, kg.
func (p *pulse) onFuel(air float64) float64 {
	const starter = "while the starter turns the engine it does not act"
	ethanol := p.leafOf("build/fuel/ethanol")
	stoich := p.in.Engine.Fuel.StoichRatio
	burns := p.put("fuel/AirRatio", "petrol.Blend", stoich, "", ethanol)
	p.add(Factor{Sign: "÷", Name: "Air that burns its fuel, by mass", ID: burns})
	p.fuelIn = append(p.fuelIn, burns)
	lambda := p.lambda(starter)
	switch {
	case p.Cranks:
		p.tabled("Cranking", CrankFuel, "c", "")
		p.one("Richer until learned", starter)
		p.one("Warm-up", starter)
		p.one("After-start", starter)
	default:
		p.one("Cranking", "the engine runs by itself")
		p.tabled("Richer until learned", SafeFuel, "n", "p")
		p.tabled("Warm-up", WarmUp, "c", "")
		p.faded("After-start", AfterStart, AfterStartS)
	}
	p.hotStart()
	p.one("Closed loop", "none yet: no drive has been learned from, and the tables stand by themselves")
	p.transient()
	kg, err := PulseFuelKg(air, stoich, lambda, p.fuel)
	p.fail(err)
	id := p.put("fuel/MassKg", "calibrate.PulseFuelKg", kg, "mg", p.fuelIn...)
	p.add(Factor{Sign: "=", Name: "Fuel of one injection", ID: id, Total: true})
	return kg
}

func (p *pulse) lambda(starter string) float64 {
	if p.Cranks {
		in := &figure.Input{ID: p.id("lambda/TargetRatio"), SI: 1, Source: starter, Origin: figure.Decided}
		in.Seal()
		id := p.l.Leaf(in)
		p.fuelIn = append(p.fuelIn, id)
		p.add(Factor{Sign: "÷", Name: "Lambda target", ID: id, Note: starter})
		return 1
	}
	target, f := p.read(Lambda, "n", "p")
	f.Sign, f.Name, f.Spread = "÷", "Lambda target", "" // a choice: what is aimed at does not move the pulse off its aim
	p.add(f)
	p.fuelIn = append(p.fuelIn, f.ID)
	return target
}

// faded is a factor that fades from the first firing on.
func (p *pulse) faded(name, first, time string) {
	k0, f := p.read(first, "c", "")
	fade, g := p.read(time, "c", "")
	k, err := FadedRatio(k0, fade, p.Present.SinceS)
	p.fail(err)
	if sd, ok := p.l.Why(f.Spread); ok && k0 > 1 {
		left := sd.SI * (k - 1) / (k0 - 1) / k
		p.varSum += left * left
	}
	t := p.times(name, p.put(name+"/FactorRatio", "calibrate.FadedRatio", k, "", f.ID, g.ID, p.leaf["s"]), k, "fades in the time of the table "+time)
	t.Table, t.Row, t.Column = f.Table, f.Row, f.Column
}

// Hot restart: how much more, and how fast it goes (the settings of that name).
const (
	hotRatio, hotSd = 1.15, 0.08
	hotFadeS        = 20
)

func (p *pulse) hotStart() {
	if !p.Present.HotStart {
		p.one("Hot restart", "it was not stood hot and started again within half an hour")
		return
	}
	k, err := FadedRatio(hotRatio, hotFadeS, p.Present.SinceS)
	p.fail(err)
	first := p.l.Leaf(own("starting/hot restart fuel, factor", hotRatio, hotSd, "", "common practice: vapour in the rail above 80 °C within 30 min of stopping"))
	fade := p.l.Leaf(own("starting/hot restart fuel fades in", hotFadeS, 5, "s", "common practice"))
	left := hotSd * (k - 1) / (hotRatio - 1) / k
	p.varSum += left * left
	p.times("Hot restart", p.put("Hot restart/FactorRatio", "calibrate.FadedRatio", k, "", first, fade, p.leaf["s"]), k, "a single value beside the tables")
}

// transient is what the film on the wall asks for while the pressure moves.
func (p *pulse) transient() {
	if _, ok := p.held[FilmShare]; !ok {
		p.one("Transient fuel", "injected into the cylinder: no port is wetted")
		return
	}
	x, f := p.read(FilmShare, "c", "")
	tau, g := p.read(FilmTime, "c", "")
	k, err := TransientRatio(x, tau, p.Present.ManifoldPa, p.Present.RisePaPerS)
	p.fail(err)
	note := "the manifold's pressure stands: what lands on the wall leaves it"
	if p.Present.RisePaPerS != 0 {
		note = "with the table " + FilmTime
	}
	t := p.times("Transient fuel", p.put("transient/FactorRatio", "calibrate.TransientRatio", k, "", f.ID, g.ID, p.leaf["p"], p.leaf["r"]), k, note)
	t.Table, t.Row, t.Column = f.Table, f.Row, f.Column
}

// timed makes a pulse of the fuel.
func (p *pulse) timed(kg float64, feed *figure.Input) {
	in, f := p.in, &p.in.Fitted
	altitude := p.leafOf("build/climate/altitude")
	across := HeldAcrossPa(in.Rail.SI, in.Engine.AmbientPa, p.Present.ManifoldPa, f.Reference == "manifold")
	acrossID := p.put("injector/AcrossPa", "calibrate.HeldAcrossPa", across, "kPa", p.l.Leaf(in.Rail), altitude, p.leaf["p"])
	p.add(Factor{Name: "Pressure across the injector, counted on", ID: acrossID, Total: true})
	flow, fl := p.readAt(InjectorFlow, across/1e3, 0, acrossID)
	p.relative(fl, flow/1e3)
	fl.Sign, fl.Name = "÷", "Injector flow"
	p.add(fl)
	open, err := OpenS(kg, flow/1e3)
	p.fail(err)
	openID := p.put("open/TimeS", "calibrate.OpenS", open, "ms", p.id("fuel/MassKg"), fl.ID)
	p.add(Factor{Sign: "=", Name: "Time that fuel flows", ID: openID, Total: true})
	short, sh := p.readAt(ShortPulse, open*1e3, 0, openID)
	sh.Sign, sh.Name = "+", "Short pulse"
	p.add(sh)
	volts := AtInjectorV(p.Present.BatteryV, feed.SI)
	voltsID := p.put("injector/VoltageV", "calibrate.AtInjectorV", volts, "V", p.leaf["v"], p.l.Leaf(feed))
	dead, de := p.readAt(DeadTime, volts, 0, voltsID)
	de.Sign, de.Name = "+", "Dead time"
	p.add(de)
	k, dk := p.readAt(DeadPressure, across/1e3, 0, acrossID)
	dk.Sign, dk.Name = "×", "on the dead time, pressure across"
	p.add(dk)
	p.WidthS = DrivenS(open, short/1e3, dead/1e3, k)
	p.Width = p.put("pulse/WidthS", "calibrate.DrivenS", p.WidthS, "ms", openID, sh.ID, de.ID, dk.ID)
	p.add(Factor{Sign: "=", Name: "Pulse", ID: p.Width, Total: true})
	duty, err := injector.DutyFrac(p.WidthS, p.Present.SpeedRadPerS, 1)
	p.fail(err)
	p.Duty = p.put("pulse/DutyFrac", "injector.DutyFrac", duty, "%", p.Width, p.leaf["n"])
	p.add(Factor{Name: "Duty", ID: p.Duty, Total: true})
	p.SdS = PulseSdS(open, math.Sqrt(p.varSum), p.sd(sh), k*p.sd(de))
	from := []figure.ID{openID}
	for _, x := range p.Factors {
		if x.Spread != "" {
			from = append(from, x.Spread)
		}
	}
	p.Sd = p.put("pulse/SpreadS", "calibrate.PulseSdS", p.SdS, "ms", from...)
	if duty > 1 {
		p.Notes = append(p.Notes, "The pulse does not fit into the engine's cycle: the injector stays open.")
	}
}

func (p *pulse) sd(f Factor) float64 {
	sd, _ := p.l.Why(f.Spread)
	return sd.SI
}
