package loom

import (
	"fmt"
	"slices"
	"strings"

	"fettle/internal/catalogue"
	"fettle/internal/design"
)

// Outcome is what becomes of the engine when a fuse has blown.
type Outcome string

// The outcomes.
const (
	RunsOn Outcome = "runs on"
	Stops  Outcome = "stops"
	// Harmed: it neither runs nor stops as it should.
	Harmed Outcome = "neither runs nor stops as it should"
)

// Loss is what the blowing of a fuse does, with the key on.
type Loss struct {
	Outcome Outcome
	// Why says what stops the engine, or what is wrong with how it goes on.
	Why string
	// Devices lose their supply; Relays let go.
	Devices []string
	Relays  []string
	// StillOn are the devices that go on pumping fuel, or letting the oxidiser in,
	// into an engine that has stopped without a controller.
	StillOn []string
	// Part are the devices that lose their supply while others of their kind, which
	// the engine needs alike, go on.
	Part []string
}

// losses blows every fuse in turn.
func (p *planner) losses() {
	whole := p.live("")
	for i := range p.loom.Fuses {
		f := &p.loom.Fuses[i]
		f.Lost = p.loss(whole, p.live(f.Name))
		if f.Name == "M2" {
			f.Lost = Loss{Outcome: RunsOn, Why: "the alternator is cut off: the engine runs until the battery is flat"}
		}
	}
}

// alive is what has its supply.
type alive struct {
	node       map[string]bool
	relay      map[string]bool // by group: its contact is closed
	controller bool
}

// live follows the supply from the battery with the key on and one fuse out.
// Relays close whose coil has its supply and whose driver lives; opening one may
// take the next with it.
func (p *planner) live(blown string) alive {
	next := map[string][]string{}
	join := func(a, b string) { next[a], next[b] = append(next[a], b), append(next[b], a) }
	for i := range p.loom.Wires {
		if w := &p.loom.Wires[i]; w.Kind != Return && w.Kind != Strap {
			join(w.From.Node, w.To.Node)
		}
	}
	for i := range p.loom.Fuses {
		// the alternator's own fuse feeds nothing: the loads hang on the battery's side
		if f := &p.loom.Fuses[i]; f.Name != blown {
			join(f.From, f.To)
		}
	}
	for _, it := range p.d.Devices {
		for _, c := range it.Part.Contacts {
			join(it.Name+" "+c.From, it.Name+" "+c.To)
		}
	}
	a := alive{relay: map[string]bool{}}
	for i := range p.loom.Relays {
		a.relay[p.loom.Relays[i].Group] = true
	}
	// Relays open one after the other; each round opens one at least.
	for range len(p.loom.Relays) + 1 {
		a.node = p.reach(next, a.relay)
		a.controller = p.controllerLives(a.node)
		changed := false
		for i := range p.loom.Relays {
			r := &p.loom.Relays[i]
			if a.relay[r.Group] && (!a.node[r.Node("86")] || !a.controller && !p.wakes(r)) {
				a.relay[r.Group], changed = false, true
			}
		}
		if !changed {
			break
		}
	}
	return a
}

// wakes reports the relay that the controller closes before it has the supply of
// its drivers, because that comes through it.
func (p *planner) wakes(r *Relay) bool {
	g := p.d.Cat.Scheme.Relay(r.Group)
	return g != nil && g.Needs == "main relay output"
}

func (p *planner) reach(next map[string][]string, closed map[string]bool) map[string]bool {
	plus := PostNode(p.d.One("battery"), 0)
	seen := map[string]bool{plus: true}
	for queue := []string{plus}; len(queue) > 0; queue = queue[1:] {
		at := queue[0]
		visit := func(to string) {
			if !seen[to] {
				seen[to] = true
				queue = append(queue, to)
			}
		}
		for _, to := range next[at] {
			visit(to)
		}
		for i := range p.loom.Relays {
			if r := &p.loom.Relays[i]; closed[r.Group] {
				switch at {
				case r.Node("30"):
					visit(r.Node("87"))
				case r.Node("87"):
					visit(r.Node("30"))
				}
			}
		}
	}
	return seen
}

// controllerLives: the engine controller has its switched supply and that of its
// drivers. Its memory alone does not run it.
func (p *planner) controllerLives(live map[string]bool) bool {
	return !slices.ContainsFunc(p.ctl.Part.Terminals, func(t named) bool {
		return t.Value.Role == "feed" && t.Value.Feed != "memory" && !live[p.ctl.Name+" "+t.Name]
	})
}

