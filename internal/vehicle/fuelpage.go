package vehicle

import (
	"fmt"

	"fettle/internal/figure"
	"fettle/internal/formula"
	"fettle/internal/petrol"
	"fettle/internal/pipeflow"
	"fettle/internal/pump"
)

// FlowPoint is a flow at a pressure that the pump raises.
type FlowPoint struct{ FlowKgPerS, RisePa float64 }

// FuelCurves are a pump and what it works against in one state.
type FuelCurves struct {
	Pump  []FlowPoint // at the volts it gets
	Sheet []FlowPoint // at the volts of its sheet
	Asked []FlowPoint // what regulator, line and filter ask at a flow
	At    FlowPoint   // where the pump works
}

// curveSteps is how finely the curves are drawn.
const curveSteps = 40

// PumpName is the device that feeds the rail, as the file names it; empty when
// there is none.
func (v *Vehicle) PumpName() string {
	c, _ := v.pumpConsumer()
	return c.name
}

func (v *Vehicle) pumpConsumer() (pumping consumer, ok bool) {
	for _, c := range v.consumers {
		if c.load != nil && c.load.Model == "pump" {
			pumping, ok = c, true
		}
	}
	return pumping, ok
}

// PumpName is the device that feeds the rail; empty when there is none.
func (s *State) PumpName() string { return s.v.PumpName() }

// FuelCurves draws the fuel side of a state; ok is false when it did not settle
// or there is no pump.
func (s *State) FuelCurves() (curves FuelCurves, ok bool) {
	v := s.v
	c, found := v.pumpConsumer()
	if !found || !s.Ended.OK {
		return curves, false
	}
	m, err := fitPump(figure.Draw{}, c)
	if err != nil {
		return curves, false
	}
	lossPa, density, ok := v.nominalLoss()
	if !ok {
		return curves, false
	}
	curves.Pump = pumpCurve(m, s.Point.PumpV, density)
	curves.Sheet = pumpCurve(m, c.part.Pump.RatedV.SI, density)
	most := max(s.Point.WantedKgPerS, c.part.Pump.FreeFlow.SI*density)
	for i := range curveSteps + 1 {
		q := most * float64(i) / curveSteps
		curves.Asked = append(curves.Asked, FlowPoint{q, s.Point.RailSetPa + lossPa(q/density)})
	}
	curves.At = FlowPoint{s.Point.PumpMostM3PerS * density, AgainstPa(s.Point.RailPa, lossPa(s.Point.PumpM3PerS))}
	if s.short() {
		curves.At.FlowKgPerS = s.Point.PumpM3PerS * density
	}
	return curves, true
}

// short reports whether the rail stands below what the regulator holds.
func (s *State) short() bool {
	return s.Point.RailPa < s.Point.RailSetPa*(1-1e-6)
}

func pumpCurve(m pump.Model, volts, densityKgPerM3 float64) []FlowPoint {
	stall := m.StallPa(volts)
	if !(stall > 0) {
		return nil
	}
	var out []FlowPoint
	for i := range curveSteps + 1 {
		pa := stall * float64(i) / curveSteps
		q, _ := m.At(volts, pa)
		out = append(out, FlowPoint{q * densityKgPerM3, pa})
	}
	return out
}

// nominalLoss is what line and filter lose in the nominal vehicle.
func (v *Vehicle) nominalLoss() (lossPa func(flowM3PerS float64) float64, densityKgPerM3 float64, ok bool) {
	fuel, err := petrol.Blend(v.Design.File.Fuel.EthanolFrac.SI)
	if err != nil {
		return nil, 0, false
	}
	c, err := v.circuit(figure.Draw{}, fuel)
	if err != nil {
		return nil, 0, false
	}
	return c.LossPa, fuel.DensityKgPerM3, true
}

// fuelFigures records what the sheet of the fuel system shows beside the
// balance: losses, the pump's need of volts, dead time.
func (a *accountant) fuelFigures(s *State) {
	k := figure.ID(s.Key)
	sys := &a.v.Design.File.System
	c, found := a.v.pumpConsumer()
	lossPa, density, ok := a.v.nominalLoss()
	if !found || !ok {
		return
	}
	line := []figure.ID{a.l.Leaf(sys.LineM), a.l.Leaf(sys.BoreM), a.l.Leaf(sys.ElbowsCount), a.l.Leaf(sys.FilterPaPerFlow), a.l.Leaf(a.v.Design.File.Fuel.EthanolFrac)}
	loss := lossPa(s.Point.PumpM3PerS)
	a.l.Put(k+"/fuel line/DropPa", formula.VehicleFuelLossPa, loss, "kPa", append([]figure.ID{k + "/engine/FuelKgPerS"}, line...)...)
	a.l.Put(k+"/fuel pump/AgainstPa", formula.VehicleAgainstPa, AgainstPa(s.Point.RailPa, loss), "kPa", k+"/rail/PressurePa", k+"/fuel line/DropPa")
	a.l.Put(k+"/fuel pump/SpareKgPerS", formula.VehicleSpareKgPerS, SpareKgPerS(s.Point.PumpMostM3PerS*density, s.Point.WantedKgPerS), "g/s", k+"/fuel pump/MostKgPerS", k+"/engine/WantedKgPerS")
	if m, err := fitPump(figure.Draw{}, c); err == nil && s.Point.WantedKgPerS > 0 {
		q := s.Point.WantedKgPerS / density
		in := append([]figure.ID{k + "/engine/WantedKgPerS", k + "/rail/SetPa"}, line...)
		a.l.Put(k+"/fuel pump/NeedV", formula.PumpModelNeedV, m.NeedV(q, s.Point.RailSetPa+lossPa(q)), "V", append(in, a.loadInputs(c)...)...)
	}
	if m, err := fitPump(figure.Draw{}, c); err == nil {
		a.pumpTable(s, c, m, density)
	}
	a.deadFigure(s)
	a.returned(s, density)
}

