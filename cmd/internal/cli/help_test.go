package cli

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"

	"pouchward/triage"
)

// A tag in the help is typed as it stands there.
func TestTagsInHelpHold(t *testing.T) {
	word := regexp.MustCompile(`\b[0-9A-Z]{4,6}\b`)
	digit := regexp.MustCompile(`[0-9]`)
	seen := 0
	var walk func(*cobra.Command)
	walk = func(cmd *cobra.Command) {
		for _, tag := range word.FindAllString(cmd.Example, -1) {
			if !digit.MatchString(tag) || strings.Trim(tag, "0123456789") == "" {
				continue // a word, or a year
			}
			seen++
			if _, _, err := triage.CheckTag(tag); err != nil {
				t.Errorf("%s --help: %v", cmd.CommandPath(), err)
			}
		}
		for _, sub := range cmd.Commands() {
			walk(sub)
		}
	}
	walk(newRoot(&env{now: time.Now}))
	if seen < 10 {
		t.Fatalf("%d tags seen in the help: the test reads nothing", seen)
	}
}
