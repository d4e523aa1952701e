// Package battery computes a 12 V lead–acid starter battery: rest voltage
// against state of charge, internal resistance from its cold-cranking rating,
// capacity when cold, and the time until it is flat.
//
// Conventions: current out of the battery is positive; state of charge is a
// fraction of the capacity at 25 °C; capacity is in ampere-seconds
// (1 A·h = 3600 A·s). Resistance is the one that 30 seconds of cranking see,
// polarisation included; [Split] parts it into what is there at once and what
// comes. Age counts from new. Start reading at [OpenV] and [InternalOhm].
package battery

import (
	"fmt"
	"math"
)

const (
	refK      = 298.15 // rest voltage and capacity are given at 25 °C
	coldK     = 255.15 // −18 °C, where cold cranking is rated
	openVPerK = 0.0012 // six cells × 0.2 mV/K, from memory ± 50 %
	foldK     = 49.1   // resistance falls by 1/e in this, see InternalOhm
)

// openV25 holds the rest voltage at 0, 25, 50, 75 and 100 % state of charge.
var openV25 = [...]float64{11.89, 12.06, 12.24, 12.45, 12.65}

// OpenV returns the rest voltage of a flooded 12 V battery at a state of charge and temperature.
//
//	U₀ = U₂₅(s) + 0.0012 (T − 298.15)
//
// where U₂₅ runs straight between 11.89, 12.06, 12.24, 12.45 and 12.65 V at 0,
// 25, 50, 75 and 100 % state of charge s.
//
// Valid: state of charge 0 … 1, −40 … 80 °C; outside an error is returned.
// Accuracy: ± 0.1 V: published tables differ by that at low charge, and a
// surface charge adds more for hours after charging.
// Source: table common to battery makers' service literature, from memory;
// temperature coefficient 0.2 mV/K per cell, from memory.
// Errors: state of charge or temperature out of range.
func OpenV(socFrac, tempK float64) (float64, error) {
	if !(socFrac >= 0 && socFrac <= 1) {
		return 0, fmt.Errorf("state of charge %.4g out of range 0 … 1", socFrac)
	}
	if err := checkTemp(tempK); err != nil {
		return 0, err
	}
	x := socFrac * float64(len(openV25)-1)
	i := min(int(x), len(openV25)-2)
	return openV25[i] + (openV25[i+1]-openV25[i])*(x-float64(i)) + openVPerK*(tempK-refK), nil
}

// SocFrac returns the state of charge that a rested battery's voltage speaks for; the inverse of [OpenV].
//
//	s = U₂₅⁻¹(U₀ − 0.0012 (T − 298.15))
//
// Valid: rest voltages that [OpenV] gives, −40 … 80 °C; outside an error is
// returned.
// Accuracy: ± 0.15 of state of charge, from ± 0.1 V.
// Source: as for [OpenV].
// Errors: temperature out of range; voltage below the flat or above the full
// battery's.
func SocFrac(openV, tempK float64) (float64, error) {
	if err := checkTemp(tempK); err != nil {
		return 0, err
	}
	n := len(openV25)
	shift := openVPerK * (tempK - refK)
	u := openV - shift
	if !(u >= openV25[0] && u <= openV25[n-1]) {
		return 0, fmt.Errorf("rest voltage %.4g V out of range %.4g … %.4g V", openV, openV25[0]+shift, openV25[n-1]+shift)
	}
	i := 0
	for i < n-2 && u > openV25[i+1] {
		i++
	}
	return (float64(i) + (u-openV25[i])/(openV25[i+1]-openV25[i])) / float64(n-1), nil
}

// checkTemp leaves a millikelvin for the rounding of a sum in °C, as the other
// bounds of this package do.
func checkTemp(tempK float64) error {
	if !(tempK >= 233.149 && tempK <= 353.15) {
		return fmt.Errorf("battery temperature %.4g °C out of range -40 … 80 °C", tempK-273.15)
	}
	return nil
}

// ColdOhm returns the resistance of a full battery at −18 °C that its cold-cranking rating speaks for.
//
//	R = (12.6 − 7.2)/I_CC
//
// where I_CC is the current that holds 7.2 V for 30 s at −18 °C.
//
// Valid: SAE rating above 0 (EN and DIN ratings hold other voltages and must
// be converted first).
// Accuracy: ± 15 %: batteries exceed their rating, never miss it by much.
// Source: SAE J537 definition of cold-cranking current, as summarised in
// service literature; 12.6 V rest voltage common practice.
// Errors: none
func ColdOhm(ccaA float64) float64 { return (12.6 - 7.2) / ccaA }

