package vehicle

import (
	"math"
	"testing"

	"fettle/internal/pipeflow"
)

// TestFuelSides holds the sides of the fuel system against closed forms and handbook values.
func TestFuelSides(t *testing.T) {
	fuel := pipeflow.Fluid{DensityKgPerM3: 745, ViscosityPaS: 0.5e-3}
	const q, d, l = 3e-6, 6e-3, 4.0
	v := q / (math.Pi / 4 * d * d)
	laminar := 128*0.5e-3*l*q/(math.Pi*d*d*d*d) + (0.5+2*0.9+1)*745*v*v/2
	drop, err := ReturnDropPa(l, d, q, fuel)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name           string
		got, want, tol float64
		source         string
	}{
		{"fittings of four elbows", FittingsRatio(4), 0.5 + 4*0.9 + 1.0, 1e-12, "Çengel, Cimbala, Fluid Mechanics, 1st ed. 2006, table 8-4: sharp entry 0.5, threaded elbow 0.9, exit 1.0 (turbulent)"},
		{"laminar return line", drop, laminar, 1e-9, "Hagen and Poiseuille, and ΣK ρ v²/2; Re = 950"},
		{"cold day", ColdKgPerS(1, 298.15, 273.15, 0.6), 1.0540, 1e-3, "ISO 1585, (T/298)^0.6 at 0 °C (from memory)"},
		{"one metre of water", InletPa(101325, 1000, 1, 0), 101325 - 9806.65, 1e-9, "hydrostatics, standard gravity"},
		{"half the volts", DriveFrac(6, 12), 0.5, 1e-12, "mean of a chopped voltage"},
		{"nothing comes back from a pump that is short", OverflowKgPerS(5e-3, 6e-3), 0, 0, "balance of masses"},
		{"8 % of creep", CreepFrac(24e3, 3e5), 0.08, 1e-12, "definition"},
	} {
		if math.Abs(c.got-c.want) > c.tol*math.Max(1e-3, math.Abs(c.want)) {
			t.Errorf("%s: %g, want %g (%s)", c.name, c.got, c.want, c.source)
		}
	}
	if got, err := ReturnDropPa(l, 0, q, fuel); err == nil {
		t.Errorf("a line without a bore loses %g", got)
	}
}
