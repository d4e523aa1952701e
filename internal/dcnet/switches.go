package dcnet

import "slices"

// Switches says which switches are closed, a bit per element; nil is all open.
type Switches []uint64

// Closed reports whether a switch is closed.
func (s Switches) Closed(id ElementID) bool {
	w := int(id) >> 6
	return id > 0 && w < len(s) && s[w]&(1<<(uint(id)&63)) != 0
}

// Close closes switches.
func (s *Switches) Close(ids ...ElementID) {
	for _, id := range ids {
		s.Set(id, true)
	}
}

// Open opens switches.
func (s *Switches) Open(ids ...ElementID) {
	for _, id := range ids {
		s.Set(id, false)
	}
}

// Set closes or opens one switch.
func (s *Switches) Set(id ElementID, closed bool) {
	if id <= 0 {
		return
	}
	w := int(id) >> 6
	for closed && len(*s) <= w {
		*s = append(*s, 0)
	}
	switch {
	case closed:
		(*s)[w] |= 1 << (uint(id) & 63)
	case w < len(*s):
		(*s)[w] &^= 1 << (uint(id) & 63)
	}
}

// Clone returns a copy that can be changed by itself.
func (s Switches) Clone() Switches { return slices.Clone(s) }
