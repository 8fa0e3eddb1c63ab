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
