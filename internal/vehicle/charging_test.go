package vehicle

import (
	"math"
	"slices"
	"strings"
	"testing"

	"fettle/internal/alternator"
	"fettle/internal/battery"
	"fettle/internal/buildfile"
	"fettle/internal/design"
	"fettle/internal/figure"
)

const radPerRPM = math.Pi / 30

func set(text string, path ...string) buildfile.Edit { return buildfile.Edit{Path: path, Text: text} }

// TestChargingCurves holds the speed at which loads balance to the alternator's
// curve turned round by hand, and the curves to the states that they begin at.
func TestChargingCurves(t *testing.T) {
	const source = "alternator.OutputA turned round: n = n₀ − n_c·ln(1 − I·(1 − e⁻⁵)/I_R); n₀ and n_c 1000 rpm"
	for name, edits := range map[string][]buildfile.Edit{
		"as written": nil, "mended": mended, "small pulley": {set("alternator 40 A", "devices", "alternator", "part")},
	} {
		v := camper(t, edits...)
		r := solved(t, v)
		alt := v.Design.One("alternator")
		if len(r.Charging) != 4 {
			t.Fatalf("%s: %d curves, want one for each state of a running engine", name, len(r.Charging))
		}
		for _, c := range r.Charging {
			if len(c.Points) != chargePoints || !c.Ended.OK {
				t.Fatalf("%s, %s: %d points, %+v", name, c.State, len(c.Points), c.Ended)
			}
			hot := alternator.HotOutputA(1, v.hotK(figure.Draw{}, alt.At, c.State))
			for k, q := range c.Points {
				if k > 0 && (q.MostA < c.Points[k-1].MostA || q.SpeedRadPerS <= c.Points[k-1].SpeedRadPerS) {
					t.Errorf("%s, %s: output %.2f A at %.0f rpm after %.2f A", name, c.State, q.MostA, q.SpeedRadPerS/radPerRPM, c.Points[k-1].MostA)
				}
				if short := q.DemandA > q.MostA*(1+1e-9); short != (q.BatteryA > 0) {
					t.Errorf("%s, %s at %.0f rpm: %.3f A of %.3f A, and the battery gives %.3f A", name, c.State, q.SpeedRadPerS/radPerRPM, q.DemandA, q.MostA, q.BatteryA)
				}
			}
			if s := r.State(c.State); c.State == design.Idle {
				if q := c.Points[0]; math.Abs(q.DemandA-s.Point.ChargerA-s.Point.BatteryA) > 1e-6 {
					t.Errorf("%s: %.6f A at the idle speed, the state's %.6f A", name, q.DemandA, s.Point.ChargerA+s.Point.BatteryA)
				}
			}
			f, ok := r.Ledger.Why(ChargeID(c.Key, "BalanceRadPerS"))
			if ok != c.Balances || ok && f.SI != c.BalanceRadPerS {
				t.Errorf("%s, %s: balances %v at %g rad/s, in the ledger %v %g", name, c.State, c.Balances, c.BalanceRadPerS, ok, f.SI)
			}
			if !c.Balances || c.AtIdle {
				continue
			}
			demandA := math.NaN()
			for k := 1; k < len(c.Points); k++ {
				if a, b := c.Points[k-1], c.Points[k]; a.SpeedRadPerS <= c.BalanceRadPerS && c.BalanceRadPerS <= b.SpeedRadPerS {
					// up to the balance the demand follows the battery's own voltage: it is near that of the point below
					demandA = a.DemandA
				}
			}
			want := (1000 - 1000*math.Log(1-demandA/hot*(1-math.Exp(-5))/alt.Part.Alternator.RatedA.SI)) / alt.Part.Alternator.PulleyRatio.SI
			got := c.BalanceRadPerS / radPerRPM
			if math.Abs(got-want) > 0.02*want { // the demand of the point below is up to 1 % off, the bisection 5 rpm
				t.Errorf("%s, %s: balances at %.0f rpm, by hand %.0f rpm (%s)", name, c.State, got, want, source)
			}
			t.Logf("%s, %s: balances at %.0f rpm, by hand %.0f rpm", name, c.State, got, want)
		}
	}
}

