package logbook

import (
	"crypto/sha256"
	"database/sql"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"strconv"
)

//go:embed schema/*.sql
var schemaFiles embed.FS

// scripts are the migrations in order; the schema's number is how many ran.
var scripts = mustScripts()

func mustScripts() []string {
	names, err := fs.Glob(schemaFiles, "schema/*.sql")
	if err != nil || len(names) == 0 {
		panic("logbook: no schema is embedded")
	}
	list := make([]string, len(names)) // Glob sorts by name: 001.sql first
	for i, name := range names {
		b, err := schemaFiles.ReadFile(name)
		if err != nil {
			panic(err)
		}
		list[i] = string(b)
	}
	return list
}

func digest(script string) string {
	sum := sha256.Sum256([]byte(script))
	return hex.EncodeToString(sum[:])
}

// migrate runs the scripts that the file has not seen, forward only, all in one
// transaction, and refuses a file whose scripts were others.
func migrate(db *sql.DB, from int) error {
	if from < len(scripts) {
		tx, err := db.Begin()
		if err != nil {
			return err
		}
		defer tx.Rollback()
		// Another process may have been faster.
		if err := tx.QueryRow("PRAGMA user_version").Scan(&from); err != nil {
			return err
		}
		for v := from + 1; v <= len(scripts); v++ {
			if _, err := tx.Exec(scripts[v-1]); err != nil {
				return fmt.Errorf("running schema script %d: %w", v, err)
			}
			if _, err := tx.Exec("INSERT INTO migrations (version, digest) VALUES (?, ?)", v, digest(scripts[v-1])); err != nil {
				return err
			}
		}
		if _, err := tx.Exec("PRAGMA user_version = " + strconv.Itoa(max(from, len(scripts)))); err != nil {
			return err
		}
		// New views are filled from what stands there.
		if _, err := rebuild(tx); err != nil {
			return fmt.Errorf("deriving the views of schema %d: %w", len(scripts), err)
		}
		if err := tx.Commit(); err != nil {
			return err
		}
	}
	return checkScripts(db, len(scripts))
}

// checkScripts compares the scripts that made a file with ours.
func checkScripts(q queryer, version int) error {
	for v := 1; v <= version; v++ {
		var got string
		err := q.QueryRow("SELECT digest FROM migrations WHERE version = ?", v).Scan(&got)
		if errors.Is(err, sql.ErrNoRows) {
			return fmt.Errorf("the file no longer says that schema script %d made it: somebody changed its list of migrations by other means; keep it as it is, and restore a backup beside it", v)
		}
		if err != nil {
			return fmt.Errorf("reading which schema scripts made the file: %w", err)
		}
		if want := digest(scripts[v-1]); got != want {
			return fmt.Errorf("schema script %d of the file has digest %.12s, this program's %.12s: it was made by another build", v, got, want)
		}
	}
	return nil
}
