//! Places on the board (rule 4).

use core::cmp::Ordering;

/// Places by standard competition ranking: equals share a place and the next one is skipped
/// (1, 2, 2, 4). Who has no tally is listed without a place. `first` orders two tallies, `Less` for
/// the better one; it is a total order.
pub fn places<T>(
    tallies: &[Option<T>],
    mut first: impl FnMut(&T, &T) -> Ordering,
) -> Vec<Option<u32>> {
    let mut order: Vec<(usize, &T)> =
        tallies.iter().enumerate().filter_map(|(at, tally)| Some((at, tally.as_ref()?))).collect();
    order.sort_by(|(_, a), (_, b)| first(a, b));
    let mut places = vec![None; tallies.len()];
    let mut place = 0;
    for (ahead, &(at, tally)) in order.iter().enumerate() {
        let shared =
            ahead.checked_sub(1).is_some_and(|before| first(order[before].1, tally).is_eq());
        if !shared {
            place = ahead as u32 + 1;
        }
        places[at] = Some(place);
    }
    places
}

/// Places over several pieces: the sum of places, least first; equal sums by the better single best
/// place, then the next best, else shared (rule 4.4). `by_piece` holds each piece's places, one for
/// each person; a missed piece counts as the number who scored it plus one, and a piece that nobody
/// scored counts for nobody. Who has no place in any piece gets none.
pub fn whole_class(by_piece: &[Vec<Option<u32>>]) -> Vec<Option<u32>> {
    let people = by_piece.first().map_or(0, Vec::len);
    let scored: Vec<_> =
        by_piece.iter().filter(|piece| piece.iter().any(Option::is_some)).collect();
    let totals: Vec<_> = (0..people)
        .map(|person| {
            scored.iter().any(|piece| piece[person].is_some()).then(|| {
                let mut own: Vec<u32> = scored
                    .iter()
                    .map(|piece| piece[person].unwrap_or(piece.iter().flatten().count() as u32 + 1))
                    .collect();
                own.sort_unstable();
                (own.iter().sum::<u32>(), own)
            })
        })
        .collect();
    places(&totals, Ord::cmp)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::Tally;

    fn check_places(numbers: &[u32], expected: &[u32]) {
        let tallies: Vec<_> = numbers.iter().map(|&n| Some(n)).collect();
        let places: Vec<_> = places(&tallies, |a, b| b.cmp(a)).into_iter().flatten().collect();
        assert_eq!(places, expected);
    }

    /// `scipy.stats.rankdata(-x, "min")` of scipy 1.17.1.
    #[test]
    fn equals_share_a_place_and_the_next_is_skipped() {
        check_places(&[100, 90, 90, 80], &[1, 2, 2, 4]);
        check_places(&[1, 1, 1], &[1, 1, 1]);
        check_places(&[], &[]);
    }

    #[test]
    fn nobody_is_placed_without_a_tally() {
        let tallies = [None, Some(3), Some(5)];
        assert_eq!(places(&tallies, |a: &u32, b| b.cmp(a)), [None, Some(2), Some(1)]);
    }

    #[test]
    fn rounds_come_before_extra_reps_and_finishers_before_the_cap() {
        let rounds = |rounds, extra| Tally::Rounds { rounds, extra };
        let finished = |secs| Tally::Finished { time: crate::time::Span::from_secs(secs) };
        let at_cap = |reps| Tally::AtCap { reps };
        for (better, other) in [
            (rounds(6, 0), rounds(5, 25)),
            (rounds(5, 12), rounds(5, 11)),
            (finished(300), finished(301)),
            (finished(720), at_cap(500)),
            (at_cap(90), at_cap(89)),
            (Tally::Load { grams: 60_000 }, Tally::Load { grams: 57_500 }),
            (Tally::Count { amount: 885 }, Tally::Count { amount: 880 }),
        ] {
            assert_eq!(better.rank(&other), Ordering::Less, "{better:?} before {other:?}");
            assert_eq!(other.rank(&better), Ordering::Greater, "{other:?} after {better:?}");
            assert_eq!(better.rank(&better), Ordering::Equal);
        }
    }

    fn check_whole(by_piece: &[&[u32]], expected: &[u32]) {
        let by_piece: Vec<Vec<_>> = by_piece
            .iter()
            .map(|piece| piece.iter().map(|&place| (place > 0).then_some(place)).collect())
            .collect();
        let places: Vec<_> = whole_class(&by_piece).into_iter().flatten().collect();
        assert_eq!(places, expected);
    }

    #[test]
    fn sums_of_places_tie_on_best_place_then_next_best() {
        check_whole(&[&[1, 2, 3, 4], &[3, 2, 1, 4]], &[1, 3, 1, 4]);
    }

    /// Event 1: A 1, B 2, C 2, D 4; event 2: A 3, B 1, C 2, D 4. Worked by hand.
    #[test]
    fn sum_of_placings() {
        check_whole(&[&[1, 2, 2, 4], &[3, 1, 2, 4]], &[2, 1, 3, 4]);
    }

    #[test]
    fn a_missed_piece_counts_one_more_than_those_who_scored_it() {
        let first: Vec<_> = (1..=13).map(Some).collect();
        let mut second: Vec<_> = (1..=12).map(Some).collect();
        second.insert(0, None);
        // The winner of the first has 1 + 13 = 14, as has who came 8th and 6th, for instance.
        let places = whole_class(&[first, second]);
        assert_eq!(places[1], Some(1), "2 + 1 = 3");
        assert_eq!(places[0], Some(7), "six people have less than 14, and nobody a better first");
    }

    #[test]
    fn nobody_scored_so_nobody_is_placed() {
        assert_eq!(whole_class(&[vec![None, None]]), [None, None]);
    }
}
