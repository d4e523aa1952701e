package harness

import (
	"maps"
	"slices"
	"strings"

	"fettle/internal/drawing"
)

// piece is a part of a harness that goes on a sheet of its own. Its places are
// those of the whole; cut ones stand for what is on another sheet.
type piece struct {
	tree Tree
	cuts []seam // places of it that go on elsewhere
	back *seam  // where its root goes on
}

// seam joins two sheets at a place.
type seam struct {
	place, row int
	other      *piece
}

// Sheets parts the harness into drawings no larger than Width and Height: the
// trunk on the first, branches that do not fit there on others, each with the
// number of the sheet it goes on at; small parts share a sheet, at one scale. What
// fits one sheet comes as one.
func (t *Tree) Sheets() []*drawing.Drawing {
	if t.Height <= 0 || len(t.Places) == 0 {
		return []*drawing.Drawing{t.Draw()}
	}
	whole := *t
	whole.Way = nil
	pieces := split(&piece{tree: whole}, 0)
	stacks, sheet := stack(pieces), map[*piece]int{}
	for n, ps := range stacks {
		for _, p := range ps {
			sheet[p] = n + 1
		}
	}
	for i, p := range pieces {
		p.tree.Name = t.id("part", i+1)
		for _, c := range p.cuts {
			c.say(p, sheet)
		}
		if p.back != nil {
			p.back.say(p, sheet)
		}
	}
	out := make([]*drawing.Drawing, len(stacks))
	for i, ps := range stacks {
		out[i] = t.sheet(t.id("sheet", i+1), ps)
	}
	return out
}

// say writes the number of the other sheet into the seam's row.
func (c *seam) say(p *piece, sheet map[*piece]int) {
	r := &p.tree.Places[c.place].Rows[c.row]
	r.Label = strings.TrimSuffix(r.Label, numberRoom) + itoa(sheet[c.other])
}

// between is the room between two parts on one sheet.
const between = 18

// stack puts the pieces on sheets, each on the first that has room for it.
func stack(pieces []*piece) (out [][]*piece) {
next:
	for _, p := range pieces {
		for i := range out {
			both := append(slices.Clone(out[i]), p)
			if _, fit := together(both); fit {
				out[i] = both
				continue next
			}
		}
		out = append(out, []*piece{p})
	}
	return out
}

// together lays pieces out one below the other at one scale.
func together(ps []*piece) (all []*laid, fit bool) {
	if len(ps) == 1 {
		l, fits := ps[0].tree.choose(ps[0].tree.Height)
		return []*laid{l}, fits
	}
	for _, s := range scales {
		all, fit = nil, true
		h := Px(-between)
		for _, p := range ps {
			l := p.tree.lay(s)
			all, h, fit = append(all, l), h+between+l.h, fit && l.within()
		}
		all[0].with = all[1:]
		if fit && h+all[0].footH() <= ps[0].tree.Height {
			return all, true
		}
	}
	return all, false
}

// sheet draws pieces one below the other, with one foot.
func (t *Tree) sheet(name string, ps []*piece) *drawing.Drawing {
	d := &drawing.Drawing{Name: name, Title: t.Title, W: t.Width}
	all, _ := together(ps)
	y := Px(0)
	for i, l := range all {
		part := &drawing.Drawing{}
		(&inker{laid: l, d: part}).body()
		if i > 0 {
			y += between
		}
		d.Add(drawing.Shift(part.Items, 0, y)...)
		d.W, y = max(d.W, l.w), y+l.h
	}
	all[0].h = y
	(&inker{laid: all[0], d: d}).foot()
	return d
}

const mostSheets = 40

// split cuts a piece in two until every part fits.
func split(p *piece, depth int) []*piece {
	if _, fits := p.tree.choose(p.tree.Height); fits || depth > mostSheets {
		return []*piece{p}
	}
	rest := p.cutBranch()
	if rest == nil {
		rest = p.cutPlace()
	}
	if rest == nil {
		return []*piece{p}
	}
	return append(split(p, depth+1), split(rest, depth+1)...)
}

