package quantity_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"fettle/internal/quantity"

	"pgregory.net/rapid"
)

// TestBadInputs holds each complaint to its exact words and place.
func TestBadInputs(t *testing.T) {
	for _, c := range []struct {
		text     string
		kind     quantity.Kind
		at, n    int
		msg, hnt string
	}{
		{"43.5", quantity.Pressure, 0, 4, "no unit: 43.5 could be bar, kPa or psi", "write 43.5 bar, 43.5 kPa …"},
		{"12", quantity.Voltage, 0, 2, "no unit: 12 could be V, mV or kV", "write 12 V, 12 mV …"},
		{"90", quantity.TemperatureDifference, 0, 2, "no unit: 90 could be K", "write 90 K"},
		{"100 kPa", quantity.Length, 4, 3, "kPa measures pressure; a length is due, e.g. m, mm, in, ft", ""},
		{"5 Nm", quantity.Energy, 2, 2, "N·m measures torque; an energy is due, e.g. J, kJ, mJ, Wh", ""},
		{"5 J", quantity.Torque, 2, 1, "J measures energy; a torque is due, e.g. N·m, lbf·ft", ""},
		{"50 Hz", quantity.RotationalSpeed, 3, 2, "Hz measures frequency; a rotational speed is due, e.g. rpm, rad/s", ""},
		{"440 cc", quantity.VolumeFlow, 4, 2, "cm³ measures volume; a volume flow is due, e.g. L/h, L/min, cm³/min, gal/h", ""},
		{"44 lb/h", quantity.VolumeFlow, 3, 4, "lb/h measures mass flow; a volume flow is due, e.g. L/h, L/min, cm³/min, gal/h", ""},
		{"14 AWG", quantity.Length, 3, 3, "AWG measures area; a length is due, e.g. m, mm, in, ft", ""},
		{"2 L", quantity.RoadConsumption, 2, 1, "L measures volume; a road consumption is due, e.g. L/100 km", ""},
		{"5 %", quantity.Voltage, 2, 1, "% makes a ratio; a voltage is due, e.g. V, mV, kV", ""},
		{"5 V", quantity.Ratio, 2, 1, "V measures voltage; a ratio is due, e.g. 0.85 or 85 %", ""},
		{"5 %", quantity.Count, 2, 1, "% makes a ratio; a count is due, a whole number without unit", ""},
		{"5.5", quantity.Count, 0, 3, "a count is a whole number, not 5.5", "write a whole number"},
		{"-4", quantity.Count, 0, 2, "a count can't be negative: -4", ""},
		{"3 m/s/s/s", quantity.Speed, 2, 7, "m/(s·s·s) measures nothing that is used here; a speed is due, e.g. km/h, mph, m/s", ""},
		{"43.5 pis", quantity.Pressure, 5, 3, `unknown unit "pis"`, `did you mean "psi"?`},
		{"5 MM", quantity.Length, 2, 2, `unknown unit "MM"`, `did you mean "mm"?`},
		{"5 mhp", quantity.Speed, 2, 3, `unknown unit "mhp"`, `did you mean "mph"?`},
		{"12 furlongs", quantity.Length, 3, 8, `unknown unit "furlongs"`, "use m, mm, in or ft"},
		{"190 L/hx", quantity.VolumeFlow, 6, 2, `unknown unit "hx"`, "use L/h, L/min, cm³/min or gal/h"},
		{"190 L/", quantity.VolumeFlow, 6, 1, `a unit is due, not ""`, "write 1 L/h, 1 L/min …"},
		{"0.45 lb/(hp·h", quantity.SpecificConsumption, 8, 5, "the bracket is not closed", ""},
		{"12 V foo", quantity.Voltage, 5, 3, `unexpected "foo" after 12 V`, ""},
		{"12 V 3", quantity.Voltage, 5, 1, `unexpected "3" after 12 V`, ""},
		{"1 in 6 ft", quantity.Length, 5, 4, `unexpected "6 ft" after 1 in`, ""},
		{"2,5 V", quantity.Voltage, 1, 1, "a comma in a figure: 2,5", "write 2.5, not 2,5"},
		{"2,150 kg", quantity.Mass, 1, 1, "a comma in a figure: 2,150", "write 2150 or 2.150, not 2,150"},
		{"1,234.5 kg", quantity.Mass, 1, 1, "a comma in a figure: 1,234", "write 1234 without the comma, then the point"},
		{"NaN V", quantity.Voltage, 0, 5, "NaN V is not a figure: a voltage is due", ""},
		{"inf A", quantity.Current, 0, 5, "inf A is not a figure: a current is due", ""},
		{".inf", quantity.Ratio, 0, 4, ".inf is not a figure: a ratio is due", ""},
		{"1e999 V", quantity.Voltage, 0, 5, "1e999 is too large", ""},
		{"1e308 kV", quantity.Voltage, 0, 8, "1e308 kV is too large", ""},
		{"1e-400 V", quantity.Voltage, 0, 6, "1e-400 is too small", ""},
		{"-3 m", quantity.Length, 0, 4, "a length can't be negative: -3 m", ""},
		{"−2.5 mm²", quantity.CableSize, 0, 8, "a cable size can't be negative: −2.5 mm²", ""},
		{"-300 °C", quantity.Temperature, 0, 7, "-300 °C is below absolute zero (−273.15 °C)", ""},
		{"60 AWG", quantity.CableSize, 0, 6, "60 AWG is no wire gauge: 4/0 to 40 AWG", ""},
		{"14.7 psia", quantity.Pressure, 5, 4, "psia is an absolute pressure; a gauge pressure is due, e.g. bar, kPa, psi", "write the pressure above the air outside"},
		{"30 psig", quantity.AbsolutePressure, 3, 4, "psig is a gauge pressure; an absolute pressure is due, e.g. kPa, bar abs, psia", "add the pressure of the air outside"},
		{"12 V ± 0.2", quantity.Voltage, 7, 3, "the tolerance has no unit: 0.2", "write ± 0.2 V"},
		{"12 V ± -0.2 V", quantity.Voltage, 7, 6, "a tolerance can't be negative: -0.2 V", ""},
		{"12 V ± 5 K", quantity.Voltage, 9, 1, "K measures temperature difference; a voltage is due, e.g. V, mV, kV", ""},
		{"20 °C ± 3 %", quantity.Temperature, 8, 3, "per cent of a temperature means nothing", "write it in degrees, e.g. ± 5 K"},
		{"12 ± 3 %", quantity.Voltage, 0, 2, "no unit: 12 could be V, mV or kV", "write 12 V, 12 mV …"},
		{"(12 V", quantity.Voltage, 5, 1, "a bracket opens and no ± follows", ""},
		{"4:0", quantity.Ratio, 0, 3, "a ratio to nothing: 4:0", ""},
		{"", quantity.Voltage, 0, 1, "no value: a voltage is due", "write 1 V, 1 mV …"},
		{"twelve", quantity.Voltage, 0, 6, `no figure in "twelve": a voltage is due`, "write 1 V, 1 mV …"},
		{"V", quantity.Voltage, 0, 1, `no figure in "V": a voltage is due`, "write 1 V, 1 mV …"},
		{"--5 V", quantity.Voltage, 0, 5, `no figure in "--5 V": a voltage is due`, "write 1 V, 1 mV …"},
		{"5", quantity.Kind("wisdom"), 0, 1, `there is no kind of quantity called "wisdom"`, ""},
	} {
		v, err := quantity.Parse(c.text, c.kind)
		var e *quantity.Error
		if !errors.As(err, &e) {
			t.Errorf("%q as %s: no error, got %g %s", c.text, c.kind, v.SI, v.Unit)
			continue
		}
		if e.Msg != c.msg || e.Hint != c.hnt {
			t.Errorf("%q as %s:\n got %s | %s\nwant %s | %s", c.text, c.kind, e.Msg, e.Hint, c.msg, c.hnt)
		}
		if e.Offset != c.at || e.Len != c.n {
			t.Errorf("%q as %s: at %d+%d, want %d+%d", c.text, c.kind, e.Offset, e.Len, c.at, c.n)
		}
	}
}

