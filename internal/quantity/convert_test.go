package quantity_test

import (
	"math"
	"testing"

	"fettle/internal/quantity"
)

const (
	sp811  = "NIST SP 811 (2008) appendix B.8, seven figures as printed"
	memory = "NIST SP 811 (2008) appendix B.8, from memory"
	exact  = "exact by definition of the unit, NIST SP 811 (2008) appendix B.8, bold"
	awgRef = "ASTM B258 diameters, as printed in conductor tables"
)

// TestConversions holds what a literal means against published factors. The
// tolerance is half a unit of the last printed figure.
func TestConversions(t *testing.T) {
	for _, c := range []struct {
		text   string
		kind   quantity.Kind
		want   float64
		tol    float64 // relative
		source string
	}{
		{"1 in", quantity.Length, 0.0254, 1e-15, exact},
		{"1 ft", quantity.Length, 0.3048, 1e-15, exact},
		{"1 mi", quantity.Length, 1609.344, 1e-15, exact},
		{"1 psi", quantity.Pressure, 6894.757, 1e-7, sp811},
		{"1 inHg", quantity.Pressure, 3386.389, 2e-7, sp811 + ", conventional"},
		{"1 mmHg", quantity.Pressure, 133.3224, 4e-7, memory},
		{"1 bar", quantity.Pressure, 1e5, 1e-15, exact},
		{"1 atm", quantity.AbsolutePressure, 101325, 1e-15, exact},
		{"1 inH2O", quantity.Pressure, 249.0889, 2e-7, sp811 + ", conventional"},
		{"1 hp", quantity.Power, 745.6999, 1e-7, sp811},
		{"1 PS", quantity.Power, 735.4988, 1e-7, sp811},
		{"1 kWh", quantity.Energy, 3.6e6, 1e-15, exact},
		{"1 kcal", quantity.Energy, 4186.8, 1e-15, exact},
		{"1 lb", quantity.Mass, 0.4535924, 1e-7, sp811},
		{"1 lbf", quantity.Force, 4.448222, 1e-7, sp811},
		{"1 kgf", quantity.Force, 9.80665, 1e-15, exact},
		{"1 lbf·ft", quantity.Torque, 1.355818, 1e-7, sp811},
		{"1 lbf·in", quantity.Torque, 0.1129848, 5e-7, sp811},
		{"1 lbf/in", quantity.Stiffness, 175.1268, 4e-7, sp811},
		{"1 lb/ft³", quantity.Density, 16.01846, 4e-7, sp811},
		{"1 g/cm³", quantity.Density, 1000, 1e-15, exact},
		{"1 lb/h", quantity.MassFlow, 1.259979e-4, 4e-7, memory},
		{"1 gpm", quantity.VolumeFlow, 6.30902e-5, 1e-6, sp811},
		{"1 gal", quantity.Volume, 3.785412e-3, 2e-7, memory},
		{"1 lb/(hp·h)", quantity.SpecificConsumption, 1.689659e-7, 4e-7, memory},
		{"1 mph", quantity.Speed, 0.44704, 1e-15, exact},
		{"1 km/h", quantity.Speed, 0.2777778, 1e-7, sp811},
		{"1 rpm", quantity.RotationalSpeed, 0.1047198, 5e-7, memory},
		{"1 lb·ft²", quantity.Inertia, 0.04214011, 2e-7, sp811},
		{"1 lb/ft", quantity.MassPerLength, 1.488164, 4e-7, sp811},
		{"1 cP", quantity.DynamicViscosity, 1e-3, 1e-15, exact},
		{"0 °C", quantity.Temperature, 273.15, 1e-15, exact},
		{"32 °F", quantity.Temperature, 273.15, 1e-14, exact},
		{"-40 °F", quantity.Temperature, 233.15, 1e-14, "−40 on both scales"},
		{"9 °F", quantity.TemperatureDifference, 5, 1e-15, exact},
		{"14 AWG", quantity.CableSize, 2.0809e-6, 3e-5, awgRef},
		{"4/0 AWG", quantity.CableSize, 107.22e-6, 5e-5, awgRef},
		{"10 AWG", quantity.CableSize, 5.2612e-6, 1e-5, awgRef},
		{"18 AWG", quantity.CableSize, 0.8230e-6, 6e-5, awgRef},
		{"20 AWG", quantity.CableSize, 0.5176e-6, 1e-4, awgRef},
		{"24 AWG", quantity.CableSize, 0.2047e-6, 3e-4, awgRef},
		{"1600 cmil", quantity.CableSize, 1600 * 5.0671e-10, 1e-5, "1 cmil = 5.0671e-4 mm², marine cable table"},
	} {
		v, err := quantity.Parse(c.text, c.kind)
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if off := math.Abs(v.SI-c.want) / math.Abs(c.want); off > c.tol {
			t.Errorf("%s = %.10g, want %.10g (%s)", c.text, v.SI, c.want, c.source)
		}
	}
}

