// Package filling is the page that stands while an engine's tables are filled: how
// far they are, how long it may take yet, and a way to end it. The same words
// stand at the foot of a sheet that waits for an edit of the engine.
//
// Conventions: [View] is pure and makes finished strings; it reads no clock, the
// times are handed to it. Start reading at [View].
package filling

import (
	"embed"
	"fmt"
	"math"

	"fettle/internal/web/shell"
)

//go:embed filling.html
var files embed.FS

// Template is the page's.
var Template = shell.Template(files, "filling.html")

// Far is how far the work is.
type Far struct {
	// EngineDone of EngineOf cells of the engine's tables are filled.
	EngineDone, EngineOf int
	// TablesDone of TablesOf engines are computed for the spread of the starting tables.
	TablesDone, TablesOf int
	// LeftS is how long the present part may take yet; 0 when nobody knows.
	LeftS float64
}

// Body is what the page shows.
type Body struct {
	Start, Trouble, Lede string
	Text                 string // how far it is
	Done, Of             int
	Under                bool   // it is under way
	Again                string // where to begin anew, when it was ended
	Back                 *Back  // the step that can be taken back
	End                  string // the form's address
	To                   string // the page that was asked for
}

// Back takes the last step back.
type Back struct{ Action, Name string }

// View makes the page of work under way.
func View(f Far, to string) Body {
	b := Body{Start: "The engine’s tables are being filled.", Under: true, To: to, End: "/filling/end"}
	b.Lede = "Every cell is a few turns of the engine, computed by crank angle. They are kept until the engine is changed."
	switch {
	case f.EngineOf > 0:
		b.Text, b.Done, b.Of = fmt.Sprintf("cell %d of %d", f.EngineDone, f.EngineOf), f.EngineDone, f.EngineOf
	case f.TablesOf > 0:
		b.Text, b.Done, b.Of = fmt.Sprintf("spread of the starting tables, %d of %d inputs", f.TablesDone, f.TablesOf), f.TablesDone, f.TablesOf
	default:
		b.Text = "the vehicle is being solved"
	}
	if f.LeftS > 0 {
		b.Text += fmt.Sprintf(", about %.0f s left", math.Ceil(f.LeftS))
	}
	return b
}

// Ended makes the page of work that was ended.
func Ended(again string, back *Back) Body {
	return Body{
		Start: "The engine’s tables were ", Trouble: "not filled.", Again: again, Back: back,
		Lede: "You ended it, so there are no figures of this engine. Nothing was written.",
	}
}
