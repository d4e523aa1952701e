package cycle

import "math"

// Constants of what passes the rings and of cycles that burn fast.
const (
	// ringGapFrac is the gap of the top ring, warm, over the bore (0.003 … 0.0045,
	// common practice); ringLandM is the clearance that it opens, between land and
	// bore (0.25 … 0.4 mm, common practice), and ringFlow its discharge coefficient
	// (Heywood, section 8.6; from memory). The rings below hold little back: the
	// gas between them stands near the cylinder's mean pressure.
	ringGapFrac = 0.0035
	ringLandM   = 0.30e-3
	ringFlow    = 0.8
	// fastFrac is the length of the burn of one cycle in twenty over that of the
	// mean one: 1.64 standard deviations of 6.5 %. That is 2° in the angle of half
	// burned, some 31° after the spark, as engines show it at full load (1.5 … 2.5°,
	// common practice; Heywood, section 9.4, from memory). Knock is heard when so
	// many cycles knock, not when the mean one does.
	fastFrac = 0.893
)

// BlowByKgPerS returns the gas that passes the piston rings of a cylinder.
//
//	ṁ = 0.8 · 0.0035 B · 0.3 mm · p/√(R T_w) Ψ(p_c/p)
//
// where Ψ is the compressible flow function for γ = 1.31, R = 287 J/(kg·K), T_w
// the wall's temperature, which the gas takes on in the narrow way, and p_c the
// crankcase's pressure; 0 when that is the higher.
//
// Valid: bore 0.02 … 0.5 m, pressures above 0, wall 230 … 700 K; outside an error is returned.
// Accuracy: a factor of 1.5 between sound engines, more with worn rings.
// Source: orifice of the ring gap, Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, section 8.6 and appendix C (from memory); gap and clearance common practice.
// Errors: a value out of range.
func BlowByKgPerS(boreM, cylinderPa, crankcasePa, wallK float64) (float64, error) {
	if err := first([]span{
		{"bore", "m", boreM, 0.02, 0.5},
		{"cylinder pressure", "Pa", cylinderPa, 1, 5e7},
		{"pressure in the crankcase", "Pa", crankcasePa, 1, 1e6},
		{"wall temperature", "K", wallK, 230, 700},
	}); err != nil {
		return 0, err
	}
	return leaks(leakLevel(boreM, wallK), cylinderPa, crankcasePa), nil
}

// leakLevel is the flow per pressure, without the flow function.
func leakLevel(bore, wallK float64) float64 {
	const airR = 287.0
	return ringFlow * ringGapFrac * bore * ringLandM / math.Sqrt(airR*wallK)
}

func leaks(level, pa, casePa float64) float64 {
	if pa <= casePa {
		return 0
	}
	pr := casePa / pa
	if pr <= burnedPsi.critical {
		return level * pa * chokedLeak
	}
	return level * pa * math.Sqrt(burnedPsi.of(pr)*(1-pr))
}

var chokedLeak = math.Sqrt(burnedPsi.choked)

// leak takes from the charge what passes the rings in a step, at the charge's
// own enthalpy; what is left expands without loss.
func (s *setting) leak(c *charge, f *fire) {
	flow := leaks(s.past, c.pa, s.casePa)
	if flow == 0 {
		return
	}
	kg := c.kg()
	gone := flow * s.dt / kg
	h := gone * (c.energy + c.now.mr*c.kelvin)
	c.lostKg += gone * kg
	c.lostJ += h
	c.energy -= h
	keep, share := 1-gone, gone*c.now.mr/c.now.slope // (γ − 1) of what went
	c.mass = c.mass.times(keep)
	c.now.energy, c.now.slope, c.now.mr = c.energy, c.now.slope*keep, c.now.mr*keep
	c.kelvin *= 1 - share
	c.pa *= keep * (1 - share)
	if f.lit {
		f.fuelled = f.fuelled.times(keep)
	}
}
