package design

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

// Design is the resolved vehicle: every value present, every device with its
// part and place.
type Design struct {
	File    *File
	Tree    *buildfile.Tree
	Cat     *catalogue.Catalogue
	Devices []Item
	// Firing is the firing order as cylinder numbers.
	Firing []int
	// Inputs lists every leaf, sealed, in a fixed order.
	Inputs []*figure.Input
}

// Item is one device of the vehicle.
type Item struct {
	Name     string // "injector 3", or "fuel pump"
	Written  string // the key in the file: "injector"
	Cylinder int    // 0 when it belongs to no cylinder
	Part     *catalogue.Part
	At       string
	Reads    []string // what it tells the controller: the file's word, else its part's
	Pos      diag.Pos
}

// Read turns the bytes of a build file into a design. When any message is an
// error the design is nil.
func Read(file string, src []byte, cat *catalogue.Catalogue) (*Design, []diag.Diagnostic) {
	tree, ds := buildfile.Parse(file, src)
	if tree == nil || hasError(ds) {
		return nil, diag.Sort(ds)
	}
	d, more := FromTree(tree, cat)
	return d, diag.Sort(append(ds, more...))
}

// FromTree is Read for a file that is parsed already.
func FromTree(tree *buildfile.Tree, cat *catalogue.Catalogue) (*Design, []diag.Diagnostic) {
	var ds []diag.Diagnostic
	file := tree.File
	f := &File{}
	ds = append(ds, buildfile.Decode(tree.Root, f, buildfile.Options{
		Source: "stated in " + file, Origin: figure.Stated, Prefix: "build",
	})...)
	d := &Design{File: f, Tree: tree, Cat: cat}
	ds = append(ds, d.fill()...)
	if !hasError(ds) {
		ds = append(ds, d.complete()...)
	}
	ds = append(ds, d.refs()...)
	ds = append(ds, d.expand()...)
	ds = append(ds, d.contradictions()...)
	if hasError(ds) {
		return nil, diag.Sort(ds)
	}
	d.seal()
	return d, diag.Sort(ds)
}

func hasError(ds []diag.Diagnostic) bool {
	worst, ok := diag.Worst(ds)
	return ok && worst == diag.Error
}

// fill takes what the file omits from the archetypes it names, or from the
// default one, and marks it as assumed.
func (d *Design) fill() []diag.Diagnostic {
	var ds []diag.Diagnostic
	f := d.File
	for _, s := range []struct {
		key  string
		into any
		like string
	}{
		{"vehicle", &f.Vehicle, f.Vehicle.Like},
		{"climate", &f.Climate, f.Climate.Like},
		{"fuel", &f.Fuel, f.Fuel.Like},
		{"engine", &f.Engine, f.Engine.Like},
		{"fuel system", &f.System, f.System.Like},
	} {
		ds = append(ds, d.fillSection(s.key, s.like, s.into)...)
	}
	// without a word on it, a cruise is driven in the top gear of the gearbox
	if g, v := f.Gearbox, &f.Vehicle; g != nil && len(g.Ratios) > 0 && (v.CruiseRatio == nil || v.CruiseRatio.Assumed()) {
		v.CruiseRatio = g.Ratios[len(g.Ratios)-1]
	}
	return ds
}

func (d *Design) fillSection(key, like string, into any) []diag.Diagnostic {
	var ds []diag.Diagnostic
	for _, name := range []string{like, "default"} {
		if name == "" {
			continue
		}
		tree, bad, ok := d.Cat.ArchetypeTree(key, name)
		if !ok {
			ds = append(ds, d.noArchetype(key, name))
			continue
		}
		if len(bad) > 0 {
			return append(ds, bad...)
		}
		from := reflect.New(reflect.TypeOf(into).Elem())
		source := "from memory"
		if n := tree.Find("source"); n != nil {
			source = n.Text
		}
		body := tree.Find(key)
		if body == nil {
			return append(ds, diag.Errorf(diag.Pos{File: tree.File, Line: 1, Col: 1}, "missing-section", "the archetype has no section %q", key))
		}
		bad = buildfile.Decode(body, from.Interface(), buildfile.Options{
			Source: source, Origin: figure.Archetype, Prefix: "build",
		})
		// an archetype need not say what every vehicle must say for itself
		bad = slices.DeleteFunc(bad, func(m diag.Diagnostic) bool { return m.Rule == buildfile.RuleMissing })
		ds = append(ds, bad...)
		pos := d.Place(key)
		takeMissing(reflect.ValueOf(into).Elem(), from.Elem(), pos)
	}
	return ds
}

