package report

import (
	"fmt"

	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/paper"
	"fettle/internal/supply"
)

// mostPx is the tallest piece of the one-line diagram: a sheet less its title
// and note.
const mostPx = 830

func (b *book) power() {
	b.doc.Sheet("Power, one-line")
	s := b.Solved.State(design.Idle)
	if s == nil || !s.Ended.OK {
		b.doc.Verdict(paper.Run{Text: "Hot idle with everything on has no answer."})
		b.doc.Lede("The diagram needs a state that settles. " + b.unsolved(design.Idle))
		return
	}
	b.doc.Verdict(paper.Run{Text: "Hot idle with everything on"})
	b.doc.Lede(fmt.Sprintf("At %s outside. Volts are those across the device that gets least, amperes those through the fuse; beneath a fuse or relay stands what it carries of what it may.",
		show(b.Design.File.Climate.HottestK.SI, "°C")))
	o := supply.Of(b.Solved, s, b.Findings).OneLine("one-line", "Power side, hot idle with everything on", paper.WidthPx())
	for i, part := range o.Sheets(mostPx) {
		caption := ""
		if i == 0 {
			caption = "The alternator's cable ends at the battery's post, behind its own fuse; what M1 carries to the busbar comes from both. Dashes: return path, to the ground bolt named."
		}
		b.doc.Draw(part.Draw(), caption)
	}
	b.charging()
}

// charging draws what the alternator carries over the engine's speed.
func (b *book) charging() {
	p, ok := supply.Charging(b.Solved, "charging", paper.WidthPx())
	if !ok {
		return
	}
	b.doc.Sheet("Power, charging over speed")
	b.doc.Verdict(paper.Run{Text: "What the alternator carries"})
	b.doc.Lede("Each line is one set of loads with the network solved at every speed; where the alternator's line lies above it the battery charges.")
	b.doc.Draw(p.Draw(), "The most the alternator brings at the heat of its place. A ring or disc: the speed from which on it carries the loads.")
	t := paper.Table{Cols: []paper.Col{{Head: "What is on"}, {Head: "At idle, A", Right: true}, {Head: "Alternator there, A", Right: true}, {Head: "Carried"}}}
	for i := range b.Solved.Charging {
		c := &b.Solved.Charging[i]
		if len(c.Points) == 0 {
			continue
		}
		q := &c.Points[0]
		t.Rows = append(t.Rows, paper.Row(capital(supply.CurveNames[c.Key]), show(q.DemandA, "A"), show(q.MostA, "A"), supply.BalanceSays(c)))
	}
	b.doc.Table(t)
	b.loadDump()
}

// loadDump says what the alternator does to the loom when its battery goes.
func (b *book) loadDump() {
	d := b.Solved.Dump
	if d == nil || !d.Ended.OK {
		return
	}
	by := "its lead comes off"
	if d.Isolator {
		by = "the isolator opens"
	}
	text := fmt.Sprintf("If the battery goes at full power because %s, the alternator's terminal rises to %s for some %s (ISO 16750-2).", by, show(d.PostV, "V"), show(d.Pulse.LastsS, "ms"))
	switch lost := d.Unborne(); {
	case len(lost) > 0:
		text += fmt.Sprintf(" %s bears %s and gets %s.", capital(lost[0].Name), show(lost[0].Bears.SI, "V"), show(lost[0].PeakV, "V"))
	default:
		text += fmt.Sprintf(" It reaches %s; none of those whose limit is known gets more than it bears.", count(len(d.Exposed), "device"))
	}
	b.doc.Note(text)
}

// terminalOf returns a device's terminal by its node.
func terminalOf(it design.Item, node string) *catalogue.Terminal {
	for i := range it.Part.Terminals {
		if it.Name+" "+it.Part.Terminals[i].Name == node {
			return &it.Part.Terminals[i].Value
		}
	}
	return nil
}
