// Package plain shows what is not a sheet: a build file that can't be used as it
// is, a rule and its reason, and an answer to an address that leads nowhere.
//
// Conventions: the views are pure and make finished strings; what stands in a
// file or in a rule is quoted as it stands. Start reading at [Errors].
package plain

import (
	"embed"
	"fmt"
	"strings"

	"fettle/internal/diag"
	"fettle/internal/rule"
	"fettle/internal/run"
	"fettle/internal/web/shell"
)

//go:embed plain.html
var files embed.FS

// Template is the page's.
var Template = shell.Template(files, "plain.html")

// Body is what the page shows.
type Body struct {
	Start, Trouble, Lede string
	Messages             []Message
	Facts                []Fact
	Pre                  []Fact
}

// Message is a message of the reader with its place.
type Message struct {
	Place, Text, Hint, Excerpt string
	Related                    []Message
}

// Fact is a named text.
type Fact struct{ Name, Text string }

// Errors shows a file that can't be used, with all that is wrong in it.
func Errors(r *run.Result) Body {
	b := Body{Start: "The build file ", Trouble: "can’t be used as it is."}
	b.Lede = fmt.Sprintf("%d places want mending in an editor. The page looks again when you load it.", len(r.Errors))
	if len(r.Errors) == 1 {
		b.Lede = "One place wants mending in an editor. The page looks again when you load it."
	}
	for _, d := range r.Errors {
		m := Message{Place: d.Pos.String(), Text: d.Msg.String(), Hint: d.Hint.String(), Excerpt: excerpt(r, d.Pos)}
		for _, rel := range d.Related {
			m.Related = append(m.Related, Message{Place: rel.Pos.String(), Text: rel.Msg, Excerpt: excerpt(r, rel.Pos)})
		}
		b.Messages = append(b.Messages, m)
	}
	return b
}

// excerpt is the line of a place with carets under it.
func excerpt(r *run.Result, p diag.Pos) string {
	src := r.Input.Src
	if p.File != r.Input.File {
		src = r.Input.Parts[p.File]
	}
	lines := strings.Split(string(src), "\n")
	if p.Line < 1 || p.Line > len(lines) {
		return ""
	}
	line := strings.ReplaceAll(strings.TrimRight(lines[p.Line-1], "\r"), "\t", " ")
	if p.Col < 1 || p.Col > len([]rune(line))+1 {
		return line
	}
	return line + "\n" + strings.Repeat(" ", p.Col-1) + strings.Repeat("^", max(1, p.Len))
}

// Rule shows why a rule is there.
func Rule(r rule.Rule) Body {
	b := Body{Start: strings.ToUpper(r.Title[:1]) + r.Title[1:] + ".", Lede: r.Why}
	b.Facts = []Fact{{"Severity", severityWords[r.Severity]}, {"Source", r.Source}, {"Name", r.ID}}
	b.Pre = []Fact{{"Such a vehicle has it", edits(r.Bad)}, {"And such a one has not", edits(r.Good)}}
	return b
}

var severityWords = map[diag.Severity]string{
	diag.Stop: "stop: would hurt a person or the engine", diag.Fix: "fix: will not work as described", diag.Note: "note: worth knowing",
}

// Lost answers an address that leads nowhere.
func Lost(text string) Body {
	return Body{Start: "There is no such sheet.", Lede: text}
}

// Refused answers a request that is not served.
func Refused(text string) Body {
	return Body{Start: "That is not done here.", Lede: text}
}
