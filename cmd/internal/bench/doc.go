// Package bench is the local web page: the same tool for gloved hands. It draws
// screens and reads forms; what a form means is the business of app, as it is for
// the command line, so both make the same entries.
//
// What holds of every page:
//
//   - It is served on loopback alone, to a browser that names this server in Host;
//     another name is answered 421. Writes are POSTs from our own pages, and no
//     page runs, loads or frames anything from elsewhere (guard.go).
//   - It is whole without script. The one script, page.js, only improves: live
//     verdict, scanner, keypad. The emergency card is part of every page and needs
//     neither script nor server.
//   - What was typed is kept in a draft beside the log, never in the log, until it
//     is recorded or thrown away by a person (drafts.go). A refused field keeps the
//     others. A form that is sent twice is recorded once.
//   - A scan is never a decision: it fills a field.
//
// To add a screen: write templates/NAME.html, which defines "main"; write NAME.go
// with its handlers, which end in
//
//	s.show(w, r, page{Title: "Stock", Screen: "/stock", File: "stock.html", Data: data})
//
// and a function that registers them, and add it to screens (frame.go), which
// makes the link in the top bar. A handler that reads takes s.desk.Shop and
// s.desk.Log; one that writes is registered as "POST /...", takes s.recording(r),
// and ends in http.Redirect with 303, so that a reload writes nothing. An error of
// app goes to s.fail, which shows it in the frame. In a template {{clean .}} prints
// what came from outside (exports.Clean), {{tag .}} a tag as it is said. An entry
// that must name a person includes {{template "who" .}} in its form and reads it by
// s.who(r). A form without a draft bears {{template "number" .Form}} of newForm, which
// also makes Enter press no button, and is recorded through s.once. Styles are classes of static/style.css: a strict policy forbids style
// attributes and scripts in a page.
package bench
