package loom

import (
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/diag"
)

// colourScheme checks the colours that the user wrote and makes the scheme: the user's
// functions before the catalogue's.
func (p *planner) colourScheme() {
	f := &p.d.File.Loom
	p.colours = p.d.Cat.Scheme.Colours.Over(f.Colours)
	if f.Colours != nil {
		for _, fn := range f.Colours.Functions() {
			for _, c := range *fn.Colours {
				p.checkColour(c, "colour of "+fn.Name, p.d.Place("loom", "colours", fn.Name))
			}
		}
	}
	for _, v := range f.Feeds {
		if v.Value.Colour != "" {
			p.checkColour(v.Value.Colour, "colour of the supply "+v.Name, p.d.Place("loom", "feeds", v.Name, "colour"))
		}
	}
	for _, v := range f.Wires {
		if v.Value.Colour != "" {
			p.checkColour(v.Value.Colour, "colour of wire "+v.Name, p.d.Place("loom", "wires", v.Name, "colour"))
		}
	}
}

func (p *planner) checkColour(colour, what string, pos diag.Pos) {
	bad := catalogue.ColourFault(colour)
	if bad == "" {
		return
	}
	d := diag.Errorf(pos, "colour", "the %s is %q, which is no code of IEC 60757; allowed are one or two of %s", what, colour, strings.Join(catalogue.ColourCodes[:], ", "))
	p.bad = append(p.bad, d.WithHint("write the two letters of the base colour, then those of the stripe, as RD or RDWH"))
}

// colour gives a wire its letters by what it does; what the user wrote for the
// wire itself, then for its supply, goes first.
func (p *planner) colour(w *Wire) string {
	if f := p.fixes[w.Name]; f != nil && f.Colour != "" {
		return f.Colour
	}
	c := &p.colours
	switch w.Kind {
	case Post:
		return turn(c.Posts, w.Number)
	case Strap:
		return turn(c.Straps, w.Number)
	case Supply:
		for _, v := range p.d.File.Loom.Feeds {
			if v.Name == w.Feed && v.Value.Colour != "" {
				return v.Value.Colour
			}
		}
		i := slices.IndexFunc(p.d.Cat.Scheme.Feeds, func(f buildfile.Named[catalogue.FeedGroup]) bool { return f.Name == w.Feed })
		return turn(c.Supplies, max(i, 0))
	case Return:
		return turn(c.Grounds, w.Number)
	case Screen:
		return screenColour
	case Output:
		return turn(c.Outputs, w.Number)
	}
	return turn(c.Signals, w.Number)
}

// screenColour stands for bare tinned copper: silver in IEC 60757.
const screenColour = "SR"

func turn(colours []string, n int) string { return colours[n%len(colours)] }
