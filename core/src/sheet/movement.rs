//! Movement lines and what is nested under them. A line is amounts, loads, heights, a tempo and
//! sides in any order; the words that are none of these are the movement's name.

use core::ops::Range;

use super::clause::unit;
use super::outline::{Item, Line};
use super::problem::Problems;
use super::words::{Kind, Token, any_phrase, colon, length, phrase, tokens};
use crate::session::{
    Amount, Load, Movement, MovementOption, OptionSide, Reason, Sides, Tempo, Unit,
};

/// Options of one movement: more than anyone reads on a phone between two blocks.
const OPTIONS_MAX: usize = 20;
/// Reps, metres, calories or seconds of one movement in one round.
const COUNT_MAX: f64 = 50_000.0;
/// Grams that one thing weighs at most: a tonne.
const GRAMS_MAX: f64 = 1_000_000.0;
/// Grams in a pound (exact: international avoirdupois pound).
const GRAMS_PER_POUND: f64 = 453.592_37;
/// Seconds of one part of a rep.
const TEMPO_MAX: u32 = 60;

/// What one line says, before it becomes a movement or an option.
#[derive(Default)]
struct Written {
    name: String,
    amount: Option<Amount>,
    sides: Sides,
    load: Option<Load>,
    height: Option<String>,
    tempo: Option<Tempo>,
}

/// One thing that a line says, with the tokens that it takes.
enum Piece {
    Amount(Amount),
    Sides(Sides),
    Load(Load),
    Height,
    Tempo(Tempo),
    /// A way of writing that cannot be kept: what to say, and what works.
    Wrong(&'static str, &'static str),
}

/// Reads a list item of a block.
pub(super) fn movement(item: &Item, problems: &mut Problems<'_>) -> Option<Movement> {
    let line = &item.line;
    let written = written(line, 0..line.text.len(), true, problems);
    if written.name.is_empty() {
        let message = "a movement has a name; here is none";
        problems.error(line.whole(), message, "11 goblet squat 16 kg");
        return None;
    }
    if written.name.eq_ignore_ascii_case("hold") {
        let message = "say which position is held (to hold is what the clock does)";
        problems.error(line.whole(), message, "plank 20 s");
    }
    let mut movement = Movement {
        name: written.name,
        amount: written.amount,
        sides: written.sides,
        load: written.load,
        height: written.height,
        tempo: written.tempo,
        standard: None,
        cues: Vec::new(),
        options: Vec::new(),
    };
    for nested in &item.nested {
        detail(nested, &mut movement, problems);
    }
    if movement.options.len() > OPTIONS_MAX {
        let message =
            format!("{} options; a movement has up to {OPTIONS_MAX}", movement.options.len());
        problems.error(line.whole(), message, "keep those that serve a reason of their own");
    }
    Some(movement)
}

/// Reads one line under a movement: its standard, a cue, or an option.
fn detail(item: &Item, movement: &mut Movement, problems: &mut Problems<'_>) {
    const EXAMPLE: &str = "easier (mechanics): 11 squat to box 45 cm";
    let line = &item.line;
    if let Some(deeper) = item.nested.first() {
        let message = "an option is one line; nothing stands under it";
        problems.error(deeper.line.whole(), message, EXAMPLE);
    }
    let (key, value) = match colon(&line.text) {
        Some(colon) => (0..colon, colon + 1..line.text.len()),
        None => (0..0, 0..line.text.len()),
    };
    let text = line.text[value.clone()].trim().to_owned();
    if text.is_empty() {
        problems.error(line.whole(), "nothing stands here after the colon", EXAMPLE);
        return;
    }
    match line.text[key.clone()].trim().to_lowercase().as_str() {
        "standard" => movement.standard = Some(text),
        "cue" => movement.cues.push(text),
        "cues" => movement.cues.extend(parts(&text)),
        _ => {
            let serves = serves(line, key, problems);
            movement.options.push(option(line, value, serves, movement, problems));
        }
    }
}

