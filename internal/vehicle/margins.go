package vehicle

import (
	"math"

	"fettle/internal/balance"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/gas"
	"fettle/internal/loom"
	"fettle/internal/petrol"
)

// Margin is one figure against its limit.
type Margin struct {
	ID           figure.ID // of the value; the limit's is ID + "/limit"
	Name         string
	State        string
	Subject      string // the thing it belongs to: "fuel pump", "K1"
	Value, Limit float64
	AtLeast      bool
	Unit         string
	LimitAssumed bool
}

// Names of the margins without which an engine does not start.
const (
	ControllerRoom = "Voltage at the controller"
	LastingRoom    = "Lowest lasting voltage at the controller"
	SparkRoom      = "Spark energy"
	FuelRoom       = "Fuel the pump can bring"
)

// Left is the room: positive when the limit is kept.
func (m Margin) Left() float64 {
	if m.AtLeast {
		return m.Value - m.Limit
	}
	return m.Limit - m.Value
}

// margins lists what must hold, in the order it is shown. A state that did not
// settle contributes not-a-number, which counts as short and is never shown.
func (v *Vehicle) margins(d figure.Draw, states []State) []Margin {
	var out []Margin
	for i := range states {
		s := &states[i]
		add := func(name, subject, what string, value, limit float64, atLeast bool, unit string) {
			if !s.Ended.OK {
				value = math.NaN()
			}
			out = append(out, Margin{
				ID: figure.ID("room/" + s.Key + "/" + subject + "/" + what), Name: name, State: s.Name, Subject: subject,
				Value: value, Limit: limit, AtLeast: atLeast, Unit: unit,
			})
		}
		v.stateMargins(d, s, add)
		v.pullInMargins(d, s, states, add)
	}
	return out
}

// stateMargins are what must hold in one state.
func (v *Vehicle) stateMargins(d figure.Draw, s *State, add addMargin) {
	if s.Name == design.Parked {
		add("Drain of the parked vehicle", "battery", "CurrentA", s.Point.BatteryA, d.Of(v.k.parkedMostA), false, "mA")
	}
	if amps, ok := s.ConsumerA(excitationName); s.Name == design.KeyOn && v.exciteOhm != nil {
		if !ok {
			amps = math.NaN()
		}
		add("Excitation of the alternator", excitationName, "CurrentA", amps, d.Of(v.k.exciteA), true, "A")
	}
	if design.Cranks(s.Name) {
		v.crankMargins(d, s, add)
	}
	if s.Name == design.HotRestart {
		v.vapourMargin(d, s, add)
	}
	if s.Name == design.Full {
		v.fuelMargins(d, s, add)
		v.heatMargin(d, s, add)
	}
	if design.Runs(s.Name) {
		v.chargeMargin(s, add)
		v.relayMargins(d, s, add)
		v.liftMargin(d, s, add)
	}
	if s.Name == design.Cruise {
		in := v.response.Input()
		add("Manifold pressure at cruise", "engine", "ManifoldPa", s.Point.ManifoldPa, in.WideOpenPa(s.Point.SpeedRadPerS), false, "kPa")
	}
}

// vapourMargin holds the rail's absolute pressure against the fuel's vapour
// pressure at the temperature a stood engine soaks it to.
func (v *Vehicle) vapourMargin(d figure.Draw, s *State, add addMargin) {
	f := v.Design.File
	fuel, err := petrol.Blend(d.Of(f.Fuel.EthanolFrac))
	if err != nil {
		return
	}
	ambient, err := gas.AtmospherePa(d.Of(f.Climate.AltitudeM))
	if err != nil {
		return
	}
	vapour := VapourPa(fuel.ReidPa, d.Of(v.k.vapour), d.Of(v.railPlaceK())+d.Of(v.k.soakK))
	add("Rail above boiling", "rail", "PressurePa", s.Point.RailPa+ambient, vapour, true, "kPa")
}

// railPlaceK is the temperature where the injectors sit.
func (v *Vehicle) railPlaceK() *figure.Input {
	if list := v.Design.OfKind("injector"); len(list) > 0 {
		return v.placeK(list[0].At)
	}
	return v.Design.Cat.Scheme.PlaceK
}

