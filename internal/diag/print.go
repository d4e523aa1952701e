package diag

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// Sources gives the text of a file by its name, for excerpts; nil when unknown.
type Sources func(file string) []byte

// Print writes messages as people read them: place, severity and text, the
// line it stands on, a caret under the place, the hint and the related places.
// Colour is used only when asked for.
func Print(w io.Writer, ds []Diagnostic, src Sources, colour bool) {
	bold, red, off := "", "", ""
	if colour {
		bold, red, off = "\x1b[1m", "\x1b[31m", "\x1b[0m"
	}
	for i, d := range ds {
		if i > 0 {
			fmt.Fprintln(w)
		}
		word := bold
		if d.Severity >= Stop {
			word = bold + red
		}
		fmt.Fprintf(w, "%v: %s%s%s: %s [%s]\n", d.Pos, word, d.Severity, off, d.Msg, d.Rule)
		excerpt(w, d.Pos, src)
		for _, r := range d.Related {
			fmt.Fprintf(w, "  %v: %s\n", r.Pos, r.Msg)
			excerpt(w, r.Pos, src)
		}
		if h := d.Hint.String(); h != "" {
			fmt.Fprintf(w, "  hint: %s\n", h)
		}
	}
}

func excerpt(w io.Writer, p Pos, src Sources) {
	if src == nil || p.Line == 0 {
		return
	}
	line, ok := lineOf(src(p.File), p.Line)
	if !ok {
		return
	}
	fmt.Fprintf(w, "  %5d | %s\n", p.Line, strings.ReplaceAll(line, "\t", " "))
	if p.Col > 0 && p.Col <= utf8.RuneCountInString(line)+1 {
		fmt.Fprintf(w, "        | %s%s\n", strings.Repeat(" ", p.Col-1), strings.Repeat("^", max(1, p.Len)))
	}
}

func lineOf(src []byte, n int) (string, bool) {
	lines := strings.Split(string(src), "\n")
	if n < 1 || n > len(lines) {
		return "", false
	}
	return strings.TrimRight(lines[n-1], "\r"), true
}

type jsonDiagnostic struct {
	Rule     string        `json:"rule"`
	Severity Severity      `json:"severity"`
	Subject  string        `json:"subject"`
	Message  string        `json:"message"`
	Hint     string        `json:"hint"`
	Value    string        `json:"value"`
	Limit    string        `json:"limit"`
	File     string        `json:"file"`
	Line     int           `json:"line"`
	Column   int           `json:"column"`
	Related  []jsonRelated `json:"related"`
}

type jsonRelated struct {
	File    string `json:"file"`
	Line    int    `json:"line"`
	Column  int    `json:"column"`
	Message string `json:"message"`
}

// MarshalJSON writes the message as the command's --json shows it.
func (d Diagnostic) MarshalJSON() ([]byte, error) {
	j := jsonDiagnostic{
		Rule: d.Rule, Severity: d.Severity, Subject: d.Subject,
		Message: d.Msg.String(), Hint: d.Hint.String(), Value: d.Value.String(), Limit: d.Limit.String(),
		File: d.Pos.File, Line: d.Pos.Line, Column: d.Pos.Col, Related: []jsonRelated{},
	}
	for _, r := range d.Related {
		j.Related = append(j.Related, jsonRelated{r.Pos.File, r.Pos.Line, r.Pos.Col, r.Msg})
	}
	return json.Marshal(j)
}
