// Package questions is the sheet that a new build starts from: what a builder
// can answer by looking at the engine and the vehicle, in any order, and the
// build file that the answers make.
//
// Conventions: an answer is text as people write it; one that is left empty is
// not asked again but assumed, and shown so. The build file that comes out is
// complete: it reads, is wired and solved with every answer at its default.
// Start reading at [Sheet], then [Answers.Build].
package questions

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/catalogue"
)

// Question is one thing to look at.
type Question struct {
	Key   string
	Ask   string
	Look  string // where and how to look
	Group string
	// Words are the answers to choose from; none for a free text.
	Words []string
	// Default is what an untouched sheet says; empty leaves it to an archetype.
	Default string
}

// Groups are the parts of the sheet, in the order they are shown. Answers may be
// given in any order.
var Groups = []string{"Vehicle", "Engine", "Fuel and spark", "Electrics", "Gearbox", "Lengths"}

// Sheet is every question, with the choices that a catalogue offers.
func Sheet(cat *catalogue.Catalogue) []Question {
	kind := func(k string) []string {
		var out []string
		for _, name := range cat.PartNames() {
			if cat.Parts[name].Kind == k {
				out = append(out, name)
			}
		}
		return out
	}
	like := func(section string) []string {
		return slices.DeleteFunc(cat.ArchetypeNames(section), func(s string) bool { return s == "default" })
	}
	list := []Question{
		{"name", "What do you call the vehicle?", "Any name; it heads every sheet.", "Vehicle", nil, "My swap"},
		{"vehicle", "Which of these is it most like?", "It only fills in what you don't know.", "Vehicle", like("vehicle"), pick(like("vehicle"), "car")},
		{"mass", "What does it weigh, ready to drive?", "On a weighbridge, or in its papers with tank and people added: 1240 kg.", "Vehicle", nil, ""},
		{"tyre", "What is on the tyre's side wall?", "205/65R15, or the diameter: 25.5 in.", "Vehicle", nil, ""},
		{"axle", "What is the axle ratio?", "Turn the wheel pair once and count the shaft's turns, or read the tag: 3.90:1.", "Vehicle", nil, ""},
		{"hottest", "How hot is its hottest day?", "Shade temperature: 35 °C.", "Vehicle", nil, "35 °C"},
		{"coldest", "How cold is its coldest start?", "-15 °C.", "Vehicle", nil, "-15 °C"},

		{"engine", "Which engine is it most like?", "It only fills in what you don't know.", "Engine", like("engine"), pick(like("engine"), usualEngine)},
		{"layout", "How do the cylinders stand?", "In one line, in two rows at an angle, or lying flat.", "Engine", []string{"inline", "V", "flat"}, "inline"},
		{"cylinders", "How many cylinders?", "Count the coils or the plugs.", "Engine", []string{"1", "2", "3", "4", "5", "6", "8", "10", "12"}, "4"},
		{"order", "In which order do they fire?", "Stamped on the intake or in the engine's papers: 1-3-4-2. It is not the order they are numbered in.", "Engine", nil, ""},
		{"bank", "Which cylinders are on the bank that holds cylinder 1?", "Only for two banks: 1 3 5.", "Engine", nil, ""},
		{"bore", "What is the bore?", "In the papers, or measured with the head off: 84 mm.", "Engine", nil, ""},
		{"stroke", "What is the stroke?", "In the papers: 90 mm.", "Engine", nil, ""},
		{"compression", "What is the compression ratio?", "In the papers: 10.5.", "Engine", nil, ""},
		{"throttle", "What opens the throttle?", "A motor on its side with six wires, or a cable.", "Engine", []string{"electronic", "cable"}, "electronic"},
		{"boost", "How much boost does its charger make?", "Only with a turbocharger or another one; above the air outside, at most: 0.7 bar.", "Engine", nil, ""},
		{"cooler", "Is there a charge cooler?", "A second radiator that the charge goes through; only with a charger.", "Engine", []string{"yes", "no"}, "yes"},
		{"phasers", "How many cam phasers?", "Solenoids at the front of the head, one for each cam that moves.", "Engine", []string{"0", "1", "2", "4"}, "0"},

		{"fuel", "What goes into the tank?", "The pump's label.", "Fuel and spark", like("fuel"), pick(like("fuel"), "petrol E10")},
		{"rail", "Which fuel system is it most like?", "Returnless: one line forward; else there is a return from the rail.", "Fuel and spark", like("fuel system"), pick(like("fuel system"), "returnless 4 bar")},
		{"injector", "Which injector is it most like?", "Flow and resistance are on its sheet; measure its ohms.", "Fuel and spark", kind("injector"), pick(kind("injector"), "injector")},
		{"pump", "Which pump?", "By what it brings at its pressure.", "Fuel and spark", kind("pump"), pick(kind("pump"), "large in-tank pump")},
		{"coil", "Which coil?", "Three or four wires: the igniter is inside. Count the towers: two on a winding are a pair with wasted spark. As many are fitted as the cylinders want.", "Fuel and spark", kind("coil"), pick(kind("coil"), "plug coil")},

		{"controller", "Which controller?", "By what it can drive; the findings say what it lacks.", "Electrics", kind("controller"), pick(kind("controller"), "large controller")},
		{"battery", "Which battery?", "The label: capacity and cold cranking current.", "Electrics", kind("battery"), pick(kind("battery"), "battery 70 Ah")},
		{"alternator", "Which alternator?", "Its type plate.", "Electrics", kind("alternator"), pick(kind("alternator"), "alternator 120 A")},
		{"starter", "Which starter?", "Its type plate.", "Electrics", kind("starter"), pick(kind("starter"), "starter 1.4 kW")},
		{"fans", "How many electric radiator fans?", "Count them.", "Electrics", []string{"0", "1", "2"}, "1"},
		{"air", "Is there air conditioning?", "A compressor with a wire to its pulley.", "Electrics", []string{"no", "yes"}, "no"},
		{"earth", "Which battery post is on the body?", "Follow the short strap.", "Electrics", []string{"negative", "positive"}, "negative"},
		{"volts", "How many volts has the vehicle?", "The battery's label.", "Electrics", []string{"12 V", "6 V"}, "12 V"},

		{"gearbox", "Which gearbox?", "Two pedals or three.", "Gearbox", []string{"manual", "automatic"}, "manual"},
		{"ratios", "What are its ratios?", "First to top, from its papers: 3.5 2.1 1.4 1 0.8.", "Gearbox", nil, ""},
		{"interlock", "Does it start only in park and neutral, or with the clutch down?", "Try it, wheels chocked, lead off the coil.", "Gearbox", []string{"wired", "not wired"}, "wired"},

		{"to box", "How far is it from the battery to the fuse box?", "With a piece of string, along the way the wires take: 0.8 m.", "Lengths", nil, "0.8 m"},
		{"to bulkhead", "From the fuse box to the bulkhead?", "0.6 m.", "Lengths", nil, "0.6 m"},
		{"to engine", "From the bulkhead to the middle of the engine?", "0.9 m.", "Lengths", nil, "0.9 m"},
		{"to dash", "From the fuse box to the dash?", "0.8 m.", "Lengths", nil, "0.8 m"},
		{"to controller", "From the bulkhead to the controller?", "0.7 m.", "Lengths", nil, "0.7 m"},
		{"to nose", "From the fuse box to the radiator?", "1.2 m.", "Lengths", nil, "1.2 m"},
		{"to tank", "From the fuse box to the tank?", "Under the floor: 3.6 m.", "Lengths", nil, "3.6 m"},
		{"to tail", "From the tank to the tail?", "1.0 m.", "Lengths", nil, "1.0 m"},
	}
	return list
}

