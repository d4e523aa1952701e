package cranking_test

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"fettle/internal/battery"
	"fettle/internal/crank"
	"fettle/internal/cranking"
	"fettle/internal/dcnet"
	"fettle/internal/dcnet/dcnettest"
	"fettle/internal/starter"
)

// start is one vehicle that is cranked, in both forms.
type start struct {
	name    string
	tw      *dcnettest.Twin
	circuit cranking.Circuit
	battery cranking.Battery
	machine cranking.Machine
	watched []dcnet.NodeID
}

// car lays out an invented vehicle: battery and cables, a controller of constant
// power, coils of constant current, lamps, a pump by its curve.
type car struct {
	name                      string
	ccaA, tempK, socFrac      float64
	motor                     starter.Motor
	inductanceH, inertiaKgM2  float64
	engine                    crank.Geometry
	viscosityPaS              float64
	cableOhm, strapOhm, lossA float64
}

var cars = []car{
	{
		"four, mild", 540, 288.15, 0.9,
		starter.Motor{Ohm: 0.011, BrushV: 1, FluxVS: 0.026, LossNm: 2.2},
		80e-6, 0.9,
		crank.Geometry{BoreM: 0.081, StrokeM: 0.0864, RodM: 0.144, CompressionRatio: 10, CylinderCount: 4},
		0.2, 1.2e-3, 0.8e-3, 4,
	},
	{
		"five, cold", 640, 258.15, 0.85,
		starter.Motor{Ohm: 0.011, BrushV: 1, FluxVS: 0.026, LossNm: 2.3},
		80e-6, 1.1,
		crank.Geometry{BoreM: 0.0825, StrokeM: 0.0928, RodM: 0.144, CompressionRatio: 10.2, CylinderCount: 5},
		2.5, 1.0e-3, 0.7e-3, 6,
	},
	{
		"eight, series field, thin cables", 800, 263.15, 0.7,
		starter.Motor{Ohm: 0.008, BrushV: 1.2, FluxVS: 0.05, SaturationA: 250, LossNm: 1.5},
		150e-6, 1.6,
		crank.Geometry{BoreM: 0.1, StrokeM: 0.085, RodM: 0.15, CompressionRatio: 9.3, CylinderCount: 8},
		1.5, 4e-3, 3e-3, 10,
	},
	{
		"twin, nearly flat", 300, 273.15, 0.35,
		starter.Motor{Ohm: 0.02, BrushV: 0.9, FluxVS: 0.03, LossNm: 1.5},
		60e-6, 0.35,
		crank.Geometry{BoreM: 0.077, StrokeM: 0.07, RodM: 0.13, CompressionRatio: 8, CylinderCount: 2},
		0.6, 2e-3, 2e-3, 2,
	},
}

