//! Who stands on the wall's board, in groups: from the rows that the house ranked to lines of text. The
//! house alone ranks. As written and scaled stand side by side as equals (rule 4.3). As on the browser
//! wall (`web/src/wall/board.ts`).

use floorbell_core::ids::BlockIndex;
use floorbell_core::score::Scoring;
use floorbell_core::time::HouseTime;
use floorbell_core::wire::{Row, State};

use super::plan;
use crate::words::tally_words;

/// What is ranked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ranked {
    Piece(BlockIndex),
    WholeClass,
}

#[derive(Debug, PartialEq, Eq)]
pub(super) struct Group {
    pub(super) title: &'static str,
    pub(super) lines: Vec<Line>,
}

#[derive(Debug, PartialEq, Eq)]
pub(super) struct Line {
    pub(super) name: String,
    pub(super) at_home: bool,
    pub(super) place: Option<u32>,
    pub(super) tally: String,
    /// When the last round was done.
    pub(super) scored_at: Option<HouseTime>,
}

/// The groups that have people, each in the order of its places; who has no place yet comes last.
pub(super) fn groups(state: &State, ranked: Ranked) -> Vec<Group> {
    let rows = &state.now.rows;
    let names = short_names(rows);
    let group = |title, scaled| {
        let mut lines: Vec<Line> = rows
            .iter()
            .zip(&names)
            .filter(|(row, _)| row.scaled == scaled)
            .map(|(row, name)| line(state, row, name, ranked))
            .collect();
        lines.sort_by_key(|line| line.place.unwrap_or(u32::MAX));
        Group { title, lines }
    };
    let groups = [group("As written", false), group("Scaled", true)];
    groups.into_iter().filter(|group| !group.lines.is_empty()).collect()
}

fn line(state: &State, row: &Row, name: &str, ranked: Ranked) -> Line {
    let (place, tally, scored_at) = match ranked {
        Ranked::WholeClass => {
            let places = row
                .scores
                .iter()
                .map(|score| score.place.map_or_else(|| "–".to_owned(), |place| place.to_string()));
            (row.overall, places.collect::<Vec<_>>().join(" · "), None)
        }
        Ranked::Piece(block) => {
            let score = row.scores.iter().find(|score| score.block == block);
            let scoring = state.session.blocks.get(block.0 as usize).and_then(Scoring::of);
            let (main, rest) = tally_words(score.and_then(|score| score.tally), scoring);
            let tally = format!("{main} {rest}").trim().to_owned();
            (score.and_then(|it| it.place), tally, score.and_then(|it| it.last_at))
        }
    };
    Line { name: name.to_owned(), at_home: row.at_home, place, tally, scored_at }
}

/// Names as short as they can be told apart: `Mirela H.`; whole where two would read alike.
pub(super) fn short_names(rows: &[Row]) -> Vec<String> {
    let shorts: Vec<String> = rows.iter().map(|row| short_name(&row.name)).collect();
    let alone = |short: &String| shorts.iter().filter(|other| *other == short).count() == 1;
    let names = rows.iter().zip(&shorts);
    names.map(|(row, short)| if alone(short) { short } else { &row.name }.clone()).collect()
}

fn short_name(name: &str) -> String {
    let words: Vec<&str> = name.split_whitespace().collect();
    match words.as_slice() {
        [first, .., last] => {
            let initial: String = last.chars().take(1).collect();
            format!("{first} {initial}.")
        }
        _ => name.to_owned(),
    }
}

/// What is ranked when the class is done: the whole class, where there are several pieces, and each
/// piece, by turns.
pub(super) fn rankings(state: &State) -> Vec<Ranked> {
    let mut rankings: Vec<Ranked> = (0..)
        .zip(&state.session.blocks)
        .filter(|(_, block)| plan::has_board(Some(block)))
        .map(|(index, _)| Ranked::Piece(BlockIndex(index)))
        .collect();
    if rankings.len() > 1 {
        rankings.insert(0, Ranked::WholeClass);
    }
    rankings
}

/// What is ranked, in words: a piece, or `Whole class: places in First tide · Second tide`.
pub(super) fn ranked_words(state: &State, ranked: Ranked) -> String {
    let title = |ranked| match ranked {
        Ranked::Piece(block) => Some(plan::title(state, block)),
        Ranked::WholeClass => None,
    };
    if let Some(title) = title(ranked) {
        return title.to_owned();
    }
    let pieces: Vec<&str> = rankings(state).into_iter().filter_map(title).collect();
    format!("Whole class: places in {}", pieces.join(" · "))
}

#[cfg(test)]
mod tests {
    use floorbell_core::class::clock::Phase;

    use super::*;
    use crate::testing::{clock, rounds, row, state};

    const SHEET: &str = "# T\n\n## First tide: AMRAP 4 min\n\n- 5 squat\n\n## Rest 1 min\n\n\
                         ## Second tide: AMRAP 4 min\n\n- 5 squat\n";
    const FIRST: Ranked = Ranked::Piece(BlockIndex(0));

    fn class(rows: Vec<Row>) -> State {
        let mut state = state(SHEET, clock(Phase::Gathering));
        state.now.rows = rows;
        state
    }

    fn told(groups: &[Group]) -> Vec<String> {
        let line = |line: &Line| {
            let place = line.place.map(|place| place.to_string()).unwrap_or_default();
            format!("{place} {} {}", line.name, line.tally).trim().to_owned()
        };
        let lines = |group: &Group| group.lines.iter().map(line).collect::<Vec<_>>().join(", ");
        groups.iter().map(|group| format!("{}: {}", group.title, lines(group))).collect()
    }

    #[test]
    fn each_group_stands_by_its_places_and_who_has_none_last() {
        let scaled = Row { scaled: true, ..row("Di", 0, Some(1), Some(rounds(9, 0))) };
        let state = class(vec![
            row("Ada", 0, None, None),
            row("Bo", 0, Some(2), Some(rounds(5, 0))),
            row("Cy", 0, Some(1), Some(rounds(5, 12))),
            scaled,
        ]);
        assert_eq!(
            told(&groups(&state, FIRST)),
            ["As written: 1 Cy 5 + 12, 2 Bo 5, Ada", "Scaled: 1 Di 9"]
        );
        assert_eq!(
            told(&groups(&state, Ranked::WholeClass)),
            ["As written: 1 Cy 1, 2 Bo 2, Ada –", "Scaled: 1 Di 1"]
        );
        assert!(groups(&class(Vec::new()), FIRST).is_empty());
    }

    #[test]
    fn names_are_shortened_while_they_can_be_told_apart() {
        let names = ["Mirela Halvorsen", "Bo Weiss", "Bo Wolf", "Ines", "C", ""];
        let rows: Vec<Row> = names.iter().map(|name| row(name, 0, None, None)).collect();
        assert_eq!(short_names(&rows), ["Mirela H.", "Bo Weiss", "Bo Wolf", "Ines", "C", ""]);
    }

    #[test]
    fn when_all_is_done_the_whole_class_comes_first() {
        let state = class(Vec::new());
        let words: Vec<String> =
            rankings(&state).into_iter().map(|ranked| ranked_words(&state, ranked)).collect();
        assert_eq!(
            words,
            ["Whole class: places in First tide · Second tide", "First tide", "Second tide"]
        );
    }
}
