package harness

import (
	"math"
	"slices"
)

// search holds the trees tried so far.
type search struct {
	places int
	ways   []Way
	pulls  []Pull // one for each two places, none within a place
	part   []int  // what each place is joined to, by any way

	best  []int
	least float64
	tried int
	need  int // ways in a whole tree
}

func newSearch(places int, ways []Way, pulls []Pull) *search {
	s := &search{places: places, ways: ways, least: math.Inf(1)}
	f := newForest(places)
	for _, w := range ways {
		if f.join(w.A, w.B) {
			s.need++
		}
	}
	s.part = make([]int, places)
	for i := range places {
		s.part[i] = f.top(i)
	}
	sum := map[[2]int]int{}
	for _, p := range pulls {
		if p.A == p.B {
			continue
		}
		k := [2]int{min(p.A, p.B), max(p.A, p.B)}
		i, ok := sum[k]
		if !ok {
			i = len(s.pulls)
			sum[k] = i
			s.pulls = append(s.pulls, Pull{A: k[0], B: k[1]})
		}
		s.pulls[i].AreaM2 += p.AreaM2
	}
	return s
}

// try prices a whole tree and keeps it when it is the best.
func (s *search) try(taken []int) bool {
	s.tried++
	c, err := CopperM3(s.places, s.ways, taken, s.pulls)
	if err != nil || !(c < s.least*(1-1e-12)) {
		return false
	}
	s.best, s.least = slices.Clone(taken), c
	return true
}

// all tries every tree: each way in turn is taken, if it closes no loop, or left
// out, if the rest can still join everything.
func (s *search) all(i int, taken []bool, f forest, n int) {
	if n == s.need {
		var list []int
		for k, t := range taken[:i] {
			if t {
				list = append(list, k)
			}
		}
		s.try(list)
		return
	}
	if i == len(s.ways) {
		return
	}
	w := s.ways[i]
	if f.top(w.A) != f.top(w.B) {
		g := slices.Clone(f)
		g.join(w.A, w.B)
		taken[i] = true
		s.all(i+1, taken, g, n+1)
		taken[i] = false
	}
	if s.canStill(i+1, f, n) {
		s.all(i+1, taken, f, n)
	}
}

// canStill reports whether the ways from i on complete the tree.
func (s *search) canStill(i int, f forest, n int) bool {
	g := slices.Clone(f)
	for _, w := range s.ways[i:] {
		if g.join(w.A, w.B) {
			n++
		}
	}
	return n == s.need
}

// countTrees counts the spanning trees by Kirchhoff's theorem: the determinant
// of the graph's Laplacian with one place of every part struck out. Places that
// stand alone count once.
func (s *search) countTrees() float64 {
	var rows []int
	at := make([]int, s.places)
	for i := range s.places {
		at[i] = -1
		if s.part[i] != i {
			at[i] = len(rows)
			rows = append(rows, i)
		}
	}
	n := len(rows)
	m := make([][]float64, n)
	for i := range m {
		m[i] = make([]float64, n)
	}
	for _, w := range s.ways {
		a, b := at[w.A], at[w.B]
		if w.A == w.B {
			continue
		}
		if a >= 0 {
			m[a][a]++
		}
		if b >= 0 {
			m[b][b]++
		}
		if a >= 0 && b >= 0 {
			m[a][b]--
			m[b][a]--
		}
	}
	det := 1.0
	for k := range n {
		det *= m[k][k] // a Laplacian's minor is positive definite: no pivoting
		for i := k + 1; i < n; i++ {
			f := m[i][k] / m[k][k]
			for j := k; j < n; j++ {
				m[i][j] -= f * m[k][j]
			}
		}
	}
	return math.Round(det)
}

// exchange starts from the shortest ways about the heaviest place and swaps one
// way for another while copper is saved.
func (s *search) exchange() {
	s.try(s.shortest(s.heaviest()))
	for better := true; better; {
		better = false
		for _, out := range slices.Clone(s.best) {
			kept := slices.DeleteFunc(slices.Clone(s.best), func(k int) bool { return k == out })
			f := newForest(s.places)
			for _, k := range kept {
				f.join(s.ways[k].A, s.ways[k].B)
			}
			for in, w := range s.ways {
				if in == out || f.top(w.A) == f.top(w.B) {
					continue
				}
				t := append(slices.Clone(kept), in)
				slices.Sort(t)
				better = s.try(t) || better
			}
		}
	}
}

func (s *search) heaviest() int {
	sum := make([]float64, s.places)
	for _, p := range s.pulls {
		sum[p.A] += p.AreaM2
		sum[p.B] += p.AreaM2
	}
	best := 0
	for i, v := range sum {
		if v > sum[best] {
			best = i
		}
	}
	return best
}

// shortest is the tree of shortest ways from a place; parts that it can't reach
// take theirs from their first place.
func (s *search) shortest(from int) []int {
	dist, via := make([]float64, s.places), make([]int, s.places)
	for i := range dist {
		dist[i], via[i] = math.Inf(1), -1
		if s.part[i] == i && s.part[from] != i {
			dist[i] = 0
		}
	}
	dist[from] = 0
	for range s.places {
		for i, w := range s.ways {
			for _, e := range [2][2]int{{w.A, w.B}, {w.B, w.A}} {
				if d := dist[e[0]] + w.LengthM; d < dist[e[1]] {
					dist[e[1]], via[e[1]] = d, i
				}
			}
		}
	}
	var out []int
	for _, i := range via {
		if i >= 0 {
			out = append(out, i)
		}
	}
	slices.Sort(out)
	return out
}

// forest tells which places are joined already.
type forest []int

func newForest(n int) forest {
	f := make(forest, n)
	for i := range f {
		f[i] = i
	}
	return f
}

func (f forest) top(i int) int {
	for f[i] != i {
		f[i] = f[f[i]]
		i = f[i]
	}
	return i
}

// join joins two places and reports whether they were apart. The lower number
// stays on top.
func (f forest) join(a, b int) bool {
	a, b = f.top(a), f.top(b)
	if a == b {
		return false
	}
	f[max(a, b)] = min(a, b)
	return true
}
