//! Where a request may come from: which names the house answers to, and which pages may write.
//!
//! A browser sends the address that it was asked for as `Host`, and with everything that writes
//! also the address of the page that asked, as `Origin` (Fetch standard). Two rules follow:
//!
//! - `Host` is one of the house's own names. Otherwise a page of somebody else's, whose name was
//!   made to point at the house afterwards (DNS rebinding), would pass for one of the house's.
//! - `Origin`, where there is one, is that same address. Otherwise a page of somebody else's could
//!   have a coach's browser make a call.

use std::net::IpAddr;

use axum::http::HeaderMap;
use axum::http::header::{HOST, ORIGIN};
use axum::http::uri::Authority;

/// The names that the house answers to, beside IP addresses and `localhost`.
#[derive(Clone, Debug)]
pub struct OwnNames(Vec<String>);

/// Who made a request.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sender {
    /// One of the house's own pages, in a browser: it says so with `Origin`.
    Page,
    /// A program; or a browser that fetches what it may fetch anyway.
    Program,
}

/// A request that comes from where it may not come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stranger {
    /// It asks for a name that is not the house's.
    Host,
    /// A page of another address sends it.
    Origin,
}

impl OwnNames {
    /// The machine's own name on its network, as multicast DNS announces it (`name.local`, RFC
    /// 6762), and the names that were given on the command line.
    pub fn new(machine: Option<&str>, given: &[String]) -> Self {
        let announced = machine.map(|name| format!("{name}.local"));
        let names = announced.iter().chain(given).map(|name| comparable(name).to_lowercase());
        Self(names.collect())
    }

    /// Looks at where a request comes from.
    ///
    /// # Errors
    /// If it may not come from there.
    pub fn sender(&self, headers: &HeaderMap) -> Result<Sender, Stranger> {
        let host = only(headers, HOST).ok_or(Stranger::Host)?;
        if !self.are(host) {
            return Err(Stranger::Host);
        }
        if !headers.contains_key(ORIGIN) {
            return Ok(Sender::Program);
        }
        let origin = only(headers, ORIGIN).ok_or(Stranger::Origin)?;
        // A proxy that speaks TLS for the house passes on the same host, so the scheme may differ.
        let page = origin.strip_prefix("http://").or_else(|| origin.strip_prefix("https://"));
        let same = page.is_some_and(|page| page.eq_ignore_ascii_case(host));
        if same { Ok(Sender::Page) } else { Err(Stranger::Origin) }
    }

    fn are(&self, host: &str) -> bool {
        match Name::of(host) {
            Some(Name::Address(_)) => true,
            Some(Name::Word(name)) => name == "localhost" || self.0.contains(&name),
            None => false,
        }
    }
}

/// Whether browsers trust what comes from this host as if it came over TLS: it cannot be anyone but
/// the machine itself (Secure Contexts standard).
pub fn is_own_machine(host: &str) -> bool {
    match Name::of(host) {
        Some(Name::Address(address)) => address.is_loopback(),
        Some(Name::Word(name)) => name == "localhost",
        None => false,
    }
}

/// What a `Host` header names.
enum Name {
    Address(IpAddr),
    /// In lower case.
    Word(String),
}

impl Name {
    /// Reads a name and perhaps a port, and nothing else: no user before them, nothing odd after.
    fn of(host: &str) -> Option<Self> {
        let authority: Authority = host.parse().ok()?;
        let rest = host.strip_prefix(authority.host())?;
        let port = rest.strip_prefix(':').unwrap_or(rest);
        if !port.bytes().all(|digit| digit.is_ascii_digit()) {
            return None;
        }
        let name = comparable(authority.host()).to_lowercase();
        let literal = name.trim_start_matches('[').trim_end_matches(']');
        Some(literal.parse().map_or_else(|_| Self::Word(name.clone()), Self::Address))
    }
}

/// A name without the dot that may end it.
fn comparable(name: &str) -> &str {
    name.strip_suffix('.').unwrap_or(name)
}

/// The text of a header that is there once.
fn only(headers: &HeaderMap, name: axum::http::HeaderName) -> Option<&str> {
    let mut values = headers.get_all(name).iter();
    let value = values.next()?.to_str().ok()?;
    values.next().is_none().then_some(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sender(headers: &[(axum::http::HeaderName, &str)]) -> Result<Sender, Stranger> {
        let names = OwnNames::new(Some("Quay"), &["gym.example".to_owned()]);
        let headers = headers.iter().map(|(name, value)| (name.clone(), value.parse().unwrap()));
        let mut map = HeaderMap::new();
        for (name, value) in headers {
            map.append(name, value);
        }
        names.sender(&map)
    }

    #[test]
    fn the_house_answers_to_its_own_names_alone() {
        for host in [
            "10.0.0.7:7878",
            "127.0.0.1",
            "[fd00::1]:7878",
            "[::1]",
            "localhost:7878",
            "LOCALHOST",
            "quay.local:7878",
            "Quay.local.",
            "gym.example",
        ] {
            assert_eq!(sender(&[(HOST, host)]), Ok(Sender::Program), "{host}");
        }
        for host in [
            "elsewhere.example",
            "10.0.0.7.elsewhere.example",
            "quay",
            "quay.local.elsewhere.example",
            "localhost.elsewhere.example",
            "localhost@elsewhere.example",
            "elsewhere.example@localhost",
            "localhost:80;x",
            "localhost:80:80",
            "",
            "[localhost",
            "a b",
        ] {
            assert_eq!(sender(&[(HOST, host)]), Err(Stranger::Host), "{host}");
        }
        assert_eq!(sender(&[]), Err(Stranger::Host));
        assert_eq!(sender(&[(HOST, "localhost"), (HOST, "localhost")]), Err(Stranger::Host));
    }

    #[test]
    fn the_machine_itself_is_trusted_without_tls() {
        for (host, own) in [
            ("localhost:7600", true),
            ("127.0.0.1:7600", true),
            ("[::1]:7600", true),
            ("10.0.0.7:7600", false),
            ("quay.local", false),
            ("localhost.elsewhere.example", false),
            ("", false),
        ] {
            assert_eq!(is_own_machine(host), own, "{host}");
        }
    }

    #[test]
    fn a_page_is_known_by_the_address_that_it_came_from() {
        let from = |origin| sender(&[(HOST, "10.0.0.7:7878"), (ORIGIN, origin)]);
        assert_eq!(from("http://10.0.0.7:7878"), Ok(Sender::Page));
        assert_eq!(from("https://10.0.0.7:7878"), Ok(Sender::Page));
        for origin in [
            "http://10.0.0.7",
            "http://10.0.0.7:80",
            "http://elsewhere.example",
            "http://10.0.0.7:7878.elsewhere.example",
            "10.0.0.7:7878",
            "null",
            "",
        ] {
            assert_eq!(from(origin), Err(Stranger::Origin), "{origin}");
        }
        let own = "http://localhost";
        assert_eq!(
            sender(&[(HOST, "localhost"), (ORIGIN, own), (ORIGIN, own)]),
            Err(Stranger::Origin)
        );
    }
}
