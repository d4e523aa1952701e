package questions

import (
	"fmt"
	"strconv"
	"strings"

	"fettle/internal/catalogue"
)

// writer makes the text of a build file line by line.
type writer struct {
	b   strings.Builder
	a   Answers
	cat *catalogue.Catalogue
}

func (w *writer) line(format string, args ...any) { fmt.Fprintf(&w.b, format+"\n", args...) }

// given writes a key when its question was answered.
func (w *writer) given(key, question string) {
	if t := strings.TrimSpace(w.a[question]); t != "" {
		w.line("  %s: %s", key, quote(t))
	}
}

// quote keeps a text one scalar of the file.
func quote(t string) string {
	if strings.ContainsAny(t, ":#{}[],&*!|>'\"%@`") || strings.HasPrefix(t, "-") && strings.Contains(t, " -") {
		return "'" + strings.ReplaceAll(t, "'", "''") + "'"
	}
	return t
}

// has reports whether the catalogue has a part of the name.
func (w *writer) has(part string) bool { return w.cat.Parts[part] != nil }

func (w *writer) count(question string) int {
	n, err := strconv.Atoi(w.a[question])
	if err != nil {
		return 0
	}
	return n
}

// Build is the build file of the answers.
func (a Answers) Build(cat *catalogue.Catalogue) []byte {
	w := &writer{a: a, cat: cat}
	w.head()
	w.engine()
	w.places()
	w.devices()
	w.rest()
	return []byte(w.b.String())
}

func (w *writer) head() {
	w.line("# Begun from the question sheet. What was not answered is assumed and stands in")
	w.line("# brackets on every page; write it in here once you have measured it.\n")
	w.line("fettle: 1")
	w.line("name: %s\n", quote(first(w.a["name"], "My swap")))
	w.line("vehicle:")
	w.given("like", "vehicle")
	w.given("mass", "mass")
	w.given("tyre", "tyre")
	w.given("axle ratio", "axle")
	w.line("\nclimate:")
	w.given("hottest", "hottest")
	w.given("coldest", "coldest")
	w.line("\nfuel:")
	w.given("like", "fuel")
	w.line("\nfuel system:")
	w.given("like", "rail")
	if w.boosted() {
		w.line("\nboost:")
		w.given("pressure", "boost")
		w.line("  charge cooler: %s", first(w.a["cooler"], "yes"))
		w.line("  over-pressure cut: fuel")
	}
}

// boosted reports whether a boost was answered.
func (w *writer) boosted() bool { return strings.TrimSpace(w.a["boost"]) != "" }

func (w *writer) engine() {
	n := max(1, w.count("cylinders"))
	layout := first(w.a["layout"], "inline")
	w.line("\nengine:")
	if like := w.kin(layout, n); like != "" {
		w.line("  like: %s", quote(like))
	}
	w.line("  layout: %s", layout)
	w.line("  cylinders: %d", n)
	order, usual := usualOrder(layout, n)
	if answered := strings.TrimSpace(w.a["order"]); answered != "" {
		order, usual = answered, true
	}
	if !usual {
		w.line("  # No order is usual for such an engine: this one only holds the place. Look it up.")
	}
	w.line("  firing order: %s", quote(order))
	if bank := strings.Fields(strings.ReplaceAll(w.a["bank"], ",", " ")); layout != "inline" && len(bank) > 0 {
		w.line("  bank 1: [%s]", strings.Join(bank, ", "))
	}
	w.given("bore", "bore")
	w.given("stroke", "stroke")
	w.given("compression ratio", "compression")
	w.given("throttle", "throttle")
	if kind := w.spark(); kind != "" {
		w.line("  spark: %s", kind)
	}
	if w.a["phasers"] == "0" {
		w.line("  intake phaser: 0°") // the archetype may have one
	}
}

// kin is the archetype that stands in for what is not known: the one answered, or,
// where the sheet's first proposal was left standing, one of the same layout and
// number of cylinders.
func (w *writer) kin(layout string, n int) string {
	answered := strings.TrimSpace(w.a["engine"])
	if answered != "" && answered != usualEngine {
		return answered
	}
	number := map[int]string{2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}[n]
	name := layout + " " + number
	if layout == "V" {
		name = "V" + strconv.Itoa(n)
	}
	names := []string{name + " even fire", name}
	if w.boosted() {
		names = append([]string{name + " boosted"}, names...)
	}
	for _, like := range names {
		if _, _, ok := w.cat.Archetype("engine", like); ok {
			return like
		}
	}
	return answered
}