// TestSpellings holds that the many ways to write one quantity mean the same.
// The source is common practice: all are seen in print or in handwriting.
func TestSpellings(t *testing.T) {
	for _, c := range []struct {
		kind  quantity.Kind
		texts []string
	}{
		{quantity.Pressure, []string{"43.5 psi", "43.5psi", "43.5 PSI", "43.5 psig", "43.5 psi g", "43.5\u00a0psi", "43.5\u202fpsi", " 43.5 psi ", "+43.5 psi", "4.35e1 psi", "43.5 lbf/in²", "43.5 lbf/in2"}},
		{quantity.AbsolutePressure, []string{"1 bar", "1 bar abs", "1 bar(a)", "1 bara", "100 kPa", "100 kpa", "1000 mbar", "100 kPa abs", "1000 hPa", "1 bar a"}},
		{quantity.CableSize, []string{"2.5 mm²", "2.5 mm2", "2.5mm^2", "2.5 sqmm", "2.5 sq mm"}},
		{quantity.CableSize, []string{"14 AWG", "AWG 14", "14AWG", "#14 AWG", "14 awg", "14 ga"}},
		{quantity.CableSize, []string{"4/0 AWG", "0000 AWG", "AWG 4/0"}},
		{quantity.Length, []string{"28.5 in", `28.5"`, "28.5″", "28 1/2 in", "57/2 in", "2 ft 4.5 in", `2' 4.5"`, "723.9 mm", "72.39 cm"}},
		{quantity.Length, []string{"1 ft 6 in", "18 in", "1.5 ft", "1.5 feet"}},
		{quantity.Temperature, []string{"-15 °C", "−15 °C", "-15 C", "-15°C", "- 15 degC", "5 °F", "5 F", "258.15 K"}},
		{quantity.TemperatureDifference, []string{"5 K", "5 °C", "9 °F", "5 C"}},
		{quantity.VolumeFlow, []string{"190 L/h", "190 l/h", "190 lph", "190 LPH", "190 litres per hour", "190 L/hr", "190 L·h⁻¹", "190 L h^-1"}},
		{quantity.VolumeFlow, []string{"440 cc/min", "440 cm³/min", "440 cm3/min", "440 ccm/min", "0.44 L/min", "440 mL/min"}},
		{quantity.SpecificConsumption, []string{"0.45 lb/(hp·h)", "0.45 lb/hp/h", "0.45 lb/hp·h", "0.45 lb/hp-h", "0.45 lb/(hp h)", "0.45 lb/hp h"}},
		{quantity.SpecificConsumption, []string{"280 g/(kW·h)", "280 g/kWh", "280 g/kW/h", "280 g/kW·h", "0.28 kg/kWh"}},
		{quantity.Resistance, []string{"1.2 kΩ", "1.2 kohm", "1200 ohm", "1200 Ω", "1.2 k\u2126", "1200 Ohms", "1200000 mΩ"}},
		{quantity.Torque, []string{"0.35 Nm", "0.35 N·m", "0.35 N m", "0.35 N*m", "0.35 N-m", "350 mN·m"}},
		{quantity.Torque, []string{"110 ft·lb", "110 lb-ft", "110 ft-lb", "110 lbf·ft", "110 ft lb", "110 ftlb", "110 lbf ft"}},
		{quantity.RotationalSpeed, []string{"3000 rpm", "3000 1/min", "3000 /min", "3000 rev/min", "3000 RPM", "3000 min⁻¹", "3 000 rpm", "50 rev/s"}},
		{quantity.Ratio, []string{"0.85", "85 %", "85%", "85 percent"}},
		{quantity.Ratio, []string{"4.1", "4.10:1", "4.1 : 1", "41:10"}},
		{quantity.Capacitance, []string{"2.2 µF", "2.2 μF", "2.2 uF", "2200 nF"}},
		{quantity.Capacity, []string{"70 Ah", "70 A·h", "70 A h", "70000 mAh"}},
		{quantity.Time, []string{"90 min", "1 h 30 min", "1.5 h", "5400 s"}},
		{quantity.TemperatureCoeff, []string{"0.00393 1/K", "0.393 %/K", "0.00393 /K", "0.393 % / °C", "3930 ppm/K"}},
		{quantity.RoadConsumption, []string{"12 L/100 km", "12 l/100km", "0.12 L/km"}},
		{quantity.ResistancePerLength, []string{"8.3 mΩ/m", "8.3 Ω/km", "8.3 ohm/1000 m", "0.0083 ohm/m"}},
		{quantity.Energy, []string{"29 128 J", "29\u202f128 J", "29128 J", "2.9128 × 10⁴ J", "2.9128*10^4 J"}},
		{quantity.Acceleration, []string{"9.80665 m/s²", "1 g", "9.80665 m/s/s", "9.80665 m s⁻²"}},
	} {
		first, err := quantity.Parse(c.texts[0], c.kind)
		if err != nil {
			t.Errorf("%q: %v", c.texts[0], err)
			continue
		}
		for _, text := range c.texts[1:] {
			v, err := quantity.Parse(text, c.kind)
			if err != nil {
				t.Errorf("%q as %s: %v", text, c.kind, err)
			} else if math.Abs(v.SI-first.SI) > 1e-12*math.Abs(first.SI) {
				t.Errorf("%q = %.15g, but %q = %.15g", text, v.SI, c.texts[0], first.SI)
			}
		}
	}
}

