package cycle

import (
	"fmt"
	"math"

	"fettle/internal/petrol"
)

// Grid of the property tables.
const (
	coldestK   = 200.0
	hottestK   = 4000.0
	gridK      = 20.0
	nodes      = int((hottestK-coldestK)/gridK) + 1
	leanest    = 1.4
	richest    = 0.65
	lambdaStep = 0.05
	standardK  = 298.15
	// liquidJPerKgK is the specific heat of liquid petrol and ethanol (2.1 … 2.4
	// kJ/(kg·K); from memory).
	liquidJPerKgK = 2200.0
)

// node is a point of the tables: internal energies in J/kg with the energy of
// formation, and the gas constant of the burned gas, in which it dissociates.
type node struct {
	air, fuel, burned, burnedR float64
	wall                       float64 // T^−0.53
}

// Gas is a fuel, its air and what they burn to, as tables over temperature.
// Making one takes some ten milliseconds; engines on one fuel share it.
type Gas struct {
	fuel         petrol.Fuel
	airR, fuelR  float64
	liquid       float64 // J/kg at 298.15 K, that of formation included
	air, vapour  []float64
	burned, moln [][]float64 // by lambda
}

// Heywood's polynomials of fuel vapour, cal/(mol·K) in T/1000 K, table 4.3
// (from memory): petrol C8.26H15.5 and ethanol, with their molar masses.
var (
	petrolVapour  = vapour{[5]float64{-24.078, 256.63, -201.68, 64.750, 0.5808}, 114.8e-3}
	ethanolVapour = vapour{[5]float64{6.990, 39.741, -11.926, 0, 0}, 46.069e-3}
)

type vapour struct {
	a        [5]float64
	kgPerMol float64
}

// cp in J/(kg·K); above 1000 K, where the polynomial ends, it stays.
func (v vapour) cp(kelvin float64) float64 {
	t := math.Min(kelvin, 1000) / 1000
	return 4.184 * (v.a[0] + t*(v.a[1]+t*(v.a[2]+t*v.a[3])) + v.a[4]/(t*t)) / v.kgPerMol
}

// NewGas tabulates a fuel with its air and its burned gas. Blends are read from
// their oxygen: 1 mole of it to 46.07 g of ethanol.
func NewGas(fuel petrol.Fuel) (*Gas, error) {
	for _, err := range []error{
		within("stoichiometric ratio", fuel.StoichRatio, 5, 20, ""), within("heating value", fuel.HeatingJPerKg, 15e6, 55e6, "J/kg"),
		within("heat of evaporation", fuel.LatentJPerKg, 1e5, 2e6, "J/kg"), within("carbon atoms of the fuel", fuel.CarbonCount, 0.1, 20, ""),
		within("hydrogen atoms of the fuel", fuel.HydrogenCount, 0, 50, ""), within("oxygen atoms of the fuel", fuel.OxygenCount, 0, 5, ""),
	} {
		if err != nil {
			return nil, err
		}
	}
	if ratio, err := petrol.StoichRatio(fuel.CarbonCount, fuel.HydrogenCount, fuel.OxygenCount); err != nil || math.Abs(ratio/fuel.StoichRatio-1) > 0.02 {
		return nil, fmt.Errorf("stoichiometric ratio %g of the fuel is more than 2 %% from the %g of its atoms", fuel.StoichRatio, ratio)
	}
	g := &Gas{fuel: fuel, airR: molarGasJ * moles(dryAir()), air: make([]float64, nodes), vapour: make([]float64, nodes)}
	g.tabulateFresh()
	for l := richest; l < leanest+lambdaStep/2; l += lambdaStep {
		u, r := tabulateBurned(atomsOf(fuel, l))
		g.burned, g.moln = append(g.burned, u), append(g.moln, r)
	}
	return g, nil
}

func moles(m mixture) float64 { return m.moles() }

// ethanolShare is the mass share of ethanol, from the oxygen of the fuel.
func ethanolShare(f petrol.Fuel) float64 {
	kg := 12.011*f.CarbonCount + 1.008*f.HydrogenCount + 15.999*f.OxygenCount
	return math.Min(1, f.OxygenCount*46.069/kg)
}

func (g *Gas) tabulateFresh() {
	f, dry, w := g.fuel, dryAir(), ethanolShare(g.fuel)
	g.fuelR = molarGasJ * (w/ethanolVapour.kgPerMol + (1-w)/petrolVapour.kgPerMol)
	// the fuel's energy of formation from its heating value
	full := frozen(atomsOf(f, 1))
	g.liquid = f.HeatingJPerKg + (1+f.StoichRatio)*full.enthalpy(standardK) - f.StoichRatio*dry.enthalpy(standardK)
	cp := func(t float64) float64 { return w*ethanolVapour.cp(t) + (1-w)*petrolVapour.cp(t) }
	vapourH := g.liquid + f.LatentJPerKg
	from := standardK
	// integrated outwards from the standard temperature, midpoint of 1 K
	integrate := func(to float64) float64 {
		n := math.Ceil(math.Abs(to-from)) + 1
		sum, step := 0.0, (to-from)/n
		for i := range int(n) {
			sum += cp(from+(float64(i)+0.5)*step) * step
		}
		return sum
	}
	for i := range nodes {
		t := coldestK + gridK*float64(i)
		g.air[i] = dry.energy(t)
		g.vapour[i] = vapourH + integrate(t) - g.fuelR*t
	}
}

