package vehicle

import "math"

// AtRatedRatio returns how much an injector passes against the pressure that its data are entered for.
//
//	r = √(Δp/Δp₀)
//
// where Δp is the pressure across the injector, rail less manifold, and Δp₀ the one that the data belong to.
//
// Valid: both pressures above 0; turbulent orifice.
// Accuracy: 1 %.
// Source: incompressible orifice flow, Q ∝ √Δp.
// Errors: none
func AtRatedRatio(acrossPa, ratedPa float64) float64 { return math.Sqrt(acrossPa / ratedPa) }

// OffFrac returns by how much a ratio lies beside one.
//
//	e = r − 1
//
// Valid: any ratio.
// Accuracy: that of the ratio.
// Source: definition.
// Errors: none
func OffFrac(ratio float64) float64 { return ratio - 1 }

// SetAcrossPa returns the pressure across the injectors at a gauge pressure in the manifold, with the regulator at its setting.
//
//	Δp = p_set for a regulator referred to the manifold, else p_set − p_m
//
// where p_m is the manifold's pressure above the atmosphere: the boost, or 0 with an open throttle.
//
// Valid: port injection; pump and line able to hold the setting.
// Accuracy: that of the pressures.
// Source: definition.
// Errors: none
func SetAcrossPa(setPa, manifoldGaugePa float64, toManifold bool) float64 {
	if toManifold {
		return setPa
	}
	return setPa - manifoldGaugePa
}

// BoostedPa returns the highest absolute pressure in the manifold of a boosted engine.
//
//	p = p_ambient + p_boost
//
// Valid: the stated boost at the stated altitude.
// Accuracy: that of the two pressures.
// Source: definition of gauge pressure; ISO 2533 for the atmosphere.
// Errors: none
func BoostedPa(ambientPa, gaugePa float64) float64 { return ambientPa + gaugePa }

// OctaneRatio returns the compression ratio that an octane number bears at full load without boost.
//
//	ε = ε₉₅ + s (RON − 95)
//
// where ε₉₅ is the ratio of ordinary engines on 95 octane and s what an octane adds.
//
// Valid: 85 … 110 octane, port injection, no boost, warm climate.
// Accuracy: ± 1 of the ratio: chamber, bore and valve timing move it.
// Source: from memory, ratios and prescribed octane of port-injected engines of 1990 to 2015.
// Errors: none
func OctaneRatio(octaneCount, atOctane95Ratio, perOctaneRatio float64) float64 {
	return atOctane95Ratio + perOctaneRatio*(octaneCount-95)
}

// StatedRailPa returns what a regulator that is referred to the atmosphere holds the rail at.
//
//	p = p_set
//
// Valid: a regulator with its reference open to the air.
// Accuracy: that of the setting.
// Source: the build file, or the archetype.
// Errors: none
func StatedRailPa(setPa float64) float64 { return setPa }
