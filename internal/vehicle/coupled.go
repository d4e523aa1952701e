package vehicle

import (
	"math"
	"strings"

	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/formula"
	"fettle/internal/loom"
)

// coupled records what the balance found in a state: fuel, air, spark.
func (a *accountant) coupled(s *State) {
	k := figure.ID(s.Key)
	pt := &s.Point
	a.engineFigures(s)
	a.railFigures(s)
	a.l.PutLoop(k+"/engine/FuelKgPerS", formula.BalanceDeliveredKgPerS, pt.FuelKgPerS, "g/s", &s.Ended, k+"/engine/WantedKgPerS", k+"/rail/PressurePa", k+"/rail/SetPa", k+"/engine/ManifoldPa")
	a.l.Put(k+"/engine/LambdaRatio", formula.BalanceLambdaRatio, pt.LambdaRatio, "", k+"/engine/LambdaWanted", k+"/engine/WantedKgPerS", k+"/engine/FuelKgPerS")
	a.l.PutLoop(k+"/fuel pump/MostKgPerS", formula.BalanceBroughtKgPerS, pt.PumpMostM3PerS*a.v.density(figure.Draw{}), "g/s", &s.Ended, a.pumpInputs(s)...)
	a.injectorFigures(s)
	a.coilFigures(s)
}

// railFigures record what the regulator holds and where the rail stands.
func (a *accountant) railFigures(s *State) {
	k, f := figure.ID(s.Key), a.v.Design.File
	if f.System.Reference == "manifold" {
		a.l.PutLoop(k+"/rail/SetPa", formula.BalanceSetGaugePa, s.Point.RailSetPa, "kPa", &s.Ended, a.l.Leaf(f.System.SetPa), k+"/engine/ManifoldPa", a.l.Leaf(f.Climate.AltitudeM))
	} else {
		a.l.Put(k+"/rail/SetPa", formula.VehicleStatedRailPa, s.Point.RailSetPa, "kPa", a.l.Leaf(f.System.SetPa))
	}
	a.l.PutLoop(k+"/rail/PressurePa", formula.BalanceRailPa, s.Point.RailPa, "kPa", &s.Ended, k+"/rail/SetPa", k+"/fuel pump/MostKgPerS", k+"/engine/WantedKgPerS")
}

func (a *accountant) engineFigures(s *State) {
	k, pt := figure.ID(s.Key), &s.Point
	f := a.v.Design.File
	e := &f.Engine
	leaves := append(a.engineLeaves(), a.l.Leaf(a.v.k.airRatio), a.l.Leaf(a.v.k.workRatio), a.l.Leaf(a.v.k.frictionRatio))
	air := formula.VehicleEngineAirKgPerS
	a.speedFigure(s)
	if design.Cranks(s.Name) {
		st := a.v.Design.One("starter").Part.Starter
		speed := []figure.ID{
			k + "/starter/VoltageV", a.l.Leaf(st.StallA), a.l.Leaf(st.FreeA), a.l.Leaf(st.FreeSpeed), a.l.Leaf(st.RatedV), a.l.Leaf(st.GearRatio),
			a.l.Leaf(a.v.k.oil40M2PerS), a.l.Leaf(a.v.k.oil100M2PerS), a.l.Leaf(a.v.k.oilKgPerM3), a.l.Leaf(a.v.k.frictionRatio), a.air(s), a.l.Leaf(e.BoreM), a.l.Leaf(e.StrokeM),
		}
		a.l.PutLoop(k+"/engine/SpeedRadPerS", formula.StarterCrank, pt.SpeedRadPerS, "rpm", &s.Ended, speed...)
		air = formula.VehicleCrankAirKgPerS
		leaves = []figure.ID{k + "/engine/SpeedRadPerS", a.air(s), a.l.Leaf(e.BoreM), a.l.Leaf(e.StrokeM), a.l.Leaf(f.Climate.AltitudeM)}
	}
	in := append([]figure.ID{k + "/engine/ManifoldPa"}, leaves...)
	a.l.PutLoop(k+"/engine/AirKgPerS", air, pt.AirKgPerS, "g/s", &s.Ended, in...)
	a.l.PutLoop(k+"/engine/ManifoldPa", formula.VehicleManifoldPa, pt.ManifoldPa, "kPa", &s.Ended, append([]figure.ID{k + "/alternator/ShaftW"}, leaves...)...)
	a.l.Put(k+"/engine/LambdaWanted", formula.VehicleLambdaWantedRatio, pt.LambdaWantedRatio, "", a.l.Leaf(e.LambdaFull))
	a.l.PutLoop(k+"/engine/WantedKgPerS", formula.BalanceWantedKgPerS, pt.WantedKgPerS, "g/s", &s.Ended, k+"/engine/AirKgPerS", k+"/engine/LambdaWanted", a.l.Leaf(f.Fuel.EthanolFrac))
	a.l.PutLoop(k+"/alternator/ShaftW", formula.AlternatorShaftPowerW, pt.ChargerW, "W", &s.Ended, k+"/alternator/CurrentA", k+"/battery/VoltageV", a.l.Leaf(a.v.Design.One("alternator").Part.Alternator.PulleyRatio))
	a.l.PutLoop(k+"/engine/TorqueNm", formula.VehicleTorqueNm, pt.TorqueNm, "Nm", &s.Ended, in...)
	a.l.Put(k+"/engine/PowerW", formula.VehiclePowerW, pt.PowerW, "kW", k+"/engine/TorqueNm", a.speed(s))
	if kelvin, ok := s.Charge(); ok {
		a.l.Put(k+"/engine/ChargeK", formula.BreathingChargedK, kelvin, "°C", append([]figure.ID{k + "/engine/ManifoldPa"}, a.engineLeaves()...)...)
	}
	a.roadFigures(s)
}

