// Package cli is the command line: one file per command, each of flags, one
// call into app, and printing. Results go to standard output, everything else
// to standard error. A message says what was being done, with which input, why
// it failed and what to do next.
//
// Exit codes: 0 done; 1 failed; 2 wrong usage; 3 done, but fields were refused, or
// findings of a review are open; 4 the log does not verify.
package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

// env is what a command may use of the world.
type env struct {
	now   func() time.Time
	on    string // --on
	house string // --house
	log   string // --log

	args   []string // of the run
	errOut io.Writer
}

// houseFile is the house file's name, which the environment may give where the
// flag does not.
func (e *env) houseFile() string {
	if e.house != "" {
		return e.house
	}
	return os.Getenv("POUCHWARD_HOUSE")
}

// place says which log the command works on.
func (e *env) place() (app.LogPlace, error) {
	return app.PlaceLog(app.LogName(e.log), e.houseFile(), e.now)
}

// shop loads the rules in force and the house file.
func (e *env) shop() (*app.Shop, error) {
	s, err := app.OpenShop(e.on, e.houseFile(), e.now())
	if err == nil && s.Notice != "" {
		fmt.Fprintln(e.errOut, "NOTICE "+s.Notice)
	}
	return s, err
}

// shopAndPlace is what a command needs that judges what the log holds.
func (e *env) shopAndPlace() (*app.Shop, app.LogPlace, error) {
	shop, err := e.shop()
	if err != nil {
		return nil, app.LogPlace{}, err
	}
	p, err := e.place()
	return shop, p, err
}

// Main runs the program and returns its exit code.
func Main(args []string, in io.Reader, out, errOut io.Writer, now func() time.Time) int {
	args = bareSigns(args)
	root := newRoot(&env{now: now, args: args, errOut: errOut})
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errOut)
	err := root.Execute()
	if err == nil {
		return app.ExitDone
	}
	fmt.Fprint(errOut, errorText(err))
	var exit *app.ExitError
	if errors.As(err, &exit) {
		return exit.Code
	}
	return app.ExitFailed
}

// errorText is what is printed of an error: a line, or where there are several reasons
// a line for each, the gravest first.
func errorText(err error) string {
	var r *app.Reasons
	if errors.As(err, &r) && len(r.List) > 1 {
		if head, ok := strings.CutSuffix(err.Error(), r.Error()); ok {
			text := "pouchward: " + exports.Clean(strings.TrimSuffix(head, ": ")) + ":\n"
			for _, x := range r.List {
				text += strings.Join(exports.Fold("  "+exports.Clean(x), lineWidth, 4), "\n") + "\n"
			}
			return text
		}
	}
	return fmt.Sprintf("pouchward: %s\n", exports.Clean(strings.ReplaceAll(err.Error(), "\n", "; ")))
}

// bareSigns reads a sign's flag without a value, as in --smoking --swollen, as a
// yes: the next flag is never its value.
func bareSigns(args []string) []string {
	out := make([]string, 0, len(args))
	for i, a := range args {
		if name, ok := strings.CutPrefix(a, "--"); ok && (i+1 == len(args) || strings.HasPrefix(args[i+1], "--")) {
			if f, known := triage.FieldByName(strings.ReplaceAll(name, "-", "_")); known && triage.Fields[f].Sign {
				a += "=yes"
			}
		}
		out = append(out, a)
	}
	return out
}

const rootLong = `Pouchward judges a pulled lithium-ion cell: what the hands do now, its condition
for carriage, its size, its casing, and every route by which it may travel.

Nothing it prints is a permission. Local codes and licensed practice come first.`

func newRoot(e *env) *cobra.Command {
	root := &cobra.Command{
		Use:           "pouchward",
		Short:         "Judge a pulled lithium-ion cell: hands, carriage, size, casing, routes",
		Long:          rootLong,
		Args:          noArgs,
		SilenceErrors: true,
		SilenceUsage:  true,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if asked, err := cmd.Flags().GetBool("version"); err != nil || !asked {
				return errors.Join(err, cmd.Help())
			}
			return printVersion(cmd.OutOrStdout(), e)
		},
	}
	root.Flags().BoolP("version", "v", false, "print version, commit, Go and rulebook")
	root.SetFlagErrorFunc(flagError)
	root.PersistentFlags().StringVar(&e.on, "on", "", "judge by the rules of this `date` (2026-11-25); default today")
	root.PersistentFlags().StringVar(&e.house, "house", "", "the shop's house `file` (default $POUCHWARD_HOUSE)")
	root.PersistentFlags().StringVar(&e.log, "log", "", "the shop's log `file` (default $POUCHWARD_LOG, else pouchward.db)")
	root.CompletionOptions.HiddenDefaultCmd = true
	root.AddCommand(newSetup(e), newAssess(e), newSort(e), newRules(e), newFields(), newEmergency(e), newLog(e),
		newRaise(e), newDetermine(e), newSecure(e), newMove(e), newRecheck(e), newCorrect(e), newRetract(e), newSplit(e), newMerge(e),
		newDemo(e), newBench(e), newContainer(e), newLot(e), newStock(e), newDue(e), newHazard(e), newPart(e), newInspect(e), newTrain(e), newIncident(e), newAttach(e), newLocal(e), newPackage(e), newShip(e), newReview(e), newChart(e), newLabel(e), newExport(e), newLicences())
	inGroups(root)
	return root
}

// noArgs refuses stray words, with what was probably meant.
func noArgs(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	if cmd.HasSubCommands() {
		var names []string
		for _, c := range cmd.Commands() {
			names = append(names, c.Name())
		}
		if near := triage.Nearest(args[0], names); near != "" {
			return app.Usage("no command %q; did you mean %s?", args[0], near)
		}
		return app.Usage("no command %q; pouchward --help lists them", args[0])
	}
	return app.Usage("%s takes no word %q; values go into flags (%s --help)", cmd.Name(), args[0], cmd.CommandPath())
}

// flagError names the flag that was probably meant.
func flagError(cmd *cobra.Command, err error) error {
	text := err.Error()
	if name, ok := strings.CutPrefix(text, "unknown flag: --"); ok {
		name, _, _ = strings.Cut(name, "=")
		var names []string
		for _, f := range triage.FieldNames() {
			names = append(names, strings.ReplaceAll(f, "_", "-"))
		}
		if near := triage.Nearest(name, names); near != "" && cmd.Flags().Lookup(near) != nil {
			return app.Usage("%s; did you mean --%s?", text, near)
		}
	}
	return app.Usage("%s (%s --help)", text, cmd.CommandPath())
}

// terminal reports whether w is a terminal, and whether colour is welcome on it.
func terminal(w io.Writer) (isTerminal, colour bool) {
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return false, false
	}
	return true, os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb" && escapes(f)
}
