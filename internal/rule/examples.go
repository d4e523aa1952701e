package rule

import "strings"

// exampleController is an invented controller with all that the base vehicle
// asks for but a bridge for its throttle, and with further pins.
func exampleController(name string, pins ...string) string {
	text := `part: NAME
kind: controller
is: invented for this example, without a motor bridge
source: invented for this example
terminals:
  P1: {role: feed, feed: memory}
  P2: {role: feed, feed: switched}
  P3: {role: feed, feed: controller}
  P4: {role: feed, feed: controller}
  P5: {role: ground, ground: power}
  P6: {role: ground, ground: power}
  P7: {role: ground, ground: power}
loads:
  - {from: P1, to: P5, model: current, current: 2 mA, drop-out: 5 V, on: [parked, key on, cranking, idle, wet night, cruise, full power, hot restart, after-run]}
  - {from: P3, to: P6, model: power, power: 9 W, drop-out: 6 V, on: [key on, cranking, idle, wet night, cruise, full power, hot restart, after-run]}
controller:
  reset voltage: 6.2 V
  pump output current: 1 A
  sensor ground resistance: 15 mΩ
  pins:
    - {connector: A, ways: 1-8, can: [injector driver], current: 3 A, resistance: 250 mΩ}
    - {connector: A, ways: 9-16, can: [coil driver], current: 20 mA, resistance: 60 Ω}
    - {connector: A, ways: 17-26, can: [phaser driver, idle output, heater driver, low side], current: 5 A, resistance: 150 mΩ}
    - {connector: A, ways: 27-40, can: [analogue]}
    - {connector: A, ways: 41-48, can: [thermistor]}
    - {connector: A, ways: 49-54, can: [hall]}
    - {connector: A, ways: 55-58, can: [magnetic]}
    - {connector: A, ways: 59-60, can: [knock]}
    - {connector: A, ways: "61", can: [lambda pump cell]}
    - {connector: A, ways: "62", can: [lambda Nernst cell]}
    - {connector: A, ways: "63", can: [lambda trim]}
    - {connector: A, ways: "64", can: [lambda virtual ground]}
    - {connector: A, ways: 65-70, can: [sensor supply], current: 150 mA, resistance: 500 mΩ}
    - {connector: A, ways: 71-76, can: [sensor ground], current: 300 mA}
    - {connector: B, ways: 1-20, can: [low side, solenoid driver, lamp output, fan output], current: 3 A, resistance: 200 mΩ}
    - {connector: B, ways: "21", can: [main relay output], current: 1 A, resistance: 500 mΩ}
    - {connector: B, ways: "22", can: [pump output], current: 1 A, resistance: 500 mΩ}
    - {connector: B, ways: "23", can: [tachometer output], current: 50 mA, resistance: 100 Ω}
    - {connector: B, ways: 24-25, can: [high side], current: 2 A, resistance: 200 mΩ}
    - {connector: B, ways: 26-41, can: [switch input]}
    - {connector: B, ways: "42", can: [can high]}
    - {connector: B, ways: "43", can: [can low]}
`
	for _, p := range pins {
		text += "    - " + p + "\n"
	}
	return strings.Replace(text, "NAME", name, 1)
}
