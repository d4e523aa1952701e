package drawing

import (
	"fmt"

	"fettle/internal/typeface"
)

// OneLine is the power side of a vehicle as a one-line diagram: sources at the
// left, the busbar, main fuses and relays, the feeds with fuse, voltage and
// current, and where each returns. Every feed is a row and every row keeps its
// own height, so that nothing crosses.
type OneLine struct {
	Name    string
	Title   string
	Width   Px // 1000 on a sheet, 636 on A4
	Sources []Source
	Post    Label   // what the sources are joined at, if Feed leads from there to the busbar: "+ post 14.2 V"
	Feed    *Device // the fuse between the two; nil: the sources stand on the busbar
	Bus     Label   // "B+ 14.1 V"
	Mains   []Main
}

// Source stands on the post or the busbar: battery, alternator, starter.
type Source struct {
	Kind    Kind // Battery, Alternator or Motor
	Name    string
	Ref     string
	Figures []Label
	Fuse    *Device // in its cable
	Ground  string
	Bad     bool
}

// Device is a fuse, relay or switch in a line. Load stands beneath it.
type Device struct {
	Name string // "F7 7.5 A", "K3"
	Ref  string
	Load Label // "34 A of 30 A"
	Bad  bool
}

// Main is a branch from the busbar: a main fuse, perhaps a relay, and its feeds.
type Main struct {
	Fuse  *Device
	Same  bool // the fuse is that of the branch before and is not drawn again
	Relay *Device
	Bus   Label // voltage behind them
	Feeds []Feed
	Bad   bool
}

// Feed is one line to one device.
type Feed struct {
	Fuse      *Device
	Relay     *Device
	Wire      Label  // "BN 0.5 mm²"
	Load      string // what is fed
	Ref       string
	Volt, Amp Label
	Ground    string // where it returns: "G1"
	Bad       bool   // the wire fails
}

const (
	besideW  = 110 // the width for what is fed below which the sources stand over the branches, not beside them
	oneSize  = 12
	fuseHalf = 12 // half the length of a fuse
	labelUp  = 10 // base line of a label above its line
	labelLow = 16 // base line of a label beneath it
)

// oneLayout holds the x of each column.
type oneLayout struct {
	source              Px // centre of the sources' symbols
	post, lead          Px // what the sources stand on, and the fuse from there to the busbar
	top                 Px // the busbar beside the sources
	bus                 Px // the busbar before the branches
	over                bool
	fuse, relay         Px // centres; 0 when no main has one
	branch              Px // where branches behind one fuse part
	sub                 Px // second busbar
	feedFuse, feedRelay Px
	wire, volt, amp     Px // start of the wire's lettering, ends of the figures
	load, loadW         Px
	ground, right       Px
	sourceText          Px // width for the lettering of sources
}

var (
	oneWire = Pen{Role: Ink, Width: 1.3}
	oneBack = Pen{Role: Ink, Width: 1.3, Dash: Dashed}
)

// Draw makes the picture; one that can't fit the width comes out wider.
func (o OneLine) Draw() *Drawing {
	d := &Drawing{Name: o.Name, Title: o.Title, W: o.Width}
	l := o.columns()
	d.W = max(d.W, l.right, l.top+wide(o.Bus.Text, true))
	top := Px(34)
	stands, sourceY := o.stand(d, l, top)
	y := top
	if l.over && len(stands) > 0 {
		y = sourceY + 6
	}
	var taps []Px
	var last Px // the tap before
	for i, m := range o.Mains {
		g, tap, next := o.main(i, m, l, y)
		if m.Same && i > 0 {
			g.Items = append(g.Items, Line{l.branch, last, l.branch, tap, oneWire})
		} else {
			taps = append(taps, tap)
		}
		d.Add(g)
		last = tap
		y = next + 8
	}
	feet := y
	d.H = max(feet, sourceY) + 4
	if len(taps)+len(stands) == 0 {
		d.H = 24
		d.Add(Text{X: 0, Y: 16, S: "no source and no feed is described yet", Size: oneSize, Role: Soft})
		return d
	}
	d.Add(o.bar(l, top, sourceY, taps, stands)...)
	d.Add(o.text(l.top-4, 12, o.Bus, Start, Ink, true))
	return d
}

func (o OneLine) text(x, y Px, l Label, a Anchor, role Role, bold bool) Text {
	if l.Bad {
		role = Accent
	}
	return Text{X: x, Y: y, S: l.Text, Size: oneSize, Anchor: a, Bold: bold || l.Bad, Role: role, Ref: l.Ref}
}

func wide(s string, bold bool) Px { return typeface.WidthPx(s, oneSize, bold) }

func deviceWidth(ds ...*Device) Px {
	var w Px
	for _, d := range ds {
		if d != nil {
			w = max(w, 2*fuseHalf+6, wide(d.Name, d.Bad), wide(d.Load.Text, d.Load.Bad))
		}
	}
	return w
}

