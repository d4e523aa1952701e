package report

import (
	"fmt"
	"strings"

	"fettle/internal/figure"
	"fettle/internal/paper"
	"fettle/internal/quantity"
)

func (b *book) values() {
	d := b.doc
	d.Sheet("Assumed values")
	d.Verdict(paper.Run{Text: b.assumedCount()})
	d.Lede("What the build file left out was filled in from the usual, and stands in brackets wherever it is shown. What stands behind ± holds 95 times in 100. Measure what a margin leans on and write it into the file.")
	t := paper.Table{Cols: []paper.Col{{Head: "What"}, {Head: "Value", Right: true}, {Head: "Source"}}, Empty: "Nothing was assumed: the build file states every value."}
	for _, in := range b.assumed {
		t.Rows = append(t.Rows, paper.Row(words(in.ID), bracketed(in), in.Source))
	}
	d.Table(t)
	b.modelValues()
	if n := b.recalled(); n > 0 {
		d.Note(fmt.Sprintf("Besides these, %s of parts are recalled from memory, as their sources say; each carries a spread for it.", count(n, "value")))
	}
}

func (b *book) assumedCount() string {
	switch n := len(b.assumed); n {
	case 0:
		return "No value is assumed"
	case 1:
		return "1 value is assumed"
	default:
		return fmt.Sprintf("%d values are assumed", n)
	}
}

// words reads an ID as the path in the file: "build/engine/rod" is "engine, rod".
func words(id figure.ID) string {
	section, key, _ := strings.Cut(strings.TrimPrefix(string(id), "build/"), "/")
	key = strings.TrimPrefix(key, section+"/")
	if key == "" {
		return section
	}
	return section + ", " + key
}

// modelValues lists the figures that belong to the models and no part.
func (b *book) modelValues() {
	t := paper.Table{Cols: []paper.Col{{Head: "What"}, {Head: "Value", Right: true}, {Head: "Source"}}}
	for _, f := range b.Solved.Ledger.All() {
		name, ok := strings.CutPrefix(string(f.ID), "model/")
		if !ok || f.Leaf == nil {
			continue
		}
		t.Rows = append(t.Rows, paper.Row(name, quantity.FormatSpread(f.Leaf.SI, f.Leaf.SdSI, f.Leaf.Unit), f.Leaf.Source))
	}
	if len(t.Rows) == 0 {
		return
	}
	b.doc.Heading("Figures of the models")
	b.doc.Note("They belong to no part and no line of the file.")
	b.doc.Table(t)
}

// recalled counts the parts' values that rest on memory.
func (b *book) recalled() int {
	n := 0
	for _, in := range b.Design.Inputs {
		if !in.Assumed() && strings.Contains(in.Source, "from memory") {
			n++
		}
	}
	return n
}
