package supply

import (
	"math"

	"fettle/internal/drawing"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
)

// CurveNames are the sets of loads of a charging chart, by the key of their state.
var CurveNames = map[string]string{
	"idle": "everything on, hot", "wet": "wet night", "cruise": "cruise", "full": "full power",
}

// Charging is the chart of what is on against what the alternator brings over
// the engine's speed; false when there is none.
func Charging(r *vehicle.Result, name string, width drawing.Px) (p drawing.Plot, ok bool) {
	p = drawing.Plot{
		Name: name, Title: "What is on against what the alternator brings, over the engine's speed", Width: width,
		X: drawing.Axis{Name: "engine speed", Unit: "rpm"}, Y: drawing.Axis{Unit: "A"},
	}
	outputs := map[string]bool{}
	for i := range r.Charging {
		c := &r.Charging[i]
		if len(c.Points) < 2 {
			continue
		}
		ok = true
		var speed, demand, most []drawing.Number
		for _, q := range c.Points {
			speed = append(speed, rpm(q.SpeedRadPerS))
			demand, most = append(demand, drawing.Number(q.DemandA)), append(most, drawing.Number(q.MostA))
		}
		hot := quantity.Format(most0(c), "A", 2)
		if !outputs[hot] { // states in the same air have the same alternator
			outputs[hot] = true
			label := "alternator, hottest day"
			if c.Key == "wet" {
				label = "alternator, wet night"
			}
			p.Curves = append(p.Curves, drawing.Curve{Label: drawing.Label{Text: label}, X: speed, Y: most, Weight: drawing.Picked, Spare: c.Key == "wet"})
		}
		p.Curves = append(p.Curves, drawing.Curve{Label: drawing.Label{Text: CurveNames[c.Key], Bad: !c.Balances}, X: speed, Y: demand, Weight: drawing.Plainly, Bad: !c.Balances})
		if c.Balances && !c.AtIdle {
			id := vehicle.ChargeID(c.Key, "BalanceRadPerS")
			p.Marks = append(p.Marks, drawing.Mark{
				Label: drawing.Label{Text: quantity.Format(c.BalanceRadPerS, "rpm", 0), Ref: string(id)},
				X:     rpm(c.BalanceRadPerS), Y: drawing.Number(demandAt(c)), Open: false,
			})
		}
	}
	return p, ok
}

func rpm(radPerS float64) drawing.Number { return drawing.Number(radPerS * 30 / math.Pi) }

func most0(c *vehicle.ChargeCurve) float64 { return c.Points[len(c.Points)-1].MostA }

// demandAt is what is on where a curve balances.
func demandAt(c *vehicle.ChargeCurve) float64 {
	for k := 1; k < len(c.Points); k++ {
		if a, b := c.Points[k-1], c.Points[k]; c.BalanceRadPerS <= b.SpeedRadPerS {
			x := (c.BalanceRadPerS - a.SpeedRadPerS) / (b.SpeedRadPerS - a.SpeedRadPerS)
			return a.DemandA + x*(b.DemandA-a.DemandA)
		}
	}
	return math.NaN()
}

// BalanceSays says in words from which speed on a set of loads is carried.
func BalanceSays(c *vehicle.ChargeCurve) string {
	switch {
	case !c.Ended.OK:
		return "no answer: " + c.Ended.Why
	case !c.Balances:
		return "not at any speed"
	case c.AtIdle:
		return "from idle on"
	}
	return "from " + quantity.Format(c.BalanceRadPerS, "rpm", 0) + " on"
}
