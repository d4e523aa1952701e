package pipeflow

import "fmt"

// HoseClass is a class of rubber fuel hose by the published standard SAE J30.
type HoseClass struct {
	Name    string
	Use     string
	Inject  bool    // meant for injection pressures
	SmallPa float64 // working pressure up to and with WideM bore, gauge
	LargePa float64 // working pressure above it, gauge
	WideM   float64
	Source  string
}

const psi = 6894.757

// HoseClasses lists the classes of SAE J30. The uses stand on the front pages
// of the editions of June 1998 and February 2012; the working pressures are
// from memory: check the printing on the hose.
func HoseClasses() []HoseClass {
	const source = "SAE J30 (uses: front page of the 2012 edition; pressures from memory)"
	const bore = 3.0 / 8 * 0.0254
	return []HoseClass{
		{"R6", "low pressure, carburetted engine, vent and return", false, 50 * psi, 35 * psi, bore, source},
		{"R7", "low pressure, carburetted engine, vent and return", false, 50 * psi, 35 * psi, bore, source},
		{"R8", "low pressure, high temperature", false, 50 * psi, 35 * psi, bore, source},
		{"R9", "fuel injection, medium pressure", true, 100 * psi, 100 * psi, bore, source},
		{"R10", "submerged in the tank", true, 100 * psi, 100 * psi, bore, source},
		{"R14", "low permeation, low pressure", false, 50 * psi, 50 * psi, bore, source},
	}
}

// HoseRatedPa returns the working pressure of a class of fuel hose at a bore.
//
//	p = p_small for d ≤ ⅜ inch, else p_large
//
// Valid: the classes of HoseClasses; else an error is returned.
// Accuracy: the printed class; an old hose holds less.
// Source: SAE J30, from memory; the printing on the hose rules.
// Errors: class not known, bore not above 0.
func HoseRatedPa(class string, boreM float64) (float64, error) {
	if err := above("bore", boreM, "m"); err != nil {
		return 0, err
	}
	for _, h := range HoseClasses() {
		if h.Name != class {
			continue
		}
		if boreM <= h.WideM*(1+1e-6) {
			return h.SmallPa, nil
		}
		return h.LargePa, nil
	}
	return 0, fmt.Errorf("hose class %q is none of R6, R7, R8, R9, R10, R14", class)
}
