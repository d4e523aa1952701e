package calibrate

import (
	"math"

	"fettle/internal/breathing"
	"fettle/internal/table"
)

// ColdLimitRadPerS returns the speed limit of a cold engine.
//
//	ω = ω_max (0.6 + 0.4 t/70 °C), the last factor within 0 … 1
//
// Valid: −40 … 130 °C; outside an error is returned.
// Accuracy: a choice.
// Source: common practice: no more than 60 % before the oil is warm.
// Errors: temperature out of range.
func ColdLimitRadPerS(maxRadPerS, coolantK float64) (float64, error) {
	u := math.Max(0, math.Min(1, (coolantK-celsius)/70))
	return maxRadPerS * (0.6 + 0.4*u), checkCoolant(coolantK)
}

// ResumeRadPerS returns the speed below which fuel comes back on the over-run.
//
//	ω = ω_idle(t) + 500 rpm
//
// where ω_idle is IdleTargetRadPerS.
//
// Valid: as IdleTargetRadPerS.
// Accuracy: a choice; nearer to idle an engine may stall.
// Source: common practice, 300 to 800 rpm above idle.
// Errors: those of IdleTargetRadPerS.
func ResumeRadPerS(idleRadPerS, coolantK float64) (float64, error) {
	v, err := IdleTargetRadPerS(idleRadPerS, coolantK)
	return v + 500*rpm, err
}

// LoadCapPa returns the most manifold pressure until the tables have been corrected.
//
//	p = 0.75 p_o
//
// where p_o is the pressure with the throttle open.
//
// Valid: any.
// Accuracy: a choice.
// Source: common practice: three quarters of full load until mixture and knock are seen.
// Errors: none.
func LoadCapPa(openPa float64) float64 { return capFrac * openPa }

const (
	capFrac = 0.75
	// leanBound is the lambda that 95 of 100 engines stay below at the load cap
	// before anything is learned; boosted ones are held richer (common practice).
	leanBound, leanBoundBoosted = 0.92, 0.85
	// leanCut is the lambda at load that cuts the fuel until learned; a charged
	// engine has less room to its pistons (common practice).
	leanCut, leanCutBoosted = 1.0, 0.95
	// bound95 is how many standard deviations hold 95 of 100 on one side.
	bound95 = 1.645
	// richFrom and richBy are shares of the open pressure between which the
	// safe side comes in.
	richFrom, richBy = 0.55, 0.72
	// mostSafeRatio keeps the mixture burning when air and injectors are as said.
	mostSafeRatio = 1.35
)

// SafeFuelRatio returns how much more fuel than the lambda target asks for is
// given until the tables have been corrected.
//
//	k = 1 + u (λ_t (1 + 1.645 σ)/λ_b − 1), within 1 … 1.35;  u = (p/p_o − 0.55)/0.17 within 0 … 1
//
// where λ_t is the target, σ the relative spread of air over fuel, λ_b = 0.92
// the lean bound (boosted 0.85) and p_o the pressure with the throttle open.
//
// Valid: any.
// Accuracy: a bound, not an estimate.
// Source: one-sided 95 % of a normal spread; bounds common practice.
// Errors: none.
func SafeFuelRatio(pressureFrac, targetRatio, sdFrac, boundRatio float64) float64 {
	u := math.Max(0, math.Min(1, (pressureFrac-richFrom)/(richBy-richFrom)))
	return math.Max(1, math.Min(mostSafeRatio, 1+u*(targetRatio*(1+bound95*sdFrac)/boundRatio-1)))
}

// SafeSide says once what is held on the safe side, and why; it is printed with
// the tables that it moves.
var SafeSide = []SafeRule{
	{"richer until learned", SafeFuel, "at load the tables of air may be wrong; lean costs pistons and valves, rich costs fuel. Until they are corrected the fuel is raised so far that 95 engines of 100 stay at lambda 0.92 and below (boosted 0.85)"},
	{"less spark", Spark, "the knock limit of this engine is not known; the spark stands short of best torque and of knock by what the table says, and is raised only while someone listens"},
	{"load cap", LoadCap, "until mixture and knock have been seen, the manifold's pressure is held to 75 % of the open throttle's"},
	{"little spark on the starter", Spark, "more may fire the engine backwards against the starter"},
	{"no advance for cold air", SparkAir, "the spark stands for the hottest day; hotter air takes spark off, colder air adds none"},
}

// SafeRule is one rule of the safe side and the table that it moves.
type SafeRule struct{ Name, Table, Why string }

// HotAirSparkRad returns the spark taken off for a charge hotter than the
// table's, negative.
//
//	Δθ = −0.2° (T − T_t)/K, between −10° and 0
//
// Valid: charge 230 … 420 K; colder ones add nothing.
// Accuracy: 0.1° a K.
// Source: common practice, 1 … 3° for 10 K.
// Errors: none.
func HotAirSparkRad(chargeK, tableK float64) float64 {
	return -math.Max(0, math.Min(10, 0.2*(chargeK-tableK))) * degree
}

// HotEngineSparkRad returns the spark taken off for hot coolant, negative.
//
//	Δθ = −0.33° (t − 100 °C)/K, between −6° and 0
//
// Valid: any temperature.
// Accuracy: a choice.
// Source: common practice.
// Errors: none.
func HotEngineSparkRad(coolantK float64) float64 {
	return -math.Max(0, math.Min(6, (coolantK-373.15)/3)) * degree
}