/// Several things said in one line, parted by semicolons.
pub(super) fn parts(text: &str) -> impl Iterator<Item = String> + '_ {
    text.split(';').map(str::trim).filter(|part| !part.is_empty()).map(str::to_owned)
}

/// What an option's words before the colon say: which way it goes, and why it is there.
fn serves(
    line: &Line,
    key: Range<usize>,
    problems: &mut Problems<'_>,
) -> (Option<OptionSide>, Vec<Reason>) {
    const EXAMPLE: &str = "sideways (no running, low impact): 15 cal row";
    let tokens = tokens(&line.text, key);
    let (mut side, mut reasons) = (None, Vec::new());
    let mut index = 0;
    while index < tokens.len() {
        let rest = &tokens[index..];
        if let Some((reason, count)) = reason(rest) {
            reasons.push(reason);
            index += count;
            continue;
        }
        match tokens[index].text.as_str() {
            "easier" => side = Some(OptionSide::Easier),
            "sideways" => side = Some(OptionSide::Sideways),
            "harder" => side = Some(OptionSide::Harder),
            "option" | "or" | "and" | "for" | "," | ";" | "(" | ")" | "/" | "+" => {}
            _ => {
                let at = line.source(tokens[index].at.clone());
                let message = format!(
                    "expected standard, cue, easier, sideways, harder or a reason; `{}` is none",
                    tokens[index].text
                );
                problems.error(at, message, EXAMPLE);
                break;
            }
        }
        index += 1;
    }
    reasons.sort_unstable();
    reasons.dedup();
    let gentler = reasons.iter().any(|r| matches!(r, Reason::Lighter | Reason::Mechanics));
    if side.is_none() && reasons.is_empty() {
        let message = "this option does not say which reason it serves";
        problems.warn(line.whole(), message, "low impact: step-up 40 cm");
    }
    (side.or(gentler.then_some(OptionSide::Easier)), reasons)
}

fn reason(rest: &[Token]) -> Option<(Reason, usize)> {
    const REASONS: &[(&str, Reason)] = &[
        ("no running", Reason::NoRunning),
        ("no overhead", Reason::NoOverhead),
        ("low impact", Reason::LowImpact),
        ("low-impact", Reason::LowImpact),
        ("mechanics", Reason::Mechanics),
        ("gear", Reason::Gear),
        ("lighter", Reason::Lighter),
        ("at home", Reason::AtHome),
    ];
    REASONS.iter().find_map(|(words, reason)| Some((*reason, phrase(rest, words)?)))
}

/// Reads an option; what is left out of it is as in the movement.
fn option(
    line: &Line,
    value: Range<usize>,
    (side, reasons): (Option<OptionSide>, Vec<Reason>),
    movement: &Movement,
    problems: &mut Problems<'_>,
) -> MovementOption {
    // What counts as one stands after a semicolon.
    let semicolon = line.text[value.clone()].find(';').map(|at| value.start + at);
    let counts_as = semicolon.map(|at| line.text[at + 1..value.end].trim().to_owned());
    let end = semicolon.unwrap_or(value.end);
    let written = written(line, value.start..end, false, problems);
    let name = if written.name.is_empty() { movement.name.clone() } else { written.name };
    MovementOption {
        name,
        amount: written.amount,
        sides: written.sides,
        load: written.load,
        reasons,
        side: side.unwrap_or_default(),
        counts_as: counts_as.filter(|text| !text.is_empty()),
    }
}

