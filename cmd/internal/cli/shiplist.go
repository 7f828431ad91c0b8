package cli

import (
	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
)

func newShipList(e *env) *cobra.Command {
	var open, asJSON bool
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the shipments, the newest first",
		Example: `  pouchward ship list
  pouchward ship list --open`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return e.readLog(func(l *logbook.Log) error {
				list, err := app.Shipments(l, open)
				if err != nil {
					return err
				}
				return exports.Shipments(cmd.OutOrStdout(), list, asJSON)
			})
		},
	}
	cmd.Flags().BoolVar(&open, "open", false, "those alone that are not settled")
	cmd.Flags().BoolVar(&asJSON, "json", false, "one JSON object a line")
	return cmd
}

func newShipShow(e *env) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "show SHIPMENT|PACKAGE|CELL",
		Short: "Show a shipment: packages, cells, who, when, and what became of it",
		Long: `Show a shipment, by its tag, by the tag of a package of it, or by the tag of a cell
that was in it.`,
		Example: `  pouchward ship show 7T3JR
  pouchward ship show F2XE9R --json`,
		Args: exactlyOne("one tag"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return e.readLog(func(l *logbook.Log) error {
				x, err := app.ShowShipment(l, args[0])
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(cmd, x)
				}
				return exports.WriteShipment(cmd.OutOrStdout(), x)
			})
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	return cmd
}
