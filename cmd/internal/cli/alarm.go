package cli

import (
	"bytes"
	"fmt"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

// byShippedRules stands under a card that no house rule and no given date had a part in.
const byShippedRules = "Judged by the shipped rules of today alone, because of the error told with it:\nno house rule, no recall list and nothing on record is in it."

// alarm prints the card of a cell that reacts when a command is about to fail for
// another reason: a house file with a typing error must not hide it. A milder class is
// not told, as the rules of the house might have made it a worse one. All that goes
// wrong here leaves the error of the command as it is.
func (e *env) alarm(cmd *cobra.Command, asJSON bool) {
	given := givenFlags(cmd)
	if len(given) == 0 {
		return
	}
	shop, err := app.OpenShop("", "", e.now())
	if err != nil {
		return
	}
	a := app.Assess(shop, given)
	if a.Verdict.Handling != triage.Emergency {
		return
	}
	w := cmd.OutOrStdout()
	if asJSON {
		var buf bytes.Buffer
		if exports.EncodeJSON(&buf, a.Verdict.Document(shop.Rulebook, a.Refused), "  ") == nil {
			_, _ = w.Write(buf.Bytes())
		}
		fmt.Fprintln(cmd.ErrOrStderr(), byShippedRules)
		return
	}
	_, colour := terminal(w)
	if exports.Card(w, shop.Rulebook, &a.Verdict, a.Refused, exports.CardOptions{Colour: colour}) == nil {
		fmt.Fprintln(w, byShippedRules)
	}
}

// readOn reads the flags past one that is not known: what stands after it may be the
// reading of a cell that reacts. A value that is read a second time is the same.
func (e *env) readOn(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.ParseErrorsAllowlist.UnknownFlags = true
	_ = flags.Parse(e.args) // the first error is told
}
