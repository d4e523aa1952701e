package shell

import (
	"slices"
	"testing"

	"fettle/internal/diag"
	"fettle/internal/figure"

	"pgregory.net/rapid"
)

func TestPathsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		path := rapid.SliceOfN(rapid.StringN(1, 20, -1), 1, 6).Draw(t, "path")
		got, ok := SplitPath(JoinPath(path...))
		if !ok || !slices.Equal(got, path) {
			t.Fatalf("%q came back as %q", path, got)
		}
	})
	for _, word := range []string{"", "a//b", "%zz", "a/"} {
		if path, ok := SplitPath(word); ok {
			t.Errorf("%q gave %q", word, path)
		}
	}
}

func TestFigures(t *testing.T) {
	l := figure.NewLedger()
	l.Leaf(&figure.Input{ID: "build/engine/rod", SI: 0.145, Unit: "mm", Origin: figure.Archetype, Source: "from memory"})
	l.Put("full/wire 23/DropV", nil, -1.0375, "V", "build/engine/rod")
	f := Figures{l}
	fig, ok := f.Of("build/engine/rod")
	if !ok || fig.Shown() != "(145\u00a0mm)" || fig.Href() != "/why/build/engine/rod" {
		t.Errorf("an assumed figure shows as %q at %q", fig.Shown(), fig.Href())
	}
	fig, _ = f.Of("full/wire 23/DropV")
	if fig.Text != "−1.04\u00a0V" || fig.Href() != "/why/full/wire%2023/DropV" {
		t.Errorf("a figure shows as %q at %q", fig.Text, fig.Href())
	}
	if fig, _ = f.Amount("full/wire 23/DropV", "V", 3); fig.Text != "1.038" && fig.Text != "1.037" {
		t.Errorf("the amount is %q", fig.Text)
	}
	if fig, ok := f.Of("nothing"); ok || fig.ID != "" {
		t.Errorf("what is not in the ledger shows as %+v", fig)
	}
	got := f.Phrase(diag.Phrase{{Text: "loses "}, {Text: "1.04 V", Ref: "full/wire 23/DropV"}, {Text: " of 3 V", Ref: "gone"}})
	if len(got) != 3 || got[1].ID != "full/wire 23/DropV" || got[2].ID != "" {
		t.Errorf("a phrase became %+v", got)
	}
}

func TestFieldShowsWhatWasRefused(t *testing.T) {
	f := Forms{Action: "/edit", Refused: &Refusal{Path: "loom/wires/fuel%20pump%201/size", Text: "2.5", Note: "no unit"}}
	hit := f.Field("Size", "wire 23", "0.5 mm²", "", "loom", "wires", "fuel pump 1", "size")
	if hit.Value != "2.5" || hit.Refused != "no unit" || hit.ID != "set-loom-wires-fuel-20pump-201-size" {
		t.Errorf("the field shows %+v", hit)
	}
	if other := f.Field("Size", "wire 24", "0.5 mm²", "", "loom", "wires", "fuel pump 2", "size"); other.Value != "0.5 mm²" || other.Refused != "" {
		t.Errorf("another field shows %+v", other)
	}
	c := Forms{}.Choice("Relay", "feed fans relay", "main", "fans, decided", []string{"main", "fans"}, "loom", "feeds", "fans", "relay")
	if len(c.Options) != 3 || c.Options[0].Current || !c.Options[1].Current {
		t.Errorf("the choice is %+v", c.Options)
	}
}

func TestCapital(t *testing.T) {
	for in, want := range map[string]string{"ölpumpe": "Ölpumpe", "wire 23": "Wire 23", "": ""} {
		p := diag.Phrase{{Text: in}}
		if in == "" {
			p = nil
		}
		if got := Capital(p).String(); got != want {
			t.Errorf("%q became %q", in, got)
		}
	}
	if p := Capital(diag.Phrase{{Text: "a V", Ref: "x"}}); p.String() != "a V" {
		t.Errorf("a figure at the head became %q", p)
	}
}
