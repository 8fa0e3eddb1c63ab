//! Movement lines and what is nested under them. A line is amounts, loads, heights, a tempo and
//! sides in any order; the words that are none of these are the movement's name.

use core::ops::Range;

use super::measure::{Measure, bare_reps, is_unit, measure};
use super::outline::{Item, Line};
use super::problem::Problems;
use super::words::{Token, colon, phrase, tokens};
use crate::session::{Amount, Load, Movement, MovementOption, OptionSide, Reason, Sides, Tempo};

/// Options of one movement: more than anyone reads on a phone between two blocks.
const OPTIONS_MAX: usize = 20;
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

/// Reads a list item of a block.
pub(super) fn movement(item: &Item, problems: &mut Problems<'_>) -> Option<Movement> {
    let line = &item.line;
    super::check_name(line, problems);
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
        let found = measure(rest, line).or_else(|| leading.then(|| bare_reps(rest)).flatten());
        let Some((found, count)) = found else {
            name.push(line, &tokens[index]);
            index += 1;
            continue;
        };
        let at = tokens[index].at.start..tokens[index + count - 1].at.end;
        let text = &line.text[at.clone()];
        let source = line.source(at.clone());
        let twice = match found {
            Measure::Amount(amount) => written.amount.replace(amount).is_some(),
            Measure::Load(load) => written.load.replace(load).is_some(),
            Measure::Sides(sides) => {
                written.sides = sides;
                false
            }
            Measure::Height if apart => written.height.replace(text.to_owned()).is_some(),
            Measure::Tempo(tempo) if apart => written.tempo.replace(tempo).is_some(),
            Measure::Height | Measure::Tempo(_) => {
                name.push_range(line, at);
                false
            }
            Measure::Wrong(message, example) => {
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
        let dash = index > 0 && tokens[index - 1].is_dash();
        tokens[index].is_number() && index > 0 && !dash && !is_unit(unit)
    };
    (0..tokens.len()).find(|&index| has && bare(index)).map(|index| &tokens[index])
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
