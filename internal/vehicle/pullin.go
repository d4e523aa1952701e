package vehicle

import (
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/formula"
	"fettle/internal/loom"
	"fettle/internal/relay"
)

// PullInRoom is the margin of a relay that has to close again with its coil hot.
const PullInRoom = "Volts at the coil of relay "

// pullInMargins hold the volts at each relay's coil, in the first state in which
// it closes, against what it takes to close it again straight after a drive, when
// its winding is as hot as its place and its own current make it. The start relay
// closes before the starter draws, in no state that is solved, and has none.
func (v *Vehicle) pullInMargins(d figure.Draw, s *State, states []State, add addMargin) {
	for i := range v.consumers {
		c := &v.consumers[i]
		if c.coil == nil || closesIn(c.coil, states) != s.Name {
			continue
		}
		warm := s
		if i := stateAt(states, design.Cruise); i >= 0 && contains(c.coil.On, design.Cruise) && states[i].Ended.OK {
			warm = &states[i]
		}
		limit := relay.PullInV(d.Of(c.part.Relay.OperateV), v.windingK(d, c, warm))
		add(PullInRoom+c.coil.Name, c.coil.Name, "PullInV", s.Point.Net.ElementV(c.id), limit, true, "V")
	}
}

// windingK is how hot a relay's coil gets in a state.
func (v *Vehicle) windingK(d figure.Draw, c *consumer, s *State) float64 {
	return relay.WindingK(d.Of(v.placeK(v.Loom.Box)), s.Point.Net.ElementV(c.id), d.Of(c.part.Relay.CoilOhm), d.Of(v.k.coilKPerW))
}

// closesIn is the first state, not of the starter, in which a relay closes; ""
// when there is none.
func closesIn(r *loom.Relay, states []State) string {
	for i := range states {
		if n := states[i].Name; contains(r.On, n) && (n == design.KeyOn || design.Runs(n)) {
			return n
		}
	}
	return ""
}

func stateAt(states []State, name string) int {
	for i := range states {
		if states[i].Name == name {
			return i
		}
	}
	return -1
}

// coilOf is the consumer that is a relay's coil.
func (v *Vehicle) coilOf(name string) *consumer {
	for i := range v.consumers {
		if c := &v.consumers[i]; c.coil != nil && c.coil.Name == name {
			return c
		}
	}
	return nil
}

// pullInSources are a coil's volts, and what its pull-in voltage is made of.
func (a *accountant) pullInSources(s *State, m Margin) (value, limit []figure.ID) {
	v := a.v
	c := v.coilOf(m.Subject)
	r := c.part.Relay
	warm := s
	if w := a.r.State(design.Cruise); contains(c.coil.On, design.Cruise) && w != nil && w.Ended.OK {
		warm = w
	}
	hot := figure.ID("relay/" + m.Subject + "/WindingK")
	a.l.Put(hot, formula.RelayWindingK, v.windingK(figure.Draw{}, c, warm), "°C",
		a.l.Leaf(v.placeK(v.Loom.Box)), figure.ID(warm.Key+"/"+c.name+"/VoltageV"), a.l.Leaf(r.CoilOhm), a.l.Leaf(v.k.coilKPerW))
	pulls := figure.ID("relay/" + m.Subject + "/PullInV")
	a.l.Put(pulls, formula.RelayPullInV, m.Limit, "V", a.l.Leaf(r.OperateV), hot)
	return []figure.ID{figure.ID(s.Key + "/" + c.name + "/VoltageV")}, []figure.ID{pulls}
}
