package vehicle

import (
	"math"
	"testing"

	"fettle/internal/figure"
)

// TestEveryFigureResolves holds every figure of the ledger to a formula whose
// inputs are all there, or to a source of its own.
func TestEveryFigureResolves(t *testing.T) {
	for k, v := range []*Vehicle{camper(t), camper(t, mended...), boosted(t)} {
		r := solved(t, v)
		all := r.Ledger.All()
		if len(all) < 1000 {
			t.Errorf("the ledger holds %d figures", len(all))
		}
		for _, f := range all {
			if f.By == nil && (f.Leaf == nil || f.Leaf.Source == "") {
				t.Errorf("vehicle %d: %s has neither formula nor source", k, f.ID)
			}
			for _, in := range f.In {
				if _, ok := r.Ledger.Why(in); !ok {
					t.Errorf("vehicle %d: %s rests on %q, which is not there", k, f.ID, in)
				}
			}
			if math.IsNaN(f.SI) || math.IsInf(f.SI, 0) {
				t.Errorf("vehicle %d: %s is %g", k, f.ID, f.SI)
			}
		}
		for _, m := range r.Margins {
			for _, id := range []figure.ID{m.ID, m.ID + "/limit", m.ID + "/left"} {
				if _, ok := r.Ledger.Why(id); !ok {
					t.Errorf("vehicle %d: %s is not in the ledger", k, id)
				}
			}
		}
	}
}

// recompute does the sum of a formula from the inputs that are shown for it. A
// sign that hangs on which end of a wire comes first is taken from the figure.
var recompute = map[string]func(f figure.Figure, in []float64) float64{
	"vehicle.ThroughA": func(f figure.Figure, in []float64) float64 {
		return math.Copysign(sum(in), f.SI)
	},
	"vehicle.DropV":    func(_ figure.Figure, in []float64) float64 { return in[0] * in[1] },
	"vehicle.BatteryA": func(_ figure.Figure, in []float64) float64 { return in[1] - in[0] },
	"vehicle.OpenV": func(f figure.Figure, in []float64) float64 {
		if len(in) != 2 {
			return f.SI // one side lies on no device's way, or is the reference
		}
		return in[0] - in[1]
	},
	"vehicle.MeshA": func(f figure.Figure, in []float64) float64 {
		if len(in) == 2 { // against the reference
			return math.Copysign(in[0]/in[1], f.SI)
		}
		return (in[0] - in[1]) / in[2]
	},
	"vehicle.NodeV": func(f figure.Figure, in []float64) float64 {
		before := sum(in[1:])
		if math.Abs(before+in[0]-f.SI) < math.Abs(before-in[0]-f.SI) {
			return before + in[0]
		}
		return before - in[0]
	},
	"vehicle.LeftSI":        func(f figure.Figure, in []float64) float64 { return math.Copysign(in[0]-in[1], f.SI) },
	"vehicle.MarginSI":      func(_ figure.Figure, in []float64) float64 { return in[0] },
	"vehicle.SensorSupplyV": func(_ figure.Figure, in []float64) float64 { return sum(in[2:]) - in[0]*in[1] },
	"vehicle.PowerW":        func(_ figure.Figure, in []float64) float64 { return in[0] * in[1] },
	"balance.LambdaRatio":   func(f figure.Figure, in []float64) float64 { return lambda(f, in) },
}

func sum(in []float64) float64 {
	s := 0.0
	for _, x := range in {
		s += x
	}
	return s
}

func lambda(f figure.Figure, in []float64) float64 {
	if in[2] == 0 {
		return f.SI // nothing burns
	}
	return in[0] * in[1] / in[2]
}

// skips are margins whose value is a magnitude or a sum over what they name.
func skips(f figure.Figure, in []figure.Figure) bool {
	return f.By.ID == "vehicle.MarginSI" && (len(in) != 1 || in[0].SI < 0)
}

// TestWorkingsAddUp does the shown working of every figure again, from the
// figures shown as its inputs: what a user with a pocket calculator would do.
func TestWorkingsAddUp(t *testing.T) {
	done := map[string]int{}
	for k, v := range []*Vehicle{camper(t), camper(t, mended...), boosted(t)} {
		r := solved(t, v)
		for _, f := range r.Ledger.All() {
			if f.By == nil || recompute[f.By.ID] == nil {
				continue
			}
			in, figs := make([]float64, len(f.In)), make([]figure.Figure, len(f.In))
			for i, id := range f.In {
				figs[i], _ = r.Ledger.Why(id)
				in[i] = figs[i].SI
			}
			if skips(f, figs) {
				continue
			}
			done[f.By.ID]++
			// a current of a mesh is a small difference of voltages over milliohms
			tol := 1e-6 * math.Max(math.Abs(f.SI), 1)
			if got := recompute[f.By.ID](f, in); !(math.Abs(got-f.SI) <= tol) {
				t.Errorf("vehicle %d: %s is shown as %.9g; its inputs %v give %.9g", k, f.ID, f.SI, f.In, got)
			}
		}
	}
	for id := range recompute {
		if done[id] == 0 {
			t.Errorf("no figure is computed by %s", id)
		}
	}
	t.Logf("%v", done)
}

// TestDeviceVoltageFromItsWay does the same for the voltage at each device, with
// the signs of its way.
func TestDeviceVoltageFromItsWay(t *testing.T) {
	v := camper(t, mended...)
	r := solved(t, v)
	for i := range r.States {
		s := &r.States[i]
		for _, c := range v.consumers {
			f, _ := r.Ledger.Why(figure.ID(s.Key + "/" + c.name + "/VoltageV"))
			if len(f.In) == 0 {
				t.Fatalf("%s has no working", f.ID)
			}
			first, _ := r.Ledger.Why(f.In[0])
			left := first.SI
			for j, h := range v.Way(c.name) {
				if want := figure.ID(s.Key + "/" + h.Name + "/DropV"); j+1 >= len(f.In) || !contains(ids(f.In), string(want)) {
					t.Errorf("%s does not name %s", f.ID, want)
				}
				from, _ := s.NodeV(h.From)
				to, _ := s.NodeV(h.To)
				d, _ := r.Ledger.Why(figure.ID(s.Key + "/" + h.Name + "/DropV"))
				if math.Abs(math.Abs(from-to)-math.Abs(d.SI)) > 1e-9 {
					t.Errorf("%s: %s drops %.9g V, its ends stand %.9g V apart", s.Name, h.Name, d.SI, from-to)
				}
				left -= from - to
			}
			if math.Abs(left-f.SI) > 1e-8 {
				t.Errorf("%s is %.9g V; %s less its way is %.9g V", f.ID, f.SI, f.In[0], left)
			}
		}
	}
}

func ids(in []figure.ID) []string {
	out := make([]string, len(in))
	for i, id := range in {
		out[i] = string(id)
	}
	return out
}
