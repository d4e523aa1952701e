package wire

import (
	"fmt"
	"math"
	"testing"
)

func near(t *testing.T, name string, got, want, tol float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: %.8g, want %.8g within %.2g (%s)", name, got, want, tol, source)
	}
}

func TestTemperatureFactor(t *testing.T) {
	const source = "IEC 60028:1925; the form (234.5 + t)/254.5 in FAA AC 43.13-1B p 11-22"
	for _, r := range []struct{ tC, ratio float64 }{
		{0, 0.9214}, {20, 1}, {60, 1.1572}, {70, 1.1965}, {85, 1.2554}, {105, 1.3340}, {125, 1.4126},
	} {
		near(t, fmt.Sprintf("factor at %g °C", r.tC), ResistanceOhm(1, 1, celsius(r.tC)), r.ratio, 1e-4, source)
		// 1/254.5 is 0.003929, printed as 0.00393: the forms agree to four digits
		near(t, fmt.Sprintf("both forms at %g °C", r.tC), ResistanceOhm(1, 1, celsius(r.tC)), (234.5+r.tC)/254.5, 1e-4, source)
	}
}

func TestGauge(t *testing.T) {
	const (
		b258  = "ASTM B258, formula and its points"
		table = "wire gauge table, wp.1728.org p 4314, printed to three digits or so"
	)
	for _, r := range []struct {
		gauge          int
		diaMm, areaMm2 float64
	}{
		{-3, 11.684, 107.22}, {10, 2.5882, 5.2612}, {14, 1.6277, 2.0809}, {18, 1.0237, 0.8230}, {20, 0.8118, 0.5176}, {24, 0.5106, 0.2047},
	} {
		d, err1 := AWGDiameterM(r.gauge)
		a, err2 := AWGAreaM2(r.gauge)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		near(t, fmt.Sprintf("diameter of %d AWG", r.gauge), d*1e3, r.diaMm, 1e-4, b258)
		near(t, fmt.Sprintf("area of %d AWG", r.gauge), a*1e6, r.areaMm2, 1.5e-4, b258)
	}
	for _, r := range []struct {
		gauge    int
		milliOhm float64
		tol      float64
		source   string
	}{
		{-3, 0.161, 2e-3, b258},
		{2, 0.513, 1e-3, b258},
		{4, 0.815, 1e-3, b258},
		{8, 2.061, 3e-4, b258},
		{10, 3.277, 2e-4, b258},
		{12, 5.211, 2e-4, b258},
		{14, 8.285, 1e-4, b258},
		{16, 13.17, 4e-4, b258},
		{18, 20.95, 3e-4, b258},
		{20, 33.31, 2e-4, b258},
		{22, 52.96, 2e-4, b258},
		{10, 3.28, 2e-3, table},
		{14, 8.28, 1e-3, table},
		{18, 20.94, 1e-3, table},
		{20, 33.29, 1e-3, table},
	} {
		a, err := AWGAreaM2(r.gauge)
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("resistance of %d AWG", r.gauge), SolidOhmPerM(a)*1e3, r.milliOhm, r.tol, r.source)
	}
	for _, g := range []int{-4, 41} {
		if d, err := AWGDiameterM(g); err == nil {
			t.Errorf("%d AWG: %g m without error", g, d)
		}
		if a, err := AWGAreaM2(g); err == nil {
			t.Errorf("%d AWG: %g m² without error", g, a)
		}
	}
}

