package rule

import "fmt"

// hours prints a long time as people say it.
func hours(timeS float64) string {
	m := int(timeS/60 + 0.5)
	switch {
	case m < 60:
		return fmt.Sprintf("%d minutes", m)
	case m < 48*60:
		return fmt.Sprintf("%d hours %d minutes", m/60, m%60/10*10)
	}
	return fmt.Sprintf("%d days", m/60/24)
}
