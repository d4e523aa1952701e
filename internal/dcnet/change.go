package dcnet

import (
	"fmt"
	"slices"
)

// ChangeKind is a kind of fault.
type ChangeKind int

// The faults. First and second terminal are a and b of the element.
const (
	// Open breaks the element: a cut wire, a blown fuse, a pulled plug.
	Open ChangeKind = iota
	// Joint adds Ohm in series: corrosion, a loose terminal. Beside a load it
	// stands outside the load, so the load's own voltage is what is left; in
	// any other element it counts as part of it.
	Joint
	// ToGround joins At's first terminal through Ohm to the second terminal of
	// Other, or to the battery's negative post when Other is 0.
	ToGround
	// ToSupply joins At's first terminal through Ohm to the first terminal of
	// Other, or to the positive post of the first source when Other is 0.
	ToSupply
	// Swap exchanges the first terminals of At and Other: two wires in each
	// other's cavity.
	Swap
)

var changeWords = [...]string{"open", "joint", "to ground", "to supply", "swap"}

// String is the word that is shown.
func (k ChangeKind) String() string {
	if k < 0 || int(k) >= len(changeWords) {
		return fmt.Sprintf("change %d", int(k))
	}
	return changeWords[k]
}

// Change is one fault planted for one solve.
type Change struct {
	Kind      ChangeKind
	At, Other ElementID
	Ohm       float64 // of a joint or a short; not of the others
}

// problem is the network that one solve is about: the network itself or a
// variation of it.
type problem struct {
	net   *Network
	els   []element
	top   *topology
	nodes int
}

func (p *problem) nodeName(v int) string {
	if v < len(p.net.names) {
		return p.net.names[v]
	}
	return fmt.Sprintf("added joint %d", v-len(p.net.names)+1)
}

// vary makes the variation. Opened elements and added resistance keep the
// order; so do shorts between nodes that L joins already. Others get a new one.
func (n *Network) vary(ch []Change) (problem, string) {
	p := problem{n, append(n.work.els[:0], n.els...), n.order(), len(n.names)}
	same := true
	for i, c := range ch {
		keeps, why := p.apply(c)
		if why != "" {
			return p, fmt.Sprintf("fault %d, %v at %q: %s", i+1, c.Kind, n.ElementName(c.At), why)
		}
		same = same && keeps
	}
	n.work.els = p.els
	switch {
	case !same:
		p.top = newTopology(p.nodes, p.els)
	case len(p.els) > len(n.els):
		p.stretch()
	}
	return p, ""
}

// stretch adds the ends of added elements, or makes a new order if L has no
// room for one of them.
func (p *problem) stretch() {
	t := *p.top
	t.ends = slices.Clone(t.ends)
	for i := len(t.ends); i < len(p.els); i++ {
		e := t.endOf(p.els[i].a, p.els[i].b)
		if e.slot == noSlot && e.a != e.b {
			p.top = newTopology(p.nodes, p.els)
			return
		}
		t.ends = append(t.ends, e)
	}
	p.top = &t
}

// apply makes one change; keeps is false when nodes are joined differently.
func (p *problem) apply(c Change) (keeps bool, why string) {
	if c.Kind < Open || c.Kind > Swap {
		return false, "there is no such kind of fault"
	}
	if !p.net.has(c.At) {
		return false, fmt.Sprintf("there is no element %d", int(c.At))
	}
	if c.Other != 0 && !p.net.has(c.Other) {
		return false, fmt.Sprintf("there is no element %d", int(c.Other))
	}
	if c.Kind == Joint || c.Kind == ToGround || c.Kind == ToSupply {
		if why := checkOhm("resistance", c.Ohm); why != "" {
			return false, why
		}
	}
	at, other := &p.els[c.At], &p.els[c.Other]
	switch c.Kind {
	case Open:
		at.opened = true
	case Joint:
		return p.joint(at, c.Ohm), ""
	case ToGround:
		p.short(at, other.b, c.Ohm) // other is the unused element 0, at the reference, when none is named
	case ToSupply:
		return p.toSupply(at, c)
	case Swap:
		if c.Other == 0 {
			return false, "it needs another element to swap with"
		}
		at.a, other.a = other.a, at.a
		return false, ""
	}
	return true, ""
}

func (p *problem) joint(at *element, ohm float64) (keeps bool) {
	if at.kind != load {
		at.ohm += ohm
		return true
	}
	from := at.a
	at.a = NodeID(p.nodes)
	p.nodes++
	p.els = append(p.els, element{name: at.name + ", joint", kind: wire, a: from, b: at.a, ohm: ohm})
	return false
}

func (p *problem) toSupply(at *element, c Change) (keeps bool, why string) {
	other := c.Other
	for i := 1; other == 0 && i < len(p.net.els); i++ {
		if p.els[i].kind == battery {
			other = ElementID(i)
		}
	}
	if other == 0 {
		return false, "the network has no source to touch"
	}
	p.short(at, p.els[other].a, c.Ohm)
	return true, ""
}

func (p *problem) short(at *element, to NodeID, ohm float64) {
	p.els = append(p.els, element{name: at.name + ", short", kind: wire, a: at.a, b: to, ohm: ohm})
}
