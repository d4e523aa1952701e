package report

import (
	"fmt"

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

// HarnessSheets sets only the sheets of the harness.
func HarnessSheets(in Input) (*paper.Doc, error) {
	b, err := begin(in)
	if err != nil {
		return nil, err
	}
	b.harness()
	return b.doc, nil
}
