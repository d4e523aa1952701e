package assign

import "slices"

// explain gathers, for the rows left out, the rows and columns that an
// alternating chain reaches from them. By the theorem of P. Hall (1935) such
// rows outnumber all columns that any of them may have; the least such set that
// holds a row left out is exactly what its chains reach. Sets that share a
// column are one.
func explain(cost [][]int64, to []int, columns int) []Short {
	owner := make([]int, columns) // row of each column
	for j := range owner {
		owner[j] = -1
	}
	for i, j := range to {
		if j >= 0 {
			owner[j] = i
		}
	}
	set := newSets(len(cost))
	inRow := make([]bool, len(cost))
	inColumn := make([]bool, columns)
	for i, j := range to {
		if j >= 0 {
			continue
		}
		seen := make([]bool, columns)
		open := []int{i}
		inRow[i] = true
		for len(open) > 0 {
			r := open[0]
			open = open[1:]
			for c := range columns {
				if cost[r][c] == Never || seen[c] {
					continue
				}
				seen[c], inColumn[c] = true, true
				// a free column would have served the row left out
				o := owner[c]
				set.join(i, o)
				if inRow[o] = true; o != r {
					open = append(open, o)
				}
			}
		}
	}
	return gather(to, owner, set, inRow, inColumn)
}

func gather(to, owner []int, set sets, inRow, inColumn []bool) []Short {
	var out []Short
	at := map[int]int{}
	of := func(row int) *Short {
		top := set.top(row)
		k, ok := at[top]
		if !ok {
			k = len(out)
			at[top] = k
			out = append(out, Short{})
		}
		return &out[k]
	}
	for i, in := range inRow {
		if !in {
			continue
		}
		s := of(i)
		s.Rows = append(s.Rows, i)
		if to[i] < 0 {
			s.Left = append(s.Left, i)
			s.Missing++
		}
	}
	for c, in := range inColumn {
		if in {
			s := of(owner[c])
			s.Columns = append(s.Columns, c)
		}
	}
	slices.SortStableFunc(out, func(a, b Short) int { return a.Rows[0] - b.Rows[0] })
	return out
}

// sets tells which rows belong to one explanation.
type sets []int

func newSets(n int) sets {
	s := make(sets, n)
	for i := range s {
		s[i] = i
	}
	return s
}

func (s sets) top(i int) int {
	for s[i] != i {
		i = s[i]
	}
	return i
}

func (s sets) join(a, b int) {
	if a, b = s.top(a), s.top(b); a != b {
		s[max(a, b)] = min(a, b)
	}
}