// tabulateBurned gives energy and gas constant of burned gas over temperature.
func tabulateBurned(a atoms) (energy, gasR []float64) {
	cold := frozen(a)
	energy, gasR = make([]float64, nodes), make([]float64, nodes)
	for i := range nodes {
		t := coldestK + gridK*float64(i)
		m := cold
		if t > freezeK {
			m = equilibrium(a, t, burnedAtm)
		}
		energy[i], gasR[i] = m.energy(t), molarGasJ*m.moles()
	}
	return energy, gasR
}

// table is the gas at one lambda.
type props struct {
	at          [nodes]node
	airR, fuelR float64
	airPerFuel  float64
}

// fill makes the tables at a lambda within the tabulated range.
func (g *Gas) fill(p *props, lambda float64) {
	p.airR, p.fuelR, p.airPerFuel = g.airR, g.fuelR, lambda*g.fuel.StoichRatio
	u := (lambda - richest) / lambdaStep
	k := min(int(u), len(g.burned)-2)
	u -= float64(k)
	for i := range p.at {
		n := &p.at[i]
		n.air, n.fuel = g.air[i], g.vapour[i]
		n.burned = g.burned[k][i]*(1-u) + g.burned[k+1][i]*u
		n.burnedR = g.moln[k][i]*(1-u) + g.moln[k+1][i]*u
		n.wall = wallPower[i]
	}
}

// wallPower is T^−0.53 at the nodes.
var wallPower = func() (w [nodes]float64) {
	for i := range w {
		w[i] = math.Pow(coldestK+gridK*float64(i), -0.53)
	}
	return w
}()

// mass is what a volume holds, in kg.
type mass struct{ air, fuel, burned float64 }

func (m mass) kg() float64 { return m.air + m.fuel + m.burned }

func (m mass) times(f float64) mass { return mass{m.air * f, m.fuel * f, m.burned * f} }

// thermal are a gas's totals at a temperature: energy J, its slope J/K, and
// mass times gas constant J/K.
type thermal struct{ energy, slope, mr, wall float64 }

// thermal looks the totals up; the temperature is in the grid.
func (p *props) thermal(m *mass, t float64) thermal {
	x := (t - coldestK) * (1 / gridK)
	i := min(max(int(x), 0), nodes-2)
	x -= float64(i)
	a, b := &p.at[i], &p.at[i+1]
	low := m.air*a.air + m.fuel*a.fuel + m.burned*a.burned
	high := m.air*b.air + m.fuel*b.fuel + m.burned*b.burned
	return thermal{
		energy: low + (high-low)*x, slope: (high - low) * (1 / gridK),
		mr:   m.air*p.airR + m.fuel*p.fuelR + m.burned*(a.burnedR+(b.burnedR-a.burnedR)*x),
		wall: a.wall + (b.wall-a.wall)*x,
	}
}

// state inverts the energy, from a guess, and gives the totals there.
func (p *props) state(m *mass, energy, guess float64) (kelvin float64, th thermal) {
	x := (guess - coldestK) * (1 / gridK)
	i := int(x)
	for range 8 {
		if i < 0 {
			i = 0
		} else if i > nodes-2 {
			i = nodes - 2
		}
		a, b := &p.at[i], &p.at[i+1]
		low := m.air*a.air + m.fuel*a.fuel + m.burned*a.burned
		high := m.air*b.air + m.fuel*b.fuel + m.burned*b.burned
		x = (energy - low) / (high - low)
		if x > -1e-9 && x < 1+1e-9 || i == 0 && x < 0 || i == nodes-2 && x > 1 {
			th = thermal{
				energy: energy, slope: (high - low) * (1 / gridK),
				mr:   m.air*p.airR + m.fuel*p.fuelR + m.burned*(a.burnedR+(b.burnedR-a.burnedR)*x),
				wall: a.wall + (b.wall-a.wall)*x,
			}
			return coldestK + gridK*(float64(i)+x), th
		}
		i = int(math.Floor(float64(i) + x))
	}
	kelvin = coldestK + gridK*(float64(i)+0.5)
	return kelvin, p.thermal(m, kelvin)
}

// enthalpy per kg of a mass at a temperature.
func (p *props) enthalpy(m *mass, t float64) float64 {
	th := p.thermal(m, t)
	return (th.energy + th.mr*t) / m.kg()
}

// liquidFuel is the enthalpy of liquid fuel at a temperature, J/kg.
func (g *Gas) liquidFuel(t float64) float64 { return g.liquid + liquidJPerKgK*(t-standardK) }
