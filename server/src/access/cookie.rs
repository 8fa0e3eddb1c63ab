//! Cookies: how a browser keeps a token that no script on the page can read.
//!
//! A browser may be the coach's, a wall and a phone at once, so each role has a cookie of its own.
//! Cookies ignore ports and mix up http and https (RFC 6265, 8.5), hence other names under TLS;
//! there the prefix `__Host-` makes the browser refuse one that was not set over TLS.

use axum::http::header::COOKIE;
use axum::http::{HeaderMap, HeaderValue};
use floorbell_core::time::Span;

use super::{Holder, PairedKind, Token};

/// What a cookie lets in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// A coach device.
    Coach,
    /// A wall.
    Wall,
    /// A tally tablet.
    Tablet,
    /// A phone.
    Athlete,
}

impl Role {
    /// Every role.
    pub const ALL: [Self; 4] = [Self::Coach, Self::Wall, Self::Tablet, Self::Athlete];

    /// The role that a token was given out for.
    pub const fn of(holder: &Holder) -> Self {
        match holder {
            Holder::Coach => Self::Coach,
            Holder::Paired(paired) => Self::paired(paired.kind),
            Holder::Athlete { .. } => Self::Athlete,
        }
    }

    /// The role of a paired device.
    pub const fn paired(kind: PairedKind) -> Self {
        match kind {
            PairedKind::Wall => Self::Wall,
            PairedKind::Tablet => Self::Tablet,
        }
    }

    fn cookie_name(self, secure: bool) -> &'static str {
        match (self, secure) {
            (Self::Coach, false) => "floorbell-coach",
            (Self::Wall, false) => "floorbell-wall",
            (Self::Tablet, false) => "floorbell-tablet",
            (Self::Athlete, false) => "floorbell-athlete",
            (Self::Coach, true) => "__Host-floorbell-coach",
            (Self::Wall, true) => "__Host-floorbell-wall",
            (Self::Tablet, true) => "__Host-floorbell-tablet",
            (Self::Athlete, true) => "__Host-floorbell-athlete",
        }
    }

    /// How long a token is good for after it was last used, and the browser keeps it. A coach signs
    /// in each month; walls and tally tablets stay in the house; a phone comes into each class anew.
    pub const fn kept(self) -> Span {
        const DAY: Span = Span::from_mins(24 * 60);
        match self {
            Self::Coach => DAY.times(30),
            Self::Wall | Self::Tablet => DAY.times(365),
            Self::Athlete => DAY.times(7),
        }
    }

    /// The token that a request shows in this role's cookie.
    pub fn cookie(self, headers: &HeaderMap, secure: bool) -> Option<Token> {
        let name = self.cookie_name(secure);
        headers
            .get_all(COOKIE)
            .iter()
            .filter_map(|line| line.to_str().ok())
            .flat_map(|line| line.split(';'))
            .filter_map(|pair| pair.trim().split_once('='))
            .find(|(key, _)| *key == name)
            .and_then(|(_, value)| Token::parse(value))
    }

    /// The header that has the browser keep a token: sent with the house's own pages alone, read by
    /// no script.
    pub fn set_cookie(self, token: &Token, secure: bool) -> HeaderValue {
        self.header(&token.to_string(), self.kept(), secure)
    }

    /// The header that has the browser forget it.
    pub fn clear_cookie(self, secure: bool) -> HeaderValue {
        self.header("", Span::ZERO, secure)
    }

    fn header(self, value: &str, kept: Span, secure: bool) -> HeaderValue {
        let name = self.cookie_name(secure);
        let secs = kept.as_micros() / 1_000_000;
        let tls = if secure { "; Secure" } else { "" };
        let text =
            format!("{name}={value}; Path=/; HttpOnly; SameSite=Strict; Max-Age={secs}{tls}");
        HeaderValue::from_str(&text).expect("names and hexadecimal digits are fit for a header")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cookie_comes_back_as_it_was_set() {
        for secure in [false, true] {
            for role in Role::ALL {
                let token = Token::random();
                let set = role.set_cookie(&token, secure);
                let pair = set.to_str().unwrap().split(';').next().unwrap();
                let mut headers = HeaderMap::new();
                headers.insert(COOKIE, format!("other=1; {pair} ; more=a=b").parse().unwrap());
                assert_eq!(role.cookie(&headers, secure), Some(token));
                assert_eq!(role.cookie(&headers, !secure), None);
                assert_eq!(role.cookie(&HeaderMap::new(), secure), None);
            }
        }
    }

    #[test]
    fn a_cookie_says_who_may_read_and_send_it() {
        let token = Token::parse(&"0f".repeat(16)).unwrap();
        assert_eq!(
            Role::Coach.set_cookie(&token, false),
            "floorbell-coach=0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f0f; Path=/; HttpOnly; SameSite=Strict; \
             Max-Age=2592000"
        );
        assert_eq!(
            Role::Wall.clear_cookie(true),
            "__Host-floorbell-wall=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0; Secure"
        );
    }
}
