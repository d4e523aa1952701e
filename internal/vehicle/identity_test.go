package vehicle

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/internal/buildfile"
	"fettle/internal/demo"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/loom"
)

// closed is how well balances close: the network's currents cancel to 1e-9 of
// the largest, and some three hundred of them are summed.
const closed = 1e-7

// TestEnergyBalance holds every state's sources to what loads and conductors
// take. Conductors are reckoned from their own resistance, I²R, sources from
// their own law, so that nothing is the product of the same two figures.
func TestEnergyBalance(t *testing.T) {
	for k, v := range []*Vehicle{camper(t), camper(t, mended...)} {
		r := solved(t, v)
		for i := range r.States {
			s := &r.States[i]
			given := sourceW(t, v, s)
			taken := 0.0
			for j := range v.links {
				l := &v.links[j]
				a := s.Point.Net.ElementA(l.id)
				taken += a * a * v.linkOhm(v.linkBase(figure.Draw{}, l), v.airK(figure.Draw{}, s.Name), s.Name)
			}
			for _, c := range v.consumers {
				volts, _ := s.ConsumerV(c.name)
				amps, _ := s.ConsumerA(c.name)
				taken += volts * amps
			}
			if math.Abs(given-taken) > closed*math.Max(given, 1) {
				t.Errorf("vehicle %d, %s: sources give %.9g W, loads and conductors take %.9g W", k, s.Name, given, taken)
			}
		}
	}
}

// sourceW is the power at the terminals of battery, alternator and the
// controller's sensor supply, by their laws.
func sourceW(t *testing.T, v *Vehicle, s *State) float64 {
	t.Helper()
	w, d := v.worker(), figure.Draw{}
	parts, err := v.parts(d, w.net)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.setSources(d, s.Name, parts); err != nil {
		t.Fatal(err)
	}
	ohm := parts.Battery.Ohm
	if s.Point.BatteryA < 0 {
		ohm = parts.Battery.ChargeOhm
	}
	sum := (parts.Battery.OpenV - s.Point.BatteryA*ohm) * s.Point.BatteryA
	altV := s.Point.Net.ElementV(v.alt)
	sum += altV * math.Min(math.Max((parts.Charger.SetV-altV)/parts.Charger.SlopeOhm, 0), s.Point.ChargerMostA)
	for i := range v.fives {
		if !s.Live {
			break
		}
		a := -s.Point.Net.ElementA(v.fives[i].id)
		sum += (v.k.fiveV.SI - a*v.k.fiveOhm.SI) * a
	}
	return sum
}

// TestChargeBalance holds battery and alternator to the sum of what the devices
// draw that hang on them.
func TestChargeBalance(t *testing.T) {
	for k, v := range []*Vehicle{camper(t), camper(t, mended...)} {
		r := solved(t, v)
		for i := range r.States {
			s := &r.States[i]
			sum, count := 0.0, 0
			for _, c := range v.consumers {
				if v.paths[c.name].five > 0 {
					continue // the sensor supply's own loop
				}
				amps, _ := s.ConsumerA(c.name)
				sum += amps
				count++
			}
			if given := s.Point.BatteryA + s.Point.ChargerA; math.Abs(given-sum) > closed*math.Max(math.Abs(sum), 1) {
				t.Errorf("vehicle %d, %s: battery and alternator give %.9g A, %d devices draw %.9g A", k, s.Name, given, count, sum)
			}
			if count < 50 {
				t.Errorf("only %d devices hang on the battery", count)
			}
		}
	}
}

// TestDeviceVoltageIsPostLessDrops walks every device's way: the voltage between
// the posts less the drops on it is the voltage across the device.
func TestDeviceVoltageIsPostLessDrops(t *testing.T) {
	v := camper(t, mended...)
	r := solved(t, v)
	plus := loom.PostNode(v.Design.One("battery"), 0)
	walked := 0
	for i := range r.States {
		s := &r.States[i]
		post, _ := s.NodeV(plus)
		for _, c := range v.consumers {
			way := v.Way(c.name)
			volts, _ := s.ConsumerV(c.name)
			if !s.whole(way) {
				continue
			}
			left := post
			if n := v.paths[c.name].five; n > 0 {
				left = s.Point.Net.ElementV(v.fives[n-1].id)
			}
			for _, h := range way {
				from, _ := s.NodeV(h.From)
				to, _ := s.NodeV(h.To)
				left -= from - to
			}
			walked++
			if math.Abs(left-volts) > 1e-9*post {
				t.Errorf("%s: %s gets %.9g V, its way leaves %.9g V", s.Name, c.name, volts, left)
			}
		}
	}
	if walked < 400 {
		t.Errorf("only %d ways were walked", walked)
	}
}

// whole reports whether no switch on a way is open.
func (s *State) whole(way []Hop) bool {
	for _, h := range way {
		for _, l := range s.v.links {
			if l.name == h.Name && l.on != nil && !contains(l.on, s.Name) {
				return false
			}
		}
	}
	return true
}

