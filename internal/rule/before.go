package rule

import (
	"slices"

	"fettle/internal/diag"
)

// Step is a step of a swap, in the order they are taken.
type Step int

// The steps.
const (
	Order Step = iota
	Cut
	Power
	Crank
	Start
	Drive
)

// Steps are the steps in their order.
var Steps = [...]Step{Order, Cut, Power, Crank, Start, Drive}

// Name says what is done in a step.
func (s Step) Name() string {
	return [...]string{"order the parts", "cut the loom", "put the battery on", "turn the engine on the starter", "start it", "drive it"}[s]
}

// How says how a step is taken.
func (s Step) How() string {
	return [...]string{
		"what is bought now stays",
		"to the lengths and sizes of the Loom, with every wire labelled at both ends",
		"with the controller unplugged, a small fuse at the battery first, every supply and ground probed",
		"with fuel and spark off, until oil pressure stands and the crank and cam signals are sound",
		"outdoors, with an extinguisher at hand and the fuel lines looked at under pressure",
		"on a quiet road, with a second person and a short list of figures to watch",
	}[s]
}

// Before is the step that waits until a rule's finding is mended: a part that is
// wrong should not be ordered, a wire that is wrong not be cut, and so on.
func Before(id string) Step {
	for s, ids := range waits {
		if slices.Contains(ids, id) {
			return Step(s)
		}
	}
	return Order
}

// waits are the rules by the step that waits for them.
var waits = [len(Steps)][]string{
	Order: {
		"unsolved", "pin-short", "charge-balance", "reset-cranking", "slow-cranking", "spark-cranking", "fuel-short", "fuel-cranking", "pump-voltage",
		"injector-duty", "coil-charge", "six-volt", "positive-earth", "charge-lamp", "inertia-switch", "fan-absent", "gearbox-control", "gearbox-signals",
		"gear-order", "cruise-load", "cruise-revs", "shaft-critical", "cooling-short", "bank-one", "pedal-tracks", "crank-sensor", "piston-speed",
		"hose-class", "rail-boiling", "boost-reference", "direct-injection", "boost-cut", "charge-hot", "throttle-driver", "idle-valve", "phaser-feedback", "load-sensor",
		"air-temperature", "coolant-sensor", "wheel-gap", "cam-sensor", "boost-map-range", "ethanol-hose", "octane-compression", "knock-past-spark", "wasted-pairs", "spark-coils",
		"fuel-cold", "idle-short", "rail-creep", "pump-suction", "pump-pulse", "tank-pickup", "tank-strainer", "tank-vent", "tank-vapour",
	},
	Cut: {
		"wire-drop", "splice-seat", "pair-parted", "screen-ends", "quiet-room", "sensor-ground", "loose-feed", "load-starved", "supply-cranking", "relay-overload", "relay-pull-in", "fuse-wire", "fuse-load", "wire-hot", "battery-lead", "fuse-group", "coil-suppression", "back-feed", "resistance-wire",
		"alternator-excite", "excite-wire", "ammeter-cable", "isolator-run", "load-dump", "parked-drain", "main-direct", "power-ground", "memory-dead", "starter-runaway",
		"pump-runaway", "pump-over-driver", "lead-missing", "reverse-lamp", "tach-signal", "start-interlock", "clutch-interlock", "can-ends", "can-stub",
		"can-pair", "injector-channel", "coil-channel", "head-ground", "shared-ground", "body-ground", "stage-ground", "capacitors", "phaser-unused",
	},
	Power: {"lead-open"},
	Crank: {"cam-clearance"},
	Start: {
		"injector-data", "injector-data-twice", "rail-high-idle", "lambda-tilt", "lambda-place", "lambda-leak", "lambda-heat", "knock-torque", "knock-seat",
		"knock-washer", "manifold-tap", "manifold-hose", "manifold-port", "charge-temperature",
	},
	Drive: {"joint-angle", "joint-still", "yokes"},
}

// Blocking lists, step by step, the open causes that have to be mended before
// it; a note blocks nothing, and what the file accepts does not either.
func Blocking(fs []Finding) (by [len(Steps)][]Finding) {
	for _, f := range fs {
		if f.Waived == "" && f.Severity >= diag.Fix {
			s := Before(f.Rule)
			by[s] = append(by[s], f)
		}
	}
	return by
}

// Allowed is how many steps may be taken one after the other before the first
// that something stands before.
func Allowed(by [len(Steps)][]Finding) int {
	for i, fs := range by {
		if len(fs) > 0 {
			return i
		}
	}
	return len(by)
}
