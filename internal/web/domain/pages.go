package domain

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/figure"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

// Fuel makes the sheet of the fuel system.
func Fuel(a shell.Ask) Body {
	p := newPage(a, FuelKey, "The fuel system holds what was asked of it.")
	p.b.Lede = "What the engine burns, what the pump can bring at the volts it really gets, and what stands across the injectors."
	p.b.Cautions = []string{
		"Fuel stands under pressure for hours after the engine stops. Relieve it before any line is opened; no spark, no flame, eyes covered.",
	}
	p.states([2]string{"Fuel it burns", "engine/WantedKgPerS"}, [2]string{"Fuel the pump can bring", "fuel pump/MostKgPerS"}, [2]string{"Fuel that reaches it", "engine/FuelKgPerS"},
		[2]string{"Pump voltage", "fuel pump/VoltageV"}, [2]string{"Pump current", "fuel pump/CurrentA"}, [2]string{"Rail, above the atmosphere", "rail/PressurePa"},
		[2]string{"Manifold", "engine/ManifoldPa"}, [2]string{"Across the injector", "injector/AcrossPa"}, [2]string{"Pulse with its dead time", "injector/PulseS"},
		[2]string{"Injector duty", "injector/DutyFrac"}, [2]string{"Lambda wanted", "engine/LambdaWanted"}, [2]string{"Lambda it gets", "engine/LambdaRatio"})
	p.everyState("across", "Across the injector in every state", [][2]string{{"Rail", "rail/PressurePa"}, {"Manifold", "engine/ManifoldPa"}, {"Across", "injector/AcrossPa"}, {"Duty", "injector/DutyFrac"}, {"Pump", "fuel pump/VoltageV"}})
	p.devices("injector", "Pump and injectors", "pump", "injector")
	p.set("Rail pressure", nil, "fuel system", "rail pressure")
	p.set("Regulator referred to", []string{"atmosphere", "manifold"}, "fuel system", "regulator reference")
	p.set("Return", []string{"none", "at the rail"}, "fuel system", "return")
	p.set("Line length", nil, "fuel system", "line length")
	p.set("Line bore", nil, "fuel system", "line bore")
	p.set("Filter drop", nil, "fuel system", "filter drop at 100 L/h")
	p.set("Hose class", []string{"R6", "R7", "R8", "R9", "R10", "R14"}, "fuel system", "hose class")
	p.set("Inertia switch", []string{"fitted", "none"}, "fuel system", "inertia switch")
	p.set("Ethanol", nil, "fuel", "ethanol")
	p.set("Injector data entered for", nil, "injector data", "entered for")
	return p.b
}

// everyState is a table of a few figures over all states.
func (p *page) everyState(id, title string, cols [][2]string) {
	heads := []string{"State"}
	for _, c := range cols {
		heads = append(heads, c[0]+"#")
	}
	var rows [][]Cell
	for _, s := range p.a.Result.Solved.States {
		row := []Cell{words(shell.StateName(s.Name))}
		some := false
		for _, c := range cols {
			cell := fig(p.figs.Of(figure.ID(s.Key + "/" + c[1])))
			some = some || cell.Fig != nil
			row = append(row, cell)
		}
		if some {
			rows = append(rows, row)
		}
	}
	p.add(id, title, "No state has settled.", heads, rows)
}

