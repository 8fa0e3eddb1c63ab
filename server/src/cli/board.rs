//! The board as text, for the terminal that a demonstration runs in.

use std::fmt::Write as _;

use floorbell_core::score::Tally;
use floorbell_core::wire::{Row, Score, State};

/// Every piece with those who have a tally in it, then the places over the whole class. As written
/// and scaled have places of their own, in one list.
pub(super) fn text(state: &State) -> String {
    let mut text = String::new();
    let rows = &state.now.rows;
    let pieces = rows.first().map(|row| &*row.scores).unwrap_or_default();
    for Score { block, .. } in pieces {
        let name = state.session.blocks.get(block.0 as usize).map_or("", |block| &block.name);
        let _ = writeln!(text, "\n{name}");
        let mut lines: Vec<(&Row, u32, Tally)> = rows
            .iter()
            .filter_map(|row| {
                let score = row.scores.iter().find(|score| score.block == *block)?;
                Some((row, score.place?, score.tally?))
            })
            .collect();
        lines.sort_by(|(_, _, tally), (_, _, other)| tally.rank(other));
        for (row, place, tally) in lines {
            let _ = writeln!(text, "{place:>4}  {:>9}  {}", words(&tally), who(row));
        }
    }
    let mut places: Vec<(u32, &Row)> =
        rows.iter().filter_map(|row| Some((row.overall?, row))).collect();
    places.sort_by_key(|(place, _)| *place);
    let _ = writeln!(text, "\nThe whole class");
    for (place, row) in places {
        let _ = writeln!(text, "{place:>4}  {}", who(row));
    }
    text
}

fn who(row: &Row) -> String {
    let name = if row.name.is_empty() { "(no name shown)" } else { &row.name };
    let scaled = if row.scaled { ", scaled" } else { "" };
    let home = if row.at_home { ", at home" } else { "" };
    format!("{name}{scaled}{home}")
}

/// A tally in a few characters.
fn words(tally: &Tally) -> String {
    match tally {
        Tally::Rounds { rounds, extra } => format!("{rounds} + {extra}"),
        Tally::Finished { time } => time.to_string(),
        Tally::AtCap { reps } => format!("cap, {reps}"),
        Tally::Load { grams } => format!("{} kg", f64::from(*grams) / 1_000.0),
        Tally::Count { amount } => amount.to_string(),
        Tally::Made { made, of } => format!("{made} of {of}"),
        Tally::Done => "done".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use floorbell_core::time::Span;

    use super::*;

    #[test]
    fn a_tally_reads_as_it_is_said_on_the_floor() {
        for (tally, expected) in [
            (Tally::Rounds { rounds: 5, extra: 23 }, "5 + 23"),
            (Tally::Finished { time: Span::from_secs(425) }, "7:05"),
            (Tally::AtCap { reps: 87 }, "cap, 87"),
            (Tally::Load { grams: 62_500 }, "62.5 kg"),
            (Tally::Load { grams: 60_000 }, "60 kg"),
            (Tally::Count { amount: 885 }, "885"),
            (Tally::Made { made: 7, of: 10 }, "7 of 10"),
            (Tally::Done, "done"),
        ] {
            assert_eq!(words(&tally), expected);
        }
    }
}
