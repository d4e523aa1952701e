package buildfile_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"fettle/internal/buildfile"
)

// TestHostileFiles holds that large files of awkward shapes are read in a time
// that grows with their size and not its square.
func TestHostileFiles(t *testing.T) {
	const size = buildfile.MaxBytes / 8
	var keys, flowKeys strings.Builder
	for i := 0; keys.Len() < size-20; i++ {
		fmt.Fprintf(&keys, "k%d: 1\n", i)
	}
	flowKeys.WriteString("{")
	for i := 0; flowKeys.Len() < size-20; i++ {
		fmt.Fprintf(&flowKeys, "é%d: , ", i)
	}
	flowKeys.WriteString("}")
	fill := func(s string) string { return strings.Repeat(s, size/len(s)) }
	tests := map[string]string{
		"keys":       keys.String(),
		"flow keys":  flowKeys.String(),
		"list":       fill("- a\n"),
		"flow list":  "[" + fill("a,") + "]",
		"texts":      fill("- |\n a\n"),
		"comments":   "a: 1\n" + fill("#\n"),
		"blanks":     "a: 1" + fill("\n"),
		"folded":     "a: x" + fill("\n  y"),
		"duplicates": fill("a: 1\n"),
		"one text":   "a: |\n" + fill(" \n"),
		"quotes":     "a: '" + fill("''") + "'",
		"unclosed":   "a: \"" + fill("x "),
	}
	for name, src := range tests {
		t.Run(name, func(t *testing.T) {
			start := time.Now()
			tree, ds := buildfile.Parse("f", []byte(src))
			took := time.Since(start)
			if took > 20*time.Second { // linear: a second; the square of 100 000 items: minutes
				t.Errorf("took %v", took)
			}
			t.Logf("%d bytes, %v, tree %v, %d messages", len(src), took, tree.Root != nil, len(ds))
		})
	}
}

// vehicle is a file of the size of a real one: 100 devices, 150 wires.
func vehicle() string {
	var b strings.Builder
	b.WriteString("# a made-up vehicle\nname: van\nengine:\n  bore: 86 mm ± 0.1 mm  # measured\n  rail pressure: 3 bar\nrelays:\n")
	for i := range 100 {
		fmt.Fprintf(&b, "  # device %d\n  relay %d:\n    coil: {value: 85 Ω ± 5 %%, source: common practice, batch: relays}\n    feed: relay %d\n", i, i, (i+1)%100)
	}
	b.WriteString("wires:\n")
	for i := range 150 {
		fmt.Fprintf(&b, "  - size: 2.5 mm²   # wire %d\n    ends: [relay %d, relay %d]\n", i, i%100, (i*7)%100)
	}
	return b.String()
}

func BenchmarkParse(b *testing.B) {
	src := []byte(vehicle())
	b.SetBytes(int64(len(src)))
	for b.Loop() {
		if tree, ds := buildfile.Parse("f", src); tree.Root == nil || len(ds) > 0 {
			b.Fatal(ds)
		}
	}
}

func BenchmarkParseAndDecode(b *testing.B) {
	src := []byte(vehicle())
	for b.Loop() {
		if _, ds := read("f", src); len(ds) > 0 {
			b.Fatal(ds)
		}
	}
}

func BenchmarkApply(b *testing.B) {
	tree, ds := buildfile.Parse("f", []byte(vehicle()))
	if len(ds) > 0 {
		b.Fatal(ds)
	}
	for b.Loop() {
		if _, err := buildfile.Apply(tree, buildfile.Edit{Path: []string{"wires", "70", "size"}, Text: "4 mm²"}); err != nil {
			b.Fatal(err)
		}
	}
}
