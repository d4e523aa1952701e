package vehicle

import (
	"fmt"

	"fettle/internal/balance"
	"fettle/internal/battery"
	"fettle/internal/dcnet"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/fuse"
	"fettle/internal/gas"
	"fettle/internal/loom"
	"fettle/internal/wire"
)

// worker solves draws of one vehicle with a network of its own.
type worker struct {
	v    *Vehicle
	net  *dcnet.Network
	base []linkBase
	at   float64 // air of the links in the network
	warm bool
	laid bool // the links stand for this draw

	off      *KeyOff   // of the nominal vehicle
	isolated *Isolated // of one with an isolator
	dumped   *LoadDump
	curves   bool // the charging curves are asked for
	charges  []ChargeCurve
}

// linkBase is what a draw makes of a link, before the state's temperature.
type linkBase struct {
	at20Ohm, fixedOhm, hotK, hottestK float64
}

func (v *Vehicle) worker() *worker {
	return &worker{v: v, net: v.net.Clone(), base: make([]linkBase, len(v.links))}
}

// solve solves every state in one draw; begins also computes how the cold start
// begins.
func (w *worker) solve(d figure.Draw, start []*balance.Point, begins bool) ([]State, error) {
	v := w.v
	parts, err := v.parts(d, w.net)
	if err != nil {
		return nil, err
	}
	for i := range v.links {
		w.base[i] = v.linkBase(d, &v.links[i])
	}
	w.laid = false
	out := make([]State, len(design.StateNames))
	for i, name := range design.StateNames {
		s := State{Name: name, Key: Key(name), v: v, Live: v.live(name)}
		bs, err := w.set(d, name, parts)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		var from *balance.Point
		if start != nil {
			from = start[i]
		}
		s.Point, s.Ended = balance.Solve(parts, bs, from)
		if s.Ended.OK {
			w.beside(d, parts, bs, &s, begins)
		}
		out[i] = s
	}
	if w.curves {
		w.charges, err = w.charging(parts, out)
	}
	return out, err
}

// beside computes what hangs on one state only: how a cold start begins, whether
// the alternator is excited, what flows with the key off and the isolator open.
func (w *worker) beside(d figure.Draw, p *balance.Parts, bs balance.State, s *State, begins bool) {
	nominal := begins && d.By == nil && d.K == 0
	switch {
	case s.Name == design.Cranking && begins:
		s.Start = w.begin(d, p, bs, s)
	case s.Name == design.KeyOn:
		if nominal {
			w.off = w.keyOff(p, bs)
		}
		if !w.v.excites(d, s) {
			p.Charger.RatedA = 0
		}
	case s.Name == design.Idle && nominal && w.v.hasIsolator():
		w.isolated = w.isolate(p, bs)
	case s.Name == design.Full && nominal && (w.v.hasIsolator() || w.curves):
		w.dumped = w.dump(p, bs, s)
	}
}

// live reports whether the controller's switched supply is up in a state: a
// dead controller opens the relays it drives.
func (v *Vehicle) live(state string) bool { return v.alive[state] }