// Driveline makes the sheet of gearbox, shaft, axle and tyre.
func Driveline(a shell.Ask) Body {
	p := newPage(a, DrivelineKey, "The driveline carries what was asked of it.")
	p.b.Lede = "Speeds in the gears, what the road asks at cruise, and what the propeller shaft stands."
	p.b.Cautions = []string{"A vehicle with turning wheels stands on stands on level ground, chocked, with nobody under it. Keep hands, hair and cloth from turning shafts."}
	p.fact("Tyre, over its rolling circumference", "tyre/RollingM")
	p.fact("At cruise", "cruise/wheels/RoadMPerS")
	p.fact("Engine at cruise", "cruise/engine/SpeedRadPerS")
	p.fact("The road and the air ask", "cruise/wheels/LoadW")
	p.fact("Manifold at cruise", "cruise/engine/ManifoldPa")
	p.fact("At full power speed", "full/wheels/RoadMPerS")
	p.fact("Shaft at the speed limit", "shaft/SpeedRadPerS")
	p.fact("Shaft whirls at", "shaft/CriticalRadPerS")
	var rows [][]Cell
	if g := a.Result.Design.File.Gearbox; g != nil {
		for i, r := range g.Ratios {
			k := fmt.Sprintf("gear/%d/", i+1)
			rows = append(rows, []Cell{words(strconv.Itoa(i + 1)), fig(p.figs.Of(r.ID)), fig(p.figs.Of(figure.ID(k + "full/RoadMPerS"))), fig(p.figs.Of(figure.ID(k + "limit/RoadMPerS")))})
		}
	}
	p.add("gears", "Speeds in the gears", "The file states no gear ratios: write them under gearbox, first to top.", []string{"Gear", "Ratio#", "At full power speed#", "At the speed limit#"}, rows)
	p.set("Mass", nil, "vehicle", "mass")
	p.set("Drag area", nil, "vehicle", "drag area")
	p.set("Rolling resistance", nil, "vehicle", "rolling resistance")
	p.set("Tyre", nil, "vehicle", "tyre")
	p.set("Axle ratio", nil, "vehicle", "axle ratio")
	p.set("Cruise speed", nil, "vehicle", "cruise speed")
	p.set("Gear ratio at cruise", nil, "vehicle", "gear ratio at cruise")
	p.set("Gear ratio at full power", nil, "vehicle", "gear ratio at full power")
	p.set("Gearbox", []string{"manual", "automatic"}, "gearbox", "kind")
	p.set("Start interlock", []string{"wired", "not wired"}, "gearbox", "start interlock")
	return p.b
}

// Engine makes the sheet of the engine.
func Engine(a shell.Ask) Body {
	p := newPage(a, EngineKey, "The engine is as its papers say.")
	p.b.Lede = "Cylinders with their order and channels, torque and power from the air model, and where the sensors sit."
	p.b.Cautions = []string{"Belts, fans and shafts take hands, hair and cloth; an electric fan may start by itself. A changed cam is turned by hand over its phaser's whole travel before the starter turns it."}
	p.states([2]string{"Air", "engine/AirKgPerS"}, [2]string{"Manifold", "engine/ManifoldPa"}, [2]string{"Torque with alternator and belts off", "engine/TorqueNm"},
		[2]string{"Power", "engine/PowerW"}, [2]string{"Lambda", "engine/LambdaRatio"}, [2]string{"Coil charge", "coil/DwellS"}, [2]string{"Coil current reached", "coil/CurrentReachedA"})
	p.fact("Heat to the coolant at full power", "full/engine/CoolantW")
	p.fact("The radiator sheds", "cooling/RadiatorW")
	p.cylinders()
	p.curve()
	p.devices("sensors", "Sensors and where they sit", "sensor")
	p.set("Firing order", nil, "engine", "firing order")
	p.set("Cylinder 1 is at", []string{"the timing drive", "the flywheel"}, "engine", "cylinder 1 is at")
	p.set("Layout", []string{"inline", "V", "flat"}, "engine", "layout")
	p.set("Bore", nil, "engine", "bore")
	p.set("Stroke", nil, "engine", "stroke")
	p.set("Rod", nil, "engine", "rod")
	p.set("Compression ratio", nil, "engine", "compression ratio")
	p.set("Throttle", []string{"electronic", "cable"}, "engine", "throttle")
	p.set("Crank wheel", nil, "engine", "crank wheel")
	p.set("Idle speed", nil, "engine", "idle speed")
	p.set("Full power speed", nil, "engine", "full power speed")
	p.set("Speed limit", nil, "engine", "speed limit")
	return p.b
}

// cylinders is the plan of the engine as a table, in the order of its numbers.
func (p *page) cylinders() {
	d := p.a.Result.Design
	var rows [][]Cell
	for c := 1; c <= d.File.Engine.Cylinders; c++ {
		fires := slices.Index(d.Firing, c) + 1
		rows = append(rows, []Cell{
			words(strconv.Itoa(c)), words(strconv.Itoa(d.BankOf(c))), words(strconv.Itoa(fires)),
			words(p.channel("injector", c)), words(p.channel("coil", c)),
		})
	}
	p.add("banks", "Cylinders, numbered from "+first(d.File.Engine.NumberedFrom, "the end that the file does not state"), "", []string{"Cylinder", "Bank", "Fires as number", "Injector pin", "Coil pin"}, rows)
}