// loss compares what lives with what lived.
func (p *planner) loss(before, after alive) Loss {
	var l Loss
	for _, it := range p.d.Devices {
		if slices.ContainsFunc(it.Part.Terminals, func(t named) bool {
			n := it.Name + " " + t.Name
			return t.Value.Role == "feed" && before.node[n] && !after.node[n]
		}) {
			l.Devices = append(l.Devices, it.Name)
		}
	}
	for i := range p.loom.Relays {
		r := &p.loom.Relays[i]
		if before.relay[r.Group] && !after.relay[r.Group] {
			l.Relays = append(l.Relays, r.Name+" "+r.Group)
		}
	}
	p.judgeLoss(&l, after)
	return l
}

// judgeLoss says what becomes of the engine. It stops when all of its fuel, all
// of its spark, its controller or its crank sensor is gone. What then still pumps
// fuel, or lets the oxidiser in, without a controller that could stop it, is not
// stopped safely; nor does an engine run on whose cylinders partly lack spark or
// fuel: those without spark pump petrol into a hot exhaust.
func (p *planner) judgeLoss(l *Loss, after alive) {
	lost := map[string]int{}
	all := map[string]int{}
	for _, it := range p.d.Devices {
		what := engineNeed(&it)
		if what == "" {
			continue
		}
		all[what]++
		if slices.Contains(l.Devices, it.Name) {
			lost[what]++
		}
	}
	var stop []string
	if !after.controller {
		stop = append(stop, "the controller is dead")
	}
	for _, what := range []string{"injectors", "coils", "fuel pump", "crank sensor"} {
		if all[what] > 0 && lost[what] == all[what] {
			stop = append(stop, "no "+what)
		}
	}
	l.Outcome = RunsOn
	if len(stop) > 0 {
		l.Outcome, l.Why = Stops, strings.Join(stop, ", ")
		if on := p.stillOn(l, after); len(on) > 0 {
			l.Outcome, l.StillOn = Harmed, on
			l.Why = fmt.Sprintf("%s, and nothing switches off %s", l.Why, strings.Join(on, ", "))
		}
		return
	}
	for _, what := range []string{"coils", "injectors", "fuel pump"} {
		if lost[what] > 0 {
			l.Outcome = Harmed
			l.Why = fmt.Sprintf("%d of %d %s are dead while the others go on", lost[what], all[what], what)
			for _, it := range p.d.Devices {
				if engineNeed(&it) == what && slices.Contains(l.Devices, it.Name) {
					l.Part = append(l.Part, it.Name)
				}
			}
			return
		}
	}
}

// stillOn lists what goes on without a controller: pumps and the oxidiser's
// valves whose supply does not come through a relay that opened with it.
func (p *planner) stillOn(l *Loss, after alive) []string {
	if after.controller {
		return nil // it sees the engine stop, and switches them off
	}
	var out []string
	for _, it := range p.d.Devices {
		for _, t := range it.Part.Terminals {
			if t.Value.Role == "feed" && after.node[it.Name+" "+t.Name] && p.keepsOn(&it, t.Name) && !slices.Contains(out, it.Name) {
				out = append(out, it.Name)
			}
		}
	}
	return out
}

// keepsOn reports a fuel pump or a valve of the oxidiser that runs as soon as its
// supply is there: a load from its feed to its ground.
func (p *planner) keepsOn(it *design.Item, feed string) bool {
	if engineNeed(it) != "fuel pump" && !oxidiser(it) {
		return false
	}
	return slices.ContainsFunc(it.Part.Loads, func(l catalogue.Load) bool {
		if l.From != feed {
			return false
		}
		i := slices.IndexFunc(it.Part.Terminals, func(t named) bool { return t.Name == l.To })
		return i >= 0 && it.Part.Terminals[i].Value.Role != "output"
	})
}

// engineNeed is what an engine can't run without that a device is one of.
func engineNeed(it *design.Item) string {
	switch it.Part.Kind {
	case "injector":
		return "injectors"
	case "coil":
		return "coils"
	case "pump":
		if it.Part.Pump != nil {
			return "fuel pump"
		}
	case "sensor":
		if strings.Contains(it.Part.Name, "crank sensor") {
			return "crank sensor"
		}
	}
	return ""
}

func oxidiser(it *design.Item) bool {
	return slices.ContainsFunc(it.Part.Terminals, func(t named) bool { return t.Value.Feed == "nitrous" })
}
