package supply

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"fettle/internal/demo"
	"fettle/internal/design"
	"fettle/internal/drawing"
	"fettle/internal/figure"
	"fettle/internal/quantity"
	"fettle/internal/run"
	"fettle/internal/vehicle"
)

func solved(t *testing.T, name string) *run.Result {
	t.Helper()
	files, err := demo.Files(name)
	if err != nil {
		t.Fatal(err)
	}
	in := run.Input{File: "build.yaml", Src: files["build.yaml"], Parts: map[string][]byte{}}
	for f, text := range files {
		if strings.HasPrefix(f, "parts/") {
			in.Parts[f] = text
		}
	}
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	r, err := run.Nominal(context.Background(), in, c)
	if err != nil || !r.OK() {
		t.Fatal(err, r.Errors)
	}
	return r
}

// TestOneLineEveryState draws every state of the examples: every fuse and relay
// once, the figures those of the solve, each naming its figure in the ledger.
func TestOneLineEveryState(t *testing.T) {
	for _, name := range []string{"camper", "roadster", "pickup"} {
		r := solved(t, name)
		for i := range r.Solved.States {
			s := &r.Solved.States[i]
			if !s.Ended.OK {
				t.Fatalf("%s, %s: %s", name, s.Name, s.Ended.Why)
			}
			o := Of(r.Solved, s, r.Findings)
			one := o.OneLine("one", s.Name, 1000)
			var drawn []string
			refs := 0
			named := func(l drawing.Label) {
				if l.Ref == "" {
					return
				}
				refs++
				if _, ok := r.Ledger.Why(figure.ID(l.Ref)); !ok {
					t.Errorf("%s, %s: %q names %q, which the ledger lacks", name, s.Name, l.Text, l.Ref)
				}
			}
			named(one.Bus)
			named(one.Post)
			switches := 0 // the ignition switch's outputs hang on its one fuse
			for _, m := range one.Mains {
				if m.Relay != nil && strings.HasPrefix(m.Relay.Name, "Switch ") {
					if switches++; m.Same != (switches > 1) {
						t.Errorf("%s, %s: %s draws the switch's fuse again, or none", name, s.Name, m.Relay.Name)
					}
				}
			}
			if gives, ok := s.LinkA("fuse M1"); !ok || one.Feed == nil || math.Abs(gives) >= milliA && one.Feed.Load.Text != quantity.Format(math.Abs(gives), "A", 0) {
				t.Errorf("%s, %s: M1 is not drawn between post and busbar with its %v A", name, s.Name, gives)
			}
			for _, m := range one.Mains {
				named(m.Bus)
				for _, f := range m.Feeds {
					drawn = append(drawn, strings.Fields(f.Fuse.Name)[0])
					named(f.Volt)
					named(f.Amp)
					a, ok := s.LinkA("fuse " + strings.Fields(f.Fuse.Name)[0])
					unit := "A"
					if math.Abs(a) < milliA {
						unit = "mA"
					}
					if want := quantity.Format(math.Abs(a), unit, 0); !ok || f.Amp.Text != want && (f.Amp.Text != "off" || math.Abs(a) >= idleA) {
						t.Errorf("%s, %s: %s shows %q, solved %s", name, s.Name, f.Fuse.Name, f.Amp.Text, want)
					}
				}
			}
			for k := range r.Loom.Fuses {
				f := &r.Loom.Fuses[k]
				if f.Feed != "" && !o.leads(f) && len(drawn)-len(slices.DeleteFunc(slices.Clone(drawn), func(n string) bool { return n == f.Name })) != 1 {
					t.Errorf("%s, %s: fuse %s is not drawn once", name, s.Name, f.Name)
				}
			}
			least := 1
			if s.Name == design.Idle {
				least = 20
			}
			if refs < least {
				t.Errorf("%s, %s: %d figures open to their working", name, s.Name, refs)
			}
			if box := one.Draw(); box.W > 1000 || box.H < 100 {
				t.Errorf("%s, %s: a picture of %v by %v", name, s.Name, box.W, box.H)
			}
		}
	}
}

// TestChargingChart draws the curves with a mark where each balances.
func TestChargingChart(t *testing.T) {
	r := solved(t, "camper")
	p, ok := Charging(r.Solved, "charging", 1000)
	if !ok {
		t.Fatal("no chart")
	}
	marks := 0
	for i := range r.Solved.Charging {
		c := &r.Solved.Charging[i]
		says := BalanceSays(c)
		switch {
		case !c.Balances:
			if says != "not at any speed" {
				t.Errorf("%s: %q", c.State, says)
			}
		case c.AtIdle:
			if says != "from idle on" {
				t.Errorf("%s: %q", c.State, says)
			}
		default:
			if marks++; says != "from "+quantity.Format(c.BalanceRadPerS, "rpm", 0)+" on" {
				t.Errorf("%s: %q", c.State, says)
			}
		}
	}
	if marks == 0 || len(p.Marks) != marks || len(p.Curves) != len(r.Solved.Charging)+2 {
		t.Errorf("%d marks of %d, %d curves for %d sets of loads in two airs", len(p.Marks), marks, len(p.Curves), len(r.Solved.Charging))
	}
	for _, m := range p.Marks {
		f, ok := r.Ledger.Why(figure.ID(m.Label.Ref))
		if !ok || math.Abs(float64(m.X)-f.SI*30/math.Pi) > 1e-9 {
			t.Errorf("the mark %q stands at %v", m.Label.Text, m.X)
		}
	}
	if _, ok := Charging(&vehicle.Result{}, "none", 328); ok {
		t.Error("a chart of nothing")
	}
}
