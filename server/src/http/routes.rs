//! Every route with who may use it. The router is built from this table and from nothing else, so a
//! route cannot be forgotten in it; a test walks the table with every role.

use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::handler::Handler;
use axum::http::{Method, StatusCode};
use axum::middleware::from_fn_with_state;
use axum::routing::{self, MethodRouter};

use super::gate::{self, Who};
use super::problem::Problem;
use super::{App, classes, follow, history, join, pages, settings, sheets, sign_in};

/// The longest JSON body, in bytes: joining with a choice of options for a long session is under
/// 8 KiB.
const BODY_BYTES_MAX: usize = 16 * 1024;

/// One route.
pub(super) struct Route {
    #[cfg_attr(not(test), expect(dead_code, reason = "for the test that walks the table"))]
    pub(super) method: Method,
    /// As axum matches it.
    pub(super) path: &'static str,
    pub(super) who: Who,
    body_bytes_max: usize,
    answer: MethodRouter<Arc<App>>,
}

/// All routes.
pub(super) fn table() -> Vec<Route> {
    use Who::{Anyone, Asked, Coach, CoachOrWall};
    vec![
        get("/", Anyone, pages::file),
        get("/coach", Anyone, pages::file),
        get("/wall", Anyone, pages::file),
        get("/tally", Anyone, pages::file),
        get("/licences.txt", Anyone, pages::file),
        get("/assets/{file}", Anyone, pages::file),
        get("/api/house", Anyone, settings::house),
        post("/api/set-up", Anyone, sign_in::set_up),
        post("/api/sign-in", Anyone, sign_in::sign_in),
        post("/api/sign-out", Coach, sign_in::sign_out),
        post("/api/look", Anyone, join::look),
        post("/api/join", Anyone, join::join),
        post("/api/join/personal", Anyone, join::personal),
        post("/api/walls", Anyone, join::wall),
        post("/api/tablets", Anyone, join::tablet),
        get("/api/sheets", Coach, sheets::list),
        get("/api/sheets/{name}", Coach, sheets::show),
        put("/api/sheets/{name}", Coach, sheets::save).takes(sheets::BODY_BYTES_MAX),
        post("/api/check", Coach, sheets::check).takes(sheets::BODY_BYTES_MAX),
        get("/api/classes", Coach, classes::list),
        post("/api/classes", Coach, classes::open),
        get("/api/classes/{class}/history", Coach, history::show),
        get("/api/qr.svg", CoachOrWall, classes::qr),
        get("/api/settings", Coach, settings::show),
        put("/api/settings", Coach, settings::save),
        get("/api/follow", Asked, follow::follow),
    ]
}

fn get<H: Handler<T, Arc<App>>, T: 'static>(path: &'static str, who: Who, answer: H) -> Route {
    Route::new(Method::GET, path, who, routing::get(answer))
}

fn post<H: Handler<T, Arc<App>>, T: 'static>(path: &'static str, who: Who, answer: H) -> Route {
    Route::new(Method::POST, path, who, routing::post(answer))
}

fn put<H: Handler<T, Arc<App>>, T: 'static>(path: &'static str, who: Who, answer: H) -> Route {
    Route::new(Method::PUT, path, who, routing::put(answer))
}

impl Route {
    fn new(method: Method, path: &'static str, who: Who, answer: MethodRouter<Arc<App>>) -> Self {
        Self { method, path, who, body_bytes_max: BODY_BYTES_MAX, answer }
    }

    /// The same route with another bound on the body.
    fn takes(self, body_bytes_max: usize) -> Self {
        Self { body_bytes_max, ..self }
    }
}

/// The router of all routes, each behind its gate.
pub(super) fn router(app: &Arc<App>) -> Router {
    let mut router = Router::new();
    for route in table() {
        let admit = from_fn_with_state((Arc::clone(app), route.who), gate::admit);
        let answer =
            route.answer.layer(DefaultBodyLimit::max(route.body_bytes_max)).route_layer(admit);
        router = router.route(route.path, answer);
    }
    router
        .fallback(async || Problem::not_found("There is nothing at this address."))
        .method_not_allowed_fallback(async || {
            let detail = "This address does not take requests of this kind.";
            Problem::new(StatusCode::METHOD_NOT_ALLOWED, detail)
        })
        .layer(from_fn_with_state(Arc::clone(app), gate::guard))
        .with_state(Arc::clone(app))
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn no_route_stands_in_the_table_twice() {
        let routes: Vec<_> = table().into_iter().map(|route| (route.method, route.path)).collect();
        assert_eq!(routes.iter().collect::<HashSet<_>>().len(), routes.len());
    }
}
