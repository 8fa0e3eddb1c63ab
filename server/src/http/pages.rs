//! The pages and what they load, out of the program itself.

use axum::body::Body;
use axum::http::{HeaderMap, StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};

use super::problem::Problem;
use crate::pages::{self, Page};

/// Any file of the pages; the routes name which there are.
pub(super) async fn file(uri: Uri, headers: HeaderMap) -> Result<Response, Problem> {
    let page = pages::find(uri.path());
    let page =
        page.ok_or_else(|| Problem::not_found("There is no such file. Load the page anew."))?;
    Ok(answer(page, &headers))
}

/// The file, gzipped where the browser takes that, or nothing where it has it already.
fn answer(page: &'static Page, headers: &HeaderMap) -> Response {
    // A lasting path never has another content; any other is asked for again each time, which costs
    // a few bytes as long as the content has not changed.
    let caching = if page.lasting { "public, max-age=31536000, immutable" } else { "no-cache" };
    let known = [
        (header::ETAG, page.etag),
        (header::CACHE_CONTROL, caching),
        (header::VARY, "accept-encoding"),
    ];
    if lists(headers, header::IF_NONE_MATCH, |tag| tag.trim_start_matches("W/") == page.etag) {
        return (StatusCode::NOT_MODIFIED, known).into_response();
    }
    let content_type = [(header::CONTENT_TYPE, page.content_type)];
    let takes_gzip = lists(headers, header::ACCEPT_ENCODING, |coding| {
        let (name, quality) = coding.split_once(';').unwrap_or((coding, ""));
        name.trim().eq_ignore_ascii_case("gzip") && !refuses(quality)
    });
    match page.gzip {
        Some(gzip) if takes_gzip => {
            let encoding = [(header::CONTENT_ENCODING, "gzip")];
            (known, content_type, encoding, Body::from(gzip)).into_response()
        }
        _ => (known, content_type, Body::from(page.bytes)).into_response(),
    }
}

/// Whether a list in a header has an item that fits.
fn lists(headers: &HeaderMap, name: header::HeaderName, fits: impl Fn(&str) -> bool) -> bool {
    let lines = headers.get_all(name).iter().filter_map(|line| line.to_str().ok());
    lines.flat_map(|line| line.split(',')).any(|item| fits(item.trim()))
}

/// Whether a quality is zero, `q=0` or `q=0.000`, which says never (RFC 9110, 12.4.2).
fn refuses(quality: &str) -> bool {
    quality.trim().strip_prefix("q=").and_then(|q| q.parse::<f32>().ok()) == Some(0.0)
}
