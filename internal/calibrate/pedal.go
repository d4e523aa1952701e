package calibrate

import (
	"fmt"
	"math"

	"fettle/internal/breathing"
	"fettle/internal/table"
)

// PlateFrac returns how far a throttle plate is opened for a share of its open area.
//
//	A/A_o = 1 − cos ψ/cos ψ₀,  y = (ψ − ψ₀)/(90° − ψ₀)
//
// where ψ₀ = 5° is the plate's angle when shut.
//
// Valid: area 0 … 1 of the open one; outside an error is returned.
// Accuracy: 5 % of the opening; the shaft is left out.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, equation 7.18 without the shaft (from memory).
// Errors: area out of range.
func PlateFrac(areaFrac float64) (float64, error) {
	if !(areaFrac >= 0 && areaFrac <= 1) {
		return 0, fmt.Errorf("throttle area %g of the open one is outside 0 … 1", areaFrac)
	}
	const shut = 5 * degree
	return (math.Acos((1-areaFrac)*math.Cos(shut)) - shut) / (math.Pi/2 - shut), nil
}

// throttled is the area for a flow between two pressures, over that for a
// small loss: 1 at the open throttle of the limit.
func throttled(kgPerS, upPa, downPa, chargeK float64) float64 {
	const gamma = 1.4
	pr := math.Max(downPa/upPa, math.Pow(2/(gamma+1), gamma/(gamma-1)))
	a := math.Pow(pr, 1/gamma)
	return kgPerS * math.Sqrt(287.05*chargeK) / (upPa * math.Sqrt(2*gamma/(gamma-1)*a*math.Max(1e-9, a-pr)))
}

func pedalAxis() table.Axis {
	a := table.Axis{Name: "pedal", Unit: "%"}
	for i := range axisCount {
		a.At = append(a.At, math.Round(1000*float64(i)/(axisCount-1))/10)
	}
	return a
}

// leastShare of the open-throttle pressure is that of a pedal at rest.
const leastShare = 0.30

// pedalMaps are the tables over pedal and speed.
func pedalMaps(in *Input, r *breathing.Response, speed table.Axis) ([]Map, []error) {
	var out []curve
	e := r.Input()
	upstream := e.AmbientPa + e.BoostPa
	plate := func(pedal, n float64) (float64, error) {
		open := e.WideOpenPa(n * rpm)
		area := func(share float64) (float64, error) {
			low, high := r.TorqueNm.Y.At[0], r.TorqueNm.Y.At[r.TorqueNm.Columns()-1]
			pa := math.Max(low, math.Min(high, open*(leastShare+(1-leastShare)*share)))
			p, err := r.At(n*rpm, pa, breathing.Nominal())
			return throttled(p.AirKgPerS, upstream, math.Min(pa, 0.999*upstream), e.ChargeK), err
		}
		rest, err := area(0)
		if err != nil {
			return 0, err
		}
		at, err := area(pedal / 100)
		if err != nil {
			return 0, err
		}
		full, err := area(1)
		if err != nil {
			return 0, err
		}
		wide := math.Max(full, 1e-9)
		if last, err := r.WideOpen(e.MaxRadPerS, breathing.Nominal()); err == nil {
			wide = math.Max(wide, throttled(last.AirKgPerS, upstream, math.Min(last.ManifoldPa, 0.999*upstream), e.ChargeK))
		}
		y, err := PlateFrac(math.Max(0, math.Min(1, (at-rest)/(wide-rest))))
		return 100 * y, err
	}
	if in.Fitted.Electronic {
		out = append(out, curve{
			name: ThrottleMap, title: "Throttle", quantity: "throttle opening above idle's", unit: "%", x: pedalAxis(), y: speed, by: "calibrate.PlateFrac", decimals: 1,
			cell: func(pedal, n float64) (float64, float64, error) {
				y, err := plate(pedal, n)
				if pedal == 100 { // a pedal on its stop opens the plate
					y = 100
				}
				return y, 0.08 * y, err
			},
			basis:  "the manifold's pressure goes evenly with the pedal from 30 % of the open throttle's to all of it; plate from the area that the engine's air then needs; idle's air is added",
			leaves: leavesOf(in, own("throttle plate", 1, 0.08, "", "from memory: spread of plate laws between throttle bodies")),
		})
	}
	if b := in.Fitted.BoostPa; b > 0 {
		out = append(out, curve{
			name: BoostTarget, title: "Boost target", quantity: "manifold pressure to aim at, absolute", unit: "kPa", x: pedalAxis(), y: speed, by: "calibrate.BoostTargetPa", decimals: 0,
			cell: func(pedal, n float64) (float64, float64, error) {
				pa, err := BoostTargetPa(e.AmbientPa, b, pedal/100, n*rpm, e.MaxRadPerS)
				return pa / 1e3, 5, err
			},
			basis:  "the file's boost at most; none below a third of the pedal, and only as much as a charger builds at low speed (common practice); closed loop stays off until the over-boost cut has been tried",
			leaves: leavesOf(in),
		})
	}
	return makeAll(out)
}

// BoostTargetPa returns the manifold pressure that a charged engine aims at.
//
//	p = p_a + p_b · u(pedal, 0.35, 0.85) · u(ω/ω_max, 0.2, 0.4)
//
// where u rises evenly from 0 to 1 between its two marks.
//
// Valid: ambient 50 … 110 kPa, boost 0 … 300 kPa, pedal 0 … 1; outside an error is returned.
// Accuracy: a choice; what the charger builds is not known.
// Source: common practice.
// Errors: a value out of range.
func BoostTargetPa(ambientPa, boostPa, pedalFrac, speedRadPerS, maxRadPerS float64) (float64, error) {
	if !(ambientPa >= 50e3 && ambientPa <= 110e3) {
		return 0, fmt.Errorf("ambient pressure %g Pa is outside 50e3 … 110e3 Pa", ambientPa)
	}
	if !(boostPa >= 0 && boostPa <= 300e3) || !(pedalFrac >= 0 && pedalFrac <= 1) {
		return 0, fmt.Errorf("boost %g Pa and pedal %g are outside 0 … 300e3 Pa and 0 … 1", boostPa, pedalFrac)
	}
	u := func(v, from, to float64) float64 { return math.Max(0, math.Min(1, (v-from)/(to-from))) }
	return ambientPa + boostPa*u(pedalFrac, 0.35, 0.85)*u(speedRadPerS/maxRadPerS, 0.2, 0.4), nil
}
