package calibrate

import (
	"fmt"

	"fettle/internal/design"
)

// FirstFire tells what closes the first firing: the settings that wait until they
// are verified on the vehicle, of how many that have to be.
func FirstFire(list []Setting) (waiting []Setting, of int) {
	for _, s := range list {
		if !s.Gate {
			continue
		}
		of++
		if !s.Verified {
			waiting = append(waiting, s)
		}
	}
	return waiting, of
}

// FirstFireSays is what FirstFire tells in one sentence.
func FirstFireSays(list []Setting) string {
	waiting, of := FirstFire(list)
	if len(waiting) == 0 {
		return fmt.Sprintf("First fire is open: all %d values that close it are verified", of)
	}
	return fmt.Sprintf("First fire is closed: %d of %d values wait until they are verified on the vehicle", len(waiting), of)
}

// GateSays is what a setting does to the first firing; empty for nothing.
func (s *Setting) GateSays() string {
	switch {
	case !s.Gate:
		return ""
	case s.Verified:
		return "verified"
	}
	return "closed until verified"
}

// triggerSettings are how the controller reads crankshaft and cams: as the file
// states them, and not known where it does not.
func (f *Fitted) triggerSettings() []Setting {
	const unknown = "not known"
	t := f.Trigger
	if t == nil {
		t = &design.Trigger{}
	}
	offset := Setting{Word: unknown}
	if t.OffsetRad != nil {
		offset = Setting{In: t.OffsetRad}
	}
	offset.Why = "read with a strobe on a locked spark at 10°, starter turning, injectors unplugged"
	offset.Group, offset.Name, offset.At = "trigger", "offset from the reference tooth to the firing top of cylinder 1", []string{"trigger", "offset"}
	delay := number("trigger", "input delay", 0, 20, "µs", "common practice: 0 until the strobe's mark is seen to wander evenly with speed")
	if t.DelayS != nil {
		delay.In = t.DelayS
	}
	delay.At = []string{"trigger", "input delay"}
	return []Setting{
		gated(offset, "trigger offset"),
		gated(Setting{Group: "trigger", Name: "edge", Word: word(t.Edge, unknown), Why: "the edge that stands still with speed: the strobe's mark must not move from 200 to 2000 rpm", At: []string{"trigger", "edge"}}, "trigger edge"),
		gated(Setting{Group: "trigger", Name: "polarity of an inductive sensor", Word: word(t.Polarity, unknown), Why: "the gap must show on a rising signal that crosses zero in its middle; a turned pair shifts by half a tooth and more", At: []string{"trigger", "polarity"}}, "trigger polarity"),
		gated(delay, "input delay"),
		gated(Setting{Group: "trigger", Name: "phase rule", Word: word(t.PhaseRule, unknown), Why: "usual: the cam signal seen at the gap tells the firing turn of cylinder 1; with the wrong turn every spark and injection is 360° off", At: []string{"trigger", "phase rule"}}, "phase rule"),
	}
}

// verify marks what the file says is proven.
func (f *Fitted) verify(list []Setting) {
	v := f.Verified
	if v == nil {
		v = &design.Verified{}
	}
	is := map[string]bool{
		"crank wheel": v.CrankWheel, "cam wheels": v.CamWheels, "trigger offset": v.Offset, "trigger edge": v.Edge, "trigger polarity": v.Polarity, "input delay": v.InputDelay,
		"phase rule": v.PhaseRule, "firing order": v.FiringOrder, "throttle at rest": v.ThrottleRest, "throttle end stops": v.ThrottleStops, "boost cut": v.BoostCut,
		"intake phaser": v.IntakePhaser, "exhaust phaser": v.ExhaustPhaser,
	}
	for i := range list {
		s := &list[i]
		if s.Gate && s.Key != "" {
			s.Verified = is[s.Key]
		}
	}
}
