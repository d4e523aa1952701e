package buildfile_test

import (
	"bytes"
	"strings"
	"testing"

	"fettle/internal/buildfile"
)

func path(s string) []string { return strings.Split(s, "/") }

func TestApply(t *testing.T) {
	const camper = `# the van
name: van   # white

engine:
    bore: 86 mm    # measured
    # stroke unknown
    rail: {pressure: 3 bar, return: no}  # flow

# wiring
wires:
  - size: 2.5 mm²  # thick
    ends: [a, b]
  # a spare
  - size: 1 mm²
`
	tests := []struct {
		name, src, path, text string
		del                   bool
		old, new              string // what changes in src
	}{
		{"scalar", camper, "engine/bore", "87 mm ± 0.1 mm", false, "86 mm ", "87 mm ± 0.1 mm "},
		{"in flow", camper, "engine/rail/pressure", "43.5 psi", false, "3 bar", "43.5 psi"},
		{"in flow, needs quotes", camper, "engine/rail/pressure", "a, b", false, "3 bar", "'a, b'"},
		{"list item", camper, "wires/0/ends/1", "c", false, ", b]", ", c]"},
		{"colon", camper, "name", "van: white", false, "name: van ", "name: 'van: white' "},
		{"comment sign", camper, "name", "van # 2", false, "name: van ", "name: 'van # 2' "},
		{"quote", camper, "name", "'van'", false, "name: van ", "name: '''van''' "},
		{"two lines", camper, "name", "van\n\"white\"", false, "name: van ", `name: "van\n\"white\"" `},
		{"control character", camper, "name", "a\x01b", false, "name: van ", `name: "a\x01b" `},
		{"nothing", camper, "name", "", false, "name: van ", "name: '' "},
		{"null is text", camper, "name", "null", false, "name: van ", "name: 'null' "},
		{"tilde is text", camper, "name", "~", false, "name: van ", "name: '~' "},
		{"yes stays plain", camper, "engine/rail/return", "yes", false, "return: no", "return: yes"},
		{"spaces around", camper, "name", " van ", false, "name: van ", "name: ' van ' "},
		{"looks like a list", camper, "name", "- van", false, "name: van ", "name: '- van' "},
		{"looks like a block", camper, "name", "|", false, "name: van ", "name: '|' "},
		{"looks like a mark", camper, "name", "&van", false, "name: van ", "name: '&van' "},
		{"looks like a reference", camper, "name", "*van", false, "name: van ", "name: '*van' "},
		{"looks like a tag", camper, "name", "!van", false, "name: van ", "name: '!van' "},
		{"looks like flow", camper, "name", "{van}", false, "name: van ", "name: '{van}' "},
		{"keeps single quotes", "a: 'x'\n", "a", "it's", false, "'x'", "'it''s'"},
		{"keeps double quotes", "a: \"x\"\n", "a", "y", false, "\"x\"", "\"y\""},
		{"folded", "a: x\n  y # no\nb: 1\n", "a", "z", false, "x\n  y", "z"},
		{"null word", "a: ~ # none\n", "a", "z", false, "~", "z"},
		{"open null", "a: # none\nb: 1\n", "a", "z", false, "a:", "a: z"},
		{"open null at the end", "b: 1\na:", "a", "z", false, "a:", "a: z"},
		{"begins a list", "a:\n  b: 1\n", "a/c/0", "z", false, "b: 1\n", "b: 1\n  c:\n    - z\n"},
		{"begins a list of mappings", "a:\n  b: 1\n", "a/c/0/d/e", "z", false, "b: 1\n", "b: 1\n  c:\n    - d:\n        e: z\n"},
		{"begins a list in flow", "a: {b: 1}\n", "a/c/0/d", "z", false, "b: 1}", "b: 1, c: [{d: z}]}"},
		{"begins a list at an open null", "a:\nb: 1\n", "a/0", "z", false, "a:", "a:\n  - z"},
		{"a key 0 of a mapping", "a:\n  b: 1\n", "a/0", "z", false, "b: 1\n", "b: 1\n  0: z\n"},
		{"null item", "a:\n  -\n", "a/0", "z", false, "-", "- z"},
		{"byte order mark", "\uFEFFa: é\n", "a", "ß", false, "é", "ß"},
		{"no final newline", "a: 1", "a", "2", false, "1", "2"},
		{"quantity as mapping", "a: {value: 1 V, source: x}\n", "a", "2 V", false, "1 V", "2 V"},
		{"quantity as mapping, no value yet", "a:\n  value:\n  source: x\n", "a", "2 V", false, "value:", "value: 2 V"},

		{"new key", camper, "engine/stroke", "90 mm", false, "# flow\n", "# flow\n    stroke: 90 mm\n"},
		{"new root key", camper, "fuel", "petrol", false, "1 mm²\n", "1 mm²\nfuel: petrol\n"},
		{"new keys between", camper, "gearbox/first/ratio", "2.5", false, "1 mm²\n", "1 mm²\ngearbox:\n    first:\n        ratio: 2.5\n"},
		{"new key in flow", camper, "engine/rail/hot", "yes", false, "no}", "no, hot: yes}"},
		{"new keys in flow", camper, "engine/rail/hot/soak", "1 min", false, "no}", "no, hot: {soak: 1 min}}"},
		{"new key in a list item", camper, "wires/0/colour", "RD", false, "[a, b]\n  # a spare\n", "[a, b]\n    colour: RD\n  # a spare\n"},
		{"new item", camper, "wires/2/size", "4 mm²", false, "1 mm²\n", "1 mm²\n  - size: 4 mm²\n"},
		{"new item with keys between", camper, "wires/2/screen/at", "ecu", false, "1 mm²\n", "1 mm²\n  - screen:\n        at: ecu\n"},
		{"new item in flow", camper, "wires/0/ends/2", "c", false, "b]", "b, c]"},
		{"new mapping item in flow", camper, "wires/0/ends/2/x/y", "c", false, "b]", "b, {x: {y: c}}]"},
		{"new scalar item", "a:\n- x\n- y\nb: 1\n", "a/2", "z: 1", false, "- y\n", "- y\n- 'z: 1'\n"},
		{"key in quotes", "a: 1\n", "b: c", "2", false, "1\n", "1\n\"b: c\": 2\n"},
		{"behind comment lines", "a:\n  b: 1\n  # about b\n   # more\n# next\nc: 1\n", "a/x", "2", false, "# more\n", "# more\n  x: 2\n"},
		{"behind a comment at the end", "a: 1\n# end", "b", "2", false, "# end", "# end\nb: 2"},
		{"into no value", "a: # yet\nb: 1\n", "a/x/y", "2", false, "# yet\n", "# yet\n  x:\n    y: 2\n"},
		{"into a null word", "a: null # yet\n", "a/x/y", "2", false, "null", "{x: {y: 2}}"},
		{"into an empty mapping", "a: {}\n", "a/x", "2", false, "{}", "{x: 2}"},
		{"into an empty list", "a: []\n", "a/0", "2", false, "[]", "[2]"},
		{"into an empty list, mapping", "a: []\n", "a/0/b", "2", false, "[]", "[{b: 2}]"},
		{"into no value of an item", "a:\n  -\n", "a/0/b", "2", false, "-\n", "-\n    b: 2\n"},
		{"into no value in flow", "{a: , b: 1}\n", "a/x", "2", false, "a: ,", "a: {x: 2} ,"},
		{"behind a trailing comma", "a: {\n  b: 1, # one\n}\n", "a/c", "2", false, "b: 1, #", "b: 1, c: 2, #"},
		{"behind a text block", "a:\n  b: |\n    x\n\nc: 1\n", "a/d", "2", false, "x\n", "x\n  d: 2\n"},
		{"behind a text block without final newline", "a: |\n  x", "b", "2", false, "x", "x\nb: 2"},
		{"behind a stripped text block", "a: |-\n  x", "b", "2", false, "x", "x\nb: 2"},
		{"behind a kept text block", "a: |+\n  x\n\n", "b", "2", false, "x\n", "x\n\nb: 2"},
		{"line ends", "a:\r\n  b: 1\r\nc: 2\r\n", "a/d/e", "3", false, "1\r\n", "1\r\n  d:\r\n    e: 3\r\n"},
		{"line ends, no final one", "a: 1\r\nb: 2", "c", "3", false, "2", "2\r\nc: 3"},
		{"list at the indent of its key", "a:\n- x\n- y\n", "b", "1", false, "- y\n", "- y\nb: 1\n"},

		{"delete", camper, "engine/bore", "", true, "    bore: 86 mm    # measured\n", ""},
		{"delete in flow, first", camper, "engine/rail/pressure", "", true, "pressure: 3 bar, ", ""},
		{"delete in flow, last", camper, "engine/rail/return", "", true, ", return: no", ""},
		{"delete a mapping", camper, "engine", "", true, camper[strings.Index(camper, "engine:"):strings.Index(camper, "\n# wiring")], ""},
		{"delete the last key", camper, "wires", "", true, camper[strings.Index(camper, "wires:"):], ""},
		{"delete an item", camper, "wires/1", "", true, "  - size: 1 mm²\n", ""},
		{"delete a flow item", camper, "wires/0/ends/0", "", true, "a, ", ""},
		{"delete the first key of an item", camper, "wires/0/size", "", true, "size: 2.5 mm²  # thick\n    ", ""},
		{"delete the only key of an item", camper, "wires/1/size", "", true, "- size: 1 mm²", "- {}"},
		{"delete the only key", "a: # one\n  # two\n  b: 1\nc: 2\n", "a/b", "", true, "a: # one\n  # two\n  b: 1\n", "a: {} # one\n  # two\n"},
		{"delete the only item", "a:\n- b\nc: 2\n", "a/0", "", true, "a:\n- b\n", "a: []\n"},
		{"delete the only flow key", "a: {b: 1}\n", "a/b", "", true, "b: 1", ""},
		{"delete a text block", "a: 1\nb: |\n  x\n  y\nc: 2\n", "b", "", true, "b: |\n  x\n  y\n", ""},
		{"delete a line of flow", "a: {\n  b: 1, # one\n  c: 2 # two\n}\n", "a/b", "", true, "  b: 1, # one\n", ""},
		{"delete the last line of flow", "a: {\n  b: 1, # one\n  c: 2 # two\n}\n", "a/c", "", true, ", # one\n  c: 2 # two\n", " # one\n"},
		{"delete without final newline", "a: 1\nb: 2", "b", "", true, "\nb: 2", ""},
		{"delete without final newline, CRLF", "a: 1\r\nb: 2", "b", "", true, "\r\nb: 2", ""},
		{"delete, CRLF", "a: 1\r\nb: 2\r\nc: 3\r\n", "b", "", true, "b: 2\r\n", ""},
		{"delete the first item of a list of lists", "- - a\n  - b\n- c\n", "0/0", "", true, "- - a\n  - b", "- - b"},
		{"delete an item written below its dash", "a:\n  - b\n  -\n    c: 1\n  - d\n", "a/1", "", true, "  -\n    c: 1\n", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if strings.Count(tt.src, tt.old) != 1 {
				t.Fatalf("%q stands %d times in the text", tt.old, strings.Count(tt.src, tt.old))
			}
			tree := mustParse(t, tt.src)
			got, err := buildfile.Apply(tree, buildfile.Edit{Path: path(tt.path), Text: tt.text, Delete: tt.del})
			if err != nil {
				t.Fatal(err)
			}
			if want := strings.Replace(tt.src, tt.old, tt.new, 1); string(got.Src) != want {
				t.Errorf("got:\n%s\nwant:\n%s", got.Src, want)
			}
			if string(tree.Src) != tt.src {
				t.Error("the tree given was changed")
			}
			if n := got.Find(path(tt.path)...); !tt.del && n.Kind == buildfile.Scalar && n.Text != tt.text {
				t.Errorf("reads %q", n.Text)
			}
		})
	}
}

