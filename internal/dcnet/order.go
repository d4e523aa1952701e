package dcnet

import "slices"

// topology is what depends on how the elements are joined only: the order of
// elimination, the pattern of L and where each element goes in it. It is never
// changed once made, so clones share it.
type topology struct {
	n     int     // unknown nodes: all but the reference
	place []int32 // node → its turn in the elimination; the reference's is n
	first []int32 // column j of L is first[j] … first[j+1]
	row   []int32 // row of each entry
	fill  []int32 // the entries that each step of the elimination adds to, in turn
	ends  []end   // by ElementID
}

// end is where an element stands in elimination order.
type end struct {
	a, b int32
	slot int32 // entry of L; ^j when it joins j to the reference; noSlot when it joins nothing
}

const noSlot = int32(1<<31 - 1)

// order makes the topology if an element or node was added since.
func (n *Network) order() *topology {
	if n.top == nil {
		n.top = newTopology(len(n.names), n.els)
	}
	return n.top
}

func newTopology(nodes int, els []element) *topology {
	t := &topology{n: nodes - 1}
	adj := neighbours(nodes, els)
	cols := t.eliminate(adj)
	t.first = make([]int32, t.n+1)
	for j, c := range cols {
		for k := range c {
			c[k] = t.place[c[k]]
		}
		slices.Sort(c)
		t.row = append(t.row, c...)
		t.first[j+1] = int32(len(t.row))
	}
	for j := range cols {
		col := t.row[t.first[j]:t.first[j+1]]
		for p := 1; p < len(col); p++ {
			for q := range p {
				t.fill = append(t.fill, t.entry(col[q], col[p]))
			}
		}
	}
	t.ends = make([]end, len(els))
	for i := 1; i < len(els); i++ {
		t.ends[i] = t.endOf(els[i].a, els[i].b)
	}
	return t
}

// neighbours lists for each node those it is joined to, the reference left out.
func neighbours(nodes int, els []element) [][]int32 {
	adj := make([][]int32, nodes)
	for i := 1; i < len(els); i++ {
		a, b := int32(els[i].a), int32(els[i].b)
		if els[i].bad != "" && (a < 0 || b < 0 || int(a) >= nodes || int(b) >= nodes) {
			continue
		}
		if a != 0 && b != 0 && a != b && !slices.Contains(adj[a], b) {
			adj[a], adj[b] = append(adj[a], b), append(adj[b], a)
		}
	}
	return adj
}

// eliminate takes the node with the fewest neighbours first (Tinney and Walker,
// Proc. IEEE 55, 1967, scheme 2); a tree then makes no fill. It returns the
// neighbours each node had at its turn and fills place.
func (t *topology) eliminate(adj [][]int32) [][]int32 {
	t.place = make([]int32, len(adj))
	t.place[0] = int32(t.n)
	done := make([]bool, len(adj))
	queue := make([][]int32, len(adj)+1) // by degree, with stale entries
	for v := len(adj) - 1; v >= 1; v-- {
		queue[len(adj[v])] = append(queue[len(adj[v])], int32(v))
	}
	cols := make([][]int32, 0, t.n)
	for deg := 0; len(cols) < t.n; {
		q := queue[deg]
		if len(q) == 0 {
			deg++
			continue
		}
		v := q[len(q)-1]
		queue[deg] = q[:len(q)-1]
		if done[v] || len(adj[v]) != deg {
			continue
		}
		done[v] = true
		t.place[v] = int32(len(cols))
		cols = append(cols, adj[v])
		for _, u := range adj[v] {
			adj[u] = joined(adj[u], adj[v], u, v)
			queue[len(adj[u])] = append(queue[len(adj[u])], u)
			deg = min(deg, len(adj[u]))
		}
	}
	return cols
}

// joined is u's neighbours after v went: without v, with v's other neighbours.
func joined(of, others []int32, u, v int32) []int32 {
	of = slices.DeleteFunc(of, func(w int32) bool { return w == v })
	for _, w := range others {
		if w != u && !slices.Contains(of, w) {
			of = append(of, w)
		}
	}
	return of
}

// entry finds the entry of two places in L, or noSlot.
func (t *topology) entry(a, b int32) int32 {
	a, b = min(a, b), max(a, b)
	from, to := t.first[a], t.first[a+1]
	if k, ok := slices.BinarySearch(t.row[from:to], b); ok {
		return from + int32(k)
	}
	return noSlot
}

func (t *topology) endOf(a, b NodeID) end {
	if a < 0 || b < 0 || int(a) >= len(t.place) || int(b) >= len(t.place) {
		return end{int32(t.n), int32(t.n), noSlot}
	}
	e := end{a: t.place[a], b: t.place[b], slot: noSlot}
	ground := int32(t.n)
	switch {
	case e.a == e.b:
	case e.b == ground:
		e.slot = ^e.a
	case e.a == ground:
		e.slot = ^e.b
	default:
		e.slot = t.entry(e.a, e.b)
	}
	return e
}
