// Generated from floorbell-core: change the Rust types and run `make wire-types`.

export type AfterBell = "next" | "wait";

export type Aim = { 
/**
 * The coach's words.
 */
text: string, 
/**
 * Least and most rounds expected, where the words say so ("5 to 7 rounds").
 */
rounds: [number, number] | null, };

export type AimSide = "below" | "above";

export type Amount = { 
/**
 * How many units, at least 1.
 */
count: number, 
/**
 * Of what.
 */
unit: Unit, };

export type Ask = { "ask": "enter-extra", 
/**
 * Whose.
 */
athlete: AthleteId, 
/**
 * Of which window.
 */
segment: SegmentIndex, 
/**
 * How far they came.
 */
reached: Reached, } | { "ask": "set-tally", 
/**
 * Whose.
 */
athlete: AthleteId, 
/**
 * Of which window.
 */
segment: SegmentIndex, 
/**
 * To what.
 */
tally: Tally, } | { "ask": "let-count", 
/**
 * For whom.
 */
athlete: AthleteId, 
/**
 * Who; none: the athlete again.
 */
counter: AthleteId | null, } | { "ask": "team", 
/**
 * The members of each team, in the order in which they take turns.
 */
teams: Array<Array<AthleteId>>, } | { "ask": "assign", 
/**
 * The number that the tablet shows.
 */
number: number, 
/**
 * For whom: up to 12.
 */
athletes: Array<AthleteId>, } | { "ask": "settle", 
/**
 * Whose.
 */
athlete: AthleteId, 
/**
 * Of which window.
 */
segment: SegmentIndex, } & ({ "settle": "tap", 
/**
 * Which.
 */
tap: TapId, 
/**
 * Whether it counts.
 */
counts: boolean, } | { "settle": "tally-stands" }) | { "ask": "choose", 
/**
 * Who.
 */
athlete: AthleteId, 
/**
 * How.
 */
choice: Choice, } | { "ask": "show-name", 
/**
 * Whose.
 */
athlete: AthleteId, 
/**
 * What is shown.
 */
shown: NameShown, } | { "ask": "question", 
/**
 * Up to 280 characters.
 */
text: string, } | { "ask": "answered", 
/**
 * Which.
 */
question: number, } | { "ask": "add-athlete", 
/**
 * Their name.
 */
name: string, 
/**
 * Whether they join from home; the answer then carries the personal link.
 */
at_home: boolean, 
/**
 * Whether they are on the floor now (else only expected, to be picked on a phone).
 */
here: boolean, } | { "ask": "remove-athlete", 
/**
 * Who.
 */
athlete: AthleteId, } | { "ask": "note", 
/**
 * Who.
 */
athlete: AthleteId, 
/**
 * First class here.
 */
first_class: boolean, 
/**
 * Told the coach something today.
 */
told_me: boolean, } | { "ask": "trim", 
/**
 * Which.
 */
segment: SegmentIndex, } & ({ "trim": "drop" } | { "trim": "length", 
/**
 * More than nothing.
 */
span: Span, } | { "trim": "restore" }) | { "ask": "swap", 
/**
 * The block.
 */
block: BlockIndex, 
/**
 * Its movement.
 */
movement: MovementIndex, 
/**
 * The option for all; none to swap back.
 */
option: OptionIndex | null, } | { "ask": "wall", 
/**
 * The number that it shows.
 */
number: number, 
/**
 * Whether it is let in.
 */
accept: boolean, } | { "ask": "close" };

export type AthleteId = string;

export type Attempt = { 
/**
 * The tap that told of it.
 */
tap: TapId, 
/**
 * The load; assistance is negative.
 */
grams: number, 
/**
 * Whether it was good, or no lift.
 */
good: boolean, };

export type Block = { 
/**
 * The heading as written.
 */
name: string, 
/**
 * What kind of block it is, with what only that kind has.
 */
kind: BlockKind, 
/**
 * What is done in it, in order.
 */
movements: Array<Movement>, 
/**
 * How it should feel, and what to expect of it.
 */
aim: Aim | null, 
/**
 * What the coach says during it; shown to the coach alone.
 */
cues: Array<string>, 
/**
 * The coach's own notes; shown to the coach alone.
 */
coach_notes: Array<string>, 
/**
 * Other text of the block, for everyone.
 */
notes: Array<string>, 
/**
 * Whether half-way, one minute and ten seconds to go are announced (rule 1.10).
 */
announce: boolean, };

export type BlockIndex = number;

export type BlockKind = { "kind": "talk" } & Unscored | { "kind": "set-up" } & Unscored | { "kind": "warm-up" } & Unscored | { "kind": "drill" } & Unscored | { "kind": "cool-down" } & Unscored | { "kind": "rest", 
/**
 * How long.
 */
length: Span, 
/**
 * What follows its bell.
 */
after: AfterBell, } | { "kind": "piece" } & Piece;

