package loomsheet

import (
	"cmp"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/formboard"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
)

// sought finds the wire that is asked for: by its number, by a pin, by a thing
// on the drawing, or by words.
func (v sheet) sought(b *formboard.Board, out *Drawn) *loom.Wire {
	byNumber := func(n int) *loom.Wire {
		w, _ := b.Wire(vehicle.WireName(n))
		return w
	}
	switch a := v.Ask; {
	case a.Wire != "":
		n, err := strconv.Atoi(a.Wire)
		if w := byNumber(n); err == nil && w != nil {
			return w
		}
		out.Nothing = "There is no wire " + a.Wire + "; they run from 1 to " + strconv.Itoa(len(v.l.Wires)) + "."
	case a.Thing != "":
		numbers := b.At(a.Thing)
		if len(numbers) == 0 {
			out.Nothing = "No wire ends at " + a.Thing + "."
			return nil
		}
		out.Thing = a.Thing
		for i, n := range numbers {
			m := v.wireMatch(byNumber(n))
			m.Current = i == 0
			out.Matches = append(out.Matches, m)
		}
		return byNumber(numbers[0])
	case a.Pin != "":
		for i := range v.l.Wires {
			w := &v.l.Wires[i]
			for _, node := range []string{w.From.Node, w.To.Node} {
				if node == a.Pin || node == loom.PinNode(a.Pin) {
					return w
				}
			}
		}
	case a.Find != "":
		return v.search(b, a.Find, out)
	}
	return nil
}

const mostMatches = 24

// search looks for words among wires, pins and the things on the drawing.
func (v sheet) search(b *formboard.Board, words string, out *Drawn) *loom.Wire {
	want := strings.ToLower(strings.Join(strings.Fields(words), " "))
	if n, err := strconv.Atoi(strings.TrimPrefix(want, "wire ")); err == nil {
		if w, ok := b.Wire(vehicle.WireName(n)); ok {
			return w
		}
	}
	type found struct {
		rank int
		m    Match
		w    *loom.Wire
	}
	var all []found
	rank := func(name string) (int, bool) {
		name = strings.ToLower(name)
		switch {
		case name == want:
			return 0, true
		case strings.HasPrefix(name, want):
			return 1, true
		case strings.Contains(name, want):
			return 2, true
		}
		return 0, false
	}
	for _, id := range b.Things() {
		if r, ok := rank(id.ID); ok && r == 0 {
			all = append(all, found{0, Match{Name: id.ID + " " + id.Says, Href: v.address(url.Values{"thing": {id.ID}})}, nil})
		} else if r, ok := rank(id.Says); ok {
			all = append(all, found{r + 1, Match{Name: id.ID + " " + id.Says, Href: v.address(url.Values{"thing": {id.ID}})}, nil})
		}
	}
	for i := range v.l.Wires {
		w := &v.l.Wires[i]
		best, ok := 9, false
		for _, name := range []string{w.Name, strings.TrimPrefix(w.From.Node, "pin "), strings.TrimPrefix(w.To.Node, "pin ")} {
			if r, is := rank(name); is && r < best {
				best, ok = r, true
			}
		}
		if ok {
			all = append(all, found{best + 2, v.wireMatch(w), w})
		}
	}
	slices.SortStableFunc(all, func(a, b found) int { return cmp.Compare(a.rank, b.rank) })
	if len(all) == 0 {
		out.Nothing = "Nothing on the drawing is called “" + words + "”. Seek a wire by its number, a pin, a device, a fuse, a splice or a place."
		return nil
	}
	if len(all) == 1 && all[0].w != nil {
		return all[0].w
	}
	for _, f := range all[:min(len(all), mostMatches)] {
		out.Matches = append(out.Matches, f.m)
	}
	return nil
}
