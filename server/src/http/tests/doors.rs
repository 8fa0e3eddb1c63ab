//! The ways in: the set-up link, signing in, the class code, walls and tally tablets.

use super::*;
use crate::access::Role;

fn set_up_body(token: &str) -> String {
    format!(
        r#"{{"token":"{token}","passphrase":"{PASSPHRASE}","house":"Quayside Hall",
            "emergency":"Call 000.\nDefibrillator: by the door."}}"#
    )
}

fn sign_in_body(passphrase: &str) -> String {
    format!(r#"{{"passphrase":"{passphrase}"}}"#)
}

#[tokio::test]
async fn the_set_up_link_works_once() {
    let open = Open::first().await;
    let body = set_up_body(&open.set_up.to_string());
    assert_eq!(open.program("GET", "/api/house").send().await.value()["set_up"], false);

    let wrong = open.page("POST", "/api/set-up").json(&set_up_body(&"0".repeat(32))).send().await;
    assert_eq!(wrong.status, 403);
    assert!(wrong.problem().contains("not valid"));
    let short = body.replace(PASSPHRASE, "short");
    let short = open.page("POST", "/api/set-up").json(&short).send().await;
    assert_eq!(short.status, 400);
    assert!(short.problem().contains("too short"));

    let done = open.page("POST", "/api/set-up").json(&body).send().await;
    assert_eq!((done.status, &*done.body), (204, ""));
    let (cookie, _) = done.cookie("floorbell-coach").unwrap();
    let ask =
        open.page("GET", "/api/settings").header("cookie", &format!("floorbell-coach={cookie}"));
    let settings = ask.send().await;
    assert_eq!(settings.value()["house"], "Quayside Hall");
    assert_eq!(settings.value()["emergency"], "Call 000.\nDefibrillator: by the door.");

    let again = open.page("POST", "/api/set-up").json(&body).send().await;
    assert_eq!(again.status, 409);
    assert!(again.problem().contains("sign in"));
    let house = open.program("GET", "/api/house").send().await.value();
    assert_eq!(
        house,
        serde_json::json!({"house": "Quayside Hall", "set_up": true, "secure": false})
    );
    open.stop().await;
}

#[tokio::test]
async fn signing_in_needs_the_passphrase_and_signing_out_ends_it() {
    let open = Open::set_up().await;
    let wrong = open.page("POST", "/api/sign-in").json(&sign_in_body("harbour wall at five"));
    let wrong = wrong.send().await;
    assert_eq!(wrong.status, 401);
    assert!(wrong.problem().contains("not the passphrase"));
    assert_eq!(wrong.header("set-cookie"), None);

    let right = open.page("POST", "/api/sign-in").json(&sign_in_body(PASSPHRASE)).send().await;
    assert_eq!((right.status, &*right.body), (204, ""));
    let (value, attributes) = right.cookie("floorbell-coach").unwrap();
    assert_eq!(attributes, "Path=/; HttpOnly; SameSite=Strict; Max-Age=2592000");
    let cookie = format!("floorbell-coach={value}");

    let out = open.page("POST", "/api/sign-out").header("cookie", &cookie).send().await;
    assert_eq!(out.status, 204);
    assert!(out.cookie("floorbell-coach").is_some_and(|(value, _)| value.is_empty()));
    let after = open.page("GET", "/api/settings").header("cookie", &cookie).send().await;
    assert_eq!(after.status, 401);
    open.stop().await;
}

#[tokio::test]
async fn a_program_gets_its_token_in_the_body() {
    let open = Open::set_up().await;
    let answer = open.program("POST", "/api/sign-in").json(&sign_in_body(PASSPHRASE)).send().await;
    assert_eq!((answer.status, answer.header("set-cookie")), (200, None));
    let token = Token::parse(answer.value()["token"].as_str().unwrap()).unwrap();
    assert_eq!(open.program("GET", "/api/settings").bearer(&token).send().await.status, 200);
    open.stop().await;
}

#[tokio::test]
async fn guesses_are_limited_and_a_signed_in_coach_is_not() {
    let open = Open::set_up().await;
    let coach = open.coach().await;
    for (path, body, wrong) in [
        ("/api/sign-in", sign_in_body("wrong"), 401),
        ("/api/set-up", set_up_body("wrong"), 409),
        ("/api/look", r#"{"code":"CDFG-3479"}"#.to_owned(), 404),
        // No guess, but each one troubles the coach.
        ("/api/walls", "{}".to_owned(), 200),
    ] {
        for _ in 0..10 {
            assert_eq!(open.program("POST", path).json(&body).send().await.status, wrong, "{path}");
        }
        let limited = open.program("POST", path).json(&body).send().await;
        assert_eq!(limited.status, 429, "{path}");
        assert!(limited.problem().starts_with("Too many tries"), "{path}");
        let wait: u32 = limited.header("retry-after").unwrap().parse().unwrap();
        assert!((1..=30).contains(&wait), "{path}: {wait}");
    }
    // Looking and joining guess at the same secret.
    let join = open.program("POST", "/api/join").json(r#"{"code":"CDFG-3479","name":"Ann"}"#);
    assert_eq!(join.send().await.status, 429);
    assert_eq!(open.program("GET", "/api/sheets").bearer(&coach).send().await.status, 200);
    let class = open.program("POST", "/api/classes").bearer(&coach).json(r#"{"sheet":"short"}"#);
    assert_eq!(class.send().await.status, 200);
    open.stop().await;
}

#[tokio::test]
async fn a_whole_class_comes_in_from_one_address() {
    let open = Open::set_up().await;
    let code = open.class().await;
    for number in 0..20 {
        let look =
            open.page("POST", "/api/look").json(&format!(r#"{{"code":"{code}"}}"#)).send().await;
        assert_eq!(look.status, 200);
        let body = format!(r#"{{"code":"{}","name":"Ann {number}"}}"#, code.to_lowercase());
        let joined = open.page("POST", "/api/join").json(&body).send().await;
        assert_eq!(joined.status, 200, "{}", joined.body);
        let (value, attributes) = joined.cookie("floorbell-athlete").unwrap();
        assert_eq!(attributes, "Path=/; HttpOnly; SameSite=Strict; Max-Age=604800");
        assert!(Token::parse(value).is_some());
        assert_eq!(joined.value().get("token"), None);
    }
    open.stop().await;
}

#[tokio::test]
async fn a_look_shows_the_class_and_not_what_only_coaches_see() {
    let open = Open::set_up().await;
    let sheet = SHEET.replace("Aim:", "Cues: knees out\n\nAim:");
    let coach = open.coach().await;
    let saved = open.program("PUT", "/api/sheets/short").bearer(&coach).text(&sheet).send().await;
    assert_eq!(saved.value()["problems"], serde_json::json!([]), "{}", saved.body);
    let code = open.class().await;
    let look =
        open.program("POST", "/api/look").json(&format!(r#"{{"code":"{code}"}}"#)).send().await;
    let value = look.value();
    assert_eq!(
        (&value["title"], &value["expected"]),
        (&"Short tide".into(), &serde_json::json!([]))
    );
    assert_eq!(value["blocks"][0]["movements"][0]["name"], "squat");
    assert!(!look.body.contains("knees out"), "{}", look.body);
    open.stop().await;
}

#[tokio::test]
async fn who_comes_in_says_who_they_are() {
    let open = Open::set_up().await;
    let code = open.class().await;
    for (rest, problem) in [
        ("", "Say who you are"),
        (r#","name":"  ""#, "empty"),
        (r#","name":"a\u0007b""#, "control character"),
        (r#","name":"Ann","expected":"00000000-0000-4000-8000-000000000000""#, "Say who you are"),
    ] {
        let body = format!(r#"{{"code":"{code}"{rest}}}"#);
        let answer = open.program("POST", "/api/join").json(&body).send().await;
        assert_eq!(answer.status, 400, "{rest}");
        assert!(answer.problem().contains(problem), "{rest}: {}", answer.body);
    }
    let nobody =
        format!(r#"{{"code":"{code}","expected":"00000000-0000-4000-8000-000000000000"}}"#);
    let answer = open.program("POST", "/api/join").json(&nobody).send().await;
    assert_eq!(answer.status, 409);
    open.stop().await;
}

#[tokio::test]
async fn a_personal_link_lets_in_its_athlete_alone() {
    let open = Open::set_up().await;
    let code = open.class().await;
    let body = format!(r#"{{"code":"{code}","name":"Ann","at_home":true}}"#);
    let joined = open.program("POST", "/api/join").json(&body).send().await.value();
    let token = joined["token"].as_str().unwrap();
    let link = |token: &str| format!(r#"{{"token":"{token}"}}"#);
    let again = open.page("POST", "/api/join/personal").json(&link(token)).send().await;
    assert_eq!(again.status, 200);
    assert_eq!(again.value()["athlete"], joined["athlete"]);
    assert_eq!(again.cookie("floorbell-athlete").map(|(value, _)| value), Some(token));
    assert_eq!(again.value().get("token"), None);
    for other in [open.coach().await.to_string(), "0".repeat(32), "x".into()] {
        let answer = open.page("POST", "/api/join/personal").json(&link(&other)).send().await;
        assert_eq!(answer.status, 404);
        assert!(answer.problem().contains("ask the coach"));
    }
    open.stop().await;
}

#[tokio::test]
async fn a_wall_waits_and_sees_nothing_until_it_is_let_in() {
    let open = Open::set_up().await;
    open.class().await;
    let asked = open.page("POST", "/api/walls").json("{}").send().await;
    assert_eq!(asked.status, 200);
    assert!(asked.value()["number"].is_number());
    let (value, attributes) = asked.cookie("floorbell-wall").unwrap();
    assert_eq!(attributes, "Path=/; HttpOnly; SameSite=Strict; Max-Age=31536000");
    let cookie = format!("floorbell-wall={value}");
    let qr = open.page("GET", "/api/qr.svg").header("cookie", &cookie).send().await;
    assert_eq!(qr.status, 403);
    let follow = open.page("GET", "/api/follow?as=wall").header("cookie", &cookie).upgrade();
    assert_eq!(follow.send().await.status, 101);
    open.stop().await;
}

#[tokio::test]
async fn a_tally_tablet_has_a_number_that_no_wall_has() {
    let open = Open::set_up().await;
    open.class().await;
    let wall = open.page("POST", "/api/walls").json("{}").send().await;
    let (wall_token, _) = wall.cookie("floorbell-wall").unwrap();
    // One browser may be both: what it is as a wall says nothing of the tablet.
    let ask = |cookie: String| {
        open.page("POST", "/api/tablets").header("cookie", &cookie).json("{}").send()
    };
    let asked = ask(format!("floorbell-wall={wall_token}")).await;
    assert_eq!(asked.status, 200);
    assert_ne!(asked.value()["number"], wall.value()["number"]);
    let (value, attributes) = asked.cookie("floorbell-tablet").unwrap();
    assert_eq!(attributes, "Path=/; HttpOnly; SameSite=Strict; Max-Age=31536000");
    let again = ask(format!("floorbell-tablet={value}")).await;
    assert_eq!(again.value()["number"], asked.value()["number"]);
    assert_eq!(again.cookie("floorbell-tablet"), None);
    for (role, status) in [("tablet", 101), ("wall", 403), ("coach", 403)] {
        let path = format!("/api/follow?as={role}");
        let follow = open.page("GET", &path).header("cookie", &format!("floorbell-tablet={value}"));
        assert_eq!(follow.upgrade().send().await.status, status, "{role}");
    }
    open.stop().await;
}

/// A wall whose first tries to connect fail cannot tell whether it is known, and asks again.
#[tokio::test]
async fn a_wall_that_asks_again_keeps_its_number() {
    let open = Open::set_up().await;
    let ask = |token: Option<&str>| {
        let page = open.page("POST", "/api/walls").json("{}");
        match token {
            Some(token) => page.header("cookie", &format!("floorbell-wall={token}")).send(),
            None => page.send(),
        }
    };
    let asked = ask(None).await;
    let (token, _) = asked.cookie("floorbell-wall").unwrap();
    let number = asked.value()["number"].as_u64().unwrap();
    for let_in in [false, true] {
        if let_in {
            open.app.house.settle_pairing(number.try_into().unwrap(), true).await;
        }
        let again = ask(Some(token)).await;
        assert_eq!(again.value()["number"], number);
        assert_eq!(again.cookie("floorbell-wall"), None);
    }
    assert_ne!(ask(None).await.value()["number"], number, "that of another wall");
    open.app.house.settle_pairing(number.try_into().unwrap(), false).await;
    let anew = ask(Some(token)).await;
    assert_ne!(anew.cookie("floorbell-wall").unwrap().0, token, "it was turned away");
    open.stop().await;
}

#[tokio::test]
async fn a_token_that_nobody_used_for_long_is_worth_nothing() {
    let open = Open::set_up().await;
    let token = Token::random();
    let now = open.app.clock.wall().as_micros();
    let grant_used = |days: i64| {
        let at = crate::clock::WallTime::from_micros(now - days * 24 * 3_600_000_000);
        open.app.store.write(vec![super::super::grant(&token, Holder::Coach, at)])
    };
    let kept = Role::Coach.kept().as_micros() / (24 * 3_600_000_000);
    grant_used(kept - 1).await.unwrap();
    assert_eq!(open.program("GET", "/api/sheets").bearer(&token).send().await.status, 200);
    grant_used(kept + 1).await.unwrap();
    assert_eq!(open.program("GET", "/api/sheets").bearer(&token).send().await.status, 401);
    open.stop().await;
}
