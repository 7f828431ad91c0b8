package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

func newDemo(e *env) *cobra.Command {
	var dir string
	cmd := &cobra.Command{
		Use:   "demo --dir DIR",
		Short: "Write an invented shop with a year of life, to try things on",
		Long: `Write an invented shop with a year of life up to a day (--on; default today): its
house file, its recall list, its log with the key, and the cells that wait on the
day. Nobody and nothing in it is real, and its key is no secret.

The same day makes the same entries. All is written, or nothing; the folder must
not be there, or be empty.`,
		Example: `  pouchward demo --dir demo
  pouchward demo --dir demo --on 2026-11-25`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			on := triage.DateOf(e.now())
			if e.on != "" {
				var err error
				if on, err = triage.ParseDate(e.on); err != nil {
					return app.Usage("--on %q: %v", e.on, err)
				}
			}
			made, err := app.Demo(dir, on)
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(cmd.OutOrStdout(), `made  %s: an invented shop, a year up to %s
log   %d entries about %d cells, of which %d are in the shop
paper %s

Next: %s/README.txt says what to try. First, in that folder:
      pouchward due --house house.toml
`, exports.Clean(made.Dir), made.On, made.Entries, made.Cells, made.Stock, made.Paper, exports.Clean(made.Dir))
			return err
		},
	}
	cmd.Flags().StringVar(&dir, "dir", "", "write into this `folder`, which must not be there or be empty")
	return cmd
}