// TestRoundTrip: what is printed reads back as the same quantity, for every
// unit that a kind lists.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom(quantity.Kinds()).Draw(t, "kind")
		unit := ""
		if us := quantity.Units(k); len(us) > 0 {
			unit = rapid.SampledFrom(us).Draw(t, "unit")
		}
		x := math.Pow(10, rapid.Float64Range(-12, 12).Draw(t, "magnitude"))
		if k == quantity.Count {
			x = math.Round(rapid.Float64Range(0, 1e9).Draw(t, "count"))
		}
		if unit == "AWG" {
			x = math.Round(rapid.Float64Range(-3, 40).Draw(t, "gauge"))
		}
		si, err := quantity.ToSI(x, unit, k)
		if err != nil {
			t.Fatal(err)
		}
		text := quantity.Format(si, unit, 17)
		v, err := quantity.Parse(text, k)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		// 17 figures fix a double; the offset of a temperature costs 1e-13 K.
		if math.Abs(v.SI-si) > 1e-14*math.Abs(si)+1e-12*offset(k) {
			t.Fatalf("%g %s prints as %q and reads as %g", si, unit, text, v.SI)
		}
		back, err := quantity.FromSI(si, unit)
		if err != nil || math.Abs(back-x) > 1e-12*(math.Abs(x)+1000*offset(k)+40) {
			t.Fatalf("%g %s comes back as %g, %v", x, unit, back, err)
		}
	})
}

