package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
)

func newEmergency(e *env) *cobra.Command {
	return &cobra.Command{
		Use:     "emergency",
		Short:   "Print the emergency card: away, warn, call, count",
		Example: `  pouchward emergency`,
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			// The card depends on no date, no clock, and on no house file being right.
			rb, err := app.NewestRules()
			if err != nil {
				return err
			}
			shop, notice := app.ShopFacts(e.houseFile())
			if notice != "" {
				defer fmt.Fprintf(e.errOut, "NOTICE %s\n", exports.Clean(strings.ReplaceAll(notice, "\n", "; ")))
			}
			_, colour := terminal(cmd.OutOrStdout())
			return exports.EmergencyCard(cmd.OutOrStdout(), exports.NewWallSheet(rb, shop), colour)
		},
	}
}
