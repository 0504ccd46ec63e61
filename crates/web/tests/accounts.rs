//! Pages on which people sign in: who comes in, what they may, and as whom they write.

mod common;

use axum::Router;
use axum::body::Body;
use axum::http::header::{CONTENT_TYPE, COOKIE, HOST, RETRY_AFTER, SET_COOKIE};
use axum::http::{Method, Request, StatusCode};
use common::{Here, NAME, NEXT, Told, form, store};
use desk::rack::Rack;
use http_body_util::BodyExt;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use tower::ServiceExt;
use web::rights::{Need, ROUTES};
use web::{Reach, Site, app};

const PASSWORD: &str = "a rope of sand and salt";
const HOUR_MS: i64 = 3_600_000;
const DAY_MS: i64 = 24 * HOUR_MS;

/// The pages of the example, which Anna keeps and inspects, on which Ben may log, and which Cleo may look at.
struct School {
    app: Router,
    here: &'static Here,
    rack: Rack<'static>,
    host: &'static str,
}

/// Somebody who is signed in.
struct Guest<'s> {
    school: &'s School,
    cookie: String,
}

impl School {
    async fn new() -> Self {
        Self::at("127.0.0.1", NAME, false).await
    }

    async fn at(name: &str, host: &'static str, is_tls: bool) -> Self {
        let here: &'static Here = Box::leak(Box::default());
        let place = store(&format!("school-{}", NEXT.fetch_add(1, Ordering::Relaxed)));
        let open = async || Rack::open(&place, here, None).await.expect("a store");
        let rack = open().await;
        let example = include_str!("../../../examples/rack.csv");
        let columns = desk::rack::sheet::Columns::default();
        rack.import_text("rack.csv", example, &columns, None, false).await.expect("the example");
        for person in ["Anna", "Ben", "Cleo"] {
            rack.add_person(person).await.expect("known");
            rack.add_account(person, PASSWORD).await.expect("an account");
        }
        for (person, right) in [("Anna", "keep"), ("Anna", "log"), ("Ben", "log"), ("Anna", "inspect")] {
            rack.allow(person, right, "2027-12-31").await.expect("a right");
        }
        let reach = Reach::new(&[name.to_owned()], 7410, is_tls, None);
        let site = Site::new(open().await, here, "owner".to_owned(), reach).with_accounts();
        Self { app: app(Arc::new(site)), here, rack, host }
    }

    async fn ask(&self, mut request: Request<Body>) -> Told {
        request.headers_mut().insert(HOST, self.host.parse().expect("a name"));
        let answer = self.app.clone().oneshot(request).await.expect("an answer");
        let (parts, body) = answer.into_parts();
        let bytes = body.collect().await.expect("a body").to_bytes();
        Told { status: parts.status, headers: parts.headers, text: String::from_utf8_lossy(&bytes).into_owned() }
    }

    async fn get(&self, path: &str) -> Told {
        self.ask(Request::get(path).body(Body::empty()).expect("a request")).await
    }

    async fn try_in(&self, name: &str, password: &str) -> Told {
        self.ask(form("/sign-in", &[("name", name), ("password", password), ("to", "/rack")])).await
    }

    async fn sign_in(&self, name: &str) -> Guest<'_> {
        let told = self.try_in(name, PASSWORD).await;
        assert_eq!((told.status, told.to()), (StatusCode::SEE_OTHER, "/rack"), "{}", told.text);
        let cookie = told.headers[SET_COOKIE].to_str().expect("text");
        Guest { school: self, cookie: cookie.split(';').next().expect("a pair").to_owned() }
    }

    fn wait(&self, ms: i64) {
        self.here.later_ms.fetch_add(ms, Ordering::Relaxed);
    }
}

