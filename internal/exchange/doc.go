// Package exchange takes all facts out of the room as plain tables, and its dates as a calendar, and brings such tables
// and a keeper's own birds table in.
//
// # What it answers
//
// How does a keeper get everything out of the program, to keep, to count in a spreadsheet, or to leave? How
// does a list of birds that lies in a spreadsheet get in, without typing, and without a slip getting in too?
//
// # Shapes
//
// Export writes one file a kind of entry, named after the kind, and columns.csv, which says what every column
// means. A file is CSV after RFC 4180: UTF-8 without a mark in front, rows ended by CRLF, one header row. The
// columns are those of every entry (id, kind, day, time, written, by, batch, strikes, why, version), then
// those of its facts by the json names of the body in aviary, an embedded ring flattened, in the struct's
// order; the meanings are the doc tags. A new kind, or a new field, becomes a file or a column without code here.
// The kind stands in every row so that a renamed file is known by its header alone.
//
// Rows stand in the order of happening: day, time (none first), written, id. The same entries give the same bytes.
//
// A cell is the shortest text that reads back as the same value: a day 2026-01-13, a time 06:48, an instant
// 2026-01-13T06:48:00.000Z, an id as a UUID, a yes as true. What is absent is empty. Items of a list are parted
// by semicolons, and one inside an item follows a backslash. A text that may be absent and is there but empty is
// two quotation marks. Cells are facts and are not altered: a note that begins with = is written as it is, and a
// spreadsheet that opens the file may take it for a formula. Open files from strangers as text.
//
// Import works out a Plan and changes nothing. Broodlight's own files, known by their header, give the entries
// that were exported, with their ids, authors, instants and strikes, and nothing besides; ids that are in the
// books already are passed over. They were accepted once, so they are held against the form alone; one that
// clashes in this room is set aside by it and loses nothing. Entries come in the order in which they were written.
//
// Any other table is a birds table: columns by their header words in any order, parted by commas, semicolons or
// tabs, from a file or pasted from a spreadsheet. It becomes one batch: an import entry whose id is the batch,
// the cages that are not there yet, and the birds, parents before their young. A parent that is neither in the
// table nor in the books becomes a bird of its own, sexed by its role. A bird with a day of hatch is in the books
// from that day, and in its cage from the day of the import. Whole or not at all: when anything is wrong the plan
// has no entries, and each row says what is wrong in which column.
//
// The order of day and month is taken from the column when any of its days shows it, else from Options.DayFirst,
// else asked for. It is never guessed.
//
// WriteCalendar writes dates as an iCalendar file after RFC 5545: lines of 75 octets at most that end with CRLF, a UID
// that stays with the thing whatever its day, whole days as dates, times of day as UTC instants.
//
// # Errors
//
// What is wrong with a table is in the plan, as sentences for the keeper; an error of Import is that of reading a
// file. A table larger than MaxBytes is refused before it is taken apart. The package panics when a body in
// aviary has a field that no cell can hold, and when Import is called for a birds table without Options.NewID or
// Options.FindSpecies.
//
// # Sources
//
// Shafranovich 2005, RFC 4180: the form of the files. Desruisseaux 2009, RFC 5545, and Daboo 2016, RFC 7986: the form of
// a calendar. Davis, Peabody and Leach 2024, RFC 9562: ids.
package exchange
