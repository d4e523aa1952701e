// Package beginning is the sheet of questions that a new build starts from, with
// what the answers come to beside them.
//
// Conventions: [View] is pure and makes finished strings. Questions may be
// answered in any order; each answer makes the build file anew, until somebody
// changes it elsewhere: then the sheet shows its answers and says where to go
// on. Start reading at [View].
package beginning

import (
	"embed"
	"fmt"

	"fettle/internal/figure"
	"fettle/internal/questions"
	"fettle/internal/web/shell"
)

//go:embed beginning.html
var files embed.FS

// Key names the page in addresses.
const Key = "questions"

// Template is the page's.
var Template = shell.Template(files, "beginning.html")

// PathHead begins the path of a field that answers a question.
const PathHead = "answers"

// Body is what the page shows.
type Body struct {
	Start, Trouble []shell.Fig
	Lede           string
	Grown          bool // the file has gone beyond the sheet
	None           bool // the build did not begin from the sheet
	Groups         []Group
	Comes          []Line
	Findings       []shell.Finding
}

// Group is a part of the sheet.
type Group struct {
	Name string
	ID   string
	List []Question
}

// Question is one question with its field.
type Question struct {
	Ask, Look string
	Field     shell.Field
	Answer    string // shown instead of the field when the file has grown
}

// Line is a named figure.
type Line struct {
	Name string
	Fig  shell.Fig
}

// View makes the page.
func View(a shell.Ask) Body {
	r, figs := a.Result, shell.Figures{Ledger: a.Result.Ledger}
	b := Body{
		Start: figs.Phrase(r.Verdict.Start), Trouble: figs.Phrase(r.Verdict.Trouble),
		Grown: a.Grown, None: a.Answers == nil,
	}
	b.Findings, _ = shell.Findings(a, nil)
	b.Comes = comes(figs)
	if b.None {
		b.Lede = "This build did not begin from the question sheet. fettle new begins one that does."
		return b
	}
	b.Lede = "Answer what you can see, in any order; leave the rest. What is not answered is assumed and stands in brackets."
	if b.Grown {
		b.Lede = "The build file has grown beyond this sheet, so the answers stand as they were given. Go on in the other sheets, or in the file."
	}
	forms := shell.Forms{Action: shell.Action(a), Refused: a.Refuse}
	sheet := questions.Sheet(r.Design.Cat)
	for _, name := range questions.Groups {
		g := Group{Name: name, ID: "group-" + shell.Slug(name)}
		for _, q := range sheet {
			if q.Group == name {
				g.List = append(g.List, view(forms, q, a))
			}
		}
		b.Groups = append(b.Groups, g)
	}
	return b
}

func view(forms shell.Forms, q questions.Question, a shell.Ask) Question {
	out := Question{Ask: q.Ask, Look: q.Look, Answer: a.Answers[q.Key]}
	what := fmt.Sprintf("answer %s", q.Key)
	if len(q.Words) > 0 {
		out.Field = forms.Choice(q.Ask, what, a.Answers[q.Key], "", q.Words, PathHead, q.Key)
		return out
	}
	out.Field = forms.Field(q.Ask, what, a.Answers[q.Key], "assumed", PathHead, q.Key)
	return out
}

// comes are the figures that answers move most visibly.
func comes(figs shell.Figures) []Line {
	var out []Line
	for _, row := range []struct {
		name string
		id   figure.ID
	}{
		{"Power", "full/engine/PowerW"},
		{"Torque at full power", "full/engine/TorqueNm"},
		{"Road speed at full power", "full/wheels/RoadMPerS"},
		{"Fuel it burns at full power", "full/engine/WantedKgPerS"},
		{"Fuel the pump can bring", "full/fuel pump/MostKgPerS"},
		{"Injector duty", "full/injector/DutyFrac"},
		{"Drawn at idle with everything on", "idle/loads/CurrentA"},
		{"The alternator brings there", "idle/alternator/MostA"},
		{"Cranking cold", "crank/engine/SpeedRadPerS"},
	} {
		if f, ok := figs.Of(row.id); ok {
			out = append(out, Line{row.name, f})
		}
	}
	return out
}
