//! What headings and the key lines under them are made of: `AMRAP`, `9 min`, `4 times`, `rest 1:30
//! between`, each on its own and in any order. Making a block of them is the work of `heading`.

use core::ops::Range;

use super::outline::Line;
use super::words::{Token, any_phrase, length, phrase, tokens};
use crate::session::{IntervalScore, Pace, Unit, WindowsRanked};
use crate::time::Span;

/// One thing that a heading says.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Clause {
    Unscored(UnscoredKind),
    /// The word alone, or with its length.
    Rest(Option<Span>),
    Amrap,
    ForTime,
    Every(Span),
    Work(Span),
    Heavy(u32),
    Max(Unit),
    Quality,
    Length(Span),
    Cap(Span),
    Rounds(u32),
    Times(u32),
    /// `20-16-12`, or `4-8-12-…` where it goes on.
    Numbers {
        values: Vec<u32>,
        open: bool,
    },
    Team(u32),
    Pace(Pace),
    LeadIn(Span),
    Wait,
    Score(IntervalScore),
    Windows(WindowsRanked),
    FirstThere,
}

/// Blocks without a score, the rest block left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum UnscoredKind {
    Talk,
    SetUp,
    WarmUp,
    Drill,
    CoolDown,
}

/// A clause and where it stands in the sheet.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub(super) clause: Clause,
    pub(super) at: Range<usize>,
}

/// What was read in a part of a line.
#[derive(Default)]
pub(super) struct Clauses {
    pub(super) found: Vec<Found>,
    /// Words that are no clause, with whether one was found before them.
    pub(super) unknown: Vec<Unknown>,
}

/// Words that are no clause.
pub(super) struct Unknown {
    pub(super) words: Vec<String>,
    pub(super) at: Range<usize>,
    /// Whether a clause stands before them.
    pub(super) inside: bool,
    pub(super) has_number: bool,
}

impl Clause {
    /// Whether it says what a block is.
    pub(super) fn is_main(&self) -> bool {
        use Clause::{Amrap, Every, ForTime, Heavy, Max, Quality, Rest, Unscored, Work};
        matches!(
            self,
            Unscored(_)
                | Rest(_)
                | Amrap
                | ForTime
                | Every(_)
                | Work(_)
                | Heavy(_)
                | Max(_)
                | Quality
        )
    }

    /// Whether it is the format of a piece.
    pub(super) fn is_scored(&self) -> bool {
        self.is_main() && !matches!(self, Self::Unscored(_) | Self::Rest(_))
    }
}

/// Words with one meaning; where one is the start of another, the longer stands first.
const PHRASES: &[(&str, Clause)] = &[
    ("talk", Clause::Unscored(UnscoredKind::Talk)),
    ("set-up", Clause::Unscored(UnscoredKind::SetUp)),
    ("set up", Clause::Unscored(UnscoredKind::SetUp)),
    ("setup", Clause::Unscored(UnscoredKind::SetUp)),
    ("warm-up", Clause::Unscored(UnscoredKind::WarmUp)),
    ("warm up", Clause::Unscored(UnscoredKind::WarmUp)),
    ("warmup", Clause::Unscored(UnscoredKind::WarmUp)),
    ("drill", Clause::Unscored(UnscoredKind::Drill)),
    ("cool-down", Clause::Unscored(UnscoredKind::CoolDown)),
    ("cool down", Clause::Unscored(UnscoredKind::CoolDown)),
    ("cooldown", Clause::Unscored(UnscoredKind::CoolDown)),
    ("as many rounds as possible", Clause::Amrap),
    ("amrap", Clause::Amrap),
    ("for time", Clause::ForTime),
    ("every minute on the minute", Clause::Every(Span::from_mins(1))),
    ("every minute", Clause::Every(Span::from_mins(1))),
    ("emom", Clause::Every(Span::from_mins(1))),
    ("build to a heavy single", Clause::Heavy(1)),
    ("build to a heavy double", Clause::Heavy(2)),
    ("build to a heavy triple", Clause::Heavy(3)),
    ("for quality", Clause::Quality),
    ("quality", Clause::Quality),
    ("in pairs", Clause::Team(2)),
    ("pairs", Clause::Team(2)),
    ("coach-led", Clause::Pace(Pace::CoachLed)),
    ("coach led", Clause::Pace(Pace::CoachLed)),
    ("self-paced", Clause::Pace(Pace::SelfPaced)),
    ("self paced", Clause::Pace(Pace::SelfPaced)),
    ("then wait", Clause::Wait),
    ("score rounds made", Clause::Score(IntervalScore::RoundsMade)),
    ("score total", Clause::Score(IntervalScore::Total)),
    ("score lowest", Clause::Score(IntervalScore::Lowest)),
    ("score one by one", Clause::Windows(WindowsRanked::OneByOne)),
    ("score together", Clause::Windows(WindowsRanked::Together)),
    ("ties first there", Clause::FirstThere),
];

