//! Under which addresses others on the network reach this machine.

use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};

/// The IPv4 addresses of this machine that others can use, the one that it reaches others from
/// first. IPv6 is left out: link-local addresses need a zone, which browsers do not take.
pub(super) fn of_machine() -> Vec<Ipv4Addr> {
    let table = std::fs::read_to_string("/proc/net/fib_trie").unwrap_or_default();
    let mut addresses = local(&table);
    if let Some(first) = outward() {
        addresses.retain(|address| *address != first);
        addresses.insert(0, first);
    }
    addresses
}

/// The address that a packet to elsewhere would be sent from. Connecting a UDP socket looks up the
/// route and sends nothing; the destination stands for anywhere (TEST-NET-3, RFC 5737).
fn outward() -> Option<Ipv4Addr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect((Ipv4Addr::new(203, 0, 113, 1), 9)).ok()?;
    match socket.local_addr().ok()? {
        SocketAddr::V4(address) if of_use(*address.ip()) => Some(*address.ip()),
        _ => None,
    }
}

/// The machine's own addresses in the kernel's routing table, where each stands above a line
/// `/32 host LOCAL`, sorted.
fn local(table: &str) -> Vec<Ipv4Addr> {
    let lines = table.lines().map(str::trim);
    let mut addresses: Vec<Ipv4Addr> = lines
        .clone()
        .zip(lines.skip(1))
        .filter(|(_, kind)| *kind == "/32 host LOCAL")
        .filter_map(|(line, _)| line.strip_prefix("|-- ")?.parse().ok())
        .filter(|address| of_use(*address))
        .collect();
    addresses.sort_unstable();
    addresses.dedup();
    addresses
}

fn of_use(address: Ipv4Addr) -> bool {
    !address.is_loopback() && !address.is_unspecified()
}

/// The hosts to put into addresses for whoever serves on `bound`, the best first; never empty.
pub(super) fn hosts(bound: IpAddr, names: &[String], machine: &[Ipv4Addr]) -> Vec<String> {
    let literal = |address: &IpAddr| match address {
        IpAddr::V4(v4) => v4.to_string(),
        IpAddr::V6(v6) => format!("[{v6}]"),
    };
    let mut hosts = names.to_vec();
    if bound.is_unspecified() {
        hosts.extend(machine.iter().map(ToString::to_string));
    } else if !bound.is_loopback() {
        hosts.push(literal(&bound));
    }
    if hosts.is_empty() {
        hosts.push("localhost".into());
    }
    hosts
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLE: &str = "\
Main:
  +-- 0.0.0.0/0 3 0 5
     |-- 0.0.0.0
        /0 universe UNICAST
     +-- 127.0.0.0/31 1 0 0
        |-- 127.0.0.1
           /32 host LOCAL
     +-- 10.0.7.0/24 2 0 2
        |-- 10.0.7.0
           /24 link UNICAST
        |-- 10.0.7.21
           /32 host LOCAL
        |-- 10.0.7.255
           /32 link BROADCAST
     |-- 10.0.3.9
        /32 host LOCAL
Local:
        |-- 10.0.7.21
           /32 host LOCAL
";

    #[test]
    fn the_machine_s_own_addresses_are_found() {
        assert_eq!(local(TABLE), [Ipv4Addr::new(10, 0, 3, 9), Ipv4Addr::new(10, 0, 7, 21)]);
        assert!(local("").is_empty());
    }

    #[test]
    fn this_machine_has_only_addresses_that_others_can_use() {
        assert!(of_machine().into_iter().all(of_use));
    }

    #[test]
    fn the_best_address_comes_first() {
        let machine = [Ipv4Addr::new(10, 0, 7, 21), Ipv4Addr::new(10, 0, 3, 9)];
        let named = ["gym.example".to_owned()];
        for (bound, names, expected) in [
            ("0.0.0.0", &[][..], &["10.0.7.21", "10.0.3.9"][..]),
            ("::", &named[..], &["gym.example", "10.0.7.21", "10.0.3.9"]),
            ("10.0.3.9", &[], &["10.0.3.9"]),
            ("fd00::1", &[], &["[fd00::1]"]),
            ("127.0.0.1", &[], &["localhost"]),
            ("127.0.0.1", &named, &["gym.example"]),
        ] {
            assert_eq!(hosts(bound.parse().unwrap(), names, &machine), expected, "{bound}");
        }
        assert_eq!(hosts("0.0.0.0".parse().unwrap(), &[], &[]), ["localhost"]);
    }
}
