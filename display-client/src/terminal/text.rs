//! Text on a grid of cells: what a terminal shows as one character, how many cells it takes, and
//! where a line is cut or wrapped.
//!
//! All text that comes from the house goes through here, and none of it can move the cursor: whatever
//! would break a line, start an escape sequence or turn the direction of the text stands as �.

use floorbell_core::name::disarranges;
use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

/// Stands for what is not shown.
const REPLACED: &str = "\u{fffd}";
/// Stands for what was cut off.
const CUT: &str = "…";

/// What a reader sees as characters (grapheme clusters), each with the cells that it takes: 1 or 2.
/// What takes none, and would be lost on its own, is left out.
pub(super) fn clusters(text: &str) -> impl Iterator<Item = (&str, usize)> {
    text.graphemes(true).filter_map(|cluster| {
        let cluster = if cluster.chars().any(disarranges) { REPLACED } else { cluster };
        // No terminal gives one character more than two cells, however many code points it has.
        let width = cluster.width().min(2);
        (width > 0).then_some((cluster, width))
    })
}

/// The cells that a text takes.
pub(super) fn width(text: &str) -> usize {
    clusters(text).map(|(_, width)| width).sum()
}

/// The text without anything that could move a cursor, on one line.
pub(super) fn clean(text: &str) -> String {
    clusters(text).map(|(cluster, _)| cluster).collect()
}

/// The text in so many cells at most; one that is longer ends in an ellipsis.
pub(super) fn cut(text: &str, columns: usize) -> String {
    let (mut kept, mut columns_kept) = (String::new(), 0);
    // How much is kept where an ellipsis follows.
    let mut before_ellipsis = 0;
    for (cluster, width) in clusters(text) {
        columns_kept += width;
        if columns_kept > columns {
            kept.truncate(before_ellipsis);
            let ellipsis = if columns == 0 { "" } else { CUT };
            return kept.trim_end().to_owned() + ellipsis;
        }
        kept.push_str(cluster);
        if columns_kept < columns {
            before_ellipsis = kept.len();
        }
    }
    kept
}

/// The text in lines of so many cells at most, broken between words; a longer word is cut. Line breaks
/// in the text stay.
pub(super) fn wrap(text: &str, columns: usize) -> Vec<String> {
    let mut lines = Vec::new();
    for line in text.lines() {
        let mut so_far = String::new();
        for word in line.split_whitespace() {
            let word = cut(word, columns);
            if !so_far.is_empty() && width(&so_far) + 1 + width(&word) > columns {
                lines.push(core::mem::take(&mut so_far));
            }
            if !so_far.is_empty() {
                so_far.push(' ');
            }
            so_far.push_str(&word);
        }
        lines.push(so_far);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn characters_take_the_cells_that_a_terminal_gives_them() {
        let family = "\u{1f468}\u{200d}\u{1f469}\u{200d}\u{1f467}";
        for (text, cells) in [
            ("Ansa", 4),
            ("e\u{301}", 1),
            ("李雷", 4),
            (family, 2),
            ("\u{1f1eb}\u{1f1ee}", 2),
            ("a\u{200b}b", 2),
            ("", 0),
        ] {
            assert_eq!(width(text), cells, "{text}");
        }
    }

    #[test]
    fn nothing_in_a_text_moves_the_cursor() {
        for (text, shown) in [
            ("\u{1b}[2JAnsa", "\u{fffd}[2JAnsa"),
            ("a\u{9b}31mb", "a\u{fffd}31mb"),
            ("a\r\nb", "a\u{fffd}b"),
            ("a\u{8}\u{7}b", "a\u{fffd}\u{fffd}b"),
            ("a\u{202e}b", "a\u{fffd}b"),
            ("Åse 李", "Åse 李"),
        ] {
            assert_eq!(clean(text), shown);
            assert_eq!(cut(text, 20), shown);
        }
    }

    #[test]
    fn what_is_too_long_is_cut_between_characters() {
        for (text, columns, shown) in [
            ("Mirela", 6, "Mirela"),
            ("Mirela", 5, "Mire…"),
            ("Bo Weiss", 4, "Bo…"),
            ("李雷李", 5, "李雷…"),
            ("李雷李", 4, "李…"),
            ("ab", 1, "…"),
            ("ab", 0, ""),
        ] {
            assert_eq!(cut(text, columns), shown);
        }
    }

    #[test]
    fn lines_break_between_words() {
        assert_eq!(wrap("Water stands by the door.", 10), ["Water", "stands by", "the door."]);
        assert_eq!(wrap("One.\nTwo.", 20), ["One.", "Two."]);
        assert_eq!(wrap("Abcdefghij k", 5), ["Abcd…", "k"]);
        assert!(wrap("", 5).is_empty());
    }
}
