//! Addresses as QR codes: a picture for screens, and text for the terminal that the server was
//! started in.

use qrcode::QrCode;
use qrcode::render::{svg, unicode};

/// The code as an SVG picture, dark on light with the quiet zone that readers need.
pub fn svg(address: &str) -> String {
    code(address).render::<svg::Color<'_>>().min_dimensions(256, 256).build()
}

/// The code in half blocks. Terminals are dark as a rule, so what is light in the code is drawn.
pub fn terminal(address: &str) -> String {
    code(address)
        .render::<unicode::Dense1x2>()
        .dark_color(unicode::Dense1x2::Light)
        .light_color(unicode::Dense1x2::Dark)
        .build()
}

/// # Panics
/// Never: an address is far shorter than the 2,331 bytes that a code holds.
fn code(address: &str) -> QrCode {
    QrCode::new(address).expect("an address fits into a QR code")
}

#[cfg(test)]
mod tests {
    use qrcode::Color;

    use super::*;

    const ADDRESS: &str = "http://10.0.0.7:7600/#c=CDFG-3479";

    /// Modules of light around the code that readers need (ISO/IEC 18004, from memory).
    const QUIET: usize = 4;

    #[test]
    fn the_terminal_shows_each_module_as_half_a_character() {
        let code = code(ADDRESS);
        let text = terminal(ADDRESS);
        let lines: Vec<Vec<char>> = text.lines().map(|line| line.chars().collect()).collect();
        let drawn = |x: usize, y: usize| match lines[y / 2][x] {
            '\u{2588}' => true,
            '\u{2580}' => y.is_multiple_of(2),
            '\u{2584}' => !y.is_multiple_of(2),
            ' ' => false,
            other => panic!("{other}"),
        };
        let width = code.width();
        for y in 0..width + 2 * QUIET {
            for x in 0..width + 2 * QUIET {
                let inside =
                    (QUIET..QUIET + width).contains(&x) && (QUIET..QUIET + width).contains(&y);
                let light = !inside || code[(x - QUIET, y - QUIET)] == Color::Light;
                assert_eq!(drawn(x, y), light, "{x}, {y}");
            }
        }
    }

    #[test]
    fn the_picture_is_dark_on_light() {
        let picture = svg(ADDRESS);
        assert!(picture.starts_with("<?xml") && picture.ends_with("</svg>"), "{picture}");
        assert!(
            picture.contains("fill=\"#fff\"") && picture.contains("fill=\"#000\""),
            "{picture}"
        );
    }
}
