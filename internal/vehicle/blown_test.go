package vehicle

import (
	"math"
	"slices"
	"testing"

	"fettle/internal/dcnet"
	"fettle/internal/demo"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/loom"
)

// leastAliveV is what a device must have to count as supplied: half of what a
// battery at rest has. What is cut off stands below releaseV.
const leastAliveV = 6

// TestBlownFusesInTheNetwork blows every fuse of the three examples in the solved
// network at idle, lets the relays follow, and holds what is left at every device,
// and what becomes of the engine, to what the loom says of the fuse: nodal analysis
// against a walk along the wires. No fuse leaves the engine neither running nor
// stopped.
func TestBlownFusesInTheNetwork(t *testing.T) {
	for _, name := range demo.Names() {
		files, err := demo.Files(name)
		if err != nil {
			t.Fatal(err)
		}
		v := compile(t, string(files["build.yaml"]))
		if name == "camper" {
			v = camper(t, mended...)
		}
		s := solved(t, v).State(design.Idle)
		whole := blow(t, v, s, "")
		if what := whole.engine(); what != loom.RunsOn {
			t.Fatalf("%s: with every fuse whole the engine %s", name, what)
		}
		stops, cut := 0, 0
		for i := range v.Loom.Fuses {
			f := &v.Loom.Fuses[i]
			after := blow(t, v, s, f.Name)
			if got := after.engine(); got != f.Lost.Outcome || got == loom.Harmed {
				t.Errorf("%s, %s %s: in the network the engine %s, the loom says that it %s (%s)", name, f.Name, f.Feed, got, f.Lost.Outcome, f.Lost.Why)
			}
			if f.Lost.Outcome == loom.Stops {
				stops++
			}
			for device, volts := range whole.volts {
				if volts < leastAliveV || device == v.Design.One("starter").Name {
					continue
				}
				now, lost := after.volts[device], slices.Contains(f.Lost.Devices, device)
				if lost && now > releaseV || !lost && after.driven(device) && now < leastAliveV {
					t.Errorf("%s, %s %s: %s has %.2f V of %.2f V; lost, says the loom: %v", name, f.Name, f.Feed, device, now, volts, lost)
				}
				if lost {
					cut++
				}
			}
		}
		if stops < 5 || cut < 30 {
			t.Errorf("%s: only %d fuses stop the engine and %d devices are cut off", name, stops, cut)
		}
		t.Logf("%s: %d fuses blown, %d stop the engine, %d times a device is cut off", name, len(v.Loom.Fuses), stops, cut)
	}
}

// TestBlownFuseLetsThePumpRunOn plants the fault: a pump on terminal 15 goes on
// when the controller's fuses blow, in the network as in the loom.
func TestBlownFuseLetsThePumpRunOn(t *testing.T) {
	v := camper(t, append(slices.Clone(mended), set("15", "loom", "feeds", "pump", "from"))...)
	s := solved(t, v).State(design.Idle)
	for i := range v.Loom.Fuses {
		f := &v.Loom.Fuses[i]
		if !slices.Contains([]string{"memory", "controller", "switched"}, f.Feed) {
			continue
		}
		after := blow(t, v, s, f.Name)
		if got := after.engine(); got != loom.Harmed || f.Lost.Outcome != loom.Harmed || after.volts["fuel pump"] < leastAliveV {
			t.Errorf("%s %s: the pump has %.2f V and the engine %s; the loom says that it %s", f.Name, f.Feed, after.volts["fuel pump"], got, f.Lost.Outcome)
		}
	}
}

// blown is what is left in the network.
type blown struct {
	v     *Vehicle
	volts map[string]float64 // the least across a device's loads that draw
	dead  bool               // the controller
}

