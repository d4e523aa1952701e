// Package drivesheet is the sheet of gearbox, shaft, axle and tyre: the engine's
// speed over the road speed in every gear, what cruising asks, and what the
// propeller shaft stands.
//
// Conventions: [View] is pure and makes finished strings; every number it shows
// is looked up in the ledger by its ID. Start reading at [View], then [Held].
package drivesheet

import (
	"embed"
	"fmt"
	"html/template"
	"strconv"
	"strings"

	"fettle/internal/drawing"
	"fettle/internal/figure"
	"fettle/internal/quantity"
	"fettle/internal/web/domain"
	"fettle/internal/web/shell"
)

//go:embed drivesheet.html
var files embed.FS

// Key names the page in addresses.
const Key = domain.DrivelineKey

// Template is the page's.
var Template = domain.With(files, "drivesheet.html")

// Body is what the page shows.
type Body struct {
	domain.Body
	Plot, Phone template.HTML
	Held        []Held
	Tyre, Shaft []domain.Line
	NoShaft     string
}

// Held is a figure of the driveline against its limit.
type Held struct {
	ID, Name, Sense    string
	Value, Limit, Left shell.Fig
	Bar, PhoneBar      template.HTML
}

// sheet is the page in the making.
type sheet struct{ *domain.Page }

// View makes the page of a solved vehicle.
func View(a shell.Ask) Body {
	v := sheet{domain.New(a, Key, "The driveline carries what was asked of it.")}
	v.Lede = domain.Says("Speeds in the gears, what the road asks at cruise, and what the propeller shaft stands.")
	v.Cautions = []string{"Before wheels turn in the air, the vehicle rests on stands on level ground, chocked, with nobody under it. Keep hands, hair and cloth from turning shafts."}
	v.Plainly = []string{"The converter is taken as closed and the tyres as not slipping."}
	b := Body{}
	v.gears()
	b.Plot, b.Phone = v.plot()
	b.Held = v.held()
	b.Tyre = v.lines([][2]string{
		{"Tyre, over all", "build/vehicle/tyre"},
		{"Over its rolling circumference", "tyre/RollingM"},
		{"Axle ratio", string(a.Result.Design.File.Vehicle.AxleRatio.ID)},
		{"At cruise", "cruise/wheels/RoadMPerS"},
		{"Engine at cruise", "cruise/engine/SpeedRadPerS"},
		{"The road and the air ask", "cruise/wheels/LoadW"},
		{"Manifold at cruise", "cruise/engine/ManifoldPa"},
		{"Road speed at full power", "full/wheels/RoadMPerS"},
	})
	b.Shaft = v.lines([][2]string{{"Turns at the speed limit, in the longest gear", "shaft/SpeedRadPerS"}, {"Whirls at", "shaft/CriticalRadPerS"}, {"Both joints as one", "shaft/joints/ResultantRad"}})
	if a.Result.Design.File.Shaft == nil {
		b.NoShaft = "The file describes no propeller shaft. Write its length between joints, its diameter and its wall under propeller shaft."
	}
	v.settings()
	b.Body = v.Body
	return b
}

func (v sheet) lines(rows [][2]string) (out []domain.Line) {
	for _, r := range rows {
		if f, ok := v.Figs.Of(figure.ID(r[1])); ok {
			out = append(out, domain.Line{Name: r[0], Fig: f})
		}
	}
	return out
}

// gears is the plot in numbers.
func (v sheet) gears() {
	var rows [][]domain.Cell
	if g := v.Ask.Result.Design.File.Gearbox; g != nil {
		for i, r := range g.Ratios {
			k := fmt.Sprintf("gear/%d/", i+1)
			rows = append(rows, []domain.Cell{
				domain.Words(strconv.Itoa(i + 1)), domain.Figure(v.Figs.Of(r.ID)),
				domain.Figure(v.Figs.Of(figure.ID(k + "full/RoadMPerS"))), domain.Figure(v.Figs.Of(figure.ID(k + "limit/RoadMPerS"))),
			})
		}
	}
	v.Add("gears", "Speeds in the gears", "The file states no gear ratios: write them under gearbox, first to top.", []string{"Gear", "Ratio#", "At full power speed#", "At the speed limit#"}, rows)
}

// held lists what the driveline is held against, with the room left.
func (v sheet) held() (out []Held) {
	for _, h := range []struct {
		name, value, limit, left string
		atLeast                  bool
	}{
		{"Engine at cruise in the longest gear, of the full power speed", "cruise/longest/ShareFrac", "model/cruise speed share", "cruise/longest/LeftFrac", false},
		{"Engine at cruise in the longest gear", "cruise/longest/SpeedRadPerS", "model/least speed at cruise", "cruise/longest/LeftRadPerS", true},
		{"Grade still climbed at cruise", "cruise/wheels/ReserveGradeFrac", "model/least grade at cruise", "cruise/wheels/LeftFrac", true},
		{"Propeller shaft, below its whirling", "shaft/SpeedRadPerS", "shaft/MostRadPerS", "shaft/LeftRadPerS", false},
	} {
		value, okV := v.Figs.Of(figure.ID(h.value))
		limit, okL := v.Figs.Of(figure.ID(h.limit))
		left, okR := v.Figs.Of(figure.ID(h.left))
		if !okV || !okL || !okR {
			continue
		}
		if per, ok := strings.CutSuffix(left.Text, "\u00a0%"); ok {
			left.Text = per + "\u00a0points"
		}
		row := Held{ID: "held-" + shell.Slug(h.value), Name: h.name, Sense: "at most", Value: value, Limit: limit, Left: left}
		if h.atLeast {
			row.Sense = "at least"
		}
		row.Value.Bad, row.Left.Bad = v.si(h.left) < 0, v.si(h.left) < 0
		bar := func(name string, w drawing.Px) template.HTML {
			x := drawing.Number(v.si(h.value))
			return shell.Draw(drawing.Room{Name: row.ID + name, Title: h.name, Value: x, P05: x, P95: x, Limit: drawing.Number(v.si(h.limit)), AtLeast: h.atLeast, Width: w}.Draw(), true)
		}
		row.Bar, row.PhoneBar = bar("", barWidth), bar("-phone", phoneWidth)
		out = append(out, row)
	}
	return out
}

