package rule_test

import (
	"slices"
	"strings"
	"testing"

	"fettle/internal/rule"
	"fettle/internal/run"
)

// causes are the demo's five, each with its severity, a text of the line it
// stands on and the rules of what it leads to.
var causes = []struct {
	rule, severity, line string
	under                []string
}{
	{"wire-drop", "fix", "fuel pump 1: {size: 0.5 mm²", []string{"fuel-short", "pump-voltage"}},
	{"sensor-ground", "stop", "sensor: {joins: power}", nil},
	{"charge-balance", "fix", "alternator:      {part: van alternator", nil},
	{"relay-overload", "fix", "fans: {relay: main}", nil},
	{"supply-cranking", "stop", "switched: {from: 75", []string{"reset-cranking", "spark-cranking", "fuel-cranking", "rail-boiling"}},
}

func ids(fs []rule.Finding) []string {
	out := make([]string, len(fs))
	for i, f := range fs {
		out[i] = f.Rule
	}
	slices.Sort(out)
	return out
}

// TestCamperHasFiveCauses holds the demo to its five, with place, hint, mend and
// consequences.
func TestCamperHasFiveCauses(t *testing.T) {
	r := solve(t, camper(t))
	if len(r.Findings) != len(causes) {
		t.Fatalf("causes are %v, want five", ids(r.Findings))
	}
	lines := strings.Split(string(r.Input.Src), "\n")
	for _, want := range causes {
		i := slices.IndexFunc(r.Findings, func(f rule.Finding) bool { return f.Rule == want.rule })
		if i < 0 {
			t.Errorf("%s is not found", want.rule)
			continue
		}
		f := &r.Findings[i]
		sound(t, r, f)
		if got := f.Severity.String(); got != want.severity {
			t.Errorf("%s is a %s, want %s", f.Rule, got, want.severity)
		}
		if !strings.Contains(lines[f.Pos.Line-1], want.line) {
			t.Errorf("%s stands on line %d, %q, want %q", f.Rule, f.Pos.Line, lines[f.Pos.Line-1], want.line)
		}
		under := slices.Clone(want.under)
		slices.Sort(under)
		if got := ids(f.Under); !slices.Equal(got, under) {
			t.Errorf("%s leads to %v, want %v", f.Rule, got, under)
		}
		for j := range f.Under {
			sound(t, r, &f.Under[j])
		}
		if len(f.Mends) == 0 {
			t.Errorf("%s offers no mend", f.Rule)
		}
	}
	if v := r.Verdict; v.Stops != 2 || v.Fixes != 3 || v.Notes != 0 {
		t.Errorf("the verdict counts %d stops, %d fixes, %d notes, want 2, 3, 0", v.Stops, v.Fixes, v.Notes)
	}
}

// TestCamperMendsOneByOne mends each cause alone, by the edit a builder would
// make and by every one that is offered: that cause goes and no other.
func TestCamperMendsOneByOne(t *testing.T) {
	in := camper(t)
	r := solve(t, in)
	all := ids(r.Findings)
	without := func(id string) []string {
		return slices.DeleteFunc(slices.Clone(all), func(s string) bool { return s == id })
	}
	for _, m := range mends {
		if got := ids(solve(t, edited(t, in, m.edit)).Findings); !slices.Equal(got, without(m.wants)) {
			t.Errorf("with %v to %s the causes are %v, want all but %s", m.edit.Path, m.edit.Text, got, m.wants)
		}
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		for _, m := range f.Mends {
			keepsComments(t, in, m.Edits)
			if got := ids(solve(t, edited(t, in, m.Edits...)).Findings); !slices.Equal(got, without(f.Rule)) {
				t.Errorf("mended by %q the causes are %v, want all but %s", m.Title, got, f.Rule)
			}
		}
	}
}

// TestCamperMendedByWhatIsOffered takes the first mend of the worst cause until
// none is left, as a builder on the page does, and finds every comment kept.
func TestCamperMendedByWhatIsOffered(t *testing.T) {
	in := camper(t)
	before := comments(string(in.Src))
	for left := len(causes); ; left-- {
		r := solve(t, in)
		if len(r.Findings) != left {
			t.Fatalf("after %d mends the causes are %v", len(causes)-left, ids(r.Findings))
		}
		if left == 0 {
			clean(t, r)
			break
		}
		in = edited(t, in, r.Findings[0].Mends[0].Edits...)
	}
	if after := comments(string(in.Src)); !slices.Equal(before, after) {
		t.Errorf("comments were\n%s\nand are\n%s", strings.Join(before, "\n"), strings.Join(after, "\n"))
	}
}

// clean holds a vehicle to no stop and no fix.
func clean(t *testing.T, r *run.Result) {
	t.Helper()
	if v := r.Verdict; v.Stops+v.Fixes > 0 || v.Trouble.String() != "" {
		t.Errorf("the verdict is %q %q with %d stops and %d fixes", v.Start, v.Trouble, v.Stops, v.Fixes)
	}
}
