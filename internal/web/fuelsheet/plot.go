package fuelsheet

import (
	"fettle/internal/drawing"
	"fettle/internal/figure"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

// Widths of the plot on a sheet and on a phone.
const (
	plotWidth  = 640
	phoneWidth = 328
)

// plot draws what the pump can bring against what is asked of it.
func (v sheet) plot(b *Body) {
	b.Table = v.table()
	curves, ok := v.S.FuelCurves()
	p := drawing.Plot{
		Name: "pump-plot", Title: "What the pump brings against what line, filter and regulator ask, " + shell.StateName(v.S.Name), Width: plotWidth, Height: 340,
		X: drawing.Axis{Name: "fuel", Unit: "g/s", Zero: true}, Y: drawing.Axis{Name: "raised by the pump", Unit: v.unit, Zero: true},
		Empty: "No curve: the pump does not turn in this state, or the state did not settle.",
	}
	if ok && len(curves.Pump) > 0 {
		v.fill(&p, curves)
		b.Point = v.point()
	}
	b.Plot = shell.Draw(p.Draw(), false)
	p.Name, p.Width, p.Height = "pump-plot-phone", phoneWidth, 300
	b.Phone = shell.Draw(p.Draw(), false)
}

func (v sheet) fill(p *drawing.Plot, curves vehicle.FuelCurves) {
	gets, _ := v.Figs.Of(v.id("fuel pump/VoltageV"))
	rated := v.label("pump at the volts of its sheet", "")
	if c, ok := v.Figs.Of(v.ratedID()); ok {
		rated = drawing.Label{Text: "at the " + c.Shown() + " of its sheet", Ref: c.ID}
	}
	p.Curves = []drawing.Curve{
		v.curve(curves.Sheet, rated, drawing.Lightly, drawing.Dashed),
		v.curve(curves.Asked, v.label("asked by regulator, line and filter", string(v.id("fuel line/DropPa"))), drawing.Plainly, drawing.Solid),
		v.curve(curves.Pump, drawing.Label{Text: "pump at the " + gets.Shown() + " it gets", Ref: gets.ID}, drawing.Picked, drawing.Solid),
	}
	if burnt, ok := v.Figs.Of(v.id("engine/WantedKgPerS")); ok {
		if x, ok := in(v.S.Point.WantedKgPerS, "g/s"); ok && x > 0 {
			p.Limits = append(p.Limits, drawing.Limit{Label: drawing.Label{Text: "burnt: " + burnt.Shown(), Ref: burnt.ID}, At: drawing.Number(x), Side: drawing.Before})
		}
	}
	if at, ok := v.mark(curves.At); ok {
		p.Marks = append(p.Marks, at)
	}
}

// mark is where the pump works.
func (v sheet) mark(at vehicle.FlowPoint) (m drawing.Mark, ok bool) {
	x, okX := in(at.FlowKgPerS, "g/s")
	y, okY := in(at.RisePa, v.unit)
	most, okF := v.Figs.Of(v.id("fuel pump/MostKgPerS"))
	if !okX || !okY || !okF {
		return m, false
	}
	text := "can bring " + most.Shown()
	if v.bad {
		if f, ok := v.Figs.Of(v.id("engine/FuelKgPerS")); ok {
			most, text = f, "brings "+f.Shown()
		}
	}
	return drawing.Mark{X: drawing.Number(x), Y: drawing.Number(y), Label: drawing.Label{Text: text, Ref: most.ID, Bad: v.bad}}, true
}

func (v sheet) id(name string) figure.ID { return figure.ID(v.S.Key + "/" + name) }

func (v sheet) label(text, ref string) drawing.Label {
	if _, ok := v.Figs.Of(figure.ID(ref)); !ok {
		ref = ""
	}
	return drawing.Label{Text: text, Ref: ref}
}

// ratedID is the figure of the volts on the pump's sheet.
func (v sheet) ratedID() figure.ID {
	for _, it := range v.Ask.Result.Design.Devices {
		if it.Part.Pump != nil && it.Name == v.S.PumpName() {
			return it.Part.Pump.RatedV.ID
		}
	}
	return ""
}

func (v sheet) curve(points []vehicle.FlowPoint, l drawing.Label, w drawing.Weight, d drawing.Dash) drawing.Curve {
	c := drawing.Curve{Label: l, Weight: w, Dash: d}
	for _, q := range points {
		x, okX := in(q.FlowKgPerS, "g/s")
		y, okY := in(q.RisePa, v.unit)
		if okX && okY {
			c.X, c.Y = append(c.X, drawing.Number(x)), append(c.Y, drawing.Number(y))
		}
	}
	return c
}
