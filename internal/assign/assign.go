// Package assign matches things that want a place to places that can serve them,
// at the least cost, and explains what is missing when not all can be served.
//
// Conventions: costs are whole points, 0 and up, so that sums are exact and no
// rounding decides; [Never] forbids a pair. First as many as possible are
// served, then at the least sum. The same costs always give the same answer.
// Nothing here knows what is matched. Start reading at [Solve].
package assign

import (
	"fmt"
	"math"
)

// Never is the cost of a pair that may not be.
const Never int64 = math.MaxInt64

// most is the greatest cost that sums over a thousand pairs stay exact with.
const most int64 = 1 << 40

// Answer is a matching.
type Answer struct {
	To    []int // the column of each row, −1 for one that is left out
	Cost  int64 // the sum over the pairs
	Short []Short
}

// Short explains rows that can't all be served: together they reach no other
// columns than these, which are too few by Missing.
//
// It is the smallest such set: without any one of its rows the others would lack
// fewer, and rows that play no part in it are not named.
type Short struct {
	Rows, Columns []int // rising
	Left          []int // those of the rows that were left out
	Missing       int
}

// Solve matches rows to columns: as many rows as can be, then at the least cost.
//
// The method is that of shortest augmenting paths with potentials: rows are
// served one after the other, each by the cheapest chain of moves. Rows may be
// more or fewer than columns. Costs that are negative, too large or not in a
// rectangle are an error.
func Solve(cost [][]int64) (Answer, error) {
	columns := 0
	if len(cost) > 0 {
		columns = len(cost[0])
	}
	greatest := int64(0)
	for i, row := range cost {
		if len(row) != columns {
			return Answer{}, fmt.Errorf("row %d has %d costs, row 0 has %d", i, len(row), columns)
		}
		for j, c := range row {
			if c != Never && (c < 0 || c > most) {
				return Answer{}, fmt.Errorf("cost %d of row %d and column %d: 0 to %d is due", c, i, j, most)
			}
			if c != Never {
				greatest = max(greatest, c)
			}
		}
	}
	s := newSolver(cost, columns, greatest)
	for i := range cost {
		s.serve(i)
	}
	a := Answer{To: make([]int, len(cost))}
	for i := range a.To {
		a.To[i] = -1
	}
	for j := range columns {
		if i := s.row[j]; i >= 0 {
			a.To[i] = j
			a.Cost += cost[i][j]
		}
	}
	a.Short = explain(cost, a.To, columns)
	return a, nil
}

// solver holds the pairs found so far. Column columns+i is row i's own place
// among those left out; it costs more than any chain of moves.
type solver struct {
	cost     [][]int64
	columns  int
	leaveOut int64
	row      []int // of each column, −1 when free
	u, v     []int64
	dist     []int64
	via      []int // column before, on the cheapest chain
	done     []bool
}

func newSolver(cost [][]int64, columns int, greatest int64) *solver {
	n := columns + len(cost)
	s := &solver{
		cost: cost, columns: columns, leaveOut: (greatest + 1) * int64(len(cost)+1),
		row: make([]int, n), u: make([]int64, len(cost)), v: make([]int64, n),
		dist: make([]int64, n), via: make([]int, n), done: make([]bool, n),
	}
	for j := range s.row {
		s.row[j] = -1
	}
	return s
}

// at is the cost of a pair, the places of those left out included.
func (s *solver) at(i, j int) int64 {
	switch {
	case j < s.columns:
		return s.cost[i][j]
	case j == s.columns+i:
		return s.leaveOut
	}
	return Never
}

// serve finds the cheapest chain of moves that gives row start a column.
func (s *solver) serve(start int) {
	for j := range s.dist {
		s.dist[j], s.via[j], s.done[j] = Never, -1, false
	}
	i, from, reached := start, -1, int64(0)
	for {
		next := s.widen(i, from, reached)
		s.done[next] = true
		reached = s.dist[next]
		if s.row[next] < 0 {
			s.settle(start, next, reached)
			return
		}
		i, from = s.row[next], next
	}
}

// widen prices the columns that row i reaches and returns the nearest open one.
func (s *solver) widen(i, from int, reached int64) int {
	next := -1
	look := func(j int) {
		if s.done[j] {
			return
		}
		if c := s.at(i, j); c != Never {
			if d := reached + c - s.u[i] - s.v[j]; d < s.dist[j] {
				s.dist[j], s.via[j] = d, from
			}
		}
		if s.dist[j] != Never && (next < 0 || s.dist[j] < s.dist[next]) {
			next = j
		}
	}
	for j := range s.dist {
		look(j)
	}
	return next // never −1: row i's own place is open unless the chain passed it
}

// settle shifts the potentials and turns the chain over.
func (s *solver) settle(start, last int, reached int64) {
	s.u[start] += reached
	for j, done := range s.done {
		if !done || j == last {
			continue
		}
		s.u[s.row[j]] += reached - s.dist[j]
		s.v[j] -= reached - s.dist[j]
	}
	for j := last; ; {
		from := s.via[j]
		if from < 0 {
			s.row[j] = start
			return
		}
		s.row[j] = s.row[from]
		j = from
	}
}