// TestLoadDump follows the pulse to the devices: bare diodes let the standard's
// pulse through to what hangs on the battery's side, clamping ones 35 V; an
// isolator that stops the engine leaves what has its feed without a key.
func TestLoadDump(t *testing.T) {
	const source = "ISO 16750-2:2012, 4.6.4, tests A and B"
	with := func(edits ...buildfile.Edit) *LoadDump {
		r := solved(t, camper(t, append(append([]buildfile.Edit{}, mended...), edits...)...))
		if r.Dump == nil || !r.Dump.Ended.OK {
			t.Fatalf("no load dump: %+v", r.Dump)
		}
		return r.Dump
	}
	stops := set("stops the engine", "electrical", "battery isolator")
	lead := with()
	if lead.Isolator || lead.PostV < 14 || lead.PostV > 35.5 {
		t.Errorf("the lead off, clamped: %.2f V at the alternator, want between its set voltage and 35 V (%s)", lead.PostV, source)
	}
	held := with(stops)
	if !held.Isolator || !held.Clamped || math.Abs(held.PostV-35) > 0.5 || len(held.Unborne()) > 0 {
		t.Errorf("clamped: %.2f V at the alternator, %v don't bear it, want 35 V and none (%s)", held.PostV, held.Unborne(), source)
	}
	bare := with(stops, set("alternator 65 A", "devices", "alternator", "part"))
	if bare.Clamped || bare.PostV > bare.Pulse.PeakV || bare.PostV < 79*0.9 {
		t.Errorf("bare diodes, hardly a load: %.2f V of an open peak of %.2f V (%s)", bare.PostV, bare.Pulse.PeakV, source)
	}
	if lost := bare.Unborne(); !slices.ContainsFunc(lost, func(e Exposed) bool { return e.Name == "controller" }) {
		t.Errorf("bare diodes: %+v don't bear it, want the controller among them", lost)
	}
	all := with(set("leaves the alternator on", "electrical", "battery isolator"), set("alternator 65 A", "devices", "alternator", "part"))
	if !(all.PostV < bare.PostV) || len(all.Exposed) <= len(bare.Exposed) {
		t.Errorf("with everything on %.2f V at %d devices, with permanent feeds %.2f V at %d: loads take the pulse down", all.PostV, len(all.Exposed), bare.PostV, len(bare.Exposed))
	}
	if all.PostV < 14 {
		t.Errorf("with everything on %.2f V: less than it charged with", all.PostV)
	}
	for _, d := range []*LoadDump{lead, held, bare, all} {
		for _, e := range d.Exposed {
			if e.PeakV > d.PostV+1e-9 {
				t.Errorf("%s gets %.3f V of %.3f V", e.Name, e.PeakV, d.PostV)
			}
		}
		t.Logf("isolator %v, clamped %v: pulse %.1f V behind %.2f Ω for %.0f ms, %.1f V at the alternator, %.1f J in the loads, %.1f J in the diodes; %d exposed, %d not borne",
			d.Isolator, d.Clamped, d.Pulse.PeakV, d.Pulse.Ohm, d.Pulse.LastsS*1e3, d.PostV, d.LoadsJ, d.ClampJ, len(d.Exposed), len(d.Unborne()))
	}
}

// TestBatteryStated takes age and state of charge from the file, and puts them
// into the working.
func TestBatteryStated(t *testing.T) {
	v := camper(t, set("6 year ± 1 year", "battery", "age"), set("60 %", "battery", "state of charge"))
	w := v.worker()
	p, err := v.parts(figure.Draw{}, w.net)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.setSources(figure.Draw{}, design.Cranking, p); err != nil {
		t.Fatal(err)
	}
	cold, part := v.Design.File.Climate.ColdestK.SI, v.Design.One("battery").Part.Battery
	left, err := battery.AgedFrac(6 * battery.YearS)
	if err != nil {
		t.Fatal(err)
	}
	ohm, err := battery.InternalOhm(part.ColdA.SI*left, cold, 0.6)
	if err != nil {
		t.Fatal(err)
	}
	open, err := battery.OpenV(0.6, cold)
	if err != nil {
		t.Fatal(err)
	}
	if p.Battery.Ohm != ohm || p.Battery.OpenV != open {
		t.Errorf("%.5f Ω and %.4f V, stated %.5f Ω and %.4f V", p.Battery.Ohm, p.Battery.OpenV, ohm, open)
	}
	was, now := solved(t, camper(t)), solved(t, v)
	if a, b := now.State(design.Cranking).Point.StarterV, was.State(design.Cranking).Point.StarterV; !(a < b) {
		t.Errorf("an old battery that is half full leaves %.3f V to the starter, a good one %.3f V", a, b)
	}
	in, ok := now.Ledger.Why("crank/battery/VoltageV")
	if !ok {
		t.Fatal("the posts' voltage is not in the ledger")
	}
	seen := 0
	for _, id := range in.In {
		if f, ok := now.Ledger.Why(id); ok && f.Leaf != nil && f.Leaf.Origin == figure.Stated && strings.Contains(string(id), "battery") {
			seen++
		}
	}
	if seen != 2 {
		t.Errorf("%d of age and state of charge stand in the working of the posts' voltage: %v", seen, in.In)
	}
}
