package dcnet

import "math"

// settle finds the voltages. The answer is empty or says why there are none.
func (w *workspace) settle(start []float64) string {
	if w.begin(start) && w.plain() {
		if !w.anyFolded() {
			return ""
		}
		copy(w.keep, w.v)
		if why := w.down(true); why != "" {
			return why
		}
		if w.foldedUnloaded() {
			copy(w.v, w.keep)
			w.place()
			return ""
		}
		return w.switchOn()
	}
	w.leap()
	if why := w.down(true); why != "" || !w.anyConstant() {
		return why
	}
	return w.switchOn()
}

// anyConstant reports whether there is a constant current or power to switch on.
func (w *workspace) anyConstant() bool {
	for i := range w.bent {
		if w.bent[i].leak != 0 {
			return true
		}
	}
	return false
}

// switchOn goes down from the unloaded voltages.
func (w *workspace) switchOn() string {
	w.place()
	for i := range w.bent {
		if b := &w.bent[i]; b.sheer() && w.v[b.a]-w.v[b.b] <= b.lo {
			return b.starved()
		}
	}
	return w.down(false)
}

// leap goes from nothing to the voltages with constant loads off, alternators
// regulating and curves at their foot: a first guess for the way down.
func (w *workspace) leap() {
	clear(w.v)
	w.place()
	for i := range w.bent {
		if b := &w.bent[i]; b.e.kind == alternator {
			b.set(1)
		}
	}
	w.balance(true)
	if w.build(true) {
		w.aim()
		w.advance(1)
	}
	w.place()
}

// begin takes the start's voltages; false when there are none to go by.
func (w *workspace) begin(start []float64) bool {
	if start == nil {
		return false
	}
	clear(w.v)
	for v, x := range start {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
		w.v[w.top.place[v]] = x - start[0]
	}
	if w.nodes == len(start) {
		return true
	}
	for v := len(start); v < w.nodes; v++ { // a joint begins without drop
		for i := len(w.net.els); i < len(w.problem.els); i++ {
			if e := &w.problem.els[i]; int(e.b) == v {
				w.v[w.top.place[v]] = w.v[w.top.place[e.a]]
			}
		}
	}
	return true
}

// place puts every bend on the stretch of its present voltage; changed reports
// whether one moved.
func (w *workspace) place() (changed bool) {
	for i := range w.bent {
		b := &w.bent[i]
		br := b.e.branch(w.v[b.a] - w.v[b.b])
		if br != b.br || b.lo == b.hi {
			changed = true
			b.set(br)
		}
	}
	return changed
}

// anyFolded reports whether a constant power is below its drop-out that might
// not be so from full supply. If all of them are far below, they are so from
// full supply too: to be up together on a supply E through R they need
// E² ≥ 4 R ΣP, so with all of them down as resistances the one with the lowest
// drop-out stands at 2U₀²/E or E/2 at least. Half of that is asked for.
func (w *workspace) anyFolded() bool {
	for i := range w.bent {
		b := &w.bent[i]
		if !b.folded() {
			continue
		}
		drop := b.e.law.dropV
		if w.v[b.a]-w.v[b.b] > min(drop/4, drop*drop/w.sizeV) {
			return true
		}
	}
	return false
}

// foldedUnloaded reports whether each constant power that is below its
// drop-out at the kept voltages is so at the present, unloaded ones too.
func (w *workspace) foldedUnloaded() bool {
	for i := range w.bent {
		b := &w.bent[i]
		if b.leak == 0 || b.e.law.kind != lawPower || w.keep[b.a]-w.keep[b.b] >= b.e.law.dropV {
			continue
		}
		if w.v[b.a]-w.v[b.b] >= b.e.law.dropV {
			return false
		}
	}
	return true
}

// balance computes f, what leaves each node at the present voltages. While off,
// constant currents and powers are next to nothing.
func (w *workspace) balance(off bool) {
	v, f := w.v, w.f
	clear(f)
	for i := range w.lin {
		l := &w.lin[i]
		x := l.g*(v[l.a]-v[l.b]) + l.i0
		f[l.a] += x
		f[l.b] -= x
	}
	for i := range w.bent {
		b := &w.bent[i]
		u := v[b.a] - v[b.b]
		if off && b.leak != 0 {
			b.i, b.g = b.leak*u, b.leak
		} else {
			b.i, b.g = b.e.on(b.br, u)
		}
		f[b.a] += b.i
		f[b.b] -= b.i
	}
}

// build factors the matrix of slopes; falling ones only if asked for.
func (w *workspace) build(falling bool) bool {
	copy(w.leak, w.baseLeak)
	copy(w.cond, w.baseCond)
	for i := range w.bent {
		b := &w.bent[i]
		b.inMatrix = b.g
		g := b.g
		if g < b.tiny && (g >= 0 || !falling) {
			g = b.tiny
		}
		w.add(b.slot, g)
	}
	if w.factor(w.top) {
		return true
	}
	w.spoil()
	return false
}

