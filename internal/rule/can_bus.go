package rule

import (
	"fettle/internal/buildfile"
	"fettle/internal/diag"
)

var canEnds = Rule{
	ID: "can-ends", Title: "the CAN bus has not two terminators",
	Why:    "The bus is a line whose ends must swallow the signal. With one or three terminators of 120 Ω it reflects or is pulled down, and messages are lost now and then.",
	Source: "ISO 11898-2: 120 Ω at each end, 60 Ω measured across the bus with the power off", Severity: diag.Fix, Page: "power",
	Bad: []buildfile.Edit{edit("1", "can bus", "terminators")}, Good: []buildfile.Edit{edit("2", "can bus", "terminators")},
	Check: func(c *Case) []Finding {
		n := c.Design.Tree.Find("can bus", "terminators")
		if n == nil || c.Design.File.Bus.Terminators == 2 {
			return nil
		}
		f := Finding{Target: "power#can-bus"}
		f.Pos, f.Subject = n.Pos, "can bus, terminators"
		f.Msg = diag.Sayf("the CAN bus has %d terminators; it wants one at each end", c.Design.File.Bus.Terminators)
		f.Value, f.Limit = diag.Sayf("%d", c.Design.File.Bus.Terminators), diag.Sayf("2")
		f.Hint = diag.Sayf("put one at each end of the bus, and count those inside the control units")
		return []Finding{f}
	},
}

// mostStubM is the longest branch of a bus at its highest speed (ISO 11898-2, from memory).
const mostStubM = 0.3

var canStub = Rule{
	ID: "can-stub", Title: "a branch of the CAN bus is long",
	Why:    "A branch without an end of its own reflects. At the bus's highest speed a branch of more than a hand's breadth or two disturbs the next bit.",
	Source: "ISO 11898-2 (from memory): 0.3 m at 1 Mbit/s", Severity: diag.Note, Page: "power",
	Bad:  []buildfile.Edit{edit("1.5 m", "can bus", "longest stub"), edit("2", "can bus", "terminators")},
	Good: []buildfile.Edit{edit("0.2 m", "can bus", "longest stub"), edit("2", "can bus", "terminators")},
	Check: func(c *Case) []Finding {
		if c.Design.File.Bus == nil || c.Design.File.Bus.StubM == nil || c.Design.File.Bus.StubM.SI <= mostStubM {
			return nil
		}
		in := c.Design.File.Bus.StubM
		return []Finding{at(in, "power", "can bus, longest stub", diag.Sayf("a branch of the CAN bus is %v long", input(in)),
			diag.Sayf("%v", input(in)), diag.Sayf("at most 30 centimetres at the highest speed"), "lead the bus past the device instead of branching to it")}
	},
}
