package cycle

import (
	"math"

	"fettle/internal/crank"
)

// Bearings and valve gear as shares of the bore, common practice: main journals
// 0.60, crank pins 0.53, each 0.22 long.
const (
	mainFrac, pinFrac, bearingFrac = 0.60, 0.53, 0.22
)

// FrictionPa returns the mean effective pressure lost to rubbing and to the
// engine's own pumps and generator, gas exchange not counted.
//
//	p_c = 122 000 D_m/(B²S n) + 3.03e−4 µ' N D_m³ L n_m/(B²S n) + 1.35e−10 D_m² N² n_m/n
//	p_p = 294 µ' S̄ₚ/B + 40 600 (1 + 500/N)/B² + 3.03e−4 µ' N D_p³ L n_p/(B²S n)
//	      + 6.89 (p_i/p_a) (0.088 µ' r + 0.182 r^(1.33 − 0.0476 S̄ₚ))
//	p_v = 244 µ' N n_cb/(B²S n) + 0.0227 N n_v/(S n) + 10.7 (1 + 500/N) L_v n_v/(S n) + 0.5 µ' L_v^1.5 N^0.5 n_v/(B S n)
//	p_a = 8.32 + 1.86e−3 N + 7.45e−7 N²
//	p_f = p_c + p_p + p_v + p_a
//
// in kPa with mm, rpm and m/s; µ' is the root of the oil's viscosity over that
// of warm oil, n cylinders, n_m = n + 1 main bearings 0.60 B wide and 0.22 B
// long, n_p = n crank pins of 0.53 B, r the compression ratio. The valve gear
// is taken as rollers on two camshafts with n + 1 bearings each, lift L_v.
//
// Valid: 15 … 1500 rad/s, manifold over ambient pressure 0.05 … 4, viscosity ratio 0.3 … 100, 1 … 10 valves per cylinder; outside an error is returned.
// Accuracy: 15 % for warm engines of 1985 … 2005; cold oil is only as good as the root law.
// Source: Patton, Nitschke, Heywood, SAE 890836, 1989; Sandoval, Heywood, SAE 2003-01-0725 (both from memory).
// Errors: a value out of range; those of crank.Geometry.Check.
func FrictionPa(g crank.Geometry, speedRadPerS, manifoldRatio, oilViscosityRatio float64, valveCount int, liftM float64) (float64, error) {
	if err := g.Check(); err != nil {
		return 0, err
	}
	if err := first([]span{
		{"engine speed", "rad/s", speedRadPerS, 15, 1500},
		{"manifold over ambient pressure", "", manifoldRatio, 0.05, 4},
		{"ratio of oil viscosity to that of warm oil", "", oilViscosityRatio, 0.3, 100},
		{"valves per cylinder", "", float64(valveCount), 1, 10},
		{"valve lift", "m", liftM, 0.001, 0.05},
	}); err != nil {
		return 0, err
	}
	return frictionPa(g, speedRadPerS, manifoldRatio, oilViscosityRatio, valveCount, liftM), nil
}

func frictionPa(g crank.Geometry, speed, load, oil float64, valves int, lift float64) float64 {
	b, s, n := 1e3*g.BoreM, 1e3*g.StrokeM, float64(g.CylinderCount)
	rpm, piston, mu, r := speed*30/math.Pi, g.MeanPistonMPerS(speed), math.Sqrt(oil), g.CompressionRatio
	swept, slow, nv, lv := b*b*s*n, 1+500/rpm, float64(valves)*n, 1e3*lift
	main, pin, long := mainFrac*b, pinFrac*b, bearingFrac*b

	crankshaft := 1.22e5*main/swept + 3.03e-4*mu*rpm*main*main*main*long*(n+1)/swept + 1.35e-10*main*main*rpm*rpm*(n+1)/n
	pistons := 294*mu*piston/b + 4.06e4*slow/(b*b) + 3.03e-4*mu*rpm*pin*pin*pin*long*n/swept
	rings := 6.89 * load * (0.088*mu*r + 0.182*math.Pow(r, math.Max(0, 1.33-0.0476*piston)))
	valveGear := 244*mu*rpm*2*(n+1)/swept + 0.0227*rpm*nv/(s*n) + 10.7*slow*lv*nv/(s*n) + 0.5*mu*math.Pow(lv, 1.5)*math.Sqrt(rpm)*nv/(b*s*n)
	own := 8.32 + 1.86e-3*rpm + 7.45e-7*rpm*rpm
	return 1e3 * (crankshaft + pistons + rings + valveGear + own)
}
