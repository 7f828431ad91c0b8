package cli

import (
	"bytes"
	"fmt"
	"io"
	"strconv"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

const logLong = `Keep and check the shop's log: one file of entries that are added and never
edited or deleted. A checkpoint kept elsewhere (a line in a day book is enough)
shows years later that nothing before it was changed.`

func newLog(e *env) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "log",
		Short: "Keep and check the log: init, show, history, verify, checkpoint, prove",
		Long:  logLong,
		Example: `  pouchward log init --site "Back room"
  pouchward sort intake.csv --record
  pouchward log show
  pouchward log checkpoint --out monday.checkpoint
  pouchward log verify --checkpoint monday.checkpoint`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newLogInit(e), newLogShow(e), newLogHistory(e), newLogVerify(e), newLogCheckpoint(e), newLogProve(e),
		newLogCheckProof(), newLogBackup(e), newLogRebuild(e))
	return cmd
}

func newLogInit(e *env) *cobra.Command {
	var site string
	cmd := &cobra.Command{
		Use:     "init",
		Short:   "Make a log and its signing key",
		Example: `  pouchward log init --site "Back room"`,
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			p, err := e.place()
			if err != nil {
				return err
			}
			key, err := app.InitLog(p, site)
			if err != nil {
				return err
			}
			return printNewLog(cmd.OutOrStdout(), p.Path, key.Public)
		},
	}
	cmd.Flags().StringVar(&site, "site", "", "the `name` of the site (default: of the house file)")
	return cmd
}

// printNewLog says where a new log and its key are.
func printNewLog(w io.Writer, path, public string) error {
	_, err := fmt.Fprintf(w, `log   %s
key   %s (signs checkpoints; keep it from others)
public %s
Keep the public line elsewhere, where the log cannot be reached: it shows whose
checkpoints are the log's.
`, exports.Clean(path), exports.Clean(logbook.KeyFile(path)), public)
	return err
}

func newLogShow(e *env) *cobra.Command {
	var asJSON, asBytes bool
	var last int64
	cmd := &cobra.Command{
		Use:   "show [ENTRY]",
		Short: "Show the last entries, or one in full",
		Example: `  pouchward log show
  pouchward log show 7
  (printf '\0'; pouchward log show --bytes 7) | sha256sum`,
		Args: atMostOne("an entry number"),
		RunE: func(cmd *cobra.Command, args []string) error {
			p, err := e.place()
			if err != nil {
				return err
			}
			if len(args) == 0 && asBytes || last < 1 {
				return app.Usage("--bytes takes one entry number, --last at least 1")
			}
			w := cmd.OutOrStdout()
			return app.ReadLog(p, func(l *logbook.Log) error {
				hold := app.HoldAgainstTree(l)
				said := w
				if asJSON || asBytes {
					said = cmd.ErrOrStderr()
				}
				if len(args) == 1 {
					n, err := entryNumber(args[0])
					if err != nil {
						return err
					}
					entry, err := l.Entry(n)
					if err != nil {
						return err
					}
					tampered(said, hold, entry)
					if err := showEntry(w, entry, asJSON, asBytes); err != nil {
						return err
					}
					if a, path, there, ok := app.AttachedFile(p, entry); ok && !asJSON && !asBytes {
						if err := exports.Attached(w, &a, path, there); err != nil {
							return err
						}
					}
					return hold.Err()
				}
				size, err := l.Size()
				if err != nil {
					return err
				}
				err = l.Entries(max(1, size-last+1), size, func(entry *logbook.Entry) error {
					tampered(said, hold, entry)
					return showLine(w, entry, asJSON)
				})
				if err != nil {
					return err
				}
				return hold.Err()
			})
		},
	}
	cmd.Flags().Int64Var(&last, "last", 20, "show this `many` entries")
	cmd.Flags().BoolVar(&asJSON, "json", false, "one JSON object a line")
	cmd.Flags().BoolVar(&asBytes, "bytes", false, "the bytes of one entry, exactly as hashed")
	return cmd
}

// tampered says of an entry, before it is shown, that it is not as it was recorded.
func tampered(w io.Writer, hold *app.Holding, entry *logbook.Entry) {
	if text := hold.Check(entry); text != "" {
		notice(w, text)
	}
}

func entryNumber(s string) (int64, error) {
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil || n < 1 {
		return 0, app.Usage("%q is not the number of an entry", s)
	}
	return n, nil
}

