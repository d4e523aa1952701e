package diag

// Nearest finds the word closest to a misspelt one, for "did you mean"; ok is
// false when nothing is close enough to be worth saying: more than a third of
// the longer word's letters differ. One always may.
func Nearest(word string, among []string) (best string, ok bool) {
	least := 0
	for _, w := range among {
		a, b := []rune(word), []rune(w)
		d := distance(a, b)
		if d <= max(1, max(len(a), len(b))/3) && (!ok || d < least) {
			least, best, ok = d, w, true
		}
	}
	return best, ok
}

// distance counts the insertions, deletions, substitutions and swaps of
// neighbours that turn a into b.
func distance(a, b []rune) int {
	prev2, prev, cur := []int(nil), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(a); i++ {
		cur[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				cur[j] = min(cur[j], prev2[j-2]+1)
			}
		}
		prev2, prev, cur = prev, cur, make([]int, len(b)+1)
	}
	return prev[len(b)]
}
