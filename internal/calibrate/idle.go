package calibrate

import (
	"fmt"
	"math"

	"fettle/internal/breathing"
	"fettle/internal/cycle"
	"fettle/internal/table"
)

// IdleTargetRadPerS returns the idle speed to hold.
//
//	ω = ω_i + 400 rpm · (60 °C − t)/80 K, the last factor within 0 … 1
//
// where ω_i is the warm idle speed.
//
// Valid: warm idle 30 … 300 rad/s, −40 … 130 °C; outside an error is returned.
// Accuracy: a choice.
// Source: common practice: 300 to 500 rpm more when cold.
// Errors: a value out of range.
func IdleTargetRadPerS(warmRadPerS, coolantK float64) (float64, error) {
	if !(warmRadPerS >= 30 && warmRadPerS <= 300) {
		return 0, fmt.Errorf("idle speed %g rad/s is outside 30 … 300 rad/s", warmRadPerS)
	}
	u := math.Max(0, math.Min(1, (60-(coolantK-celsius))/80))
	return warmRadPerS + 400*rpm*u, checkCoolant(coolantK)
}

// OilViscosityRatio returns the viscosity of engine oil over that of the warm
// engine's at 90 °C.
//
//	log₁₀ log₁₀(ν + 0.7) = A − B log₁₀ T
//
// through 62 mm²/s at 40 °C and 10.5 mm²/s at 100 °C, a 5W-30.
//
// Valid: −40 … 130 °C; outside an error is returned; handed back at most 100.
// Accuracy: 10 % above 0 °C; below it oil stiffens more than the law, 2 times at −30 °C.
// Source: ASTM D341, Walther's law; viscosities common for SAE 5W-30 (from memory).
// Errors: temperature out of range.
func OilViscosityRatio(coolantK float64) (float64, error) {
	if err := checkCoolant(coolantK); err != nil {
		return 0, err
	}
	return math.Min(100, oilMm2PerS(coolantK)/oilMm2PerS(363.15)), nil
}

func oilMm2PerS(kelvin float64) float64 {
	double := func(nu float64) float64 { return math.Log10(math.Log10(nu + 0.7)) }
	const cold, hot = 313.15, 373.15
	slope := (double(62) - double(10.5)) / (math.Log10(hot) - math.Log10(cold))
	y := double(62) - slope*(math.Log10(kelvin)-math.Log10(cold))
	return math.Pow(10, math.Pow(10, y)) - 0.7
}

// coldDragNm is how much more an engine with cold oil has to turn.
func coldDragNm(e *breathing.Input, speed, kelvin float64) (float64, error) {
	oil, err := OilViscosityRatio(kelvin)
	if err != nil {
		return 0, err
	}
	of := func(ratio float64) float64 {
		pa, bad := cycle.FrictionPa(e.Geometry, speed, 0.35, ratio, 2*e.IntakeValveCount, e.IntakeLiftM)
		if bad != nil {
			err = bad
		}
		return pa
	}
	return (of(math.Max(0.3, oil)) - of(1)) * e.Geometry.DisplacementM3() / (4 * math.Pi), err
}

// IdleAirKgPerS returns the air that an engine needs to turn at a speed with
// its belts, cold oil counted in and spark held back as a reserve.
//
//	T = T_b + ΔT_f(oil) over η(8°), ṁ from the engine's tables at that torque
//
// Valid: speeds of the tables, −40 … 130 °C; outside an error is returned.
// Accuracy: 20 % warm, 40 % at −20 °C.
// Source: tables of the engine; friction Patton, Nitschke, Heywood, SAE 890836, 1989 (from memory); oil ASTM D341.
// Errors: a value out of range; a torque that the engine can't give.
func IdleAirKgPerS(r *breathing.Response, speedRadPerS, coolantK, beltNm float64) (float64, error) {
	e := r.Input()
	cold, err := coldDragNm(&e, speedRadPerS, coolantK)
	if err != nil {
		return 0, err
	}
	eta, err := breathing.SparkWorkFrac(8 * degree)
	if err != nil {
		return 0, err
	}
	p, err := r.LoadFor(speedRadPerS, (beltNm+cold)/eta, breathing.Nominal())
	return p.AirKgPerS, err
}

