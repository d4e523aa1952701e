package main

import (
	"errors"
	"fmt"
	"regexp"

	"github.com/alecthomas/kong"
)

// helpCmd is listed among the verbs; run1 has it done by --help.
type helpCmd struct {
	Verb string `arg:"" optional:"" help:"The verb; all of them if left out."`
}

// misuse is a complaint of the parser and how it reads here.
type misuse struct {
	re  *regexp.Regexp
	say string // "$1" is the first group
}

var (
	noVerb  = misuse{regexp.MustCompile(`^unexpected argument (.+?)(?:, did you mean "(.+)"\?)?$`), `there is no verb "$1"`}
	misuses = []misuse{
		{regexp.MustCompile(`^unexpected argument (.+?)(?:, did you mean ".+"\?)?$`), `"$1" is one word too many`},
		{regexp.MustCompile(`^unknown flag (-\w)(?:, did you mean ".+"\?)?$`), `there is no option $1`},
		{regexp.MustCompile(`^unknown flag (\S+)(?:, did you mean "(.+)"\?)?$`), `there is no option $1`},
		{regexp.MustCompile(`^(--\S+): expected \w+ value but got "EOL"`), `$1 wants a value after it`},
		{regexp.MustCompile(`^(--\S+): expected uint value but got "(-.+)" \(short flag\)`), `$1 takes a whole number from 0 on, found "$2"`},
		{regexp.MustCompile(`^(--\S+): expected \w+ value but got "(-.+)" \(`), `$1 takes what begins with a dash behind an equals sign: $1="$2"`},
		{regexp.MustCompile(`^(--\S+): expected a valid 64 bit uint but got (".*")$`), `$1 takes a whole number from 0 on, found $2`},
		{regexp.MustCompile(`^(--\S+): expected a valid 64 bit int but got (".*")$`), `$1 takes a whole number, found $2`},
		{regexp.MustCompile(`^expected "(<\w+>)"$`), `$1 is missing`},
	}
)

// wrongUse says what is wrong with how a verb was written.
func wrongUse(err error) string {
	text := err.Error()
	all := misuses
	if selected(err) == nil {
		all = append([]misuse{noVerb}, misuses...)
	}
	for _, m := range all {
		at := m.re.FindStringSubmatchIndex(text)
		if at == nil {
			continue
		}
		say := string(m.re.ExpandString(nil, m.say, text, at))
		if near := m.re.FindStringSubmatch(text); len(near) > 2 && near[2] != "" && m.re.NumSubexp() == 2 && regexp.MustCompile(`did you mean`).MatchString(text) {
			say += fmt.Sprintf("; did you mean %q?", near[2])
		}
		return say
	}
	return text
}

// selected is the verb that was meant, nil when none was found.
func selected(err error) *kong.Node {
	var pe *kong.ParseError
	if errors.As(err, &pe) && pe.Context != nil {
		return pe.Context.Selected()
	}
	return nil
}

// usageHint says how the verb that was meant is written.
func usageHint(err error) string {
	if verb := selected(err); verb != nil {
		return fmt.Sprintf("it is written fettle %s; fettle help %s lists the options", verb.Summary(), verb.Name)
	}
	return "fettle help lists the verbs, fettle help VERB what one takes"
}
