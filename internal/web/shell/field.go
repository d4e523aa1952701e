package shell

import (
	"net/url"
	"strings"

	"fettle/internal/diag"
)

// Field is one value of the build file that can be changed on the page. It
// works as a plain form; the script only sends it without a new page.
type Field struct {
	ID      string // of the element, stable from one answer to the next
	Action  string
	Label   string // for those who don't see the table's head
	What    string // names the step: "wire 23"
	Path    string // in the build file, see [JoinPath]
	Value   string // as written; empty when nobody wrote it
	Decided string // what fettle chose or assumed instead
	Options []Option
	Refused string // why the last text was not taken
}

// Option is one choice of a field.
type Option struct {
	Value, Text string
	Current     bool
}

// JoinPath writes a path of the build file as one word; [SplitPath] reads it.
func JoinPath(path ...string) string {
	out := make([]string, len(path))
	for i, p := range path {
		out[i] = url.PathEscape(p)
	}
	return strings.Join(out, "/")
}

// SplitPath reads what JoinPath wrote; ok is false when it did not.
func SplitPath(word string) (path []string, ok bool) {
	for part := range strings.SplitSeq(word, "/") {
		p, err := url.PathUnescape(part)
		if err != nil || p == "" {
			return nil, false
		}
		path = append(path, p)
	}
	return path, true
}

// Refusal is an edit that was not taken.
type Refusal struct {
	Path string // of the field, empty for a mend
	Text string // as typed
	Why  []diag.Diagnostic
	Note string // when it is no message of the file
}

// Reason is the refusal in one sentence.
func (r *Refusal) Reason() string {
	if r.Note != "" || len(r.Why) == 0 {
		return r.Note
	}
	s := r.Why[0].Msg.String()
	if h := r.Why[0].Hint.String(); h != "" {
		s += "; " + h
	}
	return s
}

// Forms makes the fields of a page.
type Forms struct {
	Action  string
	Refused *Refusal
}

// Field makes a field; label says what it is of, what names the step.
func (f Forms) Field(label, what, value, decided string, path ...string) Field {
	out := Field{Action: f.Action, Label: label, What: what, Path: JoinPath(path...), Value: value, Decided: decided}
	out.ID = "set-" + Slug(out.Path)
	if f.Refused != nil && f.Refused.Path == out.Path {
		out.Value, out.Refused = f.Refused.Text, f.Refused.Reason()
	}
	return out
}

// Choice makes a field of a few words. None is the text of the empty choice;
// without it there is no empty choice.
func (f Forms) Choice(label, what, value, none string, words []string, path ...string) Field {
	out := f.Field(label, what, value, "", path...)
	if none != "" {
		out.Options = append(out.Options, Option{Text: none, Current: value == ""})
	}
	for _, w := range words {
		out.Options = append(out.Options, Option{Value: w, Text: w, Current: w == out.Value})
	}
	return out
}

// Slug keeps the letters and digits of a text, as an element's id may have them.
func Slug(s string) string {
	return strings.Trim(strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return '-'
	}, s), "-")
}