// columns measures every label and places the columns.
func (o OneLine) columns() oneLayout {
	var l oneLayout
	var fuse, relay, sub, feedFuse, feedRelay, wire, volt, amp, load, ground Px
	for _, m := range o.Mains {
		fuse, relay, sub = max(fuse, deviceWidth(m.Fuse)), max(relay, deviceWidth(m.Relay)), max(sub, wide(m.Bus.Text, true))
		for _, f := range m.Feeds {
			feedFuse, feedRelay = max(feedFuse, deviceWidth(f.Fuse)), max(feedRelay, deviceWidth(f.Relay))
			wire, volt, amp = max(wire, wide(f.Wire.Text, false)), max(volt, wide(f.Volt.Text, true)), max(amp, wide(f.Amp.Text, f.Amp.Bad))
			load, ground = max(load, wide(f.Load, f.Bad)), max(ground, wide(f.Ground, false))
		}
	}
	for _, s := range o.Sources {
		if s.Fuse != nil {
			l.sourceText = max(l.sourceText, deviceWidth(s.Fuse)+8)
		}
		l.sourceText = max(l.sourceText, min(wide(s.Name, true), 140))
		if g := wide(s.Ground, false); g > 0 { // the name under the earth sign
			l.sourceText = max(l.sourceText, max(g+1, 26+g/2)+8-66)
		}
		for _, f := range s.Figures {
			l.sourceText = max(l.sourceText, min(wide(f.Text, f.Bad), 140))
		}
	}
	gap := func(w Px) Px {
		if w == 0 {
			return 0
		}
		return w + 14
	}
	lead := Px(0) // from the post to the busbar
	if o.Feed != nil {
		lead = deviceWidth(o.Feed) + 20
		l.sourceText = max(l.sourceText, wide(o.Post.Text, true)-62)
	}
	figures := max(wire, volt+8+amp)
	groundW := Px(0)
	if ground > 0 {
		groundW = 34 + ground
	}
	sources := 52 + l.sourceText + 14 + lead
	behind := 12 + gap(fuse) + gap(relay) + gap(sub) + 6 + gap(feedFuse) + gap(feedRelay) + figures + 20 + groundW + 2
	l.over = len(o.Sources) == 0 || o.Width-sources-behind < min(load+16, besideW)
	fixed := sources + behind
	if l.over {
		fixed = 2 + behind
	}
	l.loadW = max(96, min(load+16, o.Width-fixed))
	slack := max(0, o.Width-fixed-l.loadW)
	// Slack goes to the wires, where it reads as length, but not without bound.
	extra := min(slack/4.5, 70)
	place := func(x *Px, w Px) Px {
		if w == 0 {
			return 0
		}
		*x += w + 14 + extra/2
		return *x - (w+14+extra/2)/2
	}
	l.source = 26
	l.post = 52 + l.sourceText + 14
	x := l.post + lead
	if !l.over {
		x += extra
	}
	l.top, l.lead = x, (l.post+x)/2
	if lead == 0 {
		l.post = x
	}
	if l.over {
		x = 2
	}
	l.bus = x
	x += 10
	l.fuse = place(&x, fuse)
	l.branch = x + 1
	l.relay = place(&x, relay)
	x += gap(sub)
	l.sub = x
	x += 6
	l.feedFuse, l.feedRelay = place(&x, feedFuse), place(&x, feedRelay)
	x += 8 + extra
	l.wire = x
	x += max(figures, volt+8+amp)
	l.amp, l.volt = x, x-amp-8
	x += 12 + extra/2
	l.load = x
	l.ground = x + l.loadW + 16
	l.right = x + l.loadW + groundW + 2
	return l
}

// main draws a branch and says where it taps the busbar and where the next may
// begin.
func (o OneLine) main(i int, m Main, l oneLayout, y Px) (Group, Px, Px) {
	g := Group{ID: fmt.Sprintf("%s-main-%d", o.Name, i+1)}
	from := l.bus
	if m.Same && i > 0 {
		from, m.Fuse = l.branch, nil
	}
	low := low(m.Fuse) || low(m.Relay)
	var feet []Px
	start := y
	if len(m.Feeds) == 1 { // one line straight through
		_, at, _ := o.feed(i, 0, m.Feeds[0], l, y)
		y += max(0, start+24-at)
	}
	for j, f := range m.Feeds {
		items, at, next := o.feed(i, j, f, l, y)
		g.Items = append(g.Items, items)
		feet = append(feet, at)
		y = next
	}
	least := Px(30)
	if low {
		least = 44
	}
	tap := start + 24
	if n := len(feet); n > 0 {
		tap = max(start+24, (feet[0]+feet[n-1])/2)
		g.Items = append(g.Items, Line{l.sub, min(feet[0], tap), l.sub, max(feet[n-1], tap), Pen{Role: Ink, Width: 2}})
	}
	y = max(y, tap+least-24)
	pen := oneWire
	if m.Bad {
		pen = Faulty
	}
	g.Items = append(g.Items, Line{from, tap, l.sub, tap, pen})
	g.Items = append(g.Items, fuseItems(m.Fuse, l.fuse, tap)...)
	g.Items = append(g.Items, relayItems(m.Relay, l.relay, tap)...)
	if m.Bus.Text != "" {
		g.Items = append(g.Items, o.text(l.sub-6, tap-labelUp, m.Bus, End, Ink, false))
	}
	return g, tap, y
}