// spoil makes sure that the factors aren't taken for those of the present slopes.
func (w *workspace) spoil() {
	for i := range w.bent {
		w.bent[i].inMatrix = math.NaN()
	}
}

func (w *workspace) built() bool {
	for i := range w.bent {
		if w.bent[i].g != w.bent[i].inMatrix {
			return false
		}
	}
	return w.steps > 0
}

// aim computes the step d that the factored matrix answers f with.
func (w *workspace) aim() {
	for j, x := range w.f {
		w.d[j] = -x
	}
	w.d[w.top.n] = 0
	w.solve(w.top, w.d)
	w.steps++
}

// advance goes t of the step, notes how far that was and the largest voltage
// there, those of sources included.
func (w *workspace) advance(t float64) {
	moved, size := 0.0, w.emfV
	d := w.d[:len(w.v)]
	for j, x := range w.v {
		x += t * d[j]
		w.v[j] = x
		moved = max(moved, math.Abs(d[j]))
		size = max(size, math.Abs(x))
	}
	w.moved, w.sizeV = moved, size
}

const (
	doneRatio  = 1e-12 // of the largest voltage: settled
	chordRatio = 1e-5  // the matrix is good enough for the next step
	leastV     = 1e-14
	// stallRatio: steps of this size that don't shrink any more, though at a
	// double root they halve, are rounding: the voltage of a part that hangs on
	// a blocking alternator only. Whether the currents cancel is judged after.
	stallRatio = 1e-6
)

// plain tries Newton steps from the present voltages, every load on the stretch
// it happens to be on.
func (w *workspace) plain() bool {
	again := false
	for range 12 {
		if w.place() {
			again = false
		}
		for i := range w.bent {
			b := &w.bent[i]
			if b.sheer() && w.v[b.a]-w.v[b.b] <= b.lo {
				return false
			}
		}
		w.balance(false)
		if !again && !w.built() && !w.build(true) {
			return false
		}
		w.aim()
		w.advance(1)
		switch {
		case math.IsNaN(w.moved) || math.IsInf(w.sizeV, 0):
			return false
		case w.moved <= doneRatio*w.sizeV+leastV:
			return !w.place()
		}
		again = w.moved <= chordRatio*w.sizeV
	}
	return false
}

// down settles from voltages that are no lower than the answer, stopping at
// each bend. While off, constant currents and powers count as next to nothing.
func (w *workspace) down(off bool) string {
	again, stalls, before := false, 0, math.Inf(1)
	w.spoil()
	for range w.most {
		w.balance(off)
		if !again && !w.built() && !w.build(true) {
			if why := w.fall(off); why != "" {
				return why
			}
			again, before = false, math.Inf(1)
			continue
		}
		w.aim()
		t := 1.0
		if w.other {
			t = w.damp(off)
			w.balance(off)
		}
		reach := w.reach(t, off)
		w.advance(reach)
		if math.IsNaN(w.moved) {
			return w.unsettled()
		}
		if b := w.cross(reach, off); b != nil {
			return b.starved()
		}
		if reach == 1 && w.moved <= doneRatio*w.sizeV+leastV {
			return ""
		}
		if reach == 1 && !again && w.moved <= stallRatio*w.sizeV && w.moved > 0.7*before {
			if stalls++; stalls == 3 {
				return ""
			}
		}
		again = reach == 1 && w.moved <= chordRatio*w.sizeV && w.moved < 0.3*before
		before = w.moved
	}
	return w.unsettled()
}

// reach is how much of the step, up to most, brings the first bend to the end
// of its stretch.
func (w *workspace) reach(most float64, off bool) float64 {
	slack := doneRatio * w.sizeV
	for i := range w.bent {
		b := &w.bent[i]
		if off && b.leak != 0 {
			continue
		}
		u, du := w.v[b.a]-w.v[b.b], w.d[b.a]-w.d[b.b]
		switch {
		case du < 0 && u+most*du < b.lo-slack:
			most = max(0, (b.lo-u)/du)
		case du > 0 && u+most*du > b.hi+slack:
			most = max(0, (b.hi-u)/du)
		}
	}
	return most
}

// cross moves the bends that the step brought to the end of their stretch to
// the next one. It returns one that has none.
func (w *workspace) cross(t float64, off bool) *bend {
	if t == 1 {
		return nil
	}
	slack := doneRatio * w.sizeV
	for i := range w.bent {
		b := &w.bent[i]
		if off && b.leak != 0 {
			continue
		}
		u, du := w.v[b.a]-w.v[b.b], w.d[b.a]-w.d[b.b]
		switch {
		case du < 0 && u <= b.lo+slack:
			if b.sheer() {
				return b
			}
			b.set(b.br - 1)
		case du > 0 && u >= b.hi-slack:
			b.set(b.br + 1)
		}
	}
	return nil
}
