package loom

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fettle/internal/fuse"
)

// rate numbers a fuse and gives it its load, its inrush and, unless the user
// fixed it, its rating.
func (p *planner) rate(f *Fuse, id string, served []string, more draw) {
	if f.Name == "" {
		f.Name = fmt.Sprintf("F%d", len(p.loom.Fuses)+1)
	}
	if f.Place == "" {
		f.Place = p.box
	}
	f.HotK = p.hotAt(f.Place)
	need := p.needOf(served).plus(more)
	f.LoadA = math.Max(f.LoadA, need.heatA())
	if f.Inrush == nil {
		f.Inrush = p.inrush(served, f.LoadA)
	}
	frac := p.d.Cat.Scheme.FuseFrac.SI
	if f.Fixed {
		f.Why = "fixed in the file"
		return
	}
	var si float64
	si, f.Why = rating(f, frac)
	f.RatingA = p.decided(id, si, "A", f.Pos, f.Why)
}

// rating is the smallest standard rating for a fuse's load and inrush, and what
// asked for it. Beyond the largest it is that; the rules say what it lacks.
func rating(f *Fuse, frac float64) (ratingA float64, why string) {
	load, ok := fuse.Smallest(f.LoadA, frac, f.HotK.SI)
	if !ok {
		last := fuse.BoltedA[len(fuse.BoltedA)-1]
		return last, fmt.Sprintf("the largest there is; the load of %.0f A wants more", f.LoadA)
	}
	both, ok := fuse.Smallest(f.LoadA, frac, f.HotK.SI, f.Inrush...)
	switch {
	case ok && both > math.Max(load, leastFuseA):
		worst := f.Inrush[0]
		for _, p := range f.Inrush {
			if !fuse.Of(load).Passes(load, p) {
				worst = p
			}
		}
		return both, fmt.Sprintf("lets the inrush of %.0f A for %.0f ms pass", worst.CurrentA, worst.LastsS*1e3)
	case load < leastFuseA:
		return leastFuseA, fmt.Sprintf("the smallest given to a branch; its load is %.1f A", f.LoadA)
	}
	return load, fmt.Sprintf("carries %.1f A of load for ever at %.0f °C (%.0f %% of the rating at 25 °C)", f.LoadA, f.HotK.SI-273.15, 100*frac)
}

// inrush lists the pulses of a group's loads, all switched on at once: for each
// duration the current that lasts so long.
func (p *planner) inrush(served []string, loadA float64) []fuse.Pulse {
	type pulse struct{ aboveA, lastsS float64 }
	var all []pulse
	for _, end := range served {
		i, ok := p.endAt[end]
		if !ok {
			continue
		}
		it := &p.d.Devices[i]
		for k := range it.Part.Loads {
			l := &it.Part.Loads[k]
			if it.Name+" "+l.From != end || len(l.On) == 0 {
				continue
			}
			if times, lasts := p.pulse(it.Part, l); times > 1 {
				all = append(all, pulse{(times - 1) * onA(it.Part, l), lasts})
			}
		}
	}
	var out []fuse.Pulse
	for _, one := range all {
		if slices.ContainsFunc(out, func(q fuse.Pulse) bool { return q.LastsS == one.lastsS }) {
			continue
		}
		q := fuse.Pulse{CurrentA: loadA, LastsS: one.lastsS}
		for _, other := range all {
			if other.lastsS >= one.lastsS {
				q.CurrentA += other.aboveA
			}
		}
		out = append(out, q)
	}
	slices.SortFunc(out, func(a, b fuse.Pulse) int { return cmp.Compare(b.LastsS, a.LastsS) })
	return out
}

// RatingForA returns the smallest standard rating of a fuse for a load in its place and its inrush; above the greatest it returns that.
//
//	as fuse.Smallest, and at least 5 A
//
// Valid: −40 … 125 °C around the fuse.
// Accuracy: that of fuse.Smallest.
// Source: see there; 5 A common practice, smaller ones blow on inrush.
// Errors: none
func RatingForA(f *Fuse, loadA, shareFrac float64) float64 {
	with := *f
	with.LoadA = loadA
	r, _ := rating(&with, shareFrac)
	return r
}

// leastFuseA is the smallest fuse that is given to a branch: smaller ones blow
// on inrush (common practice).
const leastFuseA = 5

// worstInrush is the inrush of one group on top of what all the others draw: they
// are not switched on together.
func (p *planner) worstInrush(loadA float64) []fuse.Pulse {
	var out []fuse.Pulse
	for i := range p.loom.Fuses {
		f := &p.loom.Fuses[i]
		for _, q := range f.Inrush {
			out = append(out, fuse.Pulse{CurrentA: loadA + math.Max(0, q.CurrentA-f.LoadA), LastsS: q.LastsS})
		}
	}
	slices.SortFunc(out, func(a, b fuse.Pulse) int {
		return cmp.Or(cmp.Compare(b.LastsS, a.LastsS), cmp.Compare(b.CurrentA, a.CurrentA))
	})
	return slices.CompactFunc(out, func(a, b fuse.Pulse) bool { return a.LastsS == b.LastsS })
}