/// Takes a part of a line to pieces. Height and tempo stay in the name unless `apart`, for an
/// option has no place of its own for them.
fn written(line: &Line, part: Range<usize>, apart: bool, problems: &mut Problems<'_>) -> Written {
    let tokens = tokens(&line.text, part);
    let mut written = Written::default();
    let mut name = Name::default();
    let mut index = 0;
    while index < tokens.len() {
        let rest = &tokens[index..];
        let leading = name.text.is_empty() && written.amount.is_none();
        let found = piece(rest, line).or_else(|| leading.then(|| bare_reps(rest)).flatten());
        let Some((found, count)) = found else {
            name.push(line, &tokens[index]);
            index += 1;
            continue;
        };
        let at = tokens[index].at.start..tokens[index + count - 1].at.end;
        let text = &line.text[at.clone()];
        let source = line.source(at.clone());
        let twice = match found {
            Piece::Amount(amount) => written.amount.replace(amount).is_some(),
            Piece::Load(load) => written.load.replace(load).is_some(),
            Piece::Sides(sides) => {
                written.sides = sides;
                false
            }
            Piece::Height if apart => written.height.replace(text.to_owned()).is_some(),
            Piece::Tempo(tempo) if apart => written.tempo.replace(tempo).is_some(),
            Piece::Height | Piece::Tempo(_) => {
                name.push_range(line, at);
                false
            }
            Piece::Wrong(message, example) => {
                problems.error(source.clone(), message, example);
                false
            }
        };
        if twice {
            let message = "this line says the same kind of thing twice; the first is further left";
            problems.error(source, message, "12 dumbbell press 2 × 10 kg");
        }
        index += count;
    }
    written.name = name.finish();
    if let Some(number) = name_number(&tokens, &written.name) {
        let message = format!("`{}` has no unit, so it is taken as part of the name", number.text);
        problems.warn(
            line.source(number.at.clone()),
            message,
            "16 kg, 200 m, 12 cal, 20 s or 50 cm",
        );
    }
    written
}

/// The first number that ended up in a name.
fn name_number<'t>(tokens: &'t [Token], name: &str) -> Option<&'t Token> {
    let has = name.contains(|c: char| c.is_ascii_digit());
    let bare = |index: usize| {
        let unit = tokens.get(index + 1).map_or("", |next| next.text.as_str());
        let dash = index > 0 && matches!(tokens[index - 1].text.as_str(), "-" | "–");
        tokens[index].is_number() && index > 0 && !dash && !is_measure(unit)
    };
    (0..tokens.len()).find(|&index| has && bare(index)).map(|index| &tokens[index])
}

fn is_measure(word: &str) -> bool {
    unit(word).is_some()
        || matches!(word, "cm" | "km" | "min" | "-" | "–" | "/" | "×" | "x")
        || grams_in(word).is_some()
}

/// The words of a line that are its name, as written.
#[derive(Default)]
struct Name {
    text: String,
    end: usize,
}

impl Name {
    fn push(&mut self, line: &Line, token: &Token) {
        self.push_range(line, token.at.clone());
    }

    fn push_range(&mut self, line: &Line, at: Range<usize>) {
        let touches = self.end == at.start;
        if !touches && !self.text.is_empty() {
            self.text.push(' ');
        }
        self.text.push_str(&line.text[at.clone()]);
        self.end = at.end;
    }

    /// The name without the signs that parted it from amounts and loads.
    fn finish(self) -> String {
        let signs = |c: char| c.is_whitespace() || matches!(c, ',' | ';' | '@' | '.' | ':' | '–');
        let name = self.text.replace(", ,", ",").replace(" ,", ",").replace("( )", "");
        name.trim_matches(signs).trim_start_matches(['×', '-']).trim().to_owned()
    }
}

fn piece(rest: &[Token], line: &Line) -> Option<(Piece, usize)> {
    load(rest, line)
        .or_else(|| unclear(rest))
        .or_else(|| amount(rest))
        .or_else(|| height(rest))
        .or_else(|| tempo(rest))
        .or_else(|| sides(rest))
}

/// `11` at the start of a line, and `11 ×`.
fn bare_reps(rest: &[Token]) -> Option<(Piece, usize)> {
    let Kind::Number(count) = rest[0].kind else { return None };
    let times = rest.get(1).is_some_and(Token::is_times);
    Some((counted(count, Unit::Reps), 1 + usize::from(times)))
}

