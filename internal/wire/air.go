package wire

import "math"

const (
	gravity     = 9.80665   // m/s²
	airGasJkgK  = 287.05    // J/(kg·K)
	airHeatJkgK = 1006      // J/(kg·K), 250 … 400 K within 0.5 %
	boltzmann   = 5.6704e-8 // W/(m²·K⁴)
	emissivity  = 0.9       // plastic insulation of any colour, handbook value
	seaPa       = 101325.0
)

// airPropsAt gives viscosity in Pa·s and heat conductivity in W/(m·K) of air.
//
//	μ = 1.458·10⁻⁶ T^1.5/(T + 110.4),  k = 2.64638·10⁻³ T^1.5/(T + 245.4·10^(−12/T))
//
// Source: U.S. Standard Atmosphere, 1976, equations 51 and 53.
func airPropsAt(tempK float64) (muPaS, kWPerMK float64) {
	t15 := tempK * math.Sqrt(tempK)
	return 1.458e-6 * t15 / (tempK + 110.4), 2.64638e-3 * t15 / (tempK + 245.4*math.Exp(-12*math.Ln10/tempK))
}

// nusselt gives the mean Nusselt number of an isothermal horizontal cylinder in
// free convection.
//
//	Nu = {0.60 + 0.387 Ra^(1/6)/[1 + (0.559/Pr)^(9/16)]^(8/27)}²
//
// Source: S. W. Churchill, H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975)
// 1049, equation for all Rayleigh numbers up to 10¹².
func nusselt(rayleigh, prandtl float64) float64 {
	s := 0.60 + 0.387*math.Sqrt(math.Cbrt(rayleigh))/math.Pow(1+math.Pow(0.559/prandtl, 9.0/16), 8.0/27)
	return s * s
}

// lossWPerM gives the heat that one metre of a horizontal cylinder loses to
// still air and its surroundings by convection and radiation.
func lossWPerM(diameterM, surfaceK, ambientK, pressurePa float64) float64 {
	if surfaceK == ambientK {
		return 0
	}
	film := (surfaceK + ambientK) / 2
	mu, k := airPropsAt(film)
	rho := pressurePa / (airGasJkgK * film)
	pr := mu * airHeatJkgK / k
	nu, d := mu/rho, surfaceK-ambientK
	ra := gravity * math.Abs(d) / film * diameterM * diameterM * diameterM / (nu * nu) * pr
	s2, a2 := surfaceK*surfaceK, ambientK*ambientK
	return math.Pi * (nusselt(ra, pr)*k*d + diameterM*emissivity*boltzmann*(s2*s2-a2*a2))
}
