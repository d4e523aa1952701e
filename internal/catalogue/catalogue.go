package catalogue

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"sync"

	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

//go:embed items
var items embed.FS

// Catalogue is every part, cable and archetype that a design can refer to.
type Catalogue struct {
	Parts      map[string]*Part
	Cables     Cables
	Scheme     Scheme
	archetypes map[string][]byte // "engine/inline five" → file
	trees      *sync.Map         // the same, parsed when first asked for
}

// Open reads the embedded items. An error is a fault of fettle's own files.
func Open() (*Catalogue, error) {
	c := &Catalogue{Parts: map[string]*Part{}, archetypes: map[string][]byte{}, trees: &sync.Map{}}
	var all []diag.Diagnostic
	err := fs.WalkDir(items, "items", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || path.Ext(name) != ".yaml" {
			return err
		}
		src, err := items.ReadFile(name)
		if err != nil {
			return err
		}
		all = append(all, c.read(strings.TrimPrefix(name, "items/"), src)...)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read the catalogue: %w", err)
	}
	all = append(all, c.loose()...)
	if len(all) > 0 {
		var b strings.Builder
		diag.Print(&b, all, nil, false)
		return nil, fmt.Errorf("the catalogue does not read:\n%s", b.String())
	}
	return c, nil
}

func (c *Catalogue) read(name string, src []byte) []diag.Diagnostic {
	dir, base := path.Split(strings.TrimSuffix(name, ".yaml"))
	if strings.HasPrefix(dir, "archetypes/") {
		c.archetypes[strings.TrimPrefix(dir, "archetypes/")+base] = src
		return nil
	}
	tree, ds := buildfile.Parse("catalogue/"+name, src)
	if len(ds) > 0 {
		return ds
	}
	switch base {
	case "scheme":
		return decode(tree, "scheme", "practice", &c.Scheme)
	case "cables":
		return decode(tree, "cables", "cable", &c.Cables)
	}
	return c.addPart(tree)
}

func decode(tree *buildfile.Tree, what, prefix string, into any) []diag.Diagnostic {
	source := ""
	if n := tree.Find("source"); n != nil {
		source = n.Text
	}
	return buildfile.Decode(tree.Root, into, buildfile.Options{Source: source, Origin: figure.Part, Prefix: prefix})
}

func (c *Catalogue) addPart(tree *buildfile.Tree) []diag.Diagnostic {
	prefix := "part"
	if n := tree.Find("part"); n != nil {
		prefix = "part/" + n.Text
	}
	p := &Part{}
	ds := decode(tree, "part", prefix, p)
	if len(ds) > 0 {
		return ds
	}
	ds = p.check()
	c.Parts[p.Name] = p
	return ds
}

// With returns a catalogue in which the build's own parts stand before the
// embedded ones. Files are the contents of parts/ by name.
func (c *Catalogue) With(files map[string][]byte) (*Catalogue, []diag.Diagnostic) {
	own := *c
	own.Parts = make(map[string]*Part, len(c.Parts)+len(files))
	for k, v := range c.Parts {
		own.Parts[k] = v
	}
	var ds []diag.Diagnostic
	names := make([]string, 0, len(files))
	for name := range files {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		tree, bad := buildfile.Parse(name, files[name])
		if len(bad) == 0 {
			bad = own.addPart(tree)
		}
		ds = append(ds, bad...)
	}
	return &own, ds
}

// PartFile is the file of an embedded part, from which one of a build's own can
// be made.
func PartFile(name string) ([]byte, error) {
	src, err := items.ReadFile("items/parts/" + name + ".yaml")
	if err != nil {
		return nil, fmt.Errorf("the catalogue has no part %q", name)
	}
	return src, nil
}

// PartNames lists the parts, for "did you mean".
func (c *Catalogue) PartNames() []string {
	out := make([]string, 0, len(c.Parts))
	for name := range c.Parts {
		out = append(out, name)
	}
	slices.Sort(out)
	return out
}

// Archetype returns the file of an archetype by section and name.
func (c *Catalogue) Archetype(section, name string) (file string, src []byte, ok bool) {
	src, ok = c.archetypes[section+"/"+name]
	return "catalogue/archetypes/" + section + "/" + name + ".yaml", src, ok
}

// ArchetypeTree is an archetype's file, parsed once.
func (c *Catalogue) ArchetypeTree(section, name string) (tree *buildfile.Tree, ds []diag.Diagnostic, ok bool) {
	file, src, ok := c.Archetype(section, name)
	if !ok {
		return nil, nil, false
	}
	if t, known := c.trees.Load(file); known {
		return t.(*buildfile.Tree), nil, true
	}
	tree, ds = buildfile.Parse(file, src)
	if len(ds) == 0 {
		c.trees.Store(file, tree)
	}
	return tree, ds, true
}

