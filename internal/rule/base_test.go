package rule_test

import (
	"context"
	"maps"
	"strings"
	"sync"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/demo"
	"fettle/internal/run"
)

// camper is the demo as it is written, with its five mistakes.
func camper(tb testing.TB) run.Input {
	tb.Helper()
	files, err := demo.Files("camper")
	if err != nil {
		tb.Fatal(err)
	}
	in := run.Input{File: "build.yaml", Src: files["build.yaml"], Parts: map[string][]byte{}}
	for name, text := range files {
		if strings.HasPrefix(name, "parts/") {
			in.Parts[name] = text
		}
	}
	return in
}

// mends are the demo's five mistakes with what mends each. Wants is the rule
// that finds it.
var mends = []struct {
	wants string
	edit  buildfile.Edit
}{
	{"wire-drop", buildfile.Edit{Path: []string{"loom", "wires", "fuel pump 1", "size"}, Text: "2.5 mm²"}},
	{"sensor-ground", buildfile.Edit{Path: []string{"loom", "grounds", "sensor", "joins"}, Text: "controller"}},
	{"charge-balance", buildfile.Edit{Path: []string{"devices", "alternator", "part"}, Text: "alternator 120 A"}},
	{"relay-overload", buildfile.Edit{Path: []string{"loom", "feeds", "fans", "relay"}, Text: "fans"}},
	{"supply-cranking", buildfile.Edit{Path: []string{"loom", "feeds", "switched", "from"}, Text: "15"}},
}

// base is the demo with everything mended: the vehicle that rules show their
// examples on.
func base(tb testing.TB) run.Input {
	tb.Helper()
	in := camper(tb)
	for _, m := range mends {
		in = edited(tb, in, m.edit)
	}
	return in
}

// edited returns the vehicle with edits of its file.
func edited(tb testing.TB, in run.Input, edits ...buildfile.Edit) run.Input {
	tb.Helper()
	tree, ds := buildfile.Parse(in.File, in.Src)
	for _, d := range ds {
		tb.Fatal(d)
	}
	next, err := buildfile.Apply(tree, edits...)
	if err != nil {
		tb.Fatal(err)
	}
	in.Src = next.Src
	return in
}

// cache is shared: all the vehicles here have the one engine.
var cache = sync.OnceValues(run.NewCache)

func solve(tb testing.TB, in run.Input) *run.Result {
	tb.Helper()
	c, err := cache()
	if err != nil {
		tb.Fatal(err)
	}
	r, err := run.Nominal(context.Background(), in, c)
	if err != nil {
		tb.Fatal(err)
	}
	for _, d := range r.Errors {
		tb.Errorf("the file does not read: %v", d)
	}
	if !r.OK() {
		tb.FailNow()
	}
	return r
}

// with returns the vehicle with parts of an example's own.
func with(in run.Input, parts map[string]string) run.Input {
	own := maps.Clone(in.Parts)
	for name, text := range parts {
		own[name] = []byte(text)
	}
	in.Parts = own
	return in
}
