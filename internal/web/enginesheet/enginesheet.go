// Package enginesheet is the sheet of the engine: its cylinders from above with
// their numbers, order and channels, what its wheels and cams do over two turns,
// torque and power over its speed, and where the sensors sit.
//
// Conventions: [View] is pure and makes finished strings; every number it shows
// is looked up in the ledger by its ID; bank 1 is the one that holds cylinder 1.
// Start reading at [View].
package enginesheet

import (
	"embed"
	"fmt"
	"html/template"
	"slices"
	"strconv"

	"fettle/internal/design"
	"fettle/internal/drawing"
	"fettle/internal/figure"
	"fettle/internal/plate"
	"fettle/internal/quantity"
	"fettle/internal/web/domain"
	"fettle/internal/web/shell"
)

//go:embed enginesheet.html
var files embed.FS

// Key names the page in addresses.
const Key = domain.EngineKey

// Template is the page's.
var Template = domain.With(files, "enginesheet.html")

// Body is what the page shows.
type Body struct {
	domain.Body
	Plan, PhonePlan       template.HTML
	Trigger, PhoneTrigger template.HTML
	Curve, PhoneCurve     template.HTML
	Cylinders, Cams       domain.Table
	CurveTable, Sensors   domain.Table
	// One cylinder in the chosen state, and the sparks over speed.
	Cylinder, PhoneCylinder template.HTML
	FiringNo                string
	Fired                   []domain.Line
	Spark, PhoneSpark       template.HTML
	SparkTable              domain.Table
}

// Widths of the drawings on a sheet and on a phone.
const (
	wide       = 986
	plotWidth  = 700
	phoneWidth = 328
)

// sheet is the page in the making.
type sheet struct {
	*domain.Page
	d *design.Design
}

// View makes the page of a solved vehicle.
func View(a shell.Ask) Body {
	v := sheet{domain.New(a, Key, "The engine is as its papers say."), a.Result.Design}
	v.Lede = domain.Says("Cylinders with their order and channels, what wheels and cams do over two turns, torque and power from the air model, and where the sensors sit.")
	v.Cautions = []string{"Belts, fans and shafts take hands, hair and cloth; an electric fan may start by itself. A changed cam is turned by hand over its phaser's whole travel before the starter turns it."}
	v.States([2]string{"Air", "engine/AirKgPerS"}, [2]string{"Manifold", "engine/ManifoldPa"}, [2]string{"Torque with alternator and belts off", "engine/TorqueNm"},
		[2]string{"Power", "engine/PowerW"}, [2]string{"Lambda", "engine/LambdaRatio"}, [2]string{"Coil charge", "coil/DwellS"}, [2]string{"Coil current reached", "coil/CurrentReachedA"})
	v.Fact("Heat to the coolant at full power", "full/engine/CoolantW")
	v.Fact("The radiator sheds", "cooling/RadiatorW")
	b := Body{}
	b.Plan, b.PhonePlan = both(v.plan)
	b.Trigger, b.PhoneTrigger = both(v.trigger)
	b.Curve, b.PhoneCurve = both(v.curve)
	v.cylinders()
	v.cams()
	v.curveTable()
	v.Devices("sensors", "Sensors and where they sit", "There is none.", "sensor")
	b.Cylinders, b.Cams, b.CurveTable, b.Sensors = v.Tables[0], v.Tables[1], v.Tables[2], v.Tables[3]
	v.firing(&b)
	v.settings()
	b.Body = v.Body
	return b
}

// both draws something for a sheet and for a phone.
func both(draw func(phone bool) *drawing.Drawing) (sheet, phone template.HTML) {
	return shell.Draw(draw(false), true), shell.Draw(draw(true), true)
}

func (v sheet) plan(phone bool) *drawing.Drawing {
	if phone {
		return plate.Engine(v.d, v.Ask.Result.Loom, "plan-phone", phoneWidth, true)
	}
	return plate.Engine(v.d, v.Ask.Result.Loom, "plan", wide, false)
}

func (v sheet) trigger(phone bool) *drawing.Drawing {
	if phone {
		return plate.Trigger(v.d, "trigger-plot-phone", phoneWidth)
	}
	return plate.Trigger(v.d, "trigger-plot", wide)
}

func (v sheet) channel(kind string, cylinder int) string {
	return plate.Channel(v.d, v.Ask.Result.Loom, kind, cylinder)
}

// cylinders is the plan in words.
func (v sheet) cylinders() {
	e := &v.d.File.Engine
	var rows [][]domain.Cell
	for c := 1; c <= e.Cylinders; c++ {
		rows = append(rows, []domain.Cell{
			domain.Words(strconv.Itoa(c)), domain.Words(strconv.Itoa(v.d.BankOf(c))), domain.Words(strconv.Itoa(slices.Index(v.d.Firing, c) + 1)),
			domain.Words(v.channel("injector", c)), domain.Words(v.channel("coil", c)),
		})
	}
	from := e.NumberedFrom
	if from == "" {
		from = "an end that the file does not state"
	}
	v.Add("cylinders", "Cylinders, numbered from "+from, "", []string{"Cylinder", "Bank", "Fires as number", "Injector pin", "Coil pin"}, rows)
}

