// Package demo makes an invented bird room, so that the program can be looked at, taught and tested without a
// real one.
//
// # What it answers
//
// What does a room look like in the middle of its third season: 48 breeding cages, six species, nests in every
// state, and the untidiness that real rooms have?
//
// # Shapes
//
// Room returns the entries that a keeper and a helper would have written, in the order of happening. They pass
// the room's door one after another, each on its own day, and none is set aside. The last ones are of the day
// before today, so that today's round lies untouched.
//
// # Units
//
// Inside the package a day is a number of days after today: yesterday is -1. A time of day is in minutes after
// midnight.
//
// # Model
//
// The seed and the day decide everything; the same two give the same bytes. Ages, clutch sizes and days of
// sitting come from the species' profiles. What becomes of an egg or chick is drawn at rates that a room of
// these species may have; they are invented, as are all birds, rings, people and places. The season of the room
// is moved so that today always lies in the middle of it. The nests on the wall today follow a fixed plan (see
// scenes), with other pairs and histories for each seed.
//
// Heredity is simple and true: fawn in the zebra finch, black head in the Gouldian (both on Z), white breast in
// the Gouldian (on a body chromosome) pass from parents to young by chance.
package demo
