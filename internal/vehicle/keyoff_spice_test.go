package vehicle

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sort"
	"strconv"
	"strings"
	"testing"

	"fettle/internal/battery"
	"fettle/internal/buildfile"
	"fettle/internal/cranking"
	"fettle/internal/dcnet"
	"fettle/internal/dcnet/dcnettest"
	"fettle/internal/design"
	"fettle/internal/figure"
)

// TestSpiceBackFeed holds the voltage that a charge lamp feeds back into the
// controller's switched supply with the key off against ngspice: the key-on
// network with the key's contacts open, terminal 61 as a source behind the lamp,
// the tachometer's signal as a resistor, and what the relays were found to do.
func TestSpiceBackFeed(t *testing.T) {
	needSpice(t)
	for _, r := range []struct {
		lamp   string
		runsOn bool
	}{{"3 W", false}, {"20 W", true}} {
		edits := append(slices.Clone(mended),
			buildfile.Edit{Path: []string{"electrical", "alternator excited by"}, Text: "lamp"},
			buildfile.Edit{Path: []string{"electrical", "charge lamp"}, Text: r.lamp})
		v := camper(t, edits...)
		res := solved(t, v)
		k := res.KeyOff
		if !k.Ended.OK || k.RunsOn != r.runsOn {
			t.Fatalf("%s: runs on %v, want %v: %s", r.lamp, k.RunsOn, r.runsOn, k.Ended.Why)
		}
		s := res.State(design.KeyOn)
		tw := keyOffTwin(t, v, s, k)
		dir := t.TempDir()
		write(t, filepath.Join(dir, "off.cir"), tw.Deck("key off", nil, 0))
		write(t, filepath.Join(dir, "run.cir"), "off\n.control\nset filetype=ascii\nset numdgt=12\nsource off.cir\nop\nwrite off.raw all\nquit\n.endc\n.end\n")
		cmd := exec.Command("ngspice", "-b", "run.cir")
		cmd.Dir = dir
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Logf("ngspice ended with %v: %s", err, out[max(0, len(out)-2000):])
		}
		theirs := readRaw(t, filepath.Join(dir, "off.raw"))
		var out KeyOff
		a, b := v.net.Ends(v.switchedLoad(&out))
		want := theirs[fmt.Sprintf("v(n%d)", int(a))] - theirs[fmt.Sprintf("v(n%d)", int(b))]
		if !(math.Abs(k.SwitchedV-want) <= 1e-4) { // what is off holds by 10 MΩ here, by nothing there
			t.Errorf("%s: %.6f V at the switched supply, ngspice %.6f V", r.lamp, k.SwitchedV, want)
		}
		t.Logf("%s: %.6f V at the switched supply, ngspice %.6f V; held %v", r.lamp, k.SwitchedV, want, k.Held)
	}
}

// keyOffTwin builds the key-on circuit anew with the key off.
func keyOffTwin(t *testing.T, v *Vehicle, s *State, k *KeyOff) *dcnettest.Twin {
	t.Helper()
	tw := baseTwin(v)
	w, d := v.worker(), figure.Draw{}
	parts, err := v.parts(d, w.net)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.setSources(d, s.Name, parts); err != nil {
		t.Fatal(err)
	}
	for i := range v.links {
		l := &v.links[i]
		a, b := v.net.Ends(l.id)
		ohm := v.linkOhm(v.linkBase(d, l), v.airK(d, s.Name), s.Name)
		switch {
		case l.on == nil:
			tw.Wire(a, b, ohm)
		case l.relay != nil:
			tw.Switch(a, b, ohm, slices.Contains(k.Held, l.relay.Name))
		default:
			tw.Switch(a, b, ohm, contains(l.on, design.AfterRun))
		}
	}
	plus, minus := v.net.Ends(v.battery)
	tw.Battery(plus, minus, parts.Battery.OpenV, parts.Battery.Ohm)
	for _, f := range v.fives {
		plus, minus = v.net.Ends(f.id)
		tw.Battery(plus, minus, v.k.fiveV.SI, v.k.fiveOhm.SI)
	}
	from, ohm, _, _ := v.exciter()
	tw.Battery(v.nodes[from], v.nodes[v.caseNode(v.Design.One("alternator"))], parts.Charger.SetV, ohm)
	tw.Wire(v.nodes["feed ignition"], v.nodes["tachometer 15"], tachOhm)
	for _, c := range v.consumers {
		a, b := v.net.Ends(c.id)
		m := v.load(d, c, s.Name, s.Live)
		if c.load != nil {
			switch c.load.Model {
			case "pump", "injector", "coil", "starter":
				m = nil // dead or unfed behind the relays; what little they draw moves the post only
			}
		}
		if m == nil || m == (dcnet.Current{}) || c.name == excitationName || c.coil != nil && !slices.Contains(k.Held, c.coil.Name) {
			tw.Wire(a, b, 1e7)
			continue
		}
		tw.Load(a, b, m)
	}
	return tw
}

func baseTwin(v *Vehicle) *dcnettest.Twin {
	tw := dcnettest.NewTwin()
	for tw.Net.NodeCount() < v.net.NodeCount() {
		tw.Node()
	}
	return tw
}