func TestDrop(t *testing.T) {
	const (
		worked = "10 A, 2.5 mm², 5 m out and 5 m back, resistance by IEC 60228 class 5 and ISO 6722"
		faa    = "FAA AC 43.13-1B CHG 1 p 11-22, tables 11-7 and 11-8 (rows that are not misprinted)"
		hot    = "FAA AC 43.13-1B pp 11-22 and 11-27, example 2: 15.5 ft cold are 9.48 ft at 181.6 °C"
	)
	for _, r := range []struct {
		name                       string
		ohmPerM, lengthM, tC, i, v float64
		tol                        float64
		source                     string
	}{
		{"IEC 20 °C", 7.98e-3, 10, 20, 10, 0.798, 1e-9, worked},
		{"ISO 20 °C", 7.60e-3, 10, 20, 10, 0.760, 1e-9, worked},
		{"IEC 70 °C", 7.98e-3, 10, 70, 10, 0.798 * 1.1965, 1e-4, worked},
		{"ISO 70 °C", 7.60e-3, 10, 70, 10, 0.760 * 1.1965, 1e-4, worked},
		// in ohms per foot and feet, which cancel
		{"107 ft 20 A", 0.00044, 107, 20, 20, 0.942, 6e-4, faa},
		{"90 ft 20 A", 0.00028, 90, 20, 20, 0.504, 6e-4, faa},
		{"88 ft 20 A", 0.00202, 88, 20, 20, 3.555, 6e-4, faa + "; the page rounds to 3.60"},
		{"100 ft 20 A", 0.00306, 100, 20, 20, 6.12, 6e-4, faa},
		{"39 ft 20 A", 0.00126, 39, 20, 20, 0.983, 6e-4, faa},
		{"156 ft 20 A", 0.00126, 156, 20, 20, 3.93, 6e-4, faa},
		{"273 ft 20 A", 0.00126, 273, 20, 20, 6.88, 6e-4, faa},
	} {
		near(t, r.name, DropV(r.i, ResistanceOhm(r.lengthM, r.ohmPerM, celsius(r.tC))), r.v, r.tol, r.source)
	}
	near(t, "hot length", ResistanceOhm(9.48, 1, celsius(181.6)), ResistanceOhm(15.5, 1, celsius(20)), 1e-3, hot)
}

func TestWithstand(t *testing.T) {
	const kTable = "IEC 60949 / IEC 60364-5-54 table of k, mycableengineering.com p 712; printed to three digits"
	for _, r := range []struct{ startC, endC, k float64 }{
		{70, 160, 115}, {70, 140, 103}, {90, 160, 100}, {90, 140, 86}, {90, 250, 143}, {60, 200, 141}, {85, 220, 134},
	} {
		k, err := WithstandASqrtSPerM2(celsius(r.startC), celsius(r.endC))
		if err != nil || math.Abs(k/1e6-r.k) > 0.5 { // half the last printed digit
			t.Errorf("k from %g to %g °C: %.2f (%v), want %g (%s)", r.startC, r.endC, k/1e6, err, r.k, kTable)
		}
	}
	const times = "k = 115 by IEC 60364-5-54 for PVC from 70 to 160 °C: t = (115·A/I)²"
	for _, r := range []struct{ areaMm2, i, wantS float64 }{{1, 100, 1.3225}, {2.5, 200, 2.066}, {0.5, 50, 1.3225}} {
		got, err := AdiabaticTimeS(r.areaMm2*1e-6, r.i, celsius(70), celsius(160))
		if err != nil {
			t.Error(err)
		}
		near(t, fmt.Sprintf("%g mm² at %g A", r.areaMm2, r.i), got, r.wantS, 1e-3, times) // 115 stands for 115.02
	}
	// Onderdonk's fusing current of 20 AWG from 40 °C to the melting point.
	const onderdonk = "Onderdonk: I = A·√(lg(1 + (1083 − Ta)/(234 + Ta))/(33 t)), from memory; agrees with the 226 form to 0.3 %"
	for _, r := range []struct{ timeS, amps float64 }{{0.1, 464}, {1, 146.8}, {4.999, 65.66}} {
		a, _ := AWGAreaM2(20)
		got, err := AdiabaticTimeS(a, r.amps, celsius(40), celsius(1083))
		if err != nil {
			t.Error(err)
		}
		near(t, fmt.Sprintf("fusing at %g A", r.amps), got, r.timeS, 6e-3, onderdonk)
	}
	for _, bad := range [][4]float64{
		{1e-6, 30, 343, 433},         // 15 s
		{1e-6, 100, 433, 343},        // falling
		{1e-6, 100, 70, 160},         // in °C
		{0, 100, 343, 433},           // no copper
		{1e-6, 0, 343, 433},          // no current
		{1e-6, 100, math.NaN(), 433}, //
		{1e-6, math.NaN(), 343, 433}, //
	} {
		if got, err := AdiabaticTimeS(bad[0], bad[1], bad[2], bad[3]); err == nil {
			t.Errorf("AdiabaticTimeS%v = %g without error", bad, got)
		}
	}
}
