//! A picture of a terminal: cells, each with what it shows and how.

use floorbell_core::session::layout::SegmentKind;

use super::text::{clusters, cut, width};

/// How large a terminal is, in cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Size {
    /// Cells across.
    pub columns: usize,
    /// Cells down.
    pub rows: usize,
}

/// What a terminal shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Screen {
    size: Size,
    /// Row by row.
    cells: Vec<Cell>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Cell {
    pub(super) glyph: Glyph,
    pub(super) style: Style,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Glyph {
    Char(char),
    /// A character of several code points, or of two cells.
    Cluster(Box<str>),
    /// The second cell of the character before.
    Continued,
}

/// How a cell is shown: the phase's colour is never all that tells of it, the word stands beside it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Style {
    pub(super) ink: Ink,
    pub(super) bold: bool,
    /// Ink and ground changed over.
    pub(super) reversed: bool,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Ink {
    /// The terminal's own.
    #[default]
    Plain,
    Quiet,
    LeadIn,
    Work,
    Rest,
    Held,
    Warn,
    /// Light on the ground of the stop notice.
    Stop,
    /// Light on dark, whatever the terminal's own colours, for readers of codes.
    Code,
}

impl Style {
    pub(super) const PLAIN: Self = Self::of(Ink::Plain);
    pub(super) const QUIET: Self = Self::of(Ink::Quiet);
    pub(super) const BOLD: Self = Self::of(Ink::Plain).bold();

    pub(super) const fn of(ink: Ink) -> Self {
        Self { ink, bold: false, reversed: false }
    }

    pub(super) const fn bold(self) -> Self {
        Self { bold: true, ..self }
    }

    pub(super) const fn reversed(self) -> Self {
        Self { reversed: true, ..self }
    }
}

impl From<SegmentKind> for Ink {
    fn from(kind: SegmentKind) -> Self {
        match kind {
            SegmentKind::Open => Self::Plain,
            SegmentKind::LeadIn => Self::LeadIn,
            SegmentKind::Work => Self::Work,
            SegmentKind::Rest => Self::Rest,
        }
    }
}

/// A part of a screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Area {
    pub(super) x: usize,
    pub(super) y: usize,
    pub(super) columns: usize,
    pub(super) rows: usize,
}

impl Area {
    /// The upper `rows` of it, and what is left below.
    pub(super) fn split_rows(self, rows: usize) -> (Self, Self) {
        let rows = rows.min(self.rows);
        let below = Self { y: self.y + rows, rows: self.rows - rows, ..self };
        (Self { rows, ..self }, below)
    }

    /// The left `columns` of it, and what is right of these after a gap.
    pub(super) fn split_columns(self, columns: usize, gap: usize) -> (Self, Self) {
        let columns = columns.min(self.columns);
        let taken = (columns + gap).min(self.columns);
        let right = Self { x: self.x + taken, columns: self.columns - taken, ..self };
        (Self { columns, ..self }, right)
    }

    /// One row of it, from 0.
    pub(super) fn row(self, row: usize) -> Self {
        self.split_rows(row).1.split_rows(1).0
    }
}

impl Screen {
    /// A screen that shows nothing.
    pub(super) fn new(size: Size) -> Self {
        let blank = Cell { glyph: Glyph::Char(' '), style: Style::PLAIN };
        Self { size, cells: vec![blank; size.columns * size.rows] }
    }

    /// How large it is.
    pub fn size(&self) -> Size {
        self.size
    }

    /// All of it.
    pub(super) fn area(&self) -> Area {
        Area { x: 0, y: 0, columns: self.size.columns, rows: self.size.rows }
    }

    pub(super) fn row(&self, row: usize) -> &[Cell] {
        &self.cells[row * self.size.columns..][..self.size.columns]
    }

    /// Fills an area with blanks of a style.
    pub(super) fn fill(&mut self, area: Area, style: Style) {
        for y in area.y..area.y + area.rows {
            for x in area.x..area.x + area.columns {
                self.set(x, y, Glyph::Char(' '), style);
            }
        }
    }

    /// Writes a text into the first row of an area, cut to its width.
    pub(super) fn write(&mut self, area: Area, text: &str, style: Style) {
        if area.rows == 0 {
            return;
        }
        let mut x = area.x;
        for (cluster, width) in clusters(&cut(text, area.columns)) {
            let mut chars = cluster.chars();
            let glyph = match (chars.next(), chars.next()) {
                (Some(only), None) if width == 1 => Glyph::Char(only),
                _ => Glyph::Cluster(cluster.into()),
            };
            self.set(x, area.y, glyph, style);
            if width == 2 {
                self.set(x + 1, area.y, Glyph::Continued, style);
            }
            x += width;
        }
    }

    /// The same, at the right edge.
    pub(super) fn write_right(&mut self, area: Area, text: &str, style: Style) {
        let skipped = area.columns.saturating_sub(width(text));
        self.write(area.split_columns(skipped, 0).1, text, style);
    }

    /// The same, in the middle.
    pub(super) fn write_centred(&mut self, area: Area, text: &str, style: Style) {
        let skipped = area.columns.saturating_sub(width(text)) / 2;
        self.write(area.split_columns(skipped, 0).1, text, style);
    }

    /// Sets one cell; outside the screen there is none.
    pub(super) fn set(&mut self, x: usize, y: usize, glyph: Glyph, style: Style) {
        if x < self.size.columns && y < self.size.rows {
            self.cells[y * self.size.columns + x] = Cell { glyph, style };
        }
    }

    /// What is shown as lines of text, without blanks at their ends.
    #[cfg(test)]
    pub(super) fn text(&self) -> String {
        let mut text = String::new();
        for row in 0..self.size.rows {
            let mut line = String::new();
            for cell in self.row(row) {
                match &cell.glyph {
                    Glyph::Char(c) => line.push(*c),
                    Glyph::Cluster(cluster) => line.push_str(cluster),
                    Glyph::Continued => {}
                }
            }
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text.trim_end().to_owned()
    }
}
