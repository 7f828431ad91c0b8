package cli

import (
	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
)

func newDetermine(e *env) *cobra.Command {
	var f actFlags
	var x app.Ruling
	var mistaken []int64
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "determine TAG",
		Short: "Record two people's judgement of condition, which may lower a class",
		Long: `Record a determination: a named person's judgement by the criteria, with a
reason and a second person (a shop of one says solo = true in its house file).

Criteria (UN special provision 376):
  a  acute hazard, such as gas, fire or leaking electrolyte
  b  signs of use or misuse
  c  signs of physical damage, deformation or colour of the casing
  d  short-circuit protection, such as voltage or isolation measurements
  e  state of the safety features
  f  damage to internal safety components

What may be lowered: rocks, dents, damaged terminals, swelling by measure,
voltage, drift and what cannot be told; swelling seen by eye, corrosion, a crack
or misuse by the maker or a technical expert only (--expert). Never a recall, a
leak, a puncture, a burn, water, smoke, a hiss or a smell.

With the tag alone it prints what holds the cell, and records nothing.`,
		Example: `  pouchward determine F2XE9R
  pouchward determine F2XE9R --lower dented --criteria c --who MK --second LS \
      --reason "the mark is print, not a dent" --until 2027-05-25`,
		Args: exactlyOne("one tag"),
		RunE: func(cmd *cobra.Command, args []string) error {
			x.Mistaken = mistaken
			asked := x.Criteria+x.Reason+x.Second+x.Until+x.Condition == "" && !x.Expert && len(x.Lower)+len(mistaken) == 0
			if asked {
				return showHolds(cmd, e, args[0], asJSON)
			}
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				o, err := r.Determine(shop, act, args[0], x)
				if err != nil {
					return err
				}
				return f.show(cmd, o)
			})
		},
	}
	cmd.Flags().StringSliceVar(&x.Lower, "lower", nil, "`rule` to set aside (repeat, or commas), or raise")
	cmd.Flags().Int64SliceVar(&mistaken, "mistaken", nil, "`entry` that was corrected or retracted, and whose findings no longer count")
	cmd.Flags().StringVar(&x.Condition, "condition", "", "put the `condition` up: damaged, recalled or liable")
	cmd.Flags().StringVar(&x.Criteria, "criteria", "", "`letters` of the criteria ticked, such as cd")
	cmd.Flags().StringVar(&x.Reason, "reason", "", "why, in `words`")
	cmd.Flags().StringVar(&x.Second, "second", "", "`initials` of the second person")
	cmd.Flags().BoolVar(&x.Expert, "expert", false, "by the maker or a technical expert")
	cmd.Flags().StringVar(&x.Until, "until", "", "last `day` on which it holds (2027-05-25)")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print what holds the cell as JSON")
	cmd.Flags().Lookup("mistaken").DefValue = "" // else help prints []
	f.add(cmd)
	return cmd
}

// showHolds prints what holds a cell; nothing is recorded.
func showHolds(cmd *cobra.Command, e *env, tag string, asJSON bool) error {
	shop, p, err := e.shopAndPlace()
	if err != nil {
		return err
	}
	return app.ReadLog(p, func(l *logbook.Log) error {
		now, list, err := app.Holds(l, shop, tag)
		if err != nil {
			return err
		}
		if asJSON {
			return printJSON(cmd, list)
		}
		return exports.Holds(cmd.OutOrStdout(), now, list)
	})
}
