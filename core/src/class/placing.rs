//! Places on the rows of a class: piece by piece, window by window, and over the whole class, inside
//! each group of those who do it as written and those who do it scaled (rules 4.1 to 4.4).

use std::collections::BTreeMap;

use super::view::Ranked;
use crate::score::Tally;
use crate::score::board::{places, whole_class};
use crate::session::{Sharing, WholeClass, WindowsRanked};
use crate::time::HouseTime;
use crate::wire::{Row, Score};

/// Gives all rows their places.
pub(super) fn place(rows: &mut [Row], pieces: &[Ranked<'_>], whole: WholeClass) {
    // Each piece's places, one for each row.
    let mut by_piece = Vec::new();
    for (number, ranked) in pieces.iter().enumerate() {
        by_piece.extend(place_piece(rows, number, ranked));
    }
    for scaled in [false, true] {
        let group = group(rows, scaled);
        let own: Vec<Vec<_>> = by_piece.iter().map(|piece| pick(piece, &group)).collect();
        let overall = match whole {
            WholeClass::Places => whole_class(&own),
            WholeClass::Reps => {
                let reps: Vec<_> = group.iter().map(|&at| rows[at].total_reps).collect();
                places(&reps, |a, b| b.cmp(a))
            }
        };
        for (&at, overall) in group.iter().zip(overall) {
            rows[at].overall = overall;
        }
    }
}

fn group(rows: &[Row], scaled: bool) -> Vec<usize> {
    (0..rows.len()).filter(|&at| rows[at].scaled == scaled).collect()
}

fn pick<T: Copy>(all: &[T], group: &[usize]) -> Vec<T> {
    group.iter().map(|&at| all[at]).collect()
}

/// Places one piece, and gives what of it counts for the whole class: the piece, or each of its
/// windows where they are ranked one by one.
fn place_piece(rows: &mut [Row], number: usize, ranked: &Ranked<'_>) -> Vec<Vec<Option<u32>>> {
    let units = units(rows, ranked.piece.sharing);
    let first_there = ranked.piece.first_there_splits_ties;
    let mut by_window = Vec::new();
    for window in 0..rows.first().map_or(0, |row| row.scores[number].windows.len()) {
        let placed = place_units(rows, &units, |row| {
            Some((row.scores[number].windows[window].tally?, None))
        });
        for (row, place) in rows.iter_mut().zip(&placed) {
            row.scores[number].windows[window].place = *place;
        }
        by_window.push(placed);
    }
    let together = place_units(rows, &units, |row| {
        let Score { tally, last_at, .. } = &row.scores[number];
        Some(((*tally)?, last_at.filter(|_| first_there)))
    });
    let one_by_one = ranked.piece.windows == WindowsRanked::OneByOne && !by_window.is_empty();
    let placed = if one_by_one { sum_of_places(rows, &units, &by_window) } else { together };
    for (row, place) in rows.iter_mut().zip(&placed) {
        row.scores[number].place = *place;
    }
    if one_by_one { by_window } else { vec![placed] }
}

/// Who is placed as one: everyone alone, or a team together. A team with anyone scaled is scaled.
fn units(rows: &[Row], sharing: Sharing) -> Vec<(bool, Vec<usize>)> {
    let mut units: Vec<(bool, Vec<usize>)> = Vec::new();
    let mut of_team: BTreeMap<u32, usize> = BTreeMap::new();
    for (at, row) in rows.iter().enumerate() {
        let team = row.team.filter(|_| sharing != Sharing::Alone);
        let known = team.and_then(|team| of_team.get(&team).copied());
        if let Some(unit) = known {
            units[unit].0 |= row.scaled;
            units[unit].1.push(at);
        } else {
            of_team.extend(team.map(|team| (team, units.len())));
            units.push((row.scaled, vec![at]));
        }
    }
    units
}

/// A tally, and when it was reached where that splits equals.
type Reached = (Tally, Option<HouseTime>);

/// One place for each row, worked out inside each group.
fn place_units(
    rows: &[Row],
    units: &[(bool, Vec<usize>)],
    reached: impl Fn(&Row) -> Option<Reached>,
) -> Vec<Option<u32>> {
    by_group(rows, units, |group| {
        let tallies: Vec<_> = group.iter().map(|unit| reached(&rows[unit[0]])).collect();
        places(&tallies, |(tally, there), (other, other_there)| {
            tally.rank(other).then(there.cmp(other_there))
        })
    })
}

/// The same by the sum of the places in each window.
fn sum_of_places(
    rows: &[Row],
    units: &[(bool, Vec<usize>)],
    by_window: &[Vec<Option<u32>>],
) -> Vec<Option<u32>> {
    by_group(rows, units, |group| {
        let firsts: Vec<usize> = group.iter().map(|unit| unit[0]).collect();
        let own: Vec<Vec<_>> = by_window.iter().map(|window| pick(window, &firsts)).collect();
        whole_class(&own)
    })
}

fn by_group(
    rows: &[Row],
    units: &[(bool, Vec<usize>)],
    place: impl Fn(&[&Vec<usize>]) -> Vec<Option<u32>>,
) -> Vec<Option<u32>> {
    let mut placed = vec![None; rows.len()];
    for scaled in [false, true] {
        let group: Vec<_> =
            units.iter().filter(|unit| unit.0 == scaled).map(|(_, unit)| unit).collect();
        for (unit, place) in group.iter().zip(place(&group)) {
            for &at in *unit {
                placed[at] = place;
            }
        }
    }
    placed
}
