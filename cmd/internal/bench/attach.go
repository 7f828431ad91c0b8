package bench

import (
	"errors"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"pouchward/cmd/internal/app"
	"pouchward/logbook"
)

// A photoView is the form for a photo, and where it leads back to.
type photoView struct {
	Sheet     *sheet
	Tag, Back string
}

// attach keeps a photo beside the log. What the file is, its bytes say, not the
// browser; how large it may be is the log's limit.
func (s *Server) attach(w http.ResponseWriter, r *http.Request) {
	const most = logbook.MaxFileBytes + maxForm
	r.Body = http.MaxBytesReader(w, r.Body, most)
	back, err := s.attachFrom(r)
	s.rememberWho(w, r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	http.Redirect(w, r, backTo(back), http.StatusSeeOther)
}

// attachFrom reads the form part by part, so that nothing is held in memory, and
// the file only after what it belongs to.
func (s *Server) attachFrom(r *http.Request) (back string, err error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return "", formError(err)
	}
	dir, err := os.MkdirTemp("", "pouchward-attach-*")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(dir)
	x, number := app.Attach{}, "" // photo or paper, as its content says
	left := int64(maxForm)        // for the words
	r.PostForm = url.Values{}     // the words of the form, for what else reads it
	defer func() {
		if err != nil && number != "" {
			s.keepPosted(r)
		}
	}()
	for {
		p, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return "", formError(err)
		}
		if p.FormName() == "file" {
			if x.File, err = saved(dir, p); err != nil {
				return "", err
			}
			continue
		}
		text, err := io.ReadAll(io.LimitReader(p, left+1))
		if err != nil {
			return "", formError(err)
		}
		if left -= int64(len(text) + len(p.FormName())); left < 0 {
			number = "" // no draft is as long
			return "", tooLarge(maxForm)
		}
		r.PostForm.Set(p.FormName(), string(text))
		switch p.FormName() {
		case "form":
			number = string(text)
		case "to":
			x.To = string(text)
		case "note":
			x.Note = cut(string(text), 400)
		case "back":
			back = string(text)
		}
	}
	if v := r.PostForm; v.Has("do") && v.Get("do") == "" {
		return "", errOnly
	}
	if x.File == "" {
		return "", app.Usage("choose a photo first; nothing was recorded")
	}
	if err := isPhoto(x.File); err != nil {
		return "", err
	}
	if err := s.needWho(r); err != nil {
		return "", err
	}
	_, err = s.onceAs(r, number, func() (int64, error) {
		a, err := s.recording(r).Attach(s.act(r), x)
		if err != nil {
			return 0, err
		}
		return a.Receipt.Number, nil
	})
	return back, err
}

// isPhoto refuses what is no photo and no PDF by its bytes. The log keeps texts too,
// but nobody means to send one from here.
func isPhoto(name string) error {
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	kind, err := logbook.MediaType(f)
	if err == nil && (kind == "" || kind == "text/plain") {
		err = &statusError{http.StatusUnsupportedMediaType, "By its content it is no photo and no PDF, whatever its name says; nothing was recorded. Texts are kept by pouchward attach."}
	}
	return err
}

// saved writes an uploaded file into a folder, under its own name without any
// folder that the browser wrote into it.
func saved(dir string, p *multipart.Part) (string, error) {
	if p.FileName() == "" {
		return "", nil // no file was chosen
	}
	name := fileName(p.FileName())
	f, err := os.OpenFile(filepath.Join(dir, name), os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return "", err
	}
	_, err = io.Copy(f, p)
	if err := errors.Join(err, f.Close()); err != nil {
		return "", formError(err)
	}
	return f.Name(), nil
}

// fileName is the name under which an uploaded file can stand in a folder of any system.
func fileName(given string) string {
	name := filepath.Base(strings.ReplaceAll(given, "\\", "/"))
	// Windows drops dots and spaces at the end, so that two names are one.
	name = strings.TrimRight(cut(strings.Map(plainName, name), 120), ". ")
	if strings.Trim(name, ".") == "" {
		return "photo"
	}
	if base, _, _ := strings.Cut(name, "."); device.MatchString(strings.TrimRight(base, " ")) {
		name = "_" + name
	}
	return name
}

// device is a name that Windows has for a device, with any ending
// (learn.microsoft.com, Naming Files, Paths, and Namespaces).
var device = regexp.MustCompile(`(?i)^(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9¹²³])$`)

// plainName leaves out of a file's name what some system takes for more than a
// letter.
func plainName(r rune) rune {
	if r < 0x20 || strings.ContainsRune(`/\:*?"<>|`, r) {
		return '_'
	}
	return r
}