func (c car) start(t *testing.T) start {
	t.Helper()
	rest, err := battery.OpenV(c.socFrac, c.tempK)
	if err != nil {
		t.Fatal(err)
	}
	inner, err := battery.InternalOhm(c.ccaA, c.tempK, c.socFrac)
	if err != nil {
		t.Fatal(err)
	}
	p := battery.Split(inner)
	b := cranking.Battery{RestV: rest, AtOnceOhm: p.AtOnceOhm, FastOhm: p.FastOhm, FastS: p.FastS, SlowOhm: p.SlowOhm, SlowS: p.SlowS}
	swept := c.engine.DisplacementM3()
	m := cranking.Machine{
		Motor: c.motor, InductanceH: c.inductanceH, GearRatio: 13, InertiaKgM2: c.inertiaKgM2, Engine: c.engine,
		LoadNm:    func(w float64) float64 { return starter.LoadNm(swept, c.viscosityPaS, w) },
		AmbientPa: 101325, ChargePa: 98000, ShutRad: 2.3,
	}
	tw := dcnettest.NewTwin()
	post, box, control, coil, lamp, pump, engine := tw.Node(), tw.Node(), tw.Node(), tw.Node(), tw.Node(), tw.Node(), tw.Node()
	tw.Wire(post, box, 0.004)
	tw.Wire(box, control, 0.06)
	tw.Wire(box, coil, 0.04)
	tw.Wire(box, lamp, 0.08)
	tw.Wire(box, pump, 0.09)
	tw.Wire(engine, dcnet.Reference, c.strapOhm)
	started := tw.Node()
	tw.Wire(post, started, c.cableOhm)
	ctl := tw.Load(control, engine, dcnet.Power{PowerW: 12, DropOutV: 6})
	spark := tw.Load(coil, engine, dcnet.Current{CurrentA: c.lossA, DropOutV: 5})
	tw.Load(lamp, dcnet.Reference, dcnet.Resistance{Ohm: 3})
	tw.Load(pump, dcnet.Reference, dcnet.Curve{VoltageV: []float64{0, 4, 10, 16}, CurrentA: []float64{0, 2, 5, 7}})
	bat := tw.Polarising(post, dcnet.Reference, dcnettest.StartBattery{
		RestV: b.RestV, AtOnceOhm: b.AtOnceOhm, FastOhm: b.FastOhm, FastS: b.FastS, SlowOhm: b.SlowOhm, SlowS: b.SlowS, BeganA: beganA(t, tw, post, b),
	})
	atRest, perSpeed := m.LoadNm(0), m.LoadNm(1)-m.LoadNm(0)
	sta := tw.Cranked(started, engine, dcnettest.StartMachine{
		Ohm: c.motor.Ohm, InductanceH: c.inductanceH, BrushV: c.motor.BrushV, FluxVS: c.motor.FluxVS, SaturationA: c.motor.SaturationA, LossNm: c.motor.LossNm,
		GearRatio: 13, MeshFrac: 0.9, InertiaKgM2: c.inertiaKgM2, StillNm: atRest, NmPerRadPerS: perSpeed,
		BoreM: c.engine.BoreM, StrokeM: c.engine.StrokeM, RodM: c.engine.RodM, CompressionRatio: c.engine.CompressionRatio, Cylinders: c.engine.CylinderCount,
		AmbientPa: m.AmbientPa, ChargePa: m.ChargePa, ExponentRatio: 1.25, ShutRad: m.ShutRad,
	})
	return start{
		name: c.name, tw: tw, battery: b, machine: m, watched: []dcnet.NodeID{control, coil, engine},
		circuit: cranking.Circuit{Net: tw.Net, Switches: tw.Sw, Battery: bat, Starter: sta, Watch: []dcnet.ElementID{ctl, spark}},
	}
}

// beganA is what flows with the key on, from the static network.
func beganA(t *testing.T, tw *dcnettest.Twin, post dcnet.NodeID, b cranking.Battery) float64 {
	t.Helper()
	n := tw.Net.Clone()
	id := n.Source("battery", post, dcnet.Reference, b.RestV, b.AtOnceOhm)
	s, e := n.Solve(tw.Sw, nil)
	if !e.OK {
		t.Fatal(e.Why)
	}
	return -s.ElementA(id)
}

