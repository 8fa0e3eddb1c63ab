//! Large characters of our own: each is made of bars in a box, in half cells, which are about square.
//! The box is as large as the room lets it be, and the bars as thick as suits the box, so that the
//! digits are smooth at every size.

use super::screen::{Area, Glyph, Screen, Style};

/// Of a box, its width against its height: most, and least before the digits are made less high.
const WIDE: (usize, usize) = (5, 8);
const NARROW: (usize, usize) = (2, 5);
/// The least box, in half cells, in which every digit is told from the others: three bars and two
/// gaps down, two bars and a gap across.
const LEAST: (usize, usize) = (3, 5);

/// One bar of a character.
#[derive(Clone, Copy)]
enum Bar {
    Top,
    Middle,
    Bottom,
    UpperLeft,
    LowerLeft,
    UpperRight,
    LowerRight,
    /// Down the middle.
    Stem,
    /// The middle half of [`Bar::Stem`].
    ShortStem,
}

fn bars(c: char) -> &'static [Bar] {
    use Bar::{Bottom, LowerLeft, LowerRight, Middle, ShortStem, Stem, Top, UpperLeft, UpperRight};
    match c {
        '0' | 'O' => &[Top, Bottom, UpperLeft, LowerLeft, UpperRight, LowerRight],
        '1' => &[Stem],
        '2' => &[Top, UpperRight, Middle, LowerLeft, Bottom],
        '3' => &[Top, UpperRight, Middle, LowerRight, Bottom],
        '4' => &[UpperLeft, Middle, UpperRight, LowerRight],
        '5' | 'S' => &[Top, UpperLeft, Middle, LowerRight, Bottom],
        '6' => &[Top, UpperLeft, LowerLeft, Middle, LowerRight, Bottom],
        '7' => &[Top, UpperRight, LowerRight],
        '8' => &[Top, Middle, Bottom, UpperLeft, LowerLeft, UpperRight, LowerRight],
        '9' => &[Top, Middle, Bottom, UpperLeft, UpperRight, LowerRight],
        'T' => &[Top, Stem],
        'P' => &[Top, Middle, UpperLeft, LowerLeft, UpperRight],
        '+' => &[Middle, ShortStem],
        _ => &[],
    }
}

/// The box of every digit of a text, in half cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Measure {
    width: usize,
    height: usize,
    /// How thick a bar is; also a colon's width and the gap between characters.
    bar: usize,
}

/// The largest measure in which `digits` digits and `colons` colons stand in an area; none where
/// they could not be read.
fn measure(area: Area, digits: usize, colons: usize) -> Option<Measure> {
    // Half a row is left free above and below.
    let mut height = (2 * area.rows).checked_sub(2)?;
    let mut bar = thickness(height);
    loop {
        let between = (digits + colons).saturating_sub(1) + colons;
        let width = area.columns.saturating_sub(between * bar) / digits.max(1);
        let width = width.min(height * WIDE.0 / WIDE.1).max(LEAST.0.min(height));
        let fits = width * digits + between * bar <= area.columns;
        let narrow = width * NARROW.1 < height * NARROW.0;
        if fits && !narrow && 3 * bar <= width + bar / 2 {
            return (width >= LEAST.0 && height >= LEAST.1).then_some(Measure {
                width,
                height,
                bar,
            });
        }
        height = height.checked_sub(1)?;
        bar = thickness(height);
    }
}

/// How thick a bar of a character of such a height is: some sixth of it.
fn thickness(height: usize) -> usize {
    ((height + 2) / 6).max(1)
}

/// The columns that a text takes in an area as large as it can be; none where it has no room.
pub(super) fn columns(area: Area, text: &str) -> Option<usize> {
    let (digits, colons) = count(text);
    let Measure { width, bar, .. } = measure(area, digits, colons)?;
    Some(digits * width + colons * bar + (digits + colons).saturating_sub(1) * bar)
}

/// Digits and colons of a text.
fn count(text: &str) -> (usize, usize) {
    let colons = text.chars().filter(|&c| c == ':').count();
    (text.chars().count() - colons, colons)
}

/// Writes `text` as large as `widest`, a text of the most characters that is to come in its place,
/// can be in the area, so that it does not change its size; a longer text is smaller. Without the room
/// it stands in plain cells. Anything but digits, `:`, `+` and the letters of STOP is left blank.
pub(super) fn write(screen: &mut Screen, area: Area, text: &str, widest: &str, style: Style) {
    let largest = |text| {
        let (digits, colons) = count(text);
        measure(area, digits, colons)
    };
    let smaller = match (largest(text), largest(widest)) {
        (Some(text), Some(widest)) if widest.width < text.width => Some(widest),
        (text, _) => text,
    };
    let Some(measure) = smaller else {
        screen.write(area.row(area.rows / 2), text, style.bold());
        return;
    };
    let mut x = 0;
    let mut lit = Vec::new();
    for c in text.chars() {
        let width = if c == ':' { measure.bar } else { measure.width };
        lit.extend(blocks(c, measure).map(|block| Block { x: block.x + x, ..block }));
        x += width + measure.bar;
    }
    draw(screen, area, &lit, style);
}

/// A full block, in half cells from the upper left of a character's box.
#[derive(Clone, Copy)]
struct Block {
    x: usize,
    y: usize,
    width: usize,
    height: usize,
}

