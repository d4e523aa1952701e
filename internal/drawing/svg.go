package drawing

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"net/url"
	"strconv"
	"strings"

	"fettle/internal/typeface"
)

// SVGOptions say how a drawing is written for a page.
type SVGOptions struct {
	// Alone makes a file of its own: name space, colours and letters within, no
	// links. Otherwise the page's style sheet must hold [StyleSheet].
	Alone bool
	// Href makes the address of a reference; without it references lead to
	// /why/REF.
	Href func(ref string) string
	// Class is added to the root element.
	Class string
	// Fixed writes width and height, so that the drawing keeps its size.
	Fixed bool
}

// StyleSheet is what a page needs to show drawings: roles by the variables
// --paper, --ink, --soft, --line, --rule and --accent, the accent underlined in
// print.
func StyleSheet() string {
	var b strings.Builder
	b.WriteString(".drawing text{font-kerning:none;font-variant-ligatures:none;stroke:none}\n")
	for r := Paper; r <= Accent; r++ {
		fmt.Fprintf(&b, ".drawing .f-%[1]v{fill:var(--%[1]v,%[2]s)}.drawing .s-%[1]v{stroke:var(--%[1]v,%[2]s)}\n", r, hex(screen[r]))
	}
	b.WriteString(".drawing a{text-decoration:none}.drawing a text{cursor:pointer}.drawing a:hover text{text-decoration:underline}\n")
	b.WriteString("@media print{.drawing text.f-accent{text-decoration:underline}}\n")
	return b.String()
}

func hex(c RGB) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// SVG writes a drawing. The bytes depend on the drawing and the options alone.
func SVG(w io.Writer, d *Drawing, o SVGOptions) error {
	s := &svgWriter{b: bufio.NewWriter(w), o: o}
	s.root(d)
	s.items(d.Items)
	s.put("</svg>\n")
	if err := s.b.Flush(); err != nil {
		return fmt.Errorf("write drawing %q: %w", d.Name, err)
	}
	return nil
}

type svgWriter struct {
	b *bufio.Writer
	o SVGOptions
}

func (s *svgWriter) put(parts ...string) {
	for _, p := range parts {
		s.b.WriteString(p)
	}
}

func (s *svgWriter) root(d *Drawing) {
	// A drawing that holds links is a group, for the children of an image are
	// hidden from a screen reader.
	role := "img"
	if !s.o.Alone && hasRefs(d.Items) {
		role = "group"
	}
	s.put(`<svg class="`, strings.TrimSpace("drawing "+escape(s.o.Class)), `"`)
	if s.o.Alone {
		s.put(` xmlns="http://www.w3.org/2000/svg"`)
	}
	if s.o.Alone || s.o.Fixed {
		s.put(` width="`, num(d.W), `" height="`, num(d.H), `"`)
	}
	if d.Name != "" {
		s.put(` id="`, ident(d.Name), `"`)
	}
	s.put(` viewBox="0 0 `, num(d.W), " ", num(d.H), `" role="`, role, `" aria-label="`, escape(d.Title), `">`)
	if d.Title != "" {
		s.put("<title>", escape(d.Title), "</title>")
	}
	s.put("\n")
	if s.o.Alone {
		s.put(`<style>text{font-family:"`, typeface.Family, `","DejaVu Sans",sans-serif;font-kerning:none;font-variant-ligatures:none}`)
		for r := Paper; r <= Accent; r++ {
			fmt.Fprintf(s.b, ".f-%[1]v{fill:%[2]s}.s-%[1]v{stroke:%[2]s}", r, hex(screen[r]))
		}
		s.put("</style>\n", `<rect class="f-paper" width="`, num(d.W), `" height="`, num(d.H), `"/>`, "\n")
	}
}

func hasRefs(items []Item) bool {
	for _, it := range items {
		switch v := it.(type) {
		case Group:
			if v.Ref != "" || v.To != "" || hasRefs(v.Items) {
				return true
			}
		case Text:
			if v.Ref != "" {
				return true
			}
		}
	}
	return false
}

func (s *svgWriter) items(items []Item) {
	for _, it := range items {
		switch v := it.(type) {
		case Line:
			s.put("<line", s.paint(v.Pen, Fill{}, false), attr("x1", v.X1), attr("y1", v.Y1), attr("x2", v.X2), attr("y2", v.Y2), "/>\n")
		case Path:
			s.put("<path", s.paint(v.Pen, v.Fill, true), ` d="`, pathData(v), `"/>`, "\n")
		case Rect:
			s.put("<rect", s.paint(v.Pen, v.Fill, true), attr("x", v.X), attr("y", v.Y), attr("width", max(0, v.W)), attr("height", max(0, v.H)), "/>\n")
		case Circle:
			s.put("<circle", s.paint(v.Pen, v.Fill, true), attr("cx", v.X), attr("cy", v.Y), attr("r", max(0, v.R)), "/>\n")
		case Hatch:
			s.hatch(v)
		case Text:
			s.text(v)
		case Group:
			s.group(v)
		}
	}
}

