package plain

import (
	"strings"

	"fettle/internal/buildfile"
)

// edits writes changes of a file as one would make them: path and value.
func edits(es []buildfile.Edit) string {
	var lines []string
	for _, e := range es {
		line := strings.Join(e.Path, ": ") + ": " + e.Text
		if e.Delete {
			line = strings.Join(e.Path, ": ") + " taken out"
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}
