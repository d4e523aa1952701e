package drawing

import (
	"encoding/json"
	"fmt"
	"io"

	"fettle/internal/typeface"
)

// Geometry writes the drawing's shapes as JSON, one item a line, for golden
// files that tell what moved.
func Geometry(w io.Writer, d *Drawing) error {
	head, err := json.Marshal(map[string]any{"name": d.Name, "size": []float64{round2(d.W), round2(d.H)}})
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintf(w, "[\n%s", head); err != nil {
		return err
	}
	var fail error
	leaves(d.Items, "", func(it Item, ref string) {
		line, err := json.Marshal(shape(it, ref))
		if err != nil && fail == nil {
			fail = err
		}
		if _, err := fmt.Fprintf(w, ",\n%s", line); err != nil && fail == nil {
			fail = err
		}
	})
	if fail != nil {
		return fmt.Errorf("write the geometry of %q: %w", d.Name, fail)
	}
	_, err = io.WriteString(w, "\n]\n")
	return err
}

func shape(it Item, ref string) map[string]any {
	out := map[string]any{}
	if ref != "" {
		out["ref"] = ref
	}
	at := func(vs ...Px) []float64 {
		f := make([]float64, len(vs))
		for i, v := range vs {
			f[i] = round2(v)
		}
		return f
	}
	pen := func(p Pen) {
		if p.Role != None {
			out["pen"] = []any{p.Role.String(), round2(p.Width), int(p.Dash)}
		}
	}
	fill := func(f Fill) {
		if !f.open() {
			out["fill"] = []any{f.Role.String(), int(f.Shade), round2(Px(f.LevelFrac))}
		}
	}
	switch v := it.(type) {
	case Line:
		out["line"] = at(v.X1, v.Y1, v.X2, v.Y2)
		pen(v.Pen)
	case Path:
		out["path"] = pathData(v)
		pen(v.Pen)
		fill(v.Fill)
	case Rect:
		out["rect"] = at(v.X, v.Y, v.W, v.H)
		pen(v.Pen)
		fill(v.Fill)
	case Circle:
		out["circle"] = at(v.X, v.Y, v.R)
		pen(v.Pen)
		fill(v.Fill)
	case Hatch:
		out["hatch"] = at(v.X, v.Y, v.W, v.H)
		pen(v.Pen)
	case Text:
		out["text"], out["at"] = v.S, at(v.X, v.Y, v.Size)
		out["role"], out["anchor"], out["bold"] = v.Role.String(), int(v.Anchor), v.Bold
		if v.Ref != "" {
			out["ref"] = v.Ref
		}
	}
	return out
}

// Extent is an upright rectangle by its edges.
type Extent struct{ Left, Top, Right, Bottom Px }

func (b Extent) meets(o Extent) bool {
	return b.Left < o.Right && o.Left < b.Right && b.Top < o.Bottom && o.Top < b.Bottom
}

// Extent is the room a text takes, by the font's measure.
func (t Text) Extent() Extent {
	wide := typeface.WidthPx(t.S, t.Size, t.Bold)
	left := Px(0)
	switch t.Anchor {
	case Middle:
		left = -wide / 2
	case End:
		left = -wide
	}
	up, down := typeface.CapPx(t.Size), typeface.DescentPx(t.Size)
	if t.Up {
		return Extent{t.X - up, t.Y - left - wide, t.X + down, t.Y - left}
	}
	return Extent{t.X + left, t.Y - up, t.X + left + wide, t.Y + down}
}

// Clashes lists, in words, every text that overlaps another, is crossed by a
// line or hatch, or leaves the drawing. A good drawing has none.
func Clashes(d *Drawing) []string {
	var out []string
	var texts []Text
	var segs [][2]Point
	leaves(d.Items, "", func(it Item, _ string) {
		if t, ok := it.(Text); ok {
			if t.S != "" {
				texts = append(texts, t)
			}
			return
		}
		segs = append(segs, segments(it)...)
	})
	for i, t := range texts {
		b := t.Extent()
		if b.Left < -0.5 || b.Top < -0.5 || b.Right > d.W+0.5 || b.Bottom > d.H+0.5 {
			out = append(out, fmt.Sprintf("%q leaves the drawing: %.0f … %.0f × %.0f … %.0f of %.0f × %.0f", t.S, b.Left, b.Right, b.Top, b.Bottom, d.W, d.H))
		}
		for _, u := range texts[i+1:] {
			if b.meets(u.Extent()) {
				out = append(out, fmt.Sprintf("%q overlaps %q at %.0f, %.0f", t.S, u.S, t.X, t.Y))
			}
		}
		small := Extent{b.Left + 0.5, b.Top + 0.5, b.Right - 0.5, b.Bottom - 0.5}
		for _, s := range segs {
			if crosses(small, s) {
				out = append(out, fmt.Sprintf("%q is crossed by a line from %.0f, %.0f to %.0f, %.0f", t.S, s[0].X, s[0].Y, s[1].X, s[1].Y))
				break
			}
		}
	}
	return out
}
