package petrol

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestStoichRatio(t *testing.T) {
	const formula = "Heywood equation 3.6, recomputed"
	for _, r := range []struct {
		name          string
		c, h, o, want float64
		tol           float64 // relative: last printed digit unless said
		source        string
	}{
		{"iso-octane", 8, 18, 0, 15.13, 4e-4, formula},
		{"n-heptane", 7, 16, 0, 15.18, 4e-4, formula},
		{"CH1.87", 1, 1.87, 0, 14.60, 4e-4, formula},
		{"CH1.85", 1, 1.85, 0, 14.57, 4e-4, formula},
		{"toluene", 7, 8, 0, 13.50, 4e-4, formula},
		{"ethanol", 2, 6, 1, 9.00, 6e-4, formula},
		{"methanol", 1, 4, 1, 6.47, 8e-4, formula},
		{"propane", 3, 8, 0, 15.68, 4e-4, formula},
		{"methane", 1, 4, 0, 17.23, 4e-4, formula},
		{"hydrogen", 0, 2, 0, 34.3, 2e-3, formula},
		{"ethanol, table", 2, 6, 1, 9, 1e-3, "US Department of Energy, properties of fuels"},
		{"petrol, table", 1, 1.87, 0, 14.7, 1e-2, "US Department of Energy, properties of fuels"},
		{"heptane, 21 % by volume", 7, 16, 0, 15.11, 1e-2, "Mathur & Sharma, example 8.5"},
		{"heptane, 23 % by mass", 7, 16, 0, 15.30, 1e-2, "Rajput, example 7.4"},
	} {
		got, err := StoichRatio(r.c, r.h, r.o)
		if err != nil || math.Abs(got-r.want) > r.tol*r.want {
			t.Errorf("%s: got %.4f, %v, want %g (%s)", r.name, got, err, r.want, r.source)
		}
	}
}

func TestBlend(t *testing.T) {
	const source = "mass balance of 0.789 and 0.745 g/cm³, recomputed"
	for _, r := range []struct{ phi, want float64 }{
		{0.05, 14.30}, {0.10, 14.01}, {0.20, 13.43}, {0.51, 11.67}, {0.70, 10.62}, {0.85, 9.80}, {1, 9.00},
	} {
		f, err := Blend(r.phi)
		if err != nil || math.Abs(f.StoichRatio-r.want) > 0.008 { // last printed digit and that of the two pure fuels
			t.Errorf("E%g: AFR %.4f, %v, want %g (%s)", 100*r.phi, f.StoichRatio, err, r.want, source)
		}
	}
	w, _ := EthanolMassFrac(0.85)
	f, _ := Blend(0.85)
	for _, r := range []struct {
		name           string
		got, want, tol float64
	}{
		{"mass fraction", w, 0.8572, 1e-4},
		{"density", f.DensityKgPerM3, 782.4, 1e-4},
		{"heating value", f.HeatingJPerKg, 29.3e6, 3e-3},
	} {
		if math.Abs(r.got-r.want) > r.tol*r.want {
			t.Errorf("E85 %s: %g, want %g (%s)", r.name, r.got, r.want, source)
		}
	}
}

// Published ranges: US Department of Energy, properties of fuels.
func TestPublishedProperties(t *testing.T) {
	const btuPerLb = 2326.0
	p, e := Petrol(), Ethanol()
	for _, r := range []struct {
		name           string
		got, low, high float64
	}{
		{"petrol heating value", p.HeatingJPerKg, 18676 * btuPerLb * 0.995, 18676 * btuPerLb * 1.005},
		{"ethanol heating value", e.HeatingJPerKg, 11585 * btuPerLb * 0.995, 11585 * btuPerLb * 1.005},
		{"petrol density", p.DensityKgPerM3, 720, 780},
		{"ethanol density at 15 °C", e.DensityKgPerM3, 785, 796},
		{"petrol latent heat", p.LatentJPerKg, 149 * btuPerLb, 151 * btuPerLb},
		{"ethanol latent heat", e.LatentJPerKg, 395 * btuPerLb, 397 * btuPerLb},
		{"petrol vapour pressure", p.ReidPa, 8 * 6894.76, 15 * 6894.76},
		{"ethanol vapour pressure", e.ReidPa, 2.25 * 6894.76, 2.35 * 6894.76},
	} {
		if r.got < r.low || r.got > r.high {
			t.Errorf("%s: %g outside %g … %g", r.name, r.got, r.low, r.high)
		}
	}
}

// The blend's ratio by mass agrees with the ratio of its elements.
func TestBlendElements(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, err := Blend(rapid.Float64Range(0, 1).Draw(t, "share"))
		if err != nil {
			t.Fatal(err)
		}
		fromAtoms, err := StoichRatio(f.CarbonCount, f.HydrogenCount, f.OxygenCount)
		if err != nil || math.Abs(fromAtoms-f.StoichRatio) > 1e-9*f.StoichRatio {
			t.Fatalf("%+v: %g from atoms, %v", f, fromAtoms, err)
		}
	})
}

func TestRefusals(t *testing.T) {
	for _, phi := range []float64{-0.1, 1.1, math.NaN()} {
		if _, err := Blend(phi); err == nil {
			t.Errorf("Blend(%g) accepted", phi)
		}
	}
	if _, err := StoichRatio(1, 0, 2); err == nil {
		t.Error("carbon dioxide burns")
	}
	if _, err := StoichRatio(-1, 4, 0); err == nil {
		t.Error("negative carbon accepted")
	}
}
