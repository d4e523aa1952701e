package rule

import (
	"slices"

	"fettle/internal/buildfile"
	"fettle/internal/diag"
)

var looseFeed = Rule{
	ID:    "loose-feed",
	Title: "nothing in the vehicle gives the terminal that a feed hangs on",
	Why: "Terminals 15, 75 and 50 are outputs of the ignition switch. Without a device that gives them, the feeds that hang on them are dead in every state, " +
		"and with them all that they supply.",
	Source:   "DIN 72552",
	Severity: diag.Fix,
	Page:     "power",
	Bad:      []buildfile.Edit{{Path: []string{"devices", "ignition switch", "part"}, Text: "push switch"}},
	Good:     []buildfile.Edit{{Path: []string{"devices", "ignition switch", "part"}, Text: "ignition switch"}},
	Check:    checkLooseFeed,
}

func checkLooseFeed(c *Case) []Finding {
	if len(c.Loom.Loose) == 0 {
		return nil
	}
	var needs, feeds []string
	for _, s := range c.Loom.Loose {
		needs, feeds = append(needs, s.Needs), append(feeds, s.End)
	}
	f := Finding{Target: "power#feed-" + feeds[0]}
	f.Pos, f.Subject = c.Loom.Loose[0].Pos, "feed "+feeds[0]
	f.Msg = diag.Sayf("no device gives %s, which %s and others hang on", list(needs), list(feeds))
	if len(feeds) == 1 {
		f.Msg = diag.Sayf("no device gives %s, which %s hangs on", needs[0], feeds[0])
	}
	f.Value, f.Limit = diag.Sayf("none"), diag.Sayf("one device that gives it")
	f.Hint = diag.Sayf("add an ignition switch to the devices")
	f.Mends = switches(c, needs)
	return []Finding{f}
}

// switches offers the catalogue's parts that give all that is wanted, as the
// device "ignition switch" beside the controller unless it has a place.
func switches(c *Case, needs []string) []Mend {
	const device = "ignition switch"
	var out []Mend
	for _, name := range c.Design.Cat.PartNames() {
		gives := map[string]bool{}
		for _, t := range c.Design.Cat.Parts[name].Terminals {
			gives["terminal "+t.Value.Gives] = true
		}
		if slices.ContainsFunc(needs, func(n string) bool { return !gives[n] }) {
			continue
		}
		edits := []buildfile.Edit{{Path: []string{"devices", device, "part"}, Text: name}}
		if c.Design.Tree.Find("devices", device, "at") == nil {
			edits = append(edits, buildfile.Edit{Path: []string{"devices", device, "at"}, Text: c.Design.One("controller").At})
		}
		out = append(out, Mend{Title: diag.Sayf("%s as the %s", name, device), Edits: edits})
	}
	return out
}