impl Guest<'_> {
    async fn ask(&self, mut request: Request<Body>) -> Told {
        request.headers_mut().insert(COOKIE, self.cookie.parse().expect("a cookie"));
        self.school.ask(request).await
    }

    async fn get(&self, path: &str) -> Told {
        self.ask(Request::get(path).body(Body::empty()).expect("a request")).await
    }

    /// What a form of theirs holds: token and as whom it is written.
    async fn held(&self) -> (String, String) {
        let who: serde_json::Value = serde_json::from_str(&self.get("/waiting/who").await.text).expect("JSON");
        let text = |name: &str| who[name].as_str().expect("a text").to_owned();
        (text("token"), text("writer"))
    }

    async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Told {
        self.post_as(path, self.held().await, fields).await
    }

    async fn post_as(&self, path: &str, (token, writer): (String, String), fields: &[(&str, &str)]) -> Told {
        let wish = format!("{:032}", NEXT.fetch_add(1, Ordering::Relaxed));
        let mut all = vec![("token", token.as_str()), ("writer", &writer), ("wish", &wish)];
        all.extend_from_slice(fields);
        self.ask(form(path, &all)).await
    }

    async fn drops(&self, label: &str) -> Told {
        self.post("/log/new", &[("what", "dropped"), ("labels", label), ("onto", "rock")]).await
    }
}

/// The addresses in the code: whether they can be opened, and whether something can be sent there.
fn routed() -> BTreeMap<String, (bool, bool)> {
    let mut routed = BTreeMap::new();
    let mut folders = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("src")];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).expect("code") {
            let path = entry.expect("a file").path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let before = if path.ends_with("api.rs") { "/api" } else { "" };
            let text = std::fs::read_to_string(&path).expect("its text");
            for route in text.split(".route(").skip(1) {
                let address = route.split('"').nth(1).expect("an address");
                let methods = route.split([';', '\n']).next().expect("methods");
                routed.insert(format!("{before}{address}"), (methods.contains("get("), methods.contains("post(")));
            }
        }
    }
    routed
}

#[test]
fn every_address_says_what_it_asks_for() {
    let told: BTreeMap<String, (bool, bool)> =
        ROUTES.iter().map(|route| (route.path.to_owned(), (route.look.is_some(), route.send.is_some()))).collect();
    assert_eq!(told.len(), ROUTES.len(), "each stands there once");
    assert_eq!(routed(), told);
}

#[tokio::test]
async fn each_address_lets_in_those_alone_who_may() {
    let school = School::new().await;
    let (anna, ben, cleo) = (school.sign_in("Anna").await, school.sign_in("Ben").await, school.sign_in("Cleo").await);
    for route in ROUTES {
        let path = route
            .path
            .replace("{label}", "C-001")
            .replace("{entry}", "1")
            .replace("{place}", "0")
            .replace("{name}", "style.css");
        for (method, need) in [(Method::GET, route.look), (Method::POST, route.send)] {
            let Some(need) = need else { continue };
            let request = || {
                let kind = "application/x-www-form-urlencoded";
                let request = Request::builder().method(&method).uri(&path).header(CONTENT_TYPE, kind);
                request.body(Body::empty()).expect("a request")
            };
            let is_out = |status| matches!(status, StatusCode::UNAUTHORIZED | StatusCode::FORBIDDEN);
            let stranger = school.ask(request()).await.status;
            if matches!(need, Need::Nothing | Need::Anybody) {
                assert_ne!(stranger, StatusCode::FORBIDDEN, "{method} {path}");
            } else {
                assert_eq!(stranger, StatusCode::UNAUTHORIZED, "{method} {path}");
            }
            for (who, may) in
                [(&anna, true), (&ben, need != Need::Keep), (&cleo, !matches!(need, Need::Keep | Need::Log))]
            {
                // A form without its token is refused behind the door, by another status.
                let told = who.ask(request()).await;
                let wanted = if path == "/sign-in" { StatusCode::UNAUTHORIZED } else { StatusCode::FORBIDDEN };
                assert_eq!(is_out(told.status) && told.status == wanted && path != "/sign-in", !may, "{method} {path}");
            }
        }
    }
}

