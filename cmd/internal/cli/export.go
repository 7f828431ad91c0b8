package cli

import (
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
)

const exportLong = `Write what the log holds into something to take away, whole or not at all:

  xlsx   a workbook: summary, stock by month with charts, cells, assessments,
         movements, containers, shipments, packages, training, incidents, rounds,
         local rules, rulebook, checkpoint, entries
  csv    a folder with a file for each of those, UTF-8 with a byte order mark
  jsonl  the same as JSON Lines, with schema.json
  ics    what is due as a calendar, a year ahead; import it into a calendar of its own

The log is verified first. One that does not verify is refused (exit code 4);
--despite-damage exports it and says so on every sheet and in every row.

Nothing that is there is replaced without --replace.`

func newExport(e *env) *cobra.Command {
	x := app.ExportAsk{}
	withReview := false
	cmd := &cobra.Command{
		Use:   "export",
		Short: "Take the log away: workbook, CSV, JSON Lines, calendar",
		Long:  exportLong,
		Example: `  pouchward export
  pouchward export --format csv --out for-the-insurer --redact
  pouchward export --format jsonl --tables cells,assessments --from 2026-01-01
  pouchward export --format ics --out due.ics`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			shop, p, err := e.shopAndPlace()
			if err != nil {
				return err
			}
			// Ended by hand it leaves nothing half done behind.
			ctx, stop := signal.NotifyContext(cmd.Context(), os.Interrupt, syscall.SIGTERM)
			defer stop()
			x.Progress = verifyProgress(cmd.ErrOrStderr())
			if withReview || slices.Contains(x.Tables, "findings") {
				x.Review, err = app.Review(shop, p, app.ReviewAsk{From: x.From, To: x.To, DespiteDamage: x.Despite, Progress: x.Progress})
				if err != nil {
					return err
				}
			}
			done, err := app.Export(ctx, shop, p, &x)
			if err != nil {
				return err
			}
			return printExported(cmd.OutOrStdout(), done)
		},
	}
	f := cmd.Flags()
	f.SortFlags = false
	f.StringVar(&x.Format, "format", "xlsx", "xlsx, csv, jsonl or ics")
	f.StringVar(&x.Out, "out", "", "the `name` of the file or folder (default: pouchward-DATE with the format's ending)")
	f.StringVar(&x.From, "from", "", "entries that happened on this `date` or later")
	f.StringVar(&x.To, "to", "", "entries that happened on this `date` or before; of a calendar the last day")
	f.StringSliceVar(&x.Tables, "tables", nil, "only these tables, with commas between: `cells,training`")
	f.BoolVar(&withReview, "review", false, "review the log, and add the table of findings; it is held in memory as a whole")
	f.BoolVar(&x.Redact, "redact", false, "people become P1, P2, ...; free text stays as typed")
	f.BoolVar(&x.Replace, "replace", false, "replace an export of that name")
	f.BoolVar(&x.Despite, "despite-damage", false, "export a log that does not verify, and say so throughout")
	return cmd
}

// printExported says what was written.
func printExported(w io.Writer, done *app.Exported) error {
	var b strings.Builder
	fmt.Fprintf(&b, "out     %s\n", exports.Clean(done.Out))
	switch {
	case done.Damage != "":
		fmt.Fprintf(&b, "log     %s\n", exports.Clean(done.Damage))
	default:
		fmt.Fprintf(&b, "log     %d entries, verified\n", done.Entries)
	}
	if done.Tables > 0 {
		fmt.Fprintf(&b, "tables  %d\n", done.Tables)
	} else {
		fmt.Fprintf(&b, "events  %d\n", done.Events)
	}
	if done.People > 0 {
		fmt.Fprintf(&b, "people  %d, by codes; free text stands as typed and may name people\n", done.People)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
