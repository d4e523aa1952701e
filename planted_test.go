package fettle_test

import (
	"go/token"
	"strings"
	"testing"
)

// plant reads sources as if they stood in the repository. Each is "path", a
// line feed, then the text.
func plant(t *testing.T, sources ...string) *tree {
	t.Helper()
	tr := &tree{fset: token.NewFileSet()}
	for _, s := range sources {
		name, text, _ := strings.Cut(s, "\n")
		if err := tr.add(name, []byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	return tr
}

// TestPlantedFaults shows each check a fault of every kind that it is for, and
// its neighbour that is right. Every string of want must stand in exactly one
// miss, and there must be no other miss.
func TestPlantedFaults(t *testing.T) {
	formulas := func(tr *tree) []string { misses, _ := checkFormulas(tr, nil); return misses }
	units := func(tr *tree) []string { misses, _ := checkUnits(tr, nil); return misses }
	for _, row := range []struct {
		name  string
		check func(*tree) []string
		src   []string
		want  []string
	}{
		{"order: upwards", checkOrder, []string{
			"internal/diag/a.go\npackage diag\nimport \"fettle/internal/design\"\n",
		}, []string{"a.go:2: diag imports design, which stands above it"}},
		{"order: downwards and within a room", checkOrder, []string{
			"internal/rule/power/a.go\npackage power\nimport (\n\"fettle/internal/rule\"\n\"fettle/internal/design\"\n\"strings\"\n)\n",
		}, nil},
		{"order: no place", checkOrder, []string{
			"internal/clutch/a.go\npackage clutch\n",
			"internal/web/a.go\npackage web\nimport \"fettle/internal/clutter\"\n",
		}, []string{`room "clutch" is not in the order`, `a.go:2: imports fettle/internal/clutter`}},
		{"order: solvers", checkOrder, []string{
			"internal/fuse/a.go\npackage fuse\nimport (\n\"fettle/internal/wire\"\n\"fettle/internal/channel\"\n\"fettle/internal/relay\"\n)\n",
		}, []string{"a.go:4: fuse imports channel, but a solver", "a.go:5: fuse imports relay, which stands above"}},
		{"order: formula and drawing", checkOrder, []string{
			"internal/formula/a.go\npackage formula\nimport \"fettle/internal/diag\"\n",
			"internal/drawing/a.go\npackage drawing\nimport (\n\"fettle/internal/typeface\"\n\"fettle/internal/loom\"\n)\n",
		}, []string{"formula imports diag, but", "a.go:4: drawing imports loom, but"}},

		{"order: for tests", checkOrder, []string{
			"internal/buildfile/badtest/a.go\npackage badtest\nimport \"fettle/internal/diag\"\n",
			"internal/design/a.go\npackage design\nimport \"fettle/internal/buildfile/badtest\"\n",
		}, []string{"a.go:2: imports fettle/internal/buildfile/badtest, which is for tests"}},

		{"files", checkFiles, []string{
			"internal/buildfile/badtest/a.go\npackage badtest\nimport \"os\"\nfunc f() { os.ReadFile(``) }\n",
			"internal/design/a.go\npackage design\nimport (\ndisk \"os\"\n\"path/filepath\"\n)\nfunc f() { disk.ReadFile(filepath.Join(``)) }\nfunc g() { filepath.Glob(``) }\n",
			"internal/folder/a.go\npackage folder\nimport \"os\"\nfunc f() { os.Create(``) }\n",
			"cmd/x/a.go\npackage main\nimport \"os\"\nfunc main() { os.Open(``) }\n",
			"internal/web/a.go\npackage web\nimport \"embed\"\nvar dist embed.FS\nfunc f() { dist.ReadFile(``) }\n",
		}, []string{"a.go:6: design uses disk.ReadFile", "a.go:7: design uses filepath.Glob"}},
		{"quiet", checkQuiet, []string{
			"internal/wire/a.go\npackage wire\nimport (\n\"fmt\"\n\"log\"\n\"math/rand/v2\"\n\"os\"\n\"time\"\n)\nfunc f() {\nfmt.Println(fmt.Sprint(1))\nlog.Fatal()\nrand.IntN(3)\n_ = os.Stderr\ntime.Now()\n_ = rand.New(rand.NewPCG(1, 2))\n}\n",
			"internal/web/a.go\npackage web\nimport \"time\"\nfunc f() { time.Now() }\n",
			"internal/report/a.go\npackage report\nimport \"time\"\nfunc f() { time.Now() }\n",
		}, []string{"a.go:10: wire uses fmt.Println", "a.go:11: wire uses log.Fatal", "a.go:12: wire uses rand.IntN", "a.go:13: wire uses os.Stderr", "a.go:14: wire uses time.Now", "a.go:3: report uses time.Now"}},
		{"globals", checkGlobals, []string{
			"internal/wire/a.go\npackage wire\nimport \"sync\"\nvar n int\nvar m = map[int]int{}\nvar row [3]struct{ x int }\nvar mu sync.Mutex\nvar fixed = []int{1}\nvar once = sync.OnceValue(func() int { return 1 })\n",
			"internal/wire/b.go\npackage wire\nimport \"gone/away\"\nfunc f(fixed int) {\nn++\nm[1] = 2\ndelete(m, 1)\nrow[0].x = 3\nfixed = 4\nm := 5\nm = away.Six\n_ = m\n}\n",
			"internal/web/a.go\npackage web\nvar n int\nfunc f() { n++ }\n",
		}, []string{"a.go:6: package-level variable mu is a sync.Mutex", "b.go:4: package-level variable n", "b.go:5: package-level variable m", "b.go:6: package-level variable m", "b.go:7: package-level variable row"}},
		{"http", checkHTTP, []string{
			"internal/run/a.go\npackage run\nimport \"net/http/httptest\"\n",
			"internal/web/a.go\npackage web\nimport \"net/http\"\n",
		}, []string{"a.go:2: run imports \"net/http/httptest\""}},

		{"packages", checkPackages, []string{
			"internal/wire/a.go\n// Package wire computes the resistance and the heating of conductors. Everything is in SI units. Start reading at the function that is named Resistance.\npackage wire\n",
			"internal/fuse/a.go\npackage fuse\n",
			"internal/relay/a.go\n// Package relay is about relays.\npackage relay\n",
			"internal/run/common/a.go\n// Package common holds what is used in common by everything else that there is. It has no subject of its own. Start reading anywhere you please.\npackage common\n",
			"internal/web/a.go\n// Pages of the house, which are served on the loopback address to one person. They hold no physics at all. Start reading at the first of them.\npackage web\n",
			"internal/web/b.go\n// Package web has pages.\npackage web\n",
		}, []string{"package fuse (internal/fuse) has no comment", "package relay says too little", "package common is named for nothing", "package web has a second comment"}},
		{"package comment's first words", checkPackages, []string{
			"internal/web/a.go\n// Pages of the house, which are served on the loopback address to one person. They hold no physics at all. Start reading at the first of them.\npackage web\n",
		}, []string{`begins otherwise than "Package web "`}},
		{"length", checkLength, []string{
			"internal/wire/a.go\npackage wire\n" + strings.Repeat("\n", 800),
			"internal/wire/b.go\npackage wire\n" + strings.Repeat("\n", 799),
		}, []string{"a.go:1: 801 lines"}},

		{"formulas", formulas, []string{
			"internal/wire/a.go\npackage wire\n" + goodFormula + "func GoodOhm() (float64, error) { return 1, nil }\n" +
				"func BareOhm(lengthM float64) float64 { return lengthM * 2 }\n" +
				strings.Replace(goodFormula, "// Accuracy: 1 %.\n", "", 1) + "func PartOhm() float64 { return 1 * 2 }\n" +
				strings.Replace(goodFormula, "//\tR = ρ l / A\n", "// R = ρ l / A\n", 1) + "func FlatOhm() (ohm float64) { return 1 * 2 }\n" +
				"func (w Wire) LengthM() float64 { return w.lengthM }\n" +
				"func (w Wire) TwiceM() float64 { return 2 * w.lengthM }\n" +
				strings.Replace(goodFormula, "any length", "up to 1,000 m", 1) + "func CommaOhm() float64 { return 1 * 2 }\n" +
				"func Name() string { return `` }\n",
			"internal/balance/a.go\npackage balance\nfunc PlainV() float64 { return 1 * 2 }\n// HalfV returns it.\n//\n// Source: a book.\nfunc HalfV() float64 { return 1 * 2 }\n",
		}, []string{
			"wire.BareOhm lacks the formula, Valid:, Accuracy:, Source:, Errors:", "wire.PartOhm lacks Accuracy:", "wire.FlatOhm lacks the formula",
			"wire.Wire.TwiceM lacks", "wire.CommaOhm says \"1,000\"", "balance.HalfV lacks the formula, Valid:, Accuracy:, Errors:",
		}},
		{"units", units, []string{
			"internal/wire/a.go\npackage wire\n" + `
type Wire struct {
	LengthM, Width float64
	At []float64
	RPM float64
	VEFrac, HeatJPerKgK, TorqueNm, SlopePerK, Ohm float64
	Inner struct{ Depth float64 }
	secret float64
	Name string
}
type small struct{ Height float64 }
func (w *Wire) DropV(currentA, gain float64) float64 { return 0 }
func (w *Wire) Drop(lengthM float64, _ float64) (float64, error) { return 0, nil }
func Pair(si float64) (lowV, high float64) { return }
func Two() (float64, float64) { return 0, 0 }
func hidden(x float64) float64 { return x }
func Many(volts ...float64) {}
type Law interface { CurrentA(float64) float64; hidden(x float64) }
`,
			"internal/paper/a.go\npackage paper\ntype Box struct{ X, Y float64 }\n",
		}, []string{
			"wire.Wire.Width: ", "wire.Wire.At: ", "wire.Wire.RPM: ", "wire.Wire.Inner.Depth: ", "wire.Wire.DropV(gain): ", "wire.Wire.Drop(): ",
			"wire.Pair() high: ", "wire.Two(): ", "wire.Many(volts): ", "wire.Law.CurrentA(_): ",
		}},
	} {
		t.Run(row.name, func(t *testing.T) {
			got := row.check(plant(t, row.src...))
			for _, want := range row.want {
				n := 0
				for _, g := range got {
					if strings.Contains(g, want) {
						n++
					}
				}
				if n != 1 {
					t.Errorf("%d misses say %q, want 1", n, want)
				}
			}
			if len(got) != len(row.want) {
				t.Errorf("%d misses, want %d", len(got), len(row.want))
			}
			if t.Failed() {
				t.Logf("found:\n%s", strings.Join(got, "\n"))
			}
		})
	}
}

const goodFormula = `
// GoodOhm returns the resistance.
//
//	R = ρ l / A
//
// Valid: any length.
// Accuracy: 1 %.
// Source: a book.
// Errors: none.
`

func TestUnusedAllowanceIsFound(t *testing.T) {
	tr := plant(t, "internal/wire/a.go\npackage wire\ntype Wire struct{ Gain float64 }\n")
	misses, unused := checkUnits(tr, map[string]string{"wire.Wire.Gain": "a reason", "wire.Wire.Gone": "a reason"})
	if len(misses) != 0 || len(unused) != 1 || unused[0] != "wire.Wire.Gone" {
		t.Errorf("misses %q, unused %q; want none, and wire.Wire.Gone", misses, unused)
	}
	tr = plant(t, "internal/wire/a.go\npackage wire\nfunc GapM() float64 { return 1 * 2 }\n")
	misses, unused = checkFormulas(tr, map[string]string{"wire.GapM": "a reason", "wire.Gone": "a reason"})
	if len(misses) != 0 || len(unused) != 1 || unused[0] != "wire.Gone" {
		t.Errorf("formulas: misses %q, unused %q; want none, and wire.Gone", misses, unused)
	}
}

func TestEndsInUnit(t *testing.T) {
	for name, want := range map[string]bool{
		"LengthM": true, "lengthM": true, "AreaM2": true, "DropV": true, "P95V": true, "FlowKgPerS": true, "FlowM3PerS": true,
		"SpeedRadPerS": true, "ViscosityPaS": true, "InertiaKgM2": true, "HeatJPerKgK": true, "SlopePerK": true, "R20OhmPerM": true,
		"MeltingA2S": true, "VEFrac": true, "RONCount": true, "GearRatio": true, "si": true, "SdSI": true, "ohm": true, "PerK": true,
		"ChargeAs": true, "TempK": true, "KE": false, "RPM": false, "ITEM": false, "Length": false, "Items": false, "AngleDeg": false,
		"PowerKW": false, "PressureKPa": false, "TimeMS": false, "FlowWPerMK": true, "OhmPerM20": true, "ohm20": true, "LengthM20": false, "TempC": false, "x": false, "Vm": false, "Volts": false, "OhmLimit": false, "MassPer": false, "BeanSum": false,
	} {
		if got := endsInUnit(name); got != want {
			t.Errorf("endsInUnit(%q) = %v, want %v", name, got, want)
		}
	}
}

func TestPlantedText(t *testing.T) {
	for _, row := range []struct{ line, want string }{
		{"reads " + "/home" + "/someone/x", "a path of one machine"},
		{"path: \"" + "/tmp" + "/x\"", "a path of one machine"},
		{"C:\\" + "Users\\someone", "a path of one machine"},
		{"#!/usr/bin/env bash", ""},
		{"see https://example.org" + "/home" + "/page", ""},
		{"// TO" + "DO later", "a note to oneself"},
		{"the FIX" + "MEs", ""},
		{strings.Repeat("<", 7) + " HEAD", "a mark of an unfinished merge"},
	} {
		got := strings.Join(checkText("a.txt", []byte("fine\n"+row.line+"\n")), "\n")
		if (row.want == "") != (got == "") || !strings.Contains(got, row.want) || (got != "" && !strings.HasPrefix(got, "a.txt:2: ")) {
			t.Errorf("%q: found %q, want %q", row.line, got, row.want)
		}
	}
	if got := checkText("package-lock.json", []byte(`"resolved": "x"`)); len(got) != 1 {
		t.Errorf("an address in the lock file: found %q", got)
	}
}