#[tokio::test]
async fn what_stands_in_no_table_is_refused() {
    let school = School::new().await;
    assert_eq!(school.get("/no-such-page").await.status, StatusCode::UNAUTHORIZED);
    assert_eq!(school.get("/api/no-such-thing").await.status, StatusCode::UNAUTHORIZED);
    let cleo = school.sign_in("Cleo").await;
    assert_eq!(cleo.get("/no-such-page").await.status, StatusCode::NOT_FOUND);
    let put = Request::put("/rack").body(Body::empty()).expect("a request");
    assert_eq!(cleo.ask(put).await.status, StatusCode::METHOD_NOT_ALLOWED);
}

#[tokio::test]
async fn the_cookie_is_for_this_server_alone() {
    let school = School::new().await;
    let told = school.try_in("Anna", PASSWORD).await;
    let cookie = told.headers[SET_COOKIE].to_str().expect("text");
    let secret = cookie.strip_prefix("sign-in=").and_then(|rest| rest.split(';').next()).expect("a secret");
    assert_eq!(secret.len(), 64, "256 bits");
    assert!(cookie.ends_with("; Path=/; Max-Age=2592000; HttpOnly; SameSite=Strict"), "{cookie}");
    let school = School::at("rack.example", "rack.example:7410", true).await;
    let told = school.try_in("Anna", PASSWORD).await;
    let cookie = told.headers[SET_COOKIE].to_str().expect("text");
    assert!(cookie.starts_with("__Host-sign-in="), "{cookie}");
    assert!(cookie.ends_with("; Path=/; Max-Age=2592000; HttpOnly; SameSite=Strict; Secure"), "{cookie}");
}

#[tokio::test]
async fn a_name_that_nobody_has_and_a_wrong_password_are_answered_alike() {
    let school = School::new().await;
    let wrong = school.try_in("Anna", "another password").await;
    let unknown = school.try_in("Nobody", "another password").await;
    assert_eq!((wrong.status, unknown.status), (StatusCode::UNAUTHORIZED, StatusCode::UNAUTHORIZED));
    assert_eq!(wrong.text.replace("Anna", "Nobody"), unknown.text);
    assert!(wrong.headers.get(SET_COOKIE).is_none());
    // The owner of the rack is nobody who could sign in, and no name is none.
    for name in ["owner", "", "Anna\u{0}"] {
        assert_eq!(school.try_in(name, PASSWORD).await.status, StatusCode::UNAUTHORIZED, "{name:?}");
    }
}

#[tokio::test]
async fn guesses_are_slowed_down_for_one_account_and_not_for_others() {
    let school = School::new().await;
    for _ in 0..10 {
        assert_eq!(school.try_in("Anna", "a guess at it").await.status, StatusCode::UNAUTHORIZED);
    }
    let told = school.try_in("Anna", PASSWORD).await;
    assert_eq!(told.status, StatusCode::TOO_MANY_REQUESTS, "not even with the right one");
    let wait: u32 = told.headers[RETRY_AFTER].to_str().expect("text").parse().expect("seconds");
    assert!((1..=60).contains(&wait), "{wait}");
    school.sign_in("Ben").await;
}

#[tokio::test]
async fn an_entry_bears_the_name_of_who_is_signed_in() {
    let school = School::new().await;
    let (anna, ben) = (school.sign_in("Anna").await, school.sign_in("Ben").await);
    let told = ben.drops("C-001").await;
    assert!(told.to().starts_with("/piece/C-001#entry-"), "{} {}", told.status, told.text);
    let page = anna.get("/piece/C-001").await.text;
    let entry = page.split("<li").find(|line| line.contains("rock")).expect("the drop");
    assert!(entry.contains("Ben") && !entry.contains("Anna"), "{entry}");
    assert!(page.contains("Signed in: Anna"), "the page tells who is signed in");
    let form = anna.get("/log/new").await.text;
    assert!(form.contains(&format!("name=\"writer\" value=\"{}\"", anna.held().await.1)), "{form}");
}