export type Call = { "call": "start" } | { "call": "hold" } | { "call": "resume" } | { "call": "next" } | { "call": "back" } | { "call": "restart" } | { "call": "add-time", 
/**
 * By so much; negative takes time away, though never more than remains.
 */
span: Span, } | { "call": "jump", 
/**
 * That one.
 */
to: SegmentIndex, } | { "call": "finish" } | { "call": "stop" };

export type Choice = { 
/**
 * Whether anything is scaled; a chosen option says so by itself.
 */
scaled: boolean, 
/**
 * The options chosen, at most one for a movement.
 */
options: Array<Chosen>, };

export type Chosen = { 
/**
 * The block.
 */
block: BlockIndex, 
/**
 * Its movement.
 */
movement: MovementIndex, 
/**
 * The movement's option.
 */
option: OptionIndex, };

export type ClassId = string;

export type Clock = { 
/**
 * Goes up with every call, every take-back and at the close; bells leave it alone.
 */
revision: Revision, 
/**
 * What the clock is doing.
 */
phase: Phase, 
/**
 * Whether the stop notice stands on every screen.
 */
stopped: boolean, };

export type CoachView = { 
/**
 * The call that can be taken back, and until when.
 */
take_back: TakeBack | null, 
/**
 * Everyone in the class or expected.
 */
people: Array<Person>, 
/**
 * What the coach may want to look at in the work under way (rule 5.3).
 */
readings: Array<Reading>, 
/**
 * Questions that were not dealt with.
 */
questions: Array<Question>, 
/**
 * Numbers of walls that wait to be let in.
 */
walls_waiting: Array<number>, 
/**
 * Numbers of tally tablets that wait to be let in.
 */
tablets_waiting: Array<number>, 
/**
 * Every device that follows the class.
 */
devices: Array<DeviceLine>, 
/**
 * What is wrong with the house itself, as sentences: a disk that refuses, a rebuilt clock.
 */
warnings: Array<string>, };

export type Counted = { 
/**
 * How they do the class.
 */
choice: Choice, 
/**
 * One for each window of work that was begun.
 */
windows: Array<OwnWindow>, 
/**
 * Who.
 */
athlete: AthleteId, 
/**
 * Their name.
 */
name: string, };

export type Counts = { "kind": "round" } | { "kind": "round-before" } | { "kind": "amount", 
/**
 * So many.
 */
amount: number, } | { "kind": "finish" } | { "kind": "attempt", 
/**
 * The load; 0 is unweighted, assistance is negative.
 */
grams: number, 
/**
 * Whether it was good, or no lift.
 */
good: boolean, };

export type DeviceId = string;

export type DeviceLine = { 
/**
 * Which.
 */
device: DeviceId, 
/**
 * For whom it counts, if it is a tally tablet.
 */
counts_for?: Array<AthleteId>, 
/**
 * Whether it is connected.
 */
connected: boolean, 
/**
 * When it was last heard.
 */
heard: HouseTime, 
/**
 * The error bound that it reports.
 */
bound: Span | null, 
/**
 * The round trip that it reports.
 */
round_trip: Span | null, 
/**
 * Taps that wait on it.
 */
waiting: number, 
/**
 * Exchanges that it says it refused.
 */
refused: number, 
/**
 * Whether it has confirmed the stop notice that stands now.
 */
stop_seen: boolean, } & ({ "role": "coach" } | { "role": "wall", 
/**
 * Whether the coach has let it in. Until then nothing but this is sent.
 */
accepted: boolean, 
/**
 * The number by which the coach knows it.
 */
number: number, } | { "role": "athlete", 
/**
 * The athlete whom it counts for.
 */
athlete: AthleteId, } | { "role": "tablet", 
/**
 * Whether the coach has let it in. Until then nothing but this is sent.
 */
accepted: boolean, 
/**
 * The number by which the coach knows it.
 */
number: number, });

export type DeviceTime = number;

export type Fellow = { 
/**
 * Who.
 */
athlete: AthleteId, 
/**
 * Their name.
 */
name: string, };

