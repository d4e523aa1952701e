package web

import (
	"html/template"
	"net/http"

	"fettle/internal/web/beginning"
	"fettle/internal/web/drivesheet"
	"fettle/internal/web/enginesheet"
	"fettle/internal/web/fuelsheet"
	"fettle/internal/web/loomsheet"
	"fettle/internal/web/mapsheet"
	"fettle/internal/web/overview"
	"fettle/internal/web/power"
	"fettle/internal/web/shell"
	"fettle/internal/web/startsheet"
	"fettle/internal/web/working"
)

// sheet is a page in the list of sheets. A new one is a folder of its own with a
// template, a pure view and a line here.
type sheet struct {
	key, name, path string
	t               *template.Template
	view            func(a shell.Ask) any
}

// sheets are the pages in the order they are listed.
var sheets = []sheet{
	{overview.Key, "Overview", "/{$}", overview.Template, func(a shell.Ask) any { return overview.View(a) }},
	{beginning.Key, "Questions", "/questions", beginning.Template, func(a shell.Ask) any { return beginning.View(a) }},
	{enginesheet.Key, "Engine", "/engine", enginesheet.Template, func(a shell.Ask) any { return enginesheet.View(a) }},
	{loomsheet.Key, "Loom", "/loom", loomsheet.Template, func(a shell.Ask) any { return loomsheet.View(a) }},
	{power.Key, "Power", "/power", power.Template, func(a shell.Ask) any { return power.View(a) }},
	{fuelsheet.Key, "Fuel", "/fuel", fuelsheet.Template, func(a shell.Ask) any { return fuelsheet.View(a) }},
	{drivesheet.Key, "Driveline", "/driveline", drivesheet.Template, func(a shell.Ask) any { return drivesheet.View(a) }},
	{mapsheet.Key, "Maps", "/maps", mapsheet.Template, func(a shell.Ask) any { return mapsheet.View(a) }},
	{startsheet.Key, "Start", "/start", startsheet.Template, func(a shell.Ask) any { return startsheet.View(a) }},
}

// href is a sheet's address in links.
func (sh sheet) href() string {
	if sh.key == overview.Key {
		return "/"
	}
	return sh.path
}

func sheetByKey(key string) (sheet, bool) {
	for _, sh := range sheets {
		if sh.key == key {
			return sh, true
		}
	}
	return sheet{}, false
}

// nameOf is the name of a page by its key.
func nameOf(key string) string {
	if key == working.Key {
		return "Working"
	}
	if sh, ok := sheetByKey(key); ok {
		return sh.name
	}
	return "Sheet"
}

// serveSheet answers with a sheet of the list.
func (s *Server) serveSheet(sh sheet) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		s.show(w, r, asked(r, sh.key), http.StatusOK, nil)
	}
}
