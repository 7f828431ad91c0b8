package cli

import (
	_ "embed"
	"io"
	"strings"

	"github.com/spf13/cobra"
)

// notices are made by .ci/licences: the list, then the texts.
//
//go:embed notices.txt
var notices string

func newLicences() *cobra.Command {
	var texts bool
	cmd := &cobra.Command{
		Use:     "licences",
		Short:   "Print the licences of the libraries in this program",
		Long:    "Print which libraries are in this program and under which licence. Whoever hands\nthe program on hands on their texts with it, which it carries: --texts prints them.",
		Example: "  pouchward licences\n  pouchward licences --texts > notices.txt",
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			text, _, _ := strings.Cut(notices, "\n====")
			if texts {
				text = notices
			}
			_, err := io.WriteString(cmd.OutOrStdout(), text)
			return err
		},
	}
	cmd.Flags().BoolVar(&texts, "texts", false, "print the texts too")
	return cmd
}