func TestApplyRefuses(t *testing.T) {
	tests := []struct {
		name, src, path, text string
		del                   bool
		want                  string // end of the error
	}{
		{"text block", "a: 1\nb: |\n  x\n", "b", "y", false, "a text of several lines is written there (line 2); change it in an editor"},
		{"mapping", "a: {b: 1}\n", "a", "y", false, "a mapping is written there; change one of its parts"},
		{"list", "a: [1]\n", "a", "y", false, "a list is written there; change one of its parts"},
		{"through a scalar", "a: 1\n", "a/b", "y", false, `"a" holds the value "1" and can have no parts; take the value away first`},
		{"index too far", "a: [1]\n", "a/2", "y", false, `the list has 1 items and no item "2"; the next is 1`},
		{"index is a word", "a: [1]\n", "a/x", "y", false, `the list has 1 items and no item "x"; the next is 1`},
		{"delete nothing", "a: 1\n", "b", "", true, "nothing is written there"},
		{"delete everything", "a: 1\n", "a", "", true, "it is the last thing in the file, which must not be empty"},
		{"empty key", "a: 1\n", "b/", "1", false, "a key is empty"},
		{"duplicate", "a: 1\na: 2\n", "a", "3", false, "line 1 of the file has an error; mend it first"},
		{"anchor", "a: &x 1\nb: 2\n", "a", "3", false, "line 1 of the file has an error; mend it first"},
		{"reference below", "a:\n  <<: {c: 1}\n  b: 2\n", "a/b", "3", false, "line 1 of the file has an error; mend it first"},
		{"unreadable", "a: [\n", "a", "3", false, "the file can't be read; mend it in an editor first"},
		{"not text", "a: 1\n", "a", "\xff", false, "the change can't be written here without changing more than it should; make it in an editor"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tree, _ := buildfile.Parse("build.yaml", []byte(tt.src))
			got, err := buildfile.Apply(tree, buildfile.Edit{Path: path(tt.path), Text: tt.text, Delete: tt.del})
			if err == nil || got != nil {
				t.Fatalf("got %v, error %v", got, err)
			}
			want := "edit " + strings.Join(path(tt.path), ".") + " of build.yaml: " + tt.want
			if err.Error() != want {
				t.Errorf("got  %s\nwant %s", err, want)
			}
			if string(tree.Src) != tt.src {
				t.Error("the tree given was changed")
			}
		})
	}
	if _, err := buildfile.Apply(mustParse(t, "a: 1\n"), buildfile.Edit{Text: "x"}); err == nil {
		t.Error("an edit without a path passed")
	}
}

