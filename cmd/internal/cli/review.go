package cli

import (
	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

const reviewLong = `Look through the log as a compliance reviewer would: what to ask about, the worst
first, with the entries that it rests on; what was looked at and is in order; what
a log cannot show; the ledger; and ten cells drawn at random to walk to.

Nothing of it is stored: it comes out of the entries each time. A sign-off answers a
finding and never takes it away. Exit code 3 while a critical or major finding is
open and nobody has answered it; 4 when the log does not verify.

--on DATE also judges what is in the shop by the rules of that date and lists which
cells change an answer; determinations are kept.`

func newReview(e *env) *cobra.Command {
	var ask app.ReviewAsk
	var asTable, asJSON bool
	cmd := &cobra.Command{
		Use:   "review",
		Short: "What a compliance reviewer would ask about, and what is in order",
		Long:  reviewLong,
		Example: `  pouchward review
  pouchward review --from 2026-01-01 --to 2026-06-30 --table
  pouchward review --on 2027-01-05
  pouchward review sign review-kept-a-year XNTF --reason "no box for it; due 12-10" --who ML`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if asTable && asJSON {
				return app.Usage("--table and --json: use one of them")
			}
			return e.review(cmd, ask, asTable, asJSON)
		},
	}
	f := cmd.Flags()
	f.StringVar(&ask.From, "from", "", "first `day` of the period (default: a year before the last)")
	f.StringVar(&ask.To, "to", "", "last `day` of the period; what was entered later is not read (default today)")
	f.StringVar(&ask.Site, "site", "", "only what was entered at this `site`")
	f.StringVar(&ask.Seed, "seed", "", "draw the sample by these `words` (default: of the log's root)")
	f.BoolVar(&asTable, "table", false, "one finding a line")
	f.BoolVar(&asJSON, "json", false, "one JSON object a line")
	f.BoolVar(&ask.DespiteDamage, "despite-damage", false, "review a log that does not verify; every line says so")
	cmd.AddCommand(newReviewSign(e))
	return cmd
}

func (e *env) review(cmd *cobra.Command, ask app.ReviewAsk, asTable, asJSON bool) error {
	on := e.on
	e.on = "" // the period has its own days; the date is for judging again
	shop, p, err := e.shopAndPlace()
	if err != nil {
		return err
	}
	if e.houseFile() == "" {
		notice(cmd.ErrOrStderr(), app.NoHouse)
	}
	r, err := app.Review(shop, p, ask)
	if err != nil {
		return err
	}
	var again *exports.Rejudged
	if on != "" {
		if again, err = rejudged(shop, p, ask, on); err != nil {
			return err
		}
	}
	w := cmd.OutOrStdout()
	switch {
	case asJSON:
		err = exports.ReviewJSON(w, r, again)
	case asTable:
		err = exports.ReviewTable(w, r)
	default:
		err = exports.Review(w, r, again)
	}
	if err != nil {
		return err
	}
	if n := r.Pressing(); n > 0 {
		return app.Findings(n)
	}
	return nil
}

// rejudged judges what is in the shop by the rules of another date.
func rejudged(shop *app.Shop, p app.LogPlace, ask app.ReviewAsk, on string) (*exports.Rejudged, error) {
	day, err := triage.ParseDate(on)
	if err != nil {
		return nil, app.Usage("--on %q: %v", on, err)
	}
	x, err := app.Rejudge(shop, p, ask, day)
	if err != nil {
		return nil, err
	}
	again := &exports.Rejudged{From: x.From.String(), To: x.To.String(), Compared: x.Compared, Rules: len(x.Rules), Cells: []exports.RejudgedCell{}}
	for i := range x.Cells {
		c := &x.Cells[i]
		again.Cells = append(again.Cells, exports.RejudgedCell{Tag: c.Tag, Place: c.Place, In: c.In, Entry: c.Entry, Changes: c.Changes})
	}
	for _, t := range x.Unread {
		again.Unread = append(again.Unread, t.Text)
	}
	return again, nil
}

func newReviewSign(e *env) *cobra.Command {
	var f actFlags
	var x app.SignOff
	cmd := &cobra.Command{
		Use:   "sign RULE SUBJECT",
		Short: "Answer a finding with a reason; it stays in the review, with the answer",
		Long: `Answer a finding: say why it is so and what is done about it. The finding stays in
every review, with the answer beside it. The answer counts for the entries that the
finding rests on today: when more is found of the same, it is open again.`,
		Example: `  pouchward review sign review-kept-a-year XNTF --reason "no box for it; due 12-10" --who ML
  pouchward review sign review-no-round "Yard locker" --reason "shop closed" --until 2027-01-31 --who ML`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 2 {
				return app.Usage("%s takes a rule and a subject, as pouchward review --table prints them (%s --help)", cmd.CommandPath(), cmd.CommandPath())
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			x.Check, x.Subject = args[0], args[1]
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				signed, err := r.SignOff(shop, act, x)
				if err != nil {
					return err
				}
				if err := exports.Answered(cmd.OutOrStdout(), signed.Finding, signed.Until); err != nil {
					return err
				}
				return f.told(cmd.ErrOrStderr(), &app.Outcome{Receipts: []logbook.Receipt{signed.Receipt}})
			})
		},
	}
	cmd.Flags().StringVar(&x.Reason, "reason", "", "`why` it is so, and what is done about it")
	cmd.Flags().StringVar(&x.Until, "until", "", "last `day` on which the answer counts (default: 30 days for what is open)")
	cmd.Flags().StringVar(&x.From, "from", "", "first `day` of the review that shows it (default: a year before today)")
	f.add(cmd)
	return cmd
}