// ArchetypeNames lists the archetypes of a section.
func (c *Catalogue) ArchetypeNames(section string) []string {
	var out []string
	for k := range c.archetypes {
		if s, name, _ := strings.Cut(k, "/"); s == section {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	return out
}

// loose finds references within the catalogue that lead nowhere.
func (c *Catalogue) loose() []diag.Diagnostic {
	var ds []diag.Diagnostic
	for _, r := range c.Scheme.Relays {
		if c.Parts[r.Value.Part.Name] == nil {
			ds = append(ds, diag.Errorf(r.Value.Part.Pos, "unknown-part", "relay %q is a %q, which is no part", r.Name, r.Value.Part.Name))
		}
	}
	for _, p := range c.Parts {
		for _, t := range p.Terminals {
			if t.Value.Role == "feed" && c.Scheme.Feed(t.Value.Feed) == nil {
				ds = append(ds, diag.Errorf(t.Value.Pos, "unknown-feed", "part %q wants feed %q, which the scheme does not have", p.Name, t.Value.Feed))
			}
		}
	}
	return diag.Sort(append(ds, c.Scheme.Colours.check()...))
}

// Feed returns a feed group by name, nil when there is none.
func (s *Scheme) Feed(name string) *FeedGroup {
	for i := range s.Feeds {
		if s.Feeds[i].Name == name {
			return &s.Feeds[i].Value
		}
	}
	return nil
}

// Relay returns a relay group by name, nil when there is none.
func (s *Scheme) Relay(name string) *RelayGroup {
	for i := range s.Relays {
		if s.Relays[i].Name == name {
			return &s.Relays[i].Value
		}
	}
	return nil
}

// Terminal returns a terminal by name, nil when the part has none such.
func (p *Part) Terminal(name string) *Terminal {
	for i := range p.Terminals {
		if p.Terminals[i].Name == name {
			return &p.Terminals[i].Value
		}
	}
	return nil
}

// check finds what a part's own file contradicts.
func (p *Part) check() []diag.Diagnostic {
	var ds []diag.Diagnostic
	known := make([]string, len(p.Terminals))
	for i, t := range p.Terminals {
		known[i] = t.Name
	}
	end := func(pos diag.Pos, name string) {
		if p.Terminal(name) == nil {
			d := diag.Errorf(pos, "unknown-terminal", "part %q has no terminal %q", p.Name, name)
			ds = append(ds, d.WithHint("name one of its terminals: %s", strings.Join(known, ", ")))
		}
	}
	for _, l := range p.Loads {
		end(l.Pos, l.From)
		end(l.Pos, l.To)
		if what := l.lacks(p); what != "" {
			ds = append(ds, diag.Errorf(l.Pos, "missing-value", "a %s load of part %q has no %s", l.Model, p.Name, what).
				WithHint("add %q to the load", what))
		}
	}
	for _, c := range p.Contacts {
		end(c.Pos, c.From)
		end(c.Pos, c.To)
	}
	section := map[string]bool{
		"battery": p.Battery != nil, "alternator": p.Alternator != nil, "starter": p.Starter != nil,
		"controller": p.Controller != nil, "injector": p.Injector != nil, "coil": p.Coil != nil,
		"pump": p.Pump != nil, "relay": p.Relay != nil,
	}
	if has, due := section[p.Kind]; due && !has {
		ds = append(ds, diag.Errorf(p.Pos, "missing-section", "part %q is of kind %s and has no section %q", p.Name, p.Kind, p.Kind).
			WithHint("add the section %q with its values", p.Kind))
	}
	return ds
}

// lacks names the value that the load's model cannot do without.
func (l *Load) lacks(p *Part) string {
	switch {
	case l.Model == "resistance" && l.Ohm == nil:
		return "resistance"
	case l.Model == "current" && l.CurrentA == nil:
		return "current"
	case l.Model == "power" && l.PowerW == nil:
		return "power"
	case l.Model == "injector" && (p.Injector == nil || l.Ohm == nil):
		return "resistance"
	case l.Model == "coil" && p.Coil == nil, l.Model == "pump" && p.Pump == nil, l.Model == "starter" && p.Starter == nil:
		return l.Model
	case (l.Model == "current" || l.Model == "power") && l.DropOutV == nil:
		return "drop-out"
	}
	return ""
}
