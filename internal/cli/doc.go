// Package cli is the command line: it wires the room, its edges and the engines together, and nothing imports it
// but the program itself.
//
// # What it answers
//
// Main runs one command and returns the exit code: 0 when all went well, 1 when something failed, 2 when what was
// typed, or a file that was named, is wrong, 3 when records in a file cannot all be true. What is wrong is said in a plain sentence on the error output, without
// a page of usage.
//
// # Shapes
//
// One file a command, named after it. Commands that hold a room's folder for writing (serve, demo, room import,
// people passphrase, restore) stop each other; journal verify, backup and room export run beside them.
//
// The engine commands read a CSV file with a header row, named by --in, or standard input for "-", and write a CSV
// table with a header row, or JSON with --json. What is wrong in a file is named with its line and column.
package cli
