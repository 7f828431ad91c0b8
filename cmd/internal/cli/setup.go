package cli

import (
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

const setupLong = `Set up a shop: some questions, each of which may be left blank, then the house
file, the sheets to print and the log.

  house.toml      the facts of the shop; what was left blank stays as a comment
  wall-sheet.txt  the emergency card with the shop's numbers, for the wall
  day-sheet.txt   the sheet to fill by hand while the computer is off
  tags.txt        a block of cell tags to cut out, reserved in the log
  sheets.pdf      with --print: the three sheets as one PDF

All of them are written, or none. Nothing that is there is replaced; a log that is
there is kept, and the block is reserved in it.`

func newSetup(e *env) *cobra.Command {
	var dir string
	var tags int
	var printed bool
	cmd := &cobra.Command{
		Use:   "setup",
		Short: "Ask about the shop; write its house file, sheets, tags and log",
		Long:  setupLong,
		Example: `  pouchward setup
  pouchward setup --dir bench --tags 80 --print`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if e.house != "" {
				return app.Usage("setup writes a house file and reads none: leave out --house (--dir names the folder)")
			}
			p, err := app.PlaceLog(app.LogNameIn(e.log, dir), "", e.now)
			if err != nil {
				return err
			}
			made, err := app.SetUp(&app.SetupPlan{Dir: dir, Log: p, Tags: tags, Print: printed}, cmd.InOrStdin(), cmd.ErrOrStderr())
			if err != nil {
				return err
			}
			return printMade(cmd.OutOrStdout(), made)
		},
	}
	cmd.Flags().StringVar(&dir, "dir", ".", "write into this `folder`")
	cmd.Flags().IntVar(&tags, "tags", 40, fmt.Sprintf("print this `many` cell tags, 1 to %d", app.MostTags))
	cmd.Flags().BoolVar(&printed, "print", false, "draw the sheets as one PDF too, sheets.pdf")
	return cmd
}

// printMade says what was written and the next three things to do.
func printMade(w io.Writer, m *app.Made) error {
	var b strings.Builder
	label := "made"
	for _, f := range m.Files {
		fmt.Fprintf(&b, "%-6s%s\n", label, exports.Clean(f))
		label = ""
	}
	if m.Public == "" {
		fmt.Fprintf(&b, "log   %s (was there; kept)\n", exports.Clean(m.Log))
	} else {
		_ = printNewLog(&b, m.Log, m.Public) // a Builder takes all
	}
	fmt.Fprintf(&b, "tags  %d, %s to %s: entry %d of the log reserves them.\n", len(m.Block),
		triage.SpacedTag(m.Block[0]), triage.SpacedTag(m.Block[len(m.Block)-1]), m.Entry)
	house, wall, day, tags := shown(m.Files[0]), shown(m.Files[1]), shown(m.Files[2]), shown(m.Files[3])
	if m.Open > 0 {
		fmt.Fprintf(&b, "open  %d keys stand in %s as comments. Fill them in, then:\n      pouchward rules check %s\n", m.Open, house, house)
	}
	first := "pouchward assess --ask --record --house " + house
	if m.Log != "pouchward.db" {
		first += " --log " + shown(m.Log)
	}
	b.WriteString("\nNext:\n")
	if len(m.Files) > 4 {
		fmt.Fprintf(&b, `1. Print %s at 100 %%. Write on the blank lines of the wall sheet.
   Hang it by the telephone.
2. Cut the tags. Keep the day sheet for the day the computer is off.
`, shown(m.Files[4]))
	} else {
		fmt.Fprintf(&b, `1. Print %s in a fixed-width font of 11 points. Write on its blank
   lines. Hang it by the telephone.
2. Print %s and cut it. Print %s (landscape, 8 points) for the
   day the computer is off.
`, wall, tags, day)
	}
	fmt.Fprintf(&b, "3. Take the first cell:\n   %s\n", first)
	_, err := io.WriteString(w, b.String())
	return err
}

// shown is a file name as it is typed in a command.
func shown(name string) string {
	name = exports.Clean(filepath.ToSlash(name))
	if strings.ContainsAny(name, " '\"$&()") {
		return strconv.Quote(name)
	}
	return name
}