func (d *Design) noArchetype(key, name string) diag.Diagnostic {
	known := slices.DeleteFunc(d.Cat.ArchetypeNames(key), func(s string) bool { return s == "default" })
	pos := d.Place(key, "like")
	dd := diag.Errorf(pos, "unknown-archetype", "there is no archetype %q for %q; known are %s", name, key, strings.Join(known, ", "))
	if near, ok := diag.Nearest(name, known); ok {
		return dd.WithHint("did you mean %q?", near)
	}
	return dd.WithHint("leave %q out to take the default", "like")
}

// complete makes sure that stated values and archetypes together leave nothing out.
func (d *Design) complete() []diag.Diagnostic {
	f := d.File
	var ds []diag.Diagnostic
	for _, s := range []struct {
		key string
		of  any
	}{{"vehicle", f.Vehicle}, {"climate", f.Climate}, {"fuel", f.Fuel}, {"engine", f.Engine}, {"fuel system", f.System}} {
		v := reflect.ValueOf(s.of)
		for i := range v.NumField() {
			field := v.Type().Field(i)
			if v.Field(i).Kind() != reflect.Pointer || !v.Field(i).IsNil() || field.Tag.Get("key") == "" || field.Tag.Get("opt") == "true" {
				continue
			}
			ds = append(ds, diag.Errorf(d.Place(s.key), "missing-value", "%s is not stated and no archetype knows it", s.key+" > "+field.Tag.Get("key")).
				WithHint("add %q", field.Tag.Get("key")))
		}
	}
	return ds
}

// Place is the position of a path in the file, or of its nearest written parent.
func (d *Design) Place(path ...string) diag.Pos {
	if d.Tree == nil {
		return diag.Pos{}
	}
	n := d.Tree.Find(path...)
	if n == nil {
		n = d.Tree.Nearest(path...)
	}
	if n == nil {
		return diag.Pos{File: d.Tree.File, Line: 1, Col: 1}
	}
	if !n.KeyPos.IsZero() && n.Kind != buildfile.Scalar {
		return n.KeyPos
	}
	return n.Pos
}

// takeMissing copies every nil input and list, zero count and empty word of into from
// the archetype. Inputs keep the archetype's source and get the place of the
// user's section.
func takeMissing(into, from reflect.Value, pos diag.Pos) {
	for i := range into.NumField() {
		a, b := into.Field(i), from.Field(i)
		switch v := b.Interface().(type) {
		case *figure.Input:
			if a.IsNil() && v != nil {
				v.Pos = pos
				a.Set(b)
			}
		case *Tyre:
			if a.IsNil() && v != nil {
				v.DiameterM.Pos = pos
				a.Set(b)
			}
		case int:
			if a.Int() == 0 && into.Type().Field(i).Tag.Get("need") == "" {
				a.SetInt(int64(v))
			}
		case string:
			if a.String() == "" && into.Type().Field(i).Tag.Get("key") != "like" {
				a.SetString(v)
			}
		case []Cam:
			if a.IsNil() {
				a.Set(b)
			}
		}
	}
}

// refs finds references to nothing and names used twice.
func (d *Design) refs() []diag.Diagnostic {
	var ds []diag.Diagnostic
	check := func(r buildfile.Ref, what string, known []string) {
		if r.Name == "" || len(known) == 0 {
			return // that there are none at all is said once
		}
		if bad, ok := buildfile.CheckRef(r, what, known); !ok {
			ds = append(ds, bad)
		}
	}
	places := names(d.File.Places)
	if n := d.Tree.Find("places"); len(places) == 0 && n != nil && n.Kind == buildfile.Map {
		ds = append(ds, diag.Errorf(d.Place("places"), "no-places", "no place is named").WithHint("name the places where devices are, one a line"))
	}
	for _, r := range d.File.Routes {
		check(r.From, "place", places)
		check(r.To, "place", places)
		if r.From.Name == r.To.Name && r.From.Name != "" {
			ds = append(ds, diag.Errorf(r.To.Pos, "route-nowhere", "the route from %q ends where it begins", r.From.Name).
				WithHint("name the place that it leads to, or take it out"))
		}
	}
	parts, devices := d.Cat.PartNames(), names(d.File.Devices)
	for _, v := range d.File.Devices {
		check(v.Value.At, "place", places)
		check(v.Value.Part, "part", parts)
	}
	check(d.File.Loom.FuseBox, "place", places)
	if m := d.File.Loom.Main; m != nil {
		check(m.At, "place", places)
	}
	for _, s := range d.File.Loom.Splices {
		check(s.Value.At, "place", places)
	}
	for _, l := range d.File.Leads {
		if bad, ok := buildfile.CheckRef(buildfile.Ref{Name: l.Name, Pos: l.Pos}, "loose lead", LeadNames); !ok {
			ds = append(ds, bad)
		}
		check(l.Value.To, "device", devices)
	}
	return append(ds, d.loomRefs()...)
}

