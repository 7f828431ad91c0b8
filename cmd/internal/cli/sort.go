package cli

import (
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

const sortLong = `Judge every row of one or more sheets and print the rows in their order.

A sheet is CSV (comma, semicolon or tab) or an XLSX workbook; its first line
names the columns, in any order: the fields of pouchward fields, x_ columns that
pass through, and any other column that --map sends to a field. JSON lines (one
object a line) have the same names as keys. A refused cell never stops its row:
the row says so in its error column, and the exit code is 3.

A row whose tag the log knows is judged over what the log knows of it too, with
--record or without.

The table is for reading; csv appends the answers to the columns of the sheet;
jsonl prints one whole verdict a line. In csv a cell that a spreadsheet program
would take for a formula, or a tag such as 34E279 that it would take for a
number, has an apostrophe before it; sort reads it back without.`

func newSort(e *env) *cobra.Command {
	var format, outName, sheet string
	var pairs []string
	var template bool
	var rec recordFlags
	cmd := &cobra.Command{
		Use:   "sort FILE...",
		Short: "Judge every row of a sheet",
		Long:  sortLong,
		Example: `  pouchward sort intake.csv
  pouchward sort intake.csv --out verdicts.csv
  pouchward sort shop.xlsx --sheet November --out verdicts.csv
  pouchward sort old.csv --map "Voltage=ocv_v" --map "Temp=cell_c" --format jsonl
  pouchward sort --template > intake.csv`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if template {
				return writeTemplate(cmd.OutOrStdout(), args)
			}
			if len(args) == 0 {
				return app.Usage("no sheet was named; give a file, or - for standard input (pouchward sort --template prints an empty one)")
			}
			opt, err := sortOptions(e, cmd, args, format, outName, pairs)
			if err != nil {
				return err
			}
			opt.Sheet = sheet
			if opt.Record, err = rec.open(e); err != nil {
				return err
			}
			if opt.Record != nil {
				defer opt.Record.Close()
			} else {
				p, err := e.place()
				if err != nil {
					return err
				}
				opt.Log = &p
			}
			var sum app.Summary
			recorded := false
			run := func(w io.Writer) error {
				opt.Out = w
				var err error
				sum, err = app.Sort(opt)
				recorded = err == nil && opt.Record != nil
				return err
			}
			switch {
			case outName != "":
				err = app.WriteWhole(outName, run)
			case opt.Record != nil:
				err = spooled(cmd.OutOrStdout(), run)
			default:
				err = run(cmd.OutOrStdout())
			}
			if err != nil && recorded {
				return fmt.Errorf("the cells are recorded as entries %d to %d, do not record them again (pouchward log history shows a tag); but the verdicts: %w", sum.FirstEntry, sum.LastEntry, err)
			}
			if err != nil {
				return err
			}
			return reportSummary(cmd.ErrOrStderr(), &sum, outName)
		},
	}
	cmd.Flags().StringVar(&format, "format", "", "table, csv or jsonl (default: by the name of --out, else table)")
	cmd.Flags().StringVar(&outName, "out", "", "write to this `file`, whole or not at all")
	cmd.Flags().StringArrayVar(&pairs, "map", nil, "read a column as a field: `\"Column=field\"` (repeat for more)")
	cmd.Flags().StringVar(&sheet, "sheet", "", "read the sheet of this `name` of a workbook (default: its first)")
	rec.add(cmd)
	cmd.Flags().BoolVar(&template, "template", false, "print an empty sheet with the usual columns")
	return cmd
}

