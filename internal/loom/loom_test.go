package loom

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/demo"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/fuse"
	"fettle/internal/wire"
)

var items = sync.OnceValues(catalogue.Open)

// camper reads the demo with edits.
func camper(tb testing.TB, edits ...buildfile.Edit) *design.Design {
	tb.Helper()
	cat, err := items()
	if err != nil {
		tb.Fatal(err)
	}
	files, err := demo.Files("camper")
	if err != nil {
		tb.Fatal(err)
	}
	parts := map[string][]byte{}
	for name, text := range files {
		if strings.HasPrefix(name, "parts/") {
			parts[name] = text
		}
	}
	own, ds := cat.With(parts)
	none(tb, ds)
	tree, ds := buildfile.Parse("build.yaml", files["build.yaml"])
	none(tb, ds)
	if tree, err = buildfile.Apply(tree, edits...); err != nil {
		tb.Fatal(err)
	}
	d, ds := design.FromTree(tree, own)
	none(tb, ds)
	return d
}

func none(tb testing.TB, ds []diag.Diagnostic) {
	tb.Helper()
	for _, d := range ds {
		tb.Fatal(d)
	}
}

func plan(tb testing.TB, d *design.Design) *Loom {
	tb.Helper()
	l, ds := Plan(d)
	none(tb, ds)
	return l
}

// TestEveryTerminalHasItsWire holds the camper's loom to the parts: a terminal
// that is to be joined is the end of exactly one wire, but for posts.
func TestEveryTerminalHasItsWire(t *testing.T) {
	d := camper(t)
	l := plan(t, d)
	ends := map[string]int{}
	for i, w := range l.Wires {
		if w.Number != i+1 {
			t.Errorf("wire %q has number %d, want %d", w.Name, w.Number, i+1)
		}
		ends[w.From.Node]++
		ends[w.To.Node]++
		if n, ok := l.Wire(w.Name); !ok || n.Number != w.Number {
			t.Errorf("wire %d, %q, is not found by its name", w.Number, w.Name)
		}
	}
	for _, it := range d.Devices {
		for _, term := range it.Part.Terminals {
			n := ends[it.Name+" "+term.Name]
			switch term.Value.Role {
			case "feed", "ground", "output", "sensor supply", "sensor ground":
				if n != 1 {
					t.Errorf("%s %s, a %s, is the end of %d wires", it.Name, term.Name, term.Value.Role, n)
				}
			case "case":
				if n != 0 {
					t.Errorf("%s %s returns through its case and has %d wires", it.Name, term.Name, n)
				}
			}
		}
	}
}

// TestRoutesLeadThere walks every wire's routes from end to end and adds up its
// length: what was measured with 8 % for bends, and 150 mm for every tail.
func TestRoutesLeadThere(t *testing.T) {
	d := camper(t)
	for _, w := range plan(t, d).Wires {
		sum := 0.0
		at := w.To.Place // routes are listed from the far end
		for _, r := range w.Routes {
			route := d.File.Routes[r]
			switch at {
			case route.From.Name:
				at = route.To.Name
			case route.To.Name:
				at = route.From.Name
			default:
				t.Errorf("%s: route %s to %s does not go on from %s", w.Name, route.From.Name, route.To.Name, at)
			}
			sum += route.LengthM.SI
		}
		if at != w.From.Place {
			t.Errorf("%s ends at %s, not at %s", w.Name, at, w.From.Place)
		}
		want := sum*1.08 + 0.15*float64(w.Tails)
		if math.Abs(w.LengthM-want) > 1e-9 || math.Abs(LengthM(sum, 0.08, 0.15, w.Tails)-want) > 1e-12 {
			t.Errorf("%s is %.4g m long, want %.4g m", w.Name, w.LengthM, want)
		}
		if w.LengthM <= 0 {
			t.Errorf("%s has no length", w.Name)
		}
	}
}

// TestDecidedWiresHold holds every wire that nobody fixed to its drop, its fuse
// and the heat of its load.
func TestDecidedWiresHold(t *testing.T) {
	d := camper(t)
	for _, w := range plan(t, d).Wires {
		if w.Fixed {
			continue
		}
		if drop := w.DesignA * wire.ResistanceOhm(w.LengthM, w.Cable.OhmPerM.SI, w.HotK.SI); drop > w.LimitV*(1+1e-9) {
			t.Errorf("%s, %s, loses %.3g V of %.3g V", w.Name, w.Size, drop, w.LimitV)
		}
		if most := math.Max(w.HeatA, 1.35*w.FuseA); !w.Brief && w.AmpacityA < most {
			t.Errorf("%s, %s, carries %.3g A for ever; load or 1.35 times its fuse are %.3g A", w.Name, w.Size, w.AmpacityA, most)
		}
		if w.Why == "" || w.Colour == "" || w.Size == "" || w.Area == nil || w.Pos.Line == 0 {
			t.Errorf("%s says too little: %+v", w.Name, w)
		}
	}
}

// TestPinsServeOnce holds pins to one wire each that they can serve.
func TestPinsServeOnce(t *testing.T) {
	seen := map[string]string{}
	for _, p := range plan(t, camper(t)).Pins {
		if first, twice := seen[p.Node]; twice {
			t.Errorf("pin %s serves %q and %q", p.Pin, first, p.Device)
		}
		seen[p.Node] = p.Device
		if !slices.Contains(p.Bank.Can, p.Can) {
			t.Errorf("pin %s can %v, not %s", p.Pin, p.Bank.Can, p.Can)
		}
	}
	if len(seen) < 60 {
		t.Errorf("only %d pins are in use", len(seen))
	}
}