// speedFigure records the speed of a state in which nobody states it.
func (a *accountant) speedFigure(s *State) {
	id := figure.ID(s.Key + "/engine/SpeedRadPerS")
	veh := &a.v.Design.File.Vehicle
	switch {
	case s.Name == design.Cruise:
		a.l.Put(id, formula.DrivelineEngineRadPerS, s.Point.SpeedRadPerS, "rpm", a.l.Leaf(veh.CruiseMPerS), a.l.Leaf(veh.Tyre.DiameterM), a.l.Leaf(veh.AxleRatio), a.l.Leaf(veh.CruiseRatio))
		a.l.Put("cruise/wheels/RoadMPerS", formula.VehicleStatedMPerS, veh.CruiseMPerS.SI, "km/h", a.l.Leaf(veh.CruiseMPerS))
		a.l.Put("cruise/wheels/LoadW", formula.DrivelineRoadLoadW, s.Point.RoadW, "kW", a.l.Leaf(veh.CruiseMPerS), a.l.Leaf(veh.MassKg), a.l.Leaf(veh.DragAreaM2), a.l.Leaf(veh.RollingFrac))
	case !design.Runs(s.Name) && !design.Cranks(s.Name):
		a.l.Put(id, formula.VehicleStandingRadPerS, 0, "rpm", a.l.Leaf(a.v.Design.File.Engine.IdleRadPerS))
	}
}

// roadFigures record what full power means on the road.
func (a *accountant) roadFigures(s *State) {
	if s.Name != design.Full {
		return
	}
	veh := &a.v.Design.File.Vehicle
	a.l.Put("full/wheels/RoadMPerS", formula.DrivelineRoadMPerS, a.v.RoadMPerS(s.Point.SpeedRadPerS), "km/h",
		a.speed(s), a.l.Leaf(veh.Tyre.DiameterM), a.l.Leaf(veh.AxleRatio), a.l.Leaf(veh.TopRatio))
}

func (a *accountant) pumpInputs(s *State) []figure.ID {
	f := &a.v.Design.File.System
	out := []figure.ID{figure.ID(s.Key + "/rail/SetPa"), a.l.Leaf(f.LineM), a.l.Leaf(f.BoreM), a.l.Leaf(f.ElbowsCount), a.l.Leaf(f.FilterPaPerFlow), a.l.Leaf(a.v.Design.File.Fuel.EthanolFrac)}
	for _, c := range a.v.consumers {
		if c.load != nil && c.load.Model == "pump" {
			out = append(out, figure.ID(s.Key+"/"+c.name+"/VoltageV"))
			out = append(out, a.loadInputs(c)...)
		}
	}
	return out
}

func (a *accountant) injectorFigures(s *State) {
	k, pt := figure.ID(s.Key), &s.Point
	for _, c := range a.v.consumers {
		if c.load == nil || c.load.Model != "injector" {
			continue
		}
		in := c.part.Injector
		a.l.PutLoop(k+"/injector/PulseS", formula.BalancePulseS, pt.PulseS, "ms", &s.Ended, k+"/engine/WantedKgPerS", k+"/injector/AcrossPa",
			a.l.Leaf(in.FlowKgPerS), a.l.Leaf(in.RatedPa), a.l.Leaf(in.DeadAt8S), a.l.Leaf(in.DeadAt14S), figure.ID(s.Key+"/"+c.name+"/VoltageV"))
		a.l.PutLoop(k+"/injector/AcrossPa", formula.VehicleAcrossPa, pt.AcrossPa, "kPa", &s.Ended, k+"/rail/PressurePa", k+"/engine/ManifoldPa", a.l.Leaf(a.v.Design.File.Climate.AltitudeM))
		a.l.Put(k+"/injector/DutyFrac", formula.InjectorDutyFrac, pt.DutyFrac, "%", k+"/injector/PulseS", a.speed(s))
		a.limitFigures(s, c)
		return
	}
}

