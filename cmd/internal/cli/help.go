package cli

import (
	"strings"

	"github.com/spf13/cobra"

	"pouchward/triage"
)

// groups are the headings of the list of commands, in the order of a cell's life,
// each with its commands in the order in which they are first needed.
var groups = []struct {
	title    string
	commands []string
}{
	{"A cell in front of you:", []string{"emergency", "assess", "raise", "recheck", "secure", "move", "determine"}},
	{"What the shop holds:", []string{"stock", "due", "container", "lot", "part", "hazard", "inspect", "chart"}},
	{"A sheet of cells, and the rules:", []string{"sort", "fields", "rules", "local"}},
	{"Sending cells away:", []string{"ship", "package", "label"}},
	{"The log and who asks about it:", []string{"log", "correct", "retract", "split", "merge", "attach", "incident", "train", "review", "export"}},
	{"Beginning:", []string{"demo", "setup", "bench", "licences"}},
}

// inGroups puts the commands of root under their headings and keeps flags, in
// every command, in the order in which they were added: what is asked most first.
func inGroups(root *cobra.Command) {
	cobra.EnableCommandSorting = false
	place := map[string]int{}
	for _, g := range groups {
		root.AddGroup(&cobra.Group{ID: g.title, Title: g.title})
		for _, name := range g.commands {
			place[name] = len(place)
		}
	}
	commands := make([]*cobra.Command, len(place))
	for _, c := range root.Commands() {
		commands[place[c.Name()]] = c
	}
	root.RemoveCommand(commands...)
	for _, g := range groups {
		for _, name := range g.commands {
			commands[place[name]].GroupID = g.title
		}
	}
	root.AddCommand(commands...)
	unsorted(root)
}

func unsorted(cmd *cobra.Command) {
	cmd.Flags().SortFlags = false
	for _, sub := range cmd.Commands() {
		unsorted(sub)
	}
}

// fieldFlag is the flag of a field of a reading. A flag given twice is not silently
// the last: both texts reach the judging.
type fieldFlag struct {
	field *triage.Field
	texts []string
}

func (f *fieldFlag) Set(text string) error { f.texts = append(f.texts, text); return nil }
func (f *fieldFlag) String() string        { return strings.Join(f.texts, " ") }

// Type is what the help says of the value: its unit, or what kind of word it is.
func (f *fieldFlag) Type() string {
	switch {
	case f.field.Unit != "":
		return f.field.Unit
	case f.field.Type == triage.WordField:
		return "word"
	case f.field.Type == triage.YesNoField:
		return "yes/no"
	}
	return "value"
}

func addFieldFlag(cmd *cobra.Command, f *triage.Field) {
	help := f.Meaning
	if f.Type == triage.WordField {
		help += "; one of " + strings.Join(f.Words, ", ")
	}
	cmd.Flags().Var(&fieldFlag{field: f}, flagName(f.Name), help)
}

func flagName(field string) string { return strings.ReplaceAll(field, "_", "-") }