#[tokio::test]
async fn a_form_of_another_sign_in_is_not_taken() {
    let school = School::new().await;
    let (anna, ben) = (school.sign_in("Anna").await, school.sign_in("Ben").await);
    let again = school.sign_in("Anna").await;
    let fields = [("what", "dropped"), ("labels", "C-001"), ("onto", "rock")];
    let (of_anna, of_ben) = (anna.held().await, ben.held().await);
    assert_ne!(of_anna.0, again.held().await.0, "each sign-in has its own token");
    // Written as Anna, while Ben is signed in: held back, whatever the token.
    for token in [&of_anna.0, &of_ben.0] {
        let told = ben.post_as("/log/new", (token.clone(), of_anna.1.clone()), &fields).await;
        assert_eq!(told.status, StatusCode::CONFLICT, "{}", told.text);
    }
    // By the same person, signed in elsewhere or anew: the token alone is another.
    let told = again.post_as("/log/new", of_anna.clone(), &fields).await;
    assert_eq!(told.status, StatusCode::FORBIDDEN, "{}", told.text);
    let told = again.post_as("/log/new", (of_anna.0, String::new()), &fields).await;
    assert_eq!(told.status, StatusCode::CONFLICT, "as nobody");
    assert!(!anna.get("/piece/C-001").await.text.contains("rock"), "nothing was written");
}

#[tokio::test]
async fn whoever_may_not_is_told_who_may() {
    let school = School::new().await;
    let (ben, cleo) = (school.sign_in("Ben").await, school.sign_in("Cleo").await);
    let told = cleo.drops("C-001").await;
    assert_eq!(told.status, StatusCode::FORBIDDEN);
    assert!(told.text.contains("These may: Anna, Ben"), "{}", told.text);
    let told = ben.post("/people", &[("name", "Dora")]).await;
    assert!(told.status == StatusCode::FORBIDDEN && told.text.contains("These may: Anna."), "{}", told.text);
    let periodic = [("labels", "C-001"), ("occasion", "periodic"), ("hand", "yes"), ("all", "yes")];
    let told = ben.post("/inspect", &periodic).await;
    assert!(told.text.contains("Ben may not sign `inspect`") && told.text.contains("Anna"), "{}", told.text);
    let before_use = [("labels", "C-001"), ("occasion", "before-each-use"), ("hand", "yes"), ("all", "yes")];
    assert_eq!(ben.post("/inspect", &before_use).await.to(), "/piece/C-001", "caution asks for no right to sign");
    assert_eq!(school.sign_in("Anna").await.post("/inspect", &periodic).await.to(), "/piece/C-001");
}

#[tokio::test]
async fn only_what_one_wrote_of_pieces_is_taken_back_without_keeping_the_rack() {
    let school = School::new().await;
    let (anna, ben) = (school.sign_in("Anna").await, school.sign_in("Ben").await);
    let number = |told: Told| told.to().rsplit('-').next().expect("a number").to_owned();
    let (of_anna, of_ben) = (number(anna.drops("C-001").await), number(ben.drops("C-002").await));
    let told = ben.post("/log/take-back", &[("entry", &of_anna)]).await;
    assert_eq!(told.status, StatusCode::FORBIDDEN, "{}", told.text);
    // What gave somebody a right is no slip of a piece's.
    assert_eq!(
        anna.post("/people/allow", &[("name", "Ben"), ("right", "keep"), ("until", "2027-01-01")]).await.to(),
        "/group"
    );
    let ben_keeps = ben.post("/people/allow", &[("name", "Cleo"), ("right", "log"), ("until", "2027-01-01")]).await;
    assert_eq!(ben_keeps.to(), "/group", "{}", ben_keeps.text);
    let log = anna.get("/log").await.text;
    let given = log.split("id=\"entry-").filter(|part| part.contains("Cleo")).last().expect("the entry");
    let given = given.split('"').next().expect("its number").to_owned();
    assert_eq!(
        anna.post("/people/allow", &[("name", "Ben"), ("right", "keep"), ("until", "2020-01-01")]).await.to(),
        "/group"
    );
    let told = ben.post("/log/take-back", &[("entry", &given)]).await;
    assert_eq!(told.status, StatusCode::FORBIDDEN, "{}", told.text);
    assert!(ben.post("/log/take-back", &[("entry", &of_ben)]).await.to().starts_with("/log#entry-"));
    assert!(anna.post("/log/take-back", &[("entry", &of_anna)]).await.to().starts_with("/log#entry-"));
}