func (v *Vehicle) supplied(state string) bool {
	ctl := v.Design.One("controller")
	for _, c := range v.consumers {
		if c.item.Name != ctl.Name || ctl.Part.Terminal(c.load.From) == nil || ctl.Part.Terminal(c.load.From).Feed != "switched" {
			continue
		}
		way := v.paths[c.name].out
		if len(way) == 0 {
			return false // nothing leads there
		}
		for _, i := range way {
			if l := v.links[i]; l.on != nil && l.relay == nil && !contains(l.on, state) {
				return false
			}
		}
	}
	return true
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// closed reports whether a switch is closed in a state: a controller that is
// dead drives no relay, but holds its own after the key is turned off.
func (v *Vehicle) closed(l *link, state string) bool {
	return contains(l.on, state) && (l.relay == nil || v.live(state) || state == design.AfterRun)
}

// set puts a state and a draw into the network.
func (w *worker) set(d figure.Draw, state string, parts *balance.Parts) (balance.State, error) {
	v := w.v
	var sw dcnet.Switches
	live := v.live(state)
	w.lay(v.airK(d, state), state)
	for i := range v.links {
		if l := &v.links[i]; l.on != nil {
			sw.Set(l.id, v.closed(l, state))
		}
	}
	for _, c := range v.consumers {
		w.net.SetLoad(c.id, v.load(d, c, state, live))
	}
	if err := w.setSources(d, state, parts); err != nil {
		return balance.State{}, err
	}
	return v.balanceState(d, state, sw, live)
}

// lay puts the links' resistances at a state's temperatures into the network,
// unless those of the state before are the same.
func (w *worker) lay(airK float64, state string) {
	warm := design.Warm(state)
	if w.laid && w.at == airK && w.warm == warm {
		return
	}
	for i := range w.v.links {
		w.net.SetOhm(w.v.links[i].id, w.v.linkOhm(w.base[i], airK, state))
	}
	w.at, w.warm, w.laid = airK, warm, true
}

func (w *worker) setSources(d figure.Draw, state string, parts *balance.Parts) error {
	v := w.v
	bat := v.Design.One("battery").Part.Battery
	tempK := v.airK(d, state)
	soc := d.Of(v.batterySoC())
	open, err := battery.OpenV(soc, tempK)
	if err != nil {
		return fmt.Errorf("battery: %w", err)
	}
	left, err := battery.AgedFrac(max(0, d.Of(v.batteryAge())))
	if err != nil {
		return fmt.Errorf("battery: %w", err)
	}
	ohm, err := battery.InternalOhm(d.Of(bat.ColdA)*left, tempK, soc)
	if err != nil {
		return fmt.Errorf("battery: %w", err)
	}
	parts.Battery.OpenV, parts.Battery.Ohm = open, ohm*d.Of(v.k.batteryRatio)
	parts.Battery.ChargeOhm = d.Of(v.k.acceptVS) / d.Of(bat.Capacity)
	parts.Charger.TempK = v.hotK(d, v.Design.One("alternator").At, state)
	for _, f := range v.fives {
		volts := 0.0
		if v.live(state) {
			volts = d.Of(v.k.fiveV)
		}
		w.net.SetSource(f.id, volts, d.Of(v.k.fiveOhm))
	}
	return nil
}

// batteryAge is how long ago the battery was new. A draw may put one below
// nothing; that battery is new.
func (v *Vehicle) batteryAge() *figure.Input {
	if b := v.Design.File.Battery; b != nil && b.AgeS != nil {
		return b.AgeS
	}
	if age := v.Design.One("battery").Part.Battery.AgeS; age != nil {
		return age
	}
	return v.k.batteryAgeS
}

// batterySoC is the battery's state of charge.
func (v *Vehicle) batterySoC() *figure.Input {
	if b := v.Design.File.Battery; b != nil && b.SoCFrac != nil {
		return b.SoCFrac
	}
	return v.Design.One("battery").Part.Battery.SoCFrac
}

// airK is the temperature of the air in a state.
func (v *Vehicle) airK(d figure.Draw, state string) float64 { return d.Of(v.airInput(state)) }

// airInput is the temperature of the air in a state: the coldest start, the
// hottest day once warm, a wet night, or a mild day at rest.
func (v *Vehicle) airInput(state string) *figure.Input {
	switch {
	case state == design.Cranking:
		return v.Design.File.Climate.ColdestK
	case state == design.WetNight:
		return v.k.wetK
	case design.Warm(state):
		return v.Design.File.Climate.HottestK
	}
	return v.k.mildK
}

// hotK is the temperature of a place in a state: once the engine is warm it
// stands as far above the air as it does on the hottest day; before, at the air's.
func (v *Vehicle) hotK(d figure.Draw, place, state string) float64 {
	if !design.Warm(state) {
		return v.airK(d, state)
	}
	return v.warmK(d, d.Of(v.placeK(place)), state)
}

// warmK carries a temperature of the hottest day to a warm state's air.
func (v *Vehicle) warmK(d figure.Draw, hotK float64, state string) float64 {
	return hotK + v.airK(d, state) - d.Of(v.Design.File.Climate.HottestK)
}

func (v *Vehicle) placeK(place string) *figure.Input {
	if i, ok := v.placeIndex()[place]; ok && v.Design.File.Places[i].Value.HotK != nil {
		return v.Design.File.Places[i].Value.HotK
	}
	return v.Design.Cat.Scheme.PlaceK
}

type placeIndex map[string]int

func (v *Vehicle) placeIndex() placeIndex { return v.places }

// linkBase draws a link.
func (v *Vehicle) linkBase(d figure.Draw, l *link) linkBase {
	s := &v.Design.Cat.Scheme
	switch {
	case l.wire != nil:
		return linkBase{
			at20Ohm: v.lengthM(d, l.wire) * d.Of(l.wire.Cable.OhmPerM), fixedOhm: 2 * d.Of(v.contactOf(l.wire)), hotK: d.Of(l.wire.HotK),
			hottestK: d.Of(v.Design.File.Climate.HottestK),
		}
	case l.fuse != nil:
		return linkBase{fixedOhm: v.fuseOhm(d, l.fuse)}
	case l.body:
		return linkBase{fixedOhm: d.Of(l.ohm) + d.Of(s.BodyOhm)}
	}
	return linkBase{fixedOhm: d.Of(l.ohm)}
}

// linkOhm is a drawn link's resistance in a state.
func (v *Vehicle) linkOhm(b linkBase, airK float64, state string) float64 {
	if b.at20Ohm == 0 {
		return b.fixedOhm
	}
	tempK := airK
	if design.Warm(state) {
		tempK = b.hotK + airK - b.hottestK
	}
	return wire.ResistanceOhm(1, b.at20Ohm, tempK) + b.fixedOhm
}

// contactOf is the contact at a wire's ends: a ring under a bolt for cables, a
// crimped and mated terminal for the rest.
func (v *Vehicle) contactOf(w *loom.Wire) *figure.Input {
	if w.Kind == loom.Post || w.Kind == loom.Strap {
		return v.Design.Cat.Scheme.BoltOhm
	}
	return v.Design.Cat.Scheme.ContactOhm
}

// fuseContact is a fuse's contact: bolted when it belongs to no feed.
func (v *Vehicle) fuseContact(f *loom.Fuse) *figure.Input {
	if f.Feed == "" {
		return v.Design.Cat.Scheme.BoltOhm
	}
	return v.Design.Cat.Scheme.ContactOhm
}

// fuseOhm is a fuse's resistance with its two contacts.
func (v *Vehicle) fuseOhm(d figure.Draw, f *loom.Fuse) float64 {
	r, err := fuse.ColdOhm(min(d.Of(f.RatingA), 100))
	if err != nil {
		r = 0.001
	}
	return r*d.Of(v.k.fuseRatio) + 2*d.Of(v.fuseContact(f))
}

// lengthM is a wire's length in a draw.
func (v *Vehicle) lengthM(d figure.Draw, w *loom.Wire) float64 {
	s := &v.Design.Cat.Scheme
	sum := 0.0
	for _, r := range w.Routes {
		sum += d.Of(v.Design.File.Routes[r].LengthM)
	}
	return sum*(1+d.Of(s.SlackFrac)) + float64(w.Tails)*d.Of(s.TailM)
}

// load is what a consumer draws in a state; pump, injectors, coils and starter
// are set by the balance and begin with nothing.
func (v *Vehicle) load(d figure.Draw, c consumer, state string, live bool) dcnet.Model {
	if c.coil != nil {
		if !contains(c.coil.On, state) || !live && state != design.AfterRun {
			return dcnet.Current{}
		}
		return dcnet.Resistance{Ohm: d.Of(c.part.Relay.CoilOhm)}
	}
	if !contains(c.load.On, state) {
		return dcnet.Current{}
	}
	var m dcnet.Model
	switch c.load.Model {
	case "resistance":
		m = dcnet.Resistance{Ohm: d.Of(c.load.Ohm)}
	case "current":
		m = dcnet.Current{CurrentA: d.Of(c.load.CurrentA), DropOutV: d.Of(c.load.DropOutV)}
	case "power":
		m = dcnet.Power{PowerW: d.Of(c.load.PowerW), DropOutV: d.Of(c.load.DropOutV)}
	default:
		return dcnet.Current{}
	}
	if c.load.DutyFrac != nil {
		return dcnet.Average{Model: m, DutyFrac: d.Of(c.load.DutyFrac)}
	}
	return m
}

// balanceState says what the vehicle does in a state.
func (v *Vehicle) balanceState(d figure.Draw, state string, sw dcnet.Switches, live bool) (balance.State, error) {
	f := v.Design.File
	ambientPa, err := gas.AtmospherePa(d.Of(f.Climate.AltitudeM))
	if err != nil {
		return balance.State{}, err
	}
	s := balance.State{Name: state, Switches: sw, AmbientPa: ambientPa, CrankPa: 0.97 * ambientPa}
	switch {
	case design.Cranks(state):
		s.Cranks = true
	case state == design.Full:
		s.Runs, s.SpeedRadPerS, s.WideOpen = live, d.Of(f.Engine.PeakRadPerS), true
		s.Limit = v.limit(d)
	case state == design.Cruise:
		s.Runs = live
		s.SpeedRadPerS, s.RoadW = v.cruise(d)
	case design.Runs(state):
		s.Runs, s.SpeedRadPerS = live, d.Of(f.Engine.IdleRadPerS)
	}
	if s.Runs {
		s.OpenPa = v.openPa(d, s.SpeedRadPerS)
	}
	return s, nil
}

// limit is the engine at its speed limit. A draw beyond the nominal limit is
// held there: the engine's tables end at it.
func (v *Vehicle) limit(d figure.Draw) *balance.Limit {
	limit := v.Design.File.Engine.LimitRadPerS
	speed := min(d.Of(limit), limit.SI)
	return &balance.Limit{SpeedRadPerS: speed, OpenPa: v.openPa(d, speed)}
}
