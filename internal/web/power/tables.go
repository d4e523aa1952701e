package power

import (
	"math"
	"net/url"
	"slices"
	"strings"

	"fettle/internal/catalogue"
	"fettle/internal/figure"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

// nothingA is the current below which a device or wire is listed as carrying
// nothing: a thousandth of what the smallest lamp draws.
const nothingA = 0.5e-3

// partsLike lists the parts that could stand in a part's stead: those of its
// kind that have its terminals.
func (v sheet) partsLike(p *catalogue.Part) []string {
	var out []string
	for _, name := range v.r.Design.Cat.PartNames() {
		q := v.r.Design.Cat.Parts[name]
		fits := q.Kind == p.Kind
		for _, t := range p.Terminals {
			fits = fits && q.Terminal(t.Name) != nil
		}
		if fits {
			out = append(out, name)
		}
	}
	return out
}

// Device is a row of the devices, the one with the least volts first.
type Device struct {
	Name, Href, At string
	Picked         bool
	Volts, Amps    shell.Fig
	Needs          shell.Fig
	Part           *shell.Field
}

// consumers are the subjects that have volts across them in the state, with the
// lowest first, apart from the sources.
func (v sheet) consumers() []string {
	var out []string
	for _, f := range v.r.Ledger.All() {
		rest, ok := strings.CutPrefix(string(f.ID), v.s.Key+"/")
		subject, what, _ := strings.Cut(rest, "/")
		if ok && what == "VoltageV" && subject != "battery" && !strings.HasPrefix(subject, "node ") {
			out = append(out, subject)
		}
	}
	slices.SortStableFunc(out, func(a, b string) int {
		x, y := v.si(v.id(a, "VoltageV")), v.si(v.id(b, "VoltageV"))
		switch {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	return out
}

func (v sheet) devices() (on []Device, idle []string) {
	for _, name := range v.consumers() {
		if math.Abs(v.si(v.id(name, "CurrentA"))) < nothingA {
			idle = append(idle, name)
			continue
		}
		on = append(on, v.device(name))
	}
	return on, idle
}

func (v sheet) device(name string) Device {
	d := Device{Name: name, Href: v.pickHref(name)}
	d.Volts, d.Amps = v.in(v.id(name, "VoltageV"), "V", 2), v.in(v.id(name, "CurrentA"), "A", 2)
	for _, it := range v.r.Design.Devices {
		if it.Name != name && !strings.HasPrefix(name, it.Name+" ") {
			continue
		}
		d.At = it.At
		if it.Name != name || it.Part.Needs == nil || it.Part.Needs.VoltageV == nil {
			continue
		}
		need := it.Part.Needs.VoltageV
		d.Needs = v.in(need.ID, "V", 2)
		d.Volts.Bad = v.si(v.id(name, "VoltageV")) < need.SI
	}
	return d
}

func (v sheet) pickHref(device string) string {
	return "/power?" + url.Values{"state": {v.s.Key}, "device": {device}}.Encode() + "#ladder"
}

// Wire is a row of the wires.
type Wire struct {
	ID, Number, Name string
	Colour           string
	Chip             []string // colours of the chip, the stripe second
	Size             *shell.Field
	Area             shell.Fig
	Length, Amps     shell.Fig
	Drop, Limit      shell.Fig
	Kind             string
}

// wires lists the wires, those that use most of what they may lose first; those
// that carry nothing in the state apart.
func (v sheet) wires() (carrying, others []Wire) {
	type row struct {
		w     Wire
		share float64
	}
	var rows []row
	for i := range v.r.Loom.Wires {
		w := &v.r.Loom.Wires[i]
		name := vehicle.WireName(w.Number)
		if !v.s.Ended.OK || math.Abs(v.si(v.id(name, "CurrentA"))) < nothingA {
			row := v.wire(w)
			row.Size = nil // is changed in a state in which it matters
			others = append(others, row)
			continue
		}
		share := math.Abs(v.si(v.id(name, "DropV")))
		if w.LimitV > 0 {
			share /= w.LimitV
		}
		rows = append(rows, row{v.wire(w), share})
	}
	slices.SortStableFunc(rows, func(a, b row) int {
		switch {
		case a.share > b.share:
			return -1
		case a.share < b.share:
			return 1
		}
		return 0
	})
	for _, r := range rows {
		carrying = append(carrying, r.w)
	}
	return carrying, others
}

func (v sheet) wire(w *loom.Wire) Wire {
	name := vehicle.WireName(w.Number)
	out := Wire{
		ID: vehicle.WireAnchor(w.Number), Number: strings.TrimPrefix(name, "wire "), Name: w.Name, Colour: w.Colour, Chip: chip(w.Colour), Kind: string(w.Kind),
		Length: v.in(vehicle.WireLengthID(w), "m", 2), Limit: v.in(vehicle.WireLimitID(w), "V", 3),
		Amps: v.amount(v.id(name, "CurrentA"), "A", 2), Drop: v.amount(v.id(name, "DropV"), "V", 3),
	}
	out.Drop.Bad = v.fails(w)
	out.Area, _ = v.figs.Of(w.Area.ID)
	path := v.sizePath(w)
	f := v.forms.Field("Size of "+name+", "+w.Name, name, v.written(path), w.Size, path...)
	out.Size = &f
	return out
}

// sizePath is where a wire's size is written, or would be: at its feed when the
// user wrote it there, else at the wire's own name.
func (v sheet) sizePath(w *loom.Wire) []string {
	wire := []string{"loom", "wires", w.Name, "size"}
	feed := []string{"loom", "feeds", w.Feed, "size"}
	tree := v.r.Design.Tree
	if tree.Find(wire...) == nil && w.Feed != "" && v.r.Loom.Heads(w) && tree.Find(feed...) != nil {
		return feed
	}
	return wire
}

// colourWords are the colours of IEC 60757.
var colourWords = []string{"BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "TQ"}

// chip splits the letters of a wire into its colours, nil when they are unknown.
func chip(letters string) []string {
	var out []string
	for i := 0; i+2 <= len(letters) && len(out) < 2; i += 2 {
		if slices.Contains(colourWords, letters[i:i+2]) {
			out = append(out, letters[i:i+2])
		}
	}
	return out
}

// Feed is a row of the feeds: what is fed, from where, through which fuse.
type Feed struct {
	ID, Name, Is string
	Fuse         string
	From, Relay  *shell.Field
	Rating       *shell.Field
	RatingFig    shell.Fig
	Load         shell.Fig
	Bad          bool
	Blown        string // what its blowing does
}

// blown says what a blown fuse does to the engine, and what it takes with it.
func blown(f *loom.Fuse) string {
	s := "the engine " + string(f.Lost.Outcome)
	if f.Lost.Why != "" {
		s += ": " + f.Lost.Why
	}
	if n := len(f.Lost.Devices); n > 0 && n <= mostLost {
		s += "; without supply: " + strings.Join(f.Lost.Devices, ", ")
	} else if n > mostLost {
		s += "; without supply: " + strings.Join(f.Lost.Devices[:mostLost], ", ") + " and more"
	}
	return s
}

// mostLost is how many devices are named in a row.
const mostLost = 6

func (v sheet) feeds() []Feed {
	var out []Feed
	for i := range v.r.Loom.Fuses {
		f := &v.r.Loom.Fuses[i]
		row := Feed{ID: "fuse-" + f.Name, Name: f.Feed, Fuse: f.Name}
		row.Load = v.amount(v.id("fuse "+f.Name, "CurrentA"), "A", 2)
		row.Blown = blown(f)
		row.RatingFig, _ = v.figs.Of(f.RatingA.ID)
		if g := v.r.Design.Cat.Scheme.Feed(f.Feed); g != nil {
			row.ID, row.Is = "feed-"+shell.Slug(f.Feed), g.Is
			v.feedFields(&row, f, g)
		} else {
			row.Name, row.Is = "main", v.word(f.From)+" to "+v.word(f.To)
			if f.Relay != "" {
				row.Name, row.Is = "relay "+f.Relay, "before the relay that feeds several groups"
			}
		}
		row.Bad = v.wrong["power#feed-"+f.Feed] || v.wrong["power#"+row.ID] || v.wrong["power#fuse-"+f.Name]
		row.Load.Bad = v.wrong["power#fuse-"+f.Name]
		out = append(out, row)
	}
	return out
}

// terminals are where a feed can come from, DIN 72552.
var terminals = []string{"30", "15", "75", "50"}

func (v sheet) feedFields(row *Feed, f *loom.Fuse, g *catalogue.FeedGroup) {
	what := "feed " + f.Feed
	path := func(key string) []string { return []string{"loom", "feeds", f.Feed, key} }
	from, relay, rating := v.written(path("from")), v.written(path("relay")), v.written(path("fuse"))
	none := "relay, decided"
	if g.From != "" && g.Relay == "" {
		none = g.From + ", decided"
	}
	if relay != "" {
		none = "relay"
	}
	a := v.forms.Choice("Terminal that feeds "+f.Feed, what+" from", from, none, terminals, path("from")...)
	none = "none"
	if g.Relay != "" && from == "" {
		none = g.Relay + ", decided"
	}
	var groups []string
	for _, r := range v.r.Design.Cat.Scheme.Relays {
		groups = append(groups, r.Name)
	}
	b := v.forms.Choice("Relay that feeds "+f.Feed, what+" relay", relay, none, groups, path("relay")...)
	c := v.forms.Field("Fuse of "+f.Feed, "fuse "+f.Name, rating, v.plain(f.RatingA.ID), path("fuse")...)
	row.From, row.Relay, row.Rating = &a, &b, &c
}

// written is the text at a path of the file, empty when nothing is.
func (v sheet) written(path []string) string {
	if n := v.r.Design.Tree.Find(path...); n != nil {
		return n.Text
	}
	return ""
}

// plain is a figure with its unit as plain text, for a field.
func (v sheet) plain(id figure.ID) string {
	f, _ := v.figs.Of(id)
	return f.Text
}

// Relay is a row of the relays.
type Relay struct {
	ID, Name, Is      string
	Feeds             string
	Amps, Limit, Left shell.Fig
}

func (v sheet) relays() []Relay {
	var out []Relay
	for i := range v.r.Loom.Relays {
		k := &v.r.Loom.Relays[i]
		row := Relay{ID: "relay-" + k.Name, Name: k.Name, Is: k.Group, Feeds: strings.Join(k.Feeds, ", ")}
		row.Amps = v.in(v.id("relay "+k.Name, "CurrentA"), "A", 1)
		row.Limit = v.in(k.Part.Relay.ContactA.ID, "A", 1)
		left := figure.ID("room/" + v.s.Key + "/" + k.Name + "/CurrentA/left")
		row.Left = v.in(left, "A", 1)
		bad := v.si(left) < 0
		row.Left.Bad, row.Amps.Bad = bad, bad
		out = append(out, row)
	}
	return out
}

// Ground is a kind of ground and what it is joined to.
type Ground struct {
	ID, Name, Now string
	Joins         shell.Field
}

// joinWords are what a ground can be joined to.
var joinWords = []string{"controller", "power", "head", "body"}

func (v sheet) grounds() []Ground {
	var out []Ground
	kinds := []string{"sensor"}
	for _, g := range v.r.Design.File.Loom.Grounds {
		if !slices.Contains(kinds, g.Name) {
			kinds = append(kinds, g.Name)
		}
	}
	for _, kind := range kinds {
		path := []string{"loom", "grounds", kind, "joins"}
		row := Ground{ID: "ground-" + kind, Name: kind + " ground"}
		row.Joins = v.forms.Choice("What the "+kind+" ground joins", row.Name, v.written(path), "decided by fettle", joinWords, path...)
		if w, ok := v.r.Loom.Wire(kind + " ground"); ok {
			row.Now = vehicle.WireName(w.Number) + " to " + w.To.Node
		}
		out = append(out, row)
	}
	return out
}