func (d *Design) loomRefs() []diag.Diagnostic {
	var ds []diag.Diagnostic
	feeds, relays := names(d.Cat.Scheme.Feeds), names(d.Cat.Scheme.Relays)
	for _, v := range d.File.Loom.Feeds {
		if bad, ok := buildfile.CheckRef(buildfile.Ref{Name: v.Name, Pos: v.Pos}, "feed", feeds); !ok {
			ds = append(ds, bad)
		}
		if v.Value.Relay != "" {
			pos := d.Place("loom", "feeds", v.Name, "relay")
			if bad, ok := buildfile.CheckRef(buildfile.Ref{Name: v.Value.Relay, Pos: pos}, "relay", relays); !ok {
				ds = append(ds, bad)
			}
		}
	}
	for _, v := range d.File.Loom.Grounds {
		if bad, ok := buildfile.CheckRef(buildfile.Ref{Name: v.Name, Pos: v.Pos}, "ground", []string{"sensor", "power", "head", "body"}); !ok {
			ds = append(ds, bad)
		}
	}
	return ds
}

func names[T any](list []buildfile.Named[T]) []string {
	out := make([]string, len(list))
	for i, v := range list {
		out[i] = v.Name
	}
	return out
}

// expand makes one item of every device, and one for every cylinder where asked.
func (d *Design) expand() []diag.Diagnostic {
	var ds []diag.Diagnostic
	for _, v := range d.File.Devices {
		p := d.Cat.Parts[v.Value.Part.Name]
		if p == nil {
			continue // said by refs
		}
		it := Item{Name: v.Name, Written: v.Name, Part: p, At: v.Value.At.Name, Reads: p.Reads, Pos: v.Pos}
		if len(v.Value.Reads) > 0 {
			it.Reads = v.Value.Reads
			ds = append(ds, mute(&it, v.Value.Pos)...)
		}
		if v.Value.Each == "" {
			d.Devices = append(d.Devices, it)
			continue
		}
		for c := range d.File.Engine.Cylinders {
			it.Name, it.Cylinder = fmt.Sprintf("%s %d", v.Name, c+1), c+1
			d.Devices = append(d.Devices, it)
		}
	}
	for _, kind := range []string{"battery", "alternator", "starter", "controller"} {
		ds = append(ds, d.exactlyOne(kind)...)
	}
	return ds
}

func (d *Design) exactlyOne(kind string) []diag.Diagnostic {
	found := d.OfKind(kind)
	switch len(found) {
	case 1:
		return nil
	case 0:
		if d.unknownPart() {
			return nil // it may be the one; that its part is unknown is said
		}
		return []diag.Diagnostic{diag.Errorf(d.Place("devices"), "missing-device", "no device is of kind %s; exactly one is due", kind).
			WithHint("add a device whose part is of kind %s", kind)}
	}
	return []diag.Diagnostic{diag.Errorf(found[1].Pos, "second-device", "%q is a second device of kind %s; exactly one is due", found[1].Name, kind).
		WithRelated(found[0].Pos, "the first one, %q", found[0].Name).WithHint("take one of them out")}
}

// unknownPart reports whether some device names a part that is not known.
func (d *Design) unknownPart() bool {
	return slices.ContainsFunc(d.File.Devices, func(v buildfile.Named[Device]) bool { return d.Cat.Parts[v.Value.Part.Name] == nil })
}

// Ends lists every device terminal as it is named in the file: "fuel pump 1".
func (d *Design) Ends() []string {
	var out []string
	for _, it := range d.Devices {
		for _, t := range it.Part.Terminals {
			out = append(out, it.Name+" "+t.Name)
		}
	}
	return out
}

// OfKind lists the devices of a kind.
func (d *Design) OfKind(kind string) []Item {
	var out []Item
	for _, it := range d.Devices {
		if it.Part.Kind == kind {
			out = append(out, it)
		}
	}
	return out
}

// One returns the only device of a kind; Read has made sure that there is one
// for battery, alternator, starter and controller.
func (d *Design) One(kind string) Item {
	for _, it := range d.Devices {
		if it.Part.Kind == kind {
			return it
		}
	}
	return Item{}
}

