package cli

import (
	"bytes"
	"fmt"
	"io"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
)

func newLogVerify(e *env) *cobra.Command {
	var held app.Held
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "verify",
		Short: "Derive every hash and view again, and hold them against checkpoints",
		Long: `Derive every hash and view again from the bytes of the entries, and hold the
result against checkpoints and paper lines kept elsewhere; then read every file
that was attached. The log is not written to. Exit code 4 when something does not verify.

Without a checkpoint from elsewhere a tail cut off, or a log written anew as a
whole, is not seen. A --key that the log names nowhere does not verify; one that
it names shows nothing without a checkpoint that it signed.`,
		Example: `  pouchward log verify
  pouchward log verify --checkpoint monday.checkpoint --paper "60 9cd0ff9eb8bf534c6e1d"`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			p, err := e.place()
			if err != nil {
				return err
			}
			r, failed := app.VerifyLog(p, held, verifyProgress(cmd.ErrOrStderr()))
			if r == nil {
				return failed
			}
			if asJSON {
				err = printJSON(cmd, r)
			} else {
				err = exports.LogReport(cmd.OutOrStdout(), p.Path, r)
			}
			if err != nil {
				return err
			}
			return failed
		},
	}
	cmd.Flags().StringArrayVar(&held.Checkpoints, "checkpoint", nil, "a checkpoint `file` kept elsewhere (repeat for more)")
	cmd.Flags().StringArrayVar(&held.Papers, "paper", nil, "a paper `line`: size and 20 hex digits (repeat for more)")
	cmd.Flags().StringArrayVar(&held.Keys, "key", nil, "a public `key` of the log kept elsewhere (repeat for more)")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print the report as JSON")
	return cmd
}

// verifyProgress shows on a terminal how far a verification is.
func verifyProgress(w io.Writer) app.Progress {
	if isTerminal, _ := terminal(w); !isTerminal {
		return app.Progress{}
	}
	bar := func(what string, bytes bool) func(n, of int64) {
		var b *progressbar.ProgressBar
		return func(n, of int64) {
			if b == nil {
				b = progressbar.NewOptions64(of, progressbar.OptionSetWriter(w), progressbar.OptionSetDescription(what),
					progressbar.OptionShowBytes(bytes), progressbar.OptionClearOnFinish(), progressbar.OptionThrottle(100_000_000))
			}
			_ = b.Set64(n) // a bar that fails is no fault of the log
		}
	}
	return app.Progress{Entries: bar("entries", false), Files: bar("attachments", true)}
}

func newLogCheckpoint(e *env) *cobra.Command {
	var out, who, why string
	var renew bool
	cmd := &cobra.Command{
		Use:     "checkpoint",
		Short:   "Sign the log's size and root, to be kept elsewhere",
		Example: `  pouchward log checkpoint --out monday.checkpoint`,
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			p, err := e.place()
			if err != nil {
				return err
			}
			if renew {
				if why == "" {
					return app.Usage("--new-key needs --why: an inspector will ask")
				}
				key, r, err := app.RenewKey(p, who, why)
				if err != nil {
					return err
				}
				fmt.Fprintf(cmd.ErrOrStderr(), "New key, named by entry %d. Keep its public half elsewhere:\n%s\n", r.Number, key.Public)
			}
			cp, _, err := app.SignLog(p)
			if err != nil {
				return err
			}
			if err := writeText(cmd.OutOrStdout(), out, cp.Text); err != nil {
				return err
			}
			_, err = fmt.Fprintf(cmd.ErrOrStderr(), "For the day book: %s\n", cp.Paper())
			return err
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "write to this `file`, whole or not at all")
	cmd.Flags().BoolVar(&renew, "new-key", false, "make a new signing key first, named by an entry that the old one signs")
	cmd.Flags().StringVar(&who, "who", "", "who makes the new key (`name`)")
	cmd.Flags().StringVar(&why, "why", "", "`reason` for the new key")
	return cmd
}

// writeText writes to a file, whole or not at all, or to w without a name.
func writeText(w io.Writer, name string, text []byte) error {
	if name == "" {
		_, err := w.Write(text)
		return err
	}
	return app.WriteWhole(name, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
}

func newLogProve(e *env) *cobra.Command {
	var out, since string
	cmd := &cobra.Command{
		Use:   "prove [ENTRY]",
		Short: "Prove one entry, or that the log only grew, in a file that needs no log",
		Example: `  pouchward log prove 7 --out entry7.proof
  pouchward log prove --since monday.checkpoint --out growth.proof
  pouchward log check-proof entry7.proof`,
		Args: atMostOne("an entry number"),
		RunE: func(cmd *cobra.Command, args []string) error {
			p, err := e.place()
			if err != nil {
				return err
			}
			var buf bytes.Buffer
			switch {
			case len(args) == 1 && since == "":
				n, err := entryNumber(args[0])
				if err != nil {
					return err
				}
				if err := app.ProveEntry(p, n, &buf); err != nil {
					return err
				}
			case len(args) == 0 && since != "":
				if err := app.ProveGrowth(p, since, &buf); err != nil {
					return err
				}
			default:
				return app.Usage("give an entry number, or --since CHECKPOINT (%s --help)", cmd.CommandPath())
			}
			return writeText(cmd.OutOrStdout(), out, buf.Bytes())
		},
	}
	cmd.Flags().StringVar(&out, "out", "", "write to this `file`, whole or not at all")
	cmd.Flags().StringVar(&since, "since", "", "prove that the log only added to the one of this checkpoint `file`")
	return cmd
}

func newLogCheckProof() *cobra.Command {
	var keys []string
	cmd := &cobra.Command{
		Use:     "check-proof FILE",
		Short:   "Check a proof without the log",
		Example: `  pouchward log check-proof entry7.proof`,
		Args:    exactlyOne("a proof file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			proven, err := app.CheckProof(args[0], keys)
			if err != nil {
				return err
			}
			return printProven(cmd.OutOrStdout(), proven)
		},
	}
	cmd.Flags().StringArrayVar(&keys, "key", nil, "the log's public `key`, kept elsewhere")
	return cmd
}

func printProven(w io.Writer, proven *logbook.Proven) error {
	cp := proven.Checkpoint
	if proven.Entry != nil {
		fmt.Fprintf(w, "HOLDS     entry %d stands in the log of this checkpoint, byte for byte:\n", proven.Entry.Number)
		if err := exports.LogEntryText(w, proven.Entry); err != nil {
			return err
		}
	} else {
		fmt.Fprintf(w, "HOLDS     the log of this checkpoint only added to the one of %s\n", proven.From.Paper())
	}
	fmt.Fprintf(w, "LOG       %s, %s, signed %s\n", exports.Clean(cp.Log), cp.Paper(), exports.Clean(cp.Time))
	if !proven.KeyGiven {
		_, err := fmt.Fprintf(w, "NOTE      signed by the key that the proof itself names; compare it with the one kept elsewhere, or give it with --key:\n          %s\n", exports.Clean(proven.Key))
		return err
	}
	return nil
}
