package relay

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func celsius(c float64) float64 { return c + 273.15 }

func near(t *testing.T, name string, got, want, tol float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: %.6g, want %.6g within %.2g (%s)", name, got, want, tol, source)
	}
}

const (
	sheetB  = "TE Power Relay B data sheet (xonelec.com, mpn/teconnectivity/219040256)"
	sheetF4 = "TE Power Relay F4 A data sheet (xonelec.com)"
	sheetG  = "Omron G8JN data sheet"
)

func TestCoil(t *testing.T) {
	// printed to three digits
	near(t, "85 Ω at 12 V", CoilCurrentA(12, 85, 293.15), 0.141, 4e-3, sheetB)
	near(t, "85 Ω at 12 V, power", 12*CoilCurrentA(12, 85, 293.15), 1.7, 4e-3, sheetB)
	near(t, "75 Ω at 12 V, power", 12*CoilCurrentA(12, 75, 293.15), 1.9, 0.015, sheetB+", prints 1.9 W")
	near(t, "68 Ω at 12 V", CoilCurrentA(12, 68, 293.15), 0.176, 4e-3, sheetG)
	const iec = "IEC 60028:1925: R(T)/R20 as tabulated"
	for _, r := range []struct{ tC, ratio float64 }{{0, 0.9214}, {60, 1.1572}, {70, 1.1965}, {85, 1.2554}, {105, 1.3340}, {125, 1.4126}} {
		near(t, "coil resistance", CoilOhm(1, celsius(r.tC)), r.ratio, 1e-4, iec)
		near(t, "pull-in voltage of 8 V", PullInV(8, celsius(r.tC)), 8*r.ratio, 1e-4, iec+", ampere-turns constant")
		near(t, "release voltage of 1 V", ReleaseV(1, celsius(r.tC)), r.ratio, 1e-4, iec+", ampere-turns constant")
	}
	near(t, "winding at 85 °C, 14 V, 85 Ω, 60 K/W", WindingK(celsius(85), 14, 85, 60), 444.83143804282474, 1e-9, "SciPy 1.10 brentq of the heat balance")
}

func TestContactDrop(t *testing.T) {
	near(t, "typical 1.5 mΩ at 10 A", ContactDropV(10, 1.5e-3), 15e-3, 1e-9, sheetB+": 15 mV typical at 10 A")
	near(t, "greatest 20 mΩ at 10 A", ContactDropV(10, 20e-3), 200e-3, 1e-9, sheetB+": 200 mV at most at 10 A")
}

func TestContactLimit(t *testing.T) {
	type row struct{ tC, wantA float64 }
	for _, r := range []struct {
		name, source string
		rows         []row
	}{
		{"form A", sheetF4, []row{{23, 60}, {85, 40}, {125, 17}}},
		{"form B", sheetF4, []row{{23, 45}, {85, 30}, {125, 12}}},
		{"mini", sheetB, []row{{23, 50}, {85, 35}, {125, 15}}},
	} {
		var in []Row
		for _, p := range r.rows {
			in = append(in, Row{celsius(p.tC), p.wantA})
		}
		l, err := NewLimit(in...)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range r.rows {
			got, err := l.AtA(celsius(p.tC))
			if err != nil {
				t.Errorf("%s at %g °C: %v", r.name, p.tC, err)
			}
			near(t, r.name, got, p.wantA, 1e-9, r.source)
		}
		mid, err := l.AtA(celsius(105)) // half way from 85 to 125 °C
		if err != nil {
			t.Error(err)
		}
		near(t, r.name+" at 105 °C", mid, (r.rows[1].wantA+r.rows[2].wantA)/2, 1e-9, "mean of the neighbours, by hand")
		if cold, err := l.AtA(celsius(-20)); err != nil || cold != r.rows[0].wantA {
			t.Errorf("%s at -20 °C: %g A, %v; want the first row's %g A", r.name, cold, err, r.rows[0].wantA)
		}
		if got, err := l.AtA(celsius(126)); err == nil {
			t.Errorf("%s at 126 °C: %g A without error", r.name, got)
		}
	}
	for _, bad := range [][]Row{nil, {{300, 0}}, {{300, 10}, {300, 9}}, {{300, 10}, {310, 11}}, {{math.NaN(), 1}}, {{300, math.Inf(1)}}} {
		if _, err := NewLimit(bad...); err == nil {
			t.Errorf("rows %v accepted", bad)
		}
	}
	if _, err := (Limit{}).AtA(300); err == nil {
		t.Error("a limit without rows answers")
	}
}

func TestLimitFallsWithTemperature(t *testing.T) {
	l, err := NewLimit(Row{celsius(23), 60}, Row{celsius(85), 40}, Row{celsius(125), 17})
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(240, 398).Draw(t, "cooler"), rapid.Float64Range(0, 50).Draw(t, "hotter by")
		x, err1 := l.AtA(a)
		y, err2 := l.AtA(math.Min(a+b, celsius(125)))
		if err1 != nil || err2 != nil || y > x || y < 17 || x > 60 {
			t.Fatalf("%g A at %g K (%v), %g A at %g K (%v)", x, a, err1, y, a+b, err2)
		}
	})
}
