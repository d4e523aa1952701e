package buildfile

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// insert adds what a path names, below the deepest node that is written.
func (t *Tree) insert(path []string, text string) ([]attempt, error) {
	parent := t.Nearest(path...)
	depth := len(parent.Path())
	rest := path[depth:]
	switch {
	case parent.Kind == Scalar && !parent.Null():
		return nil, fmt.Errorf("%s holds the value %q and can have no parts; take the value away first", title(parent), parent.Text)
	case parent.Kind == List && rest[0] != strconv.Itoa(len(parent.Items)):
		return nil, fmt.Errorf("the list has %d items and no item %q; the next is %d", len(parent.Items), rest[0], len(parent.Items))
	}
	for _, key := range rest {
		if key == "" {
			return nil, fmt.Errorf("a key is empty")
		}
		if strings.Contains(key, newList) { // no YAML text holds this character
			return nil, fmt.Errorf("the key %q can't be written here; take the character of code 0 out", key)
		}
	}
	rest = begun(rest, parent.Kind == Scalar)
	var tries []attempt
	for _, q := range quotings(text, Plain) {
		want := shapeOf(t.Root)
		grow(want.at(path[:depth]), rest, text)
		tries = append(tries, attempt{[]splice{t.added(parent, rest, q)}, want})
	}
	return tries, nil
}

// newList stands in a path for the first item of a list that is not there yet.
const newList = "\x00"

// begun marks the indices 0 below what is not written yet: a list begins there.
// Open says that nothing is written where the path's first key goes.
func begun(rest []string, open bool) []string {
	out := slices.Clone(rest)
	for i, key := range out {
		if key == "0" && (i > 0 || open) {
			out[i] = newList
		}
	}
	return out
}

// grow adds to a shape what insert adds to the text.
func grow(s *shape, rest []string, text string) {
	if len(rest) == 0 {
		s.set(text)
		return
	}
	if s.kind == Scalar {
		s.kind, s.text, s.null = Map, "", false
		if rest[0] == newList {
			s.kind = List
		}
	}
	it := &shape{key: rest[0], null: true}
	if s.kind == List {
		it.key = ""
	}
	s.items = append(s.items, it)
	grow(it, rest[1:], text)
}

// added is the splice that writes the rest of a path and its value.
func (t *Tree) added(parent *Node, rest []string, value string) splice {
	switch {
	case parent.openNull() && len(rest) == 0:
		return splice{parent.Start, parent.Start, " " + value}
	case parent.Kind == Scalar && !parent.openNull(), parent.Style != Flow && inFlow(parent):
		text := bracketed(rest, value)
		if parent.openNull() {
			text = " " + text
		}
		return splice{parent.Start, parent.End, text}
	case parent.Style == Flow:
		return t.addedInFlow(parent, rest, value)
	case parent.openNull():
		return t.addedBelow(parent, rest, value)
	}
	return t.addedAfter(parent, rest, value)
}

func inFlow(n *Node) bool {
	for ; n != nil; n = n.Parent {
		if n.Style == Flow && n.Kind != Scalar {
			return true
		}
	}
	return false
}

// inline writes keys and a value within braces: a: {b: value}.
func inline(keys []string, value string) string {
	if len(keys) == 0 {
		return value
	}
	text := ""
	if keys[0] != newList {
		text = keyText(keys[0]) + ": "
	}
	return text + bracketed(keys[1:], value)
}

// bracketed is a value with the keys that lead to it, in braces, or in brackets
// where a list begins.
func bracketed(keys []string, value string) string {
	switch {
	case len(keys) == 0:
		return value
	case keys[0] == newList:
		return "[" + inline(keys, value) + "]"
	}
	return "{" + inline(keys, value) + "}"
}