fn counted(count: f64, unit: Unit) -> Piece {
    if !(1.0..=COUNT_MAX).contains(&count) || count.fract() != 0.0 {
        return Piece::Wrong("expected a whole number from 1 to 50000", "11 goblet squat");
    }
    Piece::Amount(Amount { count: count as u32, unit })
}

/// `200 m`, `1.5 km`, `12 cal`, `20 s`, `1:30`, `11 reps`.
fn amount(rest: &[Token]) -> Option<(Piece, usize)> {
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
fn unclear(rest: &[Token]) -> Option<(Piece, usize)> {
    let [first, sign, second, ..] = rest else { return None };
    if !(first.is_number() && second.is_number()) {
        return None;
    }
    match sign.text.as_str() {
        "/" => Some((
            Piece::Wrong(
                "one amount stands here; write the other as an option",
                "lighter: 9 cal row",
            ),
            3,
        )),
        "-" | "–" => {
            Some((Piece::Wrong("one amount stands here, not a span of them", "10 push-up"), 3))
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
fn load(rest: &[Token], line: &Line) -> Option<(Piece, usize)> {
    let at = usize::from(rest[0].text == "@");
    if let Some(count) = any_phrase(&rest[at..], &["by feel"]) {
        let open = rest.get(at + count).is_some_and(|token| token.text == "(");
        let close = rest.iter().position(|token| token.text == ")").filter(|_| open);
        let count = close.map_or(at + count, |close| close + 1);
        let text = line.text[rest[at].at.start..rest[count - 1].at.end].to_owned();
        let load = Load { text, grams: Vec::new(), pieces: 1, by_feel: true };
        return Some((Piece::Load(load), count));
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
        if rest.get(next).is_none_or(|token| token.text != "/") {
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
        return Some((Piece::Wrong(wrong, "2 × 15 kg"), count));
    }
    let text = line.text[rest[at].at.start..rest[count - 1].at.end].to_owned();
    let grams = weights.iter().map(|&grams| grams as u32).collect();
    Some((Piece::Load(Load { text, grams, pieces, by_feel: false }), count))
}

/// `50 cm`.
fn height(rest: &[Token]) -> Option<(Piece, usize)> {
    let unit = rest[0].is_number() && rest.get(1).is_some_and(|token| token.text == "cm");
    unit.then_some((Piece::Height, 2))
}

/// `tempo 4-0-1-0`.
fn tempo(rest: &[Token]) -> Option<(Piece, usize)> {
    const WRONG: Piece = Piece::Wrong(
        "a tempo is four numbers of seconds: down, hold at the bottom, up, hold at the top",
        "tempo 4-0-1-0",
    );
    let word = any_phrase(rest, &["tempo"])?;
    let mut parts = [0; 4];
    for (index, part) in parts.iter_mut().enumerate() {
        let at = word + index * 2;
        let seconds = rest.get(at).and_then(Token::whole).filter(|&n| n <= TEMPO_MAX);
        let dash = index == 0 || matches!(rest[at - 1].text.as_str(), "-" | "–");
        match seconds {
            Some(seconds) if dash => *part = seconds as u8,
            _ => return Some((WRONG, word)),
        }
    }
    if parts == [0; 4] {
        return Some((WRONG, word + 7));
    }
    Some((Piece::Tempo(Tempo(parts)), word + 7))
}

fn sides(rest: &[Token]) -> Option<(Piece, usize)> {
    const EACH: &[&str] =
        &["per side", "each side", "a side", "per leg", "each leg", "per arm", "each arm"];
    if let Some(count) = any_phrase(rest, EACH) {
        return Some((Piece::Sides(Sides::PerSide), count));
    }
    any_phrase(rest, &["alternating"]).map(|count| (Piece::Sides(Sides::Alternating), count))
}
