package drawing

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// demoPlot is an invented pump against an invented line.
func demoPlot(w Px) Plot {
	p := Plot{
		Name: "plot", Title: "Pump against line", Width: w,
		X: Axis{Name: "fuel", Unit: "g/s", Zero: true}, Y: Axis{Name: "pressure at the pump", Unit: "bar", Zero: true},
		Limits: []Limit{{Label: Label{Text: "burnt at full power 9.4 g/s", Ref: "full/engine/WantedKgPerS"}, At: 9.4, Side: Before}},
		Marks: []Mark{
			{Label: Label{Text: "works here: 8.6 g/s", Ref: "full/pump", Bad: true}, X: 8.6, Y: 4.06},
			{Label: Label{Text: "9.9 g/s would flow"}, X: 9.9, Y: 3.54, Open: true},
		},
	}
	pump := Curve{Label: Label{Text: "pump at the 11.7 V it gets"}, Weight: Picked}
	sheet := Curve{Label: Label{Text: "pump at the volts of its sheet"}, Weight: Lightly, Dash: Dashed}
	line := Curve{Label: Label{Text: "what regulator, line and filter ask"}}
	for i := range 21 {
		q := Number(i)
		pump.X, pump.Y = append(pump.X, q), append(pump.Y, 7.5-q*0.4)
		sheet.X, sheet.Y = append(sheet.X, q), append(sheet.Y, 8-q*0.4)
		line.X, line.Y = append(line.X, q), append(line.Y, 4+q*q*0.002)
	}
	p.Curves = []Curve{pump, sheet, line}
	return p
}

func demoTwoScales(w Px) Plot {
	p := Plot{Name: "two", Title: "Torque and power", Width: w, X: Axis{Name: "engine speed", Unit: "rpm"}, Y: Axis{Name: "torque", Unit: "N·m", Zero: true}, Y2: &Axis{Name: "power", Unit: "kW", Zero: true}}
	m, kw := Curve{Label: Label{Text: "torque"}, Weight: Picked}, Curve{Label: Label{Text: "power"}, Second: true}
	for i := range 12 {
		n := 900 + 500*Number(i)
		t := 220 - (n-3500)*(n-3500)/2e5
		m.X, m.Y = append(m.X, n), append(m.Y, t)
		kw.X, kw.Y = append(kw.X, n), append(kw.Y, t*n*Number(math.Pi)/30e3)
	}
	p.Curves = []Curve{m, kw}
	p.Marks = []Mark{{Label: Label{Text: "220 N·m"}, X: 3400, Y: 219.9}, {Label: Label{Text: "116 kW"}, X: 5900, Y: 117, Second: true}}
	return p
}

func demoGears(w Px) Plot {
	p := Plot{Name: "gears", Title: "Speed in the gears", Width: w, X: Axis{Name: "road speed", Unit: "km/h", Zero: true}, Y: Axis{Name: "engine speed", Unit: "rpm", Zero: true}}
	for i, k := range []Number{9, 15, 24, 32, 38, 41} {
		p.Curves = append(p.Curves, Curve{Label: Label{Text: fmt.Sprint(i + 1)}, X: []Number{0, k * 6.3}, Y: []Number{0, 6300}})
	}
	p.Limits = []Limit{{Label: Label{Text: "speed limit 6300 rpm"}, At: 6300, Side: Above}}
	p.Marks = []Mark{{Label: Label{Text: "cruise, 100 km/h"}, X: 100, Y: 2440}}
	return p
}

func demoBand(w Px) Plot {
	p := Plot{Name: "band", Title: "Bands and regions", Width: w, X: Axis{Name: "time", Unit: "s", Log: true}, Y: Axis{Name: "current", Unit: "A", Log: true}}
	c := Curve{Label: Label{Text: "fuse opens"}}
	g := Region{Label: Label{Text: "wire too hot"}, Side: Above}
	for _, t := range []Number{0.01, 0.1, 1, 10, 100, 1000} {
		i := 20 + 30/Number(math.Sqrt(float64(t)))
		c.X, c.Y, c.Low, c.High = append(c.X, t), append(c.Y, i), append(c.Low, i*0.8), append(c.High, i*1.3)
		g.X, g.Y = append(g.X, t), append(g.Y, 40+80/Number(math.Sqrt(float64(t))))
	}
	p.Curves, p.Barred = []Curve{c}, []Region{g}
	return p
}

func demoPlots(w Px) []Plot {
	return []Plot{demoPlot(w), demoTwoScales(w), demoGears(w), demoBand(w)}
}

