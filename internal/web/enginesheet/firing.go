package enginesheet

import (
	"fmt"
	"math"

	"fettle/internal/drawing"
	"fettle/internal/figure"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
	"fettle/internal/web/domain"
	"fettle/internal/web/shell"
)

// firing is the cylinder in the chosen state and the sparks over speed.
func (v sheet) firing(b *Body) {
	f := v.Ask.Firing
	if f == nil {
		f = &vehicle.Firing{No: "the cylinder was not computed", Ledger: figure.NewLedger()}
	}
	figs := shell.Figures{Ledger: f.Ledger}
	b.FiringNo = f.No
	if f.OK {
		b.Cylinder, b.PhoneCylinder = both(func(phone bool) *drawing.Drawing { return v.cylinder(f, figs, phone) })
		k := figure.ID("cylinder/" + f.Key + "/")
		for _, l := range [][2]string{
			{"Pressure, at most", "PeakPa"},
			{"reached after the firing top", "PeakAtRad"},
			{"Gas, at most", "HottestK"},
			{"Spark of the tables, before the firing top", "TableRad"},
			{"Spark of most work", "BestRad"},
			{"Spark short of knock", "KnockRad"},
			{"Left to knock", "MarginRad"},
			{"Knock integral, 1 is knock", "KnockCount"},
			{"Intake cam, earlier than parked", "IntakeRad"},
			{"Exhaust cam, later than parked", "ExhaustRad"},
		} {
			if fig, ok := figs.Of(k + figure.ID(l[1])); ok {
				b.Fired = append(b.Fired, domain.Line{Name: l[0], Fig: fig})
			}
		}
	}
	b.Spark, b.PhoneSpark = both(func(phone bool) *drawing.Drawing { return v.sparks(f, figs, phone) })
	b.SparkTable = sparkTable(f, figs)
}

// degrees is an angle as a number of an axis.
func degrees(rad float64) drawing.Number { return drawing.Number(rad * 180 / math.Pi) }

// lifted is a lift in mm; a shut valve has no line.
func lifted(liftM float64) drawing.Number {
	if liftM <= 0 {
		return drawing.Number(math.NaN())
	}
	return drawing.Number(1e3 * liftM)
}

// cylinder draws pressure and lifts over two turns, the firing top in the middle.
func (v sheet) cylinder(f *vehicle.Firing, figs shell.Figures, phone bool) *drawing.Drawing {
	p := drawing.Plot{
		Name: "cylinder-plot", Title: "Pressure and valve lift over two turns, " + shell.StateName(v.S.Name), Width: plotWidth, Height: 340,
		X: drawing.Axis{Name: "after the firing top", Unit: "°", From: -360, To: 360}, Y: drawing.Axis{Name: "pressure", Unit: "bar", Zero: true}, Y2: &drawing.Axis{Name: "lift", Unit: "mm", Zero: true},
	}
	if phone {
		p.Name, p.Width, p.Height = "cylinder-plot-phone", phoneWidth, 320
	}
	label := func(name, text string) drawing.Label {
		fig, _ := figs.Of(figure.ID("cylinder/" + f.Key + "/" + name))
		if text != "" {
			text += " "
		}
		return drawing.Label{Text: text + fig.Shown(), Ref: fig.ID}
	}
	c := &f.Fired.Course
	pressure := drawing.Curve{Label: drawing.Label{Text: "pressure"}, Weight: drawing.Picked}
	intake, exhaust := drawing.Curve{Label: label("IntakeLiftM", "intake,"), Second: true}, drawing.Curve{Label: label("ExhaustLiftM", "exhaust,"), Second: true, Dash: drawing.Dashed}
	step := max(1, len(c.AngleRad)/360)
	peak := 0
	for i := range c.AngleRad {
		if c.PressurePa[i] > c.PressurePa[peak] {
			peak = i
		}
		if i%step != 0 {
			continue
		}
		x := degrees(c.AngleRad[i] - 2*math.Pi)
		pressure.X, pressure.Y = append(pressure.X, x), append(pressure.Y, drawing.Number(c.PressurePa[i]/1e5))
		intake.X, intake.Y = append(intake.X, x), append(intake.Y, lifted(c.IntakeM[i]))
		exhaust.X, exhaust.Y = append(exhaust.X, x), append(exhaust.Y, lifted(c.ExhaustM[i]))
	}
	p.Curves = []drawing.Curve{pressure, intake, exhaust}
	p.Marks = []drawing.Mark{{X: degrees(c.AngleRad[peak] - 2*math.Pi), Y: drawing.Number(c.PressurePa[peak] / 1e5), Label: label("PeakPa", "")}}
	p.Limits = []drawing.Limit{{Label: label("TableRad", "spark,"), At: degrees(-f.Fired.SparkRad), OfX: true}}
	return p.Draw()
}

