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
//     is recorded or thrown away by a person (drafts.go, typed.go). A refused field
//     keeps the others. A form that is sent twice is recorded once.
//   - A scan is never a decision: it fills a field.
//   - An entry names a person: the first one asks for initials where the browser
//     remembers none. Going up waits for nothing, not for a name either.
//   - It speaks of what stands on the page, not of flags (words.go); a command is
//     shown as one.
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
// what came from outside (exports.Clean), {{tag .}} a tag as it is said, {{say .}} a
// text of app in the words of the page, {{code .}} one that words(err) said. A form
// that is no assessment is a sheet (typed.go): {{template "offer" .}} shows the drafts
// of it, {{template "number" .}} bears its number, asks for initials where it must, and
// makes Enter press no button; {{.Was "note"}} is what was typed. It is recorded through
// s.once, is refused by s.onlyFilled where enterOnly says that no button was pressed, and
// its path stands in keeps; a page of what stands in the log is named in aging. A
// field of numbers has inputmode="decimal" and gets the keypad; {{template "padkey"
// "grams"}} is the button for it. A row of buttons with data-rove is one stop of the Tab
// key. Styles are classes of static/style.css: a strict policy forbids style attributes
// and scripts in a page.
package bench
