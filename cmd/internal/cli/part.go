package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
)

const partLong = `What the log knows of the label of a part number, from the last 500 assessments
that name it; without a number, the parts on record.

A cell counts once, by the last word on each label fact. A fact on which the
labels contradict one another is not offered. Nothing that is measured, seen or
looked up is kept of a part.`

func newPart(e *env) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "part [NUMBER]",
		Short: "What the log knows of the label of a part number",
		Long:  partLong,
		Example: `  pouchward part
  pouchward part BP-3850-A
  pouchward assess --part BP-3850-A --rated-mah ur --signs none --as-part --record`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return app.Usage("part takes one part number; put quotes round one with spaces: pouchward part \"%s\"", strings.Join(args, " "))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			p, err := e.place()
			if err != nil {
				return err
			}
			return app.ReadLog(p, func(l *logbook.Log) error {
				if len(args) == 0 {
					return printParts(cmd, l, asJSON)
				}
				r, err := app.ShowPart(l, args[0])
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(cmd, r)
				}
				return exports.Part(cmd.OutOrStdout(), r)
			})
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	return cmd
}

func printParts(cmd *cobra.Command, l *logbook.Log, asJSON bool) error {
	list, err := app.Parts(l)
	if err != nil {
		return err
	}
	if asJSON {
		return printJSON(cmd, list)
	}
	return exports.Parts(cmd.OutOrStdout(), list)
}

// partFlags say what assess does with part memory.
type partFlags struct{ take bool }

func (f *partFlags) add(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&f.take, "as-part", false, "take over from the log what other cells of the same --part have on their label")
}

// lookUp reads part memory; nil is nothing for this reading. A reading is judged
// whatever becomes of that.
func (f *partFlags) lookUp(e *env, shop *app.Shop, given []app.Given) (o *app.PartOffer) {
	p, err := e.place()
	if err == nil {
		o, err = app.LookUpPart(p, shop, given)
	}
	if err != nil {
		fmt.Fprintf(e.errOut, "Part memory was not read: %s. The reading is judged without it.\n", exports.Clean(err.Error()))
		return nil
	}
	if o == nil && f.take {
		fmt.Fprintln(e.errOut, "Nothing is taken over from part memory: the reading names no part (--part), or the cell reacts.")
	}
	return o
}

// asked is how the questions look up part memory, nil where no log is in use.
func (f *partFlags) asked(e *env, shop *app.Shop, record bool) func([]app.Given) *app.PartOffer {
	if !record {
		return nil
	}
	return func(given []app.Given) *app.PartOffer { return f.lookUp(e, shop, given) }
}

// fill tells what part memory has for the reading, and takes it over where that
// is wanted.
func (f *partFlags) fill(e *env, shop *app.Shop, record bool, x *app.Answers) {
	if !record && !f.take {
		return
	}
	switch o := f.lookUp(e, shop, x.Given); {
	case o == nil || o.Memory.Cells == 0 && !f.take || o.Says() == "":
	case f.take && len(o.Facts) > 0:
		x.Take(o)
		fmt.Fprintln(e.errOut, folded(o.Says()+"; taken over."))
	case len(o.Facts) > 0:
		fmt.Fprintln(e.errOut, folded(o.Says()+"; --as-part takes them over."))
	default:
		fmt.Fprintln(e.errOut, folded(o.Says()))
	}
}

func folded(line string) string { return strings.Join(exports.Fold(line, lineWidth, 2), "\n") }
