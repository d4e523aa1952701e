package rule

import (
	"fettle/internal/buildfile"
	"fettle/internal/diag"
)

var lambdaPlace = statement{
	id: "lambda-place", title: "the lambda sensor sits where it does not see its whole bank",
	why:    "Before the merge it sees one cylinder; before a turbine it sees pressure that it takes for mixture, and heat that ends it.",
	source: "common practice: after its bank's merge and any turbine", severity: diag.Fix, page: "engine",
	path: []string{"fitting", "lambda sensor", "place"}, bad: []string{"in one runner", "before the turbine", "behind the catalyst"}, good: "after its bank's merge",
	msg:  "the lambda sensor does not see the mixture of its whole bank as it is",
	hint: "weld its boss after the bank's merge, and after any turbine",
}.rule()

var lambdaLeak = statement{
	id: "lambda-leak", title: "a joint upstream of the lambda sensor leaks",
	why:    "Between pulses the exhaust draws air in through a leak. The sensor sees that air, the controller takes it for a lean engine and makes it rich.",
	source: "common practice", severity: diag.Fix, page: "engine",
	path: []string{"fitting", "lambda sensor", "joint upstream"}, bad: []string{"leaks"}, good: "tight",
	msg:  "a joint before the lambda sensor leaks, so it reads lean",
	hint: "make the joint tight before closed-loop control is switched on",
}.rule()

var lambdaHeat = statement{
	id: "lambda-heat", title: "the lambda sensor is heated in full before the engine runs",
	why:    "A cold exhaust holds water. A drop on a ceramic at 700 °C cracks it, often at the first start.",
	source: "common practice: full heat only once the engine runs", severity: diag.Fix, page: "engine",
	path: []string{"fitting", "lambda sensor", "full heat"}, bad: []string{"from key on"}, good: "once the engine runs",
	msg:  "the lambda sensor gets full heat from key on, with water still in the exhaust",
	hint: "let the controller heat it in full only once the engine has run for a while",
}.rule()

var knockSeat = statement{
	id: "knock-seat", title: "the knock sensor does not sit on bare metal",
	why:    "The sensor hears what the block hands it. Paint or a bracket between them swallows the very frequencies that knock has.",
	source: "common practice: a bare, flat boss", severity: diag.Fix, page: "engine",
	path: []string{"fitting", "knock sensor", "seat"}, bad: []string{"painted boss", "bracket"}, good: "bare flat boss",
	msg:  "the knock sensor sits on paint or a bracket, and hears little of the block",
	hint: "clean a flat boss on the block to bare metal and seat it there",
}.rule()

var knockWasher = statement{
	id: "knock-washer", title: "a washer lies under the knock sensor",
	why:    "A washer is a spring between block and sensor: it moves the sensor's resonance and hides knock.",
	source: "common practice", severity: diag.Fix, page: "engine",
	path: []string{"fitting", "knock sensor", "washer"}, bad: []string{"yes", "true"}, good: "no",
	msg:  "a washer lies between the knock sensor and the block",
	hint: "take the washer out",
}.rule()

var chargeTemperature = statement{
	id: "charge-temperature", title: "the charge temperature is not taken after the cooler",
	why:    "The engine breathes what leaves the charge cooler. A sensor before it reads tens of degrees too hot, the controller reckons less air than there is, and the engine runs lean under boost.",
	source: "ideal gas law; common practice", severity: diag.Fix, page: "engine",
	path: []string{"boost", "charge temperature sensor"}, bad: []string{"before the cooler", "none"}, good: "after the cooler",
	msg:  "the temperature of the charge is not taken where the engine breathes it",
	hint: "fit the air temperature sensor after the charge cooler",
	with: boosted,
}.rule()

var boostCut = statement{
	id: "boost-cut", title: "nothing stops an over-boosted engine",
	why:    "A stuck wastegate raises the boost until something breaks. A controller that cuts fuel above a stated pressure saves the engine.",
	source: "common practice", severity: diag.Fix, page: "engine",
	path: []string{"boost", "over-pressure cut"}, bad: []string{"none"}, good: "fuel",
	msg:  "no cut stands against more boost than stated",
	hint: "set a fuel cut a little above the highest boost",
	with: boosted,
}.rule()

// boosted is what the examples of a boosted engine share: a small boost that the
// base vehicle's fuel system still feeds, with its rail referred to the manifold.
var boosted = []buildfile.Edit{
	{Path: []string{"boost", "pressure"}, Text: "0.05 bar"},
	{Path: []string{"fuel system", "regulator reference"}, Text: "manifold"},
	{Path: []string{"devices", "manifold pressure", "part"}, Text: "manifold pressure sensor"},
}

var yokes = statement{
	id: "yokes", title: "the propeller shaft's inner yokes are not in line",
	why:    "Each joint turns its output unevenly twice a turn. In line, the second takes back what the first did; turned, they add, and the shaft shakes at all speeds.",
	source: "Hooke's joint: Khurmi and Gupta, Theory of Machines, example 9.7", severity: diag.Fix, page: "driveline",
	path: []string{"propeller shaft", "yokes"}, bad: []string{"turned"}, good: "in line",
	msg:  "the two inner yokes of the propeller shaft are turned against each other",
	hint: "pull the sliding joint apart and put it together with the yokes in line",
	with: shaftExample,
}.rule()

// shaftExample is a shaft that nothing is wrong with.
var shaftExample = []buildfile.Edit{
	{Path: []string{"propeller shaft", "length"}, Text: "0.9 m"},
	{Path: []string{"propeller shaft", "diameter"}, Text: "76.2 mm"},
	{Path: []string{"propeller shaft", "wall"}, Text: "1.65 mm"},
}
