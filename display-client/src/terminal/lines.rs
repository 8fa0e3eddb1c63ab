//! The wall in plain lines, one for each change: for logs, tests, and wherever there is no terminal.

use std::collections::HashMap;

use floorbell_core::ids::{AthleteId, BlockIndex, Revision, SegmentIndex};
use floorbell_core::score::Scoring;
use floorbell_core::session::layout::SegmentKind;
use floorbell_core::time::HouseTime;

use super::ALONE;
use super::plan::{next_line, phase_words, title, window_title};
use super::text::clean;
use super::wall::{Class, Page, Wall};
use crate::showing::{Hand, Showing, Standing};
use crate::words::{joined, tally_words};

/// Tells in lines what has changed since it told last.
#[derive(Debug, Default)]
pub struct Lines {
    headline: Option<Headline>,
    stopped: bool,
    alone: bool,
    said: Option<&'static str>,
    board: HashMap<(AthleteId, BlockIndex), String>,
}

/// What a line is made of again when it changes; digits alone are no change.
#[derive(Debug, PartialEq, Eq)]
enum Headline {
    /// The line is as good as what it says.
    Text(String),
    Standing {
        revision: Revision,
        index: SegmentIndex,
        kind: SegmentKind,
        waits: bool,
    },
}

impl Lines {
    /// A line for each change, each with the house time at which it is told.
    pub fn of(&mut self, wall: &Wall<'_>) -> Vec<String> {
        let mut told = Vec::new();
        if self.stopped != wall.stop.is_some() {
            self.stopped = !self.stopped;
            let one_line = |text: &str| text.lines().collect::<Vec<_>>().join(" ");
            told.extend(wall.stop.map(|text| joined(&["Stop", &one_line(text)])));
        }
        let (headline, text) = headline(wall);
        if self.headline.as_ref() != Some(&headline) {
            self.headline = Some(headline);
            told.push(text);
        }
        if self.alone != wall.alone {
            self.alone = wall.alone;
            told.push(if wall.alone { ALONE } else { "Connected again" }.to_owned());
        }
        let mut at = None;
        if let Page::Class(class) = &wall.page {
            at = Some(class.at);
            let said = class.said().filter(|_| matches!(class.showing, Showing::Standing(_)));
            if self.said != said {
                self.said = said;
                told.extend(said.map(str::to_owned));
            }
            self.board(class, &mut told);
        }
        told.iter().map(|text| format!("{}  {}", stamp(at), clean(text))).collect()
    }

    /// The rows of the board that have changed; who has no tally yet stands on none.
    fn board(&mut self, class: &Class<'_>, told: &mut Vec<String>) {
        for row in &class.state.now.rows {
            for score in &row.scores {
                let block = class.state.session.blocks.get(score.block.0 as usize);
                let (main, rest) = tally_words(score.tally, block.and_then(Scoring::of));
                let place = score.place.map(|place| place.to_string()).unwrap_or_default();
                let tally = format!("{main} {rest}");
                let group = if row.scaled { "Scaled" } else { "As written" };
                let line = joined(&[
                    title(class.state, score.block),
                    group,
                    format!("{place} {}", row.name).trim(),
                    tally.trim(),
                ]);
                let known = self.board.get(&(row.athlete, score.block));
                let news = known.map_or(score.tally.is_some(), |known| *known != line);
                if news {
                    self.board.insert((row.athlete, score.block), line.clone());
                    told.push(line);
                }
            }
        }
    }
}

fn headline(wall: &Wall<'_>) -> (Headline, String) {
    let text = match &wall.page {
        Page::Pairing(number) => format!("Wall {number}: let it in on the coach device."),
        Page::Message { heading, text } => format!("{heading}: {text}"),
        Page::Class(class) => match &class.showing {
            Showing::Gathering => {
                let code = class.state.join.as_ref().map_or("", |join| &join.code);
                let people = format!("{} in", class.state.now.rows.len());
                joined(&["Gathering", &class.state.session.title, &people, code])
            }
            Showing::Done => "Done".to_owned(),
            Showing::Standing(standing) => return of_standing(class, standing),
        },
    };
    (Headline::Text(text.clone()), text)
}

fn of_standing(class: &Class<'_>, standing: &Standing<'_>) -> (Headline, String) {
    let headline = Headline::Standing {
        revision: class.state.now.clock.revision,
        index: standing.index,
        kind: standing.kind_shown(),
        waits: matches!(standing.hand, Hand::Waiting { .. }),
    };
    let phase = format!("{} {}", phase_words(class.state, standing), standing.digits(class.at));
    let block = title(class.state, standing.segment.block);
    let block = if standing.segment.kind == SegmentKind::Open { "" } else { block };
    let window = window_title(class.state, standing);
    (headline, joined(&[&phase, block, &window, &next_line(class.state, standing)]))
}

/// House time, by which the lines of several walls can be compared.
fn stamp(at: Option<HouseTime>) -> String {
    at.map_or_else(
        || "-:--:--.---".to_owned(),
        |at| {
            let millis = at.as_micros().div_euclid(1_000);
            let (seconds, millis) = (millis.div_euclid(1_000), millis.rem_euclid(1_000));
            let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
            format!("{hours}:{minutes:02}:{seconds:02}.{millis:03}")
        },
    )
}
