package cli

import (
	"github.com/spf13/cobra"

	"pouchward/exports"
)

func newEmergency(e *env) *cobra.Command {
	return &cobra.Command{
		Use:   "emergency",
		Short: "Print the emergency card: away, warn, call, count",
		Args:  noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			shop, err := e.shop()
			if err != nil {
				return err
			}
			rb := shop.Rulebook
			_, colour := terminal(cmd.OutOrStdout())
			return exports.EmergencyCard(cmd.OutOrStdout(), rb, colour)
		},
	}
}
