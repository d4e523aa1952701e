package calibrate

import (
	"fmt"
	"math"
	"strings"

	"fettle/internal/catalogue"
	"fettle/internal/figure"
	"fettle/internal/ignition"
	"fettle/internal/quantity"
	"fettle/internal/table"
)

const (
	lowestV, highestV = 6, 16 // a starter at work, a regulator failed (ISO 16750-2 starts there; from memory)
	// longestS bounds a dwell: a coil held longer only warms (common practice).
	longestS = 8e-3
	// fireS is what a spark needs before the next charge (common practice, 1 ms).
	fireS = 1e-3
)

func voltageAxis(name string) table.Axis {
	a := table.Axis{Name: name, Unit: "V"}
	for v := lowestV; v <= highestV; v++ {
		a.At = append(a.At, float64(v))
	}
	return a
}

// BoundedDwellS returns the dwell for a coil to reach its charge current, or the
// longest it may have when the supply can't bring it there in time, with the
// current it then reaches.
//
//	t = min(−(L/R) ln(1 − I R/U), t_most)
//
// where U is the voltage across the primary and t_most the longest dwell.
//
// Valid: voltage, resistance and inductance above 0; else an error is returned.
// Accuracy: exact for constant inductance; the true one is known to some ± 20 % unless measured.
// Source: first-order R–L circuit, any text on circuit theory.
// Errors: coil, current, voltage or longest dwell out of range.
func BoundedDwellS(chargeA, voltageV, ohm, inductanceH, mostS float64) (dwellS, reachedA float64, err error) {
	if !(mostS > 0 && mostS < 1) {
		return 0, 0, fmt.Errorf("longest dwell %g s is outside 0 … 1 s", mostS)
	}
	if err := ignition.Check(ohm, inductanceH); err != nil {
		return 0, 0, err
	}
	dwellS, err = ignition.DwellS(chargeA, voltageV, ohm, inductanceH)
	switch {
	case err == nil && dwellS <= mostS:
		return dwellS, chargeA, nil
	case err != nil && !(voltageV > 0 && chargeA > 0 && chargeA*ohm >= voltageV):
		return 0, 0, err // out of range, not out of reach
	}
	return mostS, ignition.CurrentA(mostS, voltageV, ohm, inductanceH), nil
}

func dwell(c *catalogue.Coil, limitRadPerS, sparksRatio float64) (Map, error) {
	m := Map{Name: Dwell, Title: "Coil dwell", By: "calibrate.BoundedDwellS"}
	m.Grid = table.New("coil dwell", "ms", voltageAxis("voltage across the coil"), table.Axis{})
	left, err := ignition.AvailableDwellS(limitRadPerS, sparksRatio, fireS)
	if err != nil {
		return m, fmt.Errorf("at the speed limit: %w", err)
	}
	most := own("longest dwell", math.Min(longestS, left), 0, "ms", "common practice, 8 ms, or the time that the speed limit leaves")
	at := func(volts, ohm, henry, amps float64) float64 {
		t, _, _ := BoundedDwellS(amps, volts, ohm, henry, most.SI)
		return t
	}
	m.Grid.Spread = make([]float64, len(m.Grid.Z))
	var short []string
	for i, v := range m.Grid.X.At {
		t, reached, err := BoundedDwellS(c.ChargeA.SI, v, c.Ohm.SI, c.Henry.SI, most.SI)
		if err != nil {
			return m, err
		}
		if reached < c.ChargeA.SI {
			short = append(short, fmt.Sprintf("at %s it reaches %s", quantity.Format(v, "V", 1), quantity.Format(reached, "A", 0)))
		}
		m.Grid.Z[i] = math.Round(1e5*t) / 100
		m.Grid.Spread[i] = 1e3 * sumSquares(
			at(v, c.Ohm.SI+c.Ohm.SdSI, c.Henry.SI, c.ChargeA.SI)-t,
			at(v, c.Ohm.SI, c.Henry.SI+c.Henry.SdSI, c.ChargeA.SI)-t,
			at(v, c.Ohm.SI, c.Henry.SI, c.ChargeA.SI+c.ChargeA.SdSI)-t,
		)
	}
	m.Basis = fmt.Sprintf("first-order charge of the primary, %s and %s, to %s; the voltage is that across the coil, which the loom makes less than the battery's",
		quantity.Format(c.Ohm.SI, c.Ohm.Unit, 0), quantity.Format(c.Henry.SI, c.Henry.Unit, 0), quantity.Format(c.ChargeA.SI, c.ChargeA.Unit, 0))
	if len(short) > 0 {
		m.note("the time bounds the charge, %s at most: %s", quantity.Format(most.SI, "ms", 0), strings.Join(short, ", "))
	}
	low, high := ends(m.Grid.Spread)
	m.Uncertainty = bounds(low, high, 2, "\u00a0ms") + ", 95 times in 100, from the coil's spread; measure its inductance"
	m.finish(c.Ohm, c.Henry, c.ChargeA, most)
	return m, nil
}

