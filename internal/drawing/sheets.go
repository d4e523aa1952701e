package drawing

import (
	"fmt"
	"slices"
)

// Sheets parts a diagram into ones no taller than a sheet: the sources stand on
// the first, every branch on one of them, whole if it can be; a branch taller
// than a sheet is continued on the next.
func (o OneLine) Sheets(most Px) []OneLine {
	rest := o
	var out []OneLine
	for {
		if n := len(out); n > 0 {
			rest.Name = fmt.Sprintf("%s-%d", o.Name, n+1)
		}
		part, left := rest.fill(most)
		out = append(out, part)
		if len(left) == 0 {
			return out
		}
		left[0].Same = false // its fuse is drawn again
		rest.Mains, rest.Sources, rest.Feed = left, nil, nil
	}
}

// fill takes as many branches as fit, at least one feed, and returns the others.
func (o OneLine) fill(most Px) (OneLine, []Main) {
	all := slices.Clone(o.Mains)
	for n := len(all); n > 0; n-- {
		o.Mains = all[:n]
		if o.Draw().H <= most {
			return o, all[n:]
		}
	}
	if len(all) == 0 {
		return o, nil
	}
	first := all[0]
	for n := len(first.Feeds) - 1; n > 0; n-- {
		head := first
		head.Feeds = first.Feeds[:n]
		o.Mains = []Main{head}
		if o.Draw().H <= most || n == 1 {
			tail := first
			tail.Feeds = first.Feeds[n:]
			return o, append([]Main{tail}, all[1:]...)
		}
	}
	o.Mains = all[:1]
	return o, all[1:]
}
