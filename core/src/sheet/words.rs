//! Words, numbers and lengths of time: the smallest things that a line of a sheet is made of.

use core::ops::Range;

use crate::time::Span;

/// One word, number or sign of a line.
#[derive(Clone, Debug)]
pub(super) struct Token {
    /// In lower case.
    pub(super) text: String,
    /// Where it stands in the line.
    pub(super) at: Range<usize>,
    pub(super) kind: Kind,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Kind {
    /// `12`, `1.5`.
    Number(f64),
    /// `1:30`, as seconds.
    Clock(i64),
    /// `goblet`, `one-arm`, `warm-up`.
    Word,
    /// Any other character.
    Sign,
}

/// Takes a part of a line to pieces.
pub(super) fn tokens(text: &str, part: Range<usize>) -> Vec<Token> {
    let mut found = Vec::new();
    let mut at = part.start;
    while let Some(first) = text[at..part.end].chars().next() {
        let rest = &text[at..part.end];
        let (length, kind) = if first.is_ascii_digit() {
            number(rest)
        } else if first.is_alphabetic() {
            (word(rest), Kind::Word)
        } else if rest.starts_with("...") {
            (3, Kind::Sign)
        } else {
            (first.len_utf8(), Kind::Sign)
        };
        if !first.is_whitespace() {
            let lower = rest[..length].to_lowercase();
            found.push(Token { text: lower, at: at..at + length, kind });
        }
        at += length;
    }
    found
}

/// The longest number or clock time that `text` begins with.
fn number(text: &str) -> (usize, Kind) {
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let mut length = digits(text);
    let mut kind = None;
    let mut seconds: Option<i64> = text[..length].parse().ok();
    // At most h:mm:ss; each further part has two digits.
    for _ in 0..2 {
        let tail = &text[length..];
        if !tail.starts_with(':') || digits(&tail[1..]) != 2 {
            break;
        }
        let part: i64 = tail[1..3].parse().unwrap_or(0);
        seconds = seconds.and_then(|whole| whole.checked_mul(60)?.checked_add(part));
        length += 3;
        kind = Some(Kind::Clock(seconds.unwrap_or(i64::MAX)));
    }
    if kind.is_none() && text[length..].starts_with('.') {
        let fraction = digits(&text[length + 1..]);
        length += if fraction > 0 { 1 + fraction } else { 0 };
    }
    (length, kind.unwrap_or_else(|| Kind::Number(text[..length].parse().unwrap_or(f64::INFINITY))))
}

/// How long the word is that `text` begins with: letters, digits after them, and hyphens and
/// apostrophes inside. The `x` of `8x20` is a word of its own.
fn word(text: &str) -> usize {
    let mut end = 0;
    if text.starts_with(['x', 'X']) && text[1..].starts_with(|c: char| c.is_ascii_digit()) {
        return 1;
    }
    for (at, c) in text.char_indices() {
        let next = at + c.len_utf8();
        let inside = matches!(c, '-' | '\'' | '’')
            && text[next..].chars().next().is_some_and(char::is_alphabetic);
        if !(c.is_alphanumeric() || inside) {
            break;
        }
        end = next;
    }
    end
}

impl Token {
    /// The number, where it is a whole one that fits.
    pub(super) fn whole(&self) -> Option<u32> {
        match self.kind {
            Kind::Number(n) if n.fract() == 0.0 && n <= f64::from(u32::MAX) => Some(n as u32),
            _ => None,
        }
    }

    pub(super) fn is_number(&self) -> bool {
        matches!(self.kind, Kind::Number(_))
    }

    /// Whether it stands between the numbers of a row.
    pub(super) fn is_dash(&self) -> bool {
        matches!(self.text.as_str(), "-" | "–")
    }

