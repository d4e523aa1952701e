package dcnettest

import (
	"fmt"
	"strings"

	"fettle/internal/dcnet"
)

// Faulty is the network as an input file with faults built into its cards, each
// by hand: a card left out, a resistor more, two first terminals exchanged. The
// elements are those of Net, in the order they were added; an open switch has no
// card. Dead are the nodes that nothing holds afterwards.
func (t *Twin) Faulty(title string, dead []dcnet.NodeID, ch ...dcnet.Change) string {
	cards := t.byElement()
	var more strings.Builder
	first := func(id dcnet.ElementID) string { a, _ := t.Net.Ends(id); return spice(a) }
	second := func(id dcnet.ElementID) string { _, b := t.Net.Ends(id); return spice(b) }
	for k, c := range ch {
		switch c.Kind {
		case dcnet.Open:
			cards[c.At] = ""
		case dcnet.Joint:
			inner := fmt.Sprintf("joint%d", k)
			cards[c.At] = from(cards[c.At], first(c.At), inner)
			fmt.Fprintf(&more, "Rjoint%d %s %s %.17g\n", k, first(c.At), inner, c.Ohm)
		case dcnet.ToGround:
			to := "0"
			if c.Other != 0 {
				to = second(c.Other)
			}
			fmt.Fprintf(&more, "Rshort%d %s %s %.17g\n", k, first(c.At), to, c.Ohm)
		case dcnet.ToSupply:
			to := spice(t.post)
			if c.Other != 0 {
				to = first(c.Other)
			}
			fmt.Fprintf(&more, "Rshort%d %s %s %.17g\n", k, first(c.At), to, c.Ohm)
		case dcnet.Swap:
			a, b := cards[c.At], cards[c.Other]
			cards[c.At] = from(a, first(c.At), first(c.Other))
			cards[c.Other] = from(b, first(c.Other), first(c.At))
		}
	}
	var b strings.Builder
	b.WriteString(title + "\n")
	for _, card := range cards {
		b.WriteString(card)
	}
	b.WriteString(more.String())
	for _, n := range dead {
		fmt.Fprintf(&b, "Rdead%d n%d 0 1\n", int(n), int(n))
	}
	b.WriteString(".options reltol=1e-8 abstol=1e-10 vntol=1e-9 itl1=2000 gmin=1e-18\n.end\n")
	return b.String()
}

// from gives the cards of one element another first terminal, in their nodes and
// in the voltages of their formulas.
func from(cards, was, now string) string {
	var b strings.Builder
	for line := range strings.Lines(cards) {
		f := strings.SplitN(line, " ", 4)
		for i := 1; i <= 2; i++ {
			if f[i] == was {
				f[i] = now
			}
		}
		f[3] = strings.NewReplacer("V("+was+",", "V("+now+",", "V("+was+")", "V("+now+")").Replace(f[3])
		b.WriteString(strings.Join(f, " "))
	}
	return b.String()
}
