//! Sheets, classes, settings, and how requests that make no sense are answered.

use super::*;

#[tokio::test]
async fn a_sheet_is_kept_even_with_problems_and_then_opens_no_class() {
    let open = Open::set_up().await;
    let coach = open.coach().await;
    let put = open.program("PUT", "/api/sheets/low%20tide").bearer(&coach).text("no sheet").send();
    let problems = put.await.value()["problems"].clone();
    assert_eq!(problems[0]["severity"], "error");
    let list = open.program("GET", "/api/sheets").bearer(&coach).send().await.value();
    let count = problems.as_array().unwrap().len();
    assert_eq!(
        list,
        serde_json::json!([
            {"name": "low tide", "title": "low tide", "problems": count},
            {"name": "short", "title": "Short tide", "problems": 0},
        ])
    );
    let text = open.program("GET", "/api/sheets/low%20tide").bearer(&coach).send().await;
    assert_eq!((text.status, &*text.body), (200, "no sheet"));
    assert_eq!(text.header("content-type"), Some("text/markdown; charset=utf-8"));

    let class = |sheet: &str| {
        let ask = open.program("POST", "/api/classes").bearer(&coach);
        ask.json(&format!(r#"{{"sheet":"{sheet}"}}"#)).send()
    };
    let unreadable = class("low tide").await;
    assert_eq!(unreadable.status, 422);
    assert_eq!(unreadable.value()["problems"], problems);
    assert_eq!(class("high tide").await.status, 404);
    let before = open.program("GET", "/api/classes").bearer(&coach).send().await.value();
    assert_eq!(before, serde_json::json!({"open": null, "past": []}));
    let no_qr = open.program("GET", "/api/qr.svg").bearer(&coach).send().await;
    assert_eq!(no_qr.status, 404);

    let opened = class("short").await.value();
    let address = format!("http://{}/#c={}", open.address, opened["code"].as_str().unwrap());
    assert_eq!(opened["address"].as_str(), Some(&*address));
    let after = open.program("GET", "/api/classes").bearer(&coach).send().await.value();
    assert_eq!(after["open"]["class"], opened["class"]);
    let twice = class("short").await;
    assert_eq!(twice.status, 409);
    assert!(twice.problem().contains("close it"));
    let qr = open.program("GET", "/api/qr.svg").bearer(&coach).send().await;
    assert_eq!(qr.header("content-type"), Some("image/svg+xml"));
    assert_eq!(qr.body, crate::qr::svg(&address));
    let token = "0123456789abcdef0123456789abcdef";
    let personal = open.program("GET", &format!("/api/qr.svg?me={token}")).bearer(&coach);
    let holds = format!("http://{}/#me={token}", open.address);
    assert_eq!(personal.send().await.body, crate::qr::svg(&holds));
    let wrong = open.program("GET", "/api/qr.svg?me=javascript").bearer(&coach).send().await;
    assert_eq!(wrong.status, 400);
    open.stop().await;
}

#[tokio::test]
async fn a_check_keeps_nothing() {
    let open = Open::set_up().await;
    let coach = open.coach().await;
    let check = |text: &str| open.program("POST", "/api/check").bearer(&coach).text(text).send();
    let good = check(SHEET).await.value();
    assert_eq!(good["problems"], serde_json::json!([]));
    assert!(good["report"].as_str().unwrap().contains("Short tide"));
    let bad = check("# Only a title\n").await.value();
    assert_eq!((&bad["report"], &bad["problems"][0]["line"]), (&"".into(), &1.into()));
    let list = open.program("GET", "/api/sheets").bearer(&coach).send().await.value();
    assert_eq!(list.as_array().unwrap().len(), 1);
    open.stop().await;
}

#[tokio::test]
async fn what_is_too_long_or_makes_no_sense_is_answered_with_a_sentence() {
    let open = Open::set_up().await;
    let coach = open.coach().await;
    let long = "x".repeat(floorbell_core::sheet::BYTES_MAX + 1);
    let check = open.program("POST", "/api/check").bearer(&coach).text(&long).send().await;
    assert_eq!(check.value()["problems"][0]["severity"], "error");
    let check = open.program("POST", "/api/check").bearer(&coach).text(&(long + "x")).send().await;
    assert_eq!(check.status, 413);
    assert!(check.problem().contains("too long"));

    let put = |body: &str| open.program("PUT", "/api/settings").bearer(&coach).json(body).send();
    for body in ["", "{", r#"{"house":"Hall"}"#, r#"{"house":1,"emergency":""}"#] {
        let answer = put(body).await;
        assert_eq!(answer.status, 400, "{body}");
        assert!(answer.problem().contains("JSON"), "{body}");
    }
    let notice = |text: &str| format!(r#"{{"house":"Hall","emergency":"{text}"}}"#);
    assert_eq!(put(&notice(&"x".repeat(280))).await.status, 204);
    assert_eq!(put(&notice(&"x".repeat(281))).await.status, 400);
    assert_eq!(put(&notice("a\\u0007b")).await.status, 400);

    let nothing = open.program("GET", "/api/nothing").send().await;
    assert_eq!((nothing.status, nothing.problem().is_empty()), (404, false));
    let method = open.program("PUT", "/api/house").send().await;
    assert_eq!((method.status, method.problem().is_empty()), (405, false));
    let huge = open.program("GET", "/").header("x-huge", &"x".repeat(20_000)).send().await;
    assert_eq!(huge.status, 431);
    open.stop().await;
}

#[tokio::test]
async fn pages_are_sent_once_and_then_known() {
    let open = Open::first().await;
    for path in ["/", "/coach", "/wall", "/tally"] {
        let whole = open.page("GET", path).send().await;
        assert_eq!(whole.header("content-type"), Some("text/html; charset=utf-8"));
        assert_eq!(whole.header("content-encoding"), None);
        let tag = whole.header("etag").unwrap();
        let known = open.page("GET", path).header("if-none-match", tag).send().await;
        assert_eq!((known.status, &*known.body), (304, ""));
        let gzip = open.page("GET", path).header("accept-encoding", "br, gzip;q=0.8").send().await;
        assert_eq!(gzip.header("content-encoding"), Some("gzip"));
        let refused = open.page("GET", path).header("accept-encoding", "gzip;q=0").send().await;
        assert_eq!(refused.header("content-encoding"), None);
        for file in whole.body.split('"').filter(|part| part.starts_with("/assets/")) {
            let file = open.page("GET", file).send().await;
            assert_eq!(file.status, 200);
            assert!(file.header("cache-control").unwrap().contains("immutable"));
        }
    }
    open.stop().await;
}
