package harness

import "fmt"

// Rooted is a tree seen from one place. Places that it does not reach have a
// root of their own.
type Rooted struct {
	Parent []int // place before it, −1 at a root
	Way    []int // the way to its parent, −1 at a root
	Order  []int // places, each after its parent

	depth []int
	fromM []float64 // length from its root
	root  []int
}

// Root sees a tree from a place. Ways with a loop are an error.
func Root(places int, ways []Way, taken []int, from int) (*Rooted, error) {
	t := &Rooted{
		Parent: make([]int, places), Way: make([]int, places), depth: make([]int, places),
		fromM: make([]float64, places), root: make([]int, places),
	}
	at := make([][]int, places)
	for _, i := range taken {
		at[ways[i].A] = append(at[ways[i].A], i)
		at[ways[i].B] = append(at[ways[i].B], i)
	}
	for i := range t.root {
		t.root[i] = -1
	}
	roots := make([]int, 0, places+1)
	if from >= 0 && from < places {
		roots = append(roots, from)
	}
	for i := range places {
		roots = append(roots, i)
	}
	for _, r := range roots {
		if t.root[r] >= 0 {
			continue
		}
		t.root[r], t.Parent[r], t.Way[r] = r, -1, -1
		t.Order = append(t.Order, r)
		for next := len(t.Order) - 1; next < len(t.Order); next++ {
			a := t.Order[next]
			for _, i := range at[a] {
				b := ways[i].A + ways[i].B - a
				if i == t.Way[a] {
					continue
				}
				if t.root[b] >= 0 {
					return nil, fmt.Errorf("way %d between places %d and %d closes a loop", i, ways[i].A, ways[i].B)
				}
				t.root[b], t.Parent[b], t.Way[b] = r, a, i
				t.depth[b], t.fromM[b] = t.depth[a]+1, t.fromM[a]+ways[i].LengthM
				t.Order = append(t.Order, b)
			}
		}
	}
	return t, nil
}

// meet is the place where the ways of two places to the root come together.
func (t *Rooted) meet(a, b int) int {
	for a != b {
		if t.depth[a] < t.depth[b] {
			a, b = b, a
		}
		a = t.Parent[a]
	}
	return a
}

// BetweenM returns the length of the way between two places; ok is false when
// the tree does not join them.
//
//	l = l_a + l_b − 2 l_m
//
// where l is measured from the root and m is the place where the two ways meet.
//
// Valid: a tree.
// Accuracy: exact.
// Source: definition.
// Errors: none.
func (t *Rooted) BetweenM(a, b int) (lengthM float64, ok bool) {
	if t.root[a] != t.root[b] {
		return 0, false
	}
	return t.fromM[a] + t.fromM[b] - 2*t.fromM[t.meet(a, b)], true
}

// Between lists the ways from one place to another, in that order; nil when it
// is the same place or the tree does not join them.
func (t *Rooted) Between(a, b int) []int {
	if t.root[a] != t.root[b] {
		return nil
	}
	m := t.meet(a, b)
	var out, back []int
	for p := a; p != m; p = t.Parent[p] {
		out = append(out, t.Way[p])
	}
	for p := b; p != m; p = t.Parent[p] {
		back = append(back, t.Way[p])
	}
	for i := len(back) - 1; i >= 0; i-- {
		out = append(out, back[i])
	}
	return out
}

// Spur is a wire that ends at a splice.
type Spur struct {
	At     int
	AreaM2 float64
}

// Median returns the place among those allowed where wires to all the spurs
// take the least copper, the first one on a tie, and that copper; the place is
// −1 when none is allowed that reaches them all. A splice gains nothing by lying
// between two places: copper along a branch changes in proportion, so one of its
// ends is as good.
//
//	V(p) = Σ A · l(p, spur)
//
// Valid: a tree.
// Accuracy: exact, every place is tried.
// Source: Hakimi, Optimum locations of switching centers, Operations Research 12 (1964) 450, for the ends being enough; definition.
// Errors: none.
func (t *Rooted) Median(spurs []Spur, allowed func(place int) bool) (place int, copperM3 float64) {
	place = -1
	for p := range t.Parent {
		if allowed != nil && !allowed(p) {
			continue
		}
		sum, all := 0.0, true
		for _, s := range spurs {
			l, ok := t.BetweenM(p, s.At)
			sum, all = sum+s.AreaM2*l, all && ok
		}
		if all && (place < 0 || sum < copperM3*(1-1e-12)) {
			place, copperM3 = p, sum
		}
	}
	return place, copperM3
}
