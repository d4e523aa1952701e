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
	ways := p.supplyWays()
	whole := p.live(ways, -1)
	for i := range p.loom.Fuses {
		f := &p.loom.Fuses[i]
		f.Lost = p.loss(whole, p.live(ways, i))
		if f.Name == "M2" {
			f.Lost = Loss{Outcome: RunsOn, Why: "the alternator is cut off: the engine runs until the battery is flat"}
		}
	}
}

// supplyWays are the nodes of the loom, numbered, with what joins them: wires and
// closed contacts for good, fuses and relays by their index.
type supplyWays struct {
	at            map[string]int
	next          [][]int
	fuses, relays [][2]int
}

func (s *supplyWays) number(node string) int {
	i, ok := s.at[node]
	if !ok {
		i = len(s.next)
		s.at[node] = i
		s.next = append(s.next, nil)
	}
	return i
}

func (s *supplyWays) join(a, b string) {
	i, k := s.number(a), s.number(b)
	s.next[i], s.next[k] = append(s.next[i], k), append(s.next[k], i)
}

func (p *planner) supplyWays() *supplyWays {
	s := &supplyWays{at: map[string]int{}}
	s.number(PostNode(p.d.One("battery"), 0))
	for i := range p.loom.Wires {
		if w := &p.loom.Wires[i]; w.Kind != Return && w.Kind != Strap {
			s.join(w.From.Node, w.To.Node)
		}
	}
	for _, it := range p.d.Devices {
		for _, c := range it.Part.Contacts {
			s.join(it.Name+" "+c.From, it.Name+" "+c.To)
		}
	}
	for i := range p.loom.Fuses {
		f := &p.loom.Fuses[i]
		s.fuses = append(s.fuses, [2]int{s.number(f.From), s.number(f.To)})
	}
	for i := range p.loom.Relays {
		r := &p.loom.Relays[i]
		s.relays = append(s.relays, [2]int{s.number(r.Node("30")), s.number(r.Node("87"))})
	}
	return s
}

// alive is what has its supply.
type alive struct {
	ways       *supplyWays
	node       []bool          // by number
	relay      map[string]bool // by group: its contact is closed
	controller bool
}

// fed reports whether a node has its supply.
func (a *alive) fed(node string) bool {
	i, ok := a.ways.at[node]
	return ok && a.node[i]
}

// live follows the supply from the battery with the key on and one fuse out, −1
// for none. Relays close whose coil has its supply and whose driver lives;
// opening one may take the next with it.
func (p *planner) live(ways *supplyWays, blown int) alive {
	a := alive{ways: ways, relay: map[string]bool{}}
	for i := range p.loom.Relays {
		a.relay[p.loom.Relays[i].Group] = true
	}
	// Relays open one after the other; each round opens one at least.
	for range len(p.loom.Relays) + 1 {
		a.node = p.reach(ways, blown, a.relay)
		a.controller = p.controllerLives(&a)
		changed := false
		for i := range p.loom.Relays {
			r := &p.loom.Relays[i]
			if a.relay[r.Group] && (!a.fed(r.Node("86")) || !a.controller && !p.wakes(r)) {
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

// reach marks what is joined to the battery's post, which is number 0.
func (p *planner) reach(ways *supplyWays, blown int, closed map[string]bool) []bool {
	extra := map[int][]int{}
	join := func(e [2]int) { extra[e[0]], extra[e[1]] = append(extra[e[0]], e[1]), append(extra[e[1]], e[0]) }
	for i, e := range ways.fuses {
		if i != blown {
			join(e)
		}
	}
	for i, e := range ways.relays {
		if closed[p.loom.Relays[i].Group] {
			join(e)
		}
	}
	seen := make([]bool, len(ways.next))
	seen[0] = true
	for queue := []int{0}; len(queue) > 0; queue = queue[1:] {
		for _, list := range [2][]int{ways.next[queue[0]], extra[queue[0]]} {
			for _, to := range list {
				if !seen[to] {
					seen[to] = true
					queue = append(queue, to)
				}
			}
		}
	}
	return seen
}

// controllerLives: the engine controller has its switched supply and that of its
// drivers. Its memory alone does not run it.
func (p *planner) controllerLives(live *alive) bool {
	return !slices.ContainsFunc(p.ctl.Part.Terminals, func(t named) bool {
		return t.Value.Role == "feed" && t.Value.Feed != "memory" && !live.fed(p.ctl.Name+" "+t.Name)
	})
}

// loss compares what lives with what lived.
func (p *planner) loss(before, after alive) Loss {
	var l Loss
	for _, it := range p.d.Devices {
		if slices.ContainsFunc(it.Part.Terminals, func(t named) bool {
			n := it.Name + " " + t.Name
			return t.Value.Role == "feed" && before.fed(n) && !after.fed(n)
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
			if t.Value.Role == "feed" && after.fed(it.Name+" "+t.Name) && p.keepsOn(&it, t.Name) && !slices.Contains(out, it.Name) {
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
		if it.Tells("crank angle") {
			return "crank sensor"
		}
	}
	return ""
}

func oxidiser(it *design.Item) bool {
	return slices.ContainsFunc(it.Part.Terminals, func(t named) bool { return t.Value.Feed == "nitrous" })
}
