//! Who may use which route, and where requests may come from.

use super::*;
use crate::access::Role;
use crate::http::gate::Who;
use crate::http::routes::table;

/// A request that its route would answer well, and the status of that answer.
struct Sample {
    path: String,
    body: String,
    status: u16,
}

/// A sample for every route of the table; a route without one fails the test.
fn sample(method: &str, path: &str, open: &Open, code: &str) -> Sample {
    let sample = |body: &str, status| Sample { path: path.into(), body: body.into(), status };
    match (method, path) {
        ("GET", "/assets/{file}") => Sample { path: "/assets/none.js".into(), ..sample("", 404) },
        (
            "GET",
            "/" | "/coach" | "/wall" | "/tally" | "/licences.txt" | "/api/house" | "/api/sheets"
            | "/api/classes" | "/api/qr.svg" | "/api/settings",
        ) => sample("", 200),
        ("POST", "/api/set-up") => {
            sample(&format!(r#"{{"token":"{}","passphrase":"x"}}"#, open.set_up), 409)
        }
        ("POST", "/api/sign-in") => sample(&format!(r#"{{"passphrase":"{PASSPHRASE}"}}"#), 200),
        ("POST", "/api/sign-out") => sample("", 204),
        ("POST", "/api/look") => sample(&format!(r#"{{"code":"{code}"}}"#), 200),
        ("POST", "/api/join") => sample(&format!(r#"{{"code":"{code}","name":"Ann"}}"#), 200),
        ("POST", "/api/join/personal") => sample(r#"{"token":"none"}"#, 404),
        ("POST", "/api/walls" | "/api/tablets") => sample("{}", 200),
        ("GET", "/api/sheets/{name}") => {
            Sample { path: "/api/sheets/short".into(), ..sample("", 200) }
        }
        ("PUT", "/api/sheets/{name}") => {
            Sample { path: "/api/sheets/short".into(), ..sample(SHEET, 200) }
        }
        ("GET", "/api/classes/{class}/history") => {
            let nobody = "00000000-0000-4000-8000-000000000000";
            let path = format!("/api/classes/{nobody}/history?athlete={nobody}&segment=1");
            Sample { path, ..sample("", 404) }
        }
        ("POST", "/api/check") => sample(SHEET, 200),
        ("POST", "/api/classes") => sample(r#"{"sheet":"short"}"#, 409),
        ("PUT", "/api/settings") => sample(r#"{"house":"Quayside Hall","emergency":""}"#, 204),
        ("GET", "/api/follow") => sample("", 101),
        _ => panic!("{method} {path} has no sample: who may use it is not tested"),
    }
}

/// Nobody, and each role.
const EVERYONE: [Option<Role>; 5] =
    [None, Some(Role::Wall), Some(Role::Tablet), Some(Role::Athlete), Some(Role::Coach)];

/// The roles that a route's `who` lets in.
fn admitted(who: Who, asked: Option<Role>) -> Vec<Option<Role>> {
    match who {
        Who::Anyone => EVERYONE.to_vec(),
        Who::Coach => vec![Some(Role::Coach)],
        Who::CoachOrWall => vec![Some(Role::Coach), Some(Role::Wall)],
        Who::Asked => vec![asked],
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn every_route_lets_in_whom_the_table_says_and_nobody_else() {
    let open = Open::set_up().await;
    let code = open.class().await;
    for route in table() {
        let asked: &[_] = match route.who {
            Who::Asked => &EVERYONE[1..],
            _ => &[None],
        };
        for asked in asked {
            for role in EVERYONE {
                let admitted = admitted(route.who, *asked).contains(&role);
                ask_as(&open, route.method.as_str(), route.path, &code, *asked, role, admitted)
                    .await;
            }
        }
    }
    open.stop().await;
}

/// The number of a device that now waits to be let in.
fn waits(answer: &Answer) -> Option<u32> {
    let value: serde_json::Value = serde_json::from_str(&answer.body).ok()?;
    value["number"].as_u64()?.try_into().ok()
}

/// Asks a route as a role, once as a program and once as a page, with a token made for it.
async fn ask_as(
    open: &Open,
    method: &str,
    path: &str,
    code: &str,
    asked: Option<Role>,
    role: Option<Role>,
    admitted: bool,
) {
    let method = ["GET", "POST", "PUT"].into_iter().find(|known| *known == method).unwrap();
    let sample = sample(method, path, open, code);
    let query = match asked {
        None => "",
        Some(Role::Coach) => "?as=coach",
        Some(Role::Wall) => "?as=wall",
        Some(Role::Tablet) => "?as=tablet",
        Some(Role::Athlete) => "?as=athlete",
    };
    for from_page in [false, true] {
        let token = match role {
            None => None,
            Some(Role::Coach) => Some(open.coach().await),
            Some(Role::Wall) => Some(open.paired(PairedKind::Wall).await),
            Some(Role::Tablet) => Some(open.paired(PairedKind::Tablet).await),
            Some(Role::Athlete) => Some(open.athlete().await),
        };
        let to = format!("{}{query}", sample.path);
        let mut ask = if from_page { open.page(method, &to) } else { open.program(method, &to) };
        ask = ask.text(&sample.body);
        if let (Some(role), Some(token)) = (role, token) {
            let cookie = role.set_cookie(&token, false);
            let pair = cookie.to_str().unwrap().split(';').next().unwrap();
            ask = if from_page { ask.header("cookie", pair) } else { ask.bearer(&token) };
        }
        if asked.is_some() {
            ask = ask.upgrade();
        }
        let answer = ask.send().await;
        if let Some(number) = waits(&answer) {
            // More ask here than would ever wait at once, or come from one address.
            open.app.house.settle_pairing(number, false).await;
            super::super::forgive(&open.app.guesses.pairing, open.address.ip());
        }
        let expected: &[u16] = match (admitted, role) {
            // A page is given its token in a cookie, and then there is nothing more to say.
            (true, _) if path == "/api/sign-in" => &[200, 204],
            (true, _) => &[sample.status],
            (false, None) => &[401],
            (false, Some(_)) => &[403],
        };
        assert!(
            expected.contains(&answer.status),
            "{method} {to} as {role:?}, from a page: {from_page}: {answer:?}"
        );
    }
}

#[tokio::test]
async fn a_cookie_counts_with_the_page_s_own_origin_alone() {
    let open = Open::set_up().await;
    let cookie = format!("floorbell-coach={}", open.coach().await);
    let settings = r#"{"house":"Quayside Hall","emergency":""}"#;
    let put = |ask: Ask| ask.header("cookie", &cookie).json(settings).send();
    assert_eq!(put(open.page("PUT", "/api/settings")).await.status, 204);
    assert_eq!(put(open.program("PUT", "/api/settings")).await.status, 401);
    for origin in ["http://elsewhere.example", "null", "http://127.0.0.1"] {
        let answer = put(open.program("PUT", "/api/settings").header("origin", origin)).await;
        assert_eq!(answer.status, 403, "{origin}");
        assert!(answer.problem().contains("Another site"), "{origin}");
    }
    // Browsers leave the origin out where a page fetches from its own house.
    let get = open.program("GET", "/api/settings").header("cookie", &cookie).send().await;
    assert_eq!(get.status, 200);
    let follow = open.program("GET", "/api/follow?as=coach").header("cookie", &cookie).upgrade();
    assert_eq!(follow.send().await.status, 401);
    let follow = open.page("GET", "/api/follow?as=coach").header("cookie", &cookie).upgrade();
    assert_eq!(follow.send().await.status, 101);
    open.stop().await;
}

#[tokio::test]
async fn a_token_is_no_use_to_a_page() {
    let open = Open::set_up().await;
    let coach = open.coach().await;
    let answer = open.page("GET", "/api/settings").bearer(&coach).send().await;
    assert_eq!(answer.status, 401);
    assert_eq!(answer.header("www-authenticate"), Some("Bearer"));
    open.stop().await;
}

#[tokio::test]
async fn the_house_answers_to_its_own_names_alone() {
    let open = Open::first().await;
    let as_host = |host: &str| open.program("GET", "/api/house").host(host).send();
    for host in ["localhost:80", "10.1.2.3"] {
        assert_eq!(as_host(host).await.status, 200, "{host}");
    }
    for path in ["/", "/api/house", "/nothing"] {
        let answer = open.program("GET", path).host("elsewhere.example").send().await;
        assert_eq!(answer.status, 421, "{path}");
        assert!(answer.problem().contains("--name"), "{path}");
    }
    open.stop().await;
}

#[tokio::test]
async fn who_follows_says_as_whom() {
    let open = Open::set_up().await;
    let coach = open.coach().await;
    for query in ["", "?as=", "?as=owner", "?role=coach"] {
        let ask = open.program("GET", &format!("/api/follow{query}")).bearer(&coach).upgrade();
        assert_eq!(ask.send().await.status, 400, "{query}");
    }
    let plain = open.program("GET", "/api/follow?as=coach").bearer(&coach).send().await;
    assert_eq!(plain.status, 400);
    assert!(plain.problem().contains("WebSocket"));
    open.stop().await;
}

#[tokio::test]
async fn every_answer_tells_the_browser_what_it_may_do() {
    let open = Open::first().await;
    for path in ["/", "/coach", "/wall", "/tally", "/api/house", "/api/sheets", "/nothing"] {
        // The address is of the machine itself, so the pages can be isolated.
        let answer = open.page("GET", path).send().await;
        let policy = answer.header("content-security-policy").unwrap();
        assert!(policy.starts_with("default-src 'self'; "), "{path}: {policy}");
        assert!(policy.contains("frame-ancestors 'none'"), "{path}: {policy}");
        assert!(policy.contains(&format!("ws://{}", open.address)), "{path}: {policy}");
        assert!(!policy.contains("unsafe"), "{path}: {policy}");
        for (name, value) in [
            ("x-content-type-options", "nosniff"),
            ("referrer-policy", "no-referrer"),
            ("cross-origin-opener-policy", "same-origin"),
            ("cross-origin-embedder-policy", "require-corp"),
            ("cross-origin-resource-policy", "same-origin"),
        ] {
            assert_eq!(answer.header(name), Some(value), "{path}: {name}");
        }
        let caching = answer.header("cache-control").unwrap();
        assert_eq!(
            caching == "no-store",
            !matches!(path, "/" | "/coach" | "/wall" | "/tally"),
            "{path}"
        );
    }
    let elsewhere = open.program("GET", "/").host("10.0.0.7").send().await;
    assert_eq!(elsewhere.header("cross-origin-opener-policy"), None);
    assert_eq!(elsewhere.header("cross-origin-resource-policy"), Some("same-origin"));
    open.stop().await;
}