func pick(words []string, want string) string {
	if slices.Contains(words, want) || len(words) == 0 {
		return want
	}
	return words[0]
}

// Answers are the texts of a sheet by question key.
type Answers map[string]string

// Defaults are the answers of an untouched sheet.
func Defaults(sheet []Question) Answers {
	a := Answers{}
	for _, q := range sheet {
		a[q.Key] = q.Default
	}
	return a
}

// Known reports whether every key is a question's, and every choice one of its
// words; the message says which is not.
func (a Answers) Known(sheet []Question) error {
	for key, text := range a {
		i := slices.IndexFunc(sheet, func(q Question) bool { return q.Key == key })
		if i < 0 {
			return fmt.Errorf("there is no question %q", key)
		}
		if w := sheet[i].Words; len(w) > 0 && text != "" && !slices.Contains(w, text) {
			return fmt.Errorf("%q is no answer to %q; the answers are %s", text, sheet[i].Ask, strings.Join(w, ", "))
		}
		if strings.ContainsAny(text, "\n\r") {
			return fmt.Errorf("the answer to %q has more than one line", sheet[i].Ask)
		}
	}
	return nil
}

// usualEngine is what the sheet proposes first.
const usualEngine = "inline four"

// usualOrder is the firing order that engines of a layout and number mostly have
// (from memory; the engine's papers go first). Where none is usual the cylinders are counted up, and usual is false.
func usualOrder(layout string, n int) (order string, usual bool) {
	orders := map[string]string{
		"inline 3": "1-3-2", "inline 4": "1-3-4-2", "inline 5": "1-2-4-5-3", "inline 6": "1-5-3-6-2-4",
		"V 6": "1-2-3-4-5-6", "V 8": "1-8-4-3-6-5-7-2", "V 10": "1-10-9-4-3-6-5-8-7-2", "V 12": "1-7-5-11-3-9-6-12-2-8-4-10",
		"flat 4": "1-3-2-4", "flat 6": "1-6-2-4-3-5",
	}
	if o, ok := orders[layout+" "+strconv.Itoa(n)]; ok {
		return o, true
	}
	parts := make([]string, n)
	for i := range parts {
		parts[i] = strconv.Itoa(i + 1)
	}
	return strings.Join(parts, "-"), n <= 2
}

// File is where a build folder keeps the answers of its sheet.
const File = "answers.json"

// Ignore is the .gitignore of a new build folder: what is large or private is
// kept out and referred to by its hash.
const Ignore = `# raw logs, their columns, and photographs are referred to by hash
/drives/*.mf4
/drives/*.csv
/drives/*.log
*.parquet
*.jpg
*.jpeg
*.png
*.heic
/book.pdf
`