// sparks draws the sparks over speed with the throttle open, and the knock
// integral at the tables' spark.
func (v sheet) sparks(f *vehicle.Firing, figs shell.Figures, phone bool) *drawing.Drawing {
	p := drawing.Plot{
		Name: "spark-plot", Title: "Spark and knock with the throttle open, hottest day", Width: plotWidth, Height: 340,
		X: drawing.Axis{Name: "engine speed", Unit: "rpm"}, Y: drawing.Axis{Name: "spark before the firing top", Unit: "°", Zero: true}, Y2: &drawing.Axis{Name: "knock integral", Zero: true, To: 1},
		Empty: "No spark: the crank-angle cycle does not settle for this engine with the throttle open.",
	}
	if phone {
		p.Name, p.Width, p.Height = "spark-plot-phone", phoneWidth, 320
	}
	if len(f.Sparks) < 2 {
		return p.Draw()
	}
	at := func(name, text string) drawing.Label {
		id := fmt.Sprintf("sparks/%d/%s", len(f.Sparks), name)
		if _, ok := figs.Of(figure.ID(id)); !ok {
			id = ""
		}
		return drawing.Label{Text: text, Ref: id}
	}
	table := drawing.Curve{Label: at("TableRad", "of the tables"), Weight: drawing.Picked}
	best := drawing.Curve{Label: at("BestRad", "of most work"), Weight: drawing.Lightly, Dash: drawing.Dashed}
	knock := drawing.Curve{Label: at("KnockRad", "short of knock")}
	integral := drawing.Curve{Label: at("KnockCount", "knock integral"), Second: true, Dash: drawing.Dotted}
	for _, s := range f.Sparks {
		rpm, err := quantity.FromSI(s.SpeedRadPerS, "rpm")
		if err != nil {
			continue
		}
		x := drawing.Number(rpm)
		for _, c := range []struct {
			of *drawing.Curve
			y  drawing.Number
		}{{&table, degrees(s.TableRad)}, {&best, degrees(s.BestRad)}, {&knock, degrees(s.KnockRad)}, {&integral, drawing.Number(s.KnockCount)}} {
			c.of.X, c.of.Y = append(c.of.X, x), append(c.of.Y, c.y)
		}
	}
	p.Curves = []drawing.Curve{table, best, knock, integral}
	return p.Draw()
}

// sparkTable is the same in numbers.
func sparkTable(f *vehicle.Firing, figs shell.Figures) domain.Table {
	t := domain.Table{ID: "spark-table", Title: "The sparks in numbers", Empty: "There is none."}
	for _, h := range []string{"Speed", "Of the tables", "Of most work", "Short of knock", "Left to knock", "Knock integral"} {
		t.Heads = append(t.Heads, domain.Head{Text: h, Number: true})
	}
	for i := range f.Sparks {
		var row []domain.Cell
		for c, name := range []string{"SpeedRadPerS", "TableRad", "BestRad", "KnockRad", "MarginRad", "KnockCount"} {
			cell := domain.Figure(figs.Of(figure.ID(fmt.Sprintf("sparks/%d/%s", i+1, name))))
			cell.Label = t.Heads[c].Text
			row = append(row, cell)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
