package cli

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"pouchward/exports"
	"pouchward/triage"
)

// fieldRow is one field as fields --json prints it.
type fieldRow struct {
	Name    string   `json:"name"`
	Role    string   `json:"role"`
	Unit    string   `json:"unit"`
	Allowed string   `json:"allowed"`
	Words   []string `json:"words,omitempty"`
	Example string   `json:"example"`
	Meaning string   `json:"meaning"`
}

func newFields() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "fields",
		Short: "Print every field of a reading: name, unit, range, example",
		Example: `  pouchward fields
  pouchward fields --json`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var rows []fieldRow
			for i := range triage.Fields {
				f := &triage.Fields[i]
				rows = append(rows, fieldRow{f.Name, f.Role.String(), f.Unit, f.Allowed(), f.Words, f.Example, f.Meaning})
			}
			if asJSON {
				return printJSON(cmd, rows)
			}
			return printFields(cmd, rows)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	return cmd
}

func printFields(cmd *cobra.Command, rows []fieldRow) error {
	var b bytes.Buffer
	fmt.Fprintln(&b, "The same name is the flag (--ocv-v), the column (ocv_v) and the JSON key (ocv_v).")
	fmt.Fprintln(&b, "Not known: blank or ? not yet, ni no instrument, us unsafe, nr not reachable,")
	fmt.Fprintln(&b, "ur unreadable, cannot, na does not apply. Left blank, a required field holds the cell.")
	role := ""
	for _, r := range rows {
		if r.Role != role {
			role = r.Role
			fmt.Fprintf(&b, "\n%s\n", strings.ToUpper(role))
		}
		fmt.Fprintf(&b, "  %-21s e.g. %-18s %s\n", r.Name, r.Example, allowedShort(r))
		for _, l := range exports.Wrap(r.Meaning, 72) {
			fmt.Fprintf(&b, "      %s\n", l)
		}
	}
	_, err := cmd.OutOrStdout().Write(b.Bytes())
	return err
}

func allowedShort(r fieldRow) string {
	s := strings.TrimPrefix(r.Allowed, "use ")
	if len(r.Words) > 2 {
		s = "a word"
		return s + ": " + strings.Join(r.Words, " ")
	}
	return s
}
