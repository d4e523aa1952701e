package paper

import (
	"fmt"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

// Pages lays the document out and returns its sheets as drawings.
func (d *Doc) Pages() []*drawing.Drawing {
	var out []*drawing.Drawing
	for _, p := range d.layout() {
		out = append(out, p.drawing)
	}
	return out
}

// WriteTo writes the document as PDF. The bytes depend on the blocks and the
// stated date alone.
func (d *Doc) WriteTo(w io.Writer) (int64, error) {
	date, err := d.date()
	if err != nil {
		return 0, err
	}
	p := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: pageW * typeface.PtPerPx, Ht: pageH * typeface.PtPerPx}})
	p.SetAutoPageBreak(false, 0)
	p.SetMargins(0, 0, 0)
	p.SetCatalogSort(true)
	p.SetCreationDate(date)
	p.SetModificationDate(date)
	p.SetTitle(d.meta.Title, true)
	p.SetSubject(d.meta.Subject, true)
	p.SetProducer("fettle", true)
	p.SetCreator("fettle", true)
	lang := d.meta.Language
	if lang == "" {
		lang = "en"
	}
	p.SetLang(lang)
	drawing.AddFonts(p)
	emit(p, d.layout())
	c := &counter{w: w}
	if err := p.Output(c); err != nil {
		return c.n, fmt.Errorf("write the book %q: %w", d.meta.Title, err)
	}
	return c.n, nil
}

func (d *Doc) date() (time.Time, error) {
	if d.meta.DateISO == "" {
		return time.Unix(0, 0).UTC(), nil
	}
	for _, f := range []string{time.DateOnly, time.RFC3339} {
		if t, err := time.Parse(f, d.meta.DateISO); err == nil {
			return t.UTC(), nil
		}
	}
	return time.Time{}, fmt.Errorf("date %q is neither 2006-01-02 nor RFC 3339", d.meta.DateISO)
}

func emit(p *fpdf.Fpdf, pages []*page) {
	targets := make([]int, len(pages)+1)
	for i := range pages {
		targets[i+1] = p.AddLink()
	}
	for i, pg := range pages {
		p.AddPageFormat("P", fpdf.SizeType{Wd: float64(pg.drawing.W) * typeface.PtPerPx, Ht: float64(pg.drawing.H) * typeface.PtPerPx})
		p.SetLink(targets[i+1], 0, -1)
		for _, m := range pg.marks {
			p.Bookmark(typeface.Printable(m.title, false), m.level, float64(m.y)*typeface.PtPerPx)
		}
		drawing.PDF(p, pg.drawing, drawing.Frame{ScaleRatio: 1})
		for _, l := range pg.links {
			if l.page < 1 || l.page > len(pages) {
				continue
			}
			b, k := l.at, float64(typeface.PtPerPx)
			p.Link(float64(b.Left)*k, float64(b.Top)*k, float64(b.Right-b.Left)*k, float64(b.Bottom-b.Top)*k, targets[l.page])
		}
	}
}

type counter struct {
	w io.Writer
	n int64
}

func (c *counter) Write(b []byte) (int, error) {
	n, err := c.w.Write(b)
	c.n += int64(n)
	return n, err
}
