package ignition

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

const (
	circuit = "first-order R–L circuit, computed with SciPy 1.10; the first five also with ngspice 39"
	energy  = "½ L i², computed by hand"
)

func near(t *testing.T, name string, got, want, tol float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: %.8g, want %.8g within %.2g (%s)", name, got, want, tol, source)
	}
}

// The rows print four decimals of an ampere or a microsecond: 10⁻⁴ relative.
func TestCharge(t *testing.T) {
	for _, r := range []struct {
		timeS, voltageV, ohm, henry, wantA float64
	}{
		{1e-3, 14, 0.5, 3e-3, 4.2985},
		{2e-3, 14, 0.5, 3e-3, 7.9371},
		{3e-3, 14, 0.5, 3e-3, 11.0171},
	} {
		near(t, fmt.Sprintf("current after %g s", r.timeS), CurrentA(r.timeS, r.voltageV, r.ohm, r.henry), r.wantA, 1e-4, circuit)
	}
	for _, r := range []struct {
		targetA, voltageV, ohm, henry, wantMs float64
	}{
		{7, 14, 0.5, 3e-3, 1.7261},
		{8, 14, 0.5, 3e-3, 2.0188},
		{7, 8, 0.5, 3e-3, 3.452},
		{7, 10, 0.5, 3e-3, 2.585},
		{7, 12, 0.5, 3e-3, 2.069},
		{7, 14, 0.5, 3e-3, 1.726},
		{7, 16, 0.5, 3e-3, 1.481},
		{7, 8, 0.75, 5e-3, 7.119},
		{7, 10, 0.75, 5e-3, 4.963},
		{7, 12, 0.75, 5e-3, 3.836},
		{7, 14, 0.75, 5e-3, 3.133},
		{7, 16, 0.75, 5e-3, 2.651},
	} {
		got, err := DwellS(r.targetA, r.voltageV, r.ohm, r.henry)
		if err != nil {
			t.Errorf("dwell for %g A at %g V: %v", r.targetA, r.voltageV, err)
			continue
		}
		tol := 1e-4
		if r.wantMs == math.Round(r.wantMs*1e3)/1e3 { // three decimals printed
			tol = 0.0005 / r.wantMs
		}
		near(t, fmt.Sprintf("dwell for %g A at %g V", r.targetA, r.voltageV), got*1e3, r.wantMs, tol*1.01, circuit)
	}
	for _, r := range []struct{ henry, currentA, wantJ float64 }{
		{3e-3, 8, 96.0e-3},
		{5e-3, 7, 122.5e-3},
		{7e-3, 6.5, 147.9e-3},
	} {
		near(t, "energy", EnergyJ(r.henry, r.currentA), r.wantJ, 3e-4, energy)
	}
}

func TestAverage(t *testing.T) {
	const ode = "SciPy 1.10 solve_ivp of the coil's circuit with the charge as second state"
	for _, r := range []struct{ dwellS, voltageV, ohm, henry, want float64 }{
		{2.5e-3, 14, 0.5, 3e-3, 0.01275243},
		{4e-3, 13.2, 0.75, 5e-3, 0.01746057},
		{1e-7, 14, 0.5, 3e-3, 2.33332037e-11},
	} {
		near(t, "charge of one dwell", ChargeCoulomb(r.dwellS, r.voltageV, r.ohm, r.henry), r.want, 1e-6, ode)
		got, err := AverageA(r.dwellS, r.voltageV, r.ohm, r.henry, 25)
		if err != nil {
			t.Error(err)
		}
		near(t, "average at 25 sparks/s", got, 25*r.want, 1e-6, ode)
	}
}

