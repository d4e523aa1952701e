package drawing

import (
	"codeberg.org/go-pdf/fpdf"

	"fettle/internal/typeface"
)

// fontName is what the two embedded faces go by inside a PDF.
const fontName = "fettle"

// AddFonts embeds the typeface in a PDF. The page units must be points.
func AddFonts(p *fpdf.Fpdf) {
	p.AddUTF8FontFromBytes(fontName, "", typeface.Regular())
	p.AddUTF8FontFromBytes(fontName, "B", typeface.Bold())
	p.SetFont(fontName, "", 9)
}

// Frame places a drawing on a page: its upper left corner and its scale.
type Frame struct {
	X, Y       Px
	ScaleRatio float64
}

// PDF draws onto the current page of a PDF in points that holds the typeface.
// Accents become underlines; references are dropped.
func PDF(p *fpdf.Fpdf, d *Drawing, at Frame) {
	if !(at.ScaleRatio > 0) {
		at.ScaleRatio = 1
	}
	w := &pdfWriter{p: p, at: at, k: at.ScaleRatio * typeface.PtPerPx}
	leaves(d.Items, "", func(it Item, _ string) { w.draw(it) })
	p.SetDashPattern(nil, 0)
}

type pdfWriter struct {
	p  *fpdf.Fpdf
	at Frame
	k  float64 // points per px of the drawing
}

func (w *pdfWriter) x(v Px) float64   { return round2(v)*w.k + float64(w.at.X)*typeface.PtPerPx }
func (w *pdfWriter) y(v Px) float64   { return round2(v)*w.k + float64(w.at.Y)*typeface.PtPerPx }
func (w *pdfWriter) len(v Px) float64 { return round2(v) * w.k }

func (w *pdfWriter) draw(it Item) {
	switch v := it.(type) {
	case Line:
		if w.pen(v.Pen) {
			w.p.Line(w.x(v.X1), w.y(v.Y1), w.x(v.X2), w.y(v.Y2))
		}
	case Path:
		w.path(v)
	case Rect:
		if style := w.style(v.Pen, v.Fill); style != "" {
			w.p.Rect(w.x(v.X), w.y(v.Y), w.len(v.W), w.len(v.H), style)
		}
	case Circle:
		if style := w.style(v.Pen, v.Fill); style != "" {
			w.p.Circle(w.x(v.X), w.y(v.Y), w.len(v.R), style)
		}
	case Hatch:
		if w.pen(v.Pen) {
			for _, l := range v.strokes() {
				w.p.Line(w.x(l[0].X), w.y(l[0].Y), w.x(l[1].X), w.y(l[1].Y))
			}
		}
	case Text:
		w.text(v)
	}
}

// pen sets the stroke; false when nothing is to be drawn.
func (w *pdfWriter) pen(p Pen) bool {
	if p.Role == None || !(p.Width > 0) {
		return false
	}
	c := printed[p.Role]
	w.p.SetDrawColor(int(c.R), int(c.G), int(c.B))
	w.p.SetLineWidth(w.len(p.Width))
	var dash []float64
	for _, v := range p.Dash.pattern() {
		dash = append(dash, w.len(v))
	}
	w.p.SetDashPattern(dash, 0)
	return true
}

func (w *pdfWriter) style(p Pen, f Fill) string {
	style := ""
	if w.pen(p) {
		style = "D"
	}
	if !f.open() {
		c := f.colour(&printed)
		w.p.SetFillColor(int(c.R), int(c.G), int(c.B))
		style = "F" + style
	}
	return style
}

func (w *pdfWriter) path(v Path) {
	style := w.style(v.Pen, v.Fill)
	if style == "" || len(v.Steps) == 0 {
		return
	}
	for _, s := range v.Steps {
		switch s.Kind {
		case MoveTo:
			w.p.MoveTo(w.x(s.P.X), w.y(s.P.Y))
		case LineTo:
			w.p.LineTo(w.x(s.P.X), w.y(s.P.Y))
		case CurveTo:
			w.p.CurveBezierCubicTo(w.x(s.A.X), w.y(s.A.Y), w.x(s.B.X), w.y(s.B.Y), w.x(s.P.X), w.y(s.P.Y))
		}
	}
	if v.Closed {
		w.p.ClosePath()
	}
	w.p.DrawPath(style)
}

func (w *pdfWriter) text(t Text) {
	s := typeface.Printable(t.S, t.Bold)
	if s == "" || !(t.Size > 0 && t.Size < 1e4) {
		return
	}
	role := t.Role
	if role == None {
		role = Ink
	}
	weight := ""
	if t.Bold {
		weight = "B"
	}
	c := printed[role]
	w.p.SetTextColor(int(c.R), int(c.G), int(c.B))
	w.p.SetFont(fontName, weight, float64(t.Size)*w.k)
	wide := typeface.WidthPx(s, t.Size, t.Bold)
	x, y := w.x(t.X), w.y(t.Y)
	if t.Up {
		w.p.TransformBegin()
		w.p.TransformRotate(90, x, y)
	}
	switch t.Anchor {
	case Middle:
		x -= float64(wide) * w.k / 2
	case End:
		x -= float64(wide) * w.k
	}
	w.p.Text(x, y, s)
	if role == Accent {
		w.p.SetDrawColor(0, 0, 0)
		w.p.SetDashPattern(nil, 0)
		w.p.SetLineWidth(float64(t.Size) * w.k * 0.08)
		under := y + float64(t.Size)*w.k*0.16
		w.p.Line(x, under, x+float64(wide)*w.k, under)
	}
	if t.Up {
		w.p.TransformEnd()
	}
}