/// Words that only join clauses, or name the key of a line that is read as clauses.
const JOINING: &[&str] = &[
    "in", "of", "for", "with", "and", "repeat", "pace", "length", "teams", "then", "next", "score",
    "interval",
];

/// Words beside a length or number, and the clause that they make of it.
type Wording<T> = (&'static str, fn(T) -> Clause);

/// Units of a count, for movements and for `max metres`.
pub(super) fn unit(word: &str) -> Option<Unit> {
    Some(match word {
        "rep" | "reps" => Unit::Reps,
        "m" | "metre" | "metres" | "meter" | "meters" => Unit::Metres,
        "cal" | "cals" | "kcal" | "calorie" | "calories" => Unit::Calories,
        "s" | "sec" | "secs" | "second" | "seconds" => Unit::Seconds,
        _ => return None,
    })
}

/// The keywords a misspelt heading may have meant.
pub(super) fn keywords() -> Vec<&'static str> {
    let first = |words: &'static str| words.split(' ').find(|word| word.len() > 4);
    let phrases = PHRASES.iter().filter_map(|(words, _)| first(words));
    phrases.chain(["every", "rounds", "times", "between", "ladder"]).collect()
}

/// Reads a part of a line as clauses.
pub(super) fn clauses(line: &Line, part: Range<usize>) -> Clauses {
    let mut tokens = tokens(&line.text, part);
    tokens.retain(|token| token.text != ":");
    let mut all = Clauses::default();
    let mut unknown: Option<Range<usize>> = None;
    let mut index = 0;
    while index < tokens.len() {
        let rest = &tokens[index..];
        let bare = || bare_minutes(rest, all.found.last());
        let Some((clause, count)) = clause(rest).or_else(bare) else {
            if !joins(&tokens[index]) {
                unknown = Some(unknown.map_or(index, |run| run.start)..index + 1);
            } else if unknown.is_some() && is_comma(&tokens[index]) {
                all.close(line, &tokens, &mut unknown);
            }
            index += 1;
            continue;
        };
        all.close(line, &tokens, &mut unknown);
        let at = line.source(tokens[index].at.start..tokens[index + count - 1].at.end);
        all.found.push(Found { clause, at });
        index += count;
    }
    all.close(line, &tokens, &mut unknown);
    all
}

impl Clauses {
    /// Keeps a run of words that turned out to be no clause.
    fn close(&mut self, line: &Line, tokens: &[Token], run: &mut Option<Range<usize>>) {
        let Some(run) = run.take() else { return };
        let run = &tokens[run];
        self.unknown.push(Unknown {
            words: run.iter().map(|token| token.text.clone()).collect(),
            at: line.source(run[0].at.start..run[run.len() - 1].at.end),
            inside: !self.found.is_empty(),
            has_number: run.iter().any(Token::is_number),
        });
    }
}

fn is_comma(token: &Token) -> bool {
    matches!(token.text.as_str(), "," | ";" | "(" | ")" | "–" | "—")
}

fn joins(token: &Token) -> bool {
    is_comma(token)
        || matches!(token.text.as_str(), "-" | "." | "+")
        || JOINING.contains(&token.text.as_str())
}

/// `9` in `AMRAP 9` and `10` in `EMOM 10`: minutes, as the trade writes them.
fn bare_minutes(rest: &[Token], last: Option<&Found>) -> Option<(Clause, usize)> {
    let minutes = rest[0].whole()?;
    let ends = rest.get(1).is_none_or(is_comma);
    let named = last.is_some_and(|last| matches!(last.clause, Clause::Amrap | Clause::Every(_)));
    (ends && named).then(|| (Clause::Length(Span::from_mins(i64::from(minutes.min(10_000)))), 1))
}

fn clause(rest: &[Token]) -> Option<(Clause, usize)> {
    let named =
        || PHRASES.iter().find_map(|(words, clause)| Some((clause.clone(), phrase(rest, words)?)));
    numbers(rest)
        .or_else(|| rest_clause(rest))
        .or_else(named)
        .or_else(|| with_length(rest))
        .or_else(|| with_count(rest))
        .or_else(|| most(rest))
}