// limitMaps are the tables that hold the engine back.
func limitMaps(in *Input, r *breathing.Response, ve, lambda *Map) ([]Map, []error) {
	e, speed, pressure := &in.Engine, ve.Grid.X, ve.Grid.Y
	bound := leanBound
	if in.Fitted.BoostPa > 0 || e.BoostPa > 0 {
		bound = leanBoundBoosted
	}
	injector := 0.03
	if in.Injector != nil && in.Injector.FlowKgPerS != nil && in.Injector.FlowKgPerS.SI > 0 {
		injector = in.Injector.FlowKgPerS.SdSI / in.Injector.FlowKgPerS.SI
	}
	whole := r.Input()
	open := func(n float64) float64 { return whole.WideOpenPa(n * rpm) }
	charge := table.Axis{Name: "charge temperature", Unit: "°C"}
	for t := -30.0; t <= 120; t += 10 {
		charge.At = append(charge.At, t)
	}
	return makeAll([]curve{
		law(SpeedLimit, "Speed limit", "speed limit", "rpm", "calibrate.ColdLimitRadPerS", 0, 0, 0, func(k float64) (float64, error) {
			v, err := ColdLimitRadPerS(e.MaxRadPerS, k)
			return v / rpm, err
		}, "the file's limit; 60 % of it cold (common practice); spark first, then fuel, 100 rpm apart", leavesOf(in)...),
		law(Resume, "Fuel back on the over-run", "speed at which fuel comes back", "rpm", "calibrate.ResumeRadPerS", 0, 0, 0, func(k float64) (float64, error) {
			v, err := ResumeRadPerS(e.IdleRadPerS, k)
			return v / rpm, err
		}, "common practice; cut 300 rpm above it", leavesOf(in)...),
		law(SparkHot, "Spark for hot coolant", "spark added for hot coolant", "°", "calibrate.HotEngineSparkRad", 1, 0, 0, func(k float64) (float64, error) {
			return HotEngineSparkRad(k) / degree, nil
		}, "common practice", leavesOf(in)...),
		{
			name: SparkAir, title: "Spark for hot air", quantity: "spark added for hot charge", unit: "°", x: charge, by: "calibrate.HotAirSparkRad", decimals: 1,
			cell: func(t, _ float64) (float64, float64, error) {
				v := HotAirSparkRad(t+celsius, e.ChargeK) / degree
				return v, 0.5 * math.Abs(v), nil
			}, basis: "safe side: the spark table stands for the hottest day, colder air adds none (common practice)", leaves: leavesOf(in),
		},
		{
			name: LoadCap, title: "Load cap", quantity: "manifold pressure at most until learned, absolute", unit: "kPa", x: speed, by: "calibrate.LoadCapPa", decimals: 0,
			cell: func(n, _ float64) (float64, float64, error) {
				return LoadCapPa(open(n)) / 1e3, 0, nil
			}, basis: "safe side: three quarters of the open throttle's pressure until mixture and knock have been seen (common practice); a lean cut of 0.3 s stands behind it", leaves: leavesOf(in),
		},
		{
			name: SafeFuel, title: "Richer until learned", quantity: "factor on fuel until learned", unit: "", x: speed, y: pressure, by: "calibrate.SafeFuelRatio", decimals: 2,
			cell: func(n, p float64) (float64, float64, error) {
				w, err := ve.Grid.Weights(n, p)
				if err != nil {
					return 0, 0, err
				}
				sd := math.Hypot(w.SpreadOf(&ve.Grid)/math.Max(0.1, w.Of(&ve.Grid)), injector)
				return SafeFuelRatio(p*1e3/open(n), w.Of(&lambda.Grid), sd, bound), 0, nil
			}, basis: "safe side: so much more fuel at load that 95 engines of 100 stay at the lean bound and below, spread of air and injectors together; 1 at part load, where the lambda sensor works; taken out cell by cell as the tables are corrected", leaves: leavesOf(in, airModel()),
		},
	})
}

// limitSettings are the single values beside those tables.
func limitSettings(in *Input) []Setting {
	const cp = "common practice"
	lean := leanCut
	if in.Fitted.BoostPa > 0 || in.Engine.BoostPa > 0 {
		lean = leanCutBoosted
	}
	out := []Setting{
		number("limits", "speed limit", math.Round(in.Engine.MaxRadPerS/rpm), 0, "rpm", "the file's, warm"),
		number("limits", "fuel cut above the spark cut", 100, 0, "rpm", cp),
		number("limits", "lean cut above lambda", lean, 0.02, "", cp+": at load, before learning; behind the load cap; 0.95 with a charger"),
		number("limits", "lean cut after", 0.3, 0, "s", cp),
		number("limits", "oil pressure cut below", 50, 0, "kPa", cp+": for 1 s above 1500 rpm; the sensor must have been tried"),
		number("limits", "half the load above coolant", 110, 0, "°C", cp+": the manifold's pressure is held to half of full load's"),
		number("limits", "coolant cut above", 115, 0, "°C", cp+": the engine is stopped"),
		number("over-run", "cut above the resume speed by", 300, 0, "rpm", cp),
		number("over-run", "cut after", 0.5, 0, "s", cp+": pedal at rest"),
		number("over-run", "no cut below coolant", 60, 0, "°C", cp),
		number("fans", "first fan on at", 96, 2, "°C", cp+": above the thermostat's 88 °C"),
		number("fans", "first fan off at", 91, 2, "°C", cp),
		number("fans", "all fans on at", 102, 2, "°C", cp),
	}
	if in.Fitted.BoostPa > 0 {
		out = append(out, gated(number("limits", "boost cut above target by", 20, 0, "kPa", cp+": fuel and spark, for 0.3 s and until it is over; tried with a lowered target before boost is asked for"), "boost cut"))
	}
	return out
}
