package web

import (
	"bytes"

	"fettle/internal/web/shell"
)

// mostSteps is how many steps can be gone back.
const mostSteps = 100

// steps are the versions of the file that edits on the pages made, the first as
// it was found. A version that somebody else wrote ends them: they begin anew.
type steps struct {
	all []madeStep
	at  int
}

type madeStep struct {
	name string
	src  []byte
}

// see takes note of the file as it is.
func (s *steps) see(src []byte) {
	if s.shows(src) {
		return
	}
	s.all, s.at = []madeStep{{"as it was", src}}, 0
}

// shows reports whether the step that is on is this version.
func (s *steps) shows(src []byte) bool {
	return len(s.all) > 0 && bytes.Equal(s.all[s.at].src, src)
}

// add takes note of an edit; what was undone before it is gone.
func (s *steps) add(name string, before, after []byte) {
	s.see(before)
	s.all = append(s.all[:s.at+1], madeStep{name, after})
	if len(s.all) > mostSteps {
		s.all = s.all[1:]
	}
	s.at = len(s.all) - 1
}

// wanted is the version that a button asks for.
func (s *steps) wanted(word string, to int) (i int, ok bool) {
	switch word {
	case "undo":
		i = s.at - 1
	case "redo":
		i = s.at + 1
	default:
		i = to
	}
	return i, i >= 0 && i < len(s.all)
}

// view lists the steps, nothing before the first edit.
func (s *steps) view(action string) shell.Steps {
	out := shell.Steps{Action: action}
	if len(s.all) < 2 {
		return out
	}
	if s.at > 0 {
		out.Undo = s.all[s.at].name
	}
	if s.at+1 < len(s.all) {
		out.Redo = s.all[s.at+1].name
	}
	for i, m := range s.all {
		out.All = append(out.All, shell.Step{N: i, Name: m.name, Now: i == s.at})
	}
	return out
}