// contradictions finds statements that can't be true together.
func (d *Design) contradictions() []diag.Diagnostic {
	e := &d.File.Engine
	var ds []diag.Diagnostic
	pos := d.Place("engine", "firing order")
	order, err := parseOrder(e.FiringOrder)
	switch {
	case e.FiringOrder == "" || e.Cylinders == 0:
	case err != nil:
		ds = append(ds, diag.Errorf(pos, "firing-order", "firing order %q: %v", e.FiringOrder, err).WithHint("write the cylinder numbers with dashes, as 1-3-4-2"))
	default:
		ds = append(ds, d.checkOrder(order, pos)...)
		d.Firing = order
	}
	ds = append(ds, d.engineSizes()...)
	ds = append(ds, d.displacement()...)
	ds = append(ds, d.banks()...)
	ds = append(ds, d.wheels()...)
	ds = append(ds, d.engineContradictions()...)
	ds = append(ds, d.vehicleContradictions()...)
	return append(ds, d.speedOrder()...)
}

func (d *Design) checkOrder(order []int, pos diag.Pos) []diag.Diagnostic {
	e := &d.File.Engine
	seen := map[int]bool{}
	for _, c := range order {
		if c < 1 || c > e.Cylinders {
			return []diag.Diagnostic{diag.Errorf(pos, "firing-order", "firing order %q names cylinder %d; the engine has 1 to %d", e.FiringOrder, c, e.Cylinders).
				WithRelated(d.Place("engine", "cylinders"), "the number of cylinders")}
		}
		if seen[c] {
			return []diag.Diagnostic{diag.Errorf(pos, "firing-order", "firing order %q names cylinder %d twice", e.FiringOrder, c).
				WithHint("name every cylinder once")}
		}
		seen[c] = true
	}
	if len(order) != e.Cylinders {
		return []diag.Diagnostic{diag.Errorf(pos, "firing-order", "firing order %q names %d cylinders; the engine has %d", e.FiringOrder, len(order), e.Cylinders).
			WithRelated(d.Place("engine", "cylinders"), "the number of cylinders").WithHint("name every cylinder once")}
	}
	return nil
}

// speedOrder wants idle below full power below the limit.
func (d *Design) speedOrder() []diag.Diagnostic {
	e := &d.File.Engine
	steps := []*figure.Input{e.IdleRadPerS, e.PeakRadPerS, e.LimitRadPerS}
	words := []string{"idle speed", "full power speed", "speed limit"}
	var ds []diag.Diagnostic
	for i := 1; i < len(steps); i++ {
		lo, hi := steps[i-1], steps[i]
		if known(lo) && known(hi) && lo.SI >= hi.SI {
			ds = append(ds, diag.Errorf(hi.Pos, "speed-order", "%s %s is not above %s %s", words[i], written(hi), words[i-1], written(lo)).
				WithRelated(lo.Pos, "the %s", words[i-1]))
		}
	}
	if c, h := d.File.Climate.ColdestK, d.File.Climate.HottestK; known(c) && known(h) && c.SI >= h.SI {
		ds = append(ds, diag.Errorf(c.Pos, "climate-order", "coldest %s is not below hottest %s", c.Literal, h.Literal).WithRelated(h.Pos, "the hottest"))
	}
	return ds
}

// known reports whether a value is there and could be read; what could not is
// said already.
func known(in *figure.Input) bool { return in != nil && in.SI > 0 }

// written is a value as the file has it, or as it is assumed.
func written(in *figure.Input) string {
	if in.Assumed() {
		return in.Literal + " (assumed)"
	}
	return in.Literal
}

func parseOrder(s string) ([]int, error) {
	var out []int
	for w := range strings.SplitSeq(s, "-") {
		n, err := strconv.Atoi(strings.TrimSpace(w))
		if err != nil {
			return nil, fmt.Errorf("%q is no cylinder number", w)
		}
		out = append(out, n)
	}
	return out, nil
}

// seal gathers every leaf in the order of the file's form and hashes its name.
func (d *Design) seal() {
	seen := map[*figure.Input]bool{}
	var walk func(v reflect.Value)
	walk = func(v reflect.Value) {
		switch v.Kind() {
		case reflect.Pointer:
			if v.IsNil() {
				return
			}
			if in, ok := v.Interface().(*figure.Input); ok {
				if !seen[in] {
					seen[in] = true
					in.Seal()
					d.Inputs = append(d.Inputs, in)
				}
				return
			}
			if _, ok := v.Interface().(*buildfile.Node); ok {
				return
			}
			walk(v.Elem())
		case reflect.Struct:
			for i := range v.NumField() {
				if v.Type().Field(i).IsExported() {
					walk(v.Field(i))
				}
			}
		case reflect.Slice:
			for i := range v.Len() {
				walk(v.Index(i))
			}
		}
	}
	walk(reflect.ValueOf(d.File))
	walk(reflect.ValueOf(&d.Cat.Scheme))
	done := map[*catalogue.Part]bool{}
	for _, it := range d.Devices {
		if !done[it.Part] {
			done[it.Part] = true
			walk(reflect.ValueOf(it.Part))
		}
	}
}
