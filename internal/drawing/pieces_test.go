package drawing

import (
	"fmt"
	"strings"
	"testing"
)

// An invented camper, as the demo's.
func demoChain(w Px) Chain {
	return Chain{
		Name: "chain", Title: "From alternator to wheels at full power", Width: w,
		Nodes: []Node{
			{Kind: Alternator, Name: "Alternator", Notes: []Label{{Text: "92 % of 85 A"}}},
			{Kind: Joint, Name: "fuse box"},
			{Kind: Pump, Name: "Pump", Notes: []Label{{Text: "5.9 A, needs 12.0 V"}}, Bad: true},
			{Kind: Rail, Name: "Rail", Parts: 5, Notes: []Label{{Text: "duty 93 %"}}},
			{Kind: Engine, Name: "Engine", Parts: 5, Banks: 1, Notes: []Label{{Text: "lambda wanted 0.88"}}},
			{Kind: Wheel, Name: "Wheels", Notes: []Label{{Text: "104 km/h, third gear"}}},
		},
		Stretches: []Stretch{
			{Above: []Label{{Text: "14.1 V, 78 A", Ref: "full/alternator/VoltageV"}}},
			{Above: []Label{{Text: "11.4 V at the pump", Ref: "full/pump/VoltageV", Bad: true}}, Below: []Label{{Text: "2.7 V lost in 2 × 4.6 m"}}, Bad: true},
			{Above: []Label{{Text: "9.4 g/s", Bad: true}}, Below: []Label{{Text: "needs 10.3 g/s"}}},
			{Above: []Label{{Text: "331 kPa", Bad: true}}, Below: []Label{{Text: "set 400 kPa"}}},
			{Above: []Label{{Text: "118 kW, 191 Nm"}}, Below: []Label{{Text: "lambda 0.97", Bad: true}}},
		},
	}
}

func longChain(w Px) Chain {
	c := demoChain(w)
	c.Nodes[2].Name = "Second fuel pump in the swirl pot under the floor"
	c.Nodes[0].Name = "Alternator with external regulator"
	c.Nodes[5].Name = "Driven wheels, twin tyres"
	c.Stretches[1].Above[0].Text = "11.42 V at the pump while both fans and the rear window heater run"
	c.Stretches[2].Below = append(c.Stretches[2].Below, Label{Text: "and 0.9 g/s more when nitrous flows"})
	c.Nodes[4].Banks, c.Nodes[4].Parts = 2, 8
	c.Nodes[3].Parts = 8
	return c
}

func demoOneLine(w Px) OneLine {
	feed := func(fuse, wire, load, v, a, g string) Feed {
		f := Feed{Wire: Label{Text: wire}, Load: load, Volt: Label{Text: v, Ref: "full/" + load + "/VoltageV"}, Amp: Label{Text: a}, Ground: g}
		if fuse != "" {
			f.Fuse = &Device{Name: fuse}
		}
		return f
	}
	pump := feed("F7 7.5 A", "BN 0.5 mm²", "Fuel pump", "11.4 V", "5.9 A", "G1")
	pump.Bad, pump.Volt.Bad = true, true
	return OneLine{
		Name: "oneline", Title: "Power at full power, 38 °C", Width: w,
		Bus: Label{Text: "B+ 14.1 V"},
		Sources: []Source{
			{Kind: Battery, Name: "Battery", Figures: []Label{{Text: "70 Ah, +0.6 A"}, {Text: "14.05 V"}}, Ground: "G1"},
			{Kind: Alternator, Name: "Alternator", Figures: []Label{{Text: "78 A of 85 A"}, {Text: "14.1 V"}}, Fuse: &Device{Name: "M0 100 A"}, Ground: "G2"},
			{Kind: Motor, Name: "Starter", Figures: []Label{{Text: "0 A; cranks at 190 A"}}, Ground: "G2"},
		},
		Mains: []Main{
			{Fuse: &Device{Name: "M1 60 A", Load: Label{Text: "41 A"}}, Relay: &Device{Name: "K1 main", Load: Label{Text: "34 A of 30 A", Bad: true}, Bad: true}, Bus: Label{Text: "13.9 V"}, Feeds: []Feed{
				feed("F1 15 A", "RD 1.5 mm²", "Ignition coils 1 … 5", "13.7 V", "8.2 A", "G2"),
				feed("F2 15 A", "RD 1.5 mm²", "Injectors 1 … 5", "13.7 V", "4.1 A", "G2"),
				feed("F3 10 A", "OG 1 mm²", "Lambda heater, phasers", "13.6 V", "3.3 A", "G2"),
				feed("F4 20 A", "RD 2.5 mm²", "Radiator fans", "13.4 V", "18.4 A", "G3"),
			}},
			{Fuse: &Device{Name: "M2 40 A"}, Relay: &Device{Name: "K3"}, Bus: Label{Text: "13.94 V"}, Feeds: []Feed{pump}},
			{Fuse: &Device{Name: "M3 30 A"}, Bus: Label{Text: "14.0 V"}, Feeds: []Feed{
				feed("F9 5 A", "YE 0.5 mm²", "Controller, terminal 30", "14.0 V", "0.2 A", "G1"),
				feed("", "YE 0.75 mm²", "Gearbox controller", "13.9 V", "1.9 A", "G1"),
			}},
		},
	}
}

func longOneLine(w Px) OneLine {
	o := demoOneLine(w)
	o.Mains[0].Feeds[1].Load = "Injectors of both banks with their series resistors and the cold start valve"
	o.Mains[0].Fuse.Name = "M1 60 A bolted"
	o.Mains[1].Feeds[0].Ground = "G12 body bolt"
	o.Sources[0].Name = "Second battery under the driver’s seat, absorbed glass mat"
	o.Sources[1].Figures[0] = Label{Text: "178.5 A of 185 A at 1200 rpm", Bad: true}
	o.Bus.Text = "B+ in the fuse and relay box 14.10 V"
	o.Mains[2].Feeds = append(o.Mains[2].Feeds, Feed{Load: "x"})
	return o
}

