package paper

import (
	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

type findingBlock struct{ f Finding }

// findingLine is one set line of a finding.
type findingLine struct {
	text   string
	indent Px
	bold   bool
	role   drawing.Role
}

const findingIndent = 46

func (b findingBlock) lines() []findingLine {
	var out []findingLine
	width := Px(measure - findingIndent)
	put := func(text string, indent Px, bold bool, role drawing.Role) {
		if text == "" {
			return
		}
		for _, l := range typeface.Wrap(text, width-indent, 13, bold) {
			out = append(out, findingLine{l, findingIndent + indent, bold, role})
		}
	}
	put(b.f.What, 0, true, drawing.Ink)
	if b.f.Where != "" {
		put("Where: "+b.f.Where, 0, false, drawing.Soft)
	}
	put(b.f.Why, 0, false, drawing.Ink)
	if b.f.Mend != "" {
		put("Mend: "+b.f.Mend, 0, false, drawing.Ink)
	}
	for _, c := range b.f.Consequences {
		put("→ "+c, 12, false, drawing.Soft)
	}
	if b.f.Waived != "" {
		put("Waived: "+b.f.Waived, 0, false, drawing.Soft)
	}
	return out
}

func (b findingBlock) least(s *setter) Px { return min(Px(len(b.lines()))*18+14, s.full()) }

func (b findingBlock) place(s *setter) {
	lines := b.lines()
	s.gap(2)
	role := drawing.Ink
	if b.f.Wrong {
		role = drawing.Accent
	}
	s.room(b.least(s))
	s.y += 4
	s.add(drawing.Text{X: inLeft, Y: s.y + 14, S: b.f.Severity, Size: 13, Bold: true, Role: role})
	for i, l := range lines {
		if i > 0 {
			s.room(18)
		}
		s.add(drawing.Text{X: inLeft + l.indent, Y: s.y + 14, S: l.text, Size: 13, Bold: l.bold, Role: l.role})
		s.y += 18
	}
	s.y += 8
	s.add(drawing.Line{X1: inLeft, Y1: s.y, X2: inRight, Y2: s.y, Pen: drawing.Hair})
	s.gap(2)
}