// weigh is how many rows hang at each place and beyond it.
func (p *piece) weigh() (l *laid, weight []int) {
	l = p.tree.lay(scales[len(scales)-1])
	weight = make([]int, len(p.tree.Places))
	var visit func(n int)
	visit = func(n int) {
		weight[n] = 2 + len(p.tree.Places[n].Rows)
		for _, c := range l.children[n] {
			visit(c)
			weight[n] += weight[c]
		}
	}
	visit(p.tree.Root)
	return l, weight
}

// parts reports whether anything is won by cutting a place's branch off.
func (p *piece) parts(l *laid, n int) bool {
	return l.reached[n] && n != p.tree.Root && (len(l.children[n]) > 0 || len(p.tree.Places[n].Rows) >= 2)
}

// beyond are a place and all behind it.
func (l *laid) beyond(n int) map[int]bool {
	out := map[int]bool{n: true}
	for _, c := range l.children[n] {
		maps.Copy(out, l.beyond(c))
	}
	return out
}

// fullest is the heaviest branch that fits a sheet, so that few are needed; −1
// when none does.
func (p *piece) fullest(l *laid, weight []int) int {
	best := -1
	for n := range p.tree.Places {
		if !p.parts(l, n) || best >= 0 && weight[n] <= weight[best] {
			continue
		}
		t := p.tree
		t.Root, t.Places = n, slices.Clone(p.tree.Places)
		beyond := l.beyond(n)
		for i := range t.Places {
			if !beyond[i] {
				t.Places[i] = Place{}
			}
		}
		t.Bundles = slices.DeleteFunc(slices.Clone(t.Bundles), func(b Bundle) bool { return !beyond[b.From] || !beyond[b.To] })
		lead := onward("from " + p.tree.Places[l.in[n].parent].Name + ": sheet ")
		lead.Lead = true
		t.Places[n].Rows = append([]Row{lead}, t.Places[n].Rows...)
		if _, fits := t.choose(t.Height); fits {
			best = n
		}
	}
	return best
}

// cutBranch takes off the heaviest branch that fits a sheet, else the one that
// comes nearest to half of the piece.
func (p *piece) cutBranch() *piece {
	l, weight := p.weigh()
	total := weight[p.tree.Root]
	best, half := p.fullest(l, weight), -1
	for n := range p.tree.Places {
		if best >= 0 {
			break
		}
		if p.parts(l, n) && (half < 0 || abs(2*weight[n]-total) < abs(2*weight[half]-total)) {
			half = n
		}
	}
	if best < 0 {
		best = half
	}
	if best < 0 {
		return nil
	}
	beyond := l.beyond(best)
	at, from := p.tree.Places[best], p.tree.Places[l.in[best].parent].Name
	rest := p.part(best, beyond, false)
	lead := onward("from " + from + ": sheet ")
	lead.Lead = true
	rest.tree.Places[best] = at
	rest.tree.Places[best].Rows = append([]Row{lead}, at.Rows...)
	p.tree.Places[best] = Place{Name: at.Name, Note: at.Note, More: at.More, Bulkhead: at.Bulkhead, Rows: []Row{onward("to " + at.Name + ": sheet ")}}
	for i := range rest.cuts {
		if rest.cuts[i].place == best {
			rest.cuts[i].row++
		}
	}
	p.cuts = append(p.cuts, seam{best, 0, rest})
	rest.back = &seam{best, 0, p}
	return rest
}

// part moves the places in a set, and the bundles and seams among them, to a new
// piece with the given root; the root stays in both, its seams in one.
func (p *piece) part(root int, beyond map[int]bool, seamsStay bool) *piece {
	rest := &piece{tree: p.tree}
	rest.tree.Root, rest.tree.Bundles = root, nil
	rest.tree.Places = slices.Clone(p.tree.Places)
	p.tree.Places = slices.Clone(p.tree.Places)
	var kept []Bundle
	for _, b := range p.tree.Bundles {
		switch in := beyond[b.From] && beyond[b.To]; {
		case in:
			rest.tree.Bundles = append(rest.tree.Bundles, b)
		default:
			kept = append(kept, b)
		}
	}
	p.tree.Bundles = kept
	var cuts []seam
	for _, c := range p.cuts {
		if !beyond[c.place] || c.place == root && seamsStay {
			cuts = append(cuts, c)
			continue
		}
		rest.cuts = append(rest.cuts, c)
		c.other.back.other = rest
	}
	p.cuts = cuts
	for n := range p.tree.Places {
		switch {
		case n == root:
		case beyond[n]:
			p.tree.Places[n] = Place{}
		default:
			rest.tree.Places[n] = Place{}
		}
	}
	return rest
}

