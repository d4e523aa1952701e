package diag

// Nearest finds the word closest to a misspelt one, for "did you mean"; ok is
// false when nothing is close enough to be worth saying (more than a third of
// the letters differ; one always may).
func Nearest(word string, among []string) (best string, ok bool) {
	least := max(1, len([]rune(word))/3)
	for _, w := range among {
		if d := distance([]rune(word), []rune(w)); d < least || (d == least && !ok) {
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
