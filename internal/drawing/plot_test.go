package drawing

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// demoPlot is an invented pump against an invented line.
func demoPlot(w Px) Plot {
	p := Plot{
		Name: "plot", Title: "Pump against line", Width: w, Height: 220,
		X: Scale{Label: "fuel, g/s"}, Y: Scale{Label: "pressure at the pump, bar"},
		Limits: []Limit{{Label: Label{Text: "regulator 4.00 bar", Ref: "build/rail"}, At: 4}, {Label: Label{Text: "wanted 9.4 g/s", Bad: true}, At: 9.4, Upright: true, Barred: Below}},
		Marks: []Mark{
			{Label: Label{Text: "8.6 g/s at 3.80 bar", Ref: "full/pump", Bad: true}, At: Sample{8.6, 4.1}},
			{Label: Label{Text: "9.9 g/s would flow"}, At: Sample{9.9, 3.2}, Open: true},
		},
	}
	pump := Curve{Label: Label{Text: "pump at 11.7 V"}, Pen: Heavy}
	sheet := Curve{Label: Label{Text: "pump at the volts of its sheet"}, Pen: Pen{Role: Grey, Width: 1.3, Dash: Dashed}}
	line := Curve{Label: Label{Text: "what regulator, line and filter ask"}, Pen: Firm}
	for i := range 21 {
		q := Number(i)
		pump.Points = append(pump.Points, Sample{q, 7.5 - q*0.4})
		sheet.Points = append(sheet.Points, Sample{q, 8 - q*0.4})
		line.Points = append(line.Points, Sample{q, 4 + q*q*0.002})
	}
	p.Curves = []Curve{pump, sheet, line}
	return p
}

func demoTwoScales(w Px) Plot {
	p := Plot{Name: "two", Title: "Torque and power", Width: w, Height: 200, X: Scale{Label: "rpm"}, Y: Scale{Label: "N·m"}, Right: &Scale{Label: "kW"}}
	m, kw := Curve{Label: Label{Text: "torque"}, Pen: Heavy}, Curve{Label: Label{Text: "power"}, Pen: Firm, OnRight: true}
	for i := range 12 {
		n := 900 + 500*Number(i)
		t := 220 - (n-3500)*(n-3500)/2e5
		m.Points, kw.Points = append(m.Points, Sample{n, t}), append(kw.Points, Sample{n, t * n * Number(math.Pi) / 30e3})
	}
	p.Curves = []Curve{m, kw}
	p.Marks = []Mark{{Label: Label{Text: "220 N·m"}, At: Sample{3400, 219.9}}, {Label: Label{Text: "116 kW"}, At: Sample{5900, 117}, OnRight: true}}
	return p
}

func demoGears(w Px) Plot {
	p := Plot{Name: "gears", Title: "Speed in the gears", Width: w, Height: 240, X: Scale{Label: "km/h"}, Y: Scale{Label: "rpm", To: 6300}}
	for i, k := range []Number{9, 15, 24, 32, 38, 41} {
		p.Curves = append(p.Curves, Curve{End: Label{Text: fmt.Sprint(i + 1)}, Pen: Firm, Points: []Sample{{0, 0}, {k * 6.3, 6300}}})
	}
	return p
}

func TestPlotsDoNotClash(t *testing.T) {
	for _, w := range []Px{620, 480, 328, 240} {
		for _, p := range []Plot{demoPlot(w), demoTwoScales(w), demoGears(w)} {
			if c := Clashes(p.Draw()); len(c) > 0 {
				t.Errorf("%s, %v:\n  %s", p.Name, w, strings.Join(c, "\n  "))
			}
		}
	}
}

// TestPlotKeepsEveryLabel: what finds no room in the field stands in the key.
func TestPlotKeepsEveryLabel(t *testing.T) {
	for _, w := range []Px{620, 240} {
		p := demoPlot(w)
		var texts []string
		leaves(p.Draw().Items, "", func(it Item, _ string) {
			if x, ok := it.(Text); ok {
				texts = append(texts, x.S)
			}
		})
		all := strings.Join(texts, " ")
		for _, want := range []string{"regulator 4.00 bar", "wanted 9.4 g/s", "8.6 g/s at 3.80 bar", "9.9 g/s would flow", "pump at 11.7 V"} {
			if !strings.Contains(all, want) {
				t.Errorf("%v px: %q is lost", w, want)
			}
		}
	}
}

// TestPlotStandsToScale: samples stand where the ticks say, for any scale.
func TestPlotStandsToScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hi := Number(math.Pow(10, rapid.Float64Range(-3, 5).Draw(t, "power")))
		p := Plot{Name: "p", Width: 400, Height: 100, Curves: []Curve{{Pen: Firm, Points: []Sample{{0, 0}, {hi, hi}}}}}
		f, ok := p.field(400)
		if !ok {
			t.Fatalf("no field for %v", hi)
		}
		ticks := f.y.ticks()
		if len(ticks) < 3 || len(ticks) > 12 || f.y.hi < hi || f.y.hi > 2*hi+f.y.step {
			t.Fatalf("to %v: ticks %v, end %v", hi, ticks, f.y.hi)
		}
		a, b := f.at(Sample{0, ticks[1]}, false).Y, f.at(Sample{0, ticks[0]}, false).Y
		c := f.at(Sample{0, ticks[2]}, false).Y
		if math.Abs(float64((b-a)-(a-c))) > 1e-6 || a >= b {
			t.Fatalf("ticks at %v, %v, %v", b, a, c)
		}
		if slices.ContainsFunc(ticks, func(v Number) bool { return len(f.y.text(v)) > 9 }) {
			t.Fatalf("ticks read %v", ticks)
		}
	})
}

func TestPlotOfNothing(t *testing.T) {
	nan := Number(math.NaN())
	for _, p := range []Plot{
		{Width: 300, Empty: "no pump is described"},
		{Width: 300, Empty: "no pump is described", Curves: []Curve{{Points: []Sample{{nan, 1}, {2, nan}}}}},
		{Width: 300, Empty: "no pump is described", Curves: []Curve{{Points: []Sample{{0, 0}, {0, 0}}}}},
	} {
		d := p.Draw()
		if len(d.Items) != 1 || d.Items[0].(Text).S != "no pump is described" {
			t.Errorf("%+v drew %+v", p, d.Items)
		}
	}
}
