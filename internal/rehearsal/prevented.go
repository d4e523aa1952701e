package rehearsal

import (
	"fmt"
	"strings"

	"fettle/internal/design"
	"fettle/internal/quantity"
	"fettle/internal/vehicle"
)

// Prevented says what keeps the solved vehicle from starting at all. The
// simulation takes a controller that lives, a spark and fuel at the rail as given
// while the starter turns, so that without them it would show a start that can't be.
func Prevented(v *vehicle.Result) error {
	for _, m := range v.Margins {
		if m.State != design.Cranking || m.Left() >= 0 {
			continue
		}
		switch m.Name {
		case vehicle.ControllerRoom, vehicle.LastingRoom, vehicle.SparkRoom, vehicle.FuelRoom:
			return fmt.Errorf("it would not start, so no start is simulated: %s is %s while cranking cold, at least %s is due; mend that first",
				strings.ToLower(m.Name), figureOf(m.Value, m.Unit), figureOf(m.Limit, m.Unit))
		}
	}
	return nil
}

// figureOf is a value to two decimals with its unit; what is less is nothing.
func figureOf(si float64, unit string) string {
	text := quantity.NumberTo(si, unit, 2)
	if text == "−0.00" {
		text = "0.00"
	}
	return text + "\u00a0" + unit
}
