package buildfile_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/buildfile"
)

// walk visits a node and all below it.
func walk(n *buildfile.Node, visit func(*buildfile.Node)) {
	visit(n)
	for _, it := range n.Items {
		walk(it, visit)
	}
}

func mustParse(t *testing.T, src string) *buildfile.Tree {
	t.Helper()
	tree, ds := buildfile.Parse("build.yaml", []byte(src))
	if len(ds) > 0 {
		t.Fatalf("parse %q: %v", src, ds)
	}
	return tree
}

const example = "\uFEFF# the van\r\n" +
	"name: 'it''s \"é\" van'   # its name\r\n" +
	"engine:\r\n" +
	"  # the block\r\n" +
	"  bore: 86 mm ± 0.1 mm  # measured\r\n" +
	"  notes: |\r\n" +
	"    line one\r\n" +
	"    line two\r\n" +
	"wires:\r\n" +
	"- {size: 2.5 mm², \"to\": [a, b c]}\r\n" +
	"-\r\n" +
	"  size: \"a\\tb\"\r\n" +
	"long: one\r\n" +
	"  two\r\n" +
	"none:"

func TestExtents(t *testing.T) {
	tree := mustParse(t, example)
	tests := []struct {
		path, text, raw string
		kind            buildfile.Kind
		style           buildfile.Style
		pos, keyPos     string
	}{
		{"name", "it's \"é\" van", "'it''s \"é\" van'", buildfile.Scalar, buildfile.SingleQuoted, "2:7", "2:1"},
		{"engine/bore", "86 mm ± 0.1 mm", "86 mm ± 0.1 mm", buildfile.Scalar, buildfile.Plain, "5:9", "5:3"},
		{"engine/notes", "line one\nline two\n", "|\r\n    line one\r\n    line two", buildfile.Scalar, buildfile.TextBlock, "6:10", "6:3"},
		{"wires", "", "- {size: 2.5 mm², \"to\": [a, b c]}\r\n-\r\n  size: \"a\\tb\"", buildfile.List, buildfile.Plain, "10:1", "9:1"},
		{"wires/0", "", "{size: 2.5 mm², \"to\": [a, b c]}", buildfile.Map, buildfile.Flow, "10:3", ""},
		{"wires/0/size", "2.5 mm²", "2.5 mm²", buildfile.Scalar, buildfile.Plain, "10:10", "10:4"},
		{"wires/0/to", "", "[a, b c]", buildfile.List, buildfile.Flow, "10:25", "10:19"},
		{"wires/0/to/1", "b c", "b c", buildfile.Scalar, buildfile.Plain, "10:29", ""},
		{"wires/1", "", "size: \"a\\tb\"", buildfile.Map, buildfile.Plain, "12:3", ""},
		{"wires/1/size", "a\tb", "\"a\\tb\"", buildfile.Scalar, buildfile.DoubleQuoted, "12:9", "12:3"},
		{"long", "one two", "one\r\n  two", buildfile.Scalar, buildfile.Plain, "13:7", "13:1"},
		{"none", "", "", buildfile.Scalar, buildfile.Plain, "15:6", "15:1"},
	}
	for _, tt := range tests {
		t.Run(tt.path, func(t *testing.T) {
			path := strings.Split(tt.path, "/")
			n := tree.Find(path...)
			if n == nil {
				t.Fatal("not found")
			}
			if got := strings.Join(n.Path(), "/"); got != tt.path {
				t.Errorf("path %q", got)
			}
			if n.Kind != tt.kind || n.Style != tt.style || n.Text != tt.text {
				t.Errorf("got kind %v, style %v, text %q", n.Kind, n.Style, n.Text)
			}
			if got := string(tree.Src[n.Start:n.End]); got != tt.raw {
				t.Errorf("extent %q, want %q", got, tt.raw)
			}
			if got := fmt.Sprintf("%d:%d", n.Pos.Line, n.Pos.Col); got != tt.pos {
				t.Errorf("place %s, want %s", got, tt.pos)
			}
			if got := fmt.Sprintf("%d:%d", n.KeyPos.Line, n.KeyPos.Col); tt.keyPos != "" && got != tt.keyPos {
				t.Errorf("place of key %s, want %s", got, tt.keyPos)
			}
		})
	}
}

func TestNearest(t *testing.T) {
	tree := mustParse(t, example)
	for path, want := range map[string]string{
		"engine/stroke":   "engine",
		"engine/bore/x":   "engine/bore",
		"gearbox/ratio":   "",
		"wires/7/size":    "wires",
		"wires/0/to/1":    "wires/0/to/1",
		"wires/00":        "wires",
		"wires/-1":        "wires",
		"wires/1/size":    "wires/1/size",
		"none/and/deeper": "none",
	} {
		if got := strings.Join(tree.Nearest(strings.Split(path, "/")...).Path(), "/"); got != want {
			t.Errorf("nearest to %s is %q, want %q", path, got, want)
		}
	}
	if tree.Find("engine", "stroke") != nil || tree.Find("wires", "x") != nil || tree.Find("name", "0") != nil {
		t.Error("found what is not written")
	}
	if tree.Find() != tree.Root {
		t.Error("the empty path is not the root")
	}
}

