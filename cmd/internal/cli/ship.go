package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

const shipLong = `From the shelf to the consignee, in this order:

  plan       what can go by a route, in which packages, and what keeps the rest
  pack       put cells into a package, one scan after the other
  close      weigh it; two people; every cell is judged again
  reopen     open a closed package, on the record
  papers     lists, marks, transport paper and forms, to print
  dispatch   hand the shipment over; all of it is judged once more
  refused    the carrier did not take it: it is in the shop again
  receipt    what the consignee says it received

Every step is judged by the rules of its day. Nothing here is a permission: local
codes, the carrier and licensed practice come first.`

func newShip(e *env) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "ship",
		Short: "Plan, pack, hand over and reconcile a shipment",
		Long:  shipLong,
		Args:  noArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newShipPlan(e), newShipPack(e), newShipClose(e), newShipReopen(e), newShipDispatch(e), newShipRefused(e), newShipReceipt(e),
		newShipPapers(e), newShipList(e), newShipShow(e))
	return cmd
}

func newShipPlan(e *env) *cobra.Command {
	var route string
	var outers []string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "plan",
		Short: "What can go by a route, in which packages, and what keeps the rest",
		Long: `Lay out what is in the shop in packages that break no limit, each cell as it stands
today, and say what keeps the rest: first the one reading that frees most cells.

The outer packagings are those of --outer, as many of each as it takes; without one,
packagings of this program stand in, and it says so.`,
		Example: `  pouchward ship plan --route us-highway
  pouchward ship plan --route us-highway --outer "box 30x20x20,strong,0.4,30" --outer "drum 10 L,pg1,1.1,10,1A2/X10/S/26/..."`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			shop, err := e.shop()
			if err != nil {
				return err
			}
			return e.readLog(func(l *logbook.Log) error {
				p, err := app.PlanShipment(shop, l, route, outers)
				if err != nil {
					return err
				}
				if asJSON {
					return printJSON(cmd, p)
				}
				return exports.WriteShipPlan(cmd.OutOrStdout(), p)
			})
		},
	}
	cmd.Flags().StringVar(&route, "route", "", "`route`: "+strings.Join(triage.RouteNames(), ", "))
	cmd.Flags().StringArrayVar(&outers, "outer", nil, "an `outer` packaging of the shop (repeat): NAME,LEVEL,TARE_KG,MAX_KG,UN_MARK")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	return cmd
}

// writeLines writes lines wrapped to the width of a screen, the second and later ones
// set in.
func writeLines(cmd *cobra.Command, lines ...string) error {
	for _, line := range lines {
		for i, part := range exports.Wrap(exports.Clean(line), 78) {
			if i > 0 {
				part = "  " + part
			}
			if _, err := fmt.Fprintln(cmd.OutOrStdout(), part); err != nil {
				return err
			}
		}
	}
	return nil
}

func newShipDispatch(e *env) *cobra.Command {
	var f actFlags
	var x app.Dispatch
	cmd := &cobra.Command{
		Use:   "dispatch SHIPMENT",
		Short: "Hand a shipment over; all of it is judged once more",
		Long: `Record that a shipment was handed over. Every package is closed and holds what it
was closed with; every cell is lawful on the route as it stands today; the consignee
said yes to what is in it, and the yes has not run out; where papers are owed the
house file names the emergency telephone. Else nothing leaves.`,
		Example: `  pouchward ship dispatch 7T3JR --carrier "Invented Haulage" --accepted-by "R. Invented" \
      --acceptance PA-118 --acceptance-until 2026-12-31 --accepts undamaged,damaged --who LS`,
		Args: exactlyOne("the tag of one shipment"),
		RunE: func(cmd *cobra.Command, args []string) error {
			x.Shipment = args[0]
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				sent, err := r.Dispatch(shop, act, x)
				if err != nil {
					return err
				}
				return f.sent(cmd, sent, "left with "+x.Carrier)
			})
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&x.Carrier, "carrier", "", "who takes it (`name`)")
	flags.StringVar(&x.Consignee, "consignee", "", "who receives it (`name`; default: as packed for, else of the house file)")
	flags.StringVar(&x.AcceptedBy, "accepted-by", "", "`who` at the consignee said yes")
	flags.StringVar(&x.Ref, "acceptance", "", "`reference` of the yes")
	flags.StringVar(&x.Until, "acceptance-until", "", "last `day` on which the yes holds (2026-12-31)")
	flags.StringSliceVar(&x.Accepts, "accepts", nil, "`conditions` that the yes is for: undamaged, damaged, recalled, liable (default undamaged)")
	flags.StringVar(&x.Note, "note", "", "free `words`")
	f.add(cmd)
	return cmd
}

