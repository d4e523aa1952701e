package calibrate

import (
	"fmt"
	"math"

	"fettle/internal/figure"
	"fettle/internal/quantity"
)

// checkCoolant refuses a temperature that no engine starts or runs at.
func checkCoolant(kelvin float64) error {
	if !(kelvin >= 233 && kelvin <= 403) {
		return fmt.Errorf("coolant temperature %s is outside %s … %s", quantity.Format(kelvin, "°C", 0), quantity.Format(233.15, "°C", 0), quantity.Format(403.15, "°C", 0))
	}
	return nil
}

// CrankFuelRatio returns how much more fuel than its air asks for an engine is
// given while a starter turns it.
//
//	k = 1 + 2 (1 + 0.8 E) exp(−t/25 K)
//
// where t is the coolant in °C and E the share of ethanol by volume.
//
// Valid: −40 … 130 °C, E 0 … 1; outside an error is returned.
// Accuracy: a start for the listening, ± 30 % of what is added.
// Source: common practice: 2 to 4 times near 0 °C, 1.1 and less warm, ethanol nearly twice as much cold.
// Errors: a value out of range.
func CrankFuelRatio(coolantK, ethanolFrac float64) (float64, error) {
	if err := checkCoolant(coolantK); err != nil {
		return 0, err
	}
	if !(ethanolFrac >= 0 && ethanolFrac <= 1) {
		return 0, fmt.Errorf("share of ethanol %g is outside 0 … 1", ethanolFrac)
	}
	return 1 + 2*(1+0.8*ethanolFrac)*math.Exp(-(coolantK-celsius)/25), nil
}

// AfterStartRatio returns how much more fuel an engine is given in its first
// moments on its own.
//
//	k = 1 + 0.40 exp(−t/33 K)
//
// where t is the coolant in °C; it falls to 1 with AfterStartTimeS.
//
// Valid: −40 … 130 °C; outside an error is returned.
// Accuracy: ± 30 % of what is added.
// Source: common practice: 1.2 to 1.3 at 20 °C, 1.05 and less warm.
// Errors: temperature out of range.
func AfterStartRatio(coolantK float64) (float64, error) {
	return 1 + 0.40*math.Exp(-(coolantK-celsius)/33), checkCoolant(coolantK)
}

// AfterStartTimeS returns the time in which AfterStartRatio falls to 1/e of what it adds.
//
//	T = 3 s + 9 s · exp(−t/40 K)
//
// where t is the coolant in °C.
//
// Valid: −40 … 130 °C; outside an error is returned.
// Accuracy: a factor of 1.5.
// Source: common practice: 5 to 20 s.
// Errors: temperature out of range.
func AfterStartTimeS(coolantK float64) (float64, error) {
	return 3 + 9*math.Exp(-(coolantK-celsius)/40), checkCoolant(coolantK)
}

// WarmUpRatio returns how much more fuel a cold engine is given while it runs.
//
//	k = 1 + 0.30 ((80 °C − t)/80 K)^1.5   t < 80 °C
//	k = 1                                 else
//
// Valid: −40 … 130 °C; outside an error is returned.
// Accuracy: ± 30 % of what is added.
// Source: common practice: enrichment that falls to none by 60 to 80 °C.
// Errors: temperature out of range.
func WarmUpRatio(coolantK float64) (float64, error) {
	return 1 + 0.30*math.Pow(math.Max(0, (80-(coolantK-celsius))/80), 1.5), checkCoolant(coolantK)
}

// FilmFrac returns X, the share of the fuel injected into a port that wets its wall.
//
//	X = 0.22 exp((90 °C − t)/98 K), at most 0.8
//
// Valid: −40 … 130 °C; outside an error is returned. Injection into the cylinder wets no port.
// Accuracy: a factor of 1.5 between ports.
// Source: form Aquino, SAE 810494, 1981; 0.22 warm Hendricks, Sorenson, SAE 900616, 1990 (both from memory); its rise with cold from memory, 0.4 … 0.5 at 20 °C.
// Errors: temperature out of range.
func FilmFrac(coolantK float64) (float64, error) {
	return math.Min(0.8, 0.22*math.Exp((90-(coolantK-celsius))/98)), checkCoolant(coolantK)
}

// FilmTimeS returns τ, the time in which the film on the port's wall dries to 1/e.
//
//	τ = 0.25 s · exp((90 °C − t)/45 K)
//
// Valid: −40 … 130 °C; outside an error is returned.
// Accuracy: a factor of 1.5 between ports and fuels.
// Source: form Aquino, SAE 810494, 1981; 0.25 s warm Hendricks, Sorenson, SAE 900616, 1990 (both from memory); its rise with cold from memory, about 1 s at 20 °C.
// Errors: temperature out of range.
func FilmTimeS(coolantK float64) (float64, error) {
	return 0.25 * math.Exp((90-(coolantK-celsius))/45), checkCoolant(coolantK)
}

