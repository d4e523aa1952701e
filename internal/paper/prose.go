package paper

import (
	"strconv"

	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

// accented is the mark of an accented run in a wrap.
const accented = 1

type prose struct {
	runs                 []Run
	size, leading, after Px
	role                 drawing.Role
}

func (p prose) lines(width Px) [][]typeface.Run {
	var runs []typeface.Run
	for _, r := range p.runs {
		m := 0
		if r.Accent {
			m = accented
		}
		runs = append(runs, typeface.Run{Text: r.Text, Bold: r.Bold, Mark: m})
	}
	return typeface.WrapRuns(runs, width, p.size)
}

func (p prose) least(*setter) Px { return 2 * p.leading }

func (p prose) place(s *setter) {
	lines := p.lines(min(measure, inRight-inLeft))
	for i, l := range lines {
		need := p.leading
		if i == 0 && len(lines) > 1 || i == len(lines)-2 { // no lone first or last line
			need *= 2
		}
		s.room(need)
		s.line(inLeft, s.y+p.size, l, p.size, p.role)
		s.y += p.leading
	}
	s.gap(p.after)
}

// line sets one line of runs.
func (s *setter) line(x, y Px, runs []typeface.Run, size Px, role drawing.Role) {
	for _, r := range runs {
		t := drawing.Text{X: x, Y: y, S: r.Text, Size: size, Bold: r.Bold, Role: role}
		if role == drawing.None {
			t.Role = drawing.Ink
		}
		if r.Mark == accented {
			t.Role = drawing.Accent
		}
		s.add(t)
		x += typeface.WidthPx(r.Text, size, r.Bold)
	}
}

type sheet struct{ title string }

func (b sheet) least(*setter) Px { return 0 }

func (b sheet) place(s *setter) {
	s.open(b.title, false)
	s.mark(b.title, 0, s.y)
}

type heading struct{ text string }

func (h heading) least(s *setter) Px {
	n := Px(len(typeface.Wrap(h.text, inRight-inLeft, 15, true)))*20 + 6
	if len(s.next) > 0 {
		if _, again := s.next[0].(heading); !again {
			n += min(s.next[0].least(s), s.full()-n)
		}
	}
	return n
}

func (h heading) place(s *setter) {
	s.gap(26)
	need := h.least(s)
	lines := typeface.Wrap(h.text, inRight-inLeft, 15, true)
	s.room(need)
	s.mark(h.text, 1, s.y)
	for _, l := range lines {
		s.add(drawing.Text{X: inLeft, Y: s.y + 15, S: l, Size: 15, Bold: true, Role: drawing.Ink})
		s.y += 20
	}
	s.gap(6)
}

type contents struct{}

func (contents) least(*setter) Px { return 44 }

func (contents) place(s *setter) {
	known := s.known
	if known == nil { // first pass: only the height counts
		known = s.ahead()
	}
	for _, m := range known {
		size, x, lead := Px(13), Px(inLeft), Px(22)
		if m.level > 0 {
			size, x, lead = 12, inLeft+26, 17
		}
		width := Px(inRight) - x - 40
		lines := typeface.Wrap(m.title, width, size, m.level == 0)
		s.room(lead + Px(len(lines)-1)*16)
		top, n := s.y, strconv.Itoa(m.page)
		for i, l := range lines {
			s.add(drawing.Text{X: x, Y: s.y + lead - 6, S: l, Size: size, Bold: m.level == 0, Role: drawing.Ink})
			if i < len(lines)-1 {
				s.y += 16
			}
		}
		s.add(drawing.Text{X: inRight, Y: s.y + lead - 6, S: n, Size: size, Anchor: drawing.End, Bold: m.level == 0, Role: drawing.Ink})
		if from := x + typeface.WidthPx(lines[len(lines)-1], size, m.level == 0) + 8; from < inRight-34 {
			s.add(drawing.Line{X1: from, Y1: s.y + lead - 6, X2: inRight - 28, Y2: s.y + lead - 6, Pen: drawing.Pen{Role: drawing.Grey, Width: 1, Dash: drawing.Dotted}})
		}
		s.y += lead
		s.page().links = append(s.page().links, link{drawing.Extent{Left: x, Top: top, Right: inRight, Bottom: s.y}, m.page})
	}
	s.gap(16)
}

// ahead lists the marks that the blocks will make, without their pages.
func (s *setter) ahead() []mark {
	var out []mark
	for _, p := range s.pages {
		out = append(out, p.marks...)
	}
	for _, b := range s.next {
		switch v := b.(type) {
		case sheet:
			out = append(out, mark{title: v.title})
		case heading:
			out = append(out, mark{title: v.text, level: 1})
		}
	}
	return out
}

type caution struct{ text string }

func (c caution) lines() []string { return typeface.Wrap(c.text, measure-24, 13, false) }

func (c caution) height() Px { return Px(len(c.lines()))*18 + 30 }

func (c caution) least(s *setter) Px { return min(c.height(), s.full()) }

func (c caution) place(s *setter) {
	s.gap(12)
	lines := c.lines()
	for first := true; len(lines) > 0; first = false {
		s.room(min(Px(len(lines))*18+30, s.full()))
		n := min(len(lines), int((s.left()-30)/18))
		h := Px(n)*18 + 28
		s.add(drawing.Hatch{X: inLeft, Y: s.y, W: 10, H: h, Gap: 6, Pen: drawing.Pen{Role: drawing.Ink, Width: 1.8}},
			drawing.Rect{X: inLeft, Y: s.y, W: 10, H: h, Pen: drawing.Thin})
		head := "Caution"
		if !first {
			head = "Caution, continued"
		}
		s.add(drawing.Text{X: inLeft + 24, Y: s.y + 15, S: head, Size: 13, Bold: true, Role: drawing.Ink})
		for i, l := range lines[:n] {
			s.add(drawing.Text{X: inLeft + 24, Y: s.y + 34 + Px(i)*18, S: l, Size: 13, Role: drawing.Ink})
		}
		s.y += h
		lines = lines[n:]
	}
	s.gap(14)
}

type figure struct {
	d       *drawing.Drawing
	caption string
}

// size is the scale that fits the sheet, and the height it gives.
func (f figure) size(s *setter) (scale, height Px, caption []string) {
	if f.caption != "" {
		caption = typeface.Wrap(f.caption, measure, 12, false)
	}
	text := Px(len(caption)) * 16
	scale = 1
	if f.d.W > 0 {
		scale = min(scale, (inRight-inLeft)/f.d.W)
	}
	if f.d.H > 0 {
		scale = min(scale, (s.full()-text-8)/f.d.H)
	}
	return scale, scale*f.d.H + 6 + text, caption
}

func (f figure) least(s *setter) Px {
	_, h, _ := f.size(s)
	return h
}

func (f figure) place(s *setter) {
	scale, h, caption := f.size(s)
	s.gap(10)
	s.room(h)
	s.add(drawing.Group{ID: f.d.Name, Title: f.d.Title, Items: drawing.Move(f.d.Items, drawing.Frame{X: inLeft, Y: s.y, ScaleRatio: float64(scale)})})
	s.y += scale*f.d.H + 6
	for _, l := range caption {
		s.add(drawing.Text{X: inLeft, Y: s.y + 11, S: l, Size: 12, Role: drawing.Soft})
		s.y += 16
	}
	s.gap(14)
}
