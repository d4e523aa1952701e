package rule

// engineRules are about the engine, its fuel, and how its sensors sit.
var engineRules = []Rule{}