// beltsAtIdle is the torque of alternator, water and steering pump at idle.
const beltsAtIdle, beltsSd = 11.0, 4.0

// idleMaps are the tables of idle.
func idleMaps(in *Input, r *breathing.Response) ([]Map, []error) {
	idle := in.Engine.IdleRadPerS
	choice := own("cold idle", 1, 0.1, "", "common practice: 300 to 500 rpm more when cold")
	belts := own("belts at idle", beltsAtIdle, beltsSd, "N·m", "from memory: alternator 6 to 8 N·m, pumps 3 to 6 N·m")
	friction := own("cold friction", 1, 0.3, "", "root law of oil viscosity, see cycle.FrictionPa")
	var slope table.Axis
	slope.Name, slope.Unit = "speed above the wanted one", "rpm"
	for v := -300.0; v <= 300; v += 40 {
		slope.At = append(slope.At, v)
	}
	at := func(t, beltNm, coldRatio float64) (float64, error) {
		speed, err := IdleTargetRadPerS(idle, t+celsius)
		if err != nil {
			return 0, err
		}
		cold, err := coldDragNm(&in.Engine, speed, t+celsius)
		if err != nil {
			return 0, err
		}
		v, err := IdleAirKgPerS(r, speed, t+celsius, beltNm+(coldRatio-1)*cold)
		return 1e3 * v, err
	}
	return makeAll([]curve{
		{
			name: IdleSpeed, title: "Idle speed", quantity: "idle speed", unit: "rpm", x: coolantAxis("coolant temperature"), by: "calibrate.IdleTargetRadPerS", decimals: 0,
			cell: func(t, _ float64) (float64, float64, error) {
				v, err := IdleTargetRadPerS(idle, t+celsius)
				return v / rpm, 0.1 * (v - idle) / rpm, err
			}, basis: "the file's warm idle, raised cold (common practice)", leaves: leavesOf(in, choice),
		},
		{
			name: IdleAir, title: "Idle air", quantity: "air that holds the idle speed", unit: "g/s", x: coolantAxis("coolant temperature"), by: "calibrate.IdleAirKgPerS", decimals: 2,
			cell: func(t, _ float64) (float64, float64, error) {
				v, err := at(t, beltsAtIdle, 1)
				more, err2 := at(t, beltsAtIdle+beltsSd, 1)
				stiff, err3 := at(t, beltsAtIdle, 1.3)
				return v, sumSquares(more-v, stiff-v, 0.12*v), firstOf(err, err2, err3)
			}, basis: "the engine's own tables at the torque of belts and cold oil; feed-forward for idle valve or throttle, closed loop does the rest", leaves: leavesOf(in, belts, friction, airModel()),
		},
		{
			name: IdleSpark, title: "Idle spark", quantity: "spark added against a speed error", unit: "°", x: slope, by: "calibrate.IdleSparkRad", decimals: 1,
			cell: func(off, _ float64) (float64, float64, error) {
				return IdleSparkRad(off*rpm) / degree, 1, nil
			}, basis: "0.04° a rpm within ± 8°, the reserve that idle keeps (common practice)", leaves: leavesOf(in),
		},
	})
}

// IdleSparkRad returns the spark added at idle against an error of speed.
//
//	Δθ = −0.04° · Δn/rpm, within ± 8°
//
// where Δn is the speed above the wanted one.
//
// Valid: any error.
// Accuracy: a choice; more of it makes an engine hunt.
// Source: common practice.
// Errors: none.
func IdleSparkRad(aboveRadPerS float64) float64 {
	return math.Max(-8, math.Min(8, -0.04*aboveRadPerS/rpm)) * degree
}