export type Format = { "format": "amrap", 
/**
 * The window.
 */
window: Span, 
/**
 * How the reps grow from round to round, where they do.
 */
ladder: Ladder | null, } | { "format": "for-time", 
/**
 * Rounds of the movements, at least 1.
 */
rounds: number, 
/**
 * Reps of each movement round by round (20-16-12), where they change; else empty.
 */
scheme: Array<number>, 
/**
 * The time at which everybody stops.
 */
cap: Span, } | { "format": "every-n", 
/**
 * From one start to the next.
 */
every: Span, 
/**
 * How many starts, at least 1.
 */
rounds: number, 
/**
 * What is ranked.
 */
score: IntervalScore, } | { "format": "intervals", 
/**
 * One stretch of work.
 */
work: Span, 
/**
 * The rest after it (left out after the last).
 */
rest: Span, 
/**
 * How many stretches of work, at least 1.
 */
rounds: number, 
/**
 * What is ranked.
 */
score: IntervalScore, } | { "format": "max-load", 
/**
 * The window.
 */
window: Span, 
/**
 * Reps that make one attempt, at least 1.
 */
reps: number, } | { "format": "max-count", 
/**
 * The window.
 */
window: Span, 
/**
 * What is counted.
 */
unit: Unit, } | { "format": "quality", 
/**
 * The window.
 */
window: Span, 
/**
 * Rounds that the sheet asks for, where it does.
 */
rounds: number | null, };

export type Frame = { 
/**
 * One more than the state or frame before; a gap means that something was missed, and a full
 * state is on its way.
 */
number: number, 
/**
 * The class clock.
 */
clock?: Clock | null, 
/**
 * All segments, when any was trimmed.
 */
segments?: Array<Segment> | null, 
/**
 * All swaps, when any changed.
 */
swaps?: Array<Chosen> | null, 
/**
 * When the first segment began.
 */
started?: HouseTime | null, 
/**
 * That the class was closed.
 */
closed?: boolean | null, 
/**
 * Rows that changed or are new, whole.
 */
rows?: Array<Row>, 
/**
 * Rows that are gone.
 */
gone?: Array<AthleteId>, };

export type FromDevice = { "type": "hello", 
/**
 * Made once on the device and kept there.
 */
device: DeviceId, } | { "type": "sync", 
/**
 * When it was sent, in device time.
 */
t0: DeviceTime, } | { "type": "report", 
/**
 * The error bound of its house time.
 */
bound: Span, 
/**
 * The least round trip of its last exchanges.
 */
round_trip: Span, 
/**
 * Taps that wait on the device.
 */
waiting: number, 
/**
 * Exchanges that it refused since it began to follow, since they cannot have happened so.
 */
refused: number, } | { "type": "call", 
/**
 * Made on the device; sent again with the same id until it is answered.
 */
id: RequestId, 
/**
 * What the coach was looking at.
 */
seen: Seen, } & ({ "call": "start" } | { "call": "hold" } | { "call": "resume" } | { "call": "next" } | { "call": "back" } | { "call": "restart" } | { "call": "add-time", 
/**
 * By so much; negative takes time away, though never more than remains.
 */
span: Span, } | { "call": "jump", 
/**
 * That one.
 */
to: SegmentIndex, } | { "call": "finish" } | { "call": "stop" }) | { "type": "take-back", 
/**
 * Made on the device.
 */
id: RequestId, 
/**
 * The call.
 */
of: RequestId, } | { "type": "stop-seen", 
/**
 * The clock revision that brought it.
 */
revision: Revision, } | { "type": "tap", 
/**
 * The count.
 */
tap: Tap, } | { "type": "undo", 
/**
 * Made on the device.
 */
id: RequestId, 
/**
 * For whom the tap was made.
 */
athlete: AthleteId, 
/**
 * The tap.
 */
of: TapId, } | { "type": "ask", 
/**
 * Made on the device.
 */
id: RequestId, } & ({ "ask": "enter-extra", 
/**
 * Whose.
 */
athlete: AthleteId, 
/**
 * Of which window.
 */
segment: SegmentIndex, 
/**
 * How far they came.
 */
reached: Reached, } | { "ask": "set-tally", 
/**
 * Whose.
 */
athlete: AthleteId, 
/**
 * Of which window.
 */
segment: SegmentIndex, 
/**
 * To what.
 */
tally: Tally, } | { "ask": "let-count", 
/**
 * For whom.
 */
athlete: AthleteId, 
/**
 * Who; none: the athlete again.
 */
counter: AthleteId | null, } | { "ask": "team", 
/**
 * The members of each team, in the order in which they take turns.
 */
teams: Array<Array<AthleteId>>, } | { "ask": "assign", 
/**
 * The number that the tablet shows.
 */
number: number, 
/**
 * For whom: up to 12.
 */
athletes: Array<AthleteId>, } | { "ask": "settle", 
/**
 * Whose.
 */
athlete: AthleteId, 
/**
 * Of which window.
 */
segment: SegmentIndex, } & ({ "settle": "tap", 
/**
 * Which.
 */
tap: TapId, 
/**
 * Whether it counts.
 */
counts: boolean, } | { "settle": "tally-stands" }) | { "ask": "choose", 
/**
 * Who.
 */
athlete: AthleteId, 
/**
 * How.
 */
choice: Choice, } | { "ask": "show-name", 
/**
 * Whose.
 */
athlete: AthleteId, 
/**
 * What is shown.
 */
shown: NameShown, } | { "ask": "question", 
/**
 * Up to 280 characters.
 */
text: string, } | { "ask": "answered", 
/**
 * Which.
 */
question: number, } | { "ask": "add-athlete", 
/**
 * Their name.
 */
name: string, 
/**
 * Whether they join from home; the answer then carries the personal link.
 */
at_home: boolean, 
/**
 * Whether they are on the floor now (else only expected, to be picked on a phone).
 */
here: boolean, } | { "ask": "remove-athlete", 
/**
 * Who.
 */
athlete: AthleteId, } | { "ask": "note", 
/**
 * Who.
 */
athlete: AthleteId, 
/**
 * First class here.
 */
first_class: boolean, 
/**
 * Told the coach something today.
 */
told_me: boolean, } | { "ask": "trim", 
/**
 * Which.
 */
segment: SegmentIndex, } & ({ "trim": "drop" } | { "trim": "length", 
/**
 * More than nothing.
 */
span: Span, } | { "trim": "restore" }) | { "ask": "swap", 
/**
 * The block.
 */
block: BlockIndex, 
/**
 * Its movement.
 */
movement: MovementIndex, 
/**
 * The option for all; none to swap back.
 */
option: OptionIndex | null, } | { "ask": "wall", 
/**
 * The number that it shows.
 */
number: number, 
/**
 * Whether it is let in.
 */
accept: boolean, } | { "ask": "close" });

