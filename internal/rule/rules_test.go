package rule_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/rule"
	"fettle/internal/run"
	"fettle/internal/run/runtest"
)

// elsewhere are the rules whose finding stands at another place than the edit of
// their example: the line of the device that suffers, since what it suffers from
// has many causes.
var elsewhere = map[string][]string{
	"loose-feed":     {"devices"},
	"slow-cranking":  {"devices", "starter"},
	"fuel-short":     {"devices", "fuel pump"},
	"fuel-cold":      {"devices", "fuel pump"},
	"fuel-cranking":  {"devices", "fuel pump"},
	"pump-voltage":   {"devices", "fuel pump"},
	"injector-duty":  {"devices", "injector"},
	"relay-overload": {"loom", "feeds", "fans"},
	"lead-missing":   {"loose leads"},
	"reverse-lamp":   {"gearbox"},
}

// TestBaseHasNothing holds the vehicle that the examples start from to no
// finding and no note at all.
func TestBaseHasNothing(t *testing.T) {
	r := solve(t, base(t))
	nothing(t, r)
	for _, m := range r.Solved.Margins {
		if !(m.Left() >= 0) {
			t.Errorf("%s in %s: %g against %g", m.Name, m.State, m.Value, m.Limit)
		}
	}
}

func nothing(t *testing.T, r *run.Result) {
	t.Helper()
	for _, f := range r.Findings {
		t.Errorf("finding %s: %s", f.Rule, f.Msg)
	}
	for _, n := range r.Notes {
		t.Errorf("note %v", n)
	}
}

// TestRules shows every rule by its own example.
func TestRules(t *testing.T) {
	seen := map[string]bool{}
	for _, x := range rule.All {
		if seen[x.ID] {
			t.Errorf("two rules are called %s", x.ID)
		}
		seen[x.ID] = true
		t.Run(x.ID, func(t *testing.T) {
			declared(t, x)
			b := with(base(t), x.Parts)
			bad := solve(t, edited(t, b, x.Bad...))
			if len(bad.Findings) == 0 {
				t.Fatal("the bad example has no finding")
			}
			for i := range bad.Findings {
				f := &bad.Findings[i]
				if f.Rule != x.ID {
					t.Errorf("the bad example has the cause %s: %s", f.Rule, f.Msg)
					continue
				}
				if !placed(bad, x, f) {
					t.Errorf("it stands at %v, which is not where the example was made", f.Pos)
				}
				sound(t, bad, f)
				for j := range f.Under {
					sound(t, bad, &f.Under[j])
				}
			}
			nothing(t, solve(t, edited(t, b, x.Good...)))
		})
	}
}

// TestRulesKnowNoNames shows every rule by its bad example again, with neutral
// names for all devices and parts.
func TestRulesKnowNoNames(t *testing.T) {
	for _, x := range rule.All {
		t.Run(x.ID, func(t *testing.T) {
			in, err := runtest.WithoutNames(edited(t, with(base(t), x.Parts), x.Bad...))
			if err != nil {
				t.Fatal(err)
			}
			r := solve(t, in.Input)
			if !slices.ContainsFunc(r.Findings, func(f rule.Finding) bool { return f.Rule == x.ID }) {
				t.Error("the bad example has no finding without its names")
			}
			for _, f := range r.Findings {
				if f.Rule != x.ID {
					t.Errorf("without names it has the cause %s: %s", f.Rule, f.Msg)
				}
			}
		})
	}
}

var kebab = regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)

// declared holds a rule's declaration to the house: nothing empty.
func declared(t *testing.T, x rule.Rule) {
	t.Helper()
	if !kebab.MatchString(x.ID) {
		t.Errorf("id %q is not in kebab case", x.ID)
	}
	for what, s := range map[string]string{"title": x.Title, "why": x.Why, "source": x.Source, "page": x.Page} {
		if strings.TrimSpace(s) == "" {
			t.Errorf("its %s is empty", what)
		}
	}
	if strings.HasSuffix(x.Title, ".") || startsUpper(x.Title) {
		t.Errorf("title %q: lower case without a final stop", x.Title)
	}
	if x.Severity != diag.Note && x.Severity != diag.Fix && x.Severity != diag.Stop {
		t.Errorf("severity %v is none of a rule", x.Severity)
	}
	if len(x.Bad) == 0 || len(x.Good) == 0 || x.Check == nil {
		t.Error("it has no bad example, no good one or no check")
	}
}

// startsUpper reports a first word that is neither lower case nor a number, nor
// all capitals such as CAN.
func startsUpper(s string) bool {
	first, size := utf8.DecodeRuneInString(s)
	second, _ := utf8.DecodeRuneInString(s[size:])
	return unicode.IsUpper(first) && unicode.IsLower(second)
}