// TestSpiceCranking holds the whole course of four starts against ngspice:
// voltages at controller and coil, the starter's current, the crankshaft's
// speed, each within 1 % of its greatest value at every millisecond, and the
// lowest voltages within 1 %.
func TestSpiceCranking(t *testing.T) {
	if _, err := exec.LookPath("ngspice"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("ngspice is not installed")
		}
		t.Skip("ngspice is not installed: apt install ngspice")
	}
	const forS = 1.0
	for i, c := range cars {
		t.Run(c.name, func(t *testing.T) {
			st := c.start(t)
			got, e := cranking.Run(st.circuit, st.battery, st.machine, forS)
			if !e.OK {
				t.Fatal(e.Why)
			}
			v := func(k int) string { return "v(" + dcnettest.Name(st.watched[k]) + ")" }
			theirs := runSpice(t, fmt.Sprintf("start%d", i), st.tw, forS, v(0), v(1), v(2), "i(vstart)", "v(speed)")
			across := func(k int) []float64 {
				out := make([]float64, len(theirs[0]))
				for j := range out {
					out[j] = theirs[1+k][j] - theirs[3][j]
				}
				return out
			}
			for _, x := range []struct {
				what         string
				ours, theirs []float64
			}{
				{"controller V", got.WatchV[0], across(0)},
				{"coil V", got.WatchV[1], across(1)},
				{"starter A", got.StarterA, theirs[4]},
				{"crankshaft rad/s", got.SpeedRadPerS, theirs[5]},
			} {
				compare(t, x.what, got.TimeS, x.ours, theirs[0], x.theirs)
			}
			ours, at := got.LowestV(got.WatchV[0])
			want := least(across(0))
			if math.Abs(ours-want) > 0.01*want {
				t.Errorf("lowest at the controller %.4f V, ngspice %.4f V", ours, want)
			}
			t.Logf("lowest at the controller %.4f V after %.1f ms, ngspice %.4f V; below 7 V for %.1f ms", ours, 1e3*at, want, 1e3*got.BelowS(got.WatchV[0], 7))
		})
	}
}

func least(x []float64) float64 {
	out := x[0]
	for _, y := range x {
		out = min(out, y)
	}
	return out
}

func compare(t *testing.T, what string, ourS, ours, theirS, theirs []float64) {
	t.Helper()
	scale, worst, at := 0.0, 0.0, 0.0
	for _, y := range theirs {
		scale = max(scale, math.Abs(y))
	}
	k := 0
	for j, s := range theirS {
		if s < 1e-3 { // ngspice's first points after uic
			continue
		}
		for k < len(ourS)-2 && ourS[k+1] < s {
			k++
		}
		f := (s - ourS[k]) / (ourS[k+1] - ourS[k])
		x := ours[k] + f*(ours[k+1]-ours[k])
		if d := math.Abs(x - theirs[j]); d > worst {
			worst, at = d, s
		}
	}
	if !(worst <= 0.01*scale) {
		t.Errorf("%s: off by %.4g at %.1f ms, of %.4g", what, worst, 1e3*at, scale)
	}
	t.Logf("%s: off by at most %.3f %% of %.4g", what, 100*worst/scale, scale)
}

// runSpice returns the vectors, the first of them time.
func runSpice(t *testing.T, name string, tw *dcnettest.Twin, forS float64, vectors ...string) [][]float64 {
	t.Helper()
	dir := t.TempDir()
	deck := tw.Start(name, nil, forS, 1e-3, "out.txt", vectors...)
	if err := os.WriteFile(filepath.Join(dir, "run.cir"), []byte(deck), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("ngspice", "-b", "run.cir")
	cmd.Dir = dir
	said, err := cmd.CombinedOutput()
	text, readErr := os.ReadFile(filepath.Join(dir, "out.txt"))
	if readErr != nil {
		t.Fatalf("ngspice wrote nothing (%v): %s", err, said[max(0, len(said)-3000):])
	}
	out := make([][]float64, len(vectors)+1)
	for line := range strings.Lines(string(text)) {
		fields := strings.Fields(line)
		if len(fields) != len(out) {
			t.Fatalf("ngspice's line has %d fields, want %d: %s", len(fields), len(out), line)
		}
		for k, f := range fields {
			x, err := strconv.ParseFloat(f, 64)
			if err != nil {
				t.Fatal(err)
			}
			out[k] = append(out[k], x)
		}
	}
	if len(out[0]) < int(forS*1000) {
		t.Fatalf("ngspice gave %d points: %s", len(out[0]), said[max(0, len(said)-3000):])
	}
	return out
}
