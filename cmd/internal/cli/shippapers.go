package cli

import (
	"cmp"
	"fmt"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

func newShipPapers(e *env) *cobra.Command {
	var p app.Print
	cmd := &cobra.Command{
		Use:   "papers SHIPMENT|PACKAGE|CELL",
		Short: "Print the papers of a shipment: lists, marks, transport paper, forms",
		Long: `Write what goes with a shipment: readiness, pre-acceptance, packing list, marks and
labels, transport paper, emergency sheet, hand-over record, receipt.

One in the shop is judged as it stands; while something is open each page says DRAFT.
One that left is printed as it was handed over, by the rules of that day. Where a cell
reacts, or is liable to and has no way, there is one sheet alone: do not offer; the
exit code is 3.

A description line stands only where the way asks for a paper, in the words of the
rule. What no log holds (an address, a signature) is a line to write on.`,
		Example: `  pouchward ship papers 7T3JR
  pouchward ship papers 7T3JR --out friday.pdf --paper a4
  pouchward ship papers 7T3JR --out friday.txt`,
		Args: exactlyOne("the tag of a shipment, or of a package or a cell of it"),
		RunE: func(cmd *cobra.Command, args []string) error {
			open := func(day string) (*app.Shop, error) {
				shop, err := app.OpenShop(cmp.Or(day, e.on), e.houseFile(), e.now())
				if err == nil && shop.Notice != "" {
					notice(cmd.ErrOrStderr(), shop.Notice)
				}
				return shop, err
			}
			return e.readLog(func(l *logbook.Log) error {
				x, d, err := app.PrintPapers(l, args[0], e.on, open, &p)
				if err != nil {
					return err
				}
				w := cmd.ErrOrStderr()
				fmt.Fprintf(w, "Written to %s: shipment %s, judged for %s. %s.\n", exports.Clean(p.Path), triage.SpacedTag(x.Tag), x.On, exports.Clean(d.Stand))
				for _, n := range x.Notices {
					notice(w, n)
				}
				if d.Refused {
					return app.ErrDoNotOffer
				}
				return nil
			})
		},
	}
	cmd.Flags().StringVar(&p.Out, "out", "", "write to this `file`, .pdf or .txt, whole or not at all (default papers-TAG.pdf)")
	cmd.Flags().StringVar(&p.Paper, "paper", "", "`a4` or letter (default as usual in the country)")
	return cmd
}
