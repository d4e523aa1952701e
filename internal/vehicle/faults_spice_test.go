package vehicle

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/dcnet"
	"fettle/internal/design"
)

// needSpice skips where ngspice is not installed, and fails where it must be.
func needSpice(t *testing.T) {
	t.Helper()
	if _, err := exec.LookPath("ngspice"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("ngspice is not installed")
		}
		t.Skip("ngspice is not installed: apt install ngspice")
	}
}

// TestSpiceFaults plants every kind of fault in the mended camper's network at
// idle and holds every node against ngspice's operating point of the circuit with
// the fault built in, within 10 µV or 1e-6.
func TestSpiceFaults(t *testing.T) {
	needSpice(t)
	v := camper(t, mended...)
	s := solved(t, v).State(design.Idle)
	healthy := twin(t, s, 1e7)
	for id := dcnet.ElementID(1); int(id) <= v.net.ElementCount(); id++ {
		a, b := v.net.Ends(id)
		if x, y := healthy.Net.Ends(id); x != a || y != b {
			t.Fatalf("%s is another element in the twin", v.net.ElementName(id))
		}
	}
	at := func(name string) dcnet.ElementID {
		t.Helper()
		for _, c := range v.consumers {
			if c.name == name {
				return c.id
			}
		}
		if i, ok := v.byName[name]; ok {
			return v.links[i].id
		}
		t.Fatalf("no element %q", name)
		return 0
	}
	wire := func(name string) dcnet.ElementID {
		t.Helper()
		w, ok := v.Loom.Wire(name)
		if !ok {
			t.Fatalf("no wire %q", name)
		}
		return at(WireName(w.Number))
	}
	pump, coil := wire("fuel pump 1"), wire("coil 1 15")
	rows := []struct {
		name string
		ch   []dcnet.Change
	}{
		{"open wire", []dcnet.Change{{Kind: dcnet.Open, At: pump}}},
		{"open device", []dcnet.Change{{Kind: dcnet.Open, At: at("blower")}}},
		{"open strap", []dcnet.Change{{Kind: dcnet.Open, At: wire("body strap")}}},
		{"joint in a wire", []dcnet.Change{{Kind: dcnet.Joint, At: pump, Ohm: 0.4}}},
		{"joint at a device", []dcnet.Change{{Kind: dcnet.Joint, At: at("blower"), Ohm: 0.1}}},
		{"joint in the engine strap", []dcnet.Change{{Kind: dcnet.Joint, At: wire("engine strap"), Ohm: 0.05}}},
		{"wire to ground", []dcnet.Change{{Kind: dcnet.ToGround, At: at("radio"), Ohm: 0.8}}},
		{"wire to the engine", []dcnet.Change{{Kind: dcnet.ToGround, At: coil, Other: v.alt, Ohm: 1.5}}},
		{"wire to supply", []dcnet.Change{{Kind: dcnet.ToSupply, At: at("fuel pump"), Ohm: 0.02}}},
		{"wire to another's supply", []dcnet.Change{{Kind: dcnet.ToSupply, At: at("horn"), Other: at("wipers"), Ohm: 0.2}}},
		{"two wires swapped", []dcnet.Change{{Kind: dcnet.Swap, At: pump, Other: coil}}},
		{"two faults", []dcnet.Change{{Kind: dcnet.Joint, At: pump, Ohm: 0.2}, {Kind: dcnet.Open, At: wire("body strap")}}},
	}
	dir := t.TempDir()
	var control strings.Builder
	control.WriteString("faults\n.control\nset filetype=ascii\nset numdgt=12\n")
	var got []dcnet.Solution
	for k, r := range rows {
		sol, e := healthy.Net.Solve(healthy.Sw, nil, r.ch...)
		if !e.OK {
			t.Fatalf("%s: %s", r.name, e.Why)
		}
		got = append(got, sol)
		write(t, filepath.Join(dir, fmt.Sprintf("f%d.cir", k)), healthy.Faulty(r.name, sol.Dead, r.ch...))
		fmt.Fprintf(&control, "source f%d.cir\nop\nwrite f%d.raw all\ndestroy all\nremcirc\n", k, k)
	}
	control.WriteString("quit\n.endc\n.end\n")
	write(t, filepath.Join(dir, "run.cir"), control.String())
	cmd := exec.Command("ngspice", "-b", "run.cir")
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Logf("ngspice ended with %v: %s", err, out[max(0, len(out)-2000):])
	}
	was, _ := healthy.Net.Solve(healthy.Sw, nil)
	for k, r := range rows {
		theirs := readRaw(t, filepath.Join(dir, fmt.Sprintf("f%d.raw", k)))
		worst, moved := 0.0, 0.0
		for id, ours := range got[k].NodeV {
			if id == 0 {
				continue
			}
			want, ok := theirs[fmt.Sprintf("v(n%d)", id)]
			if !ok {
				t.Fatalf("%s: ngspice has no node %d", r.name, id)
			}
			moved = max(moved, math.Abs(ours-was.NodeV[id]))
			diff := math.Abs(ours - want)
			worst = max(worst, diff)
			if !(diff <= max(10e-6, 1e-6*math.Abs(want))) {
				t.Errorf("%s: %s: %.9g V, ngspice %.9g V", r.name, v.net.NodeName(dcnet.NodeID(id)), ours, want)
				break
			}
		}
		if !(moved > 1e-3) {
			t.Errorf("%s moves no node by more than %.2g V", r.name, moved)
		}
		t.Logf("%s: %d nodes, worst difference %.2g V; it moves a node by %.3g V", r.name, len(got[k].NodeV)-1, worst, moved)
	}
}
