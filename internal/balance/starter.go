package balance

import (
	"math"

	"fettle/internal/dcnet"
	"fettle/internal/starter"
)

// starterModel is the starter as a load of the network: at every voltage the
// current of the speed at which it balances the engine.
type starterModel struct{ s *Starter }

// At returns the starter's current and its slope at a voltage.
func (m starterModel) At(acrossV float64) (currentA, slopeSiemens float64) {
	const dv = 1e-3
	if acrossV <= 0 {
		return 0, 0
	}
	_, i, _ := starter.Crank(m.s.Motor, acrossV, 0, m.s.GearRatio, m.s.LoadNm)
	_, j, _ := starter.Crank(m.s.Motor, acrossV+dv, 0, m.s.GearRatio, m.s.LoadNm)
	return i, math.Max((j-i)/dv, 0)
}

func starterLoad(st *Starter, s State) dcnet.Model {
	if !s.Cranks {
		return dcnet.Current{}
	}
	return starterModel{st}
}

// crankSpeedRadPerS is the crankshaft's speed at the starter's voltage.
func crankSpeedRadPerS(st *Starter, volts float64) float64 {
	if volts <= 0 {
		return 0
	}
	w, _, _ := starter.Crank(st.Motor, volts, 0, st.GearRatio, st.LoadNm)
	return w
}
