package cli

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

// recordFlags are the flags of the commands that can record.
type recordFlags struct {
	record   bool
	bench    string
	happened string
}

func (f *recordFlags) add(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&f.record, "record", false, "write it to the log (--log) and issue a tag where none is given")
	cmd.Flags().StringVar(&f.bench, "bench", "", "`name` of the bench, for the log (default $POUCHWARD_BENCH)")
	cmd.Flags().StringVar(&f.happened, "happened", "", "with --record: `when` it was, if not now: \"2026-11-24 17:40\"")
}

// open opens the log to record in, nil when nothing is recorded.
func (f *recordFlags) open(e *env) (*app.Recording, error) {
	if !f.record {
		if f.happened != "" {
			return nil, app.Usage("--happened is for the log: add --record")
		}
		return nil, nil
	}
	bench := f.bench
	if bench == "" {
		bench = os.Getenv("POUCHWARD_BENCH")
	}
	p, err := e.place()
	if err != nil {
		return nil, err
	}
	at, err := app.ParseHappened(f.happened, p.Now())
	if err != nil {
		return nil, err
	}
	rec, err := app.OpenRecording(p, bench)
	if err == nil {
		rec.Happened, rec.Who = at, os.Getenv("POUCHWARD_WHO")
	}
	return rec, err
}

// assess judges, records and shows. The card is shown whatever becomes of the
// record, and an emergency is shown before the log is even waited for. A JSON of one
// waits, as the tag issued stands in it: its word and verb do not.
func (f *recordFlags) assess(e *env, errOut io.Writer, shop *app.Shop, x app.Answers, asJSON bool, show func(*app.Assessment) error) error {
	a := app.Assess(shop, x.Given)
	x.Mark(a)
	shown := a.Verdict.Handling == triage.Emergency
	if shown && asJSON {
		word, verb := exports.Strength(&a.Verdict)
		fmt.Fprintf(errOut, "%s  %s\n", word, verb)
		shown = false
	}
	var showErr error
	if shown {
		showErr = show(a)
	}
	rec, err := f.open(e)
	if err == nil {
		defer rec.Close()
		a, err = rec.Judge(shop, x.Given)
		x.Mark(a)
	} else {
		err = fmt.Errorf("not recorded: %w", err)
	}
	if err == nil {
		receipt, recErr := rec.Record(a)
		if err = recErr; err == nil {
			defer func() {
				fmt.Fprintf(errOut, "Recorded as entry %d. Tag %s: write it on the tape.\n", receipt.Number, triage.SpacedTag(a.Verdict.Tag))
				if receipt.Clock != "" {
					fmt.Fprintf(errOut, "The machine's clock stands behind the last entry (%s); the entry says so. Set the clock.\n", receipt.Clock)
				}
			}()
		}
	}
	if !shown {
		showErr = show(a)
	}
	// What was not recorded outweighs a refused field: the exit code must tell.
	if err != nil {
		return err
	}
	if errors.Is(showErr, app.ErrRefused) {
		return app.ErrRefused
	}
	return showErr
}
