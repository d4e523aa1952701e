package vehicle

import (
	"strconv"

	"fettle/internal/dcnet"
	"fettle/internal/loom"
)

func itoa(n int) string { return strconv.Itoa(n) }

// supplyPath is the way current takes to a load and back: the elements from the
// battery's positive post to the load, and from the load to its negative post.
// A load on the sensor supply has its way from the controller's pin and back to
// the ground inside.
type supplyPath struct {
	out, back []int // indices into links
	five      int   // the sensor supply it hangs on, from 1; 0 for none
}

// postNode is the node of the battery's positive post, or of the negative one.
func (v *Vehicle) postNode(negative bool) string {
	n := 0
	if negative {
		n = 1
	}
	return loom.PostNode(v.Design.One("battery"), n)
}

// findPaths walks the network from both posts once; a harness is nearly a tree,
// so the shortest chain of elements is the way the current takes.
func (v *Vehicle) findPaths() {
	next := map[string][]int{}
	for i, l := range v.links {
		next[l.a] = append(next[l.a], i)
		next[l.b] = append(next[l.b], i)
	}
	plus := v.reach(v.postNode(false), next)
	minus := v.reach(v.postNode(true), next)
	pin, inside := make([]map[string]int, len(v.fives)), make([]map[string]int, len(v.fives))
	for i := range v.fives {
		a, b := v.fiveNodes(i + 1)
		pin[i], inside[i] = v.reach(a, next), v.reach(b, next)
	}
	for _, c := range v.consumers {
		p := supplyPath{out: v.chain(c.a, plus), back: v.chain(c.b, minus)}
		for i := range v.fives {
			if out := v.chain(c.a, pin[i]); p.out == nil && out != nil {
				p = supplyPath{out: out, back: v.chain(c.b, inside[i]), five: i + 1}
			}
		}
		v.paths[c.name] = p
	}
}

// fiveVolts is a sensor supply inside a controller: "sensor supply", and "sensor
// supply 2" beside it.
type fiveVolts struct {
	name string
	id   dcnet.ElementID
}

// fiveNodes are the nodes of the nth sensor supply: its pin, and the ground inside.
func (v *Vehicle) fiveNodes(nth int) (pin, inside string) {
	a, b := v.net.Ends(v.fives[nth-1].id)
	return v.net.NodeName(a), v.net.NodeName(b)
}

// begins is the node that a way out, or a way back, is reckoned from.
func (v *Vehicle) begins(p supplyPath, back bool) string {
	if p.five == 0 {
		return v.postNode(back)
	}
	pin, inside := v.fiveNodes(p.five)
	if back {
		return inside
	}
	return pin
}

// reach gives for every node the link it was first reached by from a start.
func (v *Vehicle) reach(start string, next map[string][]int) map[string]int {
	by := map[string]int{start: -1}
	queue := []string{start}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		for _, i := range next[n] {
			m := v.links[i].a
			if m == n {
				m = v.links[i].b
			}
			if _, seen := by[m]; !seen {
				by[m] = i
				queue = append(queue, m)
			}
		}
	}
	return by
}

// chain lists the links from the start of a reach to a node, in that order.
func (v *Vehicle) chain(node string, by map[string]int) []int {
	var out []int
	for {
		i, ok := by[node]
		if !ok {
			return nil
		}
		if i < 0 {
			break
		}
		out = append(out, i)
		if v.links[i].a == node {
			node = v.links[i].b
		} else {
			node = v.links[i].a
		}
	}
	for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
		out[i], out[j] = out[j], out[i]
	}
	return out
}