// blow opens a fuse, none when it has no name, and lets relays and drivers follow
// until nothing moves.
func blow(t *testing.T, v *Vehicle, s *State, fuse string) blown {
	t.Helper()
	w := v.worker()
	parts, err := v.parts(figure.Draw{}, w.net)
	if err != nil {
		t.Fatal(err)
	}
	for i := range v.links {
		w.base[i] = v.linkBase(figure.Draw{}, &v.links[i])
	}
	bs, err := w.set(figure.Draw{}, s.Name, parts)
	if err != nil {
		t.Fatal(err)
	}
	w.net.SetSource(v.battery, parts.Battery.OpenV, parts.Battery.Ohm)
	for _, c := range v.consumers { // what the balance drives, as the resistance that it was
		if c.load != nil && slices.Contains([]string{"pump", "injector", "coil"}, c.load.Model) {
			w.net.SetLoad(c.id, dcnet.Resistance{Ohm: s.Point.Net.ElementV(c.id) / s.Point.Net.ElementA(c.id)})
		}
	}
	var ch []dcnet.Change
	if fuse != "" {
		ch = []dcnet.Change{{Kind: dcnet.Open, At: v.links[v.byName["fuse "+fuse]].id}}
	}
	sw := bs.Switches.Clone()
	for range 2 + len(v.Loom.Relays) {
		sol, e := w.net.Solve(sw, nil, ch...)
		if !e.OK {
			t.Fatalf("%s blown: %s", fuse, e.Why)
		}
		b := blown{v: v, volts: map[string]float64{}}
		for _, c := range v.consumers {
			if c.coil != nil || s.Point.Net.ElementA(c.id) < 1e-6 {
				continue
			}
			if was, ok := b.volts[c.item.Name]; !ok || sol.ElementV(c.id) < was {
				b.volts[c.item.Name] = sol.ElementV(c.id)
			}
			if at := c.part.Terminal(c.load.From); c.part.Kind == "controller" && at.Feed != "memory" && sol.ElementV(c.id) < leastAliveV {
				b.dead = true
			}
		}
		if !follow(v, w.net, &sw, &sol, b.dead) {
			return b
		}
	}
	t.Fatalf("%s blown: the relays do not come to rest", fuse)
	return blown{}
}

// follow opens relays whose coil has lost its supply or its driver, and the
// drivers of a dead controller; it reports whether one moved. The main relay is
// held from the controller's memory supply and needs no live drivers.
func follow(v *Vehicle, net *dcnet.Network, sw *dcnet.Switches, sol *dcnet.Solution, dead bool) (moved bool) {
	for _, c := range v.consumers {
		switch {
		case c.coil != nil:
			link := v.links[v.byName["relay "+c.coil.Name]].id
			main := v.Design.Cat.Scheme.Relay(c.coil.Group).Needs == "main relay output"
			if sw.Closed(link) && (sol.ElementV(c.id) < releaseV || dead && !main) {
				net.SetLoad(c.id, dcnet.Current{})
				sw.Set(link, false)
				moved = true
			}
		case dead && c.load != nil && driven(&c):
			net.SetLoad(c.id, dcnet.Current{})
		}
	}
	return moved
}

// driven reports a load that the controller's pin switches.
func driven(c *consumer) bool {
	for _, end := range []string{c.load.From, c.load.To} {
		if at := c.part.Terminal(end); at != nil && at.Role == "output" {
			return true
		}
	}
	return false
}

// driven reports whether a device that is supplied would also draw.
func (b *blown) driven(device string) bool {
	for _, c := range b.v.consumers {
		if c.coil == nil && c.item.Name == device && driven(&c) {
			return !b.dead
		}
	}
	return true
}

// engine says what becomes of the engine: fuel, spark and controller all there,
// all gone, or a part of them.
func (b *blown) engine() loom.Outcome {
	all, fed, pump := map[string]int{}, map[string]int{}, 0.0
	for device, volts := range b.volts {
		i := slices.IndexFunc(b.v.Design.Devices, func(it design.Item) bool { return it.Name == device })
		it := &b.v.Design.Devices[i]
		kind := it.Part.Kind
		if kind == "pump" && it.Part.Pump == nil || !slices.Contains([]string{"pump", "injector", "coil"}, kind) {
			continue
		}
		all[kind]++
		if volts > leastAliveV {
			fed[kind]++
		}
		if kind == "pump" {
			pump = math.Max(pump, volts)
		}
	}
	for _, kind := range []string{"pump", "injector", "coil"} {
		if n := fed[kind]; n == 0 || b.dead {
			if b.dead && pump > releaseV {
				return loom.Harmed
			}
			return loom.Stops
		}
	}
	for kind, n := range all {
		if fed[kind] < n {
			return loom.Harmed
		}
	}
	return loom.RunsOn
}