// places are the spots that every vehicle has; their temperatures are those of
// a hot day's climb (common practice).
func (w *writer) places() {
	w.line("\n# Where things are, and how hot it gets there on a long climb in summer.\nplaces:")
	for _, p := range []struct{ name, rest string }{
		{"battery", "hot: 45 °C ± 10 °C, ground: body"},
		{"fuse box", "hot: 50 °C ± 10 °C"},
		{"bulkhead", "hot: 70 °C ± 10 °C, bulkhead: yes"},
		{"dash", "hot: 50 °C ± 10 °C, ground: body"},
		{"controller", "hot: 50 °C ± 10 °C"},
		{"engine", "hot: 90 °C ± 8 °C, ground: engine"},
		{"nose", "hot: 60 °C ± 10 °C, ground: body"},
		{"gearbox", "hot: 80 °C ± 10 °C"},
		{"tank", "hot: 50 °C ± 10 °C, ground: body"},
		{"tail", "hot: 45 °C ± 10 °C, ground: body"},
	} {
		w.line("  %s: {%s}", p.name, p.rest)
	}
	w.line("\nroutes:")
	for _, r := range []struct{ from, to, q string }{
		{"battery", "fuse box", "to box"},
		{"battery", "engine", "to engine"},
		{"fuse box", "bulkhead", "to bulkhead"},
		{"bulkhead", "engine", "to engine"},
		{"fuse box", "dash", "to dash"},
		{"bulkhead", "controller", "to controller"},
		{"fuse box", "nose", "to nose"},
		{"bulkhead", "gearbox", "to engine"},
		{"fuse box", "tank", "to tank"},
		{"tank", "tail", "to tail"},
	} {
		w.line("  - {from: %s, to: %s, length: %s}", r.from, r.to, quote(withSpread(first(w.a[r.q], "1 m"))))
	}
}

// withSpread adds what a piece of string is good for when nothing is said.
func withSpread(text string) string {
	if strings.Contains(text, "±") || strings.Contains(text, "+/-") {
		return text
	}
	return text + " ± 5 %"
}

// device writes one device, if the catalogue has its part.
func (w *writer) device(name, part, at, more string) {
	if !w.has(part) {
		return
	}
	w.line("  %s: {part: %s, at: %s%s}", name, part, at, more)
}

func (w *writer) devices() {
	w.line("\ndevices:")
	w.device("battery", w.a["battery"], "battery", "")
	w.device("alternator", w.a["alternator"], "engine", "")
	w.device("starter", w.a["starter"], "engine", "")
	w.device("ignition switch", "ignition switch", "dash", "")
	w.device("controller", w.a["controller"], "controller", "")
	w.device("fuel pump", w.a["pump"], "tank", "")
	w.device("injector", w.a["injector"], "engine", ", each: cylinder")
	w.coils()
	w.device("suppressor", "suppression capacitor", "engine", "")
	w.air()
	w.sensors()
	w.gearbox()
	w.vehicle()
}

// coils writes as many coils of the chosen kind as the cylinders want, and the
// ignition stages of those that have no igniter inside.
func (w *writer) coils() {
	part := w.cat.Parts[w.a["coil"]]
	if part == nil || part.Coil == nil {
		return
	}
	n := max(1, w.count("cylinders"))
	windings := map[string]int{"a pair": (n + 1) / 2, "all cylinders": 1}[part.Coil.Serves]
	if windings == 0 {
		windings = n
	}
	each := max(1, part.Windings())
	switch count := (windings + each - 1) / each; {
	case windings == n && each == 1:
		w.device("coil", part.Name, "engine", ", each: cylinder")
	case count == 1:
		w.device("coil", part.Name, "engine", "")
	default:
		for i := range count {
			w.device(fmt.Sprintf("coil %s", numbered[min(i, len(numbered)-1)]), part.Name, "engine", "")
		}
	}
	if part.Coil.Serves == "all cylinders" {
		w.device("distributor", "distributor", "engine", "")
	}
	w.stages(part, windings)
}

// numbered are the names of things that there are several of.
var numbered = []string{"one", "two", "three", "four", "five", "six", "seven", "eight"}

// stages writes the ignition stages that coils without igniters need.
func (w *writer) stages(coil *catalogue.Part, windings int) {
	for _, t := range coil.Terminals {
		if t.Value.Needs != "ignition stage" {
			continue
		}
		for i := 0; windings > 0; i++ {
			part, serves := "ignition stage six", 6
			if windings <= 4 {
				part, serves = "ignition stage four", 4
			}
			w.device("ignition stage "+numbered[min(i, len(numbered)-1)], part, "engine", "")
			windings -= serves
		}
		return
	}
}

