package report

import (
	"fmt"

	"fettle/internal/drawing"
	"fettle/internal/formboard"
	"fettle/internal/paper"
)

// harness sets the harness on lying sheets, at its own size.
func (b *book) harness() {
	tree := formboard.New(b.Design, b.Loom).Tree("harness", 0, nil)
	tree.Width, tree.Height = b.Drawings.Room()
	sheets := tree.Sheets()
	for i, d := range sheets {
		title, listed := "Harness", ""
		if i == 0 {
			listed = title
		}
		if len(sheets) > 1 {
			title = fmt.Sprintf("Harness, sheet %d of %d", i+1, len(sheets))
		}
		b.doc.Wide(title, listed, b.Drawings, d)
	}
}

// fuses sets the time–current chart of every fuse against the wire it guards
// with least room, two beside each other.
func (b *book) fuses() {
	board := formboard.New(b.Design, b.Loom)
	var charts []*drawing.Drawing
	w := (paper.WidthPx() - chartGap) / 2
	for i := range b.Loom.Fuses {
		f := &b.Loom.Fuses[i]
		weakest, ok := board.Weakest(f.Name)
		if !ok {
			continue
		}
		p := board.TimeCurrent(weakest, "chart-"+f.Name, w)
		p.Height = chartHeight
		charts = append(charts, p.Draw())
	}
	if len(charts) == 0 {
		return
	}
	b.doc.Sheet("Fuses against wires")
	b.doc.Lede("Each fuse at its slowest against what the wire behind it with least room stands, up to the bolted short. Hatched: what the wire does not stand.")
	for i := 0; i < len(charts); i += 2 {
		row := &drawing.Drawing{Name: fmt.Sprintf("charts-%d", i/2+1), Title: "fuses against wires", W: paper.WidthPx()}
		for k, c := range charts[i:min(i+2, len(charts))] {
			row.Add(drawing.Group{ID: c.Name, Title: c.Title, Items: drawing.Shift(c.Items, drawing.Px(k)*(w+chartGap), 0)})
			row.H = max(row.H, c.H)
		}
		b.doc.Draw(row, "")
	}
}

const (
	chartGap    = 24
	chartHeight = 230
)

// HarnessSheets sets only the sheets of the harness.
func HarnessSheets(in Input) (*paper.Doc, error) {
	b, err := begin(in)
	if err != nil {
		return nil, err
	}
	b.harness()
	return b.doc, nil
}
