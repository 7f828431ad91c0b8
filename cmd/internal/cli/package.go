package cli

import (
	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
)

func newPackage(e *env) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "package",
		Short: "Judge packages before they go: check",
		Args:  noArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newPackageCheck(e))
	return cmd
}

const packageCheckLong = `Judge described packages, and all of them as one consignment, for a route and
a day. Every breach is printed with its source; what is not known is a breach too.
The exit code is 3 when there is one.

A file that ends in .toml:

  route = "us-highway"
  [[package]]
  name = "A"
  outer = "box 30 x 20 x 20"
  level = "strong"          # strong, pg2 or pg1
  un_mark = "4G/Y25/S"      # of a UN packaging
  tare = "900 g"            # with inner packagings and cushioning
  max_gross = "20 kg"
  gross = "12.4 kg"         # weighed; leave out before that
  inner = true              # each item in its own inner packaging
  fill = false              # cushioning that neither burns nor conducts
  spare_sets = 0            # by air, packed with equipment
  overpack = "pallet 1"
  marks = ["UN3481"]        # on the package; leave out to have them listed
  [[package.cell]]          # the fields of pouchward fields, and:
  times = 20                # so many alike
  count = 2                 # cells or batteries in a device
  net = "40 g"              # cells alone, of a device weighed whole
  signs = "none"

Any other file is a sheet of readings, one cell a row, with x_package and, where
known, x_outer, x_level, x_un_mark, x_tare, x_max_gross, x_gross, x_inner, x_fill,
x_spare_sets, x_overpack, x_marks (joined by ;), x_net and x_count.`

func newPackageCheck(e *env) *cobra.Command {
	var route string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "check FILE",
		Short: "Every limit that described packages break, with its source",
		Long:  packageCheckLong,
		Example: `  pouchward package check friday.toml
  pouchward package check friday.csv --route adr-road --on 2026-11-25 --json`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return app.Usage("package check takes one file, or - for a sheet on standard input (pouchward package check --help shows what it holds)")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			shop, err := e.shop()
			if err != nil {
				return err
			}
			c, err := app.CheckPackages(shop, args[0], route, cmd.InOrStdin())
			if err != nil {
				return err
			}
			r := &exports.PackageReport{On: shop.Rulebook.On, Rulebook: shop.Rulebook.Digest, Route: c.Route, Packages: c.Packages, Judged: c.Judged, Breaches: c.Breaches, Refused: c.Refused}
			if asJSON {
				err = printJSON(cmd, r.Document())
			} else {
				err = exports.Packages(cmd.OutOrStdout(), r)
			}
			if err != nil {
				return err
			}
			return c.Err()
		},
	}
	cmd.Flags().StringVar(&route, "route", "", "the `route` they go by, where the file names none")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	return cmd
}
