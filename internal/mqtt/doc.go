// Package mqtt tells a broker how bright the lamps are to burn, circuit by circuit, for smart plugs and dimmers that
// listen to it.
//
// # What it answers
//
// What may a plug be told at this moment, so that birds are never left in sudden dark? A [Publisher] asks a function
// for the planned levels a few times a minute, keeps a connection to the broker in the background, and sends what may
// be sent.
//
// # Shapes
//
// Under the prefix that the keeper names: "status" is online or offline; "room/state" and "room/level" are the lamps of
// the whole room; "circuit/NAME/state" and "circuit/NAME/level" those of a circuit. In a name the letters / + # and %
// are written as in a web address. A state is ON or OFF, a level a whole number from 0 to 100. All of it is retained.
// States and levels are sent with a limit of ten minutes, after which the broker forgets them: what a plug hears when
// it comes back is never older.
//
// # Model: never a sudden dark
//
// The plug keeps its own timer; what is sent here is said on top of it. For each circuit:
//
//   - Nothing is said while the plan's level is not known: no plan, a plan struck out, a plan with a problem.
//   - Speaking begins when the plan has the lamps at full, never in a dusk or in the dark: nobody knows then how the
//     lamps really burn. So a start at night says nothing until the lamps are on.
//   - A level falls by no more than a fifth of full light a minute, whatever the plan does: after a broken connection a
//     dusk is caught up in steps. A lamp may be brightened at once.
//   - OFF is said when the plan's dusk has come down to nothing and the level sent has followed it there, on a
//     connection that has lasted since. When the connection came back in the dark, nothing is said until the lamps are
//     full again, unless OFF had been delivered before; then there is nothing left to say.
//   - OFF is said once, so that a lamp that somebody lit by hand at night stays lit. What burns is said each minute.
//   - A plan whose level falls faster than by a fifth a minute has no dusk that a bird can follow, or has been changed
//     under the lamps: nothing is said until they are full again.
//   - When the program slept for more than three minutes, or the clock was set, it is as after a start.
//   - At the end only "offline" is said, and the broker says it when the program dies.
//
// A connection that is lost is tried again after 1 s, 2 s, 4 s and so on up to a minute. Nothing queues up meanwhile:
// what is sent is what holds then.
//
// # Errors
//
// [Settings.Check] returns an [*aviary.Error] that names the field. [Test] returns an error whose text is a sentence for
// the keeper. A broker that is away is no error: [Publisher.State] says since when and why.
//
// # Sources
//
// OASIS (2019), MQTT Version 5.0: retained messages, will, message expiry interval (3.3.2.3.3), reason codes (3.2.2.2).
// That hens off the nest need minutes of dusk to find it: common practice, no source.
package mqtt
