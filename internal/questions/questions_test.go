package questions_test

import (
	"context"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fettle/internal/catalogue"
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