func offset(k quantity.Kind) float64 {
	if k == quantity.Temperature {
		return 1
	}
	return 0
}

// TestSpreadRoundTrip: the spread printed is the spread read, to its figures.
func TestSpreadRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		si := rapid.Float64Range(1, 5000).Draw(t, "volt")
		sd := si * rapid.Float64Range(0.0005, 0.2).Draw(t, "relative")
		text := quantity.FormatSpread(si, sd, "V")
		v, err := quantity.Parse(text, quantity.Voltage)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		// One figure of 2 … 9, or two of 1.0 … 1.9, rounds by a quarter at most.
		if math.Abs(v.SdSI-sd) > 0.26*sd || math.Abs(v.SI-si) > 0.6*sd {
			t.Fatalf("%g with %g prints as %s", si, sd, text)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"43.5 psi ± 3 %", "1 ft 6 in", "14 AWG", "4/0 AWG", "0.45 lb/(hp·h)", "−15 °C", "4.10:1", "(11.4 ± 0.3) V", "12 L/100 km",
		"2,5 V", "1e999", "NaN", "1.2 × 10⁻³ m", "3/8\"", "29 128 J", "bar abs", "5 kPa (a)", "±", "1/", "2 m/(s·(s)", "1 in⁻²", "'", "5 per", "9 cu in",
	} {
		for i := range quantity.Kinds() {
			f.Add(s, i)
		}
	}
	f.Fuzz(func(t *testing.T, text string, kind int) {
		ks := quantity.Kinds()
		k := ks[(kind%len(ks)+len(ks))%len(ks)]
		v, err := quantity.Parse(text, k)
		if err != nil {
			var e *quantity.Error
			if !errors.As(err, &e) || e.Msg == "" || e.Len < 1 || e.Offset < 0 || e.Offset > len([]rune(text)) {
				t.Fatalf("%q: bad error %#v", text, err)
			}
			return
		}
		if math.IsNaN(v.SI) || math.IsInf(v.SI, 0) || math.IsNaN(v.SdSI) || math.IsInf(v.SdSI, 0) || v.SdSI < 0 {
			t.Fatalf("%q reads as %g with %g", text, v.SI, v.SdSI)
		}
		if v.Literal != text {
			t.Fatalf("literal %q of %q", v.Literal, text)
		}
		quantity.FormatSpread(v.SI, v.SdSI, v.Unit)
		shown := quantity.Format(v.SI, v.Unit, 17)
		if strings.Contains(shown, "no figure") {
			return // representable in SI, not in the unit
		}
		again, err := quantity.Parse(shown, k)
		if err != nil {
			t.Fatalf("%q as %s prints as %q, which does not read: %v", text, k, shown, err)
		}
		if tol := 1e-9*math.Abs(v.SI) + 1e-300; math.Abs(again.SI-v.SI) > tol && v.Unit != "AWG" {
			t.Fatalf("%q as %s = %g prints as %q = %g", text, k, v.SI, shown, again.SI)
		}
	})
}

func FuzzUnit(f *testing.F) {
	for _, u := range []string{"psi", "lb/(hp·h)", "AWG", "°C", "", ":1", "(", "1/", "m²/", "?", "kPa (a)", "/100 km", "mm mm mm mm", "(V)", "\u2007"} {
		f.Add(u, 1.5)
	}
	f.Fuzz(func(t *testing.T, unit string, x float64) {
		if quantity.Format(x, unit, 0) == "" || quantity.Number(x, unit, 3) == "" || quantity.FormatSpread(x, math.Abs(x)/7, unit) == "" {
			t.Fatalf("%g in %q prints as nothing", x, unit)
		}
		for _, k := range quantity.Kinds() {
			si, err := quantity.ToSI(x, unit, k)
			if err == nil && (math.IsNaN(si) || math.IsInf(si, 0)) {
				t.Fatalf("%g %q as %s is %g", x, unit, k, si)
			}
		}
		if tyre, err := quantity.ParseTyre(unit); err == nil && !(tyre.DiameterM > 0.2 && tyre.DiameterM < 2) {
			t.Fatalf("tyre %q has a diameter of %g m", unit, tyre.DiameterM)
		}
	})
}