// numberRoom stands for the number of a sheet until it is known, so that nothing
// moves when it comes.
const numberRoom = "88"

func onward(label string) Row {
	return Row{Sign: Onward, Label: label + numberRoom, Things: []Thing{{ID: "on " + label, Title: strings.TrimSuffix(label, ": sheet ") + ", another sheet"}}}
}

// cutPlace parts a place that alone is too much: its rows or its branches,
// whichever are more.
func (p *piece) cutPlace() *piece {
	l, _ := p.weigh()
	rows, kids := 0, 0
	for n := range p.tree.Places {
		rows, kids = max(rows, len(p.tree.Places[n].Rows)), max(kids, len(l.children[n]))
	}
	if kids >= rows {
		if rest := p.cutKids(); rest != nil {
			return rest
		}
	}
	if rest := p.cutRows(); rest != nil {
		return rest
	}
	return p.cutKids()
}

// cutRows takes the second half of a place's rows off.
func (p *piece) cutRows() *piece {
	most := -1
	for n := range p.tree.Places {
		if most < 0 || len(p.tree.Places[n].Rows) > len(p.tree.Places[most].Rows) {
			most = n
		}
	}
	rows := p.tree.Places[most].Rows
	if len(rows) < 3 {
		return nil
	}
	half := len(rows) / 2
	for slices.ContainsFunc(p.cuts, func(c seam) bool { return c.place == most && c.row >= half }) {
		half++
	}
	if half >= len(rows) {
		return nil
	}
	rest := &piece{tree: p.tree}
	rest.tree.Root, rest.tree.Bundles = most, nil
	rest.tree.Places = make([]Place, len(p.tree.Places))
	at := p.tree.Places[most]
	lead := onward("more of " + at.Name + ": sheet ")
	lead.Lead = true
	at.Rows = append([]Row{lead}, rows[half:]...)
	for i := range at.Rows[1:] {
		at.Rows[i+1].Lead = false
	}
	rest.tree.Places[most] = at
	p.tree.Places = slices.Clone(p.tree.Places)
	p.tree.Places[most].Rows = append(slices.Clone(rows[:half]), onward("more: sheet "))
	p.cuts = append(p.cuts, seam{most, half, rest})
	rest.back = &seam{most, 0, p}
	return rest
}

// cutKids takes half of a place's branches off.
func (p *piece) cutKids() *piece {
	l, _ := p.weigh()
	most := p.tree.Root
	for n := range p.tree.Places {
		if l.reached[n] && len(l.children[n]) > len(l.children[most]) {
			most = n
		}
	}
	kids := l.children[most]
	if len(kids) < 2 {
		return nil
	}
	beyond := map[int]bool{most: true}
	var visit func(n int)
	visit = func(n int) {
		beyond[n] = true
		for _, c := range l.children[n] {
			visit(c)
		}
	}
	for _, c := range kids[len(kids)/2:] {
		visit(c)
	}
	at := p.tree.Places[most]
	rest := p.part(most, beyond, true)
	lead := onward("more of " + at.Name + ": sheet ")
	lead.Lead = true
	at.Rows = []Row{lead}
	rest.tree.Places[most] = at
	p.tree.Places[most].Rows = append(slices.Clone(p.tree.Places[most].Rows), onward("more: sheet "))
	p.cuts = append(p.cuts, seam{most, len(p.tree.Places[most].Rows) - 1, rest})
	rest.back = &seam{most, 0, p}
	return rest
}

func abs(n int) int { return max(n, -n) }
