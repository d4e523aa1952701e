package buildfile_test

import (
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/buildfile/badtest"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

// workshop is what the files of testdata/bad are decoded into: one field of
// every form that a build file has.
type workshop struct {
	Name   string                     `key:"name" need:"true"`
	Fuel   string                     `key:"fuel" words:"petrol|diesel|gas"`
	Layout layout                     `key:"layout"`
	Turbo  bool                       `key:"turbo"`
	Count  int                        `key:"cylinders" min:"1" max:"16"`
	Engine *engine                    `key:"engine"`
	Relays []buildfile.Named[relay]   `key:"relays"`
	Wires  []wire                     `key:"wires"`
	Colour []string                   `key:"colours"`
	Gears  []*figure.Input            `key:"gears" kind:"ratio" above:"0"`
	Loads  []buildfile.Named[measure] `key:"loads"`
	Pos    diag.Pos
	Node   *buildfile.Node
}

type layout string

func (layout) Words() []string { return []string{"inline", "vee", "flat"} }

type engine struct {
	Common
	Bore   *figure.Input `key:"bore" need:"true" kind:"length" min:"20 mm" max:"400 mm"`
	Stroke *figure.Input `key:"stroke" kind:"length" above:"0 mm" max:"400 mm"`
	Rail   *figure.Input `key:"rail pressure" kind:"pressure" min:"0 bar"`
	Idle   *figure.Input `key:"idle speed" kind:"rotational speed" max:"3000 rpm"`
	Pos    diag.Pos
	Node   *buildfile.Node
}

// Common is embedded: its keys are the engine's.
type Common struct {
	Note string `key:"note"`
}

type relay struct {
	Coil *figure.Input `key:"coil" need:"true" kind:"resistance"`
	Feed buildfile.Ref `key:"feed"`
	diag.Pos
}

type wire struct {
	Size *figure.Input   `key:"size" kind:"area"`
	Ends []buildfile.Ref `key:"ends"`
}

type measure struct{ Current *figure.Input }

func (m *measure) DecodeNode(n *buildfile.Node, o buildfile.Options) []diag.Diagnostic {
	var in struct {
		Current *figure.Input `key:"current" need:"true" kind:"current"`
	}
	ds := buildfile.Decode(n, &in, o)
	m.Current = in.Current
	return ds
}

func read(file string, src []byte) (workshop, []diag.Diagnostic) {
	var w workshop
	t, ds := buildfile.Parse(file, src)
	if t.Root == nil {
		return w, ds
	}
	ds = append(ds, buildfile.Decode(t.Root, &w, buildfile.Options{Prefix: "build"})...)
	var names []string
	for _, r := range w.Relays {
		names = append(names, r.Name)
	}
	for _, wire := range w.Wires {
		for _, e := range wire.Ends {
			if d, ok := buildfile.CheckRef(e, "relay", names); !ok {
				ds = append(ds, d)
			}
		}
	}
	return w, diag.Sort(ds)
}

func TestBadFiles(t *testing.T) {
	badtest.Run(t, "testdata/bad", func(file string, src []byte) []diag.Diagnostic {
		_, ds := read(file, src)
		return ds
	})
}
