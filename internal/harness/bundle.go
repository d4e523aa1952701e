package harness

import (
	"fmt"
	"math"
)

// bundleRatio is how much wider a bundle is than a solid of the same area.
const bundleRatio = 1.25

// BundleM returns the diameter of a bundle of wires without its covering.
//
//	D = max(d₁ + d₂, 1.25 √(Σ d²))
//
// where d are the overall diameters of the wires, d₁ and d₂ the two greatest. A wire alone has its own diameter.
//
// Valid: round wires gathered by hand, from one on.
// Accuracy: 0 … 12 % above the tightest packing that exists of 3 … 20 equal wires, up to 13 % above for more; a bundle laid by hand is never tighter than that.
// Source: tightest packings of n equal circles in a circle: Graham 1968, Pirl 1969, Melissen 1994, Fodor 1999 to 2003; the factor for a hand-laid bundle is common practice, filling 0.64 of the round.
// Errors: a diameter that is not above 0.
func BundleM(wiresM []float64) (float64, error) {
	first, second, squares := 0.0, 0.0, 0.0
	for i, d := range wiresM {
		if !(d > 0) {
			return 0, fmt.Errorf("wire %d of the bundle is %g m thick; above 0 is due", i, d)
		}
		squares += d * d
		if d > first {
			first, second = d, first
		} else if d > second {
			second = d
		}
	}
	if len(wiresM) < 2 {
		return first, nil
	}
	return math.Max(first+second, bundleRatio*math.Sqrt(squares)), nil
}