func sumSquares(changes ...float64) float64 {
	sum := 0.0
	for _, c := range changes {
		sum += c * c
	}
	return math.Sqrt(sum)
}

// DeadS returns the dead time of an injector at a voltage from the two that its
// sheet states.
//
//	t = t₁₄ + (t₈ − t₁₄) (1/U − 1/14 V)/(1/8 V − 1/14 V)
//
// where t₈ and t₁₄ are the dead times at 8 and 14 V.
//
// Valid: 5 … 18 V; outside an error is returned.
// Accuracy: 0.1 ms between the two points, 0.3 ms at 6 V, where some injectors no longer open.
// Source: common practice: the time to lift goes inversely with voltage.
// Errors: voltage out of range; a dead time that is not above 0.
func DeadS(voltageV, at8S, at14S float64) (float64, error) {
	if !(voltageV >= 5 && voltageV <= 18) {
		return 0, fmt.Errorf("injector voltage %g V is outside 5 … 18 V", voltageV)
	}
	t := at14S + (at8S-at14S)*(1/voltageV-1.0/14)/(1.0/8-1.0/14)
	if !(t > 0 && t < 0.02) {
		return 0, fmt.Errorf("injector dead time %g s at %g V is outside 0 … 0.02 s", t, voltageV)
	}
	return t, nil
}

func deadTime(c *catalogue.Injector) (Map, error) {
	m := Map{Name: DeadTime, Title: "Injector dead time", By: "calibrate.DeadS"}
	m.Grid = table.New("injector dead time", "ms", voltageAxis("voltage across the injector"), table.Axis{})
	m.Grid.Spread = make([]float64, len(m.Grid.Z))
	at := func(v float64, at8, at14 *figure.Input, by8, by14 float64) (float64, error) {
		return DeadS(v, at8.SI+by8*at8.SdSI, at14.SI+by14*at14.SdSI)
	}
	for i, v := range m.Grid.X.At {
		t, err := at(v, c.DeadAt8S, c.DeadAt14S, 0, 0)
		if err != nil {
			return m, err
		}
		up8, err8 := at(v, c.DeadAt8S, c.DeadAt14S, 1, 0)
		up14, err14 := at(v, c.DeadAt8S, c.DeadAt14S, 0, 1)
		if err8 != nil || err14 != nil {
			return m, fmt.Errorf("moved by its spread: %w", firstOf(err8, err14))
		}
		m.Grid.Z[i] = math.Round(1e6*t) / 1000
		m.Grid.Spread[i] = 1e3 * sumSquares(up8-t, up14-t)
	}
	m.Basis = fmt.Sprintf("inversely with voltage through %s at 8 V and %s at 14 V; the voltage is that across the injector",
		quantity.Format(c.DeadAt8S.SI, c.DeadAt8S.Unit, 0), quantity.Format(c.DeadAt14S.SI, c.DeadAt14S.Unit, 0))
	low, high := ends(m.Grid.Spread)
	m.Uncertainty = bounds(low, high, 2, "\u00a0ms") + ", 95 times in 100, from the injector's spread, at the pressure across it that the sheet states"
	m.finish(c.DeadAt8S, c.DeadAt14S)
	return m, nil
}

func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