export type Generation = string;

export type HouseTime = number;

export type IntervalScore = "rounds-made" | "total" | "lowest";

export type Join = { 
/**
 * The class code.
 */
code: string, 
/**
 * The address to scan, code included.
 */
address: string, };

export type Ladder = { 
/**
 * Reps of each movement in the first round, at least 1.
 */
start: number, 
/**
 * Reps that each further round adds.
 */
step: number, };

export type Load = { 
/**
 * What the sheet says: `24/16 kg`, `2 × 15 kg`, `by feel`.
 */
text: string, 
/**
 * The weights in grams that the sheet offers, heaviest first as written; empty for `by feel`.
 */
grams: Array<number>, 
/**
 * How many of the thing are held at once: 2 for a pair.
 */
pieces: number, 
/**
 * Whether the athlete chooses it; as written whatever they choose (rule 4.3).
 */
by_feel: boolean, };

export type Mark = "after-bell" | "after-hold" | "ahead-of-time" | "backdated" | "quick" | "other-segment";

export type Marked = { "on": "tap", 
/**
 * Which.
 */
tap: TapId, 
/**
 * What it is worth until it is settled.
 */
worth: Standing, 
/**
 * When it says that it was made.
 */
made_at: HouseTime, } | { "on": "tally", 
/**
 * What is odd about it.
 */
why: Odd, };

export type Movement = { 
/**
 * What it is called, without amount and load: `goblet squat`.
 */
name: string, 
/**
 * How much of it one round asks for; none where the sheet leaves it open.
 */
amount: Amount | null, 
/**
 * Whether the amount is for each side.
 */
sides: Sides, 
/**
 * The weight, as written and in kilograms.
 */
load: Load | null, 
/**
 * Box or target height as written (`50 cm`), where it has one.
 */
height: string | null, 
/**
 * The speed of each rep.
 */
tempo: Tempo | null, 
/**
 * What counts as a rep.
 */
standard: string | null, 
/**
 * What the coach says about it; shown to the coach alone.
 */
cues: Array<string>, 
/**
 * Other ways to do it.
 */
options: Array<MovementOption>, };

export type MovementIndex = number;

export type MovementOption = { 
/**
 * What is done instead, as written: `step-up 40 cm`.
 */
name: string, 
/**
 * How much of it, where it differs from the movement's own amount.
 */
amount: Amount | null, 
/**
 * Whether that amount is for each side.
 */
sides: Sides, 
/**
 * The weight, where it differs.
 */
load: Load | null, 
/**
 * What the option serves; several may serve one reason.
 */
reasons: Array<Reason>, 
/**
 * Whether it goes easier, sideways or harder.
 */
side: OptionSide, 
/**
 * What counts as one, where it is not plain: `a trip is 40 s of skipping`.
 */
counts_as: string | null, };

export type NameShown = "whole" | "initial" | "nothing";