// PrimeKg returns the fuel given to a cylinder before its first turn: what the
// port's film will hold.
//
//	m = X τ ṁ_f
//
// where ṁ_f is the fuel of one cylinder at cranking speed without enrichment.
//
// Valid: fuel flow 0 … 0.01 kg/s, −40 … 130 °C; outside an error is returned.
// Accuracy: that of X and τ, a factor of 2.
// Source: steady film of Aquino, SAE 810494, 1981 (from memory).
// Errors: a value out of range.
func PrimeKg(coolantK, fuelKgPerS float64) (float64, error) {
	if !(fuelKgPerS >= 0 && fuelKgPerS <= 0.01) {
		return 0, fmt.Errorf("fuel of one cylinder while cranking %g kg/s is outside 0 … 0.01 kg/s", fuelKgPerS)
	}
	x, err := FilmFrac(coolantK)
	if err != nil {
		return 0, err
	}
	tau, err := FilmTimeS(coolantK)
	return x * tau * fuelKgPerS, err
}

// crankSpeed and crankFill are of a cold engine on its starter (common practice).
const (
	crankSpeed = 200 * rpm
	crankFill  = 0.75
)

// coldMaps are the tables of starting and warming.
func coldMaps(in *Input) ([]Map, []error) {
	e := &in.Engine
	ethanol := own("share of ethanol", in.Fitted.EthanolFrac, 0, "%", "the file's fuel")
	rule := func(name string, sd float64, why string) *figure.Input { return own(name, 1, sd, "", why) }
	list := []curve{
		law(CrankFuel, "Cranking fuel", "factor on fuel while cranking", "", "calibrate.CrankFuelRatio", 2, 1, 0.15,
			func(k float64) (float64, error) { return CrankFuelRatio(k, in.Fitted.EthanolFrac) },
			"common practice, rich of what fires; less is tried first on a warm engine, more only on a cold one that coughs and does not catch",
			ethanol, rule("cranking fuel law", 0.15, "common practice: spread of cranking enrichment between engines")),
		law(AfterStart, "After-start fuel", "factor on fuel after the start", "", "calibrate.AfterStartRatio", 2, 1, 0.15, AfterStartRatio,
			"common practice; it falls to 1 in the time of the table after-start-s",
			rule("after-start law", 0.15, "common practice: spread between engines")),
		law(AfterStartS, "After-start time", "time in which after-start fuel falls to 1/e", "s", "calibrate.AfterStartTimeS", 1, 0, 0.25, AfterStartTimeS,
			"common practice", rule("after-start time law", 0.25, "common practice: spread between engines")),
		law(WarmUp, "Warm-up fuel", "factor on fuel of a cold engine", "", "calibrate.WarmUpRatio", 3, 1, 0.15, WarmUpRatio,
			"common practice; a lambda sensor that is warm may lower it, never this table alone",
			rule("warm-up law", 0.15, "common practice: spread between engines")),
	}
	if !in.Fitted.Direct {
		film := rule("film law", 0.25, "from memory: spread of wall films between ports")
		list = append(list,
			law(FilmShare, "Wall film, share", "share of the fuel that wets the port", "", "calibrate.FilmFrac", 2, 0, 0.25, FilmFrac,
				"two-parameter film; fuel asked for is m = (ṁ − film/τ)/(1 − X)", film),
			law(FilmTime, "Wall film, time", "time in which the film dries to 1/e", "s", "calibrate.FilmTimeS", 2, 0, 0.25, FilmTimeS,
				"two-parameter film", film))
	}
	if c := in.Injector; c != nil && c.FlowKgPerS != nil {
		fuel := crankFill * e.AmbientPa / (287.05 * e.ChargeK) * e.Geometry.SweptM3() * crankSpeed / (4 * math.Pi) / e.Fuel.StoichRatio
		list = append(list, law(PrimePulse, "Priming pulse", "pulse before the first turn, dead time not counted", "ms", "calibrate.PrimeKg", 1, 0, 0.5,
			func(k float64) (float64, error) {
				kg, err := PrimeKg(k, fuel)
				return 1e3 * kg / c.FlowKgPerS.SI, err
			},
			"the film that the port will hold, at cranking speed; once, with the pump's prime; not repeated within 30 s, a flooded engine does not fire", c.FlowKgPerS))
	}
	return makeAll(list)
}