fn blocks(c: char, Measure { width, height, bar }: Measure) -> impl Iterator<Item = Block> {
    let middle = (height - bar) / 2;
    let (right, bottom) = (width - bar, height - bar);
    let block = |x, y, width, height| Block { x, y, width, height };
    let colon = [height / 4, height - height / 4 - bar].map(|y| block(0, y, bar, bar));
    let colon = (c == ':').then_some(colon).into_iter().flatten();
    let bars = bars(c).iter().map(move |made_of| match made_of {
        Bar::Top => block(0, 0, width, bar),
        Bar::Middle => block(0, middle, width, bar),
        Bar::Bottom => block(0, bottom, width, bar),
        Bar::UpperLeft => block(0, 0, bar, middle + bar),
        Bar::LowerLeft => block(0, middle, bar, height - middle),
        Bar::UpperRight => block(right, 0, bar, middle + bar),
        Bar::LowerRight => block(right, middle, bar, height - middle),
        Bar::Stem => block(right / 2, 0, bar, height),
        Bar::ShortStem => block(right / 2, height / 4, bar, height - 2 * (height / 4)),
    });
    colon.chain(bars)
}

/// Draws blocks of half cells, from half a row below the top of the area.
fn draw(screen: &mut Screen, area: Area, blocks: &[Block], style: Style) {
    let mut lit = vec![false; 2 * area.rows * area.columns];
    for block in blocks {
        for y in block.y + 1..block.y + 1 + block.height {
            lit[y * area.columns..][block.x..block.x + block.width].fill(true);
        }
    }
    for row in 0..area.rows {
        let (upper, lower) = lit[2 * row * area.columns..].split_at(area.columns);
        for (column, halves) in upper.iter().zip(lower).enumerate() {
            let block = match halves {
                (true, true) => '█',
                (true, false) => '▀',
                (false, true) => '▄',
                (false, false) => ' ',
            };
            screen.set(area.x + column, area.y + row, Glyph::Char(block), style);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::screen::Size;
    use super::*;

    fn drawn(columns: usize, rows: usize, text: &str, widest: &str) -> String {
        let mut screen = Screen::new(Size { columns, rows });
        let area = screen.area();
        write(&mut screen, area, text, widest, Style::PLAIN);
        screen.text()
    }

    #[test]
    fn every_character_in_its_least_size() {
        assert_eq!(
            drawn(39, 4, "0123456789", ""),
            "\
▄▄▄  ▄  ▄▄▄ ▄▄▄ ▄ ▄ ▄▄▄ ▄▄▄ ▄▄▄ ▄▄▄ ▄▄▄
█ █  █  ▄▄█ ▄▄█ █▄█ █▄▄ █▄▄   █ █▄█ █▄█
█ █  █  █     █   █   █ █ █   █ █ █   █
▀▀▀  ▀  ▀▀▀ ▀▀▀   ▀ ▀▀▀ ▀▀▀   ▀ ▀▀▀ ▀▀▀"
        );
        assert_eq!(
            drawn(80, 4, "4+:STOP", ""),
            "\
▄ ▄       ▄▄▄ ▄▄▄ ▄▄▄ ▄▄▄
█▄█ ▄█▄ ▀ █▄▄  █  █ █ █▄█
  █  █  ▄   █  █  █ █ █
  ▀       ▀▀▀  ▀  ▀▀▀ ▀"
        );
    }

    #[test]
    fn larger_ones_are_of_the_same_shapes() {
        assert_eq!(
            drawn(42, 8, "12:05", "12:05"),
            "   \
▄▄     ▄▄▄▄▄▄▄▄      ▄▄▄▄▄▄▄▄  ▄▄▄▄▄▄▄▄
   ██     ▀▀▀▀▀▀██      ██▀▀▀▀██  ██▀▀▀▀▀▀
   ██           ██  ██  ██    ██  ██
   ██     ▄▄▄▄▄▄██      ██    ██  ██▄▄▄▄▄▄
   ██     ██▀▀▀▀▀▀      ██    ██  ▀▀▀▀▀▀██
   ██     ██        ██  ██    ██        ██
   ██     ██▄▄▄▄▄▄      ██▄▄▄▄██  ▄▄▄▄▄▄██
   ▀▀     ▀▀▀▀▀▀▀▀      ▀▀▀▀▀▀▀▀  ▀▀▀▀▀▀▀▀"
        );
    }

    #[test]
    fn the_size_is_that_of_the_widest_text() {
        let beside = " \
▄▄    ▄▄▄▄▄
 ██    ██▀██
 ██    ██ ██
 ██    ██ ██
 ██    ██▄██
 ▀▀    ▀▀▀▀▀";
        assert_eq!(drawn(30, 6, "10", "10:00"), beside);
        let alone = "  \
▄▄    ▄▄▄▄▄▄
  ██    ██▀▀██
  ██    ██  ██
  ██    ██  ██
  ██    ██▄▄██
  ▀▀    ▀▀▀▀▀▀";
        assert_eq!(drawn(30, 6, "10", "10"), alone);
        let longer = drawn(30, 6, "10:00", "0:00");
        let in_front = longer.lines().zip(beside.lines());
        assert!(in_front.into_iter().all(|(line, part)| line.starts_with(part)), "{longer}");
    }

    #[test]
    fn without_the_room_the_text_stands_as_it_is() {
        assert_eq!(drawn(12, 3, "4:05", "4:05").trim(), "4:05");
        assert_eq!(drawn(40, 1, "4:05", "4:05").trim(), "4:05");
        assert_eq!(drawn(0, 0, "4:05", "4:05"), "");
    }
}