// spooled holds back what run writes until it has succeeded: a tag that was
// shown and not recorded would be issued again, to another cell.
func spooled(out io.Writer, run func(io.Writer) error) error {
	f, err := os.CreateTemp("", "pouchward-*")
	if err != nil {
		return fmt.Errorf("holding the verdicts until they are recorded: %w", err)
	}
	defer os.Remove(f.Name())
	defer f.Close()
	if err := run(f); err != nil {
		return err
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	_, err = io.Copy(out, f)
	return err
}

func sortOptions(e *env, cmd *cobra.Command, files []string, format, outName string, pairs []string) (app.SortOptions, error) {
	opt := app.SortOptions{Files: files, Stdin: cmd.InOrStdin()}
	var err error
	if opt.Shop, err = e.shop(); err != nil {
		return opt, err
	}
	if opt.Map, err = app.ParseMap(pairs); err != nil {
		return opt, err
	}
	if opt.Shop.House != nil {
		opt.HouseMap = opt.Shop.House.Map
	}
	if opt.Format = format; format == "" {
		switch ext := strings.ToLower(strings.TrimPrefix(filepath.Ext(outName), ".")); ext {
		case "", "txt":
			opt.Format = "table"
		case "csv", "jsonl":
			opt.Format = ext
		default:
			return opt, app.Usage("--out %q: sort writes no .%s; name a .csv, which a spreadsheet opens, a .jsonl or a .txt, or say --format", outName, ext)
		}
	}
	if isTerminal, _ := terminal(cmd.ErrOrStderr()); isTerminal && outName != "" {
		opt.Progress = progressbar.NewOptions64(totalSize(files), progressbar.OptionSetWriter(cmd.ErrOrStderr()),
			progressbar.OptionSetDescription("sorting"), progressbar.OptionShowBytes(true), progressbar.OptionClearOnFinish(),
			progressbar.OptionThrottle(100_000_000))
	}
	return opt, nil
}

// totalSize is the size of the sheets in bytes, -1 when one has none.
func totalSize(files []string) int64 {
	var total int64
	for _, name := range files {
		info, err := os.Stat(name)
		if err != nil || !info.Mode().IsRegular() {
			return -1
		}
		total += info.Size()
	}
	return total
}

func reportSummary(w io.Writer, sum *app.Summary, outName string) error {
	where := ""
	if outName != "" {
		where = " Written to " + outName + "."
	}
	fmt.Fprintln(w, sum.Text()+where)
	if sum.LastEntry > 0 {
		fmt.Fprintf(w, "Recorded as entries %d to %d.\n", sum.FirstEntry, sum.LastEntry)
	}
	if sum.OverLog > 0 {
		fmt.Fprintln(w, folded(fmt.Sprintf("%s judged over what the log knows of the tag too; nothing was recorded (pouchward log history shows a tag).",
			exports.Count(int64(sum.OverLog), "row"))))
	}
	for _, x := range sum.Examples {
		fmt.Fprintln(w, "  "+exports.Clean(x))
	}
	if more := sum.Refused - len(sum.Examples); more > 0 {
		fmt.Fprintf(w, "  and %d more, in the error column\n", more)
	}
	if sum.Notice != "" {
		fmt.Fprintln(w, "NOTICE "+sum.Notice)
	}
	if sum.LogError != nil {
		notice(w, "The verdicts are of the rows alone where the log could not be asked: a cell may be worse than its row says.")
	}
	fmt.Fprintln(w, triage.LocalFirst)
	if sum.LogError != nil {
		return sum.LogError // it outweighs a refused field: the exit code must tell
	}
	if sum.Refused > 0 {
		return app.ErrRefused
	}
	return nil
}

// templateColumns are the columns of an empty sheet: what a bench fills in, in
// the order in which it does.
var templateColumns = []triage.FieldID{triage.Tag, triage.Part, triage.Fit, triage.Signs, triage.CellC, triage.AmbientC, triage.Recalled,
	triage.Chemistry, triage.Series, triage.Parallel, triage.NominalV, triage.ChargeLimitV, triage.RatedMah, triage.LabelWh, triage.OcvV,
	triage.RestH, triage.Rocks, triage.ThicknessMm, triage.NominalThicknessMm, triage.MassG, triage.Purpose, triage.Note}

func writeTemplate(w io.Writer, args []string) error {
	if len(args) > 0 {
		return app.Usage("--template takes no file")
	}
	names := make([]string, len(templateColumns))
	for i, f := range templateColumns {
		names[i] = triage.Fields[f].Name
	}
	cw := csv.NewWriter(w)
	if err := cw.Write(names); err != nil {
		return err
	}
	cw.Flush()
	return cw.Error()
}