#[tokio::test]
async fn a_sign_in_runs_out_when_it_is_not_used_and_at_the_latest_after_thirty_days() {
    let school = School::new().await;
    let anna = school.sign_in("Anna").await;
    let is_in = async |anna: &Guest<'_>| anna.get("/rack").await.status == StatusCode::OK;
    school.wait(4 * DAY_MS - HOUR_MS);
    assert!(is_in(&anna).await, "used in time");
    school.wait(4 * DAY_MS + HOUR_MS);
    assert!(!is_in(&anna).await, "not used for four days");
    let who: serde_json::Value = serde_json::from_str(&anna.get("/waiting/who").await.text).expect("JSON");
    assert_eq!(who["writer"], serde_json::Value::Null, "what waits is told that nobody is signed in");
    let anna = school.sign_in("Anna").await;
    for _ in 0..10 {
        school.wait(3 * DAY_MS - 1);
        assert!(is_in(&anna).await);
    }
    school.wait(HOUR_MS);
    assert!(!is_in(&anna).await, "thirty days are over");
}

#[tokio::test]
async fn another_password_ends_the_other_sign_ins() {
    let school = School::new().await;
    let (here, elsewhere) = (school.sign_in("Anna").await, school.sign_in("Anna").await);
    let change =
        async |old: &str, new: &str| here.post("/me/password", &[("old-password", old), ("new-password", new)]).await;
    let other = "salt and sand of a rope";
    assert_eq!(change("not the old one", other).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(change(PASSWORD, "too short").await.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(elsewhere.get("/rack").await.status, StatusCode::OK, "nothing was changed");
    assert_eq!(change(PASSWORD, other).await.status, StatusCode::OK);
    assert_eq!(here.get("/rack").await.status, StatusCode::OK);
    assert_eq!(elsewhere.get("/rack").await.status, StatusCode::UNAUTHORIZED);
    assert_eq!(school.try_in("Anna", PASSWORD).await.status, StatusCode::UNAUTHORIZED);
    assert_eq!(school.try_in("Anna", other).await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn whoever_signs_out_is_out_at_once() {
    let school = School::new().await;
    let (here, there, elsewhere) =
        (school.sign_in("Anna").await, school.sign_in("Anna").await, school.sign_in("Anna").await);
    let told = here.post("/sign-out", &[]).await;
    assert_eq!(told.to(), "/sign-in");
    assert!(told.headers[SET_COOKIE].to_str().expect("text").starts_with("sign-in=; Path=/; Max-Age=0;"));
    assert_eq!(here.get("/rack").await.status, StatusCode::UNAUTHORIZED, "the secret is worth nothing now");
    assert_eq!(there.get("/rack").await.status, StatusCode::OK);
    assert_eq!(there.post("/me/sign-out-everywhere", &[]).await.to(), "/sign-in");
    assert_eq!(elsewhere.get("/rack").await.status, StatusCode::UNAUTHORIZED);
}

#[tokio::test]
async fn whoever_is_erased_is_out_and_the_log_is_whole() {
    let school = School::new().await;
    let (anna, ben) = (school.sign_in("Anna").await, school.sign_in("Ben").await);
    ben.drops("C-001").await;
    assert_eq!(anna.post("/people/erase", &[("name", "Ben")]).await.to(), "/group");
    assert_eq!(ben.get("/rack").await.status, StatusCode::UNAUTHORIZED);
    assert_eq!(school.try_in("Ben", PASSWORD).await.status, StatusCode::UNAUTHORIZED);
    assert!(!school.rack.verify(None).await.expect("a look").counts);
    assert!(!anna.get("/accounts").await.text.contains("Ben"));
}

#[tokio::test]
async fn keepers_give_accounts_and_take_them_away() {
    let school = School::new().await;
    let anna = school.sign_in("Anna").await;
    let new = [("name", "Dora"), ("password", PASSWORD)];
    assert!(anna.post("/accounts", &new).await.text.contains("nobody is known as Dora"));
    assert_eq!(anna.post("/people", &[("name", "Dora")]).await.to(), "/group");
    let short = anna.post("/accounts", &[("name", "Dora"), ("password", "eleven lett")]).await.text;
    assert!(short.contains("no password that can be used") && !short.contains("eleven lett"), "{short}");
    assert_eq!(anna.post("/accounts", &new).await.to(), "/accounts");
    let dora = school.sign_in("Dora").await;
    assert_eq!(dora.get("/rack").await.status, StatusCode::OK);
    assert_eq!(anna.post("/accounts/end", &[("name", "Dora")]).await.to(), "/accounts");
    assert_eq!(dora.get("/rack").await.status, StatusCode::UNAUTHORIZED);
    let other = "another rope of sand";
    assert_eq!(anna.post("/accounts/password", &[("name", "Dora"), ("password", other)]).await.to(), "/accounts");
    assert_eq!(school.try_in("Dora", other).await.status, StatusCode::SEE_OTHER);
    assert_eq!(anna.post("/accounts/remove", &[("name", "Dora")]).await.to(), "/accounts");
    assert_eq!(school.try_in("Dora", other).await.status, StatusCode::UNAUTHORIZED);
}

#[tokio::test]
async fn signing_in_leads_nowhere_but_to_these_pages() {
    let school = School::new().await;
    for (to, leads) in [
        ("/log?before=3", "/log?before=3"),
        ("//rack.example/", "/"),
        ("/\\rack.example", "/"),
        ("https://rack.example", "/"),
        ("/a\r\nb", "/"),
        ("", "/"),
    ] {
        let told = school.ask(form("/sign-in", &[("name", "Ben"), ("password", PASSWORD), ("to", to)])).await;
        assert_eq!(told.to(), leads, "{to:?}");
    }
    let asked = school.get("/piece/C-001?x=1").await;
    assert_eq!(asked.status, StatusCode::UNAUTHORIZED);
    assert!(asked.text.contains("name=\"to\" value=\"/piece/C-001?x=1\""), "{}", asked.text);
    assert!(!asked.text.contains("C-002"), "nothing of the rack is told");
}

#[tokio::test]
async fn programs_are_refused_in_json() {
    let school = School::new().await;
    let told = school.get("/api/pieces").await;
    assert_eq!(told.status, StatusCode::UNAUTHORIZED);
    let wrong: serde_json::Value = serde_json::from_str(&told.text).expect("JSON");
    assert!(wrong["wrong"][0]["what"].as_str().is_some_and(|what| !what.is_empty()), "{wrong}");
    assert_eq!(school.sign_in("Cleo").await.get("/api/pieces").await.status, StatusCode::OK);
}

#[tokio::test]
async fn where_nobody_signs_in_there_is_no_account() {
    let pages = common::Pages::example().await;
    for path in ["/me", "/no-such-page"] {
        assert_eq!(pages.get(path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    let told = pages.ask(form("/sign-in", &[("name", "Anna"), ("password", PASSWORD)])).await;
    assert_eq!(told.status, StatusCode::NOT_FOUND);
}