func TestAvailableDwell(t *testing.T) {
	rpm := math.Pi / 30
	for _, r := range []struct {
		name                          string
		speedRadPerS, perRev, off, ms float64
	}{
		{"coil on plug 6000 rpm", 6000 * rpm, 0.5, 1e-3, 19},
		{"wasted spark 6000 rpm", 6000 * rpm, 1, 1e-3, 9},
		{"one coil, eight cylinders, 6000 rpm", 6000 * rpm, 4, 1e-3, 1.5},
	} {
		got, err := AvailableDwellS(r.speedRadPerS, r.perRev, r.off)
		if err != nil {
			t.Error(r.name, err)
		}
		near(t, r.name, got*1e3, r.ms, 1e-9, "720° at 6000 rpm are 20 ms, by hand")
	}
	if _, err := AvailableDwellS(6000*rpm, 4, 3e-3); err == nil {
		t.Error("a spark period of 2.5 ms beside 3 ms off gives no error")
	}
}

func TestOutOfReachNamesTheCeiling(t *testing.T) {
	_, err := DwellS(11, 8, 0.75, 5e-3)
	if err == nil || !strings.Contains(err.Error(), "10.67 A") { // 8 V / 0.75 Ω
		t.Errorf("11 A from 8 V across 0.75 Ω: %v, want an error naming 10.67 A", err)
	}
	for _, bad := range [][4]float64{{-1, 12, 1, 1}, {1, 0, 1, 1}, {1, 12, 0, 1}, {1, 12, 1, 0}, {1, 12, math.NaN(), 1}, {math.NaN(), 12, 1, 1}, {1, math.Inf(1), 1, 1}} {
		if got, err := DwellS(bad[0], bad[1], bad[2], bad[3]); err == nil {
			t.Errorf("DwellS%v = %g without error", bad, got)
		}
	}
	if _, err := AverageA(30e-3, 12, 0.5, 3e-3, 50); err == nil {
		t.Error("a dwell of 30 ms in a period of 20 ms gives no error")
	}
}

func TestDwellInvertsCharge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v, r := rapid.Float64Range(6, 16).Draw(t, "V"), rapid.Float64Range(0.2, 4).Draw(t, "Ω")
		l, share := rapid.Float64Range(1e-3, 10e-3).Draw(t, "H"), rapid.Float64Range(0.001, 0.98).Draw(t, "share of ceiling")
		dwell, err := DwellS(share*v/r, v, r, l)
		if err != nil {
			t.Fatal(err)
		}
		if got := CurrentA(dwell, v, r, l); math.Abs(got-share*v/r) > 1e-9*v/r {
			t.Fatalf("current after dwell %g A, want %g A", got, share*v/r)
		}
		// energy drawn = energy stored + energy lost in the winding, so q·V exceeds ½ L i²
		if q := ChargeCoulomb(dwell, v, r, l); q*v <= EnergyJ(l, share*v/r) {
			t.Fatalf("drawn %g J, stored %g J", q*v, EnergyJ(l, share*v/r))
		}
	})
}

// TestNgspice charges the same coil in a circuit simulator.
func TestNgspice(t *testing.T) {
	prog, err := exec.LookPath("ngspice")
	if err != nil {
		t.Skip("ngspice is not installed")
	}
	const netlist = `coil
V1 a 0 DC 13.2
R1 a b 0.62
L1 b 0 4.1m IC=0
.control
set numdgt=12
tran 1u 3m uic
meas tran i find i(L1) at=2.5m
quit
.endc
.end
`
	file := filepath.Join(t.TempDir(), "coil.cir")
	if err := os.WriteFile(file, []byte(netlist), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(prog, "-b", file).CombinedOutput()
	var got float64
	for line := range strings.Lines(string(out)) {
		if name, val, ok := strings.Cut(line, "="); ok && strings.TrimSpace(name) == "i" {
			got, _ = strconv.ParseFloat(strings.TrimSpace(val), 64)
		}
	}
	if got == 0 {
		t.Fatalf("no current from ngspice: %v\n%s", err, out)
	}
	// the simulator's step of 1 µs leaves some 10⁻⁵
	near(t, "current after 2.5 ms", CurrentA(2.5e-3, 13.2, 0.62, 4.1e-3), got, 5e-5, "ngspice transient")
}
