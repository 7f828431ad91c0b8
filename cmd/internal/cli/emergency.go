package cli

import (
	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
)

func newEmergency(e *env) *cobra.Command {
	return &cobra.Command{
		Use:   "emergency",
		Short: "Print the emergency card: away, warn, call, count",
		Args:  noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			// The card depends on no date, no clock and no house file.
			rb, err := app.NewestRules()
			if err != nil {
				return err
			}
			_, colour := terminal(cmd.OutOrStdout())
			return exports.EmergencyCard(cmd.OutOrStdout(), rb, colour)
		},
	}
}
