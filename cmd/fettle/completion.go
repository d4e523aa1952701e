package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/alecthomas/kong"
)

type completionCmd struct {
	Shell string `arg:"" enum:"bash,zsh,fish" help:"bash, zsh or fish."`
}

// Run prints a script that completes verbs and options in a shell.
func (c *completionCmd) Run(e *env, k *kong.Kong) error {
	verbs := verbsOf(k)
	switch c.Shell {
	case "bash":
		bash(e.out, verbs)
	case "zsh":
		fmt.Fprintln(e.out, "#compdef fettle\nautoload -U +X bashcompinit && bashcompinit")
		bash(e.out, verbs)
	default:
		fish(e.out, verbs)
	}
	return nil
}

// verb is a verb with its options.
type verb struct {
	name, help string
	flags      []string
}

func verbsOf(k *kong.Kong) []verb {
	var out []verb
	for _, n := range k.Model.Children {
		v := verb{name: n.Name, help: n.Help, flags: []string{"--help"}}
		for _, f := range n.Flags {
			v.flags = append(v.flags, "--"+f.Name)
		}
		out = append(out, v)
	}
	return out
}

func bash(w io.Writer, verbs []verb) {
	var names []string
	for _, v := range verbs {
		names = append(names, v.name)
	}
	fmt.Fprintf(w, "_fettle() {\n  local word=${COMP_WORDS[COMP_CWORD]}\n  if [ \"$COMP_CWORD\" = 1 ]; then\n    COMPREPLY=($(compgen -W %q -- \"$word\"))\n    return\n  fi\n  case ${COMP_WORDS[1]} in\n", strings.Join(names, " "))
	for _, v := range verbs {
		fmt.Fprintf(w, "    %s) COMPREPLY=($(compgen -W %q -- \"$word\") $(compgen -d -- \"$word\")) ;;\n", v.name, strings.Join(v.flags, " "))
	}
	fmt.Fprintln(w, "  esac\n}\ncomplete -F _fettle fettle")
}

func fish(w io.Writer, verbs []verb) {
	fmt.Fprintln(w, "complete -c fettle -f")
	for _, v := range verbs {
		fmt.Fprintf(w, "complete -c fettle -n __fish_use_subcommand -a %s -d '%s'\n", v.name, strings.ReplaceAll(v.help, "'", "’"))
		for _, f := range v.flags {
			fmt.Fprintf(w, "complete -c fettle -n '__fish_seen_subcommand_from %s' -l %s\n", v.name, strings.TrimPrefix(f, "--"))
		}
		fmt.Fprintf(w, "complete -c fettle -n '__fish_seen_subcommand_from %s' -a '(__fish_complete_directories)'\n", v.name)
	}
}
