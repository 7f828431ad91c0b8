package cli

import (
	"fmt"
	"io"
	"runtime"
	"runtime/debug"

	"pouchward/cmd/internal/app"
	"pouchward/triage"
)

// printVersion says what this program is: an inspector may have to ask, years later,
// which program and which rules printed a page.
func printVersion(w io.Writer, e *env) (err error) {
	on := triage.DateOf(e.now())
	if e.on != "" {
		if on, err = triage.ParseDate(e.on); err != nil {
			return app.Usage("--on %q: %v", e.on, err)
		}
	}
	digest, err := triage.DigestOn(on)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "pouchward version %s\nbuilt by %s for %s/%s\nrulebook %.12s as of %s, without a house file\n", version(),
		runtime.Version(), runtime.GOOS, runtime.GOARCH, digest, on)
	return err
}

// version is the module's version and the commit, as far as the build knows them.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "development build"
	}
	text, commit, changed := "development build", "", ""
	if v := info.Main.Version; v != "" && v != "(devel)" {
		text = v
	}
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			commit = s.Value
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = ", changed since"
		}
	}
	if commit != "" {
		text += " (commit " + commit + changed + ")"
	}
	return text
}