// InternalOhm returns the resistance that cranking sees in a battery of an SAE cold-cranking rating.
//
//	R = (5.4/I_CC)·exp(−(T − 255.15)/49.1)·(1 + 0.5 (1 − s))
//
// where s is the state of charge. The fall with temperature makes the cranking
// current at −18 °C 40 % of that at 27 °C.
//
// Valid: rating above 0, −30 … 60 °C, state of charge 0 … 1; outside an
// error is returned.
// Accuracy: ± 25 %: the temperature law is 40 % (−18 °C), 65 % (0 °C), 100 %
// (27 °C) of cranking power drawn as one exponential, which gives 58 % at
// 0 °C; the rise when discharged spreads from 0.2 to 1.
// Source: rating by SAE J537; power available against temperature as printed
// in workshop literature (100, 65, 40 %); rise when discharged from memory.
// Errors: rating, temperature or state of charge out of range.
func InternalOhm(ccaA, tempK, socFrac float64) (float64, error) {
	if !(ccaA > 0) || math.IsInf(ccaA, 1) {
		return 0, fmt.Errorf("cold-cranking rating %.4g A out of range, must be above 0", ccaA)
	}
	if !(tempK >= 243.149 && tempK <= 333.15) {
		return 0, fmt.Errorf("battery temperature %.4g °C out of range -30 … 60 °C", tempK-273.15)
	}
	if !(socFrac >= 0 && socFrac <= 1) {
		return 0, fmt.Errorf("state of charge %.4g out of range 0 … 1", socFrac)
	}
	return ColdOhm(ccaA) * math.Exp(-(tempK-coldK)/foldK) * (1 + 0.5*(1-socFrac)), nil
}

// CapacityAS returns the charge a battery gives at a temperature, of its capacity at 25 °C.
//
//	C = C₂₅·(1 + 0.008 (T − 298.15))
//
// Valid: −30 … 40 °C; outside an error is returned.
// Accuracy: ± 0.2 %/K in the coefficient.
// Source: 0.6 … 1 %/K in battery handbooks, from memory.
// Errors: capacity or temperature out of range.
func CapacityAS(capacity25AS, tempK float64) (float64, error) {
	if !(capacity25AS > 0) || math.IsInf(capacity25AS, 1) {
		return 0, fmt.Errorf("battery capacity %.4g A·h out of range, must be above 0", capacity25AS/3600)
	}
	if !(tempK >= 243.149 && tempK <= 313.15) {
		return 0, fmt.Errorf("battery temperature %.4g °C out of range -30 … 40 °C", tempK-273.15)
	}
	return capacity25AS * (1 + 0.008*(tempK-refK)), nil
}

// TimeToFlatS returns how long a steady current takes a battery from one state of charge to a lower one.
//
//	t = C·(s₁ − s₂)/I
//
// where s₁ and s₂ are the states of charge at the start and end.
//
// Valid: capacity and current above 0, 0 ≤ s₂ < s₁ ≤ 1; outside an error is
// returned. Above the twenty-hour current, use [PeukertS].
// Accuracy: ± 20 %, that of an aged battery's capacity.
// Source: conservation of charge.
// Errors: an argument out of range.
func TimeToFlatS(capacityAS, currentA, fromSocFrac, toSocFrac float64) (float64, error) {
	if !(capacityAS > 0) || !(currentA > 0) || math.IsInf(capacityAS, 1) {
		return 0, fmt.Errorf("battery capacity %.4g A·h and current %.4g A must both be above 0", capacityAS/3600, currentA)
	}
	if !(toSocFrac >= 0 && toSocFrac < fromSocFrac && fromSocFrac <= 1) {
		return 0, fmt.Errorf("states of charge %.4g to %.4g out of range, must fall within 1 … 0", fromSocFrac, toSocFrac)
	}
	return capacityAS * (fromSocFrac - toSocFrac) / currentA, nil
}

// PeukertS returns how long a full battery holds a current well above the one its capacity is rated at.
//
//	t = H·(C/(I·H))^k
//
// where H is the time the capacity is rated over (72 000 s for the twenty-hour
// rate) and k Peukert's exponent.
//
// Valid: all above 0, exponent 1 … 1.5 (flooded starter batteries 1.15 … 1.3,
// from memory); outside an error is returned.
// Accuracy: ± 15 % between a fifth and twenty times the rated current.
// Source: W. Peukert, Elektrotechnische Zeitschrift 20 (1897).
// Errors: an argument out of range.
func PeukertS(capacityAS, ratedS, currentA, exponentRatio float64) (float64, error) {
	if !(capacityAS > 0) || !(ratedS > 0) || !(currentA > 0) {
		return 0, fmt.Errorf("battery capacity %.4g A·h, rated time %.4g h and current %.4g A must be above 0", capacityAS/3600, ratedS/3600, currentA)
	}
	if !(exponentRatio >= 1 && exponentRatio <= 1.5) {
		return 0, fmt.Errorf("peukert exponent %.4g out of range 1 … 1.5", exponentRatio)
	}
	return ratedS * math.Pow(capacityAS/(currentA*ratedS), exponentRatio), nil
}