// TestTolerance holds the rule that a written tolerance is a bound of two
// standard deviations; the arithmetic is its own source.
func TestTolerance(t *testing.T) {
	for _, c := range []struct {
		text     string
		kind     quantity.Kind
		want, sd float64
	}{
		{"100 kPa ± 3 %", quantity.Pressure, 1e5, 1500},
		{"12 V +/- 0.2 V", quantity.Voltage, 12, 0.1},
		{"12 V +- 200 mV", quantity.Voltage, 12, 0.1},
		{"11.4 ± 0.3 V", quantity.Voltage, 11.4, 0.15},
		{"(11.4 ± 0.3) V", quantity.Voltage, 11.4, 0.15},
		{"20 °C ± 5 K", quantity.Temperature, 293.15, 2.5},
		{"20 ± 2 °C", quantity.Temperature, 293.15, 1},
		{"68 °F ± 9 °F", quantity.Temperature, 293.15, 2.5},
		{"85 % ± 3 %", quantity.Ratio, 0.85, 0.015},
		{"85 ± 3 %", quantity.Ratio, 0.85, 0.015},
		{"0.85 ± 4 %", quantity.Ratio, 0.85, 0.017},
		{"0.85 ± 0.02", quantity.Ratio, 0.85, 0.01},
		{"14 AWG ± 4 %", quantity.CableSize, 2.080907e-6, 0.02 * 2.080907e-6},
		{"-5 A ± 10 %", quantity.Current, -5, 0.25},
	} {
		v, err := quantity.Parse(c.text, c.kind)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if math.Abs(v.SI-c.want) > 1e-6*math.Abs(c.want) || math.Abs(v.SdSI-c.sd) > 1e-6*c.sd {
			t.Errorf("%q = %g, sd %g; want %g, sd %g", c.text, v.SI, v.SdSI, c.want, c.sd)
		}
	}
}

func TestTyre(t *testing.T) {
	const standard = "ISO 4000-1 designation: 2 × width × aspect + rim × 25.4 mm, worked by hand"
	for _, c := range []struct {
		code      string
		diameterM float64
		source    string
	}{
		{"205/65R15", 0.6475, standard},
		{"205/65 R15 94H", 0.6475, standard},
		{"LT235/75R15", 0.7335, standard},
		{"185R14C 102/100Q", 0.3556 + 2*0.185*0.82, "82 % without aspect: common practice"},
		{"P225/45ZR17", 0.6343, standard},
	} {
		tyre, err := quantity.ParseTyre(c.code)
		if err != nil {
			t.Errorf("%s: %v", c.code, err)
		} else if math.Abs(tyre.DiameterM-c.diameterM) > 1e-9 {
			t.Errorf("%s: diameter %g m, want %g m (%s)", c.code, tyre.DiameterM, c.diameterM, c.source)
		}
	}
	for code, want := range map[string]string{
		"7.50-16":   `"7.50-16" is no metric tyre code`,
		"20565R15":  `"20565R15" is no metric tyre code`,
		"905/65R15": "tyre 905/65R15: section width 905 mm is outside 105 … 455 mm",
		"205/65R45": "tyre 205/65R45: rim diameter 45 in is outside 8 … 30 in",
		"":          `"" is no metric tyre code`,
	} {
		if _, err := quantity.ParseTyre(code); err == nil || err.Error() != want {
			t.Errorf("%s: %v, want %s", code, err, want)
		}
	}
}

func TestToSI(t *testing.T) {
	si, err := quantity.ToSI(9, "°F", quantity.TemperatureDifference)
	if err != nil || math.Abs(si-5) > 1e-12 {
		t.Errorf("9 °F of difference = %g K, %v; want 5 K (%s)", si, err, exact)
	}
	if si, err = quantity.ToSI(32, "°F", quantity.Temperature); err != nil || math.Abs(si-273.15) > 1e-9 {
		t.Errorf("32 °F = %g K, %v; want 273.15 K (%s)", si, err, exact)
	}
	if _, err = quantity.ToSI(3, "", quantity.Voltage); err == nil {
		t.Error("a voltage without unit was taken")
	}
	if _, err = quantity.ToSI(3, "kPa", quantity.Voltage); err == nil {
		t.Error("kPa was taken for a voltage")
	}
	if x, err := quantity.FromSI(107.2193e-6, "AWG"); err != nil || math.Abs(x+3) > 1e-4 {
		t.Errorf("107.2193 mm² = gauge %g, %v; want −3, that is 4/0 (%s)", x, err, awgRef)
	}
	for _, k := range quantity.Kinds() {
		for _, u := range quantity.Units(k) {
			if _, err := quantity.ToSI(1, u, k); err != nil {
				t.Errorf("%s lists %s and does not take it: %v", k, u, err)
			}
		}
	}
}
