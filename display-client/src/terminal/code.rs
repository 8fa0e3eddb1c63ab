//! An address as a QR code in half blocks.

use qrcode::QrCode;
use qrcode::render::unicode;

/// The code with the quiet zone that readers need. Terminals are dark as a rule, so what is light in the
/// code is drawn.
///
/// # Panics
/// Where the address is longer than the 2,331 bytes that a code holds.
pub fn code(address: &str) -> String {
    QrCode::new(address)
        .expect("an address fits into a QR code")
        .render::<unicode::Dense1x2>()
        .dark_color(unicode::Dense1x2::Light)
        .light_color(unicode::Dense1x2::Dark)
        .build()
}

#[cfg(test)]
mod tests {
    use qrcode::Color;

    use super::*;

    const ADDRESS: &str = "http://10.0.0.7:7600/#c=CDFG-3479";

    /// Modules of light around the code that readers need (ISO/IEC 18004, from memory).
    const QUIET: usize = 4;

    #[test]
    fn each_module_is_half_a_character() {
        let code = QrCode::new(ADDRESS).expect("it fits");
        let text = super::code(ADDRESS);
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
}
