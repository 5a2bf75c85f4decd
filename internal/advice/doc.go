// Package advice is where a room meets the engines: one file for each question that a keeper asks. What
// does this nest hold? What is due today? How does the wall look? What must be sorted out?
//
// A Desk is a room on a day at a time of day, with the species' values that hold in it. Its methods read the
// room, map it to the engines' plain structs, and return answers that carry their reasons: counts, ranges,
// and what they rest on. Nothing is stored and nothing changes: the same room, day and time give the same answer.
package advice
