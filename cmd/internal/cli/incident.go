package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

const incidentLong = `Record an incident afterwards. If it is going on NOW: pouchward emergency

Without flags it asks, one plain question a line, each of which may be left blank:
what is not said is recorded as not said. Unless it is said that no cell reacted,
every cell that is named is put up to emergency with it, and so is all that is in
a container that is named.

An incident stays open until a follow-up on a later day says that it is closed
and how everybody is who was there.`

// incidentFlags are the flags of telling and of following up.
type incidentFlags struct {
	actFlags
	answers  map[string]*string
	exposure []string
	followUp int64
	closed   string
	note     string
}

func newIncident(e *env) *cobra.Command {
	f := incidentFlags{answers: map[string]*string{}}
	cmd := &cobra.Command{
		Use:   "incident",
		Short: "Record an incident afterwards, and ask again the next day",
		Long:  incidentLong,
		Example: `  pouchward incident
  pouchward incident --tags F2XE9R --reacted yes --started "2026-11-24 17:40" --ended "2026-11-24 18:05" \
      --seen "smoke while prying" --there MK --exposure MK=none --fire-called no
  pouchward incident --follow-up 12 --exposure MK=none --closed yes
  pouchward incident list`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				if cmd.Flags().Changed("follow-up") {
					return f.follow(cmd, r, shop, act)
				}
				return f.tell(cmd, e, r, shop, act)
			})
		},
	}
	f.define(cmd)
	cmd.AddCommand(newIncidentList(e))
	return cmd
}

func (f *incidentFlags) define(cmd *cobra.Command) {
	flags := cmd.Flags()
	for i := range app.IncidentQuestions {
		q := &app.IncidentQuestions[i]
		f.answers[q.Name] = flags.String(flagName(q.Name), "", q.Ask)
	}
	flags.StringArrayVar(&f.exposure, "exposure", nil, "how it is with one who was there, `INITIALS=none` or what they feel (repeat)")
	flags.Int64Var(&f.followUp, "follow-up", 0, "ask again about the incident of this `entry`")
	flags.StringVar(&f.closed, "closed", "", "of a follow-up: it is closed (`yes/no`)")
	flags.StringVar(&f.note, "note", "", "of a follow-up: free `words`")
	f.add(cmd)
}

// told reports whether any answer was given as a flag, but for those named.
func (f *incidentFlags) told(cmd *cobra.Command, but ...string) (name string) {
	for i := range app.IncidentQuestions {
		n := flagName(app.IncidentQuestions[i].Name)
		if cmd.Flags().Changed(n) && !strings.Contains(strings.Join(but, " "), n) {
			return n
		}
	}
	return ""
}

func (f *incidentFlags) tell(cmd *cobra.Command, e *env, r *app.Recording, shop *app.Shop, act app.Act) error {
	if f.closed != "" || f.note != "" {
		return app.Usage("--closed and --note go with --follow-up; an incident is open until then")
	}
	x := app.Incident{Answers: map[string]string{}, Exposure: f.exposure}
	for name, answer := range f.answers {
		x.Answers[name] = *answer
	}
	if f.told(cmd) == "" && len(f.exposure) == 0 {
		p, err := e.place()
		if err != nil {
			return err
		}
		if x, err = app.AskIncident(p.Now(), cmd.InOrStdin(), cmd.ErrOrStderr()); err != nil {
			return err
		}
	}
	t, err := r.TellIncident(shop, act, x)
	if err != nil {
		return err
	}
	w := cmd.OutOrStdout()
	for _, o := range t.Raised {
		if err := exports.StateLine(w, o.Was, o.Is); err != nil {
			return err
		}
	}
	if len(t.Raised) > 0 {
		fmt.Fprint(w, "DANGER  Held as reacting: nobody touches it until it has been quiet for 24 h\n"+
			"        (common practice) and a look says so (--quiet-h).\n")
	} else if x.Answers["reacted"] != "no" {
		fmt.Fprint(w, "No cell that the log can hold was named: pouchward raise TAG --to emergency for\n  each that may react.\n")
	}
	return f.show(cmd, shop, t, true)
}

func (f *incidentFlags) follow(cmd *cobra.Command, r *app.Recording, shop *app.Shop, act app.Act) error {
	if name := f.told(cmd, "there"); name != "" {
		return app.Usage("--%s tells of an incident; a follow-up takes --exposure, --there, --closed and --note", name)
	}
	x := app.FollowUp{Incident: f.followUp, There: *f.answers["there"], Exposure: f.exposure, Closed: f.closed, Note: f.note}
	known, err := r.WhoWasThere(f.followUp)
	if err != nil {
		return err
	}
	if x.There == "" && len(x.Exposure) == 0 && x.Closed == "" && x.Note == "" {
		if err := app.AskFollowUp(known, &x, cmd.InOrStdin(), cmd.ErrOrStderr()); err != nil {
			return err
		}
	}
	t, err := r.Follow(act, x)
	if err != nil {
		return err
	}
	return f.show(cmd, shop, t, false)
}

// show prints what an entry came to, and what those who were there need.
func (f *incidentFlags) show(cmd *cobra.Command, shop *app.Shop, t *app.Told, first bool) error {
	lines := t.Lines(first)
	do, source := shop.Rulebook.IncidentLines()
	lines = append(append(lines, do...), "  "+source)
	for _, n := range t.Notes {
		notice(cmd.ErrOrStderr(), n)
	}
	return showLines(cmd, lines, t.Receipts...)
}

func newIncidentList(e *env) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the incidents, and which are open",
		Example: `  pouchward incident list
  pouchward incident list --json`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			p, err := e.place()
			if err != nil {
				return err
			}
			list, err := app.Incidents(p)
			if err != nil {
				return err
			}
			if asJSON {
				return printJSON(cmd, list)
			}
			var lines []string
			for i := range list {
				lines = append(lines, incidentLine(&list[i])...)
			}
			if len(list) == 0 {
				lines = []string{"No incident is on record."}
			}
			return showLines(cmd, lines)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	return cmd
}

func incidentLine(x *app.IncidentLine) []string {
	var b strings.Builder
	state := "closed"
	if x.Open {
		state = "OPEN"
	}
	fmt.Fprintf(&b, "%7d  %s  %-6s", x.Number, x.Happened, state)
	for _, t := range x.Tags {
		b.WriteString(" " + triage.SpacedTag(t))
	}
	b.WriteString("  reacted: " + x.Reacted + "  seen: " + x.Seen)
	for _, p := range x.Persons {
		b.WriteString("  " + p.Who + ": " + p.Exposure)
	}
	if !x.Open {
		return []string{b.String()}
	}
	return []string{b.String(), fmt.Sprintf("%9s%s: pouchward incident --follow-up %d", "", x.WhyOpen, x.Number)}
}
