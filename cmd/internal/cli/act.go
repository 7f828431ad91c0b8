package cli

import (
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

// actFlags are the flags of the commands that write an entry: who did it, at
// which bench, and when where that was not now.
type actFlags struct {
	who, bench, happened string
	env                  *env // of the run
}

func (f *actFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.who, "who", "", "`initials` of the person, for the log (default $POUCHWARD_WHO)")
	cmd.Flags().StringVar(&f.bench, "bench", "", "`name` of the bench, for the log (default $POUCHWARD_BENCH)")
	cmd.Flags().StringVar(&f.happened, "happened", "", "`when` it happened, if not now: \"2026-11-24 17:40\", or 17:40 for today")
}

// run opens the log to write in and runs fn.
func (f *actFlags) run(e *env, fn func(*app.Recording, *app.Shop, app.Act) error) error {
	f.env = e
	shop, p, err := e.shopAndPlace()
	if err != nil {
		return err
	}
	act := app.Act{Who: orEnv(f.who, "POUCHWARD_WHO")}
	if act.Happened, err = app.ParseHappened(f.happened, p.Now()); err != nil {
		return err
	}
	rec, err := app.OpenRecording(p, orEnv(f.bench, "POUCHWARD_BENCH"))
	if err != nil {
		return err
	}
	defer rec.Close()
	return fn(rec, shop, act)
}

func orEnv(flag, name string) string {
	if flag != "" {
		return flag
	}
	return os.Getenv(name)
}

// show prints what an entry made of a cell, and the card where hands must do
// something else than before.
func (f *actFlags) show(cmd *cobra.Command, o *app.Outcome) error {
	w := cmd.OutOrStdout()
	if o.Verdict != nil && o.Worse() && o.Verdict.Handling >= triage.Isolate {
		_, colour := terminal(w)
		if err := f.env.showCard(w, o.Shop.Rulebook, o.Verdict, o.Refused, exports.CardOptions{Colour: colour}); err != nil {
			return err
		}
	}
	if err := exports.StateLine(w, o.Was, o.Is); err != nil {
		return err
	}
	return f.told(cmd.ErrOrStderr(), o)
}

// told prints the notes and the numbers of the entries.
func (f *actFlags) told(w io.Writer, o *app.Outcome) error {
	for _, n := range o.Notes {
		notice(w, n)
	}
	recorded(w, o.Receipts)
	if len(o.Refused) > 0 {
		for _, r := range o.Refused {
			fmt.Fprintln(w, exports.Clean(r))
		}
		return app.ErrRefused
	}
	return nil
}

// notice prints what must not be overlooked.
func notice(w io.Writer, text string) {
	fmt.Fprintln(w, strings.Join(exports.Fold("NOTICE "+exports.Clean(text), lineWidth, 7), "\n"))
}

// recorded prints the numbers of entries.
func recorded(w io.Writer, receipts []logbook.Receipt) {
	var numbers []string
	clock := ""
	for _, r := range receipts {
		numbers = append(numbers, fmt.Sprint(r.Number))
		if r.Clock != "" {
			clock = r.Clock
		}
	}
	switch len(numbers) {
	case 0:
		return
	case 1:
		fmt.Fprintf(w, "Recorded as entry %s.\n", numbers[0])
	default:
		fmt.Fprintf(w, "Recorded as entries %s.\n", strings.Join(numbers, ", "))
	}
	if clock != "" {
		fmt.Fprintf(w, "The machine's clock stands behind the last entry (%s); the entry says so. Set the clock.\n", clock)
	}
}

// atLeastOne wants one argument or more.
func atLeastOne(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 {
			return app.Usage("%s takes %s (%s --help)", cmd.CommandPath(), what, cmd.CommandPath())
		}
		return nil
	}
}

func newRaise(e *env) *cobra.Command {
	var f actFlags
	var to, condition, note string
	cmd := &cobra.Command{
		Use:   "raise TAG",
		Short: "Put a cell up at once; no reason is asked",
		Long: `Put a cell up at once. Anyone may, without a reading or a reason. Lowering it
again takes a determination.`,
		Example: `  pouchward raise F2XE9R
  pouchward raise F2XE9R --to emergency --who MK`,
		Args: exactlyOne("one tag"),
		RunE: func(cmd *cobra.Command, args []string) error {
			handling, ok := triage.HandlingByName(strings.ToLower(to))
			cond, known := triage.ConditionByName(strings.ToLower(condition))
			if !ok || condition != "" && !known {
				return app.Usage("--to takes hold, isolate or emergency; --condition undetermined, damaged, recalled, liable or reacting")
			}
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				o, err := r.Raise(shop, act, args[0], handling, cond, note)
				if err != nil {
					return err
				}
				return f.show(cmd, o)
			})
		},
	}
	cmd.Flags().StringVar(&to, "to", "isolate", "`class` for the hands: hold, isolate or emergency")
	cmd.Flags().StringVar(&condition, "condition", "", "`condition` for carriage, where it is worse than the class implies")
	cmd.Flags().StringVar(&note, "note", "", "free `words`")
	f.add(cmd)
	return cmd
}

