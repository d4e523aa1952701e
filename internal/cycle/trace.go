package cycle

import (
	"fmt"
	"math"
	"slices"

	"fettle/internal/crank"
	"fettle/internal/quantity"
)

// Trace is cylinder pressure against crank angle, of one closed cycle, 0 at the
// top of the firing stroke.
type Trace struct {
	AngleRad   []float64 // rising
	PressurePa []float64 // absolute
}

// Check returns the first thing that can't be.
func (t Trace) Check() error {
	if len(t.AngleRad) != len(t.PressurePa) || len(t.AngleRad) < 10 {
		return fmt.Errorf("a trace of %d angles and %d pressures: at least 10 of each, and as many, are needed", len(t.AngleRad), len(t.PressurePa))
	}
	for i, a := range t.AngleRad {
		if err := first([]span{{"crank angle", "rad", a, -2 * math.Pi, 2 * math.Pi}, {"cylinder pressure", "Pa", t.PressurePa[i], 1e3, 5e7}}); err != nil {
			return err
		}
		if i > 0 && a <= t.AngleRad[i-1] {
			return fmt.Errorf("crank angle %s is not above the %s before it", quantity.Format(a, "°", 6), quantity.Format(t.AngleRad[i-1], "°", 6))
		}
	}
	return nil
}

// ExponentRatio returns the polytropic exponent of a measured compression: the
// slope of the logarithms of pressure and volume, by least squares.
//
//	n = −Σ(x − x̄)(y − ȳ)/Σ(x − x̄)²,  x = ln V, y = ln p
//
// Valid: an interval of at least 5 points within the trace, both valves shut and no combustion; else an error is returned.
// Accuracy: 0.005 with the pressure's zero right within 1 kPa.
// Source: Heywood, Internal Combustion Engine Fundamentals, 1st ed. 1988, section 9.2.2; least squares.
// Errors: those of Trace.Check and crank.Geometry.Check; too few points.
func (t Trace) ExponentRatio(g crank.Geometry, fromRad, toRad float64) (float64, error) {
	if err := t.usable(g); err != nil {
		return 0, err
	}
	var n, sx, sy, sxx, sxy float64
	for i, a := range t.AngleRad {
		if a < fromRad || a > toRad {
			continue
		}
		x, y := math.Log(g.CylinderM3(a)), math.Log(t.PressurePa[i])
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	if n < 5 {
		return 0, fmt.Errorf("%.0f points of the trace lie in %s … %s, at least 5 are needed", n, quantity.Number(fromRad, "°", 4), quantity.Format(toRad, "°", 4))
	}
	return -(n*sxy - sx*sy) / (n*sxx - sx*sx), nil
}

// MeanPa returns the work of the trace over the swept volume.
//
//	p̄ = (1/V_s) Σ ½ (p_i + p_{i+1}) (V_{i+1} − V_i)
//
// Valid: a trace that passes its Check.
// Accuracy: 0.1 % at steps of 1°; what lies outside the trace is left out.
// Source: definition of the mean effective pressure, trapezium rule.
// Errors: those of Trace.Check and crank.Geometry.Check.
func (t Trace) MeanPa(g crank.Geometry) (float64, error) {
	if err := t.usable(g); err != nil {
		return 0, err
	}
	work := 0.0
	for i := 1; i < len(t.AngleRad); i++ {
		work += (t.PressurePa[i] + t.PressurePa[i-1]) / 2 * (g.CylinderM3(t.AngleRad[i]) - g.CylinderM3(t.AngleRad[i-1]))
	}
	return work / g.SweptM3(), nil
}

// PeakPa returns the highest pressure of the trace.
//
//	max p
//
// Valid: a trace of at least one point.
// Accuracy: that of the trace.
// Source: definition.
// Errors: none; an empty trace gives 0.
func (t Trace) PeakPa() float64 {
	if len(t.PressurePa) == 0 {
		return 0
	}
	return slices.Max(t.PressurePa)
}

func (t Trace) usable(g crank.Geometry) error {
	if err := t.Check(); err != nil {
		return err
	}
	return g.Check()
}
