package buildfile_test

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"fettle/internal/buildfile"
)

// leaves tells what a tree says: a line for each value that has no parts.
func leaves(tree *buildfile.Tree) map[string]string {
	out := map[string]string{}
	walk(tree.Root, func(n *buildfile.Node) {
		id := strings.Join(n.Path(), "/")
		switch {
		case n.Null():
			out[id] = "null"
		case n.Kind == buildfile.Scalar:
			out[id] = "text " + n.Text
		case len(n.Items) == 0:
			out[id] = n.Kind.String()
		}
	})
	return out
}

// below reports whether a path leads to another or to something within it.
func below(p, top string) bool { return p == top || strings.HasPrefix(p, top+"/") }

// checkEdit holds that an edit changed what it should in the tree and no byte
// that it need not. It leans on nothing that Apply checks itself.
func checkEdit(before, after *buildfile.Tree, e buildfile.Edit) error {
	was, is := leaves(before), leaves(after)
	id := strings.Join(e.Path, "/")
	target := before.Find(e.Path...)
	if target != nil && target.Kind == buildfile.Map && !e.Delete {
		id, target = id+"/value", target.Get("value")
	}
	if e.Delete {
		return checkDelete(before, after, target, was, is)
	}
	if is[id] != "text "+e.Text {
		return fmt.Errorf("%s reads %q", id, is[id])
	}
	delete(is, id)
	delete(was, id)
	parent := strings.Join(before.Nearest(e.Path...).Path(), "/")
	if was[parent] == "null" || strings.HasPrefix(was[parent], "a ") {
		delete(was, parent) // an empty parent was filled
	}
	if d := cmp.Diff(was, is); d != "" {
		return fmt.Errorf("other values changed: %s", d)
	}
	if target != nil {
		return outside(before.Src, after.Src, target.Start, target.End)
	}
	if n := before.Nearest(e.Path...); n.Null() || len(n.Items) == 0 {
		return outside(before.Src, after.Src, n.Start, len(before.Src))
	}
	if i := common(before.Src, after.Src); !bytes.HasSuffix(after.Src, before.Src[i:]) {
		return fmt.Errorf("more than an insertion")
	}
	return nil
}

// outside holds that all bytes before start and from end on are kept.
func outside(was, is []byte, start, end int) error {
	if !bytes.HasPrefix(is, was[:start]) || !bytes.HasSuffix(is, was[end:]) {
		return fmt.Errorf("bytes outside %d to %d changed", start, end)
	}
	return nil
}

func common(a, b []byte) int {
	i := 0
	for i < len(a) && i < len(b) && a[i] == b[i] {
		i++
	}
	return i
}

// checkDelete holds that all else is still said, renumbered where items follow,
// and that the bytes before the key and behind its lines are kept.
func checkDelete(before, after *buildfile.Tree, n *buildfile.Node, was, is map[string]string) error {
	id, parent := strings.Join(n.Path(), "/"), strings.Join(n.Parent.Path(), "/")
	want := map[string]string{}
	for p, v := range was {
		if !below(p, id) {
			want[renumbered(p, n)] = v
		}
	}
	if len(n.Parent.Items) == 1 {
		want[parent] = n.Parent.Kind.String()
	}
	if d := cmp.Diff(want, is); d != "" {
		return fmt.Errorf("other values changed: %s", d)
	}
	line := min(n.Place().Line, n.Parent.Pos.Line) // an emptied or shortened parent changes in its own lines
	if len(n.Parent.Items) == 1 {
		line = n.Parent.Place().Line
	}
	start := lineOf(before.Src, line) - 2 // the line end before goes when the text ends without one
	if i := common(before.Src, after.Src); i < min(start, len(after.Src)) {
		return fmt.Errorf("byte %d changed, before the parent's lines at %d", i, start)
	}
	tail := before.Src[n.End:]
	if i := bytes.IndexByte(tail, '\n'); i >= 0 && !bytes.HasSuffix(after.Src, bytes.TrimLeft(tail[i+1:], " ")) {
		return fmt.Errorf("the lines behind changed")
	}
	return comments(before.Src, after.Src, n)
}

