package main

import (
	"database/sql"
	"errors"
	"fmt"

	"github.com/rogpeppe/go-internal/testscript"
	_ "modernc.org/sqlite" // the same driver as the log's
)

// damageLog is the command of scripts that edits an entry behind the log's back:
// damage LOG ENTRY OLD NEW.
func damageLog(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 4 {
		ts.Fatalf("damage LOG ENTRY OLD NEW")
	}
	ts.Check(editEntry(ts.MkAbs(args[0]), args[1], args[2], args[3]))
}

func editEntry(path, entry, old, now string) (err error) {
	db, err := sql.Open("sqlite", "file:"+path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	var trigger string
	if err := db.QueryRow("SELECT sql FROM sqlite_schema WHERE name = 'entries_no_update'").Scan(&trigger); err != nil {
		return err
	}
	if _, err := db.Exec("DROP TRIGGER entries_no_update"); err != nil {
		return err
	}
	done, err := db.Exec("UPDATE entries SET bytes = CAST(replace(CAST(bytes AS TEXT), ?, ?) AS BLOB) WHERE n = ? AND instr(CAST(bytes AS TEXT), ?) > 0", old, now, entry, old)
	if err != nil {
		return err
	}
	if n, _ := done.RowsAffected(); n != 1 {
		return fmt.Errorf("entry %s does not hold %q", entry, old)
	}
	_, err = db.Exec(trigger)
	return err
}
