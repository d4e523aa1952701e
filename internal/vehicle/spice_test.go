package vehicle

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"fettle/internal/dcnet"
	"fettle/internal/dcnet/dcnettest"
)

// TestSpiceCamper holds every node voltage and every device's voltage of the
// camper's states, as written and mended, against ngspice's operating point of
// the same circuit: wires, fuses, contacts and grounds as resistors, battery and
// alternator as sources, plain loads by their law. What the balance drives, pump,
// injectors, coils and starter, stands there with the current it settled at. The
// bound is 10 µV or 1e-6 of the voltage.
func TestSpiceCamper(t *testing.T) {
	if _, err := exec.LookPath("ngspice"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("ngspice is not installed")
		}
		t.Skip("ngspice is not installed: apt install ngspice")
	}
	dir := t.TempDir()
	var control strings.Builder
	control.WriteString("camper\n.control\nset filetype=ascii\nset numdgt=12\n")
	type deck struct {
		v    *Vehicle
		s    *State
		file string
	}
	var decks []deck
	for k, v := range []*Vehicle{camper(t), camper(t, mended...)} {
		r := solved(t, v)
		for i := range r.States {
			s := &r.States[i]
			file := fmt.Sprintf("s%d-%s", k, s.Key)
			write(t, filepath.Join(dir, file+".cir"), twin(t, s, 1e10).Deck(file, s.Point.Net.Dead, 0))
			fmt.Fprintf(&control, "source %s.cir\nop\nwrite %s.raw all\ndestroy all\nremcirc\n", file, file)
			decks = append(decks, deck{v, s, file})
		}
	}
	control.WriteString("quit\n.endc\n.end\n")
	write(t, filepath.Join(dir, "run.cir"), control.String())
	cmd := exec.Command("ngspice", "-b", "run.cir")
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Logf("ngspice ended with %v: %s", err, out[max(0, len(out)-2000):])
	}
	worst, compared := 0.0, 0
	for _, d := range decks {
		theirs := readRaw(t, filepath.Join(dir, d.file+".raw"))
		at := func(id dcnet.NodeID) float64 {
			if id == dcnet.Reference {
				return 0
			}
			x, ok := theirs[fmt.Sprintf("v(n%d)", int(id))]
			if !ok {
				t.Fatalf("%s: ngspice has no node %d, %s", d.file, int(id), d.v.net.NodeName(id))
			}
			return x
		}
		check := func(what string, ours, want float64) {
			compared++
			diff := math.Abs(ours - want)
			worst = max(worst, diff)
			if !(diff <= max(10e-6, 1e-6*math.Abs(want))) {
				t.Errorf("%s: %s: %.9g V, ngspice %.9g V", d.file, what, ours, want)
			}
		}
		for name, id := range d.v.nodes {
			check(name, d.s.Point.Net.NodeV[id], at(id))
		}
		for _, c := range d.v.consumers {
			ours, _ := d.s.ConsumerV(c.name)
			a, b := d.v.net.Ends(c.id)
			check(c.name, ours, at(a)-at(b))
		}
	}
	t.Logf("%d states, %d voltages, worst difference %.3g V", len(decks), compared, worst)
	if len(decks) == 0 || compared < 1000 {
		t.Errorf("only %d voltages were compared", compared)
	}
}

// twin builds a state's circuit anew, element by element; what is off has offOhm.
func twin(t *testing.T, s *State, offOhm float64) *dcnettest.Twin {
	t.Helper()
	tw := dcnettest.NewTwin()
	for tw.Net.NodeCount() < s.v.net.NodeCount() {
		tw.Node()
	}
	if err := s.Tell(tw, offOhm); err != nil {
		t.Fatal(err)
	}
	return tw
}

func write(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// readRaw reads the one point of an ngspice raw file.
func readRaw(t *testing.T, path string) map[string]float64 {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var names []string
	got := map[string]float64{}
	part := ""
	for sc := bufio.NewScanner(f); sc.Scan(); {
		fields := strings.Fields(sc.Text())
		switch {
		case len(fields) == 0:
		case fields[0] == "Variables:" || fields[0] == "Values:":
			part = fields[0]
		case part == "Variables:" && len(fields) == 3:
			names = append(names, fields[1])
		case part == "Values:":
			x, err := strconv.ParseFloat(fields[len(fields)-1], 64)
			if err != nil || len(got) >= len(names) {
				t.Fatalf("%s: can't read %q", path, sc.Text())
			}
			got[names[len(got)]] = x
		}
	}
	return got
}