func TestAt(t *testing.T) {
	tests := []struct {
		name, src   string
		offset, len int
		want        string // line:col+len
	}{
		{"plain", "a: 12 Ω ± x", 8, 1, "1:12+1"},
		{"plain, all", "a: 12 Ω", 0, 4, "1:4+4"},
		{"behind the end", "a: 12", 2, 1, "1:6+1"},
		{"far behind the end", "a: 12", 9, 1, "1:4+2"},
		{"single quotes", "a: 'it''s x'", 5, 1, "1:11+1"},
		{"doubled quote", "a: 'it''s x'", 2, 2, "1:7+3"},
		{"escapes", `a: "\t\x41\u00e9\\ x"`, 5, 1, "1:20+1"},
		{"folded plain", "a: one\n  two", 4, 3, "2:3+3"},
		{"folded quoted", "a: \"one\n\n  two\"", 4, 3, "3:3+3"},
		{"escaped line end", "a: \"one \\\n  two\"", 4, 3, "2:3+3"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := mustParse(t, tt.src).Find("a").At(tt.offset, tt.len)
			if got := fmt.Sprintf("%d:%d+%d", p.Line, p.Col, p.Len); got != tt.want {
				t.Errorf("got %s, want %s", got, tt.want)
			}
		})
	}
}

func TestLimits(t *testing.T) {
	nested := func(n int) string { return "a: " + strings.Repeat("[", n) + strings.Repeat("]", n) }
	tests := []struct {
		name, src, want string
	}{
		{"32 deep", nested(31), ""},
		{"33 deep", nested(32), "f:1:35: error: nested 33 deep, at most 32 are allowed [too-deep]"},
		{"a thousand deep", nested(1000), "f:1:260: error: nested more than 256 deep, at most 32 are allowed [too-deep]"},
		{"unclosed, a million deep", strings.Repeat("[", 1e6), "f:1:257: error: nested more than 256 deep, at most 32 are allowed [too-deep]"},
		{"blocks", strings.Repeat("- ", 40) + "x", "f:1:65: error: nested 33 deep, at most 32 are allowed [too-deep]"},
		{"4 MiB", "a: " + strings.Repeat("x", buildfile.MaxBytes-3), ""},
		{"over 4 MiB", "a: " + strings.Repeat("x", buildfile.MaxBytes-2), "f:1:1: error: the file has 4.0 MiB, at most 4 MiB are read [too-large]"},
		{"mark in the middle", "a: x\uFEFF", "f:1:5: error: invisible character U+FEFF [not-plain-text]"},
		{"zero byte", "a: x\nb: \x00", "f:2:4: error: invisible character U+0000 [not-plain-text]"},
		{"half a character", "a: \xe2\x82", "f:1:4: error: byte 0xE2 is not UTF-8 text [not-plain-text]"},
		{"16-bit text", "\xff\xfea\x00", "f:1:1: error: byte 0xFF is not UTF-8 text [not-plain-text]"},
		{"replacement character is text", "a: \uFFFD", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tree, ds := buildfile.Parse("f", []byte(tt.src))
			var got []string
			for _, d := range ds {
				got = append(got, d.String())
			}
			if s := strings.Join(got, "\n"); s != tt.want {
				t.Errorf("got %s\nwant %s", s, tt.want)
			}
			if tt.want == "" && tree.Root == nil {
				t.Error("no tree and no message")
			}
		})
	}
}

func TestDuplicateShowsBothPlaces(t *testing.T) {
	_, ds := buildfile.Parse("f", []byte("a: 1\nb: 2\na: 3\n"))
	if len(ds) != 1 || len(ds[0].Related) != 1 || ds[0].Related[0].Pos.Line != 1 || ds[0].Pos.Line != 3 {
		t.Errorf("got %+v", ds)
	}
}

// seeds are the texts that fuzzing starts from: every bad file and the example.
func seeds(f *testing.F) [][]byte {
	out := [][]byte{[]byte(example), []byte("{a: 1, b: [x, {c: d}]}"), []byte("- a: 1\n  b: |+\n    x\n\n- - y\n")}
	files, err := filepath.Glob("testdata/bad/*.yaml")
	if err != nil || len(files) == 0 {
		f.Fatalf("no bad files: %v", err)
	}
	for _, name := range files {
		src, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		out = append(out, src)
	}
	return out
}

// FuzzParse holds that reading and decoding never panic, that every message has
// a place within the text, and that the extents of values are true.
func FuzzParse(f *testing.F) {
	for _, s := range seeds(f) {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		tree, ds := buildfile.Parse("f", src)
		if tree.Root == nil && len(ds) == 0 {
			t.Fatal("no tree and no message")
		}
		_, ds = read("f", src)
		lines := bytes.Split(src, []byte("\n"))
		for _, d := range ds {
			if d.Pos.Line < 1 || d.Pos.Line > len(lines) || d.Pos.Col < 1 || d.Pos.Col > len(lines[d.Pos.Line-1])+1 {
				t.Errorf("place out of the text: %v", d)
			}
			if d.Msg.String() == "" || d.Rule == "" || d.Hint.String() == "" && d.Rule != buildfile.RuleQuantity {
				t.Errorf("message, rule or hint is missing: %v", d)
			}
		}
		if tree.Root == nil || len(ds) > 0 {
			return
		}
		walk(tree.Root, func(n *buildfile.Node) {
			if n.Start < 0 || n.End < n.Start || n.End > len(src) {
				t.Fatalf("extent %d to %d of %v", n.Start, n.End, n.Path())
			}
			if n.Parent != nil && (n.Start < n.Parent.Start || n.End > n.Parent.End) {
				t.Errorf("%v reaches beyond its parent", n.Path())
			}
			if tree.Find(n.Path()...) != n {
				t.Errorf("%v is not found by its path", n.Path())
			}
		})
	})
}