// spark is the word for how coils of a kind serve cylinders.
func (w *writer) spark() string {
	part := w.cat.Parts[w.a["coil"]]
	if part == nil || part.Coil == nil {
		return ""
	}
	if kind, ok := map[string]string{"a pair": "wasted spark", "all cylinders": "distributor"}[part.Coil.Serves]; ok {
		return kind
	}
	return "one coil a cylinder"
}

func (w *writer) air() {
	if w.a["throttle"] == "cable" {
		w.device("throttle", "cable throttle", "engine", "")
		w.device("idle valve", "idle valve", "engine", "")
	} else {
		w.device("throttle", "throttle body", "engine", "")
		w.device("pedal", "two-track pedal", "dash", "")
	}
	names := []string{"intake phaser", "exhaust phaser", "intake phaser two", "exhaust phaser two"}
	for i := range min(w.count("phasers"), len(names)) {
		w.device(names[i], "phaser solenoid", "engine", "")
	}
}

func (w *writer) sensors() {
	w.device("crank sensor", "crank sensor", "engine", "")
	names := []string{"cam sensor", "cam sensor two", "cam sensor three", "cam sensor four"}
	for _, name := range names[:min(max(1, w.count("phasers")), len(names))] {
		w.device(name, "cam sensor", "engine", "") // one for each cam that moves
	}
	sensor := "manifold pressure sensor"
	if w.boosted() {
		sensor = "manifold pressure sensor 2.5 bar"
	}
	w.device("manifold pressure", sensor, "engine", "")
	w.device("coolant temperature", "temperature sensor", "engine", ", reads: coolant temperature")
	w.device("air temperature", "air temperature sensor", "engine", "")
	w.device("oil pressure", "oil pressure sensor", "engine", "")
	w.device("fuel pressure", "fuel pressure sensor", "engine", "")
	w.device("knock sensor", "knock sensor", "engine", "")
	w.device("lambda", "lambda sensor", "gearbox", "")
}

func (w *writer) gearbox() {
	if w.a["gearbox"] != "automatic" {
		return
	}
	w.device("shift solenoid one", "shift solenoid", "gearbox", "")
	w.device("shift solenoid two", "shift solenoid", "gearbox", "")
	w.device("pressure solenoid", "pressure solenoid", "gearbox", "")
	w.device("converter clutch", "converter clutch solenoid", "gearbox", "")
	w.device("output shaft speed", "shaft speed sensor", "gearbox", "")
	w.device("range switch", "range switch", "gearbox", "")
}

func (w *writer) vehicle() {
	w.device("brake switch", "brake switch", "dash", "")
	w.device("check lamp", "warning lamp", "dash", "")
	w.device("charge lamp", "charge lamp", "dash", "")
	w.device("tachometer", "tachometer", "dash", "")
	w.device("instruments", "instruments", "dash", "")
	w.device("diagnostic socket", "diagnostic socket", "dash", "")
	for i := range min(w.count("fans"), 2) {
		w.device([]string{"fan", "second fan"}[i], "radiator fan", "nose", "")
	}
	if w.a["air"] == "yes" {
		w.device("compressor", "air-con clutch", "engine", "")
	}
	w.device("blower", "heater blower", "dash", "")
	w.device("left headlamp", "headlamp", "nose", "")
	w.device("right headlamp", "headlamp", "nose", "")
	w.device("wipers", "wiper motor", "dash", "")
	w.device("left rear lamp", "rear lamp", "tail", "")
	w.device("right rear lamp", "rear lamp", "tail", "")
	w.device("horn", "horn", "nose", "")
}

func (w *writer) rest() {
	w.line("\ngearbox:\n  kind: %s", first(w.a["gearbox"], "manual"))
	if r := strings.Fields(strings.ReplaceAll(w.a["ratios"], ",", " ")); len(r) > 0 {
		w.line("  ratios: [%s]", strings.Join(r, ", "))
	}
	if w.a["gearbox"] == "automatic" {
		w.line("  run by: engine controller")
	}
	w.given("start interlock", "interlock")
	w.line("\nelectrical:")
	w.given("system voltage", "volts")
	w.given("earth", "earth")
	w.line("  alternator excited by: lamp")
	w.line("\nloom:\n  fuse box: fuse box")
}

func first(words ...string) string {
	for _, s := range words {
		if t := strings.TrimSpace(s); t != "" {
			return t
		}
	}
	return ""
}
