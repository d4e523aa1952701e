package buildfile

import (
	"bytes"
	"fmt"
	"slices"
)

// remove deletes a key or a list item with its lines.
func (t *Tree) remove(n *Node) ([]attempt, error) {
	parent := n.Parent
	path := n.Path()
	want := shapeOf(t.Root)
	s := want.at(path[:len(path)-1])
	i := s.index(path[len(path)-1])
	s.items = slices.Delete(s.items, i, i+1)
	if len(parent.Items) == 1 && parent.Parent == nil {
		return nil, fmt.Errorf("it is the last thing in the file, which must not be empty")
	}
	switch {
	case parent.Style == Flow:
		return []attempt{{t.removeInFlow(parent, i), want}}, nil
	case len(parent.Items) == 1:
		return []attempt{{t.removeLast(parent, n), want}}, nil
	}
	start := t.itemStart(n)
	end := lineEnd(t.Src, max(n.End, n.Start))
	if len(bytes.TrimSpace(t.Src[lineStart(t.Src, start):start])) == 0 {
		return []attempt{{[]splice{t.wholeLines(start, end)}, want}}, nil
	}
	// The item stands behind the dash of a list: what follows takes its place.
	next := nextLine(t.Src, end)
	for next < len(t.Src) && t.Src[next] == ' ' {
		next++
	}
	return []attempt{{[]splice{{start, next, ""}}, want}}, nil
}

// wholeLines widens a stretch to whole lines with one line end.
func (t *Tree) wholeLines(start, end int) splice {
	start = lineStart(t.Src, start)
	next := nextLine(t.Src, end)
	if next == end && start > 0 { // the last line has no line end: take the one before
		start = lineEnd(t.Src, start-1)
		if start > 0 && t.Src[start-1] == '\r' {
			start--
		}
	}
	return splice{start, next, ""}
}

// itemStart is where a key, or the dash of a list item, stands.
func (t *Tree) itemStart(n *Node) int {
	if n.colon >= 0 && n.Parent.Kind == Map {
		return n.keyStart
	}
	col := n.Parent.Pos.Col - 1
	for at := lineStart(t.Src, n.Start); ; at = lineStart(t.Src, at-1) {
		if i := at + col; i <= n.Start && i < len(t.Src) && t.Src[i] == '-' && i < lineEnd(t.Src, at)+1 {
			return i
		}
		if at == 0 {
			return n.Start
		}
	}
}

// removeLast empties a mapping or a list: its place is taken by {} or [].
func (t *Tree) removeLast(parent, n *Node) []splice {
	empty := " {}"
	if parent.Kind == List {
		empty = " []"
	}
	start, end := t.itemStart(n), lineEnd(t.Src, max(n.End, n.Start))
	if len(bytes.TrimSpace(t.Src[lineStart(t.Src, start):start])) != 0 {
		return []splice{{start, n.End, empty[1:]}} // "- a: 1" becomes "- {}"
	}
	after := t.itemStart(parent) + 1
	if parent.Parent.Kind == Map {
		after = parent.colon + 1
	}
	return []splice{{after, after, empty}, t.wholeLines(start, end)}
}

// removeInFlow deletes an item between brackets with one comma, and its line
// when nothing else stands on it.
func (t *Tree) removeInFlow(parent *Node, i int) []splice {
	n := parent.Items[i]
	start, end := n.Start, n.End
	if parent.Kind == Map {
		start = n.keyStart
	}
	if comma := t.comma(end, parent.End-1); comma >= 0 {
		end = comma + 1
		for end < len(t.Src) && t.Src[end] == ' ' {
			end++
		}
		if s, ok := t.ownLine(start, end); ok {
			return []splice{s}
		}
		return []splice{{start, end, ""}}
	}
	if i == 0 {
		return []splice{{start, end, ""}}
	}
	before := parent.Items[i-1].End
	comma := t.comma(before, start)
	if comma < 0 {
		return []splice{{start, end, ""}}
	}
	if s, ok := t.ownLine(start, end); ok {
		return []splice{{comma, comma + 1, ""}, s}
	}
	if len(bytes.TrimSpace(t.Src[comma+1:start])) == 0 {
		return []splice{{comma, end, ""}}
	}
	return []splice{{comma, comma + 1, ""}, {start, end, ""}}
}

// comma finds the next comma between items, outside comments.
func (t *Tree) comma(from, to int) int {
	for i := from; i < to; i++ {
		switch t.Src[i] {
		case ',':
			return i
		case '#':
			i = lineEnd(t.Src, i)
		}
	}
	return -1
}

// ownLine widens a stretch to its lines if nothing but a comment shares them.
func (t *Tree) ownLine(start, end int) (splice, bool) {
	at, stop := lineStart(t.Src, start), lineEnd(t.Src, end)
	rest := bytes.TrimSpace(t.Src[min(end, stop):stop])
	if len(bytes.TrimSpace(t.Src[at:start])) != 0 || len(rest) != 0 && rest[0] != '#' {
		return splice{}, false
	}
	return t.wholeLines(start, stop), true
}
