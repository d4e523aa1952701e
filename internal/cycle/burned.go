package cycle

import (
	"math"

	"fettle/internal/petrol"
)

// Constants of burned gas.
const (
	// freezeK is where the reactions of burned gas stop as it cools: there the
	// constant of the water-gas reaction is 3.5, as exhaust gas shows it
	// (Heywood, section 4.9; from memory).
	freezeK = 1740.0
	// burnedAtm is the pressure at which dissociation is tabulated; the energy
	// bound by it goes with the cube root of the pressure, and is small
	// wherever the pressure is far from this.
	burnedAtm = 25.0
)

// atoms per kg of gas, in mol.
type atoms struct{ c, h, o, n float64 }

// atomsOf counts the atoms of a mixture of fuel and air.
func atomsOf(f petrol.Fuel, lambda float64) atoms {
	kgPerMol := 1e-3 * (12.011*f.CarbonCount + 1.008*f.HydrogenCount + 15.999*f.OxygenCount)
	air := lambda * f.StoichRatio
	fuel := 1 / (1 + air) / kgPerMol
	dry := dryAir()
	share := air / (1 + air)
	return atoms{
		c: fuel * f.CarbonCount, h: fuel * f.HydrogenCount,
		o: fuel*f.OxygenCount + 2*share*dry[o2], n: 2 * share * dry[n2],
	}
}

// balance are the constants of five reactions at a temperature, pressures in atm.
type balance struct{ co, h2, oh, o, h float64 }

func balanceAt(t float64) balance {
	g := func(i int) float64 { return molecules[i].gibbs(t) }
	return balance{
		co: math.Exp(g(co2) - g(co) - g(o2)/2), // CO₂ ⇌ CO + ½ O₂
		h2: math.Exp(g(h2o) - g(h2) - g(o2)/2), // H₂O ⇌ H₂ + ½ O₂
		oh: math.Exp((g(h2)+g(o2))/2 - g(oh)),  // ½ H₂ + ½ O₂ ⇌ OH
		o:  math.Exp(g(o2)/2 - g(o)),           // ½ O₂ ⇌ O
		h:  math.Exp(g(h2)/2 - g(h)),           // ½ H₂ ⇌ H
	}
}

// equilibrium is the gas that the atoms make at a temperature and pressure. The
// unknown is the root of the oxygen's partial pressure, in which the count of
// oxygen atoms rises; the total of moles is found by repetition.
func equilibrium(a atoms, t, atm float64) mixture {
	k := balanceAt(t)
	scale := (a.c + a.h/2 + a.n/2 + math.Max(0, a.o/2-a.c-a.h/4)) / atm // mol per kg and atm
	var m mixture
	for range 30 {
		m = k.compose(a, scale, k.oxygen(a, scale, atm))
		next := m.moles() / atm
		if math.Abs(next-scale) < 1e-10*scale {
			break
		}
		scale = next
	}
	return m
}

// oxygen finds the root of the oxygen's pressure by halving in the logarithm.
func (k balance) oxygen(a atoms, scale, atm float64) float64 {
	low, high := math.Log(1e-12), math.Log(math.Sqrt(2*atm))
	for range 50 {
		mid := (low + high) / 2
		m := k.compose(a, scale, math.Exp(mid))
		if 2*m[co2]+m[co]+m[h2o]+2*m[o2]+m[oh]+m[o] > a.o {
			high = mid
		} else {
			low = mid
		}
	}
	return math.Exp((low + high) / 2)
}

// compose gives the gas at a root of oxygen's pressure; the atoms C, H, N are
// placed, those of O come out.
func (k balance) compose(a atoms, scale, root float64) (m mixture) {
	m[co2] = a.c / (1 + k.co/root)
	m[co] = a.c - m[co2]
	// 2y²(1 + root/K) + y(K_OH root + K_H) = H, y the root of hydrogen's pressure
	quad, lin, want := 2*(1+root/k.h2), k.oh*root+k.h, a.h/scale
	y := 2 * want / (lin + math.Sqrt(lin*lin+4*quad*want))
	m[h2] = y * y * scale
	m[h2o] = m[h2] * root / k.h2
	m[oh] = k.oh * y * root * scale
	m[h] = k.h * y * scale
	m[o2] = root * root * scale
	m[o] = k.o * root * scale
	m[n2] = a.n / 2
	return m
}

// frozen is the gas that leaves: dissociation undone, the water-gas reaction at
// its constant of freezeK. With air to spare all is burned.
func frozen(a atoms) (m mixture) {
	m[n2] = a.n / 2
	spare := a.o - 2*a.c - a.h/2
	if spare >= 0 {
		m[co2], m[h2o], m[o2] = a.c, a.h/2, spare/2
		return m
	}
	k := balanceAt(freezeK)
	wg := k.co / k.h2 // CO · H₂O / (CO₂ · H₂)
	// x mol of CO, s − x mol of H₂, s = −spare short of full burning
	s := -spare
	qa, qb, qc := wg-1, -(wg*(a.c+s) + a.h/2 - s), wg*a.c*s
	x := 0.0
	if root := math.Sqrt(math.Max(0, qb*qb-4*qa*qc)); math.Abs(qa) > 1e-9 {
		x = 2 * qc / (-qb + root)
	} else {
		x = -qc / qb
	}
	m[co], m[co2] = x, a.c-x
	m[h2], m[h2o] = s-x, a.h/2-(s-x)
	return m
}