// atMostOne allows one argument or none.
func atMostOne(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) > 1 {
			return app.Usage("%s takes %s, not %d words", cmd.CommandPath(), what, len(args))
		}
		return nil
	}
}

// exactlyOne wants one argument.
func exactlyOne(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) != 1 {
			return app.Usage("%s takes %s (%s --help)", cmd.CommandPath(), what, cmd.CommandPath())
		}
		return nil
	}
}

func showEntry(w io.Writer, entry *logbook.Entry, asJSON, asBytes bool) error {
	switch isTerminal, _ := terminal(w); {
	case asBytes && isTerminal: // what a terminal would obey is shown, not sent
		_, err := fmt.Fprintln(w, exports.Clean(string(entry.Bytes)))
		return err
	case asBytes:
		_, err := w.Write(entry.Bytes)
		return err
	case asJSON:
		return showLine(w, entry, true)
	}
	return exports.LogEntryText(w, entry)
}

func showLine(w io.Writer, entry *logbook.Entry, asJSON bool) error {
	if !asJSON {
		return exports.LogLine(w, entry)
	}
	var buf bytes.Buffer
	if err := exports.EncodeJSON(&buf, exports.NewLogEntryJSON(entry), ""); err != nil {
		return err
	}
	_, err := w.Write(buf.Bytes())
	return err
}

func newLogHistory(e *env) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "history TAG",
		Short: "Show every entry about a tag and what holds now; a smudged symbol is written ?",
		Example: `  pouchward log history F2XE9R
  pouchward log history F2?E9R`,
		Args: exactlyOne("one tag"),
		RunE: func(cmd *cobra.Command, args []string) error {
			p, err := e.place()
			if err != nil {
				return err
			}
			return app.ReadLog(p, func(l *logbook.Log) error {
				h, err := app.History(l, args[0])
				if err != nil {
					return err
				}
				if len(h.Entries) == 0 {
					return fmt.Errorf("no entry of %s names tag %s", p.Path, triage.SpacedTag(h.Tag))
				}
				hold, said := app.HoldAgainstTree(l), cmd.OutOrStdout()
				if asJSON {
					said = cmd.ErrOrStderr()
				}
				for _, entry := range h.Entries {
					tampered(said, hold, entry)
				}
				if !asJSON {
					if err := exports.LogHistory(cmd.OutOrStdout(), h); err != nil {
						return err
					}
					return hold.Err()
				}
				for _, entry := range h.Entries {
					if err := showLine(cmd.OutOrStdout(), entry, true); err != nil {
						return err
					}
				}
				return hold.Err()
			})
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "one JSON object a line")
	return cmd
}

func newLogBackup(e *env) *cobra.Command {
	return &cobra.Command{
		Use:   "backup FILE",
		Short: "Copy the log and its attachments as they are now, whole or not at all",
		Long: `Copy the log as it is now into a new file, and the files that were attached into
the folder of that file (FILE.files); they replace nothing. An attachment that is
missing or was changed is left out and named, and the exit code is then 4.`,
		Example: `  pouchward log backup monday.db`,
		Args:    exactlyOne("the name of a new file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			p, err := e.place()
			if err != nil {
				return err
			}
			c, left := app.BackupLog(p, args[0])
			if c == nil {
				return left
			}
			w := cmd.ErrOrStderr()
			for _, x := range c.Left {
				fmt.Fprintf(w, "LEFT OUT  entry %d: %s\n", x.Entry, exports.Clean(x.Text))
			}
			with := ""
			if c.Files > 0 {
				with = fmt.Sprintf(", %s to %s", exports.Count(int64(c.Files), "attachment"), exports.Clean(logbook.FilesDir(args[0])))
			}
			fmt.Fprintf(w, "The log is copied to %s%s. The signing key is not in it: keep a copy of %s apart.\n",
				exports.Clean(args[0]), with, exports.Clean(logbook.KeyFile(p.Path)))
			return left
		},
	}
}

func newLogRebuild(e *env) *cobra.Command {
	return &cobra.Command{
		Use:     "rebuild",
		Short:   "Derive the views again from the entries; no entry is touched",
		Example: `  pouchward log rebuild`,
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			p, err := e.place()
			if err != nil {
				return err
			}
			return app.WriteLog(p, func(l *logbook.Log) error {
				n, err := l.Rebuild()
				if err == nil {
					_, err = fmt.Fprintf(cmd.ErrOrStderr(), "The views are derived again from %s.\n", exports.Count(n, "entry"))
				}
				return err
			})
		},
	}
}