export type Odd = { "odd": "by-hand", 
/**
 * What was counted.
 */
from: Tally | null, } | { "odd": "far-from-counter", 
/**
 * What was counted.
 */
from: Tally | null, } | { "odd": "far-over", 
/**
 * The most rounds that the sheet expects.
 */
most: number, };

export type OptionIndex = number;

export type OptionSide = "easier" | "sideways" | "harder";

export type Outcome = { "outcome": "done", 
/**
 * The personal link that was asked for, as a path with a fragment.
 */
link?: string | null, } | { "outcome": "not-yet-saved" } | { "outcome": "refused", 
/**
 * Why, in a short word that never changes.
 */
code: string, 
/**
 * Why, as a sentence that says what to do.
 */
text: string, };

export type OwnView = { 
/**
 * Who.
 */
athlete: AthleteId, 
/**
 * Their name in full.
 */
name: string, 
/**
 * What of it the wall shows.
 */
shown: NameShown, 
/**
 * How they do the class.
 */
choice: Choice, 
/**
 * One for each window of work that was begun.
 */
windows: Array<OwnWindow>, 
/**
 * Who counts for them, if it is somebody else.
 */
counter: Fellow | null, 
/**
 * For whom this phone counts beside them.
 */
counts_for: Array<Counted>, 
/**
 * With whom they share a tally in pieces for teams, themselves included, in the order in which
 * they take turns; empty where they are in no team.
 */
team: Array<Fellow>, 
/**
 * Their questions that the coach has not dealt with.
 */
questions: Array<string>, };

export type OwnWindow = { 
/**
 * The window.
 */
segment: SegmentIndex, 
/**
 * How it is counted.
 */
scoring: Scoring, 
/**
 * What it has counted.
 */
tally: Tally, 
/**
 * Whether extra reps were entered or the tally was set.
 */
entered: boolean, 
/**
 * Times of the full rounds that gave one, in order.
 */
splits: Array<Span>, 
/**
 * What the window ends at if the last rounds' pace holds (rule 5.2).
 */
pace: Tally | null, 
/**
 * The last tap that counts and can be taken back.
 */
last_tap: TapId | null, 
/**
 * Whose phone made it; none for a coach device or a tally tablet.
 */
last_by: AthleteId | null, 
/**
 * Class time of that tap.
 */
last: Span | null, 
/**
 * Whose turn it is in a team: the member after the one who tapped last.
 */
turn: AthleteId | null, 
/**
 * Of the rounds, those done as written, where the way of doing it was changed in between.
 */
as_written: number | null, 
/**
 * Reps of each movement in the round under way, as the athlete does it (for extra reps); of
 * one thing that is counted all along, what is counted at once.
 */
reps: Array<number>, 
/**
 * Attempts at a load, in the order in which they were made.
 */
attempts?: Array<Attempt>, 
/**
 * What the coach is to look at.
 */
marks?: Array<Marked>, 
/**
 * Class time from which the round under way is overdue (rule 5.3).
 */
overdue_at: Span | null, };

export type Pace = "coach-led" | "self-paced";

export type Person = { 
/**
 * Who.
 */
athlete: AthleteId, 
/**
 * Their name in full.
 */
name: string, 
/**
 * Whether they are in the class (else only expected).
 */
here: boolean, 
/**
 * Whether they join from home.
 */
at_home: boolean, 
/**
 * First class here.
 */
first_class: boolean, 
/**
 * Told the coach something today.
 */
told_me: boolean, 
/**
 * How they do the class.
 */
choice: Choice, 
/**
 * When their phone was last heard; none if they have none.
 */
heard: HouseTime | null, 
/**
 * The team that they are in, from 1.
 */
team: number | null, 
/**
 * Who counts for them, if it is somebody else.
 */
counter: AthleteId | null, 
/**
 * One for each window of work that they have something in.
 */
windows: Array<OwnWindow>, };

export type Phase = { "phase": "gathering" } | { "phase": "running", 
/**
 * The segment that runs.
 */
segment: SegmentIndex, 
/**
 * The instant from which class time is counted.
 */
anchor: HouseTime, 
/**
 * Class time at the anchor.
 */
at_anchor: Span, 
/**
 * How far the coach has moved the bell; negative where time was taken away.
 */
added: Span, } | { "phase": "held", 
/**
 * The segment that is held.
 */
segment: SegmentIndex, 
/**
 * Where class time stands.
 */
class_time: Span, 
/**
 * How far the coach has moved the bell.
 */
added: Span, } | { "phase": "waiting", 
/**
 * The segment whose bell has gone.
 */
segment: SegmentIndex, 
/**
 * When its bell was due.
 */
since: HouseTime, } | { "phase": "done" };

