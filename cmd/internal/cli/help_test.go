package cli

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"pouchward/triage"
)

// everyCommand calls fn for every command that can be run.
func everyCommand(fn func(*cobra.Command)) {
	var walk func(*cobra.Command)
	walk = func(cmd *cobra.Command) {
		if cmd.Runnable() {
			fn(cmd)
		}
		for _, sub := range cmd.Commands() {
			walk(sub)
		}
	}
	walk(newRoot(&env{now: time.Now}))
}

// A newcomer finds every command under a heading, and in its help what it is for and
// how it is typed.
func TestHelpOfEveryCommand(t *testing.T) {
	seen := 0
	everyCommand(func(cmd *cobra.Command) {
		seen++
		path := cmd.CommandPath()
		if cmd.Short == "" || strings.HasSuffix(cmd.Short, ".") || len([]rune(cmd.Short)) > 80 {
			t.Errorf("%s: the short help is a line of at most 80 letters without a full stop, not %q", path, cmd.Short)
		}
		for line := range strings.SplitSeq(cmd.Long, "\n") {
			if len([]rune(line)) > 90 {
				t.Errorf("%s: a line of the help has %d letters: %q", path, len([]rune(line)), line)
			}
		}
		if cmd.Parent() == cmd.Root() && cmd.GroupID == "" {
			t.Errorf("%s stands under no heading (help.go)", path)
		}
		if !cmd.HasSubCommands() && !strings.Contains(cmd.Example, path) {
			t.Errorf("%s: the help has no example of it", path)
		}
		cmd.Flags().VisitAll(func(f *pflag.Flag) {
			if f.Usage == "" || strings.HasSuffix(f.Usage, ".") {
				t.Errorf("%s --%s: the help of a flag has words and no full stop, not %q", path, f.Name, f.Usage)
			}
		})
	})
	if seen < 60 {
		t.Fatalf("%d commands seen", seen)
	}
}

// acts are the commands that record, write a file or print one card or receipt, and
// list nothing. Whatever else there is must be readable by a program.
var acts = map[string]string{
	"attach": "records", "container add": "records", "correct": "records", "incident": "records", "inspect": "records",
	"local answer": "records", "local reopen": "records", "lot": "records", "merge": "records", "move": "records", "raise": "records",
	"recheck": "records", "retract": "records", "review sign": "records", "secure": "records", "split": "records", "train": "records",
	"ship close": "records", "ship dispatch": "records", "ship pack": "records", "ship receipt": "records", "ship refused": "records", "ship reopen": "records",
	"demo": "writes a folder", "setup": "writes the files of a shop", "log init": "writes the log", "log backup": "writes a file", "log rebuild": "writes views",
	"log checkpoint": "writes a note in an open format", "log prove": "writes a proof in an open format", "log check-proof": "answers yes or no by exit code",
	"rules check": "answers yes or no by exit code", "export": "writes files, JSON Lines among them", "ship papers": "writes a paper",
	"sort": "writes rows, JSON Lines among them", "emergency": "is the card", "bench": "is the page",
}

func TestEveryListHasJSON(t *testing.T) {
	seen := 0
	everyCommand(func(cmd *cobra.Command) {
		if cmd.HasSubCommands() && cmd.Name() != "review" && cmd.Name() != "incident" {
			return // prints its help
		}
		name := strings.TrimPrefix(cmd.CommandPath(), "pouchward ")
		_, act := acts[name]
		has := cmd.Flags().Lookup("json") != nil
		if has == act {
			t.Errorf("%s: --json is %v, and it is named as one that lists nothing: %v", name, has, act)
		}
		if act {
			seen++
		}
	})
	if seen != len(acts) {
		t.Errorf("%d of the %d commands that list nothing were seen", seen, len(acts))
	}
}

// A tag in the help is typed as it stands there.
func TestTagsInHelpHold(t *testing.T) {
	word := regexp.MustCompile(`\b[0-9A-Z]{4,6}\b`)
	digit := regexp.MustCompile(`[0-9]`)
	seen := 0
	everyCommand(func(cmd *cobra.Command) {
		for _, tag := range word.FindAllString(cmd.Example, -1) {
			if !digit.MatchString(tag) || strings.Trim(tag, "0123456789") == "" {
				continue // a word, or a year
			}
			seen++
			if _, _, err := triage.CheckTag(tag); err != nil {
				t.Errorf("%s --help: %v", cmd.CommandPath(), err)
			}
		}
	})
	if seen < 10 {
		t.Fatalf("%d tags seen in the help: the test reads nothing", seen)
	}
}
