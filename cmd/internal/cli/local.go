package cli

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

func newLocal(e *env) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "local",
		Short: "Questions that local rules decide: list, answer, reopen",
		Long: `Keep the register of what only the place can answer: a fire code official, a waste
agency, a landlord. A card shows at most one question, and only when it bears on
that verdict and has no answer, or one that has lapsed.`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newLocalList(e), newLocalAnswer(e), newLocalReopen(e))
	return cmd
}

func newLocalList(e *env) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the questions: open, lapsed, answered, by whom",
		Example: `  pouchward local list
  pouchward local list --json`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			shop, p, err := e.shopAndPlace()
			if err != nil {
				return err
			}
			list := func(l *logbook.Log) error {
				rows, err := app.Locals(l, shop.Rulebook, shop.Rulebook.On)
				if err != nil {
					return err
				}
				if asJSON {
					return exports.LocalsJSON(cmd.OutOrStdout(), rows)
				}
				return exports.Locals(cmd.OutOrStdout(), shop.Rulebook.On, rows)
			}
			err = app.ReadLog(p, list)
			if errors.Is(err, logbook.ErrNoLog) {
				fmt.Fprintf(cmd.ErrOrStderr(), "NOTICE %s. Without a log every question is open.\n", exports.Clean(err.Error()))
				return list(nil)
			}
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "one JSON object a line")
	return cmd
}

func newLocalAnswer(e *env) *cobra.Command {
	var f actFlags
	var x app.LocalAnswer
	cmd := &cobra.Command{
		Use:   "answer ID",
		Short: "Record what an authority answered",
		Long: `Record what an authority answered, whom you asked, and where it stands. The answer
before it stays in the log; the last one holds.`,
		Example: `  pouchward local answer local-container-lid --answer "vented, on the steel shelf" \
      --authority "city fire marshal" --asked "duty desk" --source "mail of 2026-11-20" \
      --lapses 2027-11-20 --who MK`,
		Args: exactlyOne("the id of a question, as pouchward local list shows it"),
		RunE: func(cmd *cobra.Command, args []string) error {
			x.About = args[0]
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				row, receipt, err := r.AnswerLocal(shop, act, x)
				return f.showLocal(cmd, &row, receipt, err)
			})
		},
	}
	cmd.Flags().StringVar(&x.Answer, "answer", "", "what was answered, in `words`")
	cmd.Flags().StringVar(&x.Authority, "authority", "", "`who` decides: the authority")
	cmd.Flags().StringVar(&x.Asked, "asked", "", "the `person or office` that was asked")
	cmd.Flags().StringVar(&x.Source, "source", "", "`where` it stands: a letter, a permit, a call")
	cmd.Flags().StringVar(&x.AskedOn, "asked-on", "", "`day` on which it was asked (default today)")
	cmd.Flags().StringVar(&x.Lapses, "lapses", "", "`day` from which it no longer holds; without one it stands until you answer anew")
	f.add(cmd)
	return cmd
}

func newLocalReopen(e *env) *cobra.Command {
	var f actFlags
	var reason string
	cmd := &cobra.Command{
		Use:     "reopen ID",
		Short:   "Record that an answer no longer holds: the question is open again",
		Example: `  pouchward local reopen local-container-lid --reason "another official" --who MK`,
		Args:    exactlyOne("the id of a question, as pouchward local list shows it"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				row, receipt, err := r.ReopenLocal(shop, act, args[0], reason)
				return f.showLocal(cmd, &row, receipt, err)
			})
		},
	}
	cmd.Flags().StringVar(&reason, "reason", "", "`why` it no longer holds")
	f.add(cmd)
	return cmd
}

func (f *actFlags) showLocal(cmd *cobra.Command, row *exports.LocalRow, receipt logbook.Receipt, err error) error {
	if err != nil {
		return err
	}
	if err := exports.Local(cmd.OutOrStdout(), row); err != nil {
		return err
	}
	return f.told(cmd.ErrOrStderr(), &app.Outcome{Receipts: []logbook.Receipt{receipt}})
}

// locals tells which questions of local rules have an answer. What keeps it from
// the log leaves them open and takes no card away.
func (e *env) locals(rb *triage.Rulebook) func(id string) bool {
	p, err := e.place()
	if err != nil {
		return nil
	}
	return app.OpenLocals(p, rb, rb.On)
}

// showCard draws a card with the local question that is open. An emergency's
// stands before the log is even opened.
func (e *env) showCard(w io.Writer, rb *triage.Rulebook, v *triage.Verdict, refused []string, opt exports.CardOptions) error {
	if v.Handling != triage.Emergency {
		opt.Local = rb.LocalBearing(v, e.locals(rb))
		return exports.Card(w, rb, v, refused, opt)
	}
	if err := exports.Card(w, rb, v, refused, opt); err != nil {
		return err
	}
	if q := rb.LocalBearing(v, e.locals(rb)); q != nil {
		return exports.LocalLine(w, q)
	}
	return nil
}
