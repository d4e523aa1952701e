package typeface

// Share fits widths that are wanted side by side into a room: slack is spread
// evenly; a lack is taken from the widest first, down to the least each can do
// with. When not even those fit, the answer is wider than the room.
func Share(want, least []Px, room Px) []Px {
	out := make([]Px, len(want))
	var sum, hi Px
	for i, n := range want {
		out[i] = max(n, least[i])
		sum, hi = sum+out[i], max(hi, out[i])
	}
	if sum <= room {
		for i := range out {
			out[i] += (room - sum) / Px(len(out))
		}
		return out
	}
	lo := Px(0)
	for range 40 { // bisect the cap
		mid, capped := (lo+hi)/2, Px(0)
		for i, n := range out {
			capped += max(least[i], min(n, mid))
		}
		if capped > room {
			hi = mid
		} else {
			lo = mid
		}
	}
	for i := range out {
		out[i] = max(least[i], min(out[i], lo))
	}
	return out
}
