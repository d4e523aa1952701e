package injector

import (
	"fmt"

	"fettle/internal/table"
)

// DeadTime is the dead time of an injector against voltage at one pressure
// drop, with its change with pressure.
type DeadTime struct {
	VoltageV       []float64 // rising
	TimeS          []float64
	RatedDropPa    float64
	SlopeFracPerPa float64 // relative change per Pa above the rated drop
}

// Check returns the first thing wrong with the table.
func (d DeadTime) Check() error {
	g := d.grid()
	if err := g.Check(); err != nil {
		return err
	}
	if len(d.VoltageV) < 2 {
		return fmt.Errorf("dead time is given at %d voltages, at least 2 are needed", len(d.VoltageV))
	}
	for i, t := range d.TimeS {
		if !(t >= 0 && t < 0.02) {
			return fmt.Errorf("dead time %g s at %g V is outside 0 … 0.02 s", t, d.VoltageV[i])
		}
	}
	return above("rated pressure drop", d.RatedDropPa, "Pa")
}

func (d DeadTime) grid() table.Grid {
	return table.Grid{Name: "injector dead time", Unit: "s", X: table.Axis{Name: "voltage", Unit: "V", At: d.VoltageV}, Z: d.TimeS}
}

// DeadTimeS returns the dead time at a voltage at the injector and a pressure drop.
//
//	t₀ = t₀(V) · (1 + s (Δp − Δp₀))
//
// where t₀(V) is interpolated in the table and s is its slope with pressure.
//
// Valid: within the voltages of the table, Δp 0 … 1 MPa; outside an error is returned.
// Accuracy: 0.05 ms within the table of a measured injector; 0.2 ms where the table is assumed.
// Source: definition; a linear change with pressure is common practice.
// Errors: a faulty table; voltage or pressure out of range; a negative result.
func DeadTimeS(d DeadTime, voltageV, dropPa float64) (float64, error) {
	if err := d.Check(); err != nil {
		return 0, err
	}
	if !(dropPa >= 0 && dropPa <= 1e6) {
		return 0, fmt.Errorf("pressure drop across the injector %g Pa is outside 0 … 1e6 Pa", dropPa)
	}
	g := d.grid()
	t, err := g.At(voltageV, 0)
	if err != nil {
		return 0, err
	}
	t *= 1 + d.SlopeFracPerPa*(dropPa-d.RatedDropPa)
	if t < 0 {
		return 0, fmt.Errorf("dead time %g s at %g V and %g Pa is below 0 s: the slope with pressure is too steep", t, voltageV, dropPa)
	}
	return t, nil
}

// FromCoil returns the dead time over a range of voltages when it is known at
// one, from the time the coil takes to its pull-in current.
//
//	t₀(V) = t₀(V₁) + t_i(V) − t_i(V₁)
//
// where t_i is RiseS of the pull-in current and V₁ the voltage of the known value.
//
// Valid: voltages above the pull-in current times the resistance; else an error is returned.
// Accuracy: 0.15 ms over 9 … 15 V, 0.5 ms at 7 V.
// Source: circuit theory; the flight of the needle is taken as the same at all voltages.
// Errors: a voltage that can't open the injector; values out of range.
func FromCoil(c Coil, knownS, knownV, ratedDropPa float64, voltageV []float64) (DeadTime, error) {
	at, err := RiseS(c, c.PullInA, knownV)
	if err != nil {
		return DeadTime{}, err
	}
	d := DeadTime{RatedDropPa: ratedDropPa}
	for _, v := range voltageV {
		rise, err := RiseS(c, c.PullInA, v)
		if err != nil {
			return DeadTime{}, err
		}
		d.VoltageV = append(d.VoltageV, v)
		d.TimeS = append(d.TimeS, knownS+rise-at)
	}
	return d, d.Check()
}
