// Package diag is the one message that every stage of fettle speaks in: the
// reader of a build file, the rules, the solvers and the findings in a log.
//
// Conventions: a message is lower case without a final stop, quotes the value
// it found and says what is allowed; a hint is one imperative that helps, else
// empty. Lines and columns count from 1, columns in characters. A Phrase is
// text whose numbers know which figure they show, so that every number on a
// page opens to its working. Start reading at [Diagnostic].
package diag

import (
	"fmt"
	"slices"
	"strings"
)

// Pos is a place in a file, or a moment in a log when TimeS is not zero.
type Pos struct {
	File      string
	Line, Col int
	// Len is how many characters the place spans; 0 means unknown.
	Len   int
	TimeS float64
}

// IsZero reports whether the place is unknown.
func (p Pos) IsZero() bool { return p == Pos{} }

// String prints file:line:col, leaving out what is unknown.
func (p Pos) String() string {
	switch {
	case p.File == "":
		return "-"
	case p.TimeS != 0:
		return fmt.Sprintf("%s@%.3fs", p.File, p.TimeS)
	case p.Line == 0:
		return p.File
	}
	return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Col)
}

// Severity grades a message. The zero value is a note.
type Severity int

// The severities, mildest first. An Error stops the reading of the file; the
// other three are the verdicts of rules.
const (
	Note  Severity = iota // worth knowing
	Fix                   // will not work as described
	Stop                  // would hurt a person or the engine
	Error                 // the input can't be used as it is
)

var severityWords = [...]string{"note", "fix", "stop", "error"}

// String is the word that is shown: note, fix, stop or error.
func (s Severity) String() string { return severityWords[s] }

// MarshalText writes the word.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads the word.
func (s *Severity) UnmarshalText(b []byte) error {
	i := slices.Index(severityWords[:], string(b))
	if i < 0 {
		return fmt.Errorf("severity %q is none of note, fix, stop, error", b)
	}
	*s = Severity(i)
	return nil
}

// Span is a stretch of text; Ref, when not empty, is the ID of the figure it
// shows, or of the thing it names.
type Span struct{ Text, Ref string }

// Phrase is text whose numbers can be opened.
type Phrase []Span

// String is the phrase as plain text.
func (p Phrase) String() string {
	var b strings.Builder
	for _, s := range p {
		b.WriteString(s.Text)
	}
	return b.String()
}

// MarshalText writes the plain text.
func (p Phrase) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// Shown is anything that stands in a phrase and can be opened: a figure with
// its printed form.
type Shown interface {
	Ref() string
	fmt.Stringer
}

// Sayf builds a phrase as fmt.Sprintf does, but arguments that are Shown become
// spans of their own that keep their reference. They take the verb %v.
func Sayf(format string, args ...any) Phrase {
	refs := map[string]string{}
	plain := make([]any, len(args))
	for i, a := range args {
		if s, ok := a.(Shown); ok {
			mark := fmt.Sprintf("\x01%d\x02%s\x03", i, s.String())
			refs[fmt.Sprint(i)] = s.Ref()
			plain[i] = mark
			continue
		}
		if ph, ok := a.(Phrase); ok {
			var b strings.Builder
			for j, sp := range ph {
				if sp.Ref == "" {
					b.WriteString(sp.Text)
					continue
				}
				key := fmt.Sprintf("%d.%d", i, j)
				refs[key] = sp.Ref
				b.WriteString("\x01" + key + "\x02" + sp.Text + "\x03")
			}
			plain[i] = b.String()
			continue
		}
		plain[i] = a
	}
	return split(fmt.Sprintf(format, plain...), refs)
}

func split(s string, refs map[string]string) Phrase {
	var out Phrase
	for s != "" {
		before, rest, found := strings.Cut(s, "\x01")
		if before != "" {
			out = append(out, Span{Text: before})
		}
		if !found {
			break
		}
		key, rest, _ := strings.Cut(rest, "\x02")
		text, rest, _ := strings.Cut(rest, "\x03")
		out = append(out, Span{Text: text, Ref: refs[key]})
		s = rest
	}
	return out
}

// Related points at a second place that belongs to the message.
type Related struct {
	Pos Pos    `json:"pos"`
	Msg string `json:"message"`
}

// Diagnostic is one message with its place.
type Diagnostic struct {
	Pos      Pos
	Rule     string // permanent id, e.g. "unknown-key" or "relay-overload"
	Severity Severity
	Subject  string // the thing it is about: "wire 23", "engine.bore"
	Msg      Phrase
	Hint     Phrase
	Value    Phrase // what was found, with unit; may be empty
	Limit    Phrase // what is allowed, with unit and sense; may be empty
	Related  []Related
}

// Errorf makes a reader's error at a place.
func Errorf(pos Pos, rule, format string, args ...any) Diagnostic {
	return Diagnostic{Pos: pos, Rule: rule, Severity: Error, Msg: Sayf(format, args...)}
}

// WithHint returns the diagnostic with its hint set.
func (d Diagnostic) WithHint(format string, args ...any) Diagnostic {
	d.Hint = Sayf(format, args...)
	return d
}

// WithRelated returns the diagnostic with one more related place.
func (d Diagnostic) WithRelated(pos Pos, format string, args ...any) Diagnostic {
	d.Related = append(slices.Clone(d.Related), Related{Pos: pos, Msg: fmt.Sprintf(format, args...)})
	return d
}

// String is the first line of the printed form.
func (d Diagnostic) String() string {
	return fmt.Sprintf("%v: %s: %s [%s]", d.Pos, d.Severity, d.Msg, d.Rule)
}

// Sort orders messages by file, line, column and rule, and drops exact repeats.
func Sort(ds []Diagnostic) []Diagnostic {
	slices.SortStableFunc(ds, func(a, b Diagnostic) int {
		if c := strings.Compare(a.Pos.File, b.Pos.File); c != 0 {
			return c
		}
		if a.Pos.Line != b.Pos.Line {
			return a.Pos.Line - b.Pos.Line
		}
		if a.Pos.Col != b.Pos.Col {
			return a.Pos.Col - b.Pos.Col
		}
		return strings.Compare(a.Rule, b.Rule)
	})
	return slices.CompactFunc(ds, func(a, b Diagnostic) bool {
		return a.Pos == b.Pos && a.Rule == b.Rule && a.Subject == b.Subject && a.Msg.String() == b.Msg.String()
	})
}

// Worst is the gravest severity among the messages; ok is false when there are none.
func Worst(ds []Diagnostic) (worst Severity, ok bool) {
	for _, d := range ds {
		worst, ok = max(worst, d.Severity), true
	}
	return worst, ok
}