    /// Whether it stands between two factors.
    pub(super) fn is_times(&self) -> bool {
        matches!(self.text.as_str(), "×" | "x")
    }
}

/// How many tokens the words of `phrase` take at the start of `tokens`; none if they do not
/// stand there.
pub(super) fn phrase(tokens: &[Token], phrase: &str) -> Option<usize> {
    let mut count = 0;
    for word in phrase.split(' ') {
        if tokens.get(count)?.text != word {
            return None;
        }
        count += 1;
    }
    Some(count)
}

/// The first of `phrases` that `tokens` begin with: its length in tokens.
pub(super) fn any_phrase(tokens: &[Token], phrases: &[&str]) -> Option<usize> {
    phrases.iter().find_map(|words| phrase(tokens, words))
}

/// Seconds in a unit of time.
fn seconds_in(unit: &str) -> Option<f64> {
    Some(match unit {
        "s" | "sec" | "secs" | "second" | "seconds" => 1.0,
        "min" | "mins" | "minute" | "minutes" => 60.0,
        "h" | "hr" | "hour" | "hours" => 3600.0,
        _ => return None,
    })
}

/// A length of time at the start of `tokens` (`9 min`, `1 min 30 s`, `1:30`), with the tokens
/// that it takes.
pub(super) fn length(tokens: &[Token]) -> Option<(Span, usize)> {
    if let Kind::Clock(seconds) = tokens.first()?.kind {
        // `1:30 min` says the same as `1:30`.
        let unit = tokens.get(1).is_some_and(|t| matches!(t.text.as_str(), "min" | "minutes"));
        return Some((Span::from_secs(seconds.min(SECONDS_MAX)), 1 + usize::from(unit)));
    }
    let mut seconds = 0.0;
    let mut count = 0;
    while let Some(Kind::Number(n)) = tokens.get(count).map(|token| token.kind) {
        let Some(unit) = tokens.get(count + 1).and_then(|token| seconds_in(&token.text)) else {
            break;
        };
        seconds += n * unit;
        count += 2;
    }
    (count > 0).then(|| (Span::from_secs(seconds.min(SECONDS_MAX as f64).round() as i64), count))
}

/// More than any bound that a length is held against, so that a sum of lengths never overflows.
const SECONDS_MAX: i64 = 1_000_000;

/// The first colon of a line that is not inside a time such as `1:30`.
pub(super) fn colon(text: &str) -> Option<usize> {
    let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    let inside =
        |at: usize| digit(text[..at].chars().next_back()) && digit(text[at + 1..].chars().next());
    text.match_indices(':').map(|(at, _)| at).find(|&at| !inside(at))
}

/// The one of `known` that was probably meant by `word`: at most two letters differ, and no more
/// than one in three.
pub(super) fn meant<'k>(word: &str, known: &[&'k str]) -> Option<&'k str> {
    let letters = word.chars().count();
    let near = |known: &&&str| {
        // Most words are nowhere near, and their length alone tells.
        if letters.abs_diff(known.chars().count()) > 2 {
            return false;
        }
        let distance = distance(word, known);
        distance <= 2 && distance * 3 <= known.chars().count()
    };
    known.iter().filter(near).min_by_key(|known| distance(word, known)).copied()
}

/// How many letters must be put in, taken out or changed to make `a` into `b` (Levenshtein).
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().enumerate() {
        let mut diagonal = core::mem::replace(&mut row[0], i + 1);
        for (j, to) in b.iter().enumerate() {
            let change = diagonal + usize::from(from != *to);
            diagonal = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pieces(text: &str) -> Vec<Token> {
        tokens(text, 0..text.len())
    }

    #[test]
    fn lines_fall_into_words_numbers_and_signs() {
        for (text, expected) in [
            ("4x1:30, 20kg", "4|x|1:30|,|20|kg"),
            ("one-arm row 2 × 12.5 kg", "one-arm|row|2|×|12.5|kg"),
            ("20-16-12-…", "20|-|16|-|12|-|…"),
            ("4-8-...", "4|-|8|-|..."),
            ("Coach’s AMRAP: 9.", "coach’s|amrap|:|9|."),
        ] {
            let found: Vec<_> = pieces(text).into_iter().map(|token| token.text).collect();
            assert_eq!(found.join("|"), expected);
        }
    }

    #[test]
    fn lengths_of_time() {
        for (text, seconds, taken) in [
            ("9 min", 540, 2),
            ("90s rest", 90, 2),
            ("1 min 30 s", 90, 4),
            ("1:30 between", 90, 1),
            ("1:02:03", 3723, 1),
            ("1.5 min", 90, 2),
            ("99999999999999999999 h", SECONDS_MAX, 2),
        ] {
            assert_eq!(length(&pieces(text)), Some((Span::from_secs(seconds), taken)), "{text}");
        }
        assert_eq!(length(&pieces("9 goblets")), None);
    }

    #[test]
    fn misspelt_words_find_what_was_meant() {
        let known = ["amrap", "warm-up", "rest"];
        assert_eq!(meant("amrp", &known), Some("amrap"));
        assert_eq!(meant("warmup", &known), Some("warm-up"));
        assert_eq!(meant("east", &known), None);
        assert_eq!(meant("tide", &known), None);
    }
}