func (s *svgWriter) group(g Group) {
	link := s.open(g.Ref, g.Title)
	if g.To != "" && g.Ref == "" && !s.o.Alone {
		s.put(`<a href="`, escape(g.To), `">`)
		link = "</a>"
	}
	s.put("<g")
	if g.ID != "" {
		s.put(` id="`, ident(g.ID), `"`)
	}
	s.put(">")
	if g.Title != "" {
		s.put("<title>", escape(g.Title), "</title>")
	}
	s.put("\n")
	s.items(g.Items)
	s.put("</g>", link, "\n")
}

// open begins a link and returns what ends it.
func (s *svgWriter) open(ref, name string) string {
	if ref == "" || s.o.Alone {
		return ""
	}
	href := "/why/" + PathOf(ref)
	if s.o.Href != nil {
		href = s.o.Href(ref)
	}
	s.put(`<a href="`, escape(href), `" data-fig="`, escape(ref), `"`)
	if name != "" { // a link without lettering has its name from here
		s.put(` aria-label="`, escape(name), `"`)
	}
	s.put(">")
	return "</a>"
}

// PathOf writes a reference as the path of an address: each part escaped, the
// strokes between them kept.
func PathOf(ref string) string {
	parts := strings.Split(ref, "/")
	for i, p := range parts {
		parts[i] = url.PathEscape(p)
	}
	return strings.Join(parts, "/")
}

func (s *svgWriter) text(t Text) {
	link := s.open(t.Ref, "")
	role := t.Role
	if role == None {
		role = Ink
	}
	s.put("<text", roleAttr("fill", "f", role), attr("x", t.X), attr("y", t.Y), attr("font-size", t.Size))
	switch t.Anchor {
	case Middle:
		s.put(` text-anchor="middle"`)
	case End:
		s.put(` text-anchor="end"`)
	}
	if t.Bold {
		s.put(` font-weight="600"`)
	}
	if t.Up {
		s.put(` transform="rotate(-90 `, num(t.X), " ", num(t.Y), `)"`)
	}
	s.put(">", escape(t.S), "</text>", link, "\n")
}

func (s *svgWriter) hatch(h Hatch) {
	var b strings.Builder
	for _, l := range h.strokes() {
		b.WriteString("M" + num(l[0].X) + " " + num(l[0].Y) + "L" + num(l[1].X) + " " + num(l[1].Y))
	}
	if b.Len() > 0 {
		s.put("<path", s.paint(h.Pen, Fill{}, true), ` d="`, b.String(), `"/>`, "\n")
	}
}

func (s *svgWriter) paint(p Pen, f Fill, closed bool) string {
	var classes []string
	var b strings.Builder
	switch {
	case f.Shade != Plain:
		b.WriteString(` fill="` + hex(f.colour(&screen)) + `"`)
	case f.Role == Black || f.Role == White:
		b.WriteString(` fill="` + hex(screen[f.Role]) + `"`)
	case f.Role != None:
		classes = append(classes, "f-"+f.Role.String())
	case closed:
		b.WriteString(` fill="none"`)
	}
	if p.Role != None && p.Width > 0 {
		if p.Role >= Black {
			b.WriteString(` stroke="` + hex(screen[p.Role]) + `"`)
		} else {
			classes = append(classes, "s-"+p.Role.String())
		}
		b.WriteString(attr("stroke-width", p.Width))
		for i, v := range p.Dash.pattern() {
			if i == 0 {
				b.WriteString(` stroke-dasharray="` + num(v))
				continue
			}
			b.WriteString(" " + num(v))
		}
		if p.Dash != Solid {
			b.WriteString(`"`)
		}
	}
	if len(classes) > 0 {
		return ` class="` + strings.Join(classes, " ") + `"` + b.String()
	}
	return b.String()
}

func roleAttr(name, prefix string, r Role) string {
	if r >= Black {
		return " " + name + `="` + hex(screen[r]) + `"`
	}
	return ` class="` + prefix + "-" + r.String() + `"`
}

func pathData(p Path) string {
	var b strings.Builder
	pt := func(q Point) string { return num(q.X) + " " + num(q.Y) }
	for _, st := range p.Steps {
		switch st.Kind {
		case MoveTo:
			b.WriteString("M" + pt(st.P))
		case LineTo:
			b.WriteString("L" + pt(st.P))
		case CurveTo:
			b.WriteString("C" + pt(st.A) + " " + pt(st.B) + " " + pt(st.P))
		}
	}
	if p.Closed {
		b.WriteString("Z")
	}
	return b.String()
}

func attr(name string, v Px) string { return " " + name + `="` + num(v) + `"` }

// round2 rounds to 0.01 and turns what is no number into 0.
func round2(v Px) float64 {
	f := math.Round(float64(v)*100) / 100
	if f == 0 || math.IsNaN(f) || math.IsInf(f, 0) {
		return 0
	}
	return f
}

func num(v Px) string { return strconv.FormatFloat(round2(v), 'f', -1, 64) }

// ident keeps what an id may hold.
func ident(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_', r == '.':
			return r
		}
		return '-'
	}, s)
}

// escape writes text for XML and drops what XML forbids.
func escape(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '&':
			b.WriteString("&amp;")
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '"':
			b.WriteString("&#34;")
		case r < ' ', r == 0xfffe, r == 0xffff:
			b.WriteByte(' ')
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
