package wire

import (
	"fmt"
	"math"
)

const (
	copperHeatJPerM3K = 3.45e6     // IEC 60949, volumetric heat of copper
	longestS          = 240 * 3600 // how long insulation is tested above its class
	adiabaticS        = 5          // how long it is at its short-time limit; beyond it a wire loses heat that the law leaves out
)

// WithstandASqrtSPerM2 returns the short-circuit constant k of a copper conductor between two temperatures.
//
//	k = 226·10⁶·√ln((234.5 + t_f)/(234.5 + t_i))
//
// where t_i and t_f are the first and the last temperature in °C; in A·√s/m²
// (10⁶ of them are one A·√s/mm²).
//
// Valid: −60 °C ≤ first < last ≤ 1083 °C, where copper melts; outside an error
// is returned.
// Accuracy: ± 1 %, that of the mean heat capacity.
// Source: IEC 60949; IEC 60364-5-54, annex A.
// Errors: temperatures out of range or out of order.
func WithstandASqrtSPerM2(startK, endK float64) (float64, error) {
	if !(startK >= lowestK && startK < endK && endK <= 1356.15) {
		return 0, fmt.Errorf("short-circuit temperatures %.4g to %.4g °C out of range, must rise within -60 … 1083 °C", startK-273.15, endK-273.15)
	}
	return 226e6 * math.Sqrt(math.Log((234.5+endK-273.15)/(234.5+startK-273.15))), nil
}

// AdiabaticTimeS returns the time a current takes to heat a copper conductor from one temperature to another when no heat escapes.
//
//	t = (k·A/I)²
//
// where k is [WithstandASqrtSPerM2].
//
// Valid: area and current above 0, and a result of at most 5 s; outside an
// error is returned.
// Accuracy: ± 2 % below 1 s; on the safe side up to 5 s, because heat escapes.
// Source: IEC 60949; IEC 60724; IEC 60364-5-54.
// Errors: an argument out of range; a current so low that the time exceeds 5 s.
func AdiabaticTimeS(areaM2, currentA, startK, endK float64) (float64, error) {
	k, err := WithstandASqrtSPerM2(startK, endK)
	if err != nil {
		return 0, err
	}
	if !(areaM2 > 0) || !(currentA > 0) || math.IsInf(areaM2, 1) {
		return 0, fmt.Errorf("conductor area %.4g mm² and short-circuit current %.4g A must be above 0", areaM2*1e6, currentA)
	}
	t := k * areaM2 / currentA
	t *= t
	if t > adiabaticS {
		return 0, fmt.Errorf("heating time %.4g s out of range, the law holds up to 5 s: use the settled temperature for %.4g A", t, currentA)
	}
	return t, nil
}