// cams lists the camshafts as the file has them.
func (v sheet) cams() {
	var rows [][]domain.Cell
	for _, c := range v.d.File.Engine.Cams {
		fig := func(in *figure.Input) domain.Cell {
			if in == nil {
				return domain.Cell{Number: true}
			}
			return domain.Figure(v.Figs.Of(in.ID))
		}
		travel := fig(c.TravelRad)
		if c.TravelRad == nil || c.TravelRad.SI == 0 {
			travel = domain.Cell{Text: "no phaser", Number: true}
		}
		bank := "all"
		if c.Bank > 0 {
			bank = strconv.Itoa(c.Bank)
		}
		rows = append(rows, []domain.Cell{domain.Words(c.Moves), domain.Words(bank), fig(c.DurationRad), fig(c.LiftM), fig(c.CentreRad), travel, domain.Words(c.Wheel)})
	}
	v.Add("cams", "Camshafts", "The file describes no camshaft.", []string{"Moves", "Bank", "Duration#", "Lift#", "Centreline#", "Phaser travel#", "Wheel"}, rows)
}

// curveTable is torque and power in numbers.
func (v sheet) curveTable() {
	var rows [][]domain.Cell
	for i := 1; ; i++ {
		k := fmt.Sprintf("curve/%d/", i)
		speed, ok := v.Figs.Of(figure.ID(k + "SpeedRadPerS"))
		if !ok {
			break
		}
		rows = append(rows, []domain.Cell{domain.Figure(speed, true), domain.Figure(v.Figs.Of(figure.ID(k + "TorqueNm"))), domain.Figure(v.Figs.Of(figure.ID(k + "PowerW"))), domain.Figure(v.Figs.Of(figure.ID(k + "SparkRad")))})
	}
	v.Add("curve", "The curves in numbers", "The engine's tables could not be made.", []string{"Speed#", "Torque#", "Power#", "Starting spark#"}, rows)
}

// curve draws torque and power with the throttle open.
func (v sheet) curve(phone bool) *drawing.Drawing {
	p := drawing.Plot{
		Name: "curve-plot", Title: "Torque and power with the throttle open, hottest day", Width: plotWidth, Height: 320,
		X: drawing.Axis{Name: "engine speed", Unit: "rpm"}, Y: drawing.Axis{Name: "torque", Unit: "N·m", Zero: true}, Y2: &drawing.Axis{Name: "power", Unit: "kW", Zero: true},
		Empty: "No curve: the engine's tables could not be made.",
	}
	if phone {
		p.Name, p.Width, p.Height = "curve-plot-phone", phoneWidth, 280
	}
	torque := drawing.Curve{Label: drawing.Label{Text: "torque"}, Weight: drawing.Picked}
	power := drawing.Curve{Label: drawing.Label{Text: "power"}, Second: true}
	for i := 1; ; i++ {
		k := fmt.Sprintf("curve/%d/", i)
		x, ok := v.in(k+"SpeedRadPerS", "rpm")
		if !ok {
			break
		}
		if y, ok := v.in(k+"TorqueNm", "N·m"); ok {
			torque.X, torque.Y = append(torque.X, x), append(torque.Y, y)
		}
		if y, ok := v.in(k+"PowerW", "kW"); ok {
			power.X, power.Y = append(power.X, x), append(power.Y, y)
		}
	}
	if len(torque.X) > 0 {
		p.Curves = []drawing.Curve{torque, power}
		peak := v.d.File.Engine.PeakRadPerS
		if at, ok := v.in(string(peak.ID), "rpm"); ok {
			f, _ := v.Figs.Of(peak.ID)
			p.Limits = []drawing.Limit{{Label: drawing.Label{Text: "full power speed, " + f.Shown(), Ref: f.ID}, At: at, OfX: true}}
		}
	}
	return p.Draw()
}

// in is a figure as a number in a unit.
func (v sheet) in(id, unit string) (drawing.Number, bool) {
	f, ok := v.Figs.Ledger.Why(figure.ID(id))
	if !ok {
		return 0, false
	}
	x, err := quantity.FromSI(f.SI, unit)
	return drawing.Number(x), err == nil
}

func (v sheet) settings() {
	v.Set("Firing order", nil, "engine", "firing order").ID = "spark"
	v.Set("Cylinder 1 is at", []string{"the timing drive", plate.AtWheel}, "engine", "cylinder 1 is at")
	v.Set("Layout", []string{"inline", "V", "flat"}, "engine", "layout").ID = "banks"
	v.Set("Bore", nil, "engine", "bore")
	v.Set("Stroke", nil, "engine", "stroke")
	v.Set("Rod", nil, "engine", "rod")
	v.Set("Compression ratio", nil, "engine", "compression ratio")
	v.Set("Throttle", []string{"electronic", "cable"}, "engine", "throttle").ID = "throttle"
	v.Set("Crank wheel", nil, "engine", "crank wheel").Note = "teeth less missing ones, as 60-2"
	v.Set("Idle speed", nil, "engine", "idle speed")
	v.Set("Full power speed", nil, "engine", "full power speed")
	v.Set("Speed limit", nil, "engine", "speed limit")
}
