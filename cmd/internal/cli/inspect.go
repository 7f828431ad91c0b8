package cli

import (
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
)

const inspectLong = `Record a look at a storage place, or at a container on record by its tag. Each
check is answered yes, no or, left out, not looked. The cells that were counted,
or the tags that were scanned, are held against what the log has there.

Two more things are tried out and recorded here: the emergency telephone of
shipments, and an instrument on something whose value is known.`

// inspectFlags are the flags of the three things that inspect records.
type inspectFlags struct {
	actFlags
	x          app.Inspection
	checks     map[string]*string
	ask        bool
	found      int64
	number     bool
	answered   string
	instrument app.InstrumentCheck
}

// inspectOnly lists the flags of one of the three that the other two do not take.
var inspectOnly = map[string][]string{
	"a place":          append(checkNames(), "ask", "found", "tags", "volume-l", "action"),
	"emergency-number": {"answered"},
	"instrument":       {"reference", "reading", "unit", "within"},
}

func checkNames() (names []string) {
	for _, c := range app.Checks {
		names = append(names, c.Name)
	}
	return names
}

func newInspect(e *env) *cobra.Command {
	f := inspectFlags{checks: map[string]*string{}}
	cmd := &cobra.Command{
		Use:   "inspect PLACE",
		Short: "Record a look at a storage place; a trial of the telephone or an instrument",
		Long:  inspectLong,
		Example: `  pouchward inspect "metal cabinet" --who MK --ask
  pouchward inspect "metal cabinet" --who MK --closed yes --labelled no --action "label written" --found 6
  pouchward inspect K3T2 --who MK --tags F2XE9R,K9CT4N
  pouchward inspect --emergency-number --answered yes --who MK
  pouchward inspect --instrument "meter 1" --reference 3.000 --reading 3.001 --unit V --within 0.01 --who MK`,
		Args: atMostOne("one place"),
		RunE: func(cmd *cobra.Command, args []string) error {
			what, err := f.what(cmd, args)
			if err != nil {
				return err
			}
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				switch what {
				case "emergency-number":
					return showTried(cmd)(r.TryNumber(shop, act, f.answered, f.x.Note))
				case "instrument":
					f.instrument.Note = f.x.Note
					return showTried(cmd)(r.CheckInstrument(act, f.instrument))
				}
				return f.inspect(cmd, r, act, args[0])
			})
		},
	}
	f.define(cmd)
	return cmd
}

func (f *inspectFlags) define(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.BoolVar(&f.ask, "ask", false, "ask for the checks and the count, one plain question a line")
	for _, c := range app.Checks {
		f.checks[c.Name] = flags.String(c.Name, "", c.Question+" (`yes/no`)")
	}
	flags.Int64Var(&f.found, "found", 0, "how `many` cells were counted there")
	flags.StringSliceVar(&f.x.Scanned, "tags", nil, "the `tags` that were scanned there, with commas between")
	flags.StringVar(&f.x.VolumeL, "volume-l", "", "the volume of what stands there, in `litres`")
	flags.StringVar(&f.x.Action, "action", "", "what was done about it, in `words`")
	flags.StringVar(&f.x.Note, "note", "", "free `words`")
	flags.BoolVar(&f.number, "emergency-number", false, "the emergency telephone of shipments was rung")
	flags.StringVar(&f.answered, "answered", "", "somebody answered who can tell about the goods (`yes/no`)")
	flags.StringVar(&f.instrument.Name, "instrument", "", "the `name` of an instrument that was checked")
	flags.StringVar(&f.instrument.Reference, "reference", "", "the known `value`")
	flags.StringVar(&f.instrument.Reading, "reading", "", "the `value` that it read")
	flags.StringVar(&f.instrument.Unit, "unit", "", "the `unit` of both: V, mm, °C, g, mohm, mAh")
	flags.StringVar(&f.instrument.Within, "within", "", "the `difference` that is allowed; without it nothing is judged")
	f.add(cmd)
}

// what says which of the three is recorded, and refuses a mix of them.
func (f *inspectFlags) what(cmd *cobra.Command, args []string) (string, error) {
	given := map[string]bool{"a place": len(args) == 1, "emergency-number": f.number, "instrument": cmd.Flags().Changed("instrument")}
	what, n := "", 0
	for name, is := range given {
		if is {
			what, n = name, n+1
		}
	}
	if n != 1 {
		return "", app.Usage("inspect takes one of these: a place, --emergency-number, or --instrument NAME (pouchward inspect --help)")
	}
	for _, other := range []string{"a place", "emergency-number", "instrument"} {
		for _, name := range inspectOnly[other] {
			if other != what && cmd.Flags().Changed(name) {
				return "", app.Usage("--%s goes with %s, not with %s", name, other, what)
			}
		}
	}
	return what, nil
}

func (f *inspectFlags) inspect(cmd *cobra.Command, r *app.Recording, act app.Act, place string) error {
	x := f.x
	x.Place, x.Checks = place, map[string]string{}
	given := false
	for name, answer := range f.checks {
		x.Checks[name] = *answer
		given = given || cmd.Flags().Changed(name)
	}
	if cmd.Flags().Changed("found") {
		x.Found = &f.found
	}
	if f.ask {
		if given || x.Found != nil {
			return app.Usage("--ask asks for every check and the count; leave out the others")
		}
		if err := app.AskInspection(act, &x, cmd.InOrStdin(), cmd.ErrOrStderr()); err != nil {
			return err
		}
	}
	seen, err := r.Inspect(act, x)
	if err != nil {
		return err
	}
	return showLines(cmd, seen.Lines(), seen.Receipt)
}

func showTried(cmd *cobra.Command) func(*app.Tried, error) error {
	return func(t *app.Tried, err error) error {
		if err != nil {
			return err
		}
		return showLines(cmd, t.Lines, t.Receipt)
	}
}

// lineWidth is that of the cards.
const lineWidth = 80

// showLines prints what was recorded, then under which number.
func showLines(cmd *cobra.Command, lines []string, receipts ...logbook.Receipt) error {
	for _, line := range lines {
		// The rest of a long line stands under its words.
		in := len(line) - len(strings.TrimLeft(line, " ")) + 2
		for _, part := range exports.Fold(exports.Clean(line), lineWidth, in) {
			if _, err := io.WriteString(cmd.OutOrStdout(), part+"\n"); err != nil {
				return err
			}
		}
	}
	recorded(cmd.ErrOrStderr(), receipts)
	return nil
}
