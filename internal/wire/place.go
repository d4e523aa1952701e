package wire

import (
	"fmt"
	"math"
)

// Place is where a wire lies: in still air, alone or in a bundle whose other
// wires give off heat of their own.
type Place struct {
	AmbientK    float64
	BundleM     float64 // diameter of the bundle; below the wire's own, the wire lies alone
	OthersWPerM float64 // heat of one metre of all the other wires of the bundle
}

// Check tells whether a place can be computed with.
func (p Place) Check() error {
	switch {
	case !(p.AmbientK >= lowestK && p.AmbientK <= 473.15):
		return fmt.Errorf("ambient %.4g °C out of range -60 … 200 °C", p.AmbientK-273.15)
	case !(p.BundleM >= 0 && p.BundleM <= 0.2):
		return fmt.Errorf("bundle diameter %.4g mm out of range 0 … 200 mm", p.BundleM*1e3)
	case !(p.OthersWPerM >= 0 && p.OthersWPerM <= 1000):
		return fmt.Errorf("heat of the bundle's other wires %.4g W/m out of range 0 … 1000 W/m", p.OthersWPerM)
	}
	return nil
}

// BundleM returns the diameter of a taped bundle of round wires.
//
//	D = √(Σ d²/0.65)
//
// where Σ d² is the sum of the squares of the wires' overall diameters: they
// fill 65 % of their circle.
//
// Valid: two wires or more.
// Accuracy: ± 10 %; two equal wires measure 2 d across, not 1.75 d.
// Source: common practice, 60 to 70 % for loose wires; the closest packing of
// equal circles fills 91 %.
// Errors: none
func BundleM(sumM2 float64) float64 { return math.Sqrt(sumM2 / packFill) }

// seat is a wire in its place: how warm it is against the bundle's surface.
type seat struct {
	Place
	diameterM       float64
	restK, insideKM float64 // rise inside the bundle from the others' heat; from the wire's own, in K·m/W
}

func (p Place) seat(c Conductor) seat {
	s := seat{Place: p, diameterM: math.Max(p.BundleM, c.OverallDiameterM)}
	strand := math.Min(c.solidDiameterM()/math.Sqrt(strandFill), c.OverallDiameterM)
	s.insideKM = math.Log(c.OverallDiameterM/strand)/(2*math.Pi*insulationWPerMK) +
		math.Log(s.diameterM/c.OverallDiameterM)/(2*math.Pi*bundleWPerMK)
	if s.diameterM > c.OverallDiameterM {
		s.restK = p.OthersWPerM / (4 * math.Pi * bundleWPerMK)
	}
	return s
}

// at gives the copper's temperature and the heat of one metre of the wire that
// belong to a temperature of the bundle's surface.
func (s *seat) at(surfaceK float64) (copperK, ownWPerM float64) {
	own := lossWPerM(s.diameterM, surfaceK, s.AmbientK, seaPa) - s.OthersWPerM
	return surfaceK + s.restK + own*s.insideKM, own
}

// surfaceK finds the surface that belongs to a copper temperature.
func (s *seat) surfaceK(copperK float64) float64 {
	return root(s.AmbientK, hottestK, func(x float64) float64 { t, _ := s.at(x); return t - copperK })
}

// TempK returns the temperature of a wire's copper once it has settled in its place under a current.
//
//	q + Q = π(Nu·k·(T_s − T_a) + D·ε·σ(T_s⁴ − T_a⁴)),  T = T_s + Q/(4πλ_b) + q·(ln(D/d_o)/(2πλ_b) + ln(d_o/d_i)/(2πλ)),  q = I²·R′(T)
//
// where I is the root mean square of the current, Q the heat of the bundle's
// other wires, spread evenly over it, D its diameter and the rest as in
// [SteadyTempK]. The wire lies in the middle, where it is warmest.
//
// Valid: a place and a conductor that pass their Checks, a result below 500 °C;
// outside an error is returned. Sea level, no draught, no sun.
// Accuracy: ± 10 % of the rise alone, ± 30 % in a bundle.
// Source: as for [SteadyTempK]; conduction from a line and from a cylinder that
// is heated evenly, F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass
// Transfer, sections 3.3 and 3.5.
// Errors: an argument out of range; a current under which the wire has no
// settled temperature below 500 °C.
func (p Place) TempK(c Conductor, currentA float64) (float64, error) {
	if err := c.Check(); err != nil {
		return 0, err
	}
	if err := p.Check(); err != nil {
		return 0, err
	}
	if math.IsNaN(currentA) || math.IsInf(currentA, 0) {
		return 0, fmt.Errorf("wire current %.4g A is not a number to work with", currentA)
	}
	s := p.seat(c)
	excess := func(x float64) float64 {
		t, own := s.at(x)
		return own - currentA*currentA*ResistanceOhm(1, c.R20OhmPerM, t)
	}
	if excess(hottestK) < 0 {
		return 0, fmt.Errorf("wire of %.3g mm² with %.4g A has no settled temperature below 500 °C in its place", c.AreaM2*1e6, currentA)
	}
	t, _ := s.at(root(p.AmbientK, hottestK, excess))
	if t > hottestK {
		return 0, fmt.Errorf("wire of %.3g mm² with %.4g A settles at %.4g °C, above the range up to 500 °C", c.AreaM2*1e6, currentA, t-273.15)
	}
	return t, nil
}

// AmpacityA returns the current that holds a wire's copper at a temperature in its place.
//
//	I = √(q/R′(T)),  q from T as in [Place.TempK]
//
// Valid: as for [Place.TempK]. 0 where the other wires alone bring the copper
// to that temperature.
// Accuracy: ± 5 % alone in still air, ± 15 % in a bundle.
// Source: as for [Place.TempK].
// Errors: an argument out of range; a temperature at or below the ambient one.
func (p Place) AmpacityA(c Conductor, maxTempK float64) (float64, error) {
	if err := c.Check(); err != nil {
		return 0, err
	}
	if err := p.Check(); err != nil {
		return 0, err
	}
	if !(maxTempK > p.AmbientK && maxTempK <= hottestK) {
		return 0, fmt.Errorf("greatest wire temperature %.4g °C out of range, must be above the ambient %.4g °C and at most 500 °C",
			maxTempK-273.15, p.AmbientK-273.15)
	}
	s := p.seat(c)
	_, own := s.at(s.surfaceK(maxTempK))
	return math.Sqrt(math.Max(0, own) / ResistanceOhm(1, c.R20OhmPerM, maxTempK)), nil
}
