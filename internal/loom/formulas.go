package loom

import (
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/wire"
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

// AmpacityA returns the current that a conductor of the catalogue carries for ever at a place, in its bundle; 0 when the place is hotter than its insulation stands.
//
//	as wire.AmpacityA, with three wires of the bundle at full current
//
// Valid: still air, −60 … 200 °C.
// Accuracy: ± 15 %.
// Source: see wire.AmpacityA.
// Errors: none
func AmpacityA(d *design.Design, c *catalogue.Cable, tempK float64) float64 {
	a, err := wire.AmpacityA(wire.Conductor{AreaM2: c.AreaM2.SI, R20OhmPerM: c.OhmPerM.SI, OverallDiameterM: c.OverallM.SI},
		d.Cat.Cables.InsulationK.SI, tempK, sizingBundle)
	if err != nil {
		return 0
	}
	return a
}
