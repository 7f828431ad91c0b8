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

// A library is a module in the program.
type library struct {
	Module   string   `json:"module"`
	Version  string   `json:"version"`
	Licences []string `json:"licences"` // by the names of SPDX
}

// libraries reads the list back out of the notices.
func libraries() (list []library) {
	lines, _, _ := strings.Cut(notices, "\n====")
	for line := range strings.Lines(lines) {
		if f := strings.Fields(line); len(f) > 2 && strings.HasPrefix(f[1], "v") {
			list = append(list, library{f[0], f[1], strings.Split(strings.Join(f[2:], ""), ",")})
		}
	}
	return list
}

func newLicences() *cobra.Command {
	var texts, asJSON bool
	cmd := &cobra.Command{
		Use:     "licences",
		Short:   "Print the licences of the libraries in this program",
		Long:    "Print which libraries are in this program and under which licence. Whoever hands\nthe program on hands on their texts with it, which it carries: --texts prints them.",
		Example: "  pouchward licences\n  pouchward licences --texts > notices.txt",
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if asJSON {
				return printJSON(cmd, libraries())
			}
			text, _, _ := strings.Cut(notices, "\n====")
			if texts {
				text = notices
			}
			_, err := io.WriteString(cmd.OutOrStdout(), text)
			return err
		},
	}
	cmd.Flags().BoolVar(&texts, "texts", false, "print the texts too")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the list as JSON")
	return cmd
}
