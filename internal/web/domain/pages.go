package domain

import (
	"fmt"
	"slices"
	"strconv"

	"fettle/internal/figure"
	"fettle/internal/web/shell"
)

// Engine makes the sheet of the engine.
func Engine(a shell.Ask) Body {
	p := New(a, EngineKey, "The engine is as its papers say.")
	p.Lede = Says("Cylinders with their order and channels, torque and power from the air model, and where the sensors sit.")
	p.Cautions = []string{"Belts, fans and shafts take hands, hair and cloth; an electric fan may start by itself. A changed cam is turned by hand over its phaser's whole travel before the starter turns it."}
	p.States([2]string{"Air", "engine/AirKgPerS"}, [2]string{"Manifold", "engine/ManifoldPa"}, [2]string{"Torque with alternator and belts off", "engine/TorqueNm"},
		[2]string{"Power", "engine/PowerW"}, [2]string{"Lambda", "engine/LambdaRatio"}, [2]string{"Coil charge", "coil/DwellS"}, [2]string{"Coil current reached", "coil/CurrentReachedA"})
	p.Fact("Heat to the coolant at full power", "full/engine/CoolantW")
	p.Fact("The radiator sheds", "cooling/RadiatorW")
	p.cylinders()
	p.curve()
	p.Devices("sensors", "Sensors and where they sit", "There is none.", "sensor")
	p.Set("Firing order", nil, "engine", "firing order")
	p.Set("Cylinder 1 is at", []string{"the timing drive", "the flywheel"}, "engine", "cylinder 1 is at")
	p.Set("Layout", []string{"inline", "V", "flat"}, "engine", "layout")
	p.Set("Bore", nil, "engine", "bore")
	p.Set("Stroke", nil, "engine", "stroke")
	p.Set("Rod", nil, "engine", "rod")
	p.Set("Compression ratio", nil, "engine", "compression ratio")
	p.Set("Throttle", []string{"electronic", "cable"}, "engine", "throttle")
	p.Set("Crank wheel", nil, "engine", "crank wheel")
	p.Set("Idle speed", nil, "engine", "idle speed")
	p.Set("Full power speed", nil, "engine", "full power speed")
	p.Set("Speed limit", nil, "engine", "speed limit")
	return p.Body
}

// cylinders is the plan of the engine as a table, in the order of its numbers.
func (p *Page) cylinders() {
	d := p.Ask.Result.Design
	var rows [][]Cell
	for c := 1; c <= d.File.Engine.Cylinders; c++ {
		fires := slices.Index(d.Firing, c) + 1
		rows = append(rows, []Cell{
			Words(strconv.Itoa(c)), Words(strconv.Itoa(d.BankOf(c))), Words(strconv.Itoa(fires)),
			Words(p.channel("injector", c)), Words(p.channel("coil", c)),
		})
	}
	p.Add("banks", "Cylinders, numbered from "+first(d.File.Engine.NumberedFrom, "the end that the file does not state"), "", []string{"Cylinder", "Bank", "Fires as number", "Injector pin", "Coil pin"}, rows)
}

// channel is the controller pin that serves a cylinder's device of a kind.
func (p *Page) channel(kind string, cylinder int) string {
	for _, it := range p.Ask.Result.Design.OfKind(kind) {
		if it.Cylinder == cylinder {
			return p.Pins(it.Name)
		}
	}
	return ""
}

// curve is torque and power with the throttle open.
func (p *Page) curve() {
	var rows [][]Cell
	for i := 1; ; i++ {
		k := fmt.Sprintf("curve/%d/", i)
		speed, ok := p.Figs.Of(figure.ID(k + "SpeedRadPerS"))
		if !ok {
			break
		}
		rows = append(rows, []Cell{Figure(speed, true), Figure(p.Figs.Of(figure.ID(k + "TorqueNm"))), Figure(p.Figs.Of(figure.ID(k + "PowerW"))), Figure(p.Figs.Of(figure.ID(k + "SparkRad")))})
	}
	p.Add("curve", "Throttle open, hottest day", "The engine's tables could not be made.", []string{"Speed#", "Torque#", "Power#", "Starting spark#"}, rows)
}

func first(list ...string) string {
	for _, s := range list {
		if s != "" {
			return s
		}
	}
	return ""
}
