package vehicle

import (
	"strconv"

	"fettle/internal/loom"
)

func itoa(n int) string { return strconv.Itoa(n) }

// supplyPath is the way current takes to a load and back: the elements from the
// battery's positive post to the load, and from the load to its negative post.
type supplyPath struct{ out, back []int } // indices into links

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
	for _, c := range v.consumers {
		v.paths[c.name] = supplyPath{out: v.chain(c.a, plus), back: v.chain(c.b, minus)}
	}
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