/// `20-16-12`, `ladder 4-8-12-…`.
fn numbers(rest: &[Token]) -> Option<(Clause, usize)> {
    let ladder = any_phrase(rest, &["ladder of", "ladder"]).unwrap_or(0);
    let mut count = ladder;
    let dash = |at: usize| rest.get(at).is_some_and(Token::is_dash);
    let dots = |at: usize| rest.get(at).is_some_and(|t| matches!(t.text.as_str(), "…" | "..."));
    let mut values = vec![rest.get(count)?.whole()?];
    count += 1;
    while dash(count)
        && let Some(value) = rest.get(count + 1).and_then(Token::whole)
    {
        values.push(value);
        count += 2;
    }
    let open = if dots(count) {
        count += 1;
        true
    } else if dash(count) && dots(count + 1) {
        count += 2;
        true
    } else {
        ladder > 0
    };
    (values.len() > 1).then_some((Clause::Numbers { values, open }, count))
}

/// `rest`, `rest 3 min`, `10 s rest`, `rest 1:30 between`.
fn rest_clause(rest: &[Token]) -> Option<(Clause, usize)> {
    const BETWEEN: &[&str] =
        &["between them", "between rounds", "between windows", "between", "after each"];
    let tail = |count: usize| count + any_phrase(&rest[count..], BETWEEN).unwrap_or(0);
    if let Some(word) = any_phrase(rest, &["rest"]) {
        return Some(match length(&rest[word..]) {
            Some((span, count)) => (Clause::Rest(Some(span)), tail(word + count)),
            None => (Clause::Rest(None), word),
        });
    }
    let (span, count) = length(rest)?;
    let word = any_phrase(&rest[count..], &["rest", "of rest", "off"])?;
    Some((Clause::Rest(Some(span)), tail(count + word)))
}

/// Clauses that are a length with a word before or after it, and the length alone.
fn with_length(rest: &[Token]) -> Option<(Clause, usize)> {
    const BEFORE: &[Wording<Span>] = &[
        ("every", Clause::Every),
        ("time cap of", Clause::Cap),
        ("time cap", Clause::Cap),
        ("cap of", Clause::Cap),
        ("cap", Clause::Cap),
        ("lead-in", Clause::LeadIn),
        ("lead-in of", Clause::LeadIn),
    ];
    const AFTER: &[Wording<Span>] = &[
        ("work", Clause::Work),
        ("of work", Clause::Work),
        ("on", Clause::Work),
        ("time cap", Clause::Cap),
        ("cap", Clause::Cap),
        ("lead-in", Clause::LeadIn),
    ];
    for (words, make) in BEFORE {
        if let Some(word) = phrase(rest, words)
            && let Some((span, count)) = length(&rest[word..])
        {
            return Some((make(span), word + count));
        }
    }
    let (span, count) = length(rest)?;
    for (words, make) in AFTER {
        if let Some(word) = phrase(&rest[count..], words) {
            return Some((make(span), count + word));
        }
    }
    Some((Clause::Length(span), count))
}

/// `4 times`, `8 ×`, `× 5`, `3 rounds`, `build to a heavy set of 3`, `in teams of 3`.
fn with_count(rest: &[Token]) -> Option<(Clause, usize)> {
    const BEFORE: &[Wording<u32>] = &[
        ("build to a heavy set of", Clause::Heavy),
        ("heavy set of", Clause::Heavy),
        ("in teams of", Clause::Team),
        ("teams of", Clause::Team),
    ];
    for (words, make) in BEFORE {
        if let Some(word) = phrase(rest, words)
            && let Some(n) = rest.get(word).and_then(Token::whole)
        {
            return Some((make(n), word + 1));
        }
    }
    if rest[0].is_times() {
        return Some((Clause::Times(rest.get(1)?.whole()?), 2));
    }
    let n = rest[0].whole()?;
    let next = rest.get(1)?;
    match next.text.as_str() {
        "times" => Some((Clause::Times(n), 2)),
        "round" | "rounds" => Some((Clause::Rounds(n), 2)),
        _ if next.is_times() => Some((Clause::Times(n), 2)),
        _ => None,
    }
}

/// `max metres`, `most calories`.
fn most(rest: &[Token]) -> Option<(Clause, usize)> {
    let word = any_phrase(rest, &["max", "most"])?;
    Some((Clause::Max(unit(&rest.get(word)?.text)?), word + 1))
}