// comments holds that every comment line survives, save those within the lines
// of the node that was deleted.
func comments(was, is []byte, n *buildfile.Node) error {
	last := n.Pos.Line + bytes.Count(was[n.Start:n.End], []byte("\n"))
	var want, got []string
	for i, line := range strings.Split(string(was), "\n") {
		if c := strings.TrimSpace(line); strings.HasPrefix(c, "#") && (i+1 < n.Place().Line || i+1 > last) {
			want = append(want, c)
		}
	}
	for _, line := range strings.Split(string(is), "\n") {
		if c := strings.TrimSpace(line); strings.HasPrefix(c, "#") {
			got = append(got, c)
		}
	}
	for _, c := range want {
		if !slices.Contains(got, c) && !bytes.Contains(is, []byte(c)) {
			return fmt.Errorf("comment %q is gone", c)
		}
	}
	return nil
}

func lineOf(src []byte, line int) int {
	at := 0
	for ; line > 1; line-- {
		at += bytes.IndexByte(src[at:], '\n') + 1
	}
	return at
}

// renumbered moves an index behind a deleted list item down by one.
func renumbered(p string, gone *buildfile.Node) string {
	if gone.Parent.Kind != buildfile.List {
		return p
	}
	prefix := gone.Parent.Path()
	steps := strings.Split(p, "/")
	if len(steps) <= len(prefix) || !slices.Equal(steps[:len(prefix)], prefix) {
		return p
	}
	i, _ := strconv.Atoi(steps[len(prefix)])
	g, _ := strconv.Atoi(gone.Path()[len(prefix)])
	if i > g {
		steps[len(prefix)] = strconv.Itoa(i - 1)
	}
	return strings.Join(steps, "/")
}

// writer writes a random file with comments, blank lines and all styles.
type writer struct {
	t    *rapid.T
	b    strings.Builder
	nl   string
	step int
	n    int // makes keys and comments differ
}

func (w *writer) chance(percent int) bool { return rapid.IntRange(0, 99).Draw(w.t, "chance") < percent }

func (w *writer) comment() string {
	w.n++
	return fmt.Sprintf("# note %d: [x], {y} 'z'", w.n)
}

func (w *writer) between(indent int) {
	if w.chance(10) {
		w.b.WriteString(w.nl)
	}
	if w.chance(20) {
		w.b.WriteString(strings.Repeat(" ", indent) + w.comment() + w.nl)
	}
}

func (w *writer) endLine() {
	if w.chance(25) {
		w.b.WriteString("  " + w.comment())
	}
	w.b.WriteString(w.nl)
}

func (w *writer) key() string {
	w.n++
	k := fmt.Sprintf("%s %d", rapid.SampledFrom([]string{"bore", "rail pressure", "größe", "x"}).Draw(w.t, "key"), w.n)
	if w.chance(10) {
		return "'" + k + "'"
	}
	return k
}

var scalars = []string{
	"86 mm", "43.5 psi ± 3 %", "yes", "'it''s'", `"a\tb # c"`, "2.5 mm²", "~", "''", "1e3", "a:b", "-x", "'# no'", "12 Ω",
}

func (w *writer) scalar() string { return rapid.SampledFrom(scalars).Draw(w.t, "scalar") }

func (w *writer) flow(depth int) string {
	n := rapid.IntRange(0, 3).Draw(w.t, "items")
	var parts []string
	list := w.chance(50)
	for range n {
		v := w.scalar()
		if depth > 0 && w.chance(30) {
			v = w.flow(depth - 1)
		}
		if !list {
			v = w.key() + ": " + v
		}
		parts = append(parts, v)
	}
	sep := ", "
	if w.chance(20) {
		sep = "," + w.nl + strings.Repeat(" ", 12)
	}
	text := strings.Join(parts, sep)
	if n > 0 && w.chance(10) {
		text += ","
	}
	if list {
		return "[" + text + "]"
	}
	return "{" + text + "}"
}

func (w *writer) mapping(indent, depth int, first bool) {
	for range rapid.IntRange(1, 4).Draw(w.t, "keys") {
		if !first {
			w.between(indent)
			w.b.WriteString(strings.Repeat(" ", indent))
		}
		first = false
		w.b.WriteString(w.key() + ":")
		w.value(indent, depth)
	}
}

func (w *writer) list(indent, depth int) {
	for range rapid.IntRange(1, 3).Draw(w.t, "items") {
		w.between(indent)
		w.b.WriteString(strings.Repeat(" ", indent) + "-")
		switch {
		case depth > 0 && w.chance(40):
			w.b.WriteString(" ")
			w.mapping(indent+2, depth-1, true)
		case w.chance(30):
			w.b.WriteString(" " + w.flow(depth))
			w.endLine()
		default:
			w.b.WriteString(" " + w.scalar())
			w.endLine()
		}
	}
}

