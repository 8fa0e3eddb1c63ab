//! From the picture that a terminal shows to another one, as escape sequences (ECMA-48): only cells that
//! are another are written, so that nothing flickers.

use core::fmt::Write as _;

use super::screen::{Cell, Glyph, Ink, Screen, Style};

/// What to send to a terminal that shows `before` so that it shows `after`; empty where they are the
/// same. Without `before`, or where that was of another size, the terminal is cleared first.
pub fn paint(before: Option<&Screen>, after: &Screen) -> String {
    let before = before.filter(|before| before.size() == after.size());
    let mut brush = Brush { text: String::new(), place: None, style: None };
    if before.is_none() {
        brush.text.push_str("\x1b[0m\x1b[2J");
    }
    for row in 0..after.size().rows {
        for (column, cell) in after.row(row).iter().enumerate() {
            let same = before.is_some_and(|before| before.row(row)[column] == *cell);
            if !same {
                brush.cell(row, column, cell);
            }
        }
    }
    brush.text
}

struct Brush {
    text: String,
    /// Row and column at which the terminal would write next; none where terminals may differ.
    place: Option<(usize, usize)>,
    style: Option<Style>,
}

impl Brush {
    fn cell(&mut self, row: usize, column: usize, cell: &Cell) {
        if cell.glyph == Glyph::Continued {
            return;
        }
        if self.place != Some((row, column)) {
            let _ = write!(self.text, "\x1b[{};{}H", row + 1, column + 1);
        }
        if self.style != Some(cell.style) {
            self.style = Some(cell.style);
            self.text.push_str(&select(cell.style));
        }
        self.place = match &cell.glyph {
            Glyph::Char(c) => {
                self.text.push(*c);
                Some((row, column + 1))
            }
            // Terminals do not agree on how wide such a character is.
            Glyph::Cluster(cluster) => {
                self.text.push_str(cluster);
                None
            }
            Glyph::Continued => None,
        };
    }
}

/// Selects a style: from the sixteen colours that every terminal has, so that they are those that its
/// owner reads well.
fn select(Style { ink, bold, reversed }: Style) -> String {
    let colour = match ink {
        Ink::Plain => "",
        Ink::Quiet => ";2",
        Ink::LeadIn | Ink::Warn => ";93",
        Ink::Work => ";96",
        Ink::Rest => ";95",
        Ink::Held => ";33",
        Ink::Stop => ";97;41",
        Ink::Code => ";97;40",
    };
    let bold = if bold { ";1" } else { "" };
    let reversed = if reversed { ";7" } else { "" };
    format!("\x1b[0{colour}{bold}{reversed}m")
}

#[cfg(test)]
mod tests {
    use super::super::screen::Size;
    use super::*;

    fn screen(text: &str, style: Style) -> Screen {
        let mut screen = Screen::new(Size { columns: 8, rows: 2 });
        let area = screen.area();
        screen.write(area.row(1), text, style);
        screen
    }

    #[test]
    fn only_what_changes_is_painted() {
        let (plain, work) = (Style::PLAIN, Style::of(Ink::Work).bold());
        for (before, after, painted) in [
            (screen("4:05", plain), screen("4:05", plain), ""),
            (screen("4:05", plain), screen("4:04", plain), "\x1b[2;4H\x1b[0m4"),
            (screen("4:00", plain), screen("3:59", plain), "\x1b[2;1H\x1b[0m3\x1b[2;3H59"),
            (screen("4", plain), screen("4", work), "\x1b[2;1H\x1b[0;96;1m4"),
            (screen("ab", plain), screen("李", plain), "\x1b[2;1H\x1b[0m李"),
            (screen("李b", plain), screen("abc", plain), "\x1b[2;1H\x1b[0mabc"),
        ] {
            assert_eq!(paint(Some(&before), &after), painted);
        }
    }

    #[test]
    fn after_a_wide_character_the_cursor_is_placed_anew() {
        let painted = paint(Some(&screen("", Style::PLAIN)), &screen("李a", Style::PLAIN));
        assert_eq!(painted, "\x1b[2;1H\x1b[0m李\x1b[2;3Ha");
    }

    #[test]
    fn a_terminal_of_another_size_is_cleared() {
        let other = Screen::new(Size { columns: 1, rows: 1 });
        for before in [None, Some(&other)] {
            let painted = paint(before, &screen("a", Style::PLAIN));
            assert!(painted.starts_with("\x1b[0m\x1b[2J\x1b[1;1H\x1b[0m  "), "{painted:?}");
        }
    }
}
