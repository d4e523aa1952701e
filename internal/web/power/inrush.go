package power

import (
	"html/template"

	"fettle/internal/drawing"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

// The widths of a picture: on the sheet and on a phone.
const (
	inrushWide  = 1000
	inrushPhone = 328
)

// inrush lists how a cold start begins.
func (v sheet) inrush() (lines []Line, missing string) {
	if v.s.Start == nil {
		return nil, ""
	}
	if !v.s.Start.Ended.OK {
		return nil, v.s.Start.Ended.Why
	}
	for _, x := range vehicle.StartFigures {
		if f, ok := v.figs.Of(x.ID); ok {
			lines = append(lines, Line{Name: x.Name, Fig: f})
		}
	}
	return lines, ""
}

// course draws the volts of a cold start over time.
func (v sheet) course() (wide, phone template.HTML) {
	if v.s.Start == nil || !v.s.Start.Ended.OK {
		return "", ""
	}
	draw := func(name string, width drawing.Px) template.HTML {
		p := startPlot(v.s.Start, v.r.Design.One("controller").Part.Controller.ResetV.SI, width)
		p.Name = name
		return shell.Draw(p.Draw(), false)
	}
	return draw("inrush-plot", inrushWide), draw("inrush-plot-phone", inrushPhone)
}

func startPlot(s *vehicle.Start, resetV float64, width drawing.Px) drawing.Plot {
	ms := make([]drawing.Number, len(s.Course.TimeS))
	volts := make([]drawing.Number, len(ms))
	post := make([]drawing.Number, len(ms))
	for k, t := range s.Course.TimeS {
		ms[k], volts[k], post[k] = drawing.Number(1e3*t), drawing.Number(s.ControllerV[k]), drawing.Number(s.Course.StarterV[k])
	}
	return drawing.Plot{
		Title: "Volts in the first second of a cold start", Width: width,
		X: drawing.Axis{Name: "after the contact closes", Unit: "ms"}, Y: drawing.Axis{Unit: "V"},
		Curves: []drawing.Curve{
			{Label: drawing.Label{Text: "controller"}, X: ms, Y: volts, Weight: drawing.Picked},
			{Label: drawing.Label{Text: "starter"}, X: ms, Y: post, Weight: drawing.Lightly},
		},
		Limits: []drawing.Limit{{Label: drawing.Label{Text: "restarts"}, At: drawing.Number(resetV), Side: drawing.Below}},
	}
}
