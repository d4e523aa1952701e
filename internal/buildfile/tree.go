// Package buildfile turns the text of a build file into a tree with places,
// decodes the tree into structs, and edits the text in place. It knows YAML and
// positions and nothing of vehicles; it is given bytes and opens no files.
//
// Conventions: lines and columns count from 1, columns in characters; offsets
// count bytes of Tree.Src. A path is the list of map keys and list indexes that
// leads from the root to a node. Keys are words with spaces, in lower case.
// Quantities are kept as written beside their SI value.
//
// Start reading at [Parse], then [Decode], then [Apply].
package buildfile

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"fettle/internal/diag"
)

// Kind is the shape of a node.
type Kind int

// The kinds of node.
const (
	Scalar Kind = iota
	Map
	List
)

// String is the word that messages use.
func (k Kind) String() string { return [...]string{"a single value", "a mapping", "a list"}[k] }

// Style is how a node is written.
type Style int

// The styles. Maps and lists are Plain (one item a line) or Flow.
const (
	Plain        Style = iota
	SingleQuoted       // 'text'
	DoubleQuoted       // "text"
	TextBlock          // a scalar of several lines after | or >
	Flow               // {a: 1} or [a, b]
)

// Tree is a parsed file. It is never changed once made: Apply makes a new one.
type Tree struct {
	File string
	Src  []byte
	// Root is nil when the text could not be read.
	Root *Node

	faults map[string]int // how many messages of each rule Parse gave
}

// Node is one value of the file: a mapping, a list or a scalar.
type Node struct {
	Kind Kind
	// Key is the key that the node stands under, empty for list items and the root.
	Key string
	// KeyPos is the place of the key, Pos that of the value.
	KeyPos, Pos diag.Pos
	// Text is the scalar as written, without its quotes.
	Text  string
	Style Style
	Items []*Node
	// Parent is nil for the root.
	Parent *Node
	// Start and End are the byte offsets of the value in Tree.Src, quotes and
	// brackets included.
	Start, End int

	index            int // in a list
	keyStart, keyEnd int // of the key, quotes included
	colon            int // of the colon after the key; -1 when there is no key
	raw              string
	refused          bool // a message already says why it can't be used
	partial          bool // a mapping of which some keys could not be read
}

// Null reports whether the node is a scalar without a value: nothing, ~ or null.
func (n *Node) Null() bool {
	if n == nil || n.Kind != Scalar || n.Style != Plain {
		return false
	}
	switch n.Text {
	case "", "~", "null", "Null", "NULL":
		return true
	}
	return false
}

// Get returns the item under a key of a mapping, or nil.
func (n *Node) Get(key string) *Node {
	if n == nil || n.Kind != Map {
		return nil
	}
	for _, it := range n.Items {
		if it.Key == key {
			return it
		}
	}
	return nil
}

// step returns the item that a path element names, or nil.
func (n *Node) step(name string) *Node {
	if n == nil || n.Kind != List {
		return n.Get(name)
	}
	i, err := strconv.Atoi(name)
	if err != nil || i < 0 || i >= len(n.Items) || strconv.Itoa(i) != name {
		return nil
	}
	return n.Items[i]
}

// Find returns the node at a path of map keys and decimal list indexes, or nil.
func (t *Tree) Find(path ...string) *Node {
	n := t.Root
	for _, p := range path {
		n = n.step(p)
	}
	return n
}

// Nearest returns the deepest written node on a path: the place for a message
// about something that is not written. It is nil only when there is no root.
func (t *Tree) Nearest(path ...string) *Node {
	n := t.Root
	for _, p := range path {
		next := n.step(p)
		if next == nil {
			return n
		}
		n = next
	}
	return n
}

// Path is the list of keys and indexes from the root to the node.
func (n *Node) Path() []string {
	var p []string
	for ; n != nil && n.Parent != nil; n = n.Parent {
		if n.Parent.Kind == List {
			p = append(p, strconv.Itoa(n.index))
			continue
		}
		p = append(p, n.Key)
	}
	slices.Reverse(p)
	return p
}

// Subject is the path with points between, as messages name it.
func (n *Node) Subject() string { return strings.Join(n.Path(), ".") }

// Place is where a message about the node as a whole points: its key, or
// itself when it has none.
func (n *Node) Place() diag.Pos {
	if !n.KeyPos.IsZero() {
		return n.KeyPos
	}
	return n.Pos
}

// At is the place of length characters of the scalar's text, from offset on.
// Where escapes or line ends make characters of the text differ from those of
// the file it is followed as far as possible.
func (n *Node) At(offset, length int) diag.Pos {
	if n.Kind != Scalar || n.Style == TextBlock {
		return n.Pos
	}
	starts := n.runeStarts()
	if offset < 0 || offset >= len(starts) {
		return n.Pos
	}
	from := starts[offset]
	to := starts[min(offset+max(length, 1), len(starts)-1)]
	p := n.Pos
	before := n.raw[:from]
	if i := strings.LastIndexByte(before, '\n'); i >= 0 {
		p.Line += strings.Count(before, "\n")
		p.Col = 1 + utf8.RuneCountInString(before[i+1:])
	} else {
		p.Col += utf8.RuneCountInString(before)
	}
	part, _, _ := strings.Cut(n.raw[from:to], "\n")
	p.Len = max(1, utf8.RuneCountInString(strings.TrimRight(part, "\r")))
	return p
}

// runeStarts gives, for every character of the text and for its end, the byte
// of raw it begins at.
func (n *Node) runeStarts() []int {
	var at []int
	i, end := 0, len(n.raw)
	if n.Style == SingleQuoted || n.Style == DoubleQuoted {
		i, end = 1, max(1, end-1)
	}
	for i < end {
		if run, breaks := lineBreak(n.raw[i:end]); breaks > 0 {
			for range max(1, breaks-1) {
				at = append(at, i)
			}
			i += run
			continue
		}
		size, chars := n.charAt(i, end)
		for range chars {
			at = append(at, i)
		}
		i += size
	}
	return append(at, end)
}

// charAt measures the character of the text that raw writes at i: its bytes and
// how many characters of text it makes (none for an escaped line end).
func (n *Node) charAt(i, end int) (size, chars int) {
	rest := n.raw[i:end]
	switch {
	case n.Style == SingleQuoted && strings.HasPrefix(rest, "''"):
		return 2, 1
	case n.Style == DoubleQuoted && rest[0] == '\\' && len(rest) > 1:
		return escapeLen(rest)
	}
	_, size = utf8.DecodeRuneInString(rest)
	return size, 1
}

// escapeLen measures a backslash escape of a double-quoted scalar.
func escapeLen(s string) (size, chars int) {
	switch s[1] {
	case 'x':
		return min(4, len(s)), 1
	case 'u':
		return min(6, len(s)), 1
	case 'U':
		return min(10, len(s)), 1
	case '\n', '\r':
		i := 1
		for i < len(s) && strings.IndexByte(" \t\r\n", s[i]) >= 0 {
			i++
		}
		return i, 0
	}
	_, n := utf8.DecodeRuneInString(s[1:])
	return 1 + n, 1
}

// lineBreak measures a run of white space that s begins with, if it holds a
// line end: its bytes and the number of line ends.
func lineBreak(s string) (run, breaks int) {
	for run < len(s) && strings.IndexByte(" \t\r\n", s[run]) >= 0 {
		if s[run] == '\n' {
			breaks++
		}
		run++
	}
	return run, breaks
}
