package vehicle

import (
	"math"
	"testing"

	"fettle/internal/balance"
	"fettle/internal/design"
	"fettle/internal/figure"
)

// interpolated reads a curve of pressure against flow, or flow against pressure, between
// its points.
func interpolated(points []FlowPoint, x float64, of, by func(FlowPoint) float64) float64 {
	for i := 1; i < len(points); i++ {
		a, b := by(points[i-1]), by(points[i])
		if (x-a)*(x-b) <= 0 && a != b {
			return of(points[i-1]) + (x-a)/(b-a)*(of(points[i])-of(points[i-1]))
		}
	}
	return math.NaN()
}

func flowOf(p FlowPoint) float64 { return p.FlowKgPerS }
func riseOf(p FlowPoint) float64 { return p.RisePa }

// TestFuelCurvesMeetWhereThePumpWorks: the working point lies on the pump's
// curve; where fuel is short the rail has sunk below what is asked, and where
// there is enough, as high as what is asked at the engine's flow.
func TestFuelCurvesMeetWhereThePumpWorks(t *testing.T) {
	// Curves of 40 straight pieces: 1 % of the flow, 0.5 % of the pressure.
	const flowTol, riseTol = 0.01, 0.005
	short := 0
	for name, v := range map[string]*Vehicle{"camper": camper(t), "mended": camper(t, mended...)} {
		r := solved(t, v)
		for _, state := range []string{design.Idle, design.Cruise, design.Full} {
			s := r.State(state)
			c, ok := s.FuelCurves()
			if !ok || len(c.Pump) < 10 || len(c.Sheet) != len(c.Pump) {
				t.Fatalf("%s, %s: %+v", name, state, c)
			}
			if got := interpolated(c.Pump, c.At.RisePa, flowOf, riseOf); math.Abs(got-c.At.FlowKgPerS) > flowTol*c.At.FlowKgPerS {
				t.Errorf("%s, %s: the pump moves %.4g kg/s at that pressure, drawn at %.4g", name, state, got, c.At.FlowKgPerS)
			}
			asked := interpolated(c.Asked, s.Point.FuelKgPerS, riseOf, flowOf)
			if s.short() {
				short++
				if c.At.RisePa >= asked || c.At.FlowKgPerS != s.Point.PumpM3PerS*v.density(figure.Draw{}) {
					t.Errorf("%s, %s: short of fuel, and drawn at %.0f kPa of %.0f asked", name, state, c.At.RisePa/1e3, asked/1e3)
				}
			} else if math.Abs(c.At.RisePa-asked) > riseTol*asked {
				t.Errorf("%s, %s: works against %.1f kPa, asked are %.1f", name, state, c.At.RisePa/1e3, asked/1e3)
			}
		}
	}
	if short == 0 {
		t.Error("no state was short of fuel, so half of this test looked at nothing")
	}
}

// TestFuelFiguresAgree holds what the sheet shows beside the balance to it.
func TestFuelFiguresAgree(t *testing.T) {
	v := camper(t)
	r := solved(t, v)
	c, ok := v.pumpConsumer()
	if !ok || v.PumpName() != "fuel pump" {
		t.Fatalf("the pump is %q", v.PumpName())
	}
	m, err := fitPump(figure.Draw{}, c)
	if err != nil {
		t.Fatal(err)
	}
	value := func(id figure.ID) float64 {
		f, ok := r.Ledger.Why(id)
		if !ok {
			t.Fatalf("%s is not in the ledger", id)
		}
		return f.SI
	}
	in := v.Design.OfKind("injector")[0].Part.Injector
	for _, state := range []string{design.Idle, design.Cruise, design.Full} {
		s := r.State(state)
		k := figure.ID(s.Key)
		// What the formula of the page says is what the balance metered with.
		if got := balance.DeadS(s.Point.InjectorV, in.DeadAt8S.SI, in.DeadAt14S.SI); math.Abs(got-s.Point.DeadS) > 1e-12 || value(k+"/injector/DeadS") != s.Point.DeadS {
			t.Errorf("%s: dead time %.6g s by the formula, %.6g in the balance", state, got, s.Point.DeadS)
		}
		// At the volts it is said to need, the pump brings just what is burnt.
		asked := v.Design.File.System.SetPa.SI
		if loss, density, ok := v.nominalLoss(); ok {
			want := s.Point.WantedKgPerS / density
			if q, _ := m.At(value(k+"/fuel pump/NeedV"), asked+loss(want)); math.Abs(q-want) > 1e-9*want {
				t.Errorf("%s: at the volts it needs it brings %.6g of %.6g m³/s", state, q, want)
			}
		}
		spare := value(k + "/fuel pump/SpareKgPerS")
		if enough := s.Point.PumpV >= value(k+"/fuel pump/NeedV"); enough != (spare >= 0) {
			t.Errorf("%s: %.4g V at the pump, %.4g kg/s to spare", state, s.Point.PumpV, spare)
		}
	}
}
