// Package nest turns a few looks into a nest into the days of its clutch: first egg,
// clutch complete, sitting, candling, hatch, ringing, fledging, weaning.
//
// It does so in two forms. [Timeline] gives each event as a range of days with a likely one.
// [Model.Posterior] gives the chance of every day, and of the clutch, of how many eggs are
// full and hatch, and of the nest being left; [Model.Learn] moves the model by a room's own
// finished clutches; [Model.Values] says what looking on each coming day is worth, and
// [PlanLooks] plans the fewest looks for a whole wall; [FosterRoom] says which eggs and
// chicks should go to whom; [FreshMass] and [WaterLoss] read the scale. The sections below
// are of both forms where they do not name one.
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
// Left out of the ranges on purpose: the pair's own habits, the room's warmth, how sure each
// profile value is, and chances that looks miss something.
//
// # Model of the posterior
//
// A clutch goes day by day. The first egg comes some days after the round begins ([Rates].
// Delay), or on any day before a nest is found. An egg a day follows, with mornings missed.
// Steady sitting starts with egg k or with the last of a smaller clutch, and the first egg is
// due to hatch whole days of incubation later; another that hatches does so 0 to 6 days after
// it ([HatchSpread] gives the shape). Each egg is clear, or full and dies, or will hatch; the
// shares differ from clutch to clutch, as beta-binomial counts. From the last egg on, eggs are
// lost one by one and the whole nest may be left; then its eggs lie dead or are gone, and its
// chicks die. Chicks die by age of the brood. The first young leaves the nest at its age and
// the others follow at any time. A look sees eggs and chicks as they are, in parts: numbers
// not told are open, "at least" bounds them, the lamp tells full, clear and dead by the day of
// sitting, the keeper's guess of age has its own doubt, and of young out of the nest some are
// overlooked. Within a day every hour is alike for hatching, and eggs are laid at dawn.
//
// The posterior is exact: laying is a recursion over egg and day, the nest after it a
// recursion over looks forward and back with what may lie in the nest as its state, and each
// day of hatch is gone through on its own. What has less than a hundred-millionth of the
// weight is let go. Package plain tells every story one by one and agrees.
//
// Foster eggs hatch with the clutch that they join; in a nest without eggs of its own they
// have the days that their first nest foretells. Looks that no clutch of one hen explains are
// read again with more allowed, and [Posterior].Fit says what.
//
// Left out on purpose: the room's warmth, sitting broken off, chicks that hatch late and
// lag, hens that lay again into the nest. Tests play nests by such rules and hold the windows
// against them.
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
