package cli

import (
	"bytes"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

func newStock(e *env) *cobra.Command {
	var by, at string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "stock",
		Short: "What is in the shop: where, how many, Wh, kg, how old",
		Example: `  pouchward stock
  pouchward stock --by place
  pouchward stock --by cell --at "Yard locker"`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			shop, p, err := e.shopAndPlace()
			if err != nil {
				return err
			}
			return app.ReadLog(p, func(l *logbook.Log) error {
				now, err := app.OnDay(e.on, p.Now())
				if err != nil {
					return err
				}
				r, err := app.ScreenedStock(shop, l, triage.DateOf(now), by, at)
				if err != nil {
					return err
				}
				if !asJSON {
					return exports.Stock(cmd.OutOrStdout(), r)
				}
				var buf bytes.Buffer
				if err := exports.EncodeJSON(&buf, r, "  "); err != nil {
					return err
				}
				_, err = cmd.OutOrStdout().Write(buf.Bytes())
				return err
			})
		},
	}
	cmd.Flags().StringVar(&by, "by", "", "add up by `what`: place, container or class; cell names each")
	cmd.Flags().StringVar(&at, "at", "", "keep to a `place`, or to a container by its tag")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	return cmd
}

// mostDue is how many lines of a section a person reads at once.
const mostDue = 15

func newDue(e *env) *cobra.Command {
	var days int
	var all, asJSON bool
	cmd := &cobra.Command{
		Use:   "due",
		Short: "What is owed: rechecks, clocks, rounds, training, lapsing answers",
		Example: `  pouchward due
  pouchward due --days 60 --all`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			shop, p, err := e.shopAndPlace()
			if err != nil {
				return err
			}
			return app.ReadLog(p, func(l *logbook.Log) error {
				now, err := app.OnDay(e.on, p.Now())
				if err != nil {
					return err
				}
				list, err := app.Due(shop, l, now, days)
				if err != nil {
					return err
				}
				if asJSON {
					return exports.DueJSON(cmd.OutOrStdout(), list)
				}
				most := mostDue
				if all {
					most = len(list)
				}
				return exports.Due(cmd.OutOrStdout(), now, list, most)
			})
		},
	}
	cmd.Flags().IntVar(&days, "days", 14, "look this `many` days ahead")
	cmd.Flags().BoolVar(&all, "all", false, "every line")
	cmd.Flags().BoolVar(&asJSON, "json", false, "one JSON object a line")
	return cmd
}