func (w *writer) value(indent, depth int) {
	switch k := rapid.IntRange(0, 9).Draw(w.t, "kind"); {
	case k < 2 && depth > 0:
		w.endLine()
		w.mapping(indent+w.step, depth-1, false)
	case k < 4 && depth > 0:
		w.endLine()
		w.list(indent+w.step*rapid.IntRange(0, 1).Draw(w.t, "deeper"), depth-1)
	case k == 4:
		w.b.WriteString(" " + w.flow(depth))
		w.endLine()
	case k == 5:
		pad := w.nl + strings.Repeat(" ", indent+w.step)
		w.b.WriteString(" |" + pad + "one" + pad + "# no comment" + w.nl)
	case k == 6:
		w.endLine()
	default:
		w.b.WriteString(" " + w.scalar())
		w.endLine()
	}
}

func randomFile(t *rapid.T) string {
	w := &writer{t: t, nl: rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "line end"), step: rapid.SampledFrom([]int{2, 4}).Draw(t, "step")}
	w.between(0)
	w.mapping(0, 3, false)
	text := w.b.String()
	if w.chance(20) {
		text = strings.TrimRight(text, "\r\n")
	}
	return text
}

// TestApplyKeepsTheRest makes random edits of random files and compares all
// that they should not have touched.
func TestApplyKeepsTheRest(t *testing.T) {
	made, refused, unwritable := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		src := randomFile(t)
		tree, ds := buildfile.Parse("f", []byte(src))
		if len(ds) > 0 {
			t.Fatalf("the random file is faulty: %v\n%s", ds, src)
		}
		var all []*buildfile.Node
		walk(tree.Root, func(n *buildfile.Node) { all = append(all, n) })
		n := rapid.SampledFrom(all).Draw(t, "node")
		e := buildfile.Edit{Path: n.Path()}
		switch rapid.IntRange(0, 3).Draw(t, "act") {
		case 0:
			e.Delete = true
		case 1:
			if n.Kind == buildfile.List {
				e.Path = append(e.Path, strconv.Itoa(len(n.Items)))
			} else {
				e.Path = append(e.Path, "new key")
			}
			if rapid.Bool().Draw(t, "deeper") {
				e.Path = append(e.Path, "and", "more")
			}
		}
		if !e.Delete {
			e.Text = rapid.OneOf(rapid.SampledFrom([]string{"87 mm", "a, b", "x: y", "", "null", "'q'", "two\nlines", "# x"}), rapid.String()).Draw(t, "text")
		}
		after, err := buildfile.Apply(tree, e)
		if err != nil {
			refused++
			if strings.Contains(err.Error(), "can't be written here") {
				unwritable++
			}
			return
		}
		made++
		if err := checkEdit(tree, after, e); err != nil {
			t.Fatalf("edit %q to %q (delete %v): %v\nbefore:\n%s\nafter:\n%s", e.Path, e.Text, e.Delete, err, src, after.Src)
		}
	})
	t.Logf("%d edits made, %d refused, %d of them because they can't be written", made, refused, unwritable)
	if made < 20 || unwritable > made/20 {
		t.Error("too few edits were made")
	}
}

// FuzzApply holds that editing any text never panics, and that an edit that is
// made changes what it should and nothing else.
func FuzzApply(f *testing.F) {
	for _, s := range seeds(f) {
		f.Add(s, "engine/bore", "87 mm", false)
		f.Add(s, "engine", "", true)
		f.Add(s, "wires/0/size", "a, b", false)
		f.Add(s, "a/x/y", "", false)
	}
	f.Fuzz(func(t *testing.T, src []byte, where, text string, del bool) {
		tree, ds := buildfile.Parse("f", src)
		e := buildfile.Edit{Path: strings.Split(where, "/"), Text: text, Delete: del}
		after, err := buildfile.Apply(tree, e)
		if err != nil || len(ds) > 0 {
			return
		}
		if err := checkEdit(tree, after, e); err != nil {
			t.Fatalf("%v\nbefore:\n%s\nafter:\n%s", err, src, after.Src)
		}
	})
}
