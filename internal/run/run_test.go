package run_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"fettle/internal/buildfile"
	"fettle/internal/rule"
	"fettle/internal/run"
)

// TestSameInputIsSolvedOnce holds that a result is kept by the content it came from.
func TestSameInputIsSolvedOnce(t *testing.T) {
	c, r := solved(t, camper(t))
	again, err := run.Nominal(t.Context(), camper(t), c)
	if err != nil {
		t.Fatal(err)
	}
	if again != r {
		t.Error("the same bytes were solved twice")
	}
	in := camper(t)
	in.Src = append(bytes.Clone(in.Src), "# a remark\n"...)
	other, err := run.Nominal(t.Context(), in, c)
	if err != nil {
		t.Fatal(err)
	}
	if other == r || other.Hash == r.Hash {
		t.Error("other bytes have the result of the first")
	}
}

// TestMendedLeavesTheResultAlone tries a mend: the vehicle of the file keeps its
// findings and its bytes.
func TestMendedLeavesTheResultAlone(t *testing.T) {
	c, r := solved(t, camper(t))
	before, src := len(r.Findings), bytes.Clone(r.Input.Src)
	after, err := c.Mended(t.Context(), r, []buildfile.Edit{{Path: []string{"loom", "feeds", "switched", "from"}, Text: "15"}})
	if err != nil || after == nil {
		t.Fatalf("mended: %v", err)
	}
	for _, f := range after.Findings {
		if f.Rule == "supply-cranking" {
			t.Error("the finding stays with its mend made")
		}
	}
	if len(r.Findings) != before || !bytes.Equal(r.Input.Src, src) {
		t.Error("trying a mend changed the vehicle of the file")
	}
	nowhere, err := c.Mended(t.Context(), r, []buildfile.Edit{{Path: []string{"loom", "feeds", "switched", "from"}, Text: "99"}})
	if err != nil || nowhere != nil {
		t.Errorf("a mend that does not read gave %v, %v", nowhere, err)
	}
}

// TestTriesAheadChangeNothing mends and unmends the demo with one cache, which
// tries ahead what were causes before, also where a former cause has become a
// consequence: findings, mends and what follows are those of a fresh start.
func TestTriesAheadChangeNothing(t *testing.T) {
	c, first := solved(t, camper(t))
	in := camper(t)
	versions := [][]byte{}
	for _, f := range first.Findings {
		for _, m := range f.Mends {
			tree, err := buildfile.Apply(first.Design.Tree, m.Edits...)
			if err != nil {
				t.Fatal(err)
			}
			versions = append(versions, tree.Src, append(bytes.Clone(in.Src), "# "+f.Rule+f.Subject...))
		}
	}
	if len(versions) < 10 {
		t.Fatalf("%d versions to go through", len(versions))
	}
	for _, src := range versions {
		in.Src = src
		got, err := run.Nominal(t.Context(), in, c)
		if err != nil {
			t.Fatal(err)
		}
		_, want := solved(t, in)
		if g, w := outline(got.Findings), outline(want.Findings); g != w {
			t.Errorf("tried ahead:\n%s\nfresh:\n%s", g, w)
		}
	}
}

// outline is a line for each finding with its mends, consequences indented.
func outline(fs []rule.Finding) string {
	var b strings.Builder
	for i := range fs {
		fmt.Fprintf(&b, "%s %v %v\n", fs[i].Key(), fs[i].Mends, fs[i].After)
		b.WriteString(strings.ReplaceAll(outline(fs[i].Under), "\n", "\n  "))
	}
	return b.String()
}

// TestDrawsRepeat holds that chances do not depend on luck, and can be ended.
func TestDrawsRepeat(t *testing.T) {
	_, r := solved(t, camper(t))
	a, err := run.Spread(t.Context(), r, 50, nil)
	if err != nil {
		t.Fatal(err)
	}
	b, err := run.Spread(t.Context(), r, 50, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := range a {
		if a[i] != b[i] {
			t.Errorf("%s: %+v, then %+v", a[i].ID, a[i], b[i])
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := run.Spread(ctx, r, 1000, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("an ended draw gave %v", err)
	}
}

// TestErrorsStopTheNextStage holds that a file with a mistake is told, not solved.
func TestErrorsStopTheNextStage(t *testing.T) {
	c, err := run.NewCache()
	if err != nil {
		t.Fatal(err)
	}
	in := camper(t)
	in.Src = bytes.Replace(in.Src, []byte("mass: 2150 kg"), []byte("mass: 2150"), 1)
	r, err := run.Nominal(t.Context(), in, c)
	if err != nil {
		t.Fatal(err)
	}
	if r.OK() || r.Solved != nil || len(r.Errors) != 1 {
		t.Errorf("errors %v, solved %v", r.Errors, r.Solved != nil)
	}
}