// channel is the controller pin that serves a cylinder's device of a kind.
func (p *page) channel(kind string, cylinder int) string {
	for _, it := range p.a.Result.Design.OfKind(kind) {
		if it.Cylinder == cylinder {
			return p.pins(it.Name)
		}
	}
	return ""
}

// curve is torque and power with the throttle open.
func (p *page) curve() {
	var rows [][]Cell
	for i := 1; ; i++ {
		k := fmt.Sprintf("curve/%d/", i)
		speed, ok := p.figs.Of(figure.ID(k + "SpeedRadPerS"))
		if !ok {
			break
		}
		rows = append(rows, []Cell{fig(speed, true), fig(p.figs.Of(figure.ID(k + "TorqueNm"))), fig(p.figs.Of(figure.ID(k + "PowerW"))), fig(p.figs.Of(figure.ID(k + "SparkRad")))})
	}
	p.add("curve", "Throttle open, hottest day", "The engine's tables could not be made.", []string{"Speed#", "Torque#", "Power#", "Starting spark#"}, rows)
}

// Loom makes the sheet of the wiring as lists.
func Loom(a shell.Ask) Body {
	p := newPage(a, LoomKey, "Every terminal has its place.")
	l := a.Result.Loom
	if n := len(l.Short); n > 0 {
		p.b.Start, p.b.Trouble = "Not everything finds a pin: ", fmt.Sprintf("%d terminals are left.", n)
	}
	p.b.Lede = fmt.Sprintf("%d wires, %d devices, %d fuses, %d relays, %d splices, %d pins in use. What the file fixes stands; the rest is decided, and says why.",
		len(l.Wires), len(a.Result.Design.Devices), len(l.Fuses), len(l.Relays), len(l.Splices), len(l.Pins))
	p.b.Cautions = []string{"Take the battery's negative post off first and put it on last. Fuse the battery's leads within a hand's breadth of the post."}
	p.wires()
	p.connectors()
	var rows [][]Cell
	for _, s := range l.Splices {
		rows = append(rows, []Cell{words(s.Name), words(strings.TrimPrefix(s.Node, "splice ")), words(s.Place)})
	}
	p.add("splices", "Splices", "There is none.", []string{"Splice", "Joins", "At"}, rows)
	rows = nil
	for _, g := range l.Grounds {
		rows = append(rows, []Cell{words(g.Name), words(g.Place), words(g.In)})
	}
	p.add("grounds", "Grounds", "There is none.", []string{"Ground", "At", "In"}, rows)
	return p.b
}

func (p *page) wires() {
	var rows [][]Cell
	for i := range p.a.Result.Loom.Wires {
		w := &p.a.Result.Loom.Wires[i]
		why := "decided"
		if w.Fixed {
			why = "fixed in the file"
		}
		if w.FuseA > 0 {
			why += ", behind " + p.fuseOf(w)
		}
		rows = append(rows, []Cell{
			words(strconv.Itoa(w.Number)), words(w.Name), words(w.From.Place), words(w.To.Place), words(w.Colour),
			fig(p.figs.Of(w.Area.ID)), fig(p.figs.Of(vehicle.WireLengthID(w))), words(why),
		})
	}
	p.add("wires", "Wires", "The loom has none.", []string{"Wire", "To", "From", "At", "Colour", "Size#", "Length#", "Why"}, rows)
}

func (p *page) fuseOf(w *loom.Wire) string {
	for _, f := range p.a.Result.Loom.Fuses {
		if f.Feed != "" && f.Feed == w.Feed {
			return f.Name
		}
	}
	return "a main fuse"
}

// connectors lists every control unit's pins in use by plug.
func (p *page) connectors() {
	for _, unit := range loom.Units(p.a.Result.Design) {
		var rows [][]Cell
		for _, pin := range p.a.Result.Loom.Pins {
			if pin.Unit != unit.Name {
				continue
			}
			fixed := "decided"
			if pin.Fixed {
				fixed = "fixed in the file"
			}
			rows = append(rows, []Cell{words(pin.Pin), words(pin.Can), words(pin.Device), words(fixed)})
		}
		p.add("pins-"+shell.Slug(unit.Name), "Pins of the "+unit.Name+", from the wire side", "No pin is in use.", []string{"Pin", "Does", "Device and terminal", "By"}, rows)
	}
}

func first(list ...string) string {
	for _, s := range list {
		if s != "" {
			return s
		}
	}
	return ""
}