func demoLadder(w Px) Ladder {
	r := func(name, v string, e *Element) Rung { return Rung{Name: name, Volt: Label{Text: v}, Then: e} }
	el := func(name, drop string, v float64) *Element {
		return &Element{Name: name, Drop: Label{Text: drop, Ref: "full/" + name}, DropV: v}
	}
	w23 := el("wire 23, BN 0.5 mm², 3.75 m at 80 °C", "−1.04 V", 1.04)
	w23.Bad = true
	pump := el("fuel pump, 5.9 A; needs 12.0 V", "11.4 V", 11.4)
	pump.Load, pump.Drop.Bad = true, true
	back := el("wire 24, BN 0.5 mm², 3.75 m at 80 °C", "−1.04 V", 1.04)
	back.Bad, back.Return = true, true
	back2 := el("wire 24, BN 0.5 mm², 0.30 m", "−0.06 V", 0.06)
	back2.Return = true
	return Ladder{
		Name: "ladder", Title: "Voltage on the way to the fuel pump and back", Width: w, HeadVolt: "to battery −", HeadDrop: "lost",
		Rungs: []Rung{
			r("Battery, + post", "14.10 V", el("wire 1, RD 6 mm², 0.60 m; fuse M1, 60 A", "−0.10 V", 0.10)),
			r("Main fuse M1, load side", "14.00 V", el("wire 2, RD 2.5 mm², (0.10 m); contact", "−0.06 V", 0.06)),
			r("Relay K3, terminal 87", "13.94 V", el("fuse F7, 7.5 A, and its clips", "−0.07 V", 0.07)),
			r("Fuse F7, load side", "13.87 V", el("wire 23, BN 0.5 mm², 0.85 m at 64 °C", "−0.25 V", 0.25)),
			r("Bulkhead plug P1, way 7", "13.62 V", w23),
			r("X14 pump plug, way 2", "12.50 V", pump),
			r("X14 pump plug, way 1", "1.10 V", back),
			r("Bulkhead plug P1, way 8", "0.06 V", back2),
			r("G1 body bolt", "0.00 V", nil),
		},
	}
}

func longLadder(w Px) Ladder {
	l := demoLadder(w)
	l.Rungs[2].Name = "Relay K3 in the old fuse and relay box behind the glove compartment, terminal 87"
	l.Rungs[4].Then.Name = "wire 23, an old lamp wire used again, brown, 0.5 mm², 3.75 m under the floor at 80 °C, with two crimped joints"
	l.Rungs[5].Volt.Bad = true
	return l
}

func demoRooms() []Room {
	return []Room{
		{Name: "r1", Title: "fuel", Value: 9.4, Limit: 10.3, P05: 9, P95: 9.7, AtLeast: true, Ref: "full/fuel"},
		{Name: "r2", Title: "duty", Value: 93, Limit: 85, P05: 89, P95: 97},
		{Name: "r3", Title: "alternator", Value: 78, Limit: 85, P05: 74, P95: 82},
		{Name: "r4", Title: "coil", Value: 3.1, Limit: 4.4, P05: 2.95, P95: 3.25, Width: 328},
		{Name: "r5", Title: "negative", Value: -0.4, Limit: 0.2, P05: -0.6, P95: -0.1, AtLeast: true},
		{Name: "r6", Title: "unsolved", Unsolved: "full power does not converge"},
	}
}

func allPieces() map[string]*Drawing {
	out := map[string]*Drawing{}
	for _, w := range []Px{1000, 760, 636} {
		out[fmt.Sprintf("chain-%v", w)] = demoChain(w).Draw()
		out[fmt.Sprintf("chain-long-%v", w)] = longChain(w).Draw()
	}
	for _, w := range []Px{1000, 636} {
		out[fmt.Sprintf("oneline-%v", w)] = demoOneLine(w).Draw()
		out[fmt.Sprintf("oneline-long-%v", w)] = longOneLine(w).Draw()
	}
	for _, w := range []Px{640, 328} {
		out[fmt.Sprintf("ladder-%v", w)] = demoLadder(w).Draw()
		out[fmt.Sprintf("ladder-long-%v", w)] = longLadder(w).Draw()
	}
	for _, r := range demoRooms() {
		out["room-"+r.Name] = r.Draw()
	}
	for _, w := range []Px{1000, 620, 328} {
		for _, p := range demoPlots(w) {
			out[fmt.Sprintf("plot-%s-%v", p.Name, w)] = p.Draw()
		}
	}
	out["face-wires"], out["face-mating"] = demoFace(960, false, false).Draw(), demoFace(620, true, true).Draw()
	out["face-phone"] = demoFace(328, false, true).Draw()
	for _, e := range []EnginePlan{demoPlan(960, false, 1, 5), demoPlan(328, true, 1, 5), demoPlan(960, false, 2, 6), demoPlan(328, true, 2, 4)} {
		out[e.Name] = e.Draw()
	}
	out["trigger-wide"], out["trigger-phone"] = demoTrigger(960).Draw(), demoTrigger(328).Draw()
	return out
}

func TestNothingClashes(t *testing.T) {
	for name, d := range allPieces() {
		if c := Clashes(d); len(c) > 0 {
			t.Errorf("%s (%.0f × %.0f):\n  %s", name, d.W, d.H, strings.Join(c, "\n  "))
		}
	}
}
