package crank

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

const deg = math.Pi / 180

func near(t *testing.T, name string, got, want, tol float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: got %.6g, want %.6g within %g (%s)", name, got, want, tol, source)
	}
}

// A 3 litre square V6, compression ratio 9, rod 172 mm, 3000 rpm, 20° after
// top dead centre. The page prints three digits, hence 1 %.
func TestTextbookEngine(t *testing.T) {
	const source = "H N Gupta, Fundamentals of Internal Combustion Engines, example 16.1"
	bore := math.Cbrt(3e-3 / 6 * 4 / math.Pi)
	g := Geometry{6, bore, bore, 0.172, 9}
	w := 3000 * 2 * math.Pi / 60
	near(t, "bore", bore, 86.03e-3, 1e-4, source)
	near(t, "mean piston speed", g.MeanPistonMPerS(w), 8.60, 1e-3, source)
	near(t, "clearance", g.ClearanceM3(), 62.5e-6, 1e-3, source)
	near(t, "piston speed", g.PistonMPerS(20*deg, w), 5.71, 1e-2, source)
	near(t, "piston travel", g.PistonM(20*deg), 3.22e-3, 1e-2, source)
	near(t, "volume", g.CylinderM3(20*deg), 81.24e-6, 1e-2, source)
	near(t, "displacement", g.DisplacementM3(), 3e-3, 1e-12, source)
}

func TestDynamicRatio(t *testing.T) {
	const source = "slider-crank geometry, recomputed"
	g := Geometry{4, 0.086, 0.086, 0.143, 10.5}
	for closing, want := range map[float64]float64{40: 9.687, 60: 8.670, 80: 7.283, 0: 10.5} {
		got, err := g.DynamicRatio(closing * deg)
		if err != nil {
			t.Error(err)
		}
		near(t, "dynamic ratio", got, want, 1e-4, source)
	}
	if _, err := g.DynamicRatio(-0.1); err == nil {
		t.Error("closing before bottom dead centre accepted")
	}
}

func TestFiringInterval(t *testing.T) {
	for n, want := range map[int]float64{3: 240, 4: 180, 5: 144, 6: 120, 8: 90, 10: 72, 12: 60} {
		got, err := FiringIntervalRad(n)
		if err != nil {
			t.Error(err)
		}
		near(t, "firing interval", got/deg, want, 1e-12, "720° shared by the cylinders")
	}
	if _, err := FiringIntervalRad(0); err == nil {
		t.Error("no cylinders accepted")
	}
}

func TestCheck(t *testing.T) {
	good := Geometry{5, 0.083, 0.093, 0.144, 9.5}
	if err := good.Check(); err != nil {
		t.Error(err)
	}
	for _, spoil := range []func(*Geometry){
		func(g *Geometry) { g.CylinderCount = 0 }, func(g *Geometry) { g.BoreM = 83 }, func(g *Geometry) { g.StrokeM = math.NaN() },
		func(g *Geometry) { g.RodM = 0.04 }, func(g *Geometry) { g.CompressionRatio = 1 },
	} {
		g := good
		spoil(&g)
		if g.Check() == nil {
			t.Errorf("%+v accepted", g)
		}
	}
}

// Volumes stay between clearance and clearance plus swept, repeat with every
// turn, and their slope is the derivative.
func TestVolumeShape(t *testing.T) {
	g := Geometry{4, 0.086, 0.09, 0.145, 10}
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(0, 4*math.Pi).Draw(t, "angle")
		v := g.CylinderM3(a)
		if v < g.ClearanceM3()*(1-1e-12) || v > (g.ClearanceM3()+g.SweptM3())*(1+1e-12) {
			t.Fatalf("volume %g", v)
		}
		if math.Abs(g.CylinderM3(a+2*math.Pi)-v) > 1e-15 {
			t.Fatal("does not repeat")
		}
		const h = 1e-5
		slope := (g.CylinderM3(a+h) - g.CylinderM3(a-h)) / (2 * h)
		if math.Abs(slope-g.VolumeSlopeM3PerRad(a)) > 1e-6*g.SweptM3() {
			t.Fatalf("slope %g, by difference %g", g.VolumeSlopeM3PerRad(a), slope)
		}
	})
}
