package formboard

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"strconv"
	"strings"

	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/loom"
)

// Column is a column of a list; a unit makes its cells numbers.
type Column struct {
	Name string `json:"name"`
	Unit string `json:"unit,omitempty"` // "1" for a count
}

// List is something to work by at the bench: a row for each thing, cells as
// text, numbers with a point and in the column's unit.
type List struct {
	Name    string
	Title   string
	Columns []Column
	Rows    [][]string
}

// kinds are the lists there are, in the order of the work.
var kinds = []struct {
	name, title string
	columns     []Column
	make        func(*Board) [][]string
}{
	{
		"pins", "every way of every connector, used or free",
		[]Column{{"connector", ""}, {"of", ""}, {"place", ""}, {"way", ""}, {"does", ""}, {"wire", ""}, {"size", "mm²"}, {"colour", ""}, {"leads to", ""}},
		(*Board).pinRows,
	},
	{
		"wires", "every wire from end to end",
		[]Column{
			{"wire", "1"},
			{"name", ""},
			{"kind", ""},
			{"from", ""},
			{"from place", ""},
			{"to", ""},
			{"to place", ""},
			{"size", "mm²"},
			{"colour", ""},
			{"cover", ""},
			{"length", "m"},
			{"runs with", ""},
			{"guarded by", ""},
			{"mean load", "A"},
			{"size because of", ""},
		},
		(*Board).wireRows,
	},
	{
		"cut", "wires in the order they are cut in: by size and colour, the longest first",
		[]Column{{"size", "mm²"}, {"colour", ""}, {"cover", ""}, {"wire", "1"}, {"and", ""}, {"name", ""}, {"length", "m"}, {"runs with", ""}},
		(*Board).cutRows,
	},
	{
		"cables", "wires that run as one: twisted, or as the cores of a screened cable, and where its screen ends",
		[]Column{{"cable", ""}, {"is", ""}, {"wires", ""}, {"from", ""}, {"to", ""}, {"length", "m"}, {"diameter", "mm"}, {"screen", ""}},
		(*Board).cableRows,
	},
	{
		"apart", "where the wires of injectors and coils keep clear of those of crank, cam and knock (common practice)",
		[]Column{{"where", ""}, {"do", ""}, {"length", "m"}, {"injector and coil wires", ""}, {"their bundle", "mm"}, {"crank, cam and knock wires", ""}, {"bundle of those", "mm"}, {"both take", "mm"}, {"room", "mm"}},
		(*Board).apartRows,
	},
	{
		"reels", "the metres of each size, colour and cover that the cut takes, without waste",
		[]Column{{"size", "mm²"}, {"colour", ""}, {"cover", ""}, {"pieces", "1"}, {"length", "m"}, {"longest", "m"}},
		(*Board).reelRows,
	},
	{
		"splices", "every splice with the wires that meet in it",
		[]Column{{"splice", ""}, {"joins", ""}, {"place", ""}, {"landmark", ""}, {"hottest", ""}, {"wires", "1"}, {"which", ""}, {"copper", "mm²"}},
		(*Board).spliceRows,
	},
	{
		"grounds", "every ground bolt with what it takes",
		[]Column{{"ground", ""}, {"on", ""}, {"place", ""}, {"landmark", ""}, {"wires", "1"}, {"which", ""}},
		(*Board).groundRows,
	},
	{
		"fuse-box", "fuses and relays: where each sits, what it feeds, what ends at each terminal",
		[]Column{{"thing", ""}, {"is", ""}, {"place", ""}, {"terminal", ""}, {"rating", "A"}, {"load", "A"}, {"wires", ""}, {"joined to", ""}, {"feeds", ""}},
		(*Board).boxRows,
	},
	{
		"branches", "the bundles of the harness, from the fuse box outwards",
		[]Column{{"branch", ""}, {"length", "m"}, {"diameter", "mm"}, {"second bundle", "mm"}, {"wires", "1"}, {"hottest", ""}, {"flexes", ""}, {"landmark at its end", ""}},
		(*Board).branchRows,
	},
	{
		"labels", "what is printed on every label and where it goes",
		[]Column{{"label", ""}, {"second line", ""}, {"goes on", ""}, {"place", ""}},
		(*Board).labelRows,
	},
	{
		"materials", "everything the loom and its devices take, and what to buy with an allowance for waste; seals and cavity plugs as if every connector were sealed",
		[]Column{{"group", ""}, {"item", ""}, {"quantity", "1"}, {"counted in", ""}, {"allowance", "%"}, {"to buy", "1"}, {"for", ""}},
		(*Board).materialRows,
	},
}

// ListNames are the names of all lists with what they hold.
func ListNames() []Named {
	var out []Named
	for _, k := range kinds {
		out = append(out, Named{k.name, k.title})
	}
	return out
}

// List makes a list; ok is false when there is none of that name.
func (b *Board) List(name string) (List, bool) {
	for _, k := range kinds {
		if k.name == name {
			return List{Name: k.name, Title: k.title, Columns: k.columns, Rows: k.make(b)}, true
		}
	}
	return List{}, false
}

// Head is the column's heading with its unit: "length [m]".
func (c Column) Head() string {
	if c.Unit == "" || c.Unit == "1" {
		return c.Name
	}
	return c.Name + " [" + c.Unit + "]"
}