// sent prints what became of a shipment.
func (f *actFlags) sent(cmd *cobra.Command, sent *app.Sent, what string) error {
	if err := writeLines(cmd, sent.Lines(what)...); err != nil {
		return err
	}
	return f.told(cmd.ErrOrStderr(), &sent.Outcome)
}

func newShipRefused(e *env) *cobra.Command {
	var f actFlags
	var reason string
	cmd := &cobra.Command{
		Use:   "refused SHIPMENT",
		Short: "The carrier or the consignee did not take it: it is in the shop again",
		Long: `Record that a shipment was not taken. Its packages are in the shop again, closed as
they were. Nobody here saw what was done to them, so each cell is looked at (pouchward
recheck, or an assessment) before it travels again; pouchward due names them.`,
		Example: `  pouchward ship refused 7T3JR --reason "driver has no sheet for damaged ones" --who LS`,
		Args:    exactlyOne("the tag of one shipment"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				sent, err := r.Refused(shop, act, args[0], reason)
				if err != nil {
					return err
				}
				return f.sent(cmd, sent, "is in the shop again. Each cell is looked at before it travels again: pouchward due")
			})
		},
	}
	cmd.Flags().StringVar(&reason, "reason", "", "why, in `words`")
	f.add(cmd)
	return cmd
}

func newShipReceipt(e *env) *cobra.Command {
	var f actFlags
	var x app.Reception
	var count int64
	cmd := &cobra.Command{
		Use:   "receipt SHIPMENT",
		Short: "Record what the consignee received, and settle what differs",
		Long: `Record a receipt, by count and mass or by the consignee's list: a CSV file with the
columns tag or package, count, mass_kg, rejected, note.

It settles the shipment where the count is that which left and the mass is within
2 % or 0.2 kg, the greater of the two, but never more than a tenth of what left (common
practice). What differs, and what the receipt does not say, keeps the shipment open
until --close says how it was settled.`,
		Example: `  pouchward ship receipt 7T3JR --on-date 2026-12-06 --count 39 --mass-kg 1.9 --who LS
  pouchward ship receipt 7T3JR --on-date 2026-12-06 --csv receipt.csv --certificate receipt.pdf --who LS
  pouchward ship receipt 7T3JR --close --note "found on the recycler's floor sheet" --who LS`,
		Args: exactlyOne("the tag of one shipment"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if x.Shipment = args[0]; cmd.Flags().Changed("count") {
				x.Count = &count
			}
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				sent, err := r.Receive(shop, act, x)
				if err != nil {
					return err
				}
				return f.sent(cmd, sent, sent.Received())
			})
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&x.On, "on-date", "", "the `day` on which it was received")
	flags.Int64Var(&count, "count", 0, "how `many` cells were received")
	flags.StringVar(&x.MassKg, "mass-kg", "", "their net `mass` in kg")
	flags.StringVar(&x.CSV, "csv", "", "the consignee's list, a `file`")
	flags.StringVar(&x.Certificate, "certificate", "", "keep this `file` beside the log as its certificate")
	flags.BoolVar(&x.Close, "close", false, "settle a receipt that differs; takes --note")
	flags.StringVar(&x.Note, "note", "", "how it was settled, in `words`")
	f.add(cmd)
	return cmd
}

// readLog runs fn on the log, opened for reading.
func (e *env) readLog(fn func(*logbook.Log) error) error {
	p, err := e.place()
	if err != nil {
		return err
	}
	return app.ReadLog(p, fn)
}
