package dcnet_test

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

	"fettle/internal/dcnet/dcnettest"
)

// spiceNetworks is how many random networks are held against ngspice.
const spiceNetworks = 300

// TestSpiceRandomNetworks holds node voltages of random networks of up to 200
// nodes against ngspice's operating point, within 10 µV or 1e-6 of the voltage.
func TestSpiceRandomNetworks(t *testing.T) {
	needSpice(t)
	dir := t.TempDir()
	var ours []map[string]float64
	var control strings.Builder
	control.WriteString("networks\n.control\nset filetype=ascii\nset numdgt=12\n")
	dead, folded := 0, 0
	for k := range spiceNetworks {
		tw := dcnettest.Random(uint64(k), 8+(k*37)%193)
		s, e := tw.Net.Solve(tw.Sw, nil)
		if !e.OK {
			t.Fatalf("network %d: %s", k, e.Why)
		}
		dead += len(s.Dead)
		v := map[string]float64{}
		for id, x := range s.NodeV[1:] {
			v[fmt.Sprintf("v(n%d)", id+1)] = x
		}
		for _, id := range tw.Loads {
			if u := s.ElementV(id); u > 0.1 && u < 4 {
				folded++
			}
		}
		ours = append(ours, v)
		deck := tw.Deck(fmt.Sprintf("network %d", k), s.Dead, 13)
		write(t, filepath.Join(dir, fmt.Sprintf("n%d.cir", k)), deck)
		fmt.Fprintf(&control, "source n%d.cir\nop\nwrite n%d.raw all\ndestroy all\nremcirc\n", k, k)
	}
	control.WriteString("quit\n.endc\n.end\n")
	runSpice(t, dir, control.String())
	worst, compared := 0.0, 0
	for k, v := range ours {
		theirs := readRaw(t, filepath.Join(dir, fmt.Sprintf("n%d.raw", k)))
		for name, x := range v {
			y, ok := theirs[name]
			if !ok {
				t.Fatalf("network %d: ngspice has no %s", k, name)
			}
			compared++
			diff := math.Abs(x - y)
			worst = max(worst, diff)
			if diff > max(10e-6, 1e-6*math.Abs(y)) {
				t.Errorf("network %d, %s: %.12g V, ngspice %.12g V", k, name, x, y)
				break
			}
		}
	}
	t.Logf("%d networks, %d node voltages, worst difference %.3g V; %d dead nodes, %d loads between 0.1 and 4 V",
		len(ours), compared, worst, dead, folded)
}

func needSpice(t *testing.T) {
	t.Helper()
	if _, err := exec.LookPath("ngspice"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("ngspice is not installed")
		}
		t.Skip("ngspice is not installed: apt install ngspice")
	}
}

func write(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

func runSpice(t *testing.T, dir, control string) {
	t.Helper()
	write(t, filepath.Join(dir, "run.cir"), control)
	cmd := exec.Command("ngspice", "-b", "run.cir")
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Logf("ngspice ended with %v: %s", err, out[max(0, len(out)-2000):])
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
