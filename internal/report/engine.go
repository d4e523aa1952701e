package report

import (
	"fmt"

	"fettle/internal/loom"
	"fettle/internal/paper"
	"fettle/internal/plate"
)

// engine shows the cylinders from above and two turns of wheels and cams.
func (b *book) engine() {
	e := &b.Design.File.Engine
	b.doc.Sheet("Engine")
	b.doc.Verdict(paper.Run{Text: fmt.Sprintf("%s, firing order %s", capital(count(e.Cylinders, "cylinder")), e.FiringOrder)})
	from := "Numbering begins at " + e.NumberedFrom + "."
	if e.NumberedFrom == "" {
		from = "At which end cylinder 1 is the file does not say: look before the loom is laid."
	}
	b.doc.Lede(from + " Beside each cylinder stand its place in the firing order and the controller's ways that serve it.")
	b.doc.Draw(plate.Engine(b.Design, b.Loom, "plan", paper.WidthPx(), false), "")
	b.doc.Heading("Two turns of the crankshaft")
	b.doc.Draw(plate.Trigger(b.Design, "trigger", paper.WidthPx()), "")
}

// faces draws a plug of the controller from both sides.
func (b *book) faces(letter string) {
	for _, p := range b.Loom.Plugs(b.Design.One("controller")) {
		if p.Letter != letter {
			continue
		}
		f := plate.Face(b.Loom, &p, func(w *loom.PlugWay) string { return w.Name })
		f.Width, f.Brief = paper.WidthPx(), true
		for _, side := range []struct {
			name, says string
			mating     bool
		}{
			{"wires", "From the side where the wires enter; way 1 at the cut corner. Full: a wire; open: spare; cross: blank.", false},
			{"mating", "From the side that mates: left and right exchanged.", true},
		} {
			f.Name, f.Title, f.Mating = "face-"+letter+"-"+side.name, "Plug "+letter+", "+side.name+" side", side.mating
			b.doc.Draw(f.Draw(), side.says)
		}
	}
}