// placed reports whether a finding stands on a line that its example's edits
// touch, or where the table says.
func placed(r *run.Result, x rule.Rule, f *rule.Finding) bool {
	tree := r.Design.Tree
	if path, ok := elsewhere[x.ID]; ok {
		n := tree.Find(path...)
		return n != nil && n.KeyPos.Line == f.Pos.Line
	}
	for _, e := range x.Bad {
		for depth := len(e.Path); depth > 0; depth-- {
			n := tree.Find(e.Path[:depth]...)
			if n != nil && (n.KeyPos.Line == f.Pos.Line || n.Pos.Line == f.Pos.Line) && (depth > 1 || e.Delete) {
				return true
			}
		}
	}
	return false
}

// sound holds a finding to the house: a place in the file, a message, a hint,
// value and limit, and numbers that open to their working.
func sound(t *testing.T, r *run.Result, f *rule.Finding) {
	t.Helper()
	say := func(format string, args ...any) {
		t.Helper()
		t.Errorf("%s, %q: "+format, append([]any{f.Rule, f.Msg.String()}, args...)...)
	}
	lines := strings.Count(string(r.Input.Src), "\n") + 1
	if f.Pos.File != r.Input.File || f.Pos.Line < 1 || f.Pos.Line > lines || f.Pos.Col < 1 {
		say("it stands at %v", f.Pos)
	}
	if x, ok := rule.ByID(f.Rule); !ok || x.Severity != f.Severity {
		say("rule or severity %v is not the declared one", f.Severity)
	}
	if f.Subject == "" || f.Target == "" {
		say("it has no subject or no target")
	}
	msg := f.Msg.String()
	if msg == "" || strings.HasSuffix(msg, ".") || startsUpper(msg) {
		say("lower case without a final stop")
	}
	if hint := f.Hint.String(); hint == "" || strings.HasSuffix(hint, ".") || startsUpper(hint) {
		say("hint %q: one imperative, lower case, without a final stop", hint)
	}
	if f.Value.String() == "" || f.Limit.String() == "" {
		say("value %q, limit %q", f.Value, f.Limit)
	}
	if why := f.Why.String(); why != "" && !strings.HasSuffix(why, ".") {
		say("why %q is no sentence", why)
	}
	for _, p := range []diag.Phrase{f.Msg, f.Hint, f.Why, f.Value, f.Limit} {
		opens(t, r, f, p)
	}
}

// figures are numbers with a unit, which must be spans of their own.
var figures = regexp.MustCompile(`\d[\x{00a0} ](A|V|W|mA|mV|mJ|ms|mm|m|bar|kPa|g/s|rpm|°C|Ω|mΩ|h)\b|\d[\x{00a0} ]?%`)

// opens holds the numbers of a phrase to the ledger: every reference resolves to
// sourced leaves. A state without an answer has no figures.
func opens(t *testing.T, r *run.Result, f *rule.Finding, p diag.Phrase) {
	t.Helper()
	for _, s := range p {
		switch {
		case s.Ref != "":
			if _, ok := r.Ledger.Why(figure.ID(s.Ref)); !ok {
				t.Errorf("%s, %q: %q leads to %q, which is not in the ledger", f.Rule, p, s.Text, s.Ref)
			}
			if u := r.Ledger.Unresolved(figure.ID(s.Ref)); len(u) > 0 {
				t.Errorf("%s, %q: %q rests on %v, which lead nowhere", f.Rule, p, s.Text, u)
			}
		case f.Rule != "unsolved" && figures.MatchString(s.Text) && p.String() != f.Hint.String():
			t.Errorf("%s, %q: the number in %q opens to nothing", f.Rule, p, s.Text)
		}
	}
}

// TestMendsEndTheirFinding applies every mend that is offered for the examples,
// best first: the finding goes, and no comment of the file with it.
func TestMendsEndTheirFinding(t *testing.T) {
	for _, x := range rule.All {
		in := edited(t, with(base(t), x.Parts), x.Bad...)
		r := solve(t, in)
		for i := range r.Findings {
			f := &r.Findings[i]
			for _, m := range f.Mends {
				keepsComments(t, in, m.Edits)
				after := solve(t, edited(t, in, m.Edits...))
				if slices.ContainsFunc(after.Findings, func(g rule.Finding) bool { return g.Key() == f.Key() }) {
					t.Errorf("%s: mended by %q it is still there", x.ID, m.Title)
				}
			}
		}
	}
}

// keepsComments holds an edit to change no comment and no line but its own.
func keepsComments(t *testing.T, in run.Input, edits []buildfile.Edit) {
	t.Helper()
	before, after := string(in.Src), string(edited(t, in, edits...).Src)
	if a, b := comments(before), comments(after); !slices.Equal(a, b) {
		t.Errorf("edits %v change the comments", edits)
	}
	was := map[string]int{}
	for _, l := range strings.Split(before, "\n") {
		was[l]++
	}
	changed := 0
	for _, l := range strings.Split(after, "\n") {
		if was[l]--; was[l] < 0 {
			changed++
		}
	}
	if most := 4 * len(edits); changed > most {
		t.Errorf("edits %v change %d lines, at most %d are theirs", edits, changed, most)
	}
}

func comments(src string) []string {
	var out []string
	for _, l := range strings.Split(src, "\n") {
		if i := strings.Index(" "+l, " #"); i >= 0 {
			out = append(out, l[i:])
		}
	}
	return out
}
