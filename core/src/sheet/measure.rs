//! Amounts, loads, heights, tempo and sides: what a movement's line says besides its name.

use super::clause::unit;
use super::outline::Line;
use super::words::{Kind, Token, any_phrase, length};
use crate::session::{Amount, Load, Sides, Tempo, Unit};

/// Reps, metres or calories of one movement in one round.
const COUNT_MAX: f64 = 50_000.0;
/// Seconds of one movement in one round: more is a slip of the pen, `10 h` for `10 min`.
const SECONDS_MAX: f64 = 3600.0;
/// Grams that one thing weighs at most: a tonne.
const GRAMS_MAX: f64 = 1_000_000.0;
/// Grams in a pound (exact: international avoirdupois pound).
const GRAMS_PER_POUND: f64 = 453.592_37;
/// Weights that one load offers: more is no load, and would be looked through again and again.
const WEIGHTS_MAX: usize = 4;
/// Words of guidance in brackets after `by feel`, for the same reason.
const GUIDANCE_MAX: usize = 40;
/// Seconds of one part of a rep.
const TEMPO_MAX: u32 = 60;

/// One thing that a movement's line says.
pub(super) enum Measure {
    Amount(Amount),
    Sides(Sides),
    Load(Load),
    Height,
    Tempo(Tempo),
    /// A way of writing that cannot be kept: what to say, and what works.
    Wrong(&'static str, &'static str),
}

/// Whether a word may follow a number that is no part of a name.
pub(super) fn is_unit(word: &str) -> bool {
    unit(word).is_some()
        || matches!(word, "cm" | "km" | "min" | "-" | "–" | "/" | "×" | "x")
        || grams_in(word).is_some()
}

/// What `rest` begins with, and how many tokens that takes.
pub(super) fn measure(rest: &[Token], line: &Line) -> Option<(Measure, usize)> {
    load(rest, line)
        .or_else(|| unclear(rest))
        .or_else(|| amount(rest))
        .or_else(|| height(rest))
        .or_else(|| tempo(rest))
        .or_else(|| sides(rest))
}

/// `11` at the start of a line, and `11 ×`.
pub(super) fn bare_reps(rest: &[Token]) -> Option<(Measure, usize)> {
    let Kind::Number(count) = rest[0].kind else { return None };
    let times = rest.get(1).is_some_and(Token::is_times);
    Some((counted(count, Unit::Reps), 1 + usize::from(times)))
}

fn counted(count: f64, unit: Unit) -> Measure {
    if unit == Unit::Seconds && count > SECONDS_MAX {
        return Measure::Wrong("a movement by time lasts up to an hour", "plank 20 s");
    }
    if !(1.0..=COUNT_MAX).contains(&count) || count.fract() != 0.0 {
        return Measure::Wrong("expected a whole number from 1 to 50000", "11 goblet squat");
    }
    Measure::Amount(Amount { count: count as u32, unit })
}

/// `200 m`, `1.5 km`, `12 cal`, `20 s`, `1:30`, `11 reps`.
fn amount(rest: &[Token]) -> Option<(Measure, usize)> {
    if let Some((span, count)) = length(rest) {
        return Some((counted(span.as_secs_f64(), Unit::Seconds), count));
    }
    let Kind::Number(count) = rest[0].kind else { return None };
    match rest.get(1)?.text.as_str() {
        // 1.5 × 1000 is exact, 1.001 × 1000 is not: whole metres are what was meant.
        "km" => Some((counted((count * 1000.0).round(), Unit::Metres), 2)),
        word => Some((counted(count, unit(word)?), 2)),
    }
}

/// Amounts that are understood but are not one amount.
fn unclear(rest: &[Token]) -> Option<(Measure, usize)> {
    let [first, sign, second, ..] = rest else { return None };
    if !(first.is_number() && second.is_number()) {
        return None;
    }
    match sign.text.as_str() {
        "/" => Some((
            Measure::Wrong(
                "one amount stands here; write the other as an option",
                "lighter: 9 cal row",
            ),
            3,
        )),
        "-" | "–" => {
            Some((Measure::Wrong("one amount stands here, not a span of them", "10 push-up"), 3))
        }
        _ => None,
    }
}

