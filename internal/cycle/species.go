package cycle

import "math"

// molarGasJ is the gas constant in J/(mol·K) (CODATA 2018, exact).
const molarGasJ = 8.31446261815324

// The molecules of burned gas.
const (
	co2 = iota
	h2o
	co
	h2
	o2
	n2
	oh
	o
	h
	speciesCount
)

// nasa is a molecule's seven-coefficient polynomial, below and above 1000 K:
// cp/R = a₁ + a₂T + a₃T² + a₄T³ + a₅T⁴, with a₆ for enthalpy and a₇ for entropy.
type nasa struct {
	low, high [7]float64
	kgPerMol  float64
}

// molecules are the polynomials of GRI-Mech 3.0, thermo30.dat, 1999. Nitrogen
// carries the argon of air: 28.16 g/mol.
var molecules = [speciesCount]nasa{
	co2: {
		low:      [7]float64{2.35677352, 8.98459677e-3, -7.12356269e-6, 2.45919022e-9, -1.43699548e-13, -48371.9697, 9.90105222},
		high:     [7]float64{3.85746029, 4.41437026e-3, -2.21481404e-6, 5.23490188e-10, -4.72084164e-14, -48759.166, 2.27163806},
		kgPerMol: 44.009e-3,
	},
	h2o: {
		low:      [7]float64{4.19864056, -2.0364341e-3, 6.52040211e-6, -5.48797062e-9, 1.77197817e-12, -30293.7267, -0.849032208},
		high:     [7]float64{3.03399249, 2.17691804e-3, -1.64072518e-7, -9.7041987e-11, 1.68200992e-14, -30004.2971, 4.9667701},
		kgPerMol: 18.015e-3,
	},
	co: {
		low:      [7]float64{3.57953347, -6.1035368e-4, 1.01681433e-6, 9.07005884e-10, -9.04424499e-13, -14344.086, 3.50840928},
		high:     [7]float64{2.71518561, 2.06252743e-3, -9.98825771e-7, 2.30053008e-10, -2.03647716e-14, -14151.8724, 7.81868772},
		kgPerMol: 28.010e-3,
	},
	h2: {
		low:      [7]float64{2.34433112, 7.98052075e-3, -1.9478151e-5, 2.01572094e-8, -7.37611761e-12, -917.935173, 0.683010238},
		high:     [7]float64{3.3372792, -4.94024731e-5, 4.99456778e-7, -1.79566394e-10, 2.00255376e-14, -950.158922, -3.20502331},
		kgPerMol: 2.016e-3,
	},
	o2: {
		low:      [7]float64{3.78245636, -2.99673416e-3, 9.84730201e-6, -9.68129509e-9, 3.24372837e-12, -1063.94356, 3.65767573},
		high:     [7]float64{3.28253784, 1.48308754e-3, -7.57966669e-7, 2.09470555e-10, -2.16717794e-14, -1088.45772, 5.45323129},
		kgPerMol: 31.998e-3,
	},
	n2: {
		low:      [7]float64{3.298677, 1.4082404e-3, -3.963222e-6, 5.641515e-9, -2.444854e-12, -1020.8999, 3.950372},
		high:     [7]float64{2.92664, 1.4879768e-3, -5.68476e-7, 1.0097038e-10, -6.753351e-15, -922.7977, 5.980528},
		kgPerMol: 28.16e-3,
	},
	oh: {
		low:      [7]float64{3.99201543, -2.40131752e-3, 4.61793841e-6, -3.88113333e-9, 1.3641147e-12, 3615.08056, -0.103925458},
		high:     [7]float64{3.09288767, 5.48429716e-4, 1.26505228e-7, -8.79461556e-11, 1.17412376e-14, 3858.657, 4.4766961},
		kgPerMol: 17.007e-3,
	},
	o: {
		low:      [7]float64{3.1682671, -3.27931884e-3, 6.64306396e-6, -6.12806624e-9, 2.11265971e-12, 29122.2592, 2.05193346},
		high:     [7]float64{2.56942078, -8.59741137e-5, 4.19484589e-8, -1.00177799e-11, 1.22833691e-15, 29217.5791, 4.78433864},
		kgPerMol: 15.999e-3,
	},
	h: {
		low:      [7]float64{2.5, 7.05332819e-13, -1.99591964e-15, 2.30081632e-18, -9.27732332e-22, 25473.6599, -0.446682853},
		high:     [7]float64{2.50000001, -2.30842973e-11, 1.61561948e-14, -4.73515235e-18, 4.98197357e-22, 25473.6599, -0.446682914},
		kgPerMol: 1.008e-3,
	},
}

func (n *nasa) of(t float64) *[7]float64 {
	if t < 1000 {
		return &n.low
	}
	return &n.high
}

// enthalpy is the molar enthalpy, that of formation included, over R, in K.
func (n *nasa) enthalpy(t float64) float64 {
	a := n.of(t)
	return a[5] + t*(a[0]+t*(a[1]/2+t*(a[2]/3+t*(a[3]/4+t*a[4]/5))))
}

// gibbs is the molar free enthalpy at 1 atm over RT.
func (n *nasa) gibbs(t float64) float64 {
	a := n.of(t)
	entropy := a[0]*math.Log(t) + t*(a[1]+t*(a[2]/2+t*(a[3]/3+t*a[4]/4))) + a[6]
	return n.enthalpy(t)/t - entropy
}

// mixture is moles of each molecule per kg.
type mixture [speciesCount]float64

func (m *mixture) moles() (sum float64) {
	for _, n := range m {
		sum += n
	}
	return sum
}

// enthalpy in J/kg, that of formation included.
func (m *mixture) enthalpy(t float64) (sum float64) {
	for i, n := range m {
		if n != 0 {
			sum += n * molecules[i].enthalpy(t)
		}
	}
	return molarGasJ * sum
}

// energy is the internal energy in J/kg, that of formation included.
func (m *mixture) energy(t float64) float64 {
	return m.enthalpy(t) - molarGasJ*m.moles()*t
}

// dryAir is air of 1 O₂ to 3.773 N₂, per kg.
func dryAir() mixture {
	var m mixture
	const perOxygen = 3.773
	kg := molecules[o2].kgPerMol + perOxygen*molecules[n2].kgPerMol
	m[o2], m[n2] = 1/kg, perOxygen/kg
	return m
}
