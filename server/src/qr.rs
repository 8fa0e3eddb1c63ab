//! Addresses as QR codes: pictures for screens. In terminals, [`floorbell_client::terminal::code`].

use qrcode::QrCode;
use qrcode::render::svg;

/// The code as an SVG picture, dark on light with the quiet zone that readers need.
///
/// # Panics
/// Never: an address is far shorter than the 2,331 bytes that a code holds.
pub fn svg(address: &str) -> String {
    let code = QrCode::new(address).expect("an address fits into a QR code");
    code.render::<svg::Color<'_>>().min_dimensions(256, 256).build()
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_picture_is_dark_on_light() {
        let picture = super::svg("http://10.0.0.7:7600/#c=CDFG-3479");
        assert!(picture.starts_with("<?xml") && picture.ends_with("</svg>"), "{picture}");
        assert!(
            picture.contains("fill=\"#fff\"") && picture.contains("fill=\"#000\""),
            "{picture}"
        );
    }
}
