// Package badtest runs a check over a folder of faulty build files, each of
// which says in comments what must be told about it.
//
// Conventions: a comment at the end of the faulty line,
//
//	bore: 86    # want: "bore": no unit: 86 could be … [bad-quantity]  # hint: write 86 m, 86 mm …
//
// names the message and its rule; a text that ends in … is the beginning of the
// message, any other is all of it. Several messages, and several hints, stand
// with && between them. "want @7:" also fixes the column, "want 3:7:" speaks of
// another line, for where a comment can't stand. A hint is compared only where
// one is written. All messages of a file must be wanted, and all wanted ones
// must come. Start reading at [Run].
package badtest

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"fettle/internal/diag"
)

// Run checks every .yaml file of a folder, each in a subtest of its own.
func Run(t *testing.T, dir string, check func(file string, src []byte) []diag.Diagnostic) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.yaml"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no files in %s: %v", dir, err)
	}
	for _, f := range files {
		t.Run(strings.TrimSuffix(filepath.Base(f), ".yaml"), func(t *testing.T) {
			src, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			name := filepath.Base(f)
			for _, problem := range Compare(src, check(name, src)) {
				t.Error(problem)
			}
		})
	}
}

// want is one message that must come.
type want struct {
	line, col int // col 0: any
	msg, rule string
	hint      string
	hinted    bool
}

var (
	marker = regexp.MustCompile(`# want( @\d+| \d+(?::\d+)?)?: (.*)$`)
	ending = regexp.MustCompile(`^(.*) \[([a-z0-9-]+)\]$`)
)

// Compare lists how the messages differ from those that the file asks for.
func Compare(src []byte, got []diag.Diagnostic) []string {
	wants, problems := parse(string(src))
	if len(wants) == 0 {
		problems = append(problems, "the file asks for no message; write # want: … [rule]")
	}
	used := make([]bool, len(got))
	for _, w := range wants {
		if i := w.find(got, used); i >= 0 {
			used[i] = true
			continue
		}
		problems = append(problems, fmt.Sprintf("line %d: did not come: %s [%s]%s", w.line, w.msg, w.rule, w.extra()))
	}
	for i, d := range got {
		if !used[i] {
			problems = append(problems, fmt.Sprintf("not wanted: %v (hint: %s)", d, d.Hint))
		}
	}
	return problems
}

func (w want) extra() string {
	s := ""
	if w.col > 0 {
		s = fmt.Sprintf(" in column %d", w.col)
	}
	if w.hinted {
		s += " with hint: " + w.hint
	}
	return s
}

func (w want) find(got []diag.Diagnostic, used []bool) int {
	for i, d := range got {
		if !used[i] && d.Rule == w.rule && d.Pos.Line == w.line && (w.col == 0 || d.Pos.Col == w.col) &&
			matches(w.msg, d.Msg.String()) && (!w.hinted || matches(w.hint, d.Hint.String())) {
			return i
		}
	}
	return -1
}

func matches(want, got string) bool {
	if start, open := strings.CutSuffix(want, "…"); open {
		return strings.HasPrefix(got, start)
	}
	return want == got
}

func parse(src string) (wants []want, problems []string) {
	for i, line := range strings.Split(src, "\n") {
		m := marker.FindStringSubmatch(strings.TrimRight(line, "\r"))
		if m == nil {
			continue
		}
		text, hints, hinted := strings.Cut(m[2], "# hint: ")
		hint := strings.Split(hints, " && ")
		for j, part := range strings.Split(strings.TrimSpace(text), " && ") {
			e := ending.FindStringSubmatch(strings.TrimSpace(part))
			if e == nil {
				problems = append(problems, fmt.Sprintf("line %d: %q ends in no [rule]", i+1, part))
				continue
			}
			w := want{line: i + 1, msg: e[1], rule: e[2], hinted: hinted && j < len(hint)}
			w.place(m[1])
			if w.hinted {
				w.hint = strings.TrimSpace(hint[j])
			}
			wants = append(wants, w)
		}
	}
	return wants, problems
}

// place reads " @7", " 3" or " 3:7".
func (w *want) place(s string) {
	s = strings.TrimSpace(s)
	if col, ok := strings.CutPrefix(s, "@"); ok {
		w.col, _ = strconv.Atoi(col)
		return
	}
	if s == "" {
		return
	}
	line, col, _ := strings.Cut(s, ":")
	w.line, _ = strconv.Atoi(line)
	w.col, _ = strconv.Atoi(col)
}
