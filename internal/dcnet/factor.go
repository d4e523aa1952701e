package dcnet

import "math"

// ldl is the nodal matrix of a topology and its factors. The matrix is kept as
// conductances, not as diagonal and off-diagonal: leak[j] joins place j to the
// reference, cond[p] joins the two places of entry p. Each pivot is the sum of
// what is joined to its node, so a network of positive conductances is factored
// without one subtraction and a milliohm next to a megohm loses nothing.
type ldl struct {
	leak, cond  []float64 // destroyed by factor
	pivot, l    []float64 // D and −L
	worstPivotN int       // place where factor gave up
}

func (m *ldl) size(t *topology) {
	m.leak, m.cond = resize(m.leak, t.n+1), resize(m.cond, len(t.row))
	m.pivot, m.l = resize(m.pivot, t.n), resize(m.l, len(t.row))
}

func resize(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n)
	}
	return s[:n]
}

// add joins the ends of an element by a conductance.
func (m *ldl) add(slot int32, siemens float64) {
	switch {
	case slot == noSlot:
	case slot >= 0:
		m.cond[slot] += siemens
	default:
		m.leak[^slot] += siemens
	}
}

// flat is the least pivot, against the sum of the sizes it is made of, that
// still counts as positive.
const flat = 1e-12

// factor eliminates the nodes in turn. It reports false, without factors, when
// the matrix is not positive definite. In the words of networks each step is
// the star–mesh transform (A. Rosen, J. IEE 62, 1924).
func (m *ldl) factor(t *topology) bool {
	leak, cond, l, row, first := m.leak, m.cond, m.l, t.row, t.first
	next := 0
	for j := range t.n {
		from, to := int(first[j]), int(first[j+1])
		d, size := leak[j], math.Abs(leak[j])
		for _, c := range cond[from:to] {
			d += c
			size += math.Abs(c)
		}
		if !(d > flat*size) {
			m.worstPivotN = j
			return false
		}
		m.pivot[j] = d
		share := leak[j] / d
		for p := from; p < to; p++ {
			lp := cond[p] / d
			l[p] = lp
			leak[row[p]] += share * cond[p]
			for q := from; q < p; q++ {
				cond[t.fill[next]] += lp * cond[q]
				next++
			}
		}
	}
	return true
}

// solve turns x from currents into the nodes to voltages of the nodes.
func (m *ldl) solve(t *topology, x []float64) {
	row, first, l := t.row, t.first, m.l
	for j := range t.n {
		y := x[j]
		for p := first[j]; p < first[j+1]; p++ {
			x[row[p]] += l[p] * y
		}
		x[j] = y / m.pivot[j]
	}
	for j := t.n - 1; j >= 0; j-- {
		y := x[j]
		for p := first[j]; p < first[j+1]; p++ {
			y += l[p] * x[row[p]]
		}
		x[j] = y
	}
}
