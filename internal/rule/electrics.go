package rule

import "fettle/internal/diag"

var positiveEarth = statement{
	id: "positive-earth", title: "the vehicle has its positive post on the body",
	why: "A controller, its drivers and every modern sensor return to negative. On a positive earth their cases and brackets short the battery, " +
		"and the reversed supply destroys them at the first connection.",
	source: "common practice", severity: diag.Stop, page: "power",
	path: []string{"electrical", "earth"}, bad: []string{"positive"}, good: "negative",
	msg:  "the battery's positive post is on the body; the electronics return to negative",
	hint: "convert the vehicle to negative earth before anything of the new engine is connected",
}.rule()

var resistanceWire = statement{
	id: "resistance-wire", title: "an old ballast wire lies in the switched supply",
	why: "The old ignition fed its coil through a wire of one to two ohms. Behind it a controller, injectors or coils see the battery's voltage less what their own current drops there, " +
		"and it hides in the loom under ordinary tape.",
	source: "common practice: 1 to 2 Ω ballast for 12 V coils", severity: diag.Fix, page: "power",
	path: []string{"electrical", "resistance wire"}, bad: []string{"in the switched supply"}, good: "none",
	msg:  "the switched supply comes through the old coil's resistance wire",
	hint: "take the supply before the resistance wire, or run a new one from terminal 15",
}.rule()

var inertiaSwitch = statement{
	id: "inertia-switch", title: "no inertia switch stands in the pump's feed",
	why:    "After a crash the engine may run on, and with it the pump, into a line that is torn. A switch that opens on impact stops it whatever the controller does.",
	source: "common practice", severity: diag.Note, page: "fuel",
	path: []string{"fuel system", "inertia switch"}, bad: []string{"none"}, good: "fitted",
	msg:  "nothing stops the fuel pump on impact",
	hint: "fit an inertia switch in the pump's feed, where it can be reset from the cabin",
}.rule()

var canPair = statement{
	id: "can-pair", title: "the CAN bus is not a twisted pair",
	why:    "The two wires of the bus reject what both pick up alike. Untwisted beside coil leads they pick up different amounts, and messages are lost when the engine is loaded.",
	source: "ISO 11898-2 (from memory); common practice: 30 turns a metre", severity: diag.Fix, page: "power",
	path: []string{"can bus", "pair"}, bad: []string{"untwisted"}, good: "twisted",
	msg:  "CAN high and CAN low run untwisted",
	hint: "twist the pair along its whole length, about 30 turns a metre",
}.rule()

var directInjection = statement{
	id: "direct-injection", title: "the engine injects into its cylinders",
	why:    "A direct injection needs a high-pressure pump steered by crank angle and injectors driven at some 65 V. An ordinary driver does neither, and what would happen otherwise is fuel at 200 bar out of control.",
	source: "common practice", severity: diag.Stop, page: "engine",
	path: []string{"engine", "direct injection"}, bad: []string{"yes", "true"}, good: "no",
	msg:  "the engine has direct injection, which this controller does not drive",
	hint: "take a controller that drives a direct pump and direct injectors, or the port-injected variant of the engine",
	only: func(c *Case) bool { return !c.unitCan(directPump) || !c.unitCan(directInjector) },
}.rule()

var hoseSag = statement{
	id: "manifold-hose", title: "the manifold pressure hose sags",
	why:    "Fuel and water gather in the lowest place of the hose and damp or block the pressure; the sensor then answers late and the mixture is wrong at every change of throttle.",
	source: "common practice: its own port, rising to the sensor", severity: diag.Note, page: "engine",
	path: []string{"fitting", "manifold pressure", "hose"}, bad: []string{"sags"}, good: "rises to the sensor",
	msg:  "the hose to the manifold pressure sensor sags, so liquid gathers in it",
	hint: "lay it so that it rises all the way to the sensor",
}.rule()

var manifoldPort = statement{
	id: "manifold-port", title: "the manifold pressure sensor shares its port",
	why:    "What else hangs on the port, a brake servo or a valve, pulls the pressure away for moments; the sensor reads less load than there is, and the engine gets less fuel.",
	source: "common practice", severity: diag.Note, page: "engine",
	path: []string{"fitting", "manifold pressure", "port"}, bad: []string{"shared"}, good: "its own",
	msg:  "the manifold pressure sensor shares its port with something else",
	hint: "give it a port of its own on the plenum",
}.rule()

var manifoldTap = statement{
	id: "manifold-tap", title: "manifold pressure is taken before the throttle",
	why:    "Before the throttle the pressure is the atmosphere's whatever the load. A controller that reckons its fuel from it floods the engine at idle.",
	source: "common practice", severity: diag.Fix, page: "engine",
	path: []string{"fitting", "manifold pressure", "tapped"}, bad: []string{"before the throttle"}, good: "after the throttle",
	msg:  "manifold pressure is tapped before the throttle, where it says nothing of the load",
	hint: "tap the plenum after the throttle",
}.rule()

var capacitors = statement{
	id: "capacitors", title: "no suppression capacitor stands at the coils",
	why:    "Each charge of a coil pulls several amperes through its feed in a few milliseconds. Without a capacitor at the coils that edge runs through the whole loom as noise.",
	source: "common practice", severity: diag.Note, page: "engine",
	path: []string{"fitting", "suppression capacitors"}, bad: []string{"none", "elsewhere"}, good: "at the coils",
	msg:  "there is no suppression capacitor where the coils are",
	hint: "fit the capacitor at the coils' feed, its case on the head",
}.rule()

var stageGround = statement{
	id: "stage-ground", title: "the ignition stages do not return to their head",
	why:    "The spark's current comes back through the head. A stage grounded elsewhere puts that current through a ground wire it shares with others, and lifts them at every spark.",
	source: "common practice", severity: diag.Fix, page: "engine",
	path: []string{"fitting", "ignition stages return to"}, bad: []string{"the body", "the battery"}, good: "their head",
	msg:  "the ignition stages return elsewhere than to the cylinder head they fire",
	hint: "ground each stage, and its capacitor, on its own head",
}.rule()
