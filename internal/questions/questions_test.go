package questions_test

import (
	"context"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/questions"
	"fettle/internal/run"
)

func solve(t rapid.TB, c *run.Cache, src []byte) *run.Result {
	r, err := run.Nominal(context.Background(), run.Input{File: "build.yaml", Src: src}, c)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func messages(ds []diag.Diagnostic) string {
	var out []string
	for _, d := range ds {
		out = append(out, d.String())
	}
	return strings.Join(out, "\n")
}

// TestUntouchedSheet holds that a sheet nobody has touched makes a vehicle that
// reads, solves and has nothing in the way.
func TestUntouchedSheet(t *testing.T) {
	cat, err := catalogue.Open()
	if err != nil {
		t.Fatal(err)
	}
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	r := solve(t, c, questions.Defaults(questions.Sheet(cat)).Build(cat))
	if !r.OK() {
		t.Fatal(messages(r.Errors))
	}
	for _, f := range r.Findings {
		if f.Severity >= diag.Fix {
			t.Errorf("%v", f.Diagnostic)
		}
	}
	for _, s := range r.Solved.States {
		if !s.Ended.OK {
			t.Errorf("%s: %s", s.Name, s.Ended.Why)
		}
	}
}

// TestAnyChoice draws choices for every question that has some: whatever is
// chosen makes a file that reads, and a vehicle that can be looked at.
func TestAnyChoice(t *testing.T) {
	cat, err := catalogue.Open()
	if err != nil {
		t.Fatal(err)
	}
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	sheet := questions.Sheet(cat)
	rapid.Check(t, func(t *rapid.T) {
		a := questions.Defaults(sheet)
		for _, q := range sheet {
			if len(q.Words) > 0 {
				a[q.Key] = rapid.SampledFrom(q.Words).Draw(t, q.Key)
			}
		}
		if err := a.Known(sheet); err != nil {
			t.Fatal(err)
		}
		if r := solve(t, c, a.Build(cat)); !r.OK() {
			t.Fatal(messages(r.Errors))
		}
	})
}

// TestAnswersAreQuoted holds that no answer can break out of its line.
func TestAnswersAreQuoted(t *testing.T) {
	cat, err := catalogue.Open()
	if err != nil {
		t.Fatal(err)
	}
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	a := questions.Defaults(questions.Sheet(cat))
	a["name"] = "Bert's # van: {fast}"
	r := solve(t, c, a.Build(cat))
	if !r.OK() {
		t.Fatal(messages(r.Errors))
	}
	if got := r.Design.File.Name; got != a["name"] {
		t.Errorf("name %q, want %q", got, a["name"])
	}
	a["name"] = "two\nlines"
	if a.Known(questions.Sheet(cat)) == nil {
		t.Error("an answer of two lines passes")
	}
}

// TestCoilsFollowTheKind holds that every kind of coil makes as many windings as
// its spark takes, on every number of cylinders that has such a spark.
func TestCoilsFollowTheKind(t *testing.T) {
	cat, err := catalogue.Open()
	if err != nil {
		t.Fatal(err)
	}
	sheet := questions.Sheet(cat)
	i := slices.IndexFunc(sheet, func(q questions.Question) bool { return q.Key == "coil" })
	for _, coil := range sheet[i].Words {
		for _, n := range []int{1, 2, 3, 4, 5, 6, 8, 10, 12} {
			want := map[string]int{"a pair": (n + 1) / 2, "all cylinders": 1, "": n}[cat.Parts[coil].Coil.Serves]
			a := questions.Defaults(sheet)
			a["coil"], a["cylinders"], a["layout"] = coil, strconv.Itoa(n), "inline"
			d, ds := design.Read("build.yaml", a.Build(cat), cat)
			if d == nil {
				t.Fatalf("%s on %d cylinders: %s", coil, n, messages(ds))
			}
			// a pack of several windings may have one left over
			if got, each := d.Windings(), cat.Parts[coil].Windings(); got < want || got >= want+each {
				t.Errorf("%s on %d cylinders makes %d windings, want %d", coil, n, got, want)
			}
		}
	}
}

// TestBoostedSheet holds that an answered boost is in the vehicle.
func TestBoostedSheet(t *testing.T) {
	cat, err := catalogue.Open()
	if err != nil {
		t.Fatal(err)
	}
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	a := questions.Defaults(questions.Sheet(cat))
	a["engine"], a["boost"], a["rail"], a["injector"] = "inline four boosted", "0.6 bar", "return 3 bar", "injector 470 cc"
	r := solve(t, c, a.Build(cat))
	if !r.OK() {
		t.Fatal(messages(r.Errors))
	}
	if r.Design.File.Boost == nil || r.Solved.State(design.Full).Point.ManifoldPa < 1.4e5 {
		t.Error("0.6 bar of boost does not reach the full-power state")
	}
	for _, f := range r.Findings {
		if f.Severity >= diag.Fix {
			t.Errorf("%v", f.Diagnostic)
		}
	}
}
