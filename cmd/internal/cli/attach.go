package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

func newAttach(e *env) *cobra.Command {
	var f actFlags
	var x app.Attach
	cmd := &cobra.Command{
		Use:   "attach TAG|ENTRY FILE",
		Short: "Keep a photo, a certificate or a paper beside the log",
		Long: `Keep a file beside the log, in the folder LOG.files, and write an entry that
holds its SHA-256: log verify then finds a file that is missing or was changed.

What it is, is told by its content:
` + logbook.MediaWords() + `.
At most 50 MB. A paper on a scanner makes a good PDF or JPEG.

The file is kept byte for byte as it is, with the place and the time that a camera
writes into a photo; its name, without folders, goes into the log. Nothing that
was attached is taken out again.

A word of digits is the number of an entry; where it is a tag on record as well,
write 0 before the number, or a dash into the tag.`,
		Example: `  pouchward attach F2XE9R front.jpg --who MK
  pouchward attach 12 receipt.pdf --what certificate`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 2 {
				return app.Usage("attach takes a tag or an entry number, and one file (pouchward attach --help)")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			x.To, x.File = args[0], args[1]
			return f.run(e, func(r *app.Recording, _ *app.Shop, act app.Act) error {
				a, err := r.Attach(act, x)
				if err != nil {
					return err
				}
				if err := showAttached(cmd, a); err != nil {
					return err
				}
				return f.told(cmd.ErrOrStderr(), &app.Outcome{Notes: a.Notes, Receipts: []logbook.Receipt{a.Receipt}})
			})
		},
	}
	cmd.Flags().StringVar(&x.What, "what", "", "`what` it is: "+strings.Join(app.AttachWords, ", ")+" (default: photo for an image, else paper)")
	cmd.Flags().StringVar(&x.Note, "note", "", "free `words`")
	f.add(cmd)
	return cmd
}

func showAttached(cmd *cobra.Command, a *app.Attached) error {
	to := fmt.Sprintf("entry %d", a.OfEntry)
	if a.OfEntry == 0 {
		to = triage.SpacedTag(a.Tags[0])
	}
	_, err := fmt.Fprintf(cmd.OutOrStdout(), "%s %s (%s, %d bytes) to %s\nkept as %s\n", a.What, exports.Clean(a.Name), a.MediaType, a.Size, to, exports.Clean(a.Path))
	return err
}
