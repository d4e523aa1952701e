package wire

import (
	"fmt"
	"math"
)

const (
	copperHeatJPerM3K = 3.45e6     // IEC 60949, volumetric heat of copper
	longestS          = 240 * 3600 // how long insulation is tested above its class
	adiabaticS        = 5          // beyond it the wire loses heat that the law leaves out
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

// Overload is a wire and its place, as far as it matters for how long it
// stands a current above its ampacity.
type Overload struct {
	AreaM2   float64
	SteadyA  float64 // ampacity at the place, from AmpacityA or a table
	AmbientK float64
	StartK   float64 // copper temperature when the overload begins
	SteadyK  float64 // the insulation's temperature for life, that SteadyA belongs to
	OverK    float64 // the insulation's temperature for hours: SteadyK + 25 K by ISO 6722, SteadyK to be strict
	ShortK   float64 // the insulation's temperature for 5 s
}

// Check tells whether an overload can be computed with.
func (o Overload) Check() error {
	if !(o.AreaM2 > 0) || !(o.SteadyA > 0) || math.IsInf(o.AreaM2, 1) || math.IsInf(o.SteadyA, 1) {
		return fmt.Errorf("conductor area %.4g mm² and ampacity %.4g A must be above 0", o.AreaM2*1e6, o.SteadyA)
	}
	if !(o.AmbientK >= lowestK && o.AmbientK <= o.StartK && o.StartK <= o.SteadyK && o.SteadyK > o.AmbientK && o.OverK >= o.SteadyK && o.ShortK > o.OverK && o.ShortK <= 1356.15) {
		return fmt.Errorf("temperatures out of order: ambient %.4g, start %.4g, steady limit %.4g, overload limit %.4g, short limit %.4g °C must rise from -60 °C",
			o.AmbientK-273.15, o.StartK-273.15, o.SteadyK-273.15, o.OverK-273.15, o.ShortK-273.15)
	}
	return nil
}

// WithstandS returns how long a wire stands a current: for good up to its ampacity (infinite), else until its insulation has its limit.
//
//	t = max(τ·ln((ϑ∞ − ϑ₀)/(ϑ∞ − ϑ_o)), min(5 s, (k·A/I)²)),  at most 240 h above ampacity
//
// where ϑ are rises above ambient: ϑ₀ at the start, ϑ_z at the insulation's
// limit for life, ϑ_o at its limit for hours, ϑ∞ = ϑ_z·(I/I_z)² the one the
// current would settle at; τ = c·A·ϑ_z/(I_z²·R′) is the time constant of the
// copper alone, with c = 3.45·10⁶ J/(m³·K) and R′ the resistance per metre of
// solid copper at the limit for life; k leads from the start to the short-time
// limit.
//
// Valid: an [Overload] that passes its Check, current at least 0. The time is
// infinite at and below ampacity.
// Accuracy: on the safe side by some 30 % in the overload range, because the
// insulation's own heat is left out.
// Source: first-order heating after IEC 60853-2 with one time constant;
// IEC 60949 for the short time; ISO 6722 tests insulation for 240 h at 25 K
// above its class, from memory.
// Errors: none
func (o Overload) WithstandS(currentA float64) float64 {
	if currentA <= o.SteadyA {
		return math.Inf(1)
	}
	rise, x := o.SteadyK-o.AmbientK, currentA/o.SteadyA
	end, start, over := rise*x*x, o.StartK-o.AmbientK, o.OverK-o.AmbientK
	slow := float64(longestS)
	if end > over {
		perM := CopperOhmM / o.AreaM2 * (1 + CopperPerK*(o.SteadyK-refK))
		tau := copperHeatJPerM3K * o.AreaM2 * rise / (o.SteadyA * o.SteadyA * perM)
		slow = math.Min(slow, tau*math.Log((end-start)/(end-over)))
	}
	kA := 226e6 * o.AreaM2 / currentA
	fast := kA * kA * math.Log((o.ShortK-38.65)/(o.StartK-38.65))
	return math.Max(slow, math.Min(adiabaticS, fast))
}
