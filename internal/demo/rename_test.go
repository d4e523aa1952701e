package demo_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"fettle/internal/rule"
	"fettle/internal/run"
	"fettle/internal/run/runtest"
)

// found is what is compared of findings, with names put back.
func found(list []rule.Finding, was func(string) string) []string {
	var out []string
	for _, f := range list {
		out = append(out, was(fmt.Sprintf("%s %s %s:%d %s: %s", f.Severity, f.Rule, f.Pos.File, f.Pos.Line, f.Subject, f.Msg)))
		for _, u := range f.Under {
			out = append(out, was(fmt.Sprintf("  and so %s %s %s: %s", u.Severity, u.Rule, u.Subject, u.Msg)))
		}
	}
	slices.Sort(out)
	return out
}

// TestNamesDoNotMatter takes every name of a device and of a part away: the
// findings stay what they were, since rules know a thing by what it is.
func TestNamesDoNotMatter(t *testing.T) {
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	builds := map[string]run.Input{}
	for name, src := range cleanBuilds(t) {
		builds[name] = run.Input{File: name + ".yaml", Src: src}
	}
	all := files(t)
	camper := run.Input{File: "build.yaml", Src: all["build.yaml"], Parts: map[string][]byte{}}
	for name, src := range all {
		if strings.HasPrefix(name, "parts/") {
			camper.Parts[name] = src
		}
	}
	builds["camper"] = camper
	for name, in := range builds {
		t.Run(name, func(t *testing.T) {
			other, err := runtest.WithoutNames(in)
			if err != nil {
				t.Fatal(err)
			}
			var got [2][]string
			for i, in := range []run.Input{in, other.Input} {
				r, err := run.Nominal(context.Background(), in, c)
				if err != nil {
					t.Fatal(err)
				}
				if !r.OK() {
					t.Fatalf("does not read: %v", r.Errors)
				}
				got[i] = found(r.Findings, other.Was)
			}
			for _, s := range got[0] {
				if !slices.Contains(got[1], s) {
					t.Errorf("lost with the names: %s", s)
				}
			}
			for _, s := range got[1] {
				if !slices.Contains(got[0], s) {
					t.Errorf("found without the names: %s", s)
				}
			}
		})
	}
}
