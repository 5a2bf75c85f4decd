// Package journal keeps a room's entries in one SQLite file, room.db, and is the one door for reading
// and writing them while the program runs.
//
// # What it answers
//
// Which entries are there, and is the file sound? A Journal appends entries and reads them back. A Book
// is a Journal with the room that its entries add up to, behind one lock. Verify examines a file, Backup
// copies it while it is served, Restore puts a copy back.
//
// # What it promises
//
// An entry that was acknowledged (Append or Book.Write returned nil) is on the disk: each commit is
// synced before it is acknowledged, and every connection is held to that when it is opened. Entries are
// only ever added: triggers refuse a change or an erasure, and stored bytes are never rewritten. The same
// id with the same content is taken once; with other content it is refused. A set of entries is written
// whole or not at all.
//
// # One writer
//
// Open takes a lock on the folder that the operating system holds and lets go of when the program ends
// in any way. OpenReadOnly takes none, so that verify, export and backup work while the room is served.
//
// # Units
//
// Instants are UTC, kept to the millisecond. Days and times of day are kept as text, 2026-01-13 and 06:48.
//
// # Errors
//
// A refusal of what a person wrote is an *aviary.Error. A fault of the folder, file or disk is a *Fault,
// whose text says what is wrong, where, and how to mend it; errors.Is tells them apart by ErrLocked and
// its fellows.
//
// # Private data
//
// People, passphrase hashes, sessions, settings and the address book live in tables of their own. They
// are no entries, can be erased, and are never exported. A backup holds them all but the sessions.
package journal
