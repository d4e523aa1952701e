// Package harness computes the shape of a wire harness: which of the possible
// ways between places make a tree with the least copper, where on the tree a
// splice saves most, and how thick a bundle gets.
//
// Conventions: places are numbered from 0; lengths in metres, copper as
// cross-section in square metres times length; nothing here knows a vehicle.
// All choices are deterministic: on a tie the way or place that was named first
// wins. Start reading at [Choose], then [Rooted.Median].
package harness

import "fmt"

// Way is a possible way between two places.
type Way struct {
	A, B    int
	LengthM float64
}

// Pull is copper that is wanted between two places: the sum of the
// cross-sections that run between them.
type Pull struct {
	A, B   int
	AreaM2 float64
}

// Pick is a chosen tree.
type Pick struct {
	// Ways are the indices of the ways that were taken, rising.
	Ways []int
	// CopperM3 is what the pulls take along them.
	CopperM3 float64
	// Exact says that every tree was tried; otherwise no exchange of one way
	// for another saves copper, and a better tree may exist.
	Exact bool
	// Tried is how many trees were looked at.
	Tried int
}

// mostTrees is up to how many trees all of them are tried: below it the search
// takes a few milliseconds for the thirty places of a large vehicle.
const mostTrees = 5000

// Choose picks the ways that join every place to the others it can reach,
// without a loop, such that the pulls take the least copper.
//
// Where there are no more than a few thousand trees each of them is tried, so
// that the answer is the best. Beyond that the search starts from the tree of
// shortest ways about the place with the most copper and exchanges ways while
// that saves; the pick says which it was. A pull between places that no way
// joins is an error.
func Choose(places int, ways []Way, pulls []Pull) (Pick, error) {
	for i, w := range ways {
		if w.A < 0 || w.B < 0 || w.A >= places || w.B >= places || !(w.LengthM > 0) {
			return Pick{}, fmt.Errorf("way %d from %d to %d of %g m: places are 0 to %d and lengths above 0", i, w.A, w.B, w.LengthM, places-1)
		}
	}
	s := newSearch(places, ways, pulls)
	for _, p := range s.pulls {
		if s.part[p.A] != s.part[p.B] {
			return Pick{}, fmt.Errorf("no way joins places %d and %d", p.A, p.B)
		}
	}
	if s.countTrees() <= mostTrees {
		s.all(0, make([]bool, len(ways)), newForest(places), 0)
		return Pick{Ways: s.best, CopperM3: s.least, Exact: true, Tried: s.tried}, nil
	}
	s.exchange()
	return Pick{Ways: s.best, CopperM3: s.least, Tried: s.tried}, nil
}

// CopperM3 returns what pulls take along the ways of a tree.
//
//	V = Σ A · l
//
// where A is a pull's cross-section and l the length of its way through the tree.
//
// Valid: ways that form a tree over the places of the pulls.
// Accuracy: exact.
// Source: definition.
// Errors: ways that have a loop or leave a pull apart.
func CopperM3(places int, ways []Way, taken []int, pulls []Pull) (float64, error) {
	t, err := Root(places, ways, taken, 0)
	if err != nil {
		return 0, err
	}
	sum := 0.0
	for _, p := range pulls {
		l, ok := t.BetweenM(p.A, p.B)
		if !ok {
			return 0, fmt.Errorf("no way of the tree joins places %d and %d", p.A, p.B)
		}
		sum += p.AreaM2 * l
	}
	return sum, nil
}