// si is a figure's number, 0 when there is none.
func (v sheet) si(id string) float64 {
	f, _ := v.Figs.Ledger.Why(figure.ID(id))
	return f.SI
}

// Widths of the drawings on a sheet and on a phone.
const (
	barWidth   = 210
	plotWidth  = 640
	phoneWidth = 328
)

// in is a figure as a number in a unit.
func (v sheet) in(id, unit string) (drawing.Number, bool) {
	f, ok := v.Figs.Ledger.Why(figure.ID(id))
	if !ok {
		return 0, false
	}
	x, err := quantity.FromSI(f.SI, unit)
	return drawing.Number(x), err == nil
}

// plot is the engine's speed over the road speed, a line a gear.
func (v sheet) plot() (wide, phone template.HTML) {
	e := &v.Ask.Result.Design.File.Engine
	limit, ok := v.in(string(e.LimitRadPerS.ID), "rpm")
	p := drawing.Plot{
		Name: "gears-plot", Title: "Engine speed over road speed in every gear", Width: plotWidth, Height: 360,
		X: drawing.Axis{Name: "road speed", Unit: "km/h", Zero: true}, Y: drawing.Axis{Name: "engine speed", Unit: "rpm", Zero: true},
		Empty: "No line: the file states no gear ratios.",
	}
	if ok {
		v.fill(&p, limit)
	}
	wide = shell.Draw(p.Draw(), false)
	p.Name, p.Width, p.Height = "gears-plot-phone", phoneWidth, 320
	return wide, shell.Draw(p.Draw(), false)
}

func (v sheet) fill(p *drawing.Plot, limit drawing.Number) {
	if g := v.Ask.Result.Design.File.Gearbox; g != nil {
		for i := range g.Ratios {
			id := fmt.Sprintf("gear/%d/limit/RoadMPerS", i+1)
			if x, ok := v.in(id, "km/h"); ok {
				p.Curves = append(p.Curves, drawing.Curve{Label: drawing.Label{Text: strconv.Itoa(i + 1), Ref: id}, X: []drawing.Number{0, x}, Y: []drawing.Number{0, limit}})
			}
		}
	}
	mark := func(name, road, engine string) {
		x, okX := v.in(road, "km/h")
		y, okY := v.in(engine, "rpm")
		f, ok := v.Figs.Of(figure.ID(road))
		if !okX || !okY || !ok || y <= 0 {
			return
		}
		p.Marks = append(p.Marks, drawing.Mark{Label: drawing.Label{Text: name + ", " + f.Shown(), Ref: road}, X: x, Y: y})
		if len(p.Curves) == 0 { // no ratios: the gear of the state alone
			p.Curves = append(p.Curves, drawing.Curve{Label: drawing.Label{Text: "gear at " + name}, X: []drawing.Number{0, x * limit / y}, Y: []drawing.Number{0, limit}})
		}
	}
	mark("cruise", "cruise/wheels/RoadMPerS", "cruise/engine/SpeedRadPerS")
	mark("full power", "full/wheels/RoadMPerS", string(v.Ask.Result.Design.File.Engine.PeakRadPerS.ID))
	if len(p.Curves) == 0 {
		return
	}
	e := &v.Ask.Result.Design.File.Engine
	for _, l := range []struct {
		name string
		in   *figure.Input
		side drawing.Side
	}{{"speed limit", e.LimitRadPerS, drawing.Above}, {"idle", e.IdleRadPerS, drawing.NoSide}} {
		at, okA := v.in(string(l.in.ID), "rpm")
		f, ok := v.Figs.Of(l.in.ID)
		if okA && ok {
			p.Limits = append(p.Limits, drawing.Limit{Label: drawing.Label{Text: l.name + " " + f.Shown(), Ref: f.ID}, At: at, Side: l.side})
		}
	}
}

func (v sheet) settings() {
	v.Set("Mass", nil, "vehicle", "mass")
	v.Set("Drag area", nil, "vehicle", "drag area")
	v.Set("Rolling resistance", nil, "vehicle", "rolling resistance")
	v.Set("Tyre", nil, "vehicle", "tyre").Note = "as 195/70R15, or a diameter"
	v.Set("Axle ratio", nil, "vehicle", "axle ratio")
	v.Set("Cruise speed", nil, "vehicle", "cruise speed").ID = "cruise"
	v.Set("Gear ratio at cruise", nil, "vehicle", "gear ratio at cruise")
	v.Set("Gear ratio at full power", nil, "vehicle", "gear ratio at full power")
	v.Set("Gearbox", []string{"manual", "automatic"}, "gearbox", "kind").ID = "gearbox"
	v.Set("Start interlock", []string{"wired", "not wired"}, "gearbox", "start interlock").Note = "starts in park and neutral, or with the clutch down, only"
	if v.Ask.Result.Design.File.Shaft == nil {
		return
	}
	v.Set("Shaft between joints", nil, "propeller shaft", "length")
	v.Set("Shaft diameter", nil, "propeller shaft", "diameter")
	v.Set("Shaft wall", nil, "propeller shaft", "wall")
	v.Set("Front joint angle", nil, "propeller shaft", "front joint angle")
	v.Set("Rear joint angle", nil, "propeller shaft", "rear joint angle")
}
