// Package fuelsheet is the sheet of the fuel system: what the pump can bring at
// the volts it really gets against what is asked of it, the pressure across the
// injectors in every state, and the room that is left.
//
// Conventions: [View] is pure and makes finished strings; every number it shows
// is looked up in the ledger by its ID; pressures are in the unit that the file
// states the rail's in. Start reading at [View], then [Plot].
package fuelsheet

import (
	"embed"
	"fmt"
	"html/template"

	"fettle/internal/figure"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
	"fettle/internal/web/domain"
	"fettle/internal/web/shell"
)

//go:embed fuelsheet.html
var files embed.FS

// Key names the page in addresses.
const Key = domain.FuelKey

// Template is the page's.
var Template = domain.With(files, "fuelsheet.html")

// Body is what the page shows.
type Body struct {
	domain.Body
	Plot  template.HTML
	Phone template.HTML
	Table domain.Table // the plot in numbers
	Point []domain.Line
	Says  []shell.Fig
}

// sheet is the page in the making.
type sheet struct {
	*domain.Page
	unit string // of pressures
	bad  bool   // fuel is short in this state
}

// View makes the page of a solved vehicle.
func View(a shell.Ask) Body {
	v := sheet{Page: domain.New(a, Key, "The fuel system holds what was asked of it.")}
	v.unit = "kPa"
	if u := a.Result.Design.File.System.SetPa.Unit; u != "" {
		v.unit = u
	}
	v.Lede = domain.Says("What the engine burns, what the pump can bring at the volts it really gets, and what stands across the injectors.")
	v.Cautions = []string{
		"Fuel stands under pressure for hours after the engine stops. Relieve it before any line is opened; no spark, no flame, eyes covered.",
		"Tank, vents and vapour are ruled by the law of the place: ask before you change them.",
	}
	v.Plainly = []string{"A filter's age is left out, and so is the tank's height but for the pump's inlet; a hot tank brings less."}
	b := Body{}
	v.states()
	v.bad = v.short()
	v.plot(&b)
	v.across()
	v.sides()
	v.LeftOf("Nothing of the fuel system is limited in a state that settled.", "fuel pump", "injector", "rail")
	v.Devices("injector", "Pump and injectors", "There is none.", "pump", "injector")
	v.settings()
	b.Body = v.Body
	return b
}

func (v sheet) states() {
	v.States([2]string{"Lambda wanted", "engine/LambdaWanted"}, [2]string{"Lambda it gets", "engine/LambdaRatio"},
		[2]string{"Pulse with its dead time", "injector/PulseS"}, [2]string{"Dead time of it", "injector/DeadS"}, [2]string{"Injector duty", "injector/DutyFrac"},
		[2]string{"Rail, above the atmosphere", "rail/PressurePa"}, [2]string{"Manifold", "engine/ManifoldPa"}, [2]string{"Across the injector", "injector/AcrossPa"})
}

// short reports whether a margin of the pump's is not kept in the chosen state.
func (v sheet) short() bool {
	for _, m := range v.Ask.Result.Solved.Margins {
		if m.State == v.S.Name && m.Subject == "fuel pump" && m.Left() < 0 {
			return true
		}
	}
	return false
}

// point is what stands beside the plot.
func (v sheet) point() (out []domain.Line) {
	for _, r := range [][2]string{
		{"Burnt", "engine/WantedKgPerS"},
		{"The pump can bring", "fuel pump/MostKgPerS"},
		{"To spare", "fuel pump/SpareKgPerS"},
		{"Volts the pump gets", "fuel pump/VoltageV"},
		{"Volts it needs for what is burnt", "fuel pump/NeedV"},
		{"Current", "fuel pump/CurrentA"},
		{"Raised by the pump", "fuel pump/AgainstPa"},
		{"Lost in line and filter", "fuel line/DropPa"},
	} {
		f, ok := v.Figs.Of(figure.ID(v.S.Key + "/" + r[1]))
		if !ok {
			continue
		}
		f.Bad = v.bad && (r[1] == "fuel pump/SpareKgPerS" || r[1] == "fuel pump/VoltageV")
		out = append(out, domain.Line{Name: r[0], Fig: f})
	}
	return out
}

// across is the pressure across the injector in every state.
func (v sheet) across() {
	cols := []column{
		{"Rail, " + v.unit, "rail/PressurePa", v.unit},
		{"Burnt, g/s", "engine/WantedKgPerS", "g/s"},
		{"Manifold, absolute, kPa", "engine/ManifoldPa", "kPa"},
		{"Across the injector, " + v.unit, "injector/AcrossPa", v.unit},
		{"Pulse, ms", "injector/PulseS", "ms"},
		{"Open, ms", "injector/OpenS", "ms"},
		{"Duty, %", "injector/DutyFrac", "%"},
		{"Pump, V", "fuel pump/VoltageV", "V"},
	}
	if v.Ask.Result.Design.File.System.Drive == "pulse width" {
		cols = append(cols, column{"Pump duty, %", "fuel pump/DriveFrac", "%"})
	}
	heads := []string{"State"}
	for _, c := range cols {
		heads = append(heads, c.head+"#")
	}
	var rows [][]domain.Cell
	for _, s := range v.Ask.Result.Solved.States {
		row := []domain.Cell{domain.Words(shell.StateName(s.Name))}
		some := false
		for _, c := range cols {
			cell := domain.Figure(v.Column(s.Key+"/"+c.id, c.unit, decimals(c.unit)))
			some = some || cell.Fig != nil
			row = append(row, cell)
		}
		if some && s.Ended.OK {
			rows = append(rows, row)
		}
	}
	v.Add("across", "Across the injector in every state", "No state has settled.", heads, rows)
}

