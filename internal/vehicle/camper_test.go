package vehicle

import (
	"strings"
	"sync"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/demo"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/loom"
)

var items = sync.OnceValues(catalogue.Open)

// engines are kept, since all the vehicles here have the same.
var engines Engines

// mended are the edits that end the camper's five mistakes.
var mended = []buildfile.Edit{
	{Path: []string{"loom", "wires", "fuel pump 1", "size"}, Text: "2.5 mm²"},
	{Path: []string{"loom", "grounds", "sensor", "joins"}, Text: "controller"},
	{Path: []string{"devices", "alternator", "part"}, Text: "alternator 120 A"},
	{Path: []string{"loom", "feeds", "fans", "relay"}, Text: "fans"},
	{Path: []string{"loom", "feeds", "switched", "from"}, Text: "15"},
}

// camper compiles the demo with edits.
func camper(tb testing.TB, edits ...buildfile.Edit) *Vehicle {
	tb.Helper()
	files, err := demo.Files("camper")
	if err != nil {
		tb.Fatal(err)
	}
	return compile(tb, string(files["build.yaml"]), edits...)
}

func compile(tb testing.TB, src string, edits ...buildfile.Edit) *Vehicle {
	tb.Helper()
	cat, err := items()
	if err != nil {
		tb.Fatal(err)
	}
	parts := map[string][]byte{}
	for _, of := range demo.Names() {
		files, err := demo.Files(of)
		if err != nil {
			tb.Fatal(err)
		}
		for name, text := range files {
			if strings.HasPrefix(name, "parts/") {
				parts[name] = text
			}
		}
	}
	own, ds := cat.With(parts)
	tree, more := buildfile.Parse("build.yaml", []byte(src))
	none(tb, append(ds, more...))
	if tree, err = buildfile.Apply(tree, edits...); err != nil {
		tb.Fatal(err)
	}
	d, ds := design.FromTree(tree, own)
	none(tb, ds)
	l, ds := loom.Plan(d)
	none(tb, ds)
	v, err := New(tb.Context(), d, l, &engines)
	if err != nil {
		tb.Fatal(err)
	}
	return v
}

func none(tb testing.TB, ds []diag.Diagnostic) {
	tb.Helper()
	for _, d := range ds {
		tb.Fatal(d)
	}
}

// solved solves a vehicle; every state must settle.
func solved(tb testing.TB, v *Vehicle) *Result {
	tb.Helper()
	r, err := v.Solve(figure.NewLedger())
	if err != nil {
		tb.Fatal(err)
	}
	for _, s := range r.States {
		if !s.Ended.OK {
			tb.Fatalf("%s: %s", s.Name, s.Ended.Why)
		}
	}
	return r
}
