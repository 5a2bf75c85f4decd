// Package nest turns a few looks into a nest into the days of its clutch: first egg,
// clutch complete, sitting, candling, hatch, ringing, fledging, weaning. Each is a range
// of days with a likely one. This is the first form; a later one may replace the ranges
// by a posterior, behind the same door, [Timeline].
//
// # Shapes
//
// A [Profile] is the species, a [Look] one look, a [Course] the answer: ten events
// indexed by [Kind], the stage, the counts, what the counts leave open, and when to look
// next. Looks come in any order and are not changed.
//
// # Units
//
// A [Day] is a civil day as a running number. Differences alone matter, so moving every
// day by the same number moves every answer by it. Day 0 of a chick is the day it
// hatches; day 0 of sitting is the day steady sitting starts. Counts are as found at the
// look, before anything is taken out or put in.
//
// # Model
//
// A hen lays one egg on a morning, early, so an egg seen on a day was laid on that day
// or before. A clutch misses two mornings at most. Incubation runs from the day steady
// sitting starts, which is the day of the egg that the profile names or of the last egg
// if the clutch is smaller, to the hatch of the first egg. Eggs laid after that hatch
// later by a part of the days between ([HatchSpread]). Ages run from the first hatch.
// A chick may hatch at any hour, so a look without chicks leaves the rest of its day open.
//
// The events are the nodes of a net of differences: the profile says how many days lie
// between two events, and a look puts a bound on one of them. The range of an event is
// the tightest that all these allow together. So a look that fits can only narrow the
// ranges. When looks and profile do not fit, the profile's ranges are widened by up to
// three days; what still does not fit is left aside, least sure first. Either is said in
// Course.Notes.
//
// The likely days follow the typical values of the profile from the event known best.
// The chance of each day is a triangle over the range ([Event.Chances]).
//
// Left out on purpose: the pair's own habits, the room's warmth, how sure each profile
// value is, and chances that looks miss something.
//
// # Errors
//
// None. Looks come from people: a count below 0 is taken as not counted, a day or count
// beyond all sense is cut back, looks that contradict each other are noted. An unknown
// range in the profile gives unknown events.
//
// # Sources
//
//   - Dechter, Meiri and Pearl (1991), Temporal constraint networks, Artificial
//     Intelligence 49, 61-95: the net.
//   - Ikebuchi et al. (2017), Zoological Science 34, 369-376; Mainwaring et al. (2010),
//     Biological Journal of the Linnean Society 100, 763-773: the hatch spread.
//   - Lockwood and Massey, Bird Scene 2017-2018: when to call eggs overdue or clear.
//   - Common practice, no source: one egg a day each early morning, the missed mornings,
//     candling at 6 to 8 days of sitting.
package nest