// WriteCSV writes a list with its headings.
func (l *List) WriteCSV(w io.Writer) error {
	c := csv.NewWriter(w)
	heads := make([]string, len(l.Columns))
	for i := range l.Columns {
		heads[i] = l.Columns[i].Head()
	}
	if err := c.Write(heads); err != nil {
		return err
	}
	if err := c.WriteAll(l.Rows); err != nil {
		return err
	}
	return c.Error()
}

// MarshalJSON gives every row as an object by the names of the columns; an empty
// cell of a number is null.
func (l *List) MarshalJSON() ([]byte, error) {
	rows := make([]map[string]any, len(l.Rows))
	for i, r := range l.Rows {
		rows[i] = map[string]any{}
		for k, c := range l.Columns {
			switch {
			case c.Unit == "":
				rows[i][c.Name] = r[k]
			case r[k] == "":
				rows[i][c.Name] = nil
			default:
				rows[i][c.Name] = json.Number(r[k])
			}
		}
	}
	return json.Marshal(struct {
		List    string           `json:"list"`
		Title   string           `json:"title"`
		Columns []Column         `json:"columns"`
		Rows    []map[string]any `json:"rows"`
	}{l.Name, l.Title, l.Columns, rows})
}

// metres, squares and amps print a number for a cell.
func metres(m float64) string   { return strconv.FormatFloat(m, 'f', 2, 64) }
func squares(m2 float64) string { return strconv.FormatFloat(m2*1e6, 'g', 4, 64) }
func amps(a float64) string     { return strconv.FormatFloat(a, 'f', 2, 64) }

func warmth(in *figure.Input) string {
	if in == nil {
		return ""
	}
	return celsius(in)
}

// end says where an end of a wire is, for people.
func (b *Board) end(e loom.End) string {
	if s, ok := b.spots[e.Node]; ok {
		return s.Name
	}
	return e.Node
}

// other end of a wire, in words.
func (b *Board) far(i int, node string) string {
	w := &b.Loom.Wires[i]
	if w.From.Node == node {
		return b.end(w.To)
	}
	return b.end(w.From)
}

func (b *Board) landmark(place string) string {
	if i, ok := b.placeAt[place]; ok {
		return b.places[i].More
	}
	return ""
}

// together names the group a wire is twisted or screened in.
func (b *Board) together() map[int]string {
	out := map[int]string{}
	for _, g := range b.Loom.Tree.Groups {
		for _, i := range g.Wires {
			out[i] = g.Name + ", " + g.Kind
		}
		if g.Drain >= 0 {
			out[g.Drain] = g.Name + ", its screen"
		}
	}
	return out
}

// numbers lists wires by their numbers.
func (b *Board) numbers(wires []int) string {
	var out []string
	for _, i := range wires {
		out = append(out, strconv.Itoa(b.Loom.Wires[i].Number))
	}
	return strings.Join(out, " ")
}

func (b *Board) pinRows() (rows [][]string) {
	can := map[string]string{}
	for _, u := range loom.Units(b.Design) {
		for _, p := range b.Loom.Plugs(u) {
			for _, w := range p.Ways {
				says := strings.Join(w.Can, ", ")
				if w.Pin != nil {
					says = w.Pin.Can
				}
				can[w.Name], can[loom.PinNode(w.Name)] = says, says
			}
		}
	}
	for _, c := range b.Connectors {
		it, _ := b.device(c.Device)
		for k, node := range c.Ways {
			does := can[node]
			if !c.Unit {
				does = terminalSays(it, c.Marks[k])
			}
			head := []string{c.ID(), c.Says(), c.At, c.Marks[k], does}
			if len(b.wires[node]) == 0 {
				rows = append(rows, append(head, "", "", "", "free"))
			}
			for _, i := range b.wires[node] {
				w := &b.Loom.Wires[i]
				rows = append(rows, append(head[:5:5], strconv.Itoa(w.Number), squares(w.Area.SI), w.Colour, b.far(i, node)))
			}
		}
	}
	return rows
}

func (b *Board) device(name string) (design.Item, bool) {
	for _, it := range b.Design.Devices {
		if it.Name == name {
			return it, true
		}
	}
	return design.Item{}, false
}

// terminalSays is what a device's terminal is for.
func terminalSays(it design.Item, name string) string {
	t := it.Part.Terminal(name)
	switch {
	case t == nil:
		return ""
	case t.Role == "feed":
		return "supply, " + t.Feed
	case t.Role == "ground" && t.Ground != "":
		return "ground, " + t.Ground
	case t.Needs != "":
		return t.Needs
	}
	return t.Role
}

func (b *Board) wireRows() (rows [][]string) {
	with := b.together()
	for i := range b.Loom.Wires {
		w := &b.Loom.Wires[i]
		rows = append(rows, []string{
			strconv.Itoa(w.Number), w.Name, string(w.Kind), b.end(w.From), w.From.Place, b.end(w.To), w.To.Place, squares(w.Area.SI), w.Colour,
			w.Cover, metres(w.LengthM), with[i], w.Guard.By, amps(w.DesignA), w.Why,
		})
	}
	return rows
}