// TestSameFileSameLoom plans twice: the book must not change by itself.
func TestSameFileSameLoom(t *testing.T) {
	a, b := plan(t, camper(t)), plan(t, camper(t))
	for i := range a.Wires {
		x, y := a.Wires[i], b.Wires[i]
		if x.Name != y.Name || x.Size != y.Size || x.Colour != y.Colour || !reflect.DeepEqual(x.Routes, y.Routes) || x.From != y.From || x.To != y.To {
			t.Errorf("wire %d is %+v, then %+v", i+1, x, y)
		}
	}
	for i := range a.Pins {
		if a.Pins[i].Node != b.Pins[i].Node || a.Pins[i].Device != b.Pins[i].Device {
			t.Errorf("pin %d differs", i)
		}
	}
}

// TestWhatIsFixedStands fixes sizes, colours, pins, fuses, feeds and grounds, also
// of wires that belong to no device.
func TestWhatIsFixedStands(t *testing.T) {
	set := func(text string, path ...string) buildfile.Edit { return buildfile.Edit{Path: path, Text: text} }
	l := plan(t, camper(t,
		set("35 mm²", "loom", "wires", "engine strap", "size"), set("BK", "loom", "wires", "engine strap", "colour"),
		set("1.5 mm²", "loom", "wires", "ignition trunk", "size"),
		set("12 AWG", "loom", "wires", "K1 30", "size"),
		set("A7", "loom", "pins", "injector 1 2", "pin"),
		set("25 A", "loom", "feeds", "pump", "fuse"),
		set("30", "loom", "feeds", "lights", "from"),
		set("controller", "loom", "grounds", "sensor", "joins"),
	))
	for name, want := range map[string]struct {
		areaM2 float64
		colour string
	}{
		"engine strap": {35e-6, "BK"}, "ignition trunk": {1.5e-6, ""}, "fuel pump 1": {0.5e-6, "GYBK"},
		"K1 30": {3.3088e-6, ""}, // 12 AWG: ASTM B258
	} {
		w, ok := l.Wire(name)
		if !ok || !w.Fixed || math.Abs(w.Area.SI-want.areaM2) > 1e-4*want.areaM2 || want.colour != "" && w.Colour != want.colour || w.Why != "fixed in the file" {
			t.Errorf("%s is %v mm², %s, fixed %v, want %v mm² %s", name, w.Area.SI*1e6, w.Colour, w.Fixed, want.areaM2*1e6, want.colour)
		}
	}
	i := slices.IndexFunc(l.Pins, func(p Pin) bool { return p.Device == "injector 1 2" })
	if p := l.Pins[i]; p.Pin != "A7" || !p.Fixed {
		t.Errorf("injector 1 has pin %s, want A7", p.Pin)
	}
	for _, f := range l.Fuses {
		switch {
		case f.Feed == "pump" && (f.RatingA.SI != 25 || !f.Fixed):
			t.Errorf("the pump's fuse is %g A, want 25 A", f.RatingA.SI)
		case f.Feed == "lights" && f.From != NodeBus:
			t.Errorf("the lights hang on %s, want the busbar", f.From)
		case f.Feed == "fans" && f.From != "K1 87":
			t.Errorf("the fans hang on %s, want the main relay", f.From)
		}
	}
	if w, _ := l.Wire("sensor ground"); !strings.HasPrefix(w.To.Node, "pin ") || w.Fixed {
		t.Errorf("the sensors' ground goes to %s", w.To.Node)
	}
}

func TestRatingFor(t *testing.T) {
	const iso = "ISO 8820-3 ratings 5, 7.5, 10, 15, 20, 25, 30, 40 … 100 A; above them bolted fuses (from memory); 80 % at 25 °C, by hand"
	f := Fuse{HotK: &figure.Input{SI: 298.15}}
	for _, tt := range []struct{ loadA, want float64 }{
		{0, 5}, {2, 5}, {4, 5}, {4.1, 7.5}, {6, 7.5}, {7.9, 10}, {8.1, 15}, {12, 15}, {16, 20}, {20, 25}, {24, 30}, {31, 40}, {300, 300},
	} {
		if got := RatingForA(&f, tt.loadA, 0.8); got != tt.want {
			t.Errorf("for %g A at 80 %%: %g A, want %g A (%s)", tt.loadA, got, tt.want, iso)
		}
	}
	f.HotK = &figure.Input{SI: 358.15} // 9 % less at 85 °C
	if got := RatingForA(&f, 15, 0.8); got != 25 {
		t.Errorf("for 15 A at 85 °C: %g A, want 25 A: 15/(0.8·0.91) = 20.6 A", got)
	}
	f = Fuse{HotK: &figure.Input{SI: 298.15}, Inrush: []fuse.Pulse{{CurrentA: 59, LastsS: 0.1}}}
	if got := RatingForA(&f, 15, 0.8); got != 25 {
		t.Errorf("for 15 A with 59 A for 0.1 s: %g A, want 25 A: at their fastest blades let 2·1.75^(ln(0.1/0.15)/ln(0.04/0.15)) = 2.374 times their rating pass for 0.1 s (ISO 8820-3, by hand)", got)
	}
}