fn grams_in(unit: &str) -> Option<f64> {
    Some(match unit {
        "kg" | "kgs" | "kilo" | "kilos" => 1000.0,
        "lb" | "lbs" | "pound" | "pounds" => GRAMS_PER_POUND,
        _ => return None,
    })
}

/// `20 kg`, `24/16 kg`, `2 × 15 kg`, `44 lb`, `by feel`, `by feel (two left in the tank)`.
fn load(rest: &[Token], line: &Line) -> Option<(Measure, usize)> {
    let at = usize::from(rest[0].text == "@");
    if let Some(count) = any_phrase(&rest[at..], &["by feel"]) {
        let open = rest.get(at + count).is_some_and(|token| token.text == "(");
        let mut within = rest.iter().take(at + count + GUIDANCE_MAX);
        let close = within.position(|token| token.text == ")").filter(|_| open);
        let count = close.map_or(at + count, |close| close + 1);
        let text = line.text[rest[at].at.start..rest[count - 1].at.end].to_owned();
        let load = Load { text, grams: Vec::new(), pieces: 1, by_feel: true };
        return Some((Measure::Load(load), count));
    }
    let mut next = at;
    let mut pieces = 1;
    if rest.get(next + 1).is_some_and(Token::is_times) {
        pieces = rest[next].whole()?;
        next += 2;
    }
    let mut weights = Vec::new();
    loop {
        let Kind::Number(weight) = rest.get(next)?.kind else { return None };
        weights.push(weight);
        next += 1;
        if weights.len() == WEIGHTS_MAX || rest.get(next).is_none_or(|token| token.text != "/") {
            break;
        }
        next += 1;
    }
    let grams = grams_in(&rest.get(next)?.text)?;
    let count = next + 1;
    let weights: Vec<f64> = weights.iter().map(|weight| (weight * grams).round()).collect();
    if !weights.iter().all(|grams| (1.0..=GRAMS_MAX).contains(grams)) || !(1..=10).contains(&pieces)
    {
        let wrong = "expected weights up to 1000 kg, and up to 10 of them at once";
        return Some((Measure::Wrong(wrong, "2 × 15 kg"), count));
    }
    let text = line.text[rest[at].at.start..rest[count - 1].at.end].to_owned();
    let grams = weights.iter().map(|&grams| grams as u32).collect();
    Some((Measure::Load(Load { text, grams, pieces, by_feel: false }), count))
}

/// `50 cm`.
fn height(rest: &[Token]) -> Option<(Measure, usize)> {
    let unit = rest[0].is_number() && rest.get(1).is_some_and(|token| token.text == "cm");
    unit.then_some((Measure::Height, 2))
}

/// `tempo 4-0-1-0`.
fn tempo(rest: &[Token]) -> Option<(Measure, usize)> {
    const WRONG: Measure = Measure::Wrong(
        "a tempo is four numbers of seconds: down, still at the bottom, up, still at the top",
        "tempo 4-0-1-0",
    );
    let word = any_phrase(rest, &["tempo"])?;
    let mut parts = [0; 4];
    for (index, part) in parts.iter_mut().enumerate() {
        let at = word + index * 2;
        let seconds = rest.get(at).and_then(Token::whole).filter(|&n| n <= TEMPO_MAX);
        let dash = index == 0 || rest.get(at - 1).is_some_and(Token::is_dash);
        match seconds {
            Some(seconds) if dash => *part = seconds as u8,
            _ => return Some((WRONG, word)),
        }
    }
    if parts == [0; 4] {
        return Some((WRONG, word + 7));
    }
    Some((Measure::Tempo(Tempo(parts)), word + 7))
}

fn sides(rest: &[Token]) -> Option<(Measure, usize)> {
    const EACH: &[&str] =
        &["per side", "each side", "a side", "per leg", "each leg", "per arm", "each arm"];
    if let Some(count) = any_phrase(rest, EACH) {
        return Some((Measure::Sides(Sides::PerSide), count));
    }
    any_phrase(rest, &["alternating"]).map(|count| (Measure::Sides(Sides::Alternating), count))
}