func newSecure(e *env) *cobra.Command {
	var f actFlags
	var terminals, bag, fill, all bool
	cmd := &cobra.Command{
		Use:   "secure TAG...",
		Short: "Record that cells were secured: terminals, bag, fill",
		Example: `  pouchward secure F2XE9R --all
  pouchward secure F2XE9R --terminals --bag`,
		Args: atLeastOne("one tag or more"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				return eachTag(args, func(tag string) error {
					o, err := r.Secure(shop, act, tag, app.Secured(terminals || all, bag || all, fill || all))
					if err != nil {
						return err
					}
					return f.show(cmd, o)
				})
			})
		},
	}
	cmd.Flags().BoolVar(&terminals, "terminals", false, "terminals are insulated")
	cmd.Flags().BoolVar(&bag, "bag", false, "one cell in one bag that is no metal")
	cmd.Flags().BoolVar(&fill, "fill", false, "in dry fill that neither burns nor conducts (owed from isolate up)")
	cmd.Flags().BoolVar(&all, "all", false, "all three were done")
	f.add(cmd)
	return cmd
}

// eachTag runs fn on each tag and goes on after one that fails: the error names
// all that did.
func eachTag(tags []string, fn func(string) error) error {
	var failed []string
	var first error
	for _, tag := range tags {
		if err := fn(tag); err != nil {
			if first == nil {
				first = err
			}
			failed = append(failed, fmt.Sprintf("%s: %v", tag, err))
		}
	}
	if len(failed) < 2 {
		return first
	}
	return fmt.Errorf("%d of %d failed: %w", len(failed), len(tags), &app.Reasons{List: failed})
}

func newMove(e *env) *cobra.Command {
	var f actFlags
	var m app.Move
	cmd := &cobra.Command{
		Use:   "move TAG... --to PLACE|CONTAINER",
		Short: "Record where cells or containers went",
		Long: `Record where cells went: to a place (a name), into a container on record (its
tag), or out of the shop. A move against what is printed, such as an isolated cell
into a container beside others, is refused unless --because says why it was made.`,
		Example: `  pouchward move F2XE9R --to Y1
  pouchward move F2XE9R K9CT4N --to K3T2
  pouchward move C4PTJ3 --out handed-over --because "recycler's van, receipt 118"`,
		Args: atLeastOne("one tag or more"),
		RunE: func(cmd *cobra.Command, args []string) error {
			m.Tags = args
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				o, err := r.Move(shop, act, m)
				if err != nil {
					return err
				}
				for _, c := range o.Cells {
					if err := exports.StateLine(cmd.OutOrStdout(), c.Was, c.Is); err != nil {
						return err
					}
					for _, n := range c.Notes {
						o.Notes = append(o.Notes, triage.SpacedTag(c.Tag)+" is "+n)
					}
				}
				for _, box := range o.Boxes {
					if err := exports.StateLine(cmd.OutOrStdout(), logbook.State{}, box); err != nil {
						return err
					}
				}
				return f.told(cmd.ErrOrStderr(), &o.Outcome)
			})
		},
	}
	cmd.Flags().StringVar(&m.To, "to", "", "a `place`, or the tag of a container on record")
	cmd.Flags().StringVar(&m.Out, "out", "", "it left the shop: `how` (reused, returned, handed-over)")
	cmd.Flags().StringVar(&m.Because, "because", "", "why it was done against what is printed, or to whom it went, in `words`")
	f.add(cmd)
	return cmd
}

func newRecheck(e *env) *cobra.Command {
	var f actFlags
	cmd := &cobra.Command{
		Use:   "recheck TAG same|worse [--FIELD VALUE]...",
		Short: "Record another look: same or worse, with the readings taken",
		Long: `Record another look at a cell. It keeps the class or puts it up; an assessment or
a determination lowers one. Worse puts an isolated cell up to emergency.`,
		Example: `  pouchward recheck F2XE9R same --cell-c 23.1 --ambient-c 22
  pouchward recheck F2XE9R worse`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 2 {
				return app.Usage("recheck takes a tag and same or worse (pouchward recheck --help)")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				o, err := r.Recheck(shop, act, args[0], strings.ToLower(args[1]), givenFlags(cmd))
				if err != nil {
					return err
				}
				return f.show(cmd, o)
			})
		},
	}
	f.add(cmd)
	for i := range triage.Fields {
		fd := &triage.Fields[i]
		if cmd.Flags().Lookup(flagName(fd.Name)) == nil && triage.FieldID(i) != triage.Tag {
			addFieldFlag(cmd, fd)
		}
	}
	return cmd
}