// limitFigures record the injector's pulse and duty at the speed limit.
func (a *accountant) limitFigures(s *State, c consumer) {
	if s.Point.LimitPulseS <= 0 {
		return
	}
	k := figure.ID(s.Key)
	in, f := c.part.Injector, a.v.Design.File
	from := append(a.engineLeaves(), a.l.Leaf(f.Engine.LimitRadPerS), a.l.Leaf(f.Fuel.EthanolFrac), a.l.Leaf(f.System.SetPa),
		a.l.Leaf(in.FlowKgPerS), a.l.Leaf(in.RatedPa), a.l.Leaf(in.DeadAt8S), a.l.Leaf(in.DeadAt14S), figure.ID(s.Key+"/"+c.name+"/VoltageV"))
	a.l.PutLoop(k+"/injector/LimitPulseS", formula.BalancePulseS, s.Point.LimitPulseS, "ms", &s.Ended, from...)
	a.l.Put(k+"/injector/LimitDutyFrac", formula.InjectorDutyFrac, s.Point.LimitDutyFrac, "%", k+"/injector/LimitPulseS", a.l.Leaf(f.Engine.LimitRadPerS))
}

func (a *accountant) coilFigures(s *State) {
	k, pt := figure.ID(s.Key), &s.Point
	for _, c := range a.v.consumers {
		if c.load == nil || c.load.Model != "coil" {
			continue
		}
		p := c.part.Coil
		in := []figure.ID{a.l.Leaf(p.Ohm), a.l.Leaf(p.Henry), a.l.Leaf(p.ChargeA), figure.ID(s.Key + "/" + c.name + "/VoltageV")}
		a.l.PutLoop(k+"/coil/DwellS", formula.IgnitionDwellS, pt.DwellS, "ms", &s.Ended, append(in, a.l.Leaf(a.v.k.coilCrankS))...)
		a.l.Put(k+"/coil/DwellLeftS", formula.IgnitionAvailableDwellS, pt.DwellLeftS, "ms", a.speed(s), a.sparks())
		a.l.PutLoop(k+"/coil/CurrentReachedA", formula.IgnitionCurrentA, pt.CoilA, "A", &s.Ended, append(in, k+"/coil/DwellS")...)
		return
	}
}

// sparks records how many sparks a coil makes in a turn.
func (a *accountant) sparks() figure.ID {
	d := a.v.Design
	counted := func(id figure.ID, n int, key string) figure.ID {
		return a.l.Leaf(&figure.Input{ID: id, SI: float64(n), Source: "counted in " + d.File.Pos.File, Origin: figure.Stated, Pos: d.Place(key)})
	}
	a.l.Put("engine/coil/SparksRatio", formula.IgnitionSparksRatio, d.SparksRatio(), "",
		counted("build/engine/cylinders", d.File.Engine.Cylinders, "engine"), counted("build/devices/windings", d.Windings(), "devices"))
	return "engine/coil/SparksRatio"
}

// margins records every margin's value and limit with what they are made of.
func (a *accountant) margins() {
	for _, m := range a.r.Margins {
		s := a.r.State(m.State)
		if !s.Ended.OK || math.IsNaN(m.Value) {
			continue
		}
		value, limit := a.sources(s, m)
		a.l.Put(m.ID, formula.VehicleMarginSI, m.Value, m.Unit, value...)
		a.l.Put(m.ID+"/limit", formula.VehicleLimitSI, m.Limit, m.Unit, limit...)
		a.l.Put(m.ID+"/left", formula.VehicleLeftSI, m.Left(), m.Unit, m.ID, m.ID+"/limit")
	}
}

