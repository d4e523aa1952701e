package loom

import (
	"math"
	"slices"

	"fettle/internal/fuse"
)

// LengthM returns the length a wire is cut to.
//
//	l = Σ l_route · (1 + s) + n · l_tail
//
// where l_route are the routes on its way, s the allowance for bends and dress, n the number of device ends and l_tail the piece from a route's end to a plug.
//
// Valid: routes measured along the vehicle.
// Accuracy: that of the measured routes.
// Source: common practice.
// Errors: none
func LengthM(routesM, slackFrac, tailM float64, tailCount int) float64 {
	return routesM*(1+slackFrac) + float64(tailCount)*tailM
}

// LimitV returns the voltage a wire may lose: its share of what its circuit's class allows.
//
//	U_max = share · U_class
//
// where the share is 0.6 for a trunk that divides, 0.4 for a branch and 1 for a wire alone.
//
// Valid: circuits of the scheme's classes.
// Accuracy: a convention, not a measurement.
// Source: common practice: 0.5 V for pumps and coils, 3 to 5 % elsewhere.
// Errors: none
func LimitV(classV, shareFrac float64) float64 { return classV * shareFrac }

// DesignA returns the current a wire or fuse is sized for: the greatest sum, over the states, of what the devices behind it draw at 13.5 V.
//
//	I = max over states of Σ I_k
//
// Valid: sizing only; the solve computes the real currents.
// Accuracy: within 15 % of the solved current.
// Source: the parts' loads; injectors at 85 % duty and coils charged a third of the time (common practice).
// Errors: none
func DesignA(sumsA ...float64) float64 {
	most := 0.0
	for _, a := range sumsA {
		most = max(most, a)
	}
	return most
}

// HeatA returns the current that heats a wire or a fuse: the greatest root mean square, over the states, of what the devices behind it draw at 13.5 V.
//
//	I = max over states of √((Σ I_k)² + Σ (I²_rms,k − I_k²))
//
// where I_k is the mean current of a device and I_rms,k its root mean square: I_on·√f for pulses that fill the share f of the time, I_cut·√(f/3) for a coil that charges in it.
//
// Valid: pulses of different devices that are independent of each other.
// Accuracy: within 15 % of the solved current; pulses that coincide heat more, by 10 % at most in an engine harness.
// Source: variances of independent signals add; shares as in DesignA (common practice).
// Errors: none
func HeatA(meanA, varianceA2 float64) float64 { return math.Sqrt(meanA*meanA + varianceA2) }

// OthersWPerM returns the heat of one metre of a bundle, but for one wire, in the state in which it is greatest.
//
//	Q = max over states of Σ I_k² · R′_k
//
// where I_k is what heats each other wire in that state and R′_k its resistance per metre at its insulation's limit; rounded up to 0.1 W/m.
//
// Valid: the wires of one branch of the harness; cables that lie apart are left out.
// Accuracy: on the safe side by up to 30 %, for copper cooler than its limit.
// Source: Joule's law.
// Errors: none
func OthersWPerM(currentA, ohmPerM float64) float64 { return currentA * currentA * ohmPerM }

// MostA returns what a fuse carries for good in its place.
//
//	as fuse.ContinuousA, at the temperature of the fuse's place
//
// Valid: −40 … 125 °C around the fuse.
// Accuracy: that of fuse.ContinuousA.
// Source: see there.
// Errors: none
func MostA(f *Fuse, shareFrac float64) float64 {
	return fuse.ContinuousA(f.RatingA.SI, shareFrac, f.HotK.SI)
}

// Together reports whether two wires share the branch in which the first lies
// warmest.
func (l *Loom) Together(w, other *Wire) bool {
	if apart(w) || apart(other) || w.Lie.Wires < 2 {
		return false
	}
	return slices.Contains(other.Routes, w.Lie.route)
}
