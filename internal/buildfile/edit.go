package buildfile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/diag"
)

// Edit is one change of a file: it sets the value at a path, or deletes the key
// or list item there.
type Edit struct {
	// Path leads to the value. Where nothing is written yet, the key is added to
	// the deepest mapping that is, with mappings made for the keys between. The
	// index one past the end of a list appends to it, and 0 below a key that is not
	// there begins one. A path to a quantity in its form of a mapping means the key
	// value within.
	Path []string
	// Text is the new value without quotes; they are added when it needs them.
	Text string
	// Delete removes what stands at the path.
	Delete bool
}

// Apply makes the edits one after another and returns the tree of the new text.
// All bytes that an edit does not have to touch stay as they are: comments,
// order, blank lines, line ends. After each edit the text is read again, and
// the edit is refused unless exactly the intended value changed. The tree given
// is never changed.
//
// Errors: the path leads through a scalar or to a mapping, a list or a text of
// several lines; the new text can't be written in the file; the file can't be
// read.
func Apply(t *Tree, edits ...Edit) (*Tree, error) {
	for _, e := range edits {
		next, err := t.apply(e)
		if err != nil {
			return nil, fmt.Errorf("edit %s of %s: %w", strings.Join(e.Path, "."), t.File, err)
		}
		t = next
	}
	return t, nil
}

func (t *Tree) apply(e Edit) (*Tree, error) {
	if t.Root == nil {
		return nil, fmt.Errorf("the file can't be read; mend it in an editor first")
	}
	if len(e.Path) == 0 {
		return nil, fmt.Errorf("no path is given")
	}
	target := t.Find(e.Path...)
	for n := t.Nearest(e.Path...); n != nil; n = n.Parent {
		if n.refused || n.partial || twice(n) {
			return nil, fmt.Errorf("line %d of the file has an error; mend it first", n.Place().Line)
		}
	}
	var tries []attempt
	var err error
	switch {
	case e.Delete && target == nil:
		return nil, fmt.Errorf("nothing is written there")
	case e.Delete:
		tries, err = t.remove(target)
	case target != nil && !target.openNull():
		tries, err = t.replace(target, e.Text)
	default:
		tries, err = t.insert(e.Path, e.Text)
	}
	if err != nil {
		return nil, err
	}
	return t.firstThatHolds(tries)
}

// twice reports whether the node's key stands twice in its mapping.
func twice(n *Node) bool {
	if n.Parent == nil || n.Parent.Kind != Map {
		return false
	}
	count := 0
	for _, it := range n.Parent.Items {
		if it.Key == n.Key {
			count++
		}
	}
	return count > 1
}

// openNull reports whether nothing at all is written where the value is due.
func (n *Node) openNull() bool { return n.Null() && n.Text == "" }

// attempt is one way to make an edit: the splices and the tree they should give.
type attempt struct {
	splices []splice
	want    *shape
}

// splice replaces bytes of the text.
type splice struct {
	start, end int
	text       string
}

// firstThatHolds makes the first attempt whose text reads as intended.
func (t *Tree) firstThatHolds(tries []attempt) (*Tree, error) {
	for _, a := range tries {
		src, ok := splicing(t.Src, a.splices)
		if !ok {
			continue
		}
		next, ds := Parse(t.File, src)
		if next.Root != nil && noneNew(t.faults, counts(ds)) && a.want.equal(shapeOf(next.Root)) {
			return next, nil
		}
	}
	return nil, fmt.Errorf("the change can't be written here without changing more than it should; make it in an editor")
}

// counts tallies messages by rule: an edit may make no new ones.
func counts(ds []diag.Diagnostic) map[string]int {
	m := map[string]int{}
	for _, d := range ds {
		m[d.Rule]++
	}
	return m
}

func noneNew(a, b map[string]int) bool {
	for rule, n := range b {
		if n > a[rule] {
			return false
		}
	}
	return true
}

func splicing(src []byte, ss []splice) ([]byte, bool) {
	ss = slices.Clone(ss)
	slices.SortStableFunc(ss, func(a, b splice) int { return a.start - b.start })
	var out []byte
	at := 0
	for _, s := range ss {
		if s.start < at || s.end < s.start || s.end > len(src) {
			return nil, false
		}
		out = append(append(out, src[at:s.start]...), s.text...)
		at = s.end
	}
	return append(out, src[at:]...), true
}

// replace sets the value of a scalar.
func (t *Tree) replace(n *Node, text string) ([]attempt, error) {
	if n.Kind == Map {
		if v := n.Get("value"); v != nil && v.Kind == Scalar {
			if v.openNull() {
				return t.insert(v.Path(), text)
			}
			n = v
		}
	}
	switch {
	case n.Kind != Scalar:
		return nil, fmt.Errorf("%v is written there; change one of its parts", n.Kind)
	case n.Style == TextBlock:
		return nil, fmt.Errorf("a text of several lines is written there (line %d); change it in an editor", n.Pos.Line)
	}
	var tries []attempt
	for _, q := range quotings(text, n.Style) {
		want := shapeOf(t.Root)
		want.at(n.Path()).set(text)
		tries = append(tries, attempt{[]splice{{n.Start, n.End, q}}, want})
	}
	return tries, nil
}

// quotings lists the ways to write a text, the one that changes least first.
func quotings(text string, was Style) []string {
	single := "'" + strings.ReplaceAll(text, "'", "''") + "'"
	double := doubleQuoted(text)
	if strings.ContainsAny(text, "\r\n") {
		return []string{double}
	}
	switch was {
	case SingleQuoted:
		return []string{single, double}
	case DoubleQuoted:
		return []string{double}
	}
	if text == "" {
		return []string{single}
	}
	return []string{text, single, double}
}

func doubleQuoted(text string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range text {
		switch {
		case r == '"' || r == '\\':
			b.WriteRune('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case r < 0x20 || r >= 0x7F && r <= 0x9F:
			fmt.Fprintf(&b, `\x%02X`, r)
		case r == 0x2028 || r == 0x2029 || r == 0xFEFF || r == 0xFFFE || r == 0xFFFF:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// shape is what a tree says, without places and layout.
type shape struct {
	kind      Kind
	key, text string
	null      bool
	items     []*shape
}

func shapeOf(n *Node) *shape {
	s := &shape{kind: n.Kind, key: n.Key, text: n.Text, null: n.Null()}
	if s.null {
		s.text = ""
	}
	for _, it := range n.Items {
		s.items = append(s.items, shapeOf(it))
	}
	return s
}

// at returns the part at a path that is known to exist.
func (s *shape) at(path []string) *shape {
	for _, p := range path {
		s = s.items[s.index(p)]
	}
	return s
}

func (s *shape) index(name string) int {
	if s.kind == List {
		i, _ := strconv.Atoi(name)
		return i
	}
	return slices.IndexFunc(s.items, func(it *shape) bool { return it.key == name })
}

func (s *shape) set(text string) { s.kind, s.text, s.null, s.items = Scalar, text, false, nil }

func (s *shape) equal(o *shape) bool {
	return s.kind == o.kind && s.key == o.key && s.text == o.text && s.null == o.null && slices.EqualFunc(s.items, o.items, (*shape).equal)
}