// sources names what a margin's value and limit come from.
func (a *accountant) sources(s *State, m Margin) (value, limit []figure.ID) {
	k := figure.ID(s.Key)
	v := a.v
	what := string(m.ID[strings.LastIndex(string(m.ID), "/")+1:])
	ctl := v.Design.One("controller")
	switch {
	case m.Subject == ctl.Name && what == "LastingV":
		return []figure.ID{k + "/start/LastingV"}, []figure.ID{a.l.Leaf(ctl.Part.Controller.ResetV)}
	case m.Subject == ctl.Name:
		return []figure.ID{figure.ID(s.Key + "/" + v.controllerLoad() + "/VoltageV")}, []figure.ID{a.l.Leaf(ctl.Part.Controller.ResetV)}
	case m.Subject == "coil" && what == "EnergyJ":
		c := v.Design.OfKind("coil")[0].Part.Coil
		a.l.Put(k+"/coil/EnergyJ", formula.BalanceEnergyJ, m.Value, "mJ", k+"/coil/CurrentReachedA", a.l.Leaf(c.Henry))
		return []figure.ID{k + "/coil/EnergyJ"}, []figure.ID{a.l.Leaf(c.LeastJ)}
	case m.Subject == "coil":
		return []figure.ID{k + "/coil/DwellS"}, []figure.ID{k + "/coil/DwellLeftS"}
	case m.Subject == "injector" && what == "LimitDutyFrac":
		return []figure.ID{k + "/injector/LimitDutyFrac"}, []figure.ID{a.l.Leaf(v.k.dutyMost)}
	case m.Subject == excitationName:
		return []figure.ID{k + "/excitation/CurrentA"}, []figure.ID{a.l.Leaf(v.k.exciteA)}
	case m.Subject == "injector":
		return []figure.ID{k + "/injector/DutyFrac"}, []figure.ID{a.l.Leaf(v.k.dutyMost)}
	case m.Subject == "fuel pump" && what == "FlowKgPerS":
		return []figure.ID{k + "/fuel pump/MostKgPerS"}, []figure.ID{k + "/engine/WantedKgPerS", a.l.Leaf(v.k.fuelRoomRatio)}
	case m.Subject == "fuel pump":
		p := v.Design.OfKind("pump")[0]
		return []figure.ID{figure.ID(s.Key + "/" + p.Name + "/VoltageV")}, []figure.ID{a.l.Leaf(p.Part.Needs.VoltageV)}
	case m.Subject == "starter":
		return []figure.ID{k + "/engine/SpeedRadPerS"}, []figure.ID{a.l.Leaf(v.k.crankLeast)}
	case m.Subject == "alternator":
		return []figure.ID{k + "/loads/CurrentA"}, []figure.ID{k + "/alternator/MostA"}
	case m.Subject == "battery":
		return []figure.ID{k + "/battery/CurrentA"}, []figure.ID{a.l.Leaf(v.k.parkedMostA)}
	case m.Subject == "cooling":
		return []figure.ID{k + "/engine/CoolantW", a.l.Leaf(v.k.coolantRatio)}, []figure.ID{"cooling/RadiatorW"}
	case m.Subject == "rail":
		return a.vapourSources(s)
	case m.Subject == "engine":
		return []figure.ID{k + "/engine/ManifoldPa"}, []figure.ID{a.l.Leaf(v.Design.File.Climate.AltitudeM), a.l.Leaf(v.Design.File.Engine.IntakeDropPa)}
	case m.Subject == "sensor ground":
		return a.liftSources(s), []figure.ID{a.l.Leaf(v.k.liftMostV)}
	case what == "PullInV":
		return a.pullInSources(s, m)
	}
	r := v.relayNamed(m.Subject)
	return []figure.ID{figure.ID(s.Key + "/relay " + m.Subject + "/CurrentA")}, []figure.ID{a.l.Leaf(r.Part.Relay.ContactA)}
}

// vapourSources are the rail's absolute pressure and the fuel's vapour pressure.
func (a *accountant) vapourSources(s *State) (value, limit []figure.ID) {
	v := a.v
	return []figure.ID{figure.ID(s.Key + "/rail/PressurePa"), a.l.Leaf(v.Design.File.Climate.AltitudeM)},
		[]figure.ID{a.l.Leaf(v.Design.File.Fuel.EthanolFrac), a.l.Leaf(v.k.vapour), a.l.Leaf(v.k.soakK), a.l.Leaf(v.railPlaceK())}
}

// liftSources are the drops that part the sensors' ground from the controller's.
func (a *accountant) liftSources(s *State) []figure.ID {
	var out []figure.ID
	for _, l := range a.v.links {
		ground := l.sensorGround || strings.HasPrefix(l.name, a.v.Design.One("controller").Name+" ground ")
		wire := l.wire != nil && (l.wire.Name == "sensor ground" || strings.HasPrefix(l.wire.Name, a.v.Design.One("controller").Name+" ") && l.wire.Kind == loom.Return)
		if ground || wire {
			out = append(out, figure.ID(s.Key+"/"+l.name+"/DropV"))
		}
	}
	return out
}

func (v *Vehicle) controllerLoad() string {
	ctl := v.Design.One("controller").Name
	for _, c := range v.consumers {
		if c.item.Name == ctl && c.load.Model == "power" {
			return c.name
		}
	}
	return ctl
}

func (v *Vehicle) relayNamed(name string) loom.Relay {
	for _, r := range v.Loom.Relays {
		if r.Name == name {
			return r
		}
	}
	return loom.Relay{}
}