// sizes are conductors from thin to thick, as one writes them.
var sizes = []string{"0.35 mm²", "0.5 mm²", "0.75 mm²", "1 mm²", "1.5 mm²", "2.5 mm²", "4 mm²", "6 mm²", "10 mm²", "16 mm²"}

// thicker are the wires of which thickening one never takes volts from the
// device at its end, in any state.
var thicker = []struct{ wire, device string }{
	{"fuel pump 1", "fuel pump"},
	{"fuel pump 2", "fuel pump"},
	{"injection trunk", "injector 3"},
	{"ignition trunk", "coil 5"},
	{"left fan 1", "left fan"},
	{"K3 30", "right fan"},
	{"controller P3", "controller 3"},
}

// TestThickerWireNeverTakesVolts draws a wire and two sizes. The engine, which
// answers to voltage through its fuel, may move the supply by a millionth; a
// circuit that its relay cuts off has 0 V but for the network's rounding, which
// stays below a nanovolt.
func TestThickerWireNeverTakesVolts(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := rapid.SampledFrom(thicker).Draw(rt, "wire")
		thin := rapid.IntRange(0, len(sizes)-2).Draw(rt, "thin")
		thick := rapid.IntRange(thin+1, len(sizes)-1).Draw(rt, "thick")
		path := []string{"loom", "wires", w.wire, "size"}
		edits := func(size string) []buildfile.Edit {
			return append(append([]buildfile.Edit{}, mended...), buildfile.Edit{Path: path, Text: size})
		}
		a, b := solved(t, camper(t, edits(sizes[thin])...)), solved(t, camper(t, edits(sizes[thick])...))
		for i := range a.States {
			va, okA := a.States[i].ConsumerV(w.device)
			vb, okB := b.States[i].ConsumerV(w.device)
			if !okA || !okB {
				rt.Fatalf("there is no device %s", w.device)
			}
			if vb < va-1e-6*math.Abs(va)-1e-9 {
				rt.Errorf("%s: %s gets %.9g V with %s of %s and %.9g V with %s", a.States[i].Name, w.device, va, w.wire, sizes[thin], vb, sizes[thick])
			}
		}
	})
}

// TestMoreLoadNeverRaisesThePost adds devices that draw at idle: the voltage
// between the posts sinks or stays, and the battery gives more or takes less.
func TestMoreLoadNeverRaisesThePost(t *testing.T) {
	post, batteryA := math.Inf(1), math.Inf(-1)
	edits := append([]buildfile.Edit{}, mended...)
	for n := range 6 {
		if n > 0 {
			name := fmt.Sprintf("more lamps %d", n)
			edits = append(edits, buildfile.Edit{Path: []string{"devices", name, "part"}, Text: "headlamp"}, buildfile.Edit{Path: []string{"devices", name, "at"}, Text: "nose"})
		}
		v := camper(t, edits...)
		s := solved(t, v).State(design.Idle)
		u, _ := s.NodeV(loom.PostNode(v.Design.One("battery"), 0))
		if u > post || s.Point.BatteryA < batteryA {
			t.Errorf("with %d more headlamps %.6g V stand at the post, before %.6g V; the battery gives %.6g A, before %.6g A", n, u, post, s.Point.BatteryA, batteryA)
		}
		post, batteryA = u, s.Point.BatteryA
	}
}

// TestUnitsDoNotMoveTheAnswer writes the same vehicle in other units.
func TestUnitsDoNotMoveTheAnswer(t *testing.T) {
	files, err := demo.Files("camper")
	if err != nil {
		t.Fatal(err)
	}
	src := string(files["build.yaml"])
	other := src
	for _, x := range [][2]string{
		{"mass: 2150 kg", "mass: 2.15 t"},
		{"bore: 82.5 mm ± 0.1 mm", "bore: 8.25 cm ± 0.01 cm"},
		{"line length: 5.1 m", "line length: 510 cm"},
		{"coldest: -15 °C ± 3 °C", "coldest: 5 °F ± 5.4 °F"},
		{"length: 3.6 m ± 3 %", "length: 3600 mm ± 3 %"},
		{"size: 0.5 mm²", "size: 0.005 cm²"},
		{"to: hatch,       length: 0.9 m", "to: hatch,       length: 90 cm"},
	} {
		if !strings.Contains(other, x[0]) {
			t.Fatalf("the camper no longer says %q", x[0])
		}
		other = strings.Replace(other, x[0], x[1], 1)
	}
	a, b := solved(t, compile(t, src)), solved(t, compile(t, other))
	for i, m := range a.Margins {
		n := b.Margins[i]
		if m.ID != n.ID || math.Abs(m.Value-n.Value) > 1e-8*math.Max(math.Abs(m.Value), 1e-3) || math.Abs(m.Limit-n.Limit) > 1e-9*math.Abs(m.Limit) {
			t.Errorf("%s: %.12g of %.12g, in other units %.12g of %.12g", m.ID, m.Value, m.Limit, n.Value, n.Limit)
		}
	}
}
