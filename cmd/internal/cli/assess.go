package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

const assessLong = `Judge one cell from its readings.

Each reading is a flag; leave out what was not measured. Units may be typed:
--ocv-v 3780mV, --thickness-mm 0.2in, --cell-c 72F. Not known: ? not yet,
ni no instrument, us unsafe, nr not reachable, ur unreadable, cannot, na.

A value that is refused still gets a verdict (it counts as not known); the exit
code is then 3. pouchward fields prints every field with unit and range.

A tag that the log knows is judged over what the log knows of it too, with
--record or without.

With --record a part number shows what the log knows of that part's label;
--as-part takes it over where the label was left blank or cannot be read (ur).`

func newAssess(e *env) *cobra.Command {
	var ask, asJSON, why, papers bool
	var routes []string
	var rec recordFlags
	var part partFlags
	run := func(cmd *cobra.Command, shown *bool) error {
		shop, err := e.shop()
		if err != nil {
			return err
		}
		x := app.Answers{Given: givenFlags(cmd)}
		switch {
		case ask && len(x.Given) > 0:
			return app.Usage("--ask asks for every reading; leave out the others")
		case ask && part.take:
			return app.Usage("--ask asks before it takes anything over; leave out --as-part")
		case ask:
			if x, err = app.Ask(shop, cmd.InOrStdin(), cmd.ErrOrStderr(), part.asked(e, shop, rec.record)); err != nil {
				return err
			}
		case len(x.Given) == 0:
			return app.Usage("no reading was given; start with --signs none or --signs swollen, or use --ask (pouchward assess --help)")
		default:
			part.fill(e, shop, rec.record, &x)
		}
		opt := exports.CardOptions{Why: why}
		if opt.Routes, err = triage.ParseRoutes(routes); err != nil {
			return app.Usage("--route: %v", err)
		}
		show := func(a *app.Assessment) error {
			*shown = true
			if papers && !asJSON { // the JSON has them all
				return printPapers(cmd.OutOrStdout(), a, opt.Routes)
			}
			return printAssessment(cmd.OutOrStdout(), e, a, asJSON, opt)
		}
		if rec.record {
			return rec.assess(e, cmd.ErrOrStderr(), shop, x, asJSON, show)
		}
		p, err := e.place()
		if err != nil {
			return err
		}
		return overLog(cmd.ErrOrStderr(), p, shop, x, show)
	}
	cmd := &cobra.Command{
		Use:   "assess [--FIELD VALUE]...",
		Short: "Judge one cell from its readings",
		Long:  assessLong,
		Example: `  pouchward assess --signs swollen
  pouchward assess --signs none --recalled no --cell-c 22 --ambient-c 21 --ocv-v 3.80 \
      --chemistry li-ion --series 1 --parallel 1 --nominal-v 3.85 --rated-mah 5200 --fit loose
  pouchward assess --ask`,
		Args: func(cmd *cobra.Command, args []string) error {
			err := noArgs(cmd, args)
			if err != nil {
				e.alarm(cmd, asJSON)
			}
			return err
		},
		RunE: func(cmd *cobra.Command, _ []string) error {
			shown := false
			err := run(cmd, &shown)
			if err != nil && !shown {
				e.alarm(cmd, asJSON)
			}
			return err
		},
	}
	cmd.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		e.readOn(cmd)
		e.alarm(cmd, asJSON)
		return flagError(cmd, err)
	})
	cmd.Flags().BoolVar(&ask, "ask", false, "ask for the readings, one plain question a line")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the verdict as JSON")
	cmd.Flags().BoolVar(&why, "why", false, "show every line and the distance to it")
	cmd.Flags().StringSliceVar(&routes, "route", nil, "show what this `route` asks for (repeat, or all)")
	cmd.Flags().BoolVar(&papers, "papers", false, "print only the routes and what they ask for")
	rec.add(cmd)
	part.add(cmd)
	for i := range triage.Fields {
		addFieldFlag(cmd, &triage.Fields[i])
	}
	return cmd
}

// overLog judges without recording, over what the log knows of the tag, and shows.
func overLog(errOut io.Writer, p app.LogPlace, shop *app.Shop, x app.Answers, show func(*app.Assessment) error) error {
	a, asked := app.AssessOver(p, shop, x.Given)
	x.Mark(a)
	if asked != nil {
		notice(errOut, "The verdict is of this reading alone: the cell may be worse than it says.")
	}
	showErr := show(a)
	if n := a.OverLog(); n > 0 {
		fmt.Fprintln(errOut, folded(fmt.Sprintf("Judged over what the log knows of tag %s too, up to its entry %d (pouchward log history %s); nothing was recorded.",
			triage.SpacedTag(a.Verdict.Tag), n, a.Verdict.Tag)))
	}
	// What the log holds and the verdict does not outweighs a refused field.
	if asked != nil && (showErr == nil || errors.Is(showErr, app.ErrRefused)) {
		return asked
	}
	return showErr
}

// givenFlags returns the readings given as flags, in field order. An empty
// value is one that was left blank.
func givenFlags(cmd *cobra.Command) []app.Given {
	var given []app.Given
	for i := range triage.Fields {
		flag := cmd.Flags().Lookup(flagName(triage.Fields[i].Name))
		if flag == nil {
			continue
		}
		f, ok := flag.Value.(*fieldFlag)
		if !ok {
			continue // --who and --note of an entry are no readings
		}
		for _, v := range f.texts {
			given = append(given, app.Given{Field: triage.FieldID(i), Text: v})
		}
	}
	return given
}

// printPapers prints the papers side, of every route unless some were asked for.
func printPapers(w io.Writer, a *app.Assessment, routes []triage.Route) error {
	if len(routes) == 0 {
		routes, _ = triage.ParseRoutes([]string{"all"}) // "all" is always a route word
	}
	if err := exports.Papers(w, a.Shop.Rulebook, &a.Verdict, a.Refused, routes); err != nil {
		return err
	}
	if len(a.Refused) > 0 {
		return app.ErrRefused
	}
	return nil
}

func printAssessment(w io.Writer, e *env, a *app.Assessment, asJSON bool, opt exports.CardOptions) error {
	if asJSON {
		var buf bytes.Buffer
		if err := exports.EncodeJSON(&buf, a.Verdict.Document(a.Shop.Rulebook, a.Refused), "  "); err != nil {
			return err
		}
		if _, err := w.Write(buf.Bytes()); err != nil {
			return err
		}
	} else {
		isTerminal, colour := terminal(w)
		opt.Colour, opt.FromPart, opt.PartCells = colour, a.FromPart, a.PartCells
		if isTerminal {
			// The clock is of use at the bench only; a saved card keeps its bytes.
			opt.At = app.LookAt(&a.Verdict, e.now())
		}
		if err := e.showCard(w, a.Shop.Rulebook, &a.Verdict, a.Refused, opt); err != nil {
			return err
		}
	}
	if len(a.Refused) > 0 {
		return app.ErrRefused
	}
	return nil
}