export type Piece = { 
/**
 * How it is timed and scored.
 */
format: Format, 
/**
 * Length of the lead-in before it, 10 s unless the sheet says otherwise *(cp)*.
 */
lead_in: Span, 
/**
 * How often the whole format is repeated (four windows of one piece), at least 1.
 */
repeats: number, 
/**
 * The rest between two repeats.
 */
repeat_rest: Span, 
/**
 * Who shares a tally.
 */
sharing: Sharing, 
/**
 * Whether equal tallies are split by who got there first (rule 4.2).
 */
first_there_splits_ties: boolean, 
/**
 * How several windows of the piece are ranked.
 */
windows: WindowsRanked, };

export type Problem = { 
/**
 * Whether it keeps the sheet from being used.
 */
severity: Severity, 
/**
 * Which line of the sheet, from 1.
 */
line: number, 
/**
 * Which character of that line, from 1.
 */
column: number, 
/**
 * First byte of the words concerned, counted from the start of the text.
 */
start: number, 
/**
 * The byte after the words concerned.
 */
end: number, 
/**
 * The words concerned, as they stand in the sheet, or as many of them as are kept.
 */
words: string, 
/**
 * What was understood, or what was expected there.
 */
message: string, 
/**
 * Something that works in that place.
 */
example: string, };

export type Question = { 
/**
 * Its number in the class.
 */
number: number, 
/**
 * Who asks.
 */
athlete: AthleteId, 
/**
 * What.
 */
text: string, };

export type Reached = { 
/**
 * The movement that was under way.
 */
movement: MovementIndex, 
/**
 * Reps of it that were done.
 */
reps: number, };

export type Reading = { 
/**
 * Who.
 */
athlete: AthleteId, 
/**
 * Whether they fade more than the class does.
 */
fades: boolean, 
/**
 * On which side of the sheet's aim they are, if outside.
 */
aim: AimSide | null, };

export type Reason = "no-running" | "no-overhead" | "low-impact" | "mechanics" | "gear" | "lighter" | "at-home";

export type RequestId = string;

export type Revision = number;

export type Role = { "role": "coach" } | { "role": "wall", 
/**
 * Whether the coach has let it in. Until then nothing but this is sent.
 */
accepted: boolean, 
/**
 * The number by which the coach knows it.
 */
number: number, } | { "role": "athlete", 
/**
 * The athlete whom it counts for.
 */
athlete: AthleteId, } | { "role": "tablet", 
/**
 * Whether the coach has let it in. Until then nothing but this is sent.
 */
accepted: boolean, 
/**
 * The number by which the coach knows it.
 */
number: number, };

export type Row = { 
/**
 * Who.
 */
athlete: AthleteId, 
/**
 * What the wall shows of their name; empty where they want nothing shown.
 */
name: string, 
/**
 * Whether they join from home.
 */
at_home: boolean, 
/**
 * Whether they do the class scaled.
 */
scaled: boolean, 
/**
 * One for each scored piece, in order.
 */
scores: Array<Score>, 
/**
 * Place over the whole class so far inside their group; none before they have a tally.
 */
overall: number | null, 
/**
 * Reps over the whole class so far, where that is what ranks it.
 */
total_reps: number | null, 
/**
 * The team that they are in, from 1. In pieces for teams its members have the same scores.
 */
team: number | null, };

export type Score = { 
/**
 * The piece.
 */
block: BlockIndex, 
/**
 * All its windows together; none before anything was counted.
 */
tally: Tally | null, 
/**
 * Place inside their group; equal tallies share it.
 */
place: number | null, 
/**
 * Each window that has begun, where the piece has several.
 */
windows?: Array<WindowScore>, 
/**
 * What the window under way ends at if the pace holds (rule 5.2).
 */
pace?: Tally | null, 
/**
 * When the last counted round was finished.
 */
last_at: HouseTime | null, 
/**
 * Whether something in it is marked for the coach.
 */
marked: boolean, };

export type Scoring = { "by": "rounds" } | { "by": "time", 
/**
 * When everybody stops.
 */
cap: Span, 
/**
 * Rounds in all.
 */
rounds: number, 
/**
 * Reps in all, as the sheet has them.
 */
reps: number, } | { "by": "made" } | { "by": "amount", 
/**
 * In what.
 */
unit: Unit, 
/**
 * What is counted on the floor at once: a trip of 120 m, ten reps, one calorie.
 */
step: number, } | { "by": "load", 
/**
 * Reps of one attempt.
 */
reps: number, } | { "by": "done" };

export type Seen = { 
/**
 * The segment on the screen, if the clock was in one.
 */
segment: SegmentIndex | null, 
/**
 * The clock's revision.
 */
revision: Revision, };

