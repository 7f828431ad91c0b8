package cli

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/cmd/internal/bench"
	"pouchward/exports"
	"pouchward/triage"
)

const benchLong = `Open the bench page: the same questions, checks and entries as on the command
line, in a browser on this machine, for gloved hands and scanners.

It listens on loopback alone and ends with Ctrl-C. What is typed and not recorded
stays in drafts beside the log. --demo opens it on an invented shop in a temporary
folder, which is removed at the end.`

func newBench(e *env) *cobra.Command {
	var addr, name string
	var demo bool
	cmd := &cobra.Command{
		Use:   "bench",
		Short: "Open the bench page in a browser on this machine",
		Long:  benchLong,
		Example: `  pouchward bench --house house.toml --bench "Bench 2"
  pouchward bench --demo`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			if addr, err = bench.Loopback(addr); err != nil {
				return err
			}
			ctx, stop := signal.NotifyContext(cmd.Context(), os.Interrupt, syscall.SIGTERM)
			defer stop()
			if demo {
				drop, err := e.intoDemo(cmd)
				if err != nil {
					return err
				}
				defer drop()
			}
			return e.serve(ctx, cmd, addr, bench.Config{Bench: orEnv(name, "POUCHWARD_BENCH"), Who: os.Getenv("POUCHWARD_WHO"), Demo: demo})
		},
	}
	cmd.Flags().StringVar(&addr, "addr", "127.0.0.1:8417", "listen on this loopback `address`; port 0 takes a free one")
	cmd.Flags().StringVar(&name, "bench", "", "`name` of the bench, for the log (default $POUCHWARD_BENCH)")
	cmd.Flags().BoolVar(&demo, "demo", false, "open on an invented shop in a temporary folder")
	return cmd
}

// serve answers until the context ends.
func (e *env) serve(ctx context.Context, cmd *cobra.Command, addr string, c bench.Config) error {
	l, err := bench.Listen(addr)
	if err != nil {
		return err
	}
	defer l.Close()
	p, err := e.place()
	if err != nil {
		return err
	}
	p.Busy, c.House = bench.Busy, e.houseFile()
	if c.Desk, err = app.OpenDesk(p, e.on, c.House); err != nil {
		return err
	}
	defer c.Desk.Close()
	s, err := bench.New(c)
	if err != nil {
		return err
	}
	fmt.Fprintf(cmd.OutOrStdout(), "The bench page is at %s\n", bench.URL(l))
	fmt.Fprintf(e.errOut, "Log: %s. It is for this machine alone. Ctrl-C ends it.\n", exports.Clean(p.Path))
	return s.Serve(ctx, l, e.errOut)
}

// intoDemo has the run work on an invented shop, which drop removes.
func (e *env) intoDemo(cmd *cobra.Command) (drop func(), err error) {
	if e.log != "" || e.house != "" {
		return nil, app.Usage("--demo brings its own log and house file; leave out --log and --house")
	}
	on := triage.DateOf(e.now())
	if e.on != "" {
		if on, err = triage.ParseDate(e.on); err != nil {
			return nil, app.Usage("--on %q: %v", e.on, err)
		}
	}
	dir, err := os.MkdirTemp("", "pouchward-demo-*")
	if err != nil {
		return nil, fmt.Errorf("making the demo: %w", err)
	}
	drop = func() { os.RemoveAll(dir) }
	fmt.Fprintln(e.errOut, "Making an invented shop with a year of life: a few seconds.")
	made, err := app.Demo(filepath.Join(dir, "shop"), on)
	if err != nil {
		drop()
		return nil, err
	}
	e.house, e.log = filepath.Join(made.Dir, "house.toml"), filepath.Join(made.Dir, "pouchward.db")
	return drop, nil
}
