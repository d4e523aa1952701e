package badtest

import (
	"strings"
	"testing"

	"fettle/internal/diag"
)

func TestCompare(t *testing.T) {
	at := func(line, col int, rule, msg, hint string) diag.Diagnostic {
		return diag.Errorf(diag.Pos{File: "f", Line: line, Col: col}, rule, "%s", msg).WithHint("%s", hint)
	}
	tests := []struct {
		name, src string
		got       []diag.Diagnostic
		problem   string // part of the one problem, empty for none
	}{
		{"whole message", "a: 1 # want: bad thing [r]\n", []diag.Diagnostic{at(1, 4, "r", "bad thing", "")}, ""},
		{"beginning", "a: 1 # want: bad … [r]\n", []diag.Diagnostic{at(1, 4, "r", "bad thing", "")}, ""},
		{"message differs", "a: 1 # want: bad [r]\n", []diag.Diagnostic{at(1, 4, "r", "bad thing", "")}, "did not come"},
		{"rule differs", "a: 1 # want: bad [s]\n", []diag.Diagnostic{at(1, 4, "r", "bad", "")}, "did not come"},
		{"line differs", "a: 1 # want: bad [r]\n", []diag.Diagnostic{at(2, 4, "r", "bad", "")}, "did not come"},
		{"column", "a: 1 # want @4: bad [r]\n", []diag.Diagnostic{at(1, 4, "r", "bad", "")}, ""},
		{"column differs", "a: 1 # want @5: bad [r]\n", []diag.Diagnostic{at(1, 4, "r", "bad", "")}, "in column 5"},
		{"elsewhere", "# want 2:4: bad [r]\na: 'x\n", []diag.Diagnostic{at(2, 4, "r", "bad", "")}, ""},
		{"two", "a: 1 # want: one [r] && two [s]\n", []diag.Diagnostic{at(1, 4, "s", "two", ""), at(1, 1, "r", "one", "")}, ""},
		{"same twice", "a: 1 # want: one [r] && one [r]\n", []diag.Diagnostic{at(1, 4, "r", "one", "")}, "did not come"},
		{"hint", "a: 1 # want: one [r] # hint: mend it\n", []diag.Diagnostic{at(1, 4, "r", "one", "mend it")}, ""},
		{"hint differs", "a: 1 # want: one [r] # hint: mend\n", []diag.Diagnostic{at(1, 4, "r", "one", "mend it")}, "with hint"},
		{"unwanted", "a: 1 # want: one [r]\n", []diag.Diagnostic{at(1, 4, "r", "one", ""), at(2, 4, "r", "one", "")}, "not wanted"},
		{"asks nothing", "a: 1\n", nil, "asks for no message"},
		{"no rule", "a: 1 # want: one\nb: 1 # want: two [r]\n", []diag.Diagnostic{at(2, 4, "r", "two", "")}, "ends in no [rule]"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			problems := strings.Join(Compare([]byte(tt.src), tt.got), "\n")
			if tt.problem == "" && problems != "" {
				t.Errorf("got %s", problems)
			}
			if !strings.Contains(problems, tt.problem) {
				t.Errorf("got %q, want a problem with %q", problems, tt.problem)
			}
		})
	}
}