export type Segment = { 
/**
 * The block it belongs to.
 */
block: BlockIndex, 
/**
 * What happens in it.
 */
kind: SegmentKind, 
/**
 * How long it lasts; without a length it counts up until the coach's next call.
 */
length: Span | null, 
/**
 * How long it is expected to take: its length, or what was worked out for an open one. A
 * coach-led movement by time adds the change-over to the next one.
 */
planned: Span, 
/**
 * What follows its bell.
 */
after: AfterBell, 
/**
 * Which window, interval or coach-led round of its block this is, from 1, and of how many;
 * of a rest, the one that it follows. None where there is only one.
 */
window: Window | null, 
/**
 * The movement that a coach-led block is at.
 */
movement: MovementIndex | null, 
/**
 * How many of a rest's last seconds are the lead-in of the work that follows it (rule 1.2).
 */
lead_in: Span, 
/**
 * Whether half-way, one minute and ten seconds to go are announced.
 */
announce: boolean, 
/**
 * Taken out by the coach before it began (the clock passes over it).
 */
dropped: boolean, };

export type SegmentIndex = number;

export type SegmentKind = "open" | "lead-in" | "work" | "rest";

export type Session = { 
/**
 * The sheet's first heading.
 */
title: string, 
/**
 * The date that the sheet was written for, as written; a class has its own.
 */
date: string | null, 
/**
 * How long the class has the floor; none if the sheet does not say.
 */
slot: Span | null, 
/**
 * How many people the coach expects.
 */
people: number | null, 
/**
 * What the sheet says for everyone before its first block, paragraph by paragraph.
 */
notes: Array<string>, 
/**
 * What the whole class is ranked by.
 */
whole_class: WholeClass, 
/**
 * In the order in which they are run; never empty.
 */
blocks: Array<Block>, };

export type Settlement = { "settle": "tap", 
/**
 * Which.
 */
tap: TapId, 
/**
 * Whether it counts.
 */
counts: boolean, } | { "settle": "tally-stands" };

export type Severity = "error" | "warning";

export type Sharing = { "sharing": "alone" } | { "sharing": "team", 
/**
 * People in a team, 2 or more.
 */
size: number, };

export type Sides = "both" | "per-side" | "alternating";

export type Span = number;

export type Standing = { "standing": "counted", 
/**
 * At this class time of its segment.
 */
at: Span, 
/**
 * What the coach is to look at, if anything.
 */
mark: Mark | null, } | { "standing": "not-counted", 
/**
 * Why.
 */
why: WhyNot, 
/**
 * Whether the coach is to look at it.
 */
marked: boolean, };

export type State = { 
/**
 * Goes up by one with each frame of this class; the next frame's `number` is this plus one.
 */
number: number, 
/**
 * The class.
 */
class: ClassId, 
/**
 * The plan. What only coaches see in it is left out for others.
 */
session: Session, 
/**
 * How each block is counted, where it is a piece.
 */
scoring: Array<Scoring | null>, 
/**
 * The class code and the address that goes with it, where phones may still come in.
 */
join: Join | null, 
/**
 * The class clock.
 */
clock: Clock, 
/**
 * The segments of the class, trimmed ones included.
 */
segments: Array<Segment>, 
/**
 * Movements that everyone does another way.
 */
swaps: Array<Chosen>, 
/**
 * When the first segment began.
 */
started: HouseTime | null, 
/**
 * Whether the class is closed.
 */
closed: boolean, 
/**
 * Everyone in the class, in the order in which they came.
 */
rows: Array<Row>, };

export type TabletView = { 
/**
 * For whom it counts, in the order in which they are shown.
 */
lines: Array<Counted>, };

export type TakeBack = { 
/**
 * The call's id.
 */
id: RequestId, 
/**
 * Until when; none: until the bell of the work that was started anew.
 */
until: HouseTime | null, } & ({ "call": "start" } | { "call": "hold" } | { "call": "resume" } | { "call": "next" } | { "call": "back" } | { "call": "restart" } | { "call": "add-time", 
/**
 * By so much; negative takes time away, though never more than remains.
 */
span: Span, } | { "call": "jump", 
/**
 * That one.
 */
to: SegmentIndex, } | { "call": "finish" } | { "call": "stop" });

export type Tally = { "kind": "rounds", 
/**
 * Full rounds.
 */
rounds: number, 
/**
 * Extra reps.
 */
extra: number, } | { "kind": "finished", 
/**
 * The time.
 */
time: Span, } | { "kind": "at-cap", 
/**
 * Reps.
 */
reps: number, } | { "kind": "load", 
/**
 * In grams; 0 is unweighted, assistance is negative.
 */
grams: number, } | { "kind": "made", 
/**
 * So many.
 */
made: number, 
/**
 * Of so many.
 */
of: number, } | { "kind": "count", 
/**
 * Reps, metres or calories.
 */
amount: number, } | { "kind": "done" };

