// Package logbook keeps the log of a shop: an append-only file of entries that
// a stranger can check years later.
//
// # What it shows, and what it cannot show
//
// With a checkpoint kept elsewhere (on paper, in a mail, at an insurer's) the
// log shows that the entries up to the checkpoint's size are, byte for byte and
// in that order, those that stood there when it was made. An entry edited,
// deleted, inserted, moved or replaced below it is found. An inclusion proof
// shows the same of one entry without the rest of the log, and a consistency
// proof shows that a later checkpoint only added to an earlier one.
//
// It cannot show that what was typed is true, nor that everything was typed. It
// cannot show who sat at the keyboard: "who" is a name given, not proven. It
// cannot show when an entry was made beyond its order and the clock of the
// machine; a checkpoint handed to a stranger fixes a latest time. Without a
// checkpoint from elsewhere it finds damage and clumsy edits only: whoever can
// write the file can cut its tail, or write it anew as a whole with all hashes,
// and the result holds in itself. Whoever has the key file besides can sign
// such a rewriting, and even then a checkpoint kept elsewhere contradicts it:
// the strength lies in the copies, not in the key.
//
// # An entry
//
// An entry is one line of JSON, in UTF-8, without a line break at its end and
// without white space outside strings. Its members are all present, in this
// order, blank strings where there is nothing to say:
//
//	v         1, the version of this format
//	n         number of the entry, from 1 without a gap
//	kind      one of Kinds
//	site      the shop's site
//	bench     the bench, blank when not said
//	who       the person's name as given, blank when not said
//	happened  when it happened, RFC 3339, UTC, with milliseconds:
//	          2026-11-25T14:03:00.000Z
//	entered   when it was written, the same form
//	zone      the shop's offset from UTC when it was written, and the zone's
//	          name when that is known: "-06:00 America/Chicago"
//	clock     blank; or, when the machine's clock stood before the time of an
//	          entry already there, by how much: "-3600.000 s". The order of
//	          entries is their number, always.
//	tags      list of tags that the entry is about
//	rulebook  digest of the rulebook, where the body holds a verdict
//	body      an object, by kind
//
// Strings escape only what JSON must have escaped (the quotation mark, the
// backslash, control characters, as \" \\ \b \f \n \r \t or \u00XX in small hex
// digits) and hold no invalid UTF-8. No object of a body names a member twice.
// Numbers of a body stand as they were written and are never recomputed; the
// bytes are stored as a BLOB, so that no database type touches them.
//
// # What holds after an entry
//
// An entry that changes what holds of a tag says the whole of it in the last
// member of its body, "now": an object with a member for each such tag, which the
// entry must name. The last state said of a tag is the one that holds; nothing is
// judged again to know it. The members of a state, of which those with nothing to
// say are left out:
//
//	is                here (in the shop), out (left it) or alias (another tag of
//	                  the cell whose tag stands under in)
//	handling, condition, size, waste   the answers, in words
//	count             cells of a lot; without it a single cell, or a container
//	uwh, mg, ml       rating in microwatt-hours, mass on a scale in milligrams,
//	                  volume of a container in millilitres
//	start, start_by   local date on which accumulation began, and what it is:
//	                  waste_on, pulled_on, recorded (the day of the first entry)
//	                  or stated (written on a container)
//	since, looked     since when it has had this handling class or a worse one,
//	                  and the last look; times as above
//	look_in_min       minutes after looked in which to look again
//	place, in, what   where it stands, the container that holds it, what a
//	                  container is
//	made_safe         true when terminals, bag and, where owed, fill are recorded
//	lapses            last day on which a determination holds that made the answers
//	                  better, with lapsed_handling and lapsed_condition, the answers
//	                  without it
//
// An assessment without "now", of a log of schema 1, says its own answers; since
// and looked are then when it happened, start the local date of that.
//
// An inspection, an incident, a shipment or a record may say what it is "about"
// (a place, a person and topic, a question): of one kind, or of one subject of
// records, the last entry about a thing is the one that counts.
//
// A format of a later version begins {"v":2, and is refused by this program.
//
// # Hashes
//
// The tree is that of RFC 6962, section 2.1, as golang.org/x/mod/sumdb/tlog
// computes it, with SHA-256. The leaf of an entry is SHA-256(0x00 || bytes), a
// node SHA-256(0x01 || left || right). With common tools:
//
//	(printf '\0'; pouchward log show --bytes 7) | sha256sum
//
// or, without this program,
//
//	(printf '\0'; sqlite3 pouchward.db 'SELECT CAST(bytes AS TEXT) FROM entries WHERE n=7' |
//	    tr -d '\n') | sha256sum
//
// prints the leaf of entry 7, which is the first half of what
//
//	sqlite3 pouchward.db 'SELECT lower(hex(substr(hashes,1,32))) FROM entries WHERE n=7'
//
// prints. The column hashes holds the leaf and after it the node of each subtree
// that the entry completes: entry n has one hash more than n has trailing zero
// bits.
//
// # Checkpoints
//
// A checkpoint is a signed note (golang.org/x/mod/sumdb/note, Ed25519):
//
//	pouchward-log/3f9a0c11d2e4b587
//	60
//	nND/nri/U0xuHUrYSy0HtMeal2vzD9V4k/BO79C+QeI=
//	2026-11-25T14:03:00.000Z
//
//	— pouchward-log/3f9a0c11d2e4b587 Az3grlgtzPICa5OS8npVmf1Myq/5IZniMp+ZJurmRDeOoRDe4URYN7u5/Zhcyv2q1gGzGku9nTo+zyWE+xeMcTOAYQ8=
//
// name of the log, size, root in base64, time; then the signature. The paper line
// is the size and the first 20 hex digits of the root, short enough to write
// into a day book: "60 9cd0ff9eb8bf534c6e1d". Twenty digits are 80 bits: nobody
// finds other entries that fit a line already written down.
//
// # The key
//
// The key that signs lies beside the log, LOG.key, readable by its owner only
// (mode 0600; on Windows by the folder's rights). Entry 1 names its public half,
// and log init prints it. Losing it loses nothing that was written: entries,
// tree, old checkpoints and paper lines stay as good as they were; only new
// checkpoints cannot be signed with it. A new key is made by an entry (kind
// record, subject log-key, no tags) that names its public half and holds a
// checkpoint of the log before that entry signed by the old key; where the old
// key is lost the entry says so in its place, and a reader should ask why. A log
// does not vouch for its own key: compare the public half with one kept elsewhere.
//
// Only the key that the log names last signs: a LOG.key that holds another, an
// older one too, is refused, for checkpoints, proofs and renewals. A renewal
// makes LOG.key.new, writes the entry, keeps the old file as LOG.key.old-N (N the
// entry) and renames LOG.key.new; cut off after the entry, it is finished when
// the key is next needed. A LOG.key.new that the log does not name last is never
// used, never deleted and never replaced: renewals are refused until somebody
// moves it away, as it may be the key of a later state of this log.
//
// A verifier that is given a public half kept elsewhere finds a problem when the
// log names it nowhere. When the log does name it, that is a note: a public half
// can be copied into a log written anew, a signature cannot.
//
// # Tags
//
// An entry whose body says "issued":true has taken its tags from the log, which
// issues none of them again. An assessment issues one; a printed block is
// reserved by one entry (kind record, subject tag-block, issued true, count the
// number of tags) that names all of its tags. A tag that nothing but a block has
// named is on no cell yet: the first assessment that names it claims it.
//
// # Attachments
//
// A file (a photo, a certificate, a paper) is kept beside the log in the folder
// LOG.files, byte for byte as it was given, under the name SHA256.ENDING: the
// SHA-256 of its bytes in small hex digits and the ending of its type, jpg, png,
// webp, heic, pdf or txt. Its entry, a record with the subject "attachment",
// holds sha256, size in bytes, media_type, the name as given, what it is (photo,
// certificate, paper) and, where it belongs to another entry, of_entry. The copy
// is synced and has its name before the entry is written, so that no entry ever
// names a file that was not there; a crash between leaves a file that no entry
// names, which does no harm and is noted by the verifier. The type is told by the
// content and never by the name, a file is never replaced, and two entries may
// name the same one. With common tools:
//
//	cd pouchward.db.files && for f in *; do echo "${f%%.*}  $f"; done | sha256sum -c
//
// A checkpoint covers the attachments too: it covers the entries, which hold
// their sums.
//
// # The file
//
// One SQLite file in WAL mode (application_id "pwlg", user_version the schema),
// scripts in schema/*.sql, run forward only, each recorded with its digest. Only
// the table entries is the log; tag_entries, tags, issued, here (the states of what
// is in the shop), latest (the last entry about each thing) and part_entries (the
// assessments by part number) are views that Rebuild derives again. Several processes may write: each write is one
// immediate transaction, synchronous=FULL, and an entry counts as written when
// Write has returned nil and not before. While the file is open it consists of
// three (LOG, LOG-wal, LOG-shm): copy it with Backup, never by hand. Backup
// copies the attachments too.
package logbook
