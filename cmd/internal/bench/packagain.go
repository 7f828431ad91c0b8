package bench

import (
	"bytes"
	"net/http"
	"strings"
)

// reopenPack opens a closed package again, on the record.
func (s *Server) reopenPack(w http.ResponseWriter, r *http.Request) {
	v, x, ok := posted(s, w, r, s.packageAt)
	if !ok {
		return
	}
	entry, err := int64(0), error(nil)
	if v.Get("do") == "reopen" {
		entry, err = s.once(r, func() (int64, error) { return s.reopen(r, x.Pack.Tag, strings.TrimSpace(v.Get("reason"))) })
	} else {
		err = s.onlyFilled(r)
	}
	if err != nil {
		s.showPackage(w, r, func(x *packView) int { x.Faults = []string{words(err)}; return statusOf(err) })
		return
	}
	http.Redirect(w, r, packPath(x.Pack.Tag, entry), http.StatusSeeOther)
}

func (s *Server) reopen(r *http.Request, tag, reason string) (int64, error) {
	shop, err := s.desk.Shop()
	if err != nil {
		return 0, err
	}
	if err := s.needWho(r); err != nil {
		return 0, err
	}
	c, err := s.recording(r).ReopenPackage(shop, s.act(r), tag, reason)
	if err != nil {
		return 0, err
	}
	o := c.Outcome
	o.Notes = append([]string{"It is open again. What it weighed and who checked it counts no more: close it anew."}, o.Notes...)
	return s.tell(&o, asCommand(s.who(r), "ship", "reopen", tag, "--reason", reason)), nil
}

// getPapers sends the papers of a shipment, as PDF alone.
func (s *Server) getPapers(w http.ResponseWriter, r *http.Request) {
	var b bytes.Buffer
	tag, err := s.desk.WritePapers(&b, r.PathValue("tag"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Disposition", `inline; filename="papers-`+tag+`.pdf"`)
	send(w, 0, "application/pdf", b.Bytes())
}
