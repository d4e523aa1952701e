package formboard

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"
)

// column is the index of a column by its name.
func column(t *testing.T, l *List, name string) int {
	t.Helper()
	for i, c := range l.Columns {
		if c.Name == name {
			return i
		}
	}
	t.Fatalf("%s has no column %q", l.Name, name)
	return 0
}

func sum(t *testing.T, l *List, name string, of func(row []string) bool) (total float64) {
	t.Helper()
	k := column(t, l, name)
	for _, r := range l.Rows {
		if of == nil || of(r) {
			v, err := strconv.ParseFloat(r[k], 64)
			if err != nil {
				t.Fatalf("%s: %v", l.Name, err)
			}
			total += v
		}
	}
	return total
}

// TestListsCountTheLoom holds that what is cut, crimped, labelled and bought is
// what the loom has: every wire is cut once and labelled twice, and each of its
// ends is crimped or spliced.
func TestListsCountTheLoom(t *testing.T) {
	for name, b := range boards(t) {
		lists := map[string]*List{}
		for _, n := range ListNames() {
			l, ok := b.List(n.ID)
			if !ok || len(l.Rows) == 0 && (n.ID != "splices" && n.ID != "cables" && n.ID != "apart") {
				t.Fatalf("%s: list %q is empty", name, n.ID)
			}
			lists[n.ID] = &l
		}
		lengthM, ends, spliced := 0.0, 2*len(b.Loom.Wires), 0
		for _, w := range b.Loom.Wires {
			lengthM += w.LengthM
			for _, n := range []string{w.From.Node, w.To.Node} {
				if strings.HasPrefix(n, "splice ") {
					spliced++
				}
			}
		}
		rounded := 0.005 * float64(len(b.Loom.Wires))
		cut := map[string]int{}
		for _, r := range lists["cut"].Rows {
			for _, n := range append(strings.Fields(r[column(t, lists["cut"], "and")]), r[column(t, lists["cut"], "wire")]) {
				cut[n]++
			}
		}
		for _, w := range b.Loom.Wires {
			if cut[strconv.Itoa(w.Number)] != 1 {
				t.Errorf("%s: wire %d is cut %d times", name, w.Number, cut[strconv.Itoa(w.Number)])
			}
		}
		// a screened cable is one piece, as long as its longest wire
		cutM, pieces, open := lengthM, len(b.Loom.Wires), 0
		for _, g := range b.Loom.Tree.Groups {
			if g.Kind != "screened" {
				continue
			}
			longest := 0.0
			for _, i := range append([]int{g.Drain}, g.Wires...) {
				cutM, longest = cutM-b.Loom.Wires[i].LengthM, math.Max(longest, b.Loom.Wires[i].LengthM)
			}
			cutM, pieces, open = cutM+longest, pieces-len(g.Wires), open+1
		}
		for n, want := range map[string]float64{"wires": lengthM, "cut": cutM, "reels": cutM} {
			if got := sum(t, lists[n], "length", nil); math.Abs(got-want) > rounded {
				t.Errorf("%s: %s comes to %.2f m, the loom to %.2f m", name, n, got, want)
			}
		}
		if got := sum(t, lists["reels"], "pieces", nil); int(got) != pieces {
			t.Errorf("%s: reels give %g pieces, want %d", name, got, pieces)
		}
		group := func(g string) func([]string) bool { return func(r []string) bool { return r[0] == g } }
		if got := int(sum(t, lists["materials"], "quantity", group("terminal"))); got != ends-spliced-open {
			t.Errorf("%s: %d terminals for %d ends of which %d are spliced and %d open", name, got, ends, spliced, open)
		}
		if got := int(sum(t, lists["materials"], "quantity", group("device"))); got != len(b.Design.Devices) {
			t.Errorf("%s: %d devices in the bill, %d in the file", name, got, len(b.Design.Devices))
		}
		if got := int(sum(t, lists["splices"], "wires", nil)); got != spliced {
			t.Errorf("%s: splices join %d ends, %d end in one", name, got, spliced)
		}
		labels := 0
		for _, r := range lists["labels"].Rows {
			if strings.HasPrefix(r[2], "wire, ") {
				labels++
			}
		}
		if labels != ends {
			t.Errorf("%s: %d labels for %d ends", name, labels, ends)
		}
		plugged := 0 // ends in a way of a connector
		for _, c := range b.Connectors {
			for _, n := range c.Ways {
				plugged += len(b.wires[n])
			}
		}
		used := 0
		for _, r := range lists["pins"].Rows {
			if r[column(t, lists["pins"], "wire")] != "" {
				used++
			}
		}
		if used != plugged {
			t.Errorf("%s: the pin tables hold %d ends of %d", name, used, plugged)
		}
	}
}

// TestListsRead reads every list back, as CSV and as JSON.
func TestListsRead(t *testing.T) {
	for name, b := range boards(t) {
		for _, n := range ListNames() {
			l, _ := b.List(n.ID)
			var text bytes.Buffer
			if err := l.WriteCSV(&text); err != nil {
				t.Fatal(err)
			}
			rows, err := csv.NewReader(&text).ReadAll()
			if err != nil || len(rows) != len(l.Rows)+1 || len(rows[0]) != len(l.Columns) {
				t.Fatalf("%s, %s: %d rows for %d: %v", name, n.ID, len(rows), len(l.Rows), err)
			}
			out, err := json.Marshal(&l)
			if err != nil {
				t.Fatalf("%s, %s: %v", name, n.ID, err)
			}
			var back struct{ Rows []map[string]any }
			if err := json.Unmarshal(out, &back); err != nil || len(back.Rows) != len(l.Rows) {
				t.Fatalf("%s, %s: %d objects for %d rows: %v", name, n.ID, len(back.Rows), len(l.Rows), err)
			}
			for i, r := range back.Rows {
				for k, c := range l.Columns {
					if v, number := r[c.Name].(float64); c.Unit != "" && l.Rows[i][k] != "" && (!number || math.IsInf(v, 0)) {
						t.Fatalf("%s, %s: %q in row %d is %v", name, n.ID, c.Name, i+1, r[c.Name])
					}
				}
			}
		}
	}
}
