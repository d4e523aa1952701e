// Package dcnettest makes invented networks for the tests and benchmarks of
// dcnet, each in two forms at once: as a dcnet.Network and as cards for a
// general-purpose circuit simulator, so that one can be held against the other.
//
// Conventions: as dcnet; the simulator's node names are n0, n1 … with 0 for the
// reference. Open switches are left out of the cards. Start reading at [Random].
package dcnettest

import (
	"fmt"
	"strings"

	"fettle/internal/dcnet"
)

// Twin is a network in both forms.
type Twin struct {
	Net    *dcnet.Network
	Sw     dcnet.Switches
	cards  strings.Builder
	count  int
	ends   []int        // where each element's cards end
	post   dcnet.NodeID // positive post of the first battery
	linear []linear
	Loads  []dcnet.ElementID
	Plus   []dcnet.NodeID        // nodes on the supply side
	cut    map[dcnet.NodeID]bool // of those, the ones behind an open switch
}

// NewTwin makes an empty twin.
func NewTwin() *Twin { return &Twin{Net: dcnet.New(), cut: map[dcnet.NodeID]bool{}} }

func spice(n dcnet.NodeID) string {
	if n == dcnet.Reference {
		return "0"
	}
	return fmt.Sprintf("n%d", int(n))
}

func (t *Twin) card(letter string, a, b dcnet.NodeID, format string, args ...any) {
	t.count++
	fmt.Fprintf(&t.cards, "%s%d %s %s ", letter, t.count, spice(a), spice(b))
	fmt.Fprintf(&t.cards, format+"\n", args...)
}

// Node adds a node.
func (t *Twin) Node() dcnet.NodeID {
	return t.Net.Node(fmt.Sprintf("n%d", t.Net.NodeCount()))
}

// done marks the end of an element's cards.
func (t *Twin) done(id dcnet.ElementID) dcnet.ElementID {
	t.ends = append(t.ends, t.cards.Len())
	return id
}

// byElement parts the cards by element; the first part is of none.
func (t *Twin) byElement() []string {
	out, from, all := []string{""}, 0, t.cards.String()
	for _, to := range t.ends {
		out, from = append(out, all[from:to]), to
	}
	return out
}

// Wire adds a resistor.
func (t *Twin) Wire(a, b dcnet.NodeID, ohm float64) dcnet.ElementID {
	t.card("R", a, b, "%.17g", ohm)
	t.linear = append(t.linear, linear{a, b, 1 / ohm, 0})
	return t.done(t.Net.Resistor(fmt.Sprintf("wire %d", t.count), a, b, ohm))
}

// Switch adds a switch.
func (t *Twin) Switch(a, b dcnet.NodeID, ohm float64, closed bool) dcnet.ElementID {
	if closed {
		t.card("R", a, b, "%.17g", ohm)
		t.linear = append(t.linear, linear{a, b, 1 / ohm, 0})
	}
	id := t.Net.Switch(fmt.Sprintf("switch %d", t.count), a, b, ohm)
	t.Sw.Set(id, closed)
	return t.done(id)
}

// Battery adds a source; the simulator gets it as its Norton equivalent.
func (t *Twin) Battery(plus, minus dcnet.NodeID, openCircuitV, ohm float64) dcnet.ElementID {
	if t.post == dcnet.Reference {
		t.post = plus
	}
	t.card("R", plus, minus, "%.17g", ohm)
	t.card("I", minus, plus, "DC %.17g", openCircuitV/ohm)
	t.linear = append(t.linear, linear{plus, minus, 1 / ohm, openCircuitV / ohm})
	return t.done(t.Net.Source(fmt.Sprintf("battery %d", t.count), plus, minus, openCircuitV, ohm))
}

// Alternator adds a regulated source.
func (t *Twin) Alternator(plus, minus dcnet.NodeID, setV, slopeOhm, maxA float64) dcnet.ElementID {
	t.card("B", minus, plus, "I=min(max((%.17g-V(%s,%s))/%.17g,0),%.17g)", setV, spice(plus), spice(minus), slopeOhm, maxA)
	return t.done(t.Net.Regulated(fmt.Sprintf("alternator %d", t.count), plus, minus, setV, slopeOhm, maxA))
}

// Load adds a load.
func (t *Twin) Load(a, b dcnet.NodeID, m dcnet.Model) dcnet.ElementID {
	duty := 1.0
	inner := m
	if av, ok := m.(dcnet.Average); ok {
		duty, inner = av.DutyFrac, av.Model
	}
	v := fmt.Sprintf("V(%s,%s)", spice(a), spice(b))
	if b == dcnet.Reference {
		v = fmt.Sprintf("V(%s)", spice(a))
	}
	switch m := inner.(type) {
	case dcnet.Resistance:
		t.card("R", a, b, "%.17g", m.Ohm/duty)
		t.linear = append(t.linear, linear{a, b, duty / m.Ohm, 0})
	case dcnet.Current:
		t.card("B", a, b, "I=%s>=%.17g ? %.17g : %.17g*%s", v, m.DropOutV, duty*m.CurrentA, duty*m.CurrentA/m.DropOutV, v)
	case dcnet.Power:
		t.card("B", a, b, "I=%s>=%.17g ? %.17g/max(%s,%.17g) : %.17g*%s", v, m.DropOutV, duty*m.PowerW, v, m.DropOutV/2, duty*m.PowerW/(m.DropOutV*m.DropOutV), v)
	case dcnet.Curve:
		t.card("B", a, b, "I=%s", pieces(v, m, duty))
	}
	id := t.Net.Load(fmt.Sprintf("load %d", t.count), a, b, m)
	t.Loads = append(t.Loads, id)
	return t.done(id)
}

// pieces writes a curve as nested choices.
func pieces(v string, m dcnet.Curve, duty float64) string {
	last := len(m.VoltageV) - 1
	line := func(k int) string {
		g := duty * (m.CurrentA[k+1] - m.CurrentA[k]) / (m.VoltageV[k+1] - m.VoltageV[k])
		return fmt.Sprintf("(%.17g+%.17g*%s)", duty*m.CurrentA[k]-g*m.VoltageV[k], g, v)
	}
	s := line(last - 1)
	for k := last - 2; k >= 0; k-- {
		s = fmt.Sprintf("(%s<%.17g ? %s : %s)", v, m.VoltageV[k+1], line(k), s)
	}
	return s
}

// Deck is the network as a complete input file. Nodes that nothing holds are
// tied to the reference, since the simulator has no word for a dead node; the
// supply side, as far as it is fed, begins its search at fullV.
func (t *Twin) Deck(title string, dead []dcnet.NodeID, fullV float64) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n%s", title, t.cards.String())
	for _, n := range dead {
		fmt.Fprintf(&b, "Rdead%d n%d 0 1\n", int(n), int(n))
	}
	if fullV != 0 {
		for _, n := range t.Plus {
			if !t.cut[n] {
				fmt.Fprintf(&b, ".nodeset v(%s)=%g\n", spice(n), fullV)
			}
		}
	}
	b.WriteString(".options reltol=1e-8 abstol=1e-10 vntol=1e-9 itl1=2000 gmin=1e-18\n.end\n")
	return b.String()
}
