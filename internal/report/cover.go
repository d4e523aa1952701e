package report

import (
	"fmt"

	"fettle/internal/drawing"
	"fettle/internal/paper"
	"fettle/internal/typeface"
)

// cautions stand behind the cover of every book, in the order of the work.
var cautions = []string{
	"Fuel stands under pressure for hours after the engine stops. Let the pressure off into a closed vessel, wear eye protection, and keep sparks, flames and hot parts away before a line is opened. Run a hose on its rated pressure only.",
	"A battery that is charged gives off hydrogen, which explodes at 4 % in air. Air the place, keep flames and sparks away, take the negative post off first and put it on last.",
	"Ignition coils give tens of thousands of volts, enough to kill. Switch the ignition off and unplug the coils before you touch the leads, plugs or coils.",
	"Belts, fans and shafts take hands, hair and cloth, and an electric fan may start by itself. Exhaust and coolant burn long after the engine stops.",
	"Exhaust holds carbon monoxide, which has no smell and kills within minutes in a closed place. Run the engine in the open, or with the exhaust led outside.",
	"A jack does not hold a vehicle. Set it on stands on firm, level ground, block the wheels, and shake it before you lie under it.",
	"An engine can run away: a throttle that sticks, a table that is wrong, an output on the wrong pin. Before the first start have a way to cut fuel and ignition within reach, and someone there to use it.",
	"Emissions, roadworthiness, noise, welding, gas and refrigerant are governed by local law and by licensed practice. Ask before you cut; have inspected what must be inspected.",
}

func (b *book) cover() {
	d := b.doc
	d.Sheet("Cover")
	d.Verdict(paper.Run{Text: b.Design.File.Name})
	if r := b.Design.File.Remark; r != "" {
		d.Lede(sentence(r))
	}
	start, trouble := b.Verdict.Start.String(), b.Verdict.Trouble.String()
	if start+trouble != "" {
		d.Say(paper.Run{Text: start, Bold: true}, paper.Run{Text: trouble, Bold: true, Accent: b.Verdict.Stops+b.Verdict.Fixes > 0})
	}
	if l := b.Verdict.Lede.String(); l != "" {
		d.Para(l)
	}
	if len(b.stops) > 0 {
		d.Draw(b.stopBox("cover-stops"), "")
	}
	d.Note(b.provenance())
	d.Contents()
}

func (b *book) cautions() {
	b.doc.Sheet("Cautions")
	b.doc.Verdict(paper.Run{Text: "Before anything is touched"})
	for _, c := range cautions {
		b.doc.Caution(c)
	}
}

// provenance says what made the book and what it can't say.
func (b *book) provenance() string {
	by := "Computed by fettle"
	if b.Version != "" {
		by += " " + b.Version
	}
	by += " from " + b.File
	if b.DateISO != "" {
		by += "; the newest record is of " + b.day()
	}
	return fmt.Sprintf("%s. Of %d values %d were assumed: they stand in brackets, and the last part of the book lists them. "+
		"fettle computes; it does not know what it was not told, and it never says safe.", by, len(b.Design.Inputs), len(b.assumed))
}

const (
	boxPad     = 14
	boxLeading = 18
)

// stopBox lists the stops in a box.
func (b *book) stopBox(name string) *drawing.Drawing {
	w := paper.WidthPx()
	d := &drawing.Drawing{Name: name, Title: count(len(b.stops), "stop") + " that would hurt a person or the engine", W: w}
	y := drawing.Px(boxPad)
	line := func(text string, x drawing.Px, bold bool, role drawing.Role) {
		for _, l := range typeface.Wrap(text, w-x-boxPad, 13, bold) {
			d.Add(drawing.Text{X: x, Y: y + 13, S: l, Size: 13, Bold: bold, Role: role})
			y += boxLeading
		}
	}
	line("stop", boxPad, true, drawing.Accent)
	y += 2
	for _, f := range b.stops {
		line(sentence(f.Msg.String()), boxPad, true, drawing.Ink)
		if h := f.Hint.String(); h != "" {
			line("Mend: "+sentence(h), boxPad+12, false, drawing.Ink)
		}
		y += 4
	}
	d.H = y + boxPad - 4
	d.Items = append([]drawing.Item{drawing.Rect{X: 0, Y: 0, W: w, H: d.H, Pen: drawing.Firm}}, d.Items...)
	return d
}
