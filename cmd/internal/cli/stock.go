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
	var by string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "stock",
		Short: "What is in the shop: where, how many, Wh, kg, how old",
		Example: `  pouchward stock
  pouchward stock --by place`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			p, err := e.place()
			if err != nil {
				return err
			}
			return app.ReadLog(p, func(l *logbook.Log) error {
				r, err := app.Stock(l, triage.DateOf(p.Now()), by)
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
	cmd.Flags().StringVar(&by, "by", "", "add up by `what`: place, container or class")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	return cmd
}