func low(d *Device) bool { return d != nil && d.Load.Text != "" }

// feed draws one row.
func (o OneLine) feed(i, j int, f Feed, l oneLayout, y Px) (Group, Px, Px) {
	g := Group{ID: fmt.Sprintf("%s-feed-%d-%d", o.Name, i+1, j+1)}
	lines := typeface.Wrap(f.Load, l.loadW-14, oneSize, f.Bad)
	boxH := Px(len(lines))*leading + 7
	above := max(labelUp+9+3, boxH/2+3)
	below := boxH/2 + 3
	if f.Wire.Text != "" || low(f.Fuse) || low(f.Relay) {
		below = max(below, labelLow+4)
	}
	at := y + above
	pen, role := oneWire, Ink
	if f.Bad {
		pen, role = Faulty, Accent
	}
	from := l.sub // where the wire proper begins: behind the last device
	if f.Fuse != nil {
		from = l.feedFuse + fuseHalf
	}
	if f.Relay != nil {
		from = l.feedRelay + fuseHalf
	}
	g.Items = append(g.Items, Line{l.sub, at, from, at, oneWire}, Line{from, at, l.load, at, pen})
	g.Items = append(g.Items, fuseItems(f.Fuse, l.feedFuse, at)...)
	g.Items = append(g.Items, relayItems(f.Relay, l.feedRelay, at)...)
	g.Items = append(g.Items,
		o.text(l.volt, at-6, f.Volt, End, Ink, true), o.text(l.amp, at-6, f.Amp, End, Ink, false),
		Text{X: l.wire, Y: at + labelLow, S: f.Wire.Text, Size: oneSize, Role: Soft, Ref: f.Wire.Ref},
		Rect{X: l.load, Y: at - boxH/2, W: l.loadW, H: boxH, Pen: oneWire})
	for k, s := range lines {
		g.Items = append(g.Items, Text{X: l.load + 7, Y: at - boxH/2 + 14.5 + Px(k)*leading, S: s, Size: oneSize, Bold: f.Bad, Role: role, Ref: f.Ref})
	}
	if f.Ground != "" {
		g.Items = append(g.Items, Line{l.load + l.loadW, at, l.ground, at, oneBack})
		g.Items = append(g.Items, earth(l.ground, at, 1, oneWire)...)
		g.Items = append(g.Items, Text{X: l.ground + 13, Y: at + 4.4, S: f.Ground, Size: oneSize, Role: Soft})
	}
	return g, at, at + below
}

// fuseItems is a fuse in a line with its name above and its load beneath.
func fuseItems(d *Device, x, y Px) []Item {
	if d == nil {
		return nil
	}
	pen, role := Pen{Role: Ink, Width: 1.3}, Ink
	if d.Bad {
		pen, role = Pen{Role: Accent, Width: 2.2}, Accent
	}
	return append([]Item{Rect{X: x - fuseHalf, Y: y - 4.5, W: 2 * fuseHalf, H: 9, Pen: pen}}, deviceText(d, x, y, role)...)
}

// relayItems is a contact that makes, with the two dots of its terminals.
func relayItems(d *Device, x, y Px) []Item {
	if d == nil {
		return nil
	}
	pen, role := Pen{Role: Ink, Width: 1.5}, Ink
	if d.Bad {
		pen, role = Pen{Role: Accent, Width: 2.2}, Accent
	}
	items := []Item{
		Rect{X: x - fuseHalf, Y: y - 5, W: 2 * fuseHalf, H: 10, Fill: Filled(Paper)},
		Line{x - fuseHalf, y, x + fuseHalf - 3, y - 7.5, pen},
		Circle{X: x - fuseHalf, Y: y, R: 2, Fill: Filled(pen.Role)},
		Circle{X: x + fuseHalf, Y: y, R: 2, Fill: Filled(pen.Role)},
	}
	return append(items, deviceText(d, x, y, role)...)
}

func deviceText(d *Device, x, y Px, role Role) []Item {
	out := []Item{Text{X: x, Y: y - labelUp, S: d.Name, Size: oneSize, Anchor: Middle, Bold: d.Bad, Role: role, Ref: d.Ref}}
	if d.Load.Text != "" {
		r := Soft
		if d.Load.Bad {
			r = Accent
		}
		out = append(out, Text{X: x, Y: y + labelLow, S: d.Load.Text, Size: oneSize, Anchor: Middle, Bold: d.Load.Bad, Role: r, Ref: d.Load.Ref})
	}
	return out
}