export type Tap = { 
/**
 * Made on the device; the same id counts once.
 */
id: TapId, 
/**
 * For whom.
 */
athlete: AthleteId, 
/**
 * The work segment that the device was showing.
 */
segment: SegmentIndex, 
/**
 * What it counts.
 */
counts: Counts, 
/**
 * When it was made, by the device's estimate of house time.
 */
made_at: HouseTime, 
/**
 * How far off that estimate may be.
 */
bound: Span, 
/**
 * The clock's revision that the device had heard.
 */
heard: Revision, };

export type TapId = string;

export type Tempo = [number, number, number, number];

export type ToDevice = { "type": "welcome", 
/**
 * The journal's life; another one after a backup was restored.
 */
generation: Generation, 
/**
 * The house's name.
 */
house: string, 
/**
 * What the stop notice says: the local emergency number, where first aid is.
 */
emergency: string, 
/**
 * Whether boards show places; else counts alone.
 */
places: boolean, } & ({ "role": "coach" } | { "role": "wall", 
/**
 * Whether the coach has let it in. Until then nothing but this is sent.
 */
accepted: boolean, 
/**
 * The number by which the coach knows it.
 */
number: number, } | { "role": "athlete", 
/**
 * The athlete whom it counts for.
 */
athlete: AthleteId, } | { "role": "tablet", 
/**
 * Whether the coach has let it in. Until then nothing but this is sent.
 */
accepted: boolean, 
/**
 * The number by which the coach knows it.
 */
number: number, }) | { "type": "sync", 
/**
 * As sent, in device time.
 */
t0: DeviceTime, 
/**
 * When it was received.
 */
t1: HouseTime, 
/**
 * When this was sent.
 */
t2: HouseTime, } | { "type": "state" } & State | { "type": "frame" } & Frame | { "type": "coach" } & CoachView | { "type": "own" } & OwnView | { "type": "tablet" } & TabletView | { "type": "answer", 
/**
 * The request.
 */
to: RequestId, } & ({ "outcome": "done", 
/**
 * The personal link that was asked for, as a path with a fragment.
 */
link?: string | null, } | { "outcome": "not-yet-saved" } | { "outcome": "refused", 
/**
 * Why, in a short word that never changes.
 */
code: string, 
/**
 * Why, as a sentence that says what to do.
 */
text: string, }) | { "type": "kept", 
/**
 * The tap.
 */
tap: TapId, } & ({ "standing": "counted", 
/**
 * At this class time of its segment.
 */
at: Span, 
/**
 * What the coach is to look at, if anything.
 */
mark: Mark | null, } | { "standing": "not-counted", 
/**
 * Why.
 */
why: WhyNot, 
/**
 * Whether the coach is to look at it.
 */
marked: boolean, }) | { "type": "not-kept", 
/**
 * The tap.
 */
tap: TapId, 
/**
 * Why, in a short word.
 */
code: string, 
/**
 * Why, as a sentence.
 */
text: string, 
/**
 * Whether the device should keep it and send it again.
 */
again: boolean, } | { "type": "stop", 
/**
 * The clock, held.
 */
clock: Clock, 
/**
 * Whether it is on disk yet.
 */
saved: boolean, } | { "type": "no-class", 
/**
 * What to do, as a sentence.
 */
text: string, } | { "type": "error", 
/**
 * Why, in a short word.
 */
code: string, 
/**
 * Why, as a sentence.
 */
text: string, };

export type Trim = { "trim": "drop" } | { "trim": "length", 
/**
 * More than nothing.
 */
span: Span, } | { "trim": "restore" };

export type Unit = "reps" | "metres" | "calories" | "seconds";

export type Unscored = { 
/**
 * Who sets the pace.
 */
pace: Pace, 
/**
 * How often the movements are gone through, at least 1.
 */
rounds: number, 
/**
 * The length that the sheet gives; where it gives none, it is worked out from the movements.
 */
given: Span | null, };

export type WholeClass = "places" | "reps";

export type WhyNot = "held" | "lead-in" | "not-work" | "after-bell" | "repeated" | "twice" | "undone" | "set-since" | "not-this-way" | "already" | "team-mate" | "other-counts" | "settled";

export type Window = { 
/**
 * This one, from 1.
 */
number: number, 
/**
 * Of so many.
 */
of: number, };

export type WindowScore = { 
/**
 * The window.
 */
segment: SegmentIndex, 
/**
 * What it has come to.
 */
tally: Tally | null, 
/**
 * Place in this window inside their group.
 */
place: number | null, };

export type WindowsRanked = "together" | "one-by-one";