// TestSpiceCrankingCamper holds the first second of the mended camper's cold start
// against ngspice: the whole loom, the battery that polarises, starter and engine.
// The pump stands there with its steady current. Voltages at the controller, coil
// and injector within 1 % of ngspice's at every millisecond.
func TestSpiceCrankingCamper(t *testing.T) {
	needSpice(t)
	v := camper(t, mended...)
	s := solved(t, v).State(design.Cranking)
	st := s.Start
	if !st.Ended.OK {
		t.Fatal(st.Ended.Why)
	}
	dir := t.TempDir()
	var names []string
	courses := [][]float64{st.ControllerV, st.CoilV, st.InjectorV}
	w := v.worker()
	parts, err := v.parts(figure.Draw{}, w.net)
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range w.watched(parts, s) {
		a, b := v.net.Ends(id)
		names = append(names, "v("+dcnettest.Name(a)+")", "v("+dcnettest.Name(b)+")")
	}
	write(t, filepath.Join(dir, "start.cir"), startTwin(t, v, s).Start("start", s.Point.Net.Dead, startForS, 1e-3, "out.txt", names...))
	cmd := exec.Command("ngspice", "-b", "start.cir")
	cmd.Dir = dir
	said, runErr := cmd.CombinedOutput()
	text, err := os.ReadFile(filepath.Join(dir, "out.txt"))
	if err != nil {
		t.Fatalf("ngspice wrote nothing (%v): %s", runErr, said[max(0, len(said)-2000):])
	}
	worst, points := make([]float64, len(courses)), 0
	for line := range strings.Lines(string(text)) {
		x := make([]float64, 1+len(names))
		for k, f := range strings.Fields(line) {
			if x[k], err = strconv.ParseFloat(f, 64); err != nil {
				t.Fatal(err)
			}
		}
		if x[0] < 1e-3 {
			continue // the first points after uic
		}
		points++
		for k, of := range courses {
			want := x[1+2*k] - x[2+2*k]
			worst[k] = max(worst[k], math.Abs(at(st.Course.TimeS, of, x[0])-want)/want)
		}
	}
	for k, what := range []string{"controller", "coil", "injector"} {
		if !(worst[k] <= 0.01) {
			t.Errorf("%s: off by %.3f %%", what, 100*worst[k])
		}
		t.Logf("%s: off by at most %.3f %% over %d points, lowest %.3f V", what, 100*worst[k], points, slices.Min(courses[k]))
	}
	if points < 990 {
		t.Errorf("only %d points were compared", points)
	}
}

// at reads a course at a time.
func at(timeS, of []float64, s float64) float64 {
	k := min(max(sort.SearchFloat64s(timeS, s)-1, 0), len(of)-2)
	return of[k] + (s-timeS[k])/(timeS[k+1]-timeS[k])*(of[k+1]-of[k])
}

// startTwin builds the cranking circuit anew, with what moves in it.
func startTwin(t *testing.T, v *Vehicle, s *State) *dcnettest.Twin {
	t.Helper()
	tw := baseTwin(v)
	w, d := v.worker(), figure.Draw{}
	parts, err := v.parts(d, w.net)
	if err != nil {
		t.Fatal(err)
	}
	bs, err := w.set(d, s.Name, parts)
	if err != nil {
		t.Fatal(err)
	}
	for i := range v.links {
		l := &v.links[i]
		a, b := v.net.Ends(l.id)
		ohm := v.linkOhm(v.linkBase(d, l), v.airK(d, s.Name), s.Name)
		if l.on == nil {
			tw.Wire(a, b, ohm)
			continue
		}
		tw.Switch(a, b, ohm, v.closed(l, s.Name))
	}
	p := battery.Split(parts.Battery.Ohm)
	plus, minus := v.net.Ends(v.battery)
	tw.Polarising(plus, minus, dcnettest.StartBattery{
		RestV: parts.Battery.OpenV, AtOnceOhm: p.AtOnceOhm, FastOhm: p.FastOhm, FastS: p.FastS, SlowOhm: p.SlowOhm, SlowS: p.SlowS,
		BeganA: s.Start.Course.BatteryA[0],
	})
	for _, f := range v.fives {
		plus, minus = v.net.Ends(f.id)
		tw.Battery(plus, minus, v.k.fiveV.SI, v.k.fiveOhm.SI)
	}
	for _, c := range v.consumers {
		a, b := v.net.Ends(c.id)
		m := v.load(d, c, s.Name, s.Live)
		amps, _ := s.ConsumerA(c.name)
		model := ""
		if c.load != nil {
			model = c.load.Model
		}
		switch model {
		case "starter":
			tw.Cranked(a, b, startMachine(v.machine(d, parts, bs)))
			continue
		case "pump":
			m = dcnet.Current{CurrentA: amps, DropOutV: 1e-3}
		case "coil":
			m = dcnet.Current{CurrentA: amps, DropOutV: 5}
		case "injector":
			m = dcnet.Average{Model: dcnet.Resistance{Ohm: c.load.Ohm.SI}, DutyFrac: s.Point.DutyFrac}
		}
		if m == nil || m == (dcnet.Current{}) {
			tw.Wire(a, b, 1e7)
			continue
		}
		tw.Load(a, b, m)
	}
	return tw
}

func startMachine(m cranking.Machine) dcnettest.StartMachine {
	still := m.LoadNm(0)
	return dcnettest.StartMachine{
		Ohm: m.Motor.Ohm, InductanceH: m.InductanceH, BrushV: m.Motor.BrushV, FluxVS: m.Motor.FluxVS, SaturationA: m.Motor.SaturationA, LossNm: m.Motor.LossNm,
		GearRatio: m.GearRatio, MeshFrac: 0.9, InertiaKgM2: m.InertiaKgM2, StillNm: still, NmPerRadPerS: m.LoadNm(1) - still,
		BoreM: m.Engine.BoreM, StrokeM: m.Engine.StrokeM, RodM: m.Engine.RodM, CompressionRatio: m.Engine.CompressionRatio, Cylinders: m.Engine.CylinderCount,
		AmbientPa: m.AmbientPa, ChargePa: m.ChargePa, ExponentRatio: 1.25, ShutRad: m.ShutRad,
	}
}