// PumpRows is how many pressures the pump's table is written at.
const PumpRows = 6

// pumpTable records what the pump brings at some pressures, at the volts it gets
// and at those of its sheet.
func (a *accountant) pumpTable(s *State, c consumer, m pump.Model, densityKgPerM3 float64) {
	stall := m.StallPa(s.Point.PumpV)
	if !(stall > 0) {
		return
	}
	volts, in := figure.ID(s.Key+"/fuel pump/VoltageV"), a.loadInputs(c)
	ethanol := a.l.Leaf(a.v.Design.File.Fuel.EthanolFrac)
	for i := range PumpRows {
		k := figure.ID(fmt.Sprintf("%s/fuel pump/table/%d", s.Key, i+1))
		pa := a.l.Put(k+"/RisePa", formula.VehicleRisePa, RisePa(stall, float64(i)/(PumpRows-1)), "kPa", append([]figure.ID{volts}, in...)...)
		gets, _ := m.At(s.Point.PumpV, pa)
		sheet, _ := m.At(c.part.Pump.RatedV.SI, pa)
		a.l.Put(k+"/FlowKgPerS", formula.PumpModelAt, gets*densityKgPerM3, "g/s", append([]figure.ID{k + "/RisePa", volts, ethanol}, in...)...)
		a.l.Put(k+"/SheetKgPerS", formula.PumpModelAt, sheet*densityKgPerM3, "g/s", append([]figure.ID{k + "/RisePa", a.l.Leaf(c.part.Pump.RatedV), ethanol}, in...)...)
	}
}

func (a *accountant) deadFigure(s *State) {
	for _, c := range a.v.consumers {
		if c.load == nil || c.load.Model != "injector" || s.Point.PulseS <= 0 {
			continue
		}
		in := c.part.Injector
		a.l.PutLoop(figure.ID(s.Key)+"/injector/DeadS", formula.BalanceDeadS, s.Point.DeadS, "ms", &s.Ended,
			a.l.Leaf(in.DeadAt8S), a.l.Leaf(in.DeadAt14S), figure.ID(s.Key+"/"+c.name+"/VoltageV"))
		return
	}
}

// hose records what the stated hose holds.
func (a *accountant) hose() {
	sys := &a.v.Design.File.System
	rated, err := pipeflow.HoseRatedPa(sys.Hose, sys.BoreM.SI)
	if sys.Hose == "" || err != nil {
		return
	}
	a.l.Put("fuel hose/RatedPa", formula.PipeflowHoseRatedPa, rated, sys.SetPa.Unit, a.l.Leaf(sys.BoreM))
	a.l.Put("fuel hose/LeftPa", formula.VehicleLeftSI, rated-sys.SetPa.SI, sys.SetPa.Unit, "fuel hose/RatedPa", a.l.Leaf(sys.SetPa))
}

// FuelLossPa returns the pressure that line and filter lose at the flow they carry.
//
//	Δp = Δp_line(Q) + k_filter · Q
//
// where Δp_line is the friction of the line and its fittings, see pipeflow.LineDropPa, and k_filter the filter's drop over the flow it is stated at, 100 L/h; between steps of 40 L/h the sum is drawn straight.
//
// Valid: 0 … 320 L/h; beyond it the last step is drawn on.
// Accuracy: ± 5 % of the line, ± 1 % by the steps; a filter clogs with age.
// Source: Darcy and Weisbach; filter in proportion to the flow: common practice.
// Errors: none
func FuelLossPa(linePa, filterPaSPerM3, flowM3PerS float64) float64 {
	return linePa + filterPaSPerM3*flowM3PerS
}

// RisePa returns a pressure that the pump's table is written at.
//
//	p = p_stall · i/(n − 1)
//
// where p_stall is the pressure at which the pump moves nothing at the volts it gets.
//
// Valid: a pump that turns.
// Accuracy: that of the pump's model, see pump.Model.StallPa.
// Source: a choice of points.
// Errors: none
func RisePa(stallPa, shareFrac float64) float64 { return stallPa * shareFrac }

// AgainstPa returns the pressure that the pump raises.
//
//	p = p_rail + Δp
//
// where p_rail is the rail's pressure above the atmosphere and Δp what line and filter lose.
//
// Valid: a tank at the pressure of the atmosphere, its height left out.
// Accuracy: that of the pressures.
// Source: balance of pressures along the line.
// Errors: none
func AgainstPa(railPa, lossPa float64) float64 { return railPa + lossPa }

// SpareKgPerS returns the fuel that the pump can bring beyond what is burnt; the regulator lets it go back.
//
//	ṁ = ṁ_most − ṁ_wanted
//
// Valid: a solved state; negative when the pump does not bring enough.
// Accuracy: that of the two flows.
// Source: balance of masses at the regulator.
// Errors: none
func SpareKgPerS(mostKgPerS, wantedKgPerS float64) float64 { return mostKgPerS - wantedKgPerS }