// TestPlotKeepsEveryLabel: what finds no room in the frame stands in the key.
func TestPlotKeepsEveryLabel(t *testing.T) {
	for _, w := range []Px{1000, 620, 328, 240} {
		d := demoPlot(w).Draw()
		all := strings.Join(strings.Fields(lettersOf(d)), " ")
		for _, want := range []string{"burnt at full power 9.4 g/s", "works here: 8.6 g/s", "9.9 g/s would flow", "pump at the 11.7 V it gets", "what regulator, line and filter ask"} {
			if !strings.Contains(all, want) {
				t.Errorf("%v px: %q is lost in %q", w, want, all)
			}
		}
	}
}

// lettersOf is all lettering of a drawing, lines of one label joined.
func lettersOf(d *Drawing) string {
	var texts []string
	leaves(d.Items, "", func(it Item, _ string) {
		if x, ok := it.(Text); ok {
			texts = append(texts, x.S)
		}
	})
	return strings.Join(texts, " ")
}

// TestPlotStandsToScale: what is drawn stands where its numbers say, by the ticks.
func TestPlotStandsToScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hi := Number(math.Pow(10, rapid.Float64Range(-3, 5).Draw(t, "power")))
		lo := hi * Number(rapid.Float64Range(0.05, 0.9).Draw(t, "from"))
		log := rapid.Bool().Draw(t, "log")
		a := Axis{Log: log}
		s, ok := a.settle([]Number{lo, hi}, 6)
		if !ok || !s.holds(lo) || !s.holds(hi) || len(s.ticks) < 2 || len(s.ticks) > 30 {
			t.Fatalf("%v … %v: %+v", lo, hi, s)
		}
		s.from, s.to = 100, 500
		for _, tick := range s.ticks {
			x, ok := s.at(tick.At)
			share := (float64(tick.At) - s.lo) / (s.hi - s.lo)
			if log {
				share = (math.Log10(float64(tick.At)) - math.Log10(s.lo)) / (math.Log10(s.hi) - math.Log10(s.lo))
			}
			if !ok || math.Abs(float64(x)-(100+400*share)) > 1e-6 {
				t.Fatalf("%q stands at %v, wants %v", tick.Text, x, 100+400*share)
			}
		}
	})
}

// TestPlotsNeverClash: whatever is asked, nothing overlaps and nothing leaves.
func TestPlotsNeverClash(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyPlot(t).Draw()
		if c := Clashes(d); len(c) > 0 {
			t.Fatalf("%.0f × %.0f: %s", d.W, d.H, strings.Join(c, "\n"))
		}
	})
}

func anyPlot(t *rapid.T) Plot {
	num := func(name string) Number { return Number(rapid.Float64Range(-50, 950).Draw(t, name)) }
	one := func(name string) Label { return Label{Text: label(t, name), Bad: rapid.Bool().Draw(t, "bad")} }
	p := Plot{
		Name: "p", Width: Px(rapid.IntRange(240, 1000).Draw(t, "width")),
		X: Axis{Name: label(t, "x"), Unit: "rpm", Zero: rapid.Bool().Draw(t, "zero")}, Y: Axis{Name: label(t, "y"), Unit: "kPa"},
	}
	if rapid.Bool().Draw(t, "two") {
		p.Y2 = &Axis{Name: label(t, "y2"), Unit: "kW"}
	}
	for range rapid.IntRange(0, 5).Draw(t, "curves") {
		c := Curve{Label: one("curve"), Second: rapid.Bool().Draw(t, "second"), Weight: Weight(rapid.IntRange(0, 2).Draw(t, "weight"))}
		for range rapid.IntRange(2, 6).Draw(t, "points") {
			c.X, c.Y = append(c.X, num("cx")), append(c.Y, num("cy"))
		}
		p.Curves = append(p.Curves, c)
	}
	for range rapid.IntRange(0, 3).Draw(t, "limits") {
		p.Limits = append(p.Limits, Limit{Label: one("limit"), At: num("at"), OfX: rapid.Bool().Draw(t, "ofx"), Side: Side(rapid.IntRange(0, 4).Draw(t, "side"))})
	}
	for range rapid.IntRange(0, 4).Draw(t, "marks") {
		p.Marks = append(p.Marks, Mark{Label: one("mark"), X: num("mx"), Y: num("my"), Open: rapid.Bool().Draw(t, "open")})
	}
	return p
}

func TestPlotOfNothing(t *testing.T) {
	nan := Number(math.NaN())
	for _, p := range []Plot{
		{Width: 300, Empty: "no pump is described"},
		{Width: 300, Empty: "no pump is described", Curves: []Curve{{X: []Number{nan, 2}, Y: []Number{1, nan}}}},
		{Width: 300, Empty: "no pump is described", X: Axis{Log: true}, Curves: []Curve{{X: []Number{-1, 0}, Y: []Number{1, 2}}}},
	} {
		d := p.Draw()
		if len(d.Items) != 1 || d.Items[0].(Text).S != "no pump is described" {
			t.Errorf("%+v drew %+v", p, d.Items)
		}
	}
}
