//! The web pages inside the program, as `build.rs` made them.

/// One file of the web pages.
#[derive(Debug)]
pub struct Page {
    /// What a browser asks for: `/` and `/coach` for pages, `/assets/…` for what they load.
    pub path: &'static str,
    /// Its media type.
    pub content_type: &'static str,
    /// Names this content, in quotes as the `ETag` header wants it.
    pub etag: &'static str,
    /// Whether this path will never have another content, so that a browser may keep it for good.
    pub lasting: bool,
    /// The file.
    pub bytes: &'static [u8],
    /// The same, gzipped, where that is smaller.
    pub gzip: Option<&'static [u8]>,
}

/// All files, in the order of their paths.
static PAGES: &[Page] = include!(concat!(env!("OUT_DIR"), "/pages.rs"));

/// The file at a path, without its query.
pub fn find(path: &str) -> Option<&'static Page> {
    PAGES.binary_search_by(|page| page.path.cmp(path)).ok().map(|index| &PAGES[index])
}

#[cfg(test)]
mod tests {
    use std::io::Read;

    use super::*;

    #[test]
    fn every_file_is_found_and_nothing_else() {
        for page in PAGES {
            assert_eq!(find(page.path).unwrap().etag, page.etag, "{}", page.path);
        }
        assert_eq!(find("/").unwrap().content_type, "text/html; charset=utf-8");
        for path in ["", "/index.html", "/assets", "/assets/../", "//"] {
            assert!(find(path).is_none(), "{path}");
        }
    }

    #[test]
    fn whatever_a_page_loads_is_there() {
        for path in ["/", "/coach", "/wall", "/tally"] {
            let text = std::str::from_utf8(find(path).unwrap().bytes).unwrap();
            let loaded: Vec<_> =
                text.split('"').filter(|part| part.starts_with("/assets/")).collect();
            assert!(!loaded.is_empty(), "{path} loads nothing");
            for file in loaded {
                assert!(find(file).is_some_and(|file| file.lasting), "{file} of {path}");
            }
        }
    }

    #[test]
    fn the_gzipped_form_is_the_same_file() {
        for page in PAGES {
            let Some(gzip) = page.gzip else { continue };
            let mut bytes = Vec::new();
            flate2::read::GzDecoder::new(gzip).read_to_end(&mut bytes).unwrap();
            assert!(bytes == page.bytes && gzip.len() < bytes.len(), "{}", page.path);
        }
        assert!(find("/").unwrap().gzip.is_some());
    }
}
