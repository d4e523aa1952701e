package folder

import "slices"

// History is how far the revisions of one table can be walked back and forth.
// Content tells what is the same: a step back writes the content of an earlier
// revision again, so that the present one is found by its stamp.
type History struct {
	Now        int // the revision whose content stands; 0 when no revision made it
	Undo, Redo int // the revisions whose content is next in either way; 0 for none
	list       []Revision
}

// HistoryOf finds where a table stands among its revisions. Found is the stamp of
// the file; proposals beside the table are no part of it.
func HistoryOf(revs []Revision, name string, found Stamp) History {
	h := History{}
	for _, r := range revs {
		if r.Map == name && r.File == mapFile(name) {
			h.list = append(h.list, r)
		}
	}
	parent := map[int]int{} // of each revision that made new content
	cursor := 0
	for _, r := range h.list {
		first := h.first(r.Stamp)
		if first == r.N {
			parent[r.N] = cursor
		}
		cursor = first
	}
	if len(h.list) == 0 || h.list[len(h.list)-1].Stamp != found {
		return h
	}
	h.Now, h.Undo = cursor, parent[cursor]
	for _, r := range h.list {
		if p, made := parent[r.N]; made && p == cursor && r.N != cursor {
			h.Redo = r.N
		}
	}
	return h
}

// first is the revision that first made a content.
func (h *History) first(s Stamp) int {
	i := slices.IndexFunc(h.list, func(r Revision) bool { return r.Stamp == s })
	return h.list[i].N
}

// File names the file that holds the content of a revision, or "" when it is
// kept nowhere.
func (h *History) File(n int) string {
	i := slices.IndexFunc(h.list, func(r Revision) bool { return r.N == n })
	switch {
	case i < 0:
		return ""
	case h.Now != 0 && h.list[i].Stamp == h.list[len(h.list)-1].Stamp:
		return h.list[i].File
	}
	for j, r := range h.list[:len(h.list)-1] {
		if r.Stamp == h.list[i].Stamp && h.list[j+1].Kept != "" {
			return h.list[j+1].Kept
		}
	}
	return ""
}
