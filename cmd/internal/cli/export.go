package cli

import (
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
)

const exportLong = `Write what the log holds into something to take away, whole or not at all:

  xlsx   a workbook: summary, stock by month with charts, cells, assessments,
         movements, containers, shipments, packages, training, incidents, rounds,
         local rules, rulebook, checkpoint, entries; with --review the findings and
         the ledger of a review
  csv    a folder with a file for each of those, UTF-8 with a byte order mark
  jsonl  the same as JSON Lines, with schema.json
  ics    what is due as a calendar, a year ahead; import it into a calendar of its own
  pdf    the report for an inspector: findings, what was in order, what a log cannot
         show, stock, ledger, pictures, records, and how to check it
  pack   all of these in a folder (a zip where --out ends in .zip), with a page that
         opens in a browser, a checkpoint, and the sums of all files (SHA256SUMS)

A review is of the same period and holds the log in memory: pdf and pack make one,
the others with --review only (or --tables findings). All else is read as it is
written, however long the log.

The log is verified first. One that does not verify is refused (exit code 4);
--despite-damage exports it and says so on every sheet and in every row. A file that
an entry names and that is missing or changed does not stop an export: summary, first
page and index name it, and the exit code is 4.

Nothing that is there is replaced without --replace.`

func newExport(e *env) *cobra.Command {
	x := app.ExportAsk{}
	cmd := &cobra.Command{
		Use:   "export",
		Short: "Take the log away: report, workbook, CSV, JSON Lines, calendar",
		Long:  exportLong,
		Example: `  pouchward export
  pouchward export --format csv --out for-the-insurer --redact
  pouchward export --format jsonl --tables cells,assessments --from 2026-01-01
  pouchward export --format ics --out due.ics
  pouchward export --format pdf --out for-the-inspector.pdf
  pouchward export --format pack --out visit.zip --redact`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			shop, p, err := e.shopAndPlace()
			if err != nil {
				return err
			}
			if e.houseFile() == "" && x.WantsReview() {
				notice(cmd.ErrOrStderr(), app.NoHouse)
			}
			// Ended by hand it leaves nothing half done behind.
			ctx, stop := signal.NotifyContext(cmd.Context(), os.Interrupt, syscall.SIGTERM)
			defer stop()
			x.Progress = verifyProgress(cmd.ErrOrStderr())
			done, err := app.Export(ctx, shop, p, &x)
			if err != nil {
				return err
			}
			if err := printExported(cmd.OutOrStdout(), done); err != nil {
				return err
			}
			return done.Lacks()
		},
	}
	f := cmd.Flags()
	f.StringVar(&x.Format, "format", "xlsx", "xlsx, csv, jsonl, ics, pdf or pack")
	f.StringVar(&x.Out, "out", "", "the `name` of the file or folder (default: pouchward-DATE with the format's ending)")
	f.StringVar(&x.From, "from", "", "entries that happened on this `date` or later")
	f.StringVar(&x.To, "to", "", "entries that happened on this `date` or before; of a calendar the last day")
	f.StringSliceVar(&x.Tables, "tables", nil, "only these tables, with commas between: `cells,training`")
	f.BoolVar(&x.Review, "review", false, "add the tables of the findings and of the ledger; the log is held in memory as a whole")
	f.BoolVar(&x.WithFiles, "with-files", false, "a pack holds copies of the files that entries name")
	f.BoolVar(&x.Redact, "redact", false, "people become P1, P2, ..., in free text too where a name stands as the log has it")
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
		fmt.Fprintf(&b, "log     %s, verified", exports.Count(done.Entries, "entry"))
		if done.Lacking > 0 {
			fmt.Fprintf(&b, "; %d of %s NOT: missing or changed", done.Lacking, exports.Count(done.Attached, "attached file"))
		}
		b.WriteString("\n")
	}
	if done.Empty != "" {
		fmt.Fprintf(&b, "period  EMPTY: the log has no %s\n", done.Empty)
	}
	if done.Beside != "" {
		fmt.Fprintf(&b, "beside  %s; the export says so (pouchward log verify)\n", exports.Clean(done.Beside))
	}
	switch {
	case done.Report && done.Files > 0:
		fmt.Fprintf(&b, "files   %d\n", done.Files)
		fallthrough
	case done.Report:
		fmt.Fprintf(&b, "found   %s, %d of them open, critical or major, and not answered\n", exports.Count(int64(done.Findings), "finding"), done.Pressing)
	case done.Tables > 0:
		fmt.Fprintf(&b, "tables  %d\n", done.Tables)
	default:
		fmt.Fprintf(&b, "events  %d\n", done.Events)
	}
	if done.People > 0 {
		fmt.Fprintf(&b, "people  %d, by codes, in free text too where a name stands as the log has it; read it before you hand it on\n", done.People)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
