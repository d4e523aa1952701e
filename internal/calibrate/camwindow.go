package calibrate

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// windowSlackRad is how far an edge of a cam wheel may stand beside its place: the
// chain's slack, the wheel's fit and the sensor's own error (common practice, 8 to 12°
// of the crankshaft).
const windowSlackRad = 10 * degree

// CamWindowRad returns the width of the window in which a cam wheel's edge is waited for.
//
//	W = φ_t + 2 · 10°
//
// where φ_t is the phaser's travel; it opens 10° before the edge of the parked cam and closes 10° past that of the cam at its travel's end.
//
// Valid: travel 0 … 90° of the crankshaft; outside an error is returned.
// Accuracy: a choice.
// Source: common practice: slack of the chain, fit of the wheel, error of the sensor.
// Errors: travel out of range.
func CamWindowRad(travelRad float64) (float64, error) {
	if !(travelRad >= 0 && travelRad <= 90*degree+1e-9) {
		return 0, fmt.Errorf("phaser travel %g° is outside 0 … 90°", travelRad/degree)
	}
	return travelRad + 2*windowSlackRad, nil
}

// camWindow are the settings of a side's cam window. A window as wide as its
// wheel's edges lie apart can't tell them from each other.
func (f *Fitted) camWindow(side string, travelRad float64) []Setting {
	width, err := CamWindowRad(travelRad)
	if err != nil {
		return []Setting{{Group: "cams", Name: side + " cam's window", Word: "can't be laid", Why: err.Error(), Gate: true}}
	}
	out := []Setting{
		number("cams", side+" cam's window opens before the parked edge", windowSlackRad/degree, 2, "°", "common practice: slack of chain, wheel and sensor; verified with the travel"),
		number("cams", side+" cam's window closes after the edge at its travel's end", windowSlackRad/degree, 2, "°", "common practice; it is "+strconv.FormatFloat(math.Round(width/degree), 'f', -1, 64)+"° wide and holds over the whole travel"),
	}
	if apart, ok := f.edgesApartRad(side); ok && width >= apart {
		out = append(out, Setting{
			Group: "cams", Name: side + " cam's window over the whole travel", Word: "does not hold", Gate: true,
			Why: fmt.Sprintf("the window is %.0f° wide and the wheel's edges lie %.0f° apart: two of them fall into it", width/degree, apart/degree),
		})
	}
	return out
}

// edgesApartRad is how far the like edges of a side's wheel lie apart, of the
// crankshaft; ok is false where the file does not say.
func (f *Fitted) edgesApartRad(side string) (float64, bool) {
	for _, w := range f.CamWheels {
		moves, wheel, _ := strings.Cut(w, " ")
		if moves != side && moves != "both" {
			continue
		}
		wheel, _, _ = strings.Cut(wheel, "-")
		if n, err := strconv.Atoi(wheel); err == nil && n > 0 {
			return 720 * degree / float64(n), true
		}
	}
	return 0, false
}