// column is a figure of every state in a table.
type column struct{ head, id, unit string }

// sides are the coldest day, the return line and the tank's side.
func (v sheet) sides() {
	var rows [][]domain.Cell
	add := func(name, id, note string) {
		if f, ok := v.Figs.Of(figure.ID(id)); ok {
			rows = append(rows, []domain.Cell{domain.Words(name), domain.Figure(f, true), domain.Quoted(note)})
		}
	}
	add("Burnt at full power, hottest day", "full/engine/WantedKgPerS", "from the engine's tables")
	add("Burnt at full power, coldest day", "full/fuel/ColdKgPerS", "cold air is dense; the worst the pump is asked for")
	add("To spare on the coldest day", "full/fuel/ColdSpareKgPerS", "at the volts of the hottest day, when the alternator gives least")
	add("Open at hot idle", "idle/injector/OpenS", "below half a millisecond an injector meters by chance")
	add("Comes back at idle", "idle/return/FlowKgPerS", "what the regulator lets go")
	add("Lost in the return line at idle", "idle/return/DropPa", "friction by Darcy and Weisbach with Colebrook, and fittings")
	add("The rail creeps above its setting by", "idle/return/CreepFrac", "beyond eight per cent the mixture is off by four")
	add("Hose holds", "fuel hose/RatedPa", "working pressure of its class")
	add("Left to what it holds", "fuel hose/LeftPa", "")
	add("At the pump's inlet, absolute", "tank/inlet/PressurePa", "with the fuel at its lowest")
	add("Fuel boils in the tank below, absolute", "tank/inlet/VapourPa", "hottest day")
	add("Rail on a hot restart, absolute", "room/hot/rail/PressurePa", "after a stand, soaked with heat")
	add("Fuel boils in the rail below, absolute", "room/hot/rail/PressurePa/limit", "")
	v.Add("sides", "Coldest day, idle, return and tank", "Nothing of it could be computed.", []string{"What", "Figure#", "Note"}, rows)
}

// decimals is how far figures of a unit are written under one another.
func decimals(unit string) int {
	switch unit {
	case "bar", "V", "ms":
		return 2
	case "%", "g/s":
		return 1
	}
	return 0
}

func (v sheet) settings() {
	v.Set("Rail pressure", nil, "fuel system", "rail pressure").ID = "regulator"
	v.Set("Regulator referred to", []string{"atmosphere", "manifold"}, "fuel system", "regulator reference").Note = "referred to the manifold, the pressure across the injectors stays the same"
	v.Set("Return", []string{"none", "at the rail"}, "fuel system", "return").ID = "return"
	v.Set("Return line length", nil, "fuel system", "return line length").Note = "counts with a return at the rail"
	v.Set("Return line bore", nil, "fuel system", "return line bore")
	v.Set("Line length", nil, "fuel system", "line length")
	v.Set("Line bore", nil, "fuel system", "line bore")
	v.Set("Elbows and unions", nil, "fuel system", "elbows").Note = "tight ones, in the feed"
	v.Set("Pump driven by", []string{"relay", "pulse width"}, "fuel system", "pump drive")
	v.Set("Filter drop at 100 litres an hour", nil, "fuel system", "filter drop at 100 L/h")
	hose := v.Set("Hose class", []string{"R6", "R7", "R8", "R9", "R10", "R14"}, "fuel system", "hose class")
	hose.ID, hose.Note = "hose", "of SAE J30, printed on the hose"
	if f, ok := v.Figs.Of("fuel hose/RatedPa"); ok {
		hose.Now = &f
	}
	v.Set("Pick-up in the tank", []string{"swirl pot", "baffle", "bare"}, "tank", "pickup").ID = "tank"
	v.Set("Strainer", []string{"fitted", "none"}, "tank", "strainer")
	v.Set("Roll-over valve in the vent", []string{"fitted", "none"}, "tank", "roll-over vent")
	v.Set("Vapour goes", []string{"canister and purge valve", "into the open"}, "tank", "vapour").Note = "the law of the place rules"
	v.Set("Suction head", nil, "tank", "suction head").Note = "of the pump's inlet above the lowest fuel; none for a pump in the tank"
	v.Set("Inertia switch", []string{"fitted", "none"}, "fuel system", "inertia switch")
	v.Set("Ethanol", nil, "fuel", "ethanol")
	v.Set("Injector data entered for", nil, "injector data", "entered for").Note = "the pressure that the flow in the controller belongs to"
}

// in is a number in a unit, for the plot.
func in(si float64, unit string) (float64, bool) {
	x, err := quantity.FromSI(si, unit)
	return x, err == nil
}

// table is the plot's curve in numbers.
func (v sheet) table() domain.Table {
	t := domain.Table{ID: "pump-table", Title: "The pump's curve in numbers", Empty: "The pump does not turn in this state."}
	t.Heads = []domain.Head{{Text: "Raised, " + v.unit}, {Text: "Brings at the volts it gets, g/s", Number: true}, {Text: "At the volts of its sheet, g/s", Number: true}}
	for i := range vehicle.PumpRows {
		k := fmt.Sprintf("%s/fuel pump/table/%d/", v.S.Key, i+1)
		rise, ok := v.Column(k+"RisePa", v.unit, decimals(v.unit))
		if !ok || !v.S.Ended.OK {
			break
		}
		row := []domain.Cell{domain.Figure(rise, true), domain.Figure(v.Column(k+"FlowKgPerS", "g/s", 1)), domain.Figure(v.Column(k+"SheetKgPerS", "g/s", 1))}
		for c := range row {
			row[c].Label = t.Heads[c].Text
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