// TestApplyManyOrNone holds that edits are made in turn, and all or none.
func TestApplyManyOrNone(t *testing.T) {
	tree := mustParse(t, "a: 1 # one\n")
	got, err := buildfile.Apply(tree,
		buildfile.Edit{Path: path("b/c"), Text: "2"},
		buildfile.Edit{Path: path("b/d"), Text: "3"},
		buildfile.Edit{Path: path("a"), Text: "4"},
		buildfile.Edit{Path: path("b/c"), Delete: true})
	if err != nil || string(got.Src) != "a: 4 # one\nb:\n  d: 3\n" {
		t.Errorf("got %v, %s", err, got.Src)
	}
	got, err = buildfile.Apply(tree, buildfile.Edit{Path: path("a"), Text: "4"}, buildfile.Edit{Path: path("a/b"), Text: "5"})
	if err == nil || got != nil || !bytes.Equal(tree.Src, []byte("a: 1 # one\n")) {
		t.Errorf("got %v, %v", got, err)
	}
}

// TestApplyBesideErrors holds that one error in a file does not bar edits elsewhere.
func TestApplyBesideErrors(t *testing.T) {
	tree, ds := buildfile.Parse("f", []byte("a: 1\nb: &x y\nc: 2\nc: 3\n"))
	if len(ds) != 2 {
		t.Fatal(ds)
	}
	got, err := buildfile.Apply(tree, buildfile.Edit{Path: path("a"), Text: "9"})
	if err != nil || string(got.Src) != "a: 9\nb: &x y\nc: 2\nc: 3\n" {
		t.Errorf("got %v, %v", got, err)
	}
}
