package plant

import (
	"fmt"
	"math"
)

// Knock is an engine's knock integral over speed and manifold pressure on even
// axes: its logarithm at one spark, and how it grows with spark and with
// the charge's temperature.
type Knock struct {
	SpeedRadPerS, ManifoldPa []float64
	SparkRad                 []float64 // row by row, the spark that Log is told for
	LogCount                 []float64
	LogPerRad                []float64
	ChargeK                  float64
	LogPerK                  float64
}

func (k *Knock) check() error {
	n := len(k.SpeedRadPerS) * len(k.ManifoldPa)
	if len(k.SpeedRadPerS) < 2 || len(k.ManifoldPa) < 2 || len(k.SparkRad) != n || len(k.LogCount) != n || len(k.LogPerRad) != n {
		return fmt.Errorf("knock table of %d × %d points holds %d, %d and %d", len(k.SpeedRadPerS), len(k.ManifoldPa), len(k.SparkRad), len(k.LogCount), len(k.LogPerRad))
	}
	return nil
}

// count is the knock integral.
func (k *Knock) count(speed, pa, spark, chargeK float64) float64 {
	low := 0.0
	if pa < k.ManifoldPa[0] { // below the table the delay's own law, p^−1.7
		low = 1.7 * math.Log(pa/k.ManifoldPa[0])
	}
	i, u := within(k.SpeedRadPerS, speed)
	j, v := within(k.ManifoldPa, pa)
	n := len(k.ManifoldPa)
	sum := 0.0
	for _, c := range [4]struct {
		k     int
		share float64
	}{{i*n + j, (1 - u) * (1 - v)}, {i*n + j + 1, (1 - u) * v}, {(i+1)*n + j, u * (1 - v)}, {(i+1)*n + j + 1, u * v}} {
		sum += c.share * (k.LogCount[c.k] + k.LogPerRad[c.k]*(spark-k.SparkRad[c.k]))
	}
	return math.Exp(low + sum + k.LogPerK*(chargeK-k.ChargeK))
}

// within finds a value between two points; beyond the ends it stands at them.
func within(at []float64, v float64) (i int, frac float64) {
	for i = 0; i < len(at)-2 && v > at[i+1]; i++ {
	}
	return i, math.Max(0, math.Min(1, (v-at[i])/(at[i+1]-at[i])))
}