// addedInFlow writes behind the last item of a list or mapping in brackets.
func (t *Tree) addedInFlow(parent *Node, rest []string, value string) splice {
	text := inline(rest, value)
	if parent.Kind == List {
		text = bracketed(rest[1:], value)
	}
	if len(parent.Items) == 0 {
		return splice{parent.Start + 1, parent.Start + 1, text}
	}
	end := parent.Items[len(parent.Items)-1].End
	return splice{end, end, ", " + text}
}

// addedBelow writes the first lines below a key, or in a list item, that has
// nothing yet.
func (t *Tree) addedBelow(n *Node, rest []string, value string) splice {
	col := n.Parent.Pos.Col
	indent := strings.Repeat(" ", col-1+t.step())
	if n.Parent.Kind == List {
		indent = strings.Repeat(" ", col+1)
	}
	return t.linesAt(lineEnd(t.Src, n.End), t.block(indent, rest, value))
}

// addedAfter writes lines behind the last item of a block, and behind the
// comment lines that follow it at its own indentation or deeper.
func (t *Tree) addedAfter(parent *Node, rest []string, value string) splice {
	indent := strings.Repeat(" ", parent.Pos.Col-1)
	last := parent.Items[len(parent.Items)-1]
	end := lineEnd(t.Src, max(last.End, last.Start))
	for i := nextLine(t.Src, end); i < len(t.Src); i = nextLine(t.Src, i) {
		line := t.Src[i:lineEnd(t.Src, i)]
		text := bytes.TrimLeft(line, " ")
		if len(text) == 0 || text[0] != '#' || len(line)-len(text) < len(indent) {
			break
		}
		end = i + len(line)
	}
	lines := t.block(indent, rest, value)
	if parent.Kind == List {
		lines = t.block(indent+"  ", rest[1:], value)
		if len(rest) == 1 {
			lines = []string{indent + "  " + value}
		}
		lines[0] = indent + "- " + strings.TrimLeft(lines[0], " ")
	}
	return t.linesAt(end, lines)
}

// block writes keys one below the other, the value behind the last. Where a list
// begins, what follows stands behind its dash.
func (t *Tree) block(indent string, keys []string, value string) []string {
	var lines []string
	dash := ""
	for i, k := range keys {
		last := i == len(keys)-1
		if k == newList {
			dash += "- "
			if last {
				lines = append(lines, indent+dash+value)
			}
			continue
		}
		line := indent + dash + keyText(k) + ":"
		if last {
			line += " " + value
		}
		lines = append(lines, line)
		indent += strings.Repeat(" ", len(dash)+t.step())
		dash = ""
	}
	return lines
}

// linesAt puts lines behind the line that ends at end.
func (t *Tree) linesAt(end int, lines []string) splice {
	nl := t.newline()
	return splice{end, end, nl + strings.Join(lines, nl)}
}

// newline is the line end that the file uses.
func (t *Tree) newline() string {
	i := bytes.IndexByte(t.Src, '\n')
	if i > 0 && t.Src[i-1] == '\r' {
		return "\r\n"
	}
	return "\n"
}

// step is by how much the file indents: that of its first nested mapping.
func (t *Tree) step() int {
	const usual = 2
	var find func(n *Node) int
	find = func(n *Node) int {
		for _, it := range n.Items {
			if n.Kind == Map && it.Kind == Map && it.Style != Flow && len(it.Items) > 0 && it.Pos.Col > n.Pos.Col {
				return it.Pos.Col - n.Pos.Col
			}
			if s := find(it); s > 0 {
				return s
			}
		}
		return 0
	}
	if s := find(t.Root); s > 0 {
		return s
	}
	return usual
}

// keyText writes a key, in quotes unless it is made of plain words.
func keyText(key string) string {
	for i, r := range key {
		inner := i > 0 && i < len(key)-1
		if !(unicode.IsLetter(r) || unicode.IsDigit(r) || r == '_' || inner && (r == ' ' || r == '-' || r == '.' || r == '/')) {
			return doubleQuoted(key)
		}
	}
	return key
}