type addMargin func(name, subject, what string, value, limit float64, atLeast bool, unit string)

func (v *Vehicle) crankMargins(d figure.Draw, s *State, add addMargin) {
	ctl := v.Design.One("controller")
	add(ControllerRoom, ctl.Name, "VoltageV", v.controllerV(s), d.Of(ctl.Part.Controller.ResetV), true, "V")
	if s.Start != nil {
		lasting := math.NaN()
		if s.Start.Ended.OK {
			lasting = s.Start.LastingV
		}
		add(LastingRoom, ctl.Name, "LastingV", lasting, d.Of(ctl.Part.Controller.ResetV), true, "V")
	}
	add("Cranking speed", "starter", "SpeedRadPerS", s.Point.SpeedRadPerS, d.Of(v.k.crankLeast), true, "rpm")
	if len(v.Design.OfKind("coil")) > 0 {
		c := v.Design.OfKind("coil")[0].Part.Coil
		add(SparkRoom, "coil", "EnergyJ", balance.EnergyJ(d.Of(c.Henry), s.Point.CoilA), d.Of(c.LeastJ), true, "mJ")
	}
	add(FuelRoom, "fuel pump", "FlowKgPerS", s.Point.PumpMostM3PerS*v.density(d), s.Point.WantedKgPerS, true, "g/s")
}

// controllerV is the voltage across the controller's main load.
func (v *Vehicle) controllerV(s *State) float64 {
	ctl := v.Design.One("controller").Name
	for _, c := range v.consumers {
		if c.item.Name == ctl && c.load.Model == "power" {
			return s.Point.Net.ElementV(c.id)
		}
	}
	return math.NaN()
}

func (v *Vehicle) fuelMargins(d figure.Draw, s *State, add addMargin) {
	pumps := v.Design.OfKind("pump")
	add(FuelRoom, "fuel pump", "FlowKgPerS", s.Point.PumpMostM3PerS*v.density(d), s.Point.WantedKgPerS*d.Of(v.k.fuelRoomRatio), true, "g/s")
	if len(pumps) > 0 && pumps[0].Part.Needs != nil && pumps[0].Part.Needs.VoltageV != nil {
		add("Voltage at the fuel pump", "fuel pump", "VoltageV", s.Point.PumpV, d.Of(pumps[0].Part.Needs.VoltageV), true, "V")
	}
	add("Injector duty", "injector", "DutyFrac", s.Point.DutyFrac, d.Of(v.k.dutyMost), false, "%")
	add("Injector duty at the speed limit", "injector", "LimitDutyFrac", s.Point.LimitDutyFrac, d.Of(v.k.dutyMost), false, "%")
	add("Coil charge", "coil", "DwellS", s.Point.DwellS, s.Point.DwellLeftS, false, "ms")
}

func (v *Vehicle) chargeMargin(s *State, add addMargin) {
	add("Alternator output", "alternator", "CurrentA", s.Point.ChargerA+s.Point.BatteryA, s.Point.ChargerMostA, false, "A")
}

func (v *Vehicle) relayMargins(d figure.Draw, s *State, add addMargin) {
	for _, l := range v.links {
		if l.relay != nil && contains(l.on, s.Name) {
			add("Contact of relay "+l.relay.Name, l.relay.Name, "CurrentA", math.Abs(s.Point.Net.ElementA(l.id)), d.Of(l.relay.Part.Relay.ContactA), false, "A")
		}
	}
}

// liftMargin is how far the sensors' ground stands off the controller's own.
func (v *Vehicle) liftMargin(d figure.Draw, s *State, add addMargin) {
	if !v.touched[loom.SensorSplice] {
		return
	}
	a, okA := s.NodeV(loom.SensorSplice)
	b, okB := s.NodeV(loom.NodeInside)
	if okA && okB {
		add("Sensor ground offset", "sensor ground", "VoltageV", math.Abs(a-b), d.Of(v.k.liftMostV), false, "mV")
	} else {
		add("Sensor ground offset", "sensor ground", "VoltageV", math.NaN(), d.Of(v.k.liftMostV), false, "mV")
	}
}
