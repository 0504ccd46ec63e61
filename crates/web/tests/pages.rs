//! The pages asked as a browser and as a stranger would ask them.

mod common;

use axum::body::Body;
use axum::http::header::{CONTENT_SECURITY_POLICY, CONTENT_TYPE, HOST, LOCATION, ORIGIN, SET_COOKIE};
use axum::http::{Method, Request, StatusCode};
use common::{Here, NAME, Pages, Told, form};
use desk::rack::Rack;
use std::sync::Arc;
use tower::ServiceExt;
use web::{Reach, Site, app};

#[tokio::test]
async fn an_empty_rack_greets_with_three_ways_to_begin() {
    let pages = Pages::new("empty").await;
    assert_eq!(pages.get("/").await.to(), "/begin");
    let greeting = pages.get("/begin").await.text;
    for way in ["/begin/example", "/begin/sheet", "/rack/new"] {
        assert!(greeting.contains(way), "{way}");
    }
    for empty in ["/rack", "/due", "/kits", "/cases", "/log", "/group", "/rigs", "/outings", "/handbook"] {
        let page = pages.get(empty).await;
        assert_eq!(page.status, StatusCode::OK, "{empty}: {}", page.text);
        assert!(page.text.contains("<footer>"), "the cautions stand on {empty}");
    }
}

#[tokio::test]
async fn other_names_and_other_origins_are_refused() {
    let pages = Pages::new("strangers").await;
    for host in ["evil.example", "127.0.0.1", "127.0.0.1:80", "localhost.evil.example:7410"] {
        let request = Request::get("/rack").header(HOST, host).body(Body::empty()).expect("a request");
        assert_eq!(pages.ask(request).await.status, StatusCode::MISDIRECTED_REQUEST, "{host}");
    }
    for (header, value) in [
        (ORIGIN.as_str(), "http://evil.example"),
        (ORIGIN.as_str(), "null"),
        (ORIGIN.as_str(), "https://127.0.0.1:7410"),
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
    ] {
        let mut request = form("/begin/example", &[("token", &pages.token)]);
        request
            .headers_mut()
            .insert(header.parse::<axum::http::HeaderName>().expect("a name"), value.parse().expect("a value"));
        assert_eq!(pages.ask(request).await.status, StatusCode::FORBIDDEN, "{header}: {value}");
    }
    assert!(pages.get("/rack").await.text.contains("/begin"), "nothing came onto the rack");
}

#[tokio::test]
async fn a_form_without_its_token_changes_nothing() {
    let pages = Pages::new("token").await;
    for token in ["", "0", &pages.token[1..]] {
        assert_eq!(pages.ask(form("/begin/example", &[("token", token)])).await.status, StatusCode::FORBIDDEN);
    }
    assert_eq!(pages.ask(form("/begin/example", &[])).await.status, StatusCode::FORBIDDEN);
    assert_eq!(pages.get("/").await.to(), "/begin");
}

#[tokio::test]
async fn no_address_that_a_page_names_changes_the_log() {
    let pages = Pages::example().await;
    // The forms on the page differ in what tells their sendings apart.
    let entries =
        |page: String| page.split("<ol").nth(1).and_then(|rest| rest.split("</ol>").next()).map(str::to_owned);
    let log = entries(pages.get("/log").await.text).expect("entries");
    let mut seen = std::collections::BTreeSet::new();
    let mut open = vec!["/".to_owned()];
    while let Some(path) = open.pop() {
        if !seen.insert(path.clone()) || seen.len() > 400 {
            continue;
        }
        let page = pages.get(&path).await;
        let is_told = path.starts_with("/sheet/") && page.text.contains("linkwright-press");
        let is_shown = page.status.is_success() || page.status.is_redirection() || is_told;
        assert!(is_shown, "{path}: {} {}", page.status, page.text);
        let links = page.text.split("href=\"").skip(1).filter_map(|rest| rest.split(['"', '#']).next());
        open.extend(links.filter(|link| link.starts_with('/')).map(|link| link.replace("&amp;", "&")));
        open.extend(Some(page.to().to_owned()).filter(|to| !to.is_empty()));
    }
    assert!(seen.len() > 60, "{} pages were found", seen.len());
    assert_eq!(entries(pages.get("/log").await.text), Some(log));
    for path in ["/begin/example", "/recalls", "/people/allow", "/people/erase", "/log/take-back"] {
        assert_eq!(pages.get(path).await.status, StatusCode::METHOD_NOT_ALLOWED, "{path}");
    }
}

#[tokio::test]
async fn nothing_may_run_or_load_but_what_the_program_sends() {
    let pages = Pages::example().await;
    let page = pages.get("/piece/C-001").await;
    let policy = page.headers[CONTENT_SECURITY_POLICY].to_str().expect("text");
    assert!(policy.contains("default-src 'none'") && policy.contains("script-src 'self';"), "{policy}");
    assert!(!policy.contains("unsafe"), "{policy}");
    assert!(!page.text.contains(" style=\"") && !page.text.contains(" onclick="), "no style or script in attributes");
    assert!(!page.text.contains("https://"), "nothing from elsewhere");
    assert!(page.text.contains("<svg"), "the plate is drawn");
}

#[tokio::test]
async fn a_piece_goes_from_the_form_to_its_page_and_back_into_the_form_where_something_is_wrong() {
    let pages = Pages::new("piece").await;
    let marking = "EN 12275 H <-> 24 kN, open 8, cross 7";
    let fields = [("labels", "N-1..N-3"), ("marking", marking), ("gear", "connector"), ("mass-g", "8O")];
    let wrong = pages.post("/rack/new", &fields).await;
    assert_eq!(wrong.status, StatusCode::OK);
    assert!(
        wrong.text.contains("role=\"alert\"") && wrong.text.contains("value=\"N-1..N-3\""),
        "what was typed is still there"
    );
    assert!(wrong.text.contains("value=\"8O\""));
    let fields = [("labels", "N-1..N-3"), ("marking", marking), ("gear", "connector")];
    assert!(pages.post("/rack/new", &fields).await.to().starts_with("/log#entry-"));
    let page = pages.get("/piece/N-2").await;
    assert!(page.text.contains("24 kN"), "{}", page.text);
    assert_eq!(pages.get("/piece/N-4").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_drop_is_logged_and_taken_back() {
    let pages = Pages::example().await;
    let fields = [("what", "dropped"), ("labels", "C-001"), ("height", "8"), ("onto", "rock")];
    let done = pages.post("/log/new", &fields).await;
    let place = done.to().to_owned();
    assert!(place.starts_with("/piece/C-001#entry-"), "{place}");
    assert!(pages.get("/piece/C-001").await.text.contains("standing quarantined"));
    let entry = place.rsplit('-').next().expect("a number");
    pages.post("/log/take-back", &[("entry", entry)]).await;
    assert!(!pages.get("/piece/C-001").await.text.contains("standing quarantined"));
    let refused = pages.post("/log/new", &[("what", "dropped"), ("labels", "C-999"), ("note", "off the ledge")]).await;
    assert!(refused.text.contains("C-999") && refused.text.contains("off the ledge"), "nothing that was typed is lost");
}

#[tokio::test]
async fn a_piece_that_passes_takes_two_taps_and_leads_to_the_next_with_what_was_written() {
    let pages = Pages::example().await;
    let form = pages.get("/inspect?labels=C-001,C-002").await.text;
    assert!(form.contains("name=\"all\" value=\"pass\""));
    let fields = [("labels", "C-001"), ("rest", "C-002"), ("occasion", "periodic"), ("hand", "yes"), ("all", "pass")];
    let next = pages.post("/inspect", &fields).await.to().to_owned();
    assert!(next.starts_with("/inspect?labels=C-002&occasion=periodic&written=C-001&entry="), "{next}");
    assert!(pages.get(&next).await.text.contains("C-001: written down"));
    assert!(pages.get("/piece/C-001").await.text.contains("periodic"));
}

#[tokio::test]
async fn nothing_passes_by_a_slip() {
    let pages = Pages::example().await;
    let form = pages.get("/inspect?labels=C-002").await.text;
    assert!(!form.contains("checked"), "nothing is marked before somebody looked");
    let point = form.split("type=\"radio\" name=\"").nth(1).and_then(|rest| rest.split('"').next()).expect("a point");
    let base = [("labels", "C-002"), ("occasion", "periodic")];
    let with = |more: &[(&'static str, &'static str)]| [base.as_slice(), more].concat();
    let unheld = pages.post("/inspect", &with(&[("all", "pass")])).await.text;
    assert!(unheld.contains("in hand"), "{unheld}");
    let unmarked = pages.post("/inspect", &with(&[])).await.text;
    assert!(unmarked.contains("No point is marked"), "{unmarked}");
    let marked = [base.as_slice(), &[("hand", "yes"), ("all", "pass"), (point, "defect")]].concat();
    let refused = pages.post("/inspect", &marked).await.text;
    assert!(refused.contains("not all of it passes") && refused.contains("value=\"defect\" checked"), "{refused}");
    assert!(!pages.get("/piece/C-002").await.text.contains("inspected"), "nothing was written");
    let one = [base.as_slice(), &[(point, "pass")]].concat();
    let history = pages.get(pages.post("/inspect", &one).await.to()).await.text;
    assert!(history.contains("not looked at"), "what was not marked was not looked at: {history}");
}

#[tokio::test]
async fn every_link_of_a_finding_leads_to_its_paragraph() {
    let handbook = Pages::example().await.get("/handbook").await.text;
    let positions = trade::position::Position::ALL.iter().map(|position| position.code());
    let findings = terms::Finding::ALL.iter().map(|finding| finding.code());
    for code in positions.chain(findings).chain(["stretched", "pulled", "holding"]) {
        assert!(handbook.contains(&format!("id=\"{code}\"")), "{code}");
    }
}

#[tokio::test]
async fn a_defect_withdraws_or_quarantines_with_its_remark() {
    let pages = Pages::example().await;
    let form = pages.get("/inspect?labels=C-002").await.text;
    let point = form.split("type=\"radio\" name=\"").nth(1).and_then(|rest| rest.split('"').next()).expect("a point");
    let note = format!("{point}-note");
    let fields =
        [("labels", "C-002"), ("occasion", "periodic"), (point, "defect"), (note.as_str(), "a burr one can feel")];
    assert_eq!(pages.post("/inspect", &fields).await.to(), "/piece/C-002");
    let page = pages.get("/piece/C-002").await.text;
    assert!(page.contains("a burr one can feel"));
    assert!(page.contains("standing quarantined") || page.contains("standing withdrawn"), "{page}");
}

#[tokio::test]
async fn kits_go_out_and_come_back_short() {
    let pages = Pages::example().await;
    assert_eq!(
        pages.post("/kits", &[("kit", "Day kit"), ("contents", "C-001..C-003\nR-01")]).await.to(),
        "/kits/Day%20kit"
    );
    pages.post("/kits/Day%20kit/out", &[("back", "2026-12-01")]).await;
    assert!(pages.get("/kits/Day%20kit").await.text.contains("2026-12-01"));
    let twice = pages.post("/kits/Day%20kit/out", &[]).await;
    assert!(twice.text.contains("role=\"alert\""));
    pages.post("/kits/Day%20kit/back", &[("short", "C-002")]).await;
    assert!(pages.get("/kits/Day%20kit").await.text.contains("C-002"));
}

#[tokio::test]
async fn a_recall_goes_through_to_its_last_piece() {
    let pages = Pages::example().await;
    let fields = [
        ("notice", "Invented notice 7"),
        ("gear", "connector"),
        ("made-from", "2024-01-01"),
        ("made-to", "2024-12-31"),
    ];
    let would = pages.post("/recalls", &fields).await.text;
    assert!(would.contains("What this recall would call back") && would.contains("C-005"), "{would}");
    let sure = [&fields[..], &[("sure", "yes")]].concat();
    let case = pages.post("/recalls", &sure).await.to().to_owned();
    assert!(case.starts_with("/cases/"), "{case}");
    let page = pages.get(&case).await.text;
    // C-005 has no year that can be read.
    for label in ["C-001", "C-002", "C-003", "C-005"] {
        assert!(page.contains(label), "{label}");
    }
    let early = pages.post(&format!("{case}/close"), &[]).await;
    assert!(early.text.contains("role=\"alert\""), "a line is open still");
    let lines: Vec<_> = page.split("href=\"/piece/").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    let settle = format!("{case}/settle");
    let unseen = pages.post(&settle, &[("labels", &lines.join(", ")), ("outcome", "inspected")]).await;
    assert!(unseen.text.contains("role=\"alert\""), "nobody has inspected them since");
    pages.post(&settle, &[("labels", &lines.join(", ")), ("outcome", "not-concerned")]).await;
    assert_eq!(pages.post(&format!("{case}/close"), &[]).await.to(), case);
    assert!(!pages.get(&case).await.text.contains("/close\""));
}

#[tokio::test]
async fn what_is_too_large_is_refused_unread() {
    let pages = Pages::new("large").await;
    let request = Request::post("/api/rig/quick").header(HOST, NAME).header(CONTENT_TYPE, "application/json");
    let large = "x".repeat(41_000_000);
    let told = pages.ask(request.body(Body::from(large)).expect("a request")).await;
    assert_eq!(told.status, StatusCode::PAYLOAD_TOO_LARGE);
}

#[tokio::test]
async fn an_outing_says_what_to_buy_and_without_its_helper_what_is_missing() {
    let pages = Pages::new("outing").await;
    let text = include_str!("../../../examples/outing-sea-cliff.toml");
    let told = pages.post("/outings", &[("text", text), ("what", "buy")]).await;
    assert!(told.status == StatusCode::OK && told.text.contains("<pre"), "{}", told.text);
    let told = pages.post("/outings", &[("text", text), ("what", "plan")]).await;
    assert!(told.text.contains("role=\"alert\"") && told.text.contains("linkwright-solve"), "{}", told.text);
    let told = pages.post("/outings", &[("text", text), ("what", "along")]).await;
    assert!(told.text.contains("linkwright-solve"), "{}", told.text);
    let elsewhere = text.replace("top-rope-master-point.toml", "/etc/hostname");
    let told = pages.post("/outings", &[("text", &elsewhere), ("what", "buy")]).await;
    assert!(
        told.text.contains("role=\"alert\"") && told.text.contains("/etc/hostname"),
        "no file of the machine is read"
    );
    let told = pages.post("/outings", &[("text", "days = true"), ("what", "plan")]).await;
    assert!(told.text.contains("role=\"alert\"") && told.text.contains("days = true"), "what was typed is still there");
}

#[tokio::test]
async fn an_outing_takes_patience_and_a_season_and_says_which_do_not_do() {
    let pages = Pages::example().await;
    let form = pages.get("/outings?example=outing-sea-cliff").await.text;
    assert!(form.contains("name=\"patience\"") && form.contains("name=\"until\" value=\"\""), "{form}");
    let belays = "title = \"Belays\"\n[[need]]\nduty = \"belay\"\ntimes = 2\n";
    let ask = async |text: &str, patience: &str, until: &str| {
        let fields = [("text", text), ("what", "buy"), ("patience", patience), ("until", until)];
        pages.post("/outings", &fields).await.text
    };
    let told = ask(belays, "120", "2020-01-01").await;
    assert!(told.contains("2020-01-01 is not ahead"), "{told}");
    assert!(told.contains("value=\"2020-01-01\""), "what was typed is still there");
    assert!(told.contains("value=\"120\" selected"), "and what was chosen");
    let told = ask(belays, "5", "2027-04-30").await;
    assert!(told.contains("linkwright-solve"), "what to buy for a season is planned by the helper: {told}");
    let own = include_str!("../../../examples/outing-sea-cliff.toml");
    assert!(ask(own, "5", "2027-04-30").await.contains("[[piece]]s out"), "the pieces of a file have no log");
    assert!(ask(belays, "7", "").await.contains("patience: 7"));
}

#[tokio::test]
async fn values_are_shown_and_taken_in_the_units_that_were_chosen_and_kept_in_si() {
    const POUNDS: &str = "units=lbf.in.lb; zone=America/New_York";
    let pages = Pages::example().await;
    let kept = pages.post("/units", &[("force", "lbf"), ("length", "in"), ("mass", "lb")]).await;
    let cookie = kept.headers.get(SET_COOKIE).and_then(|cookie| cookie.to_str().ok()).unwrap_or_default();
    assert!(cookie.starts_with("units=lbf.in.lb; Path=/;"), "{cookie}");
    assert!(pages.get_with("/units", POUNDS).await.contains("value=\"lbf\" selected"));

    let form = pages.get_with("/log/new?what=dropped&labels=C-001", POUNDS).await;
    assert!(form.contains("Height, ft") && form.contains("name=\"units\" value=\"lbf.in.lb\""), "{form}");
    assert!(pages.get("/log/new?what=dropped").await.text.contains("Height, m"));
    let dropped = [("what", "dropped"), ("labels", "C-001"), ("height", "10"), ("units", "lbf.in.lb")];
    assert_eq!(pages.post("/log/new", &dropped).await.status, StatusCode::SEE_OTHER);
    let (own, other) = (pages.get("/piece/C-001").await.text, pages.get_with("/piece/C-001", POUNDS).await);
    assert!(own.contains("3.048 m") && own.contains("UTC</time>"), "{own}");
    assert!(other.contains("10.000 ft") && other.contains(" EST</time>"), "{other}");
    assert!(!other.contains("UTC</time>"), "times are told in the zone");
    assert!(own.contains("24 kN") && !own.contains("lbf"), "{own}");
    assert!(other.contains("24 kN") && !other.contains("lbf"), "what is stamped stays: {other}");

    let questions = pages.get_with("/rigs/begin?scene=lead", POUNDS).await;
    assert!(questions.contains("in ft above") && questions.contains("value=\"176.4/154.3\""), "{questions}");
    let anchor = pages.get_with("/rigs/begin?scene=anchor", POUNDS).await;
    assert!(
        anchor.contains("value=\"1349/10\"") && anchor.contains("how many degrees"),
        "degrees are no force: {anchor}"
    );
    assert!(anchor.contains("value=\"nylon 7 used\"") && !anchor.contains("in in"), "words are no values: {anchor}");
    let typed = pages.get("/rigs/scene?scene=anchor&load=1349%2F10&units=lbf.in.lb").await.text;
    assert!(typed.contains("6 kN 10 degrees off plumb"), "{typed}");
    let board = pages.get("/rigs/scene?scene=lead&masses=176.4%2F154.3&units=lbf.in.lb").await;
    assert!(board.text.contains("data-links") && board.text.contains("80.014"), "{}", board.text);
}

#[tokio::test]
async fn days_past_the_end_of_the_calendar_end_with_it() {
    let pages = Pages::new("days").await;
    for days in ["4294967295", "7304484", "0"] {
        assert_eq!(pages.get(&format!("/api/due?within={days}")).await.status, StatusCode::OK, "{days}");
        assert_eq!(pages.get(&format!("/due.ics?within={days}")).await.status, StatusCode::OK, "{days}");
    }
    assert_eq!(pages.get("/api/due?within=4294967296").await.status, StatusCode::BAD_REQUEST);
}

#[tokio::test]
async fn a_scene_is_drawn_from_answers_and_asked_again_where_one_does_not_do() {
    let pages = Pages::new("scene").await;
    let asked = pages.get("/rigs/begin?scene=lead").await.text;
    let key = asked.split("id=\"q-").nth(1).and_then(|rest| rest.split('"').next()).expect("a question").to_owned();
    assert!(pages.get("/rigs/scene?scene=lead").await.text.contains("case = &quot;fall&quot;"));
    let again = pages.get(&format!("/rigs/scene?scene=lead&{key}=nonsense")).await.text;
    assert!(again.contains("role=\"alert\"") && again.contains("nonsense"));
}

#[tokio::test]
async fn the_interface_moves_a_point_and_tells_faults_with_their_place() {
    let pages = Pages::new("interface").await;
    let text = include_str!("../../../examples/lead-sea-cliff.toml");
    let ask = |path: &'static str, body: serde_json::Value| {
        let request = Request::new(Body::from(body.to_string()));
        let (mut parts, body) = request.into_parts();
        parts.method = Method::POST;
        parts.uri = path.parse().expect("a path");
        parts.headers.insert(HOST, NAME.parse().expect("a name"));
        parts.headers.insert(CONTENT_TYPE, "application/json".parse().expect("a kind"));
        pages.ask(Request::from_parts(parts, body))
    };
    let body =
        serde_json::json!({ "text": text, "change": { "move": { "point": "leader", "at_m": [-0.1, 0.0, 11.0] } } });
    let told = ask("/api/rig/quick", body).await;
    assert_eq!(told.status, StatusCode::OK, "{}", told.text);
    assert!(told.text.contains("at_m = [-0.1, 0.0, 11.0]"));
    let anchor = include_str!("../../../examples/three-leg-anchor.toml");
    let place = serde_json::json!({ "place": { "what": "person", "at_m": [0.5, 0.0, -1.6] } });
    let told = ask("/api/rig/quick", serde_json::json!({ "text": anchor, "change": place })).await;
    assert!(told.text.contains("person 1"), "{}", told.text);
    let join = serde_json::json!({ "join": { "from": "bolt", "to": "cliff" } });
    let told = ask("/api/rig/quick", serde_json::json!({ "text": anchor, "change": join })).await;
    assert_eq!(told.status, StatusCode::UNPROCESSABLE_ENTITY, "a leg runs between points");
    let losing = anchor.replace("case = \"rest\"", "case = \"rest\"\nlosses = true");
    let told = ask("/api/rig/check", serde_json::json!({ "text": losing })).await;
    let board: serde_json::Value = serde_json::from_str(&told.text).expect("JSON");
    assert_eq!(board["lost"].as_array().map(Vec::len), board["answer"]["losses"].as_array().map(Vec::len));
    let told =
        ask("/api/rig/check", serde_json::json!({ "text": text.replace("mass_kg = 82", "mass_kg = -82") })).await;
    assert_eq!(told.status, StatusCode::UNPROCESSABLE_ENTITY);
    let wrong: serde_json::Value = serde_json::from_str(&told.text).expect("JSON");
    assert!(wrong["wrong"][0]["at"][0].as_u64() > Some(70), "{wrong}");
    assert_eq!(ask("/api/rig/quick", serde_json::json!({ "txt": text })).await.status, StatusCode::BAD_REQUEST);
}

/// All that the command line's report says of a rig but its table of links and its cautions, line by line.
#[tokio::test]
async fn the_board_says_what_the_report_says() {
    let pages = Pages::new("report").await;
    for text in [
        include_str!("../../../examples/lead-sea-cliff.toml"),
        include_str!("../../../examples/haul-sea-cliff.toml"),
        include_str!("../../../examples/ground-slab.toml"),
        include_str!("../../../examples/three-leg-anchor.toml"),
    ] {
        let told = ask_json(&pages, "/api/rig/check", &serde_json::json!({ "text": text })).await;
        let board: serde_json::Value = serde_json::from_str(&told.text).expect("JSON");
        let said = words_of(&board["report"]);
        let checked = desk::checking::check_text(text, "rig.toml", trade::policy::Policy::default()).expect("a rig");
        let report = desk::report::text(&checked);
        let sections: Vec<&str> = report.split("\n\n").collect();
        let is_said_elsewhere = |section: &&&str| section.starts_with("link ") || section.starts_with("Cautions");
        let own = sections[1..].iter().filter(|section| !is_said_elsewhere(section));
        for line in own.flat_map(|section| section.lines()) {
            let cells = line.trim().split("  ").map(str::trim).filter(|cell| !cell.is_empty());
            for cell in cells {
                assert!(said.contains(cell), "{cell:?} is not among what the board says: {said}");
            }
        }
    }
}

/// All texts in a value, a line each.
fn words_of(value: &serde_json::Value) -> String {
    match value {
        serde_json::Value::String(text) => format!("{text}\n"),
        serde_json::Value::Array(parts) => parts.iter().map(words_of).collect(),
        serde_json::Value::Object(parts) => parts.values().map(words_of).collect(),
        _ => String::new(),
    }
}

#[tokio::test]
async fn what_is_sent_again_is_written_once_and_leads_to_its_entry() {
    let pages = Pages::example().await;
    let fields = [
        ("token", pages.token.as_str()),
        ("wish", "00000000000000000000000000c0ffee"),
        ("filled", "2026-11-20"),
        ("what", "dropped"),
        ("labels", "C-001"),
        ("onto", "a ledge of its own"),
    ];
    let first = pages.ask(form("/log/new", &fields)).await.to().to_owned();
    let again = pages.ask(form("/log/new", &fields)).await.to().to_owned();
    let number = |place: &str| place.rsplit('-').next().map(str::to_owned);
    assert!(first.starts_with("/piece/C-001#entry-"), "{first}");
    assert_eq!(number(&first), number(&again), "{again}");
    let page = pages.get(again.split('#').next().expect("a path")).await.text;
    assert_eq!(page.matches("a ledge of its own").count(), 1);
    assert!(page.contains("<time>2026-11-20</time>"), "it happened on the day on which it was filled in: {page}");
    for wish in ["", "short", "0000000000000000000000000000000\n0"] {
        let mut fields = fields;
        fields[1].1 = wish;
        assert_eq!(pages.ask(form("/log/new", &fields)).await.status, StatusCode::BAD_REQUEST, "{wish:?}");
    }
}

#[tokio::test]
async fn a_kit_given_out_twice_by_one_wish_is_given_out_once() {
    let pages = Pages::example().await;
    pages.post("/kits", &[("kit", "Day kit"), ("contents", "C-001..C-003")]).await;
    let fields = [("token", pages.token.as_str()), ("wish", "00000000000000000000000000c0ffee")];
    assert_eq!(pages.ask(form("/kits/Day%20kit/out", &fields)).await.to(), "/kits/Day%20kit");
    let again = pages.ask(form("/kits/Day%20kit/out", &fields)).await;
    assert!(again.to().starts_with("/log?"), "no refusal: {}", again.text);
    let who: serde_json::Value = serde_json::from_str(&pages.get("/waiting/who").await.text).expect("JSON");
    assert_eq!(who, serde_json::json!({ "token": pages.token, "writer": "" }), "a worker asks for the token of today");
}

#[tokio::test]
async fn beyond_the_loopback_only_those_with_the_pass_come_in() {
    let here: &'static Here = Box::leak(Box::default());
    let store = std::env::temp_dir().join(format!("linkwright-pass-{}.db", std::process::id()));
    let rack = Rack::open(&store.to_string_lossy(), here, None).await.expect("a store");
    let pass = "a-pass-of-some-length".to_owned();
    let reach = Reach::new(&["rack.example".to_owned()], 7410, true, Some(pass));
    let app = app(Arc::new(Site::new(rack, here, "owner".to_owned(), reach)));
    let ask = |path: &'static str, cookie: &'static str| {
        let request = Request::get(path).header(HOST, "rack.example:7410").header("cookie", cookie);
        app.clone().oneshot(request.body(Body::empty()).expect("a request"))
    };
    for (path, cookie) in [("/rack", ""), ("/rack?pass=another", ""), ("/rack", "pass=a-pass-of-some-lengt")] {
        assert_eq!(ask(path, cookie).await.expect("an answer").status(), StatusCode::UNAUTHORIZED, "{path} {cookie}");
    }
    let let_in = ask("/rack?pass=a-pass-of-some-length", "").await.expect("an answer");
    assert_eq!((let_in.status(), let_in.headers()[LOCATION].as_bytes()), (StatusCode::SEE_OTHER, &b"/rack"[..]));
    let cookie = let_in.headers()["set-cookie"].to_str().expect("text");
    assert!(cookie.contains("HttpOnly") && cookie.contains("Secure"), "{cookie}");
    assert_eq!(ask("/rack", "x=y; pass=a-pass-of-some-length").await.expect("an answer").status(), StatusCode::OK);
}

async fn ask_json(pages: &Pages, path: &str, body: &serde_json::Value) -> Told {
    let request = Request::post(path).header(HOST, NAME).header(CONTENT_TYPE, "application/json");
    pages.ask(request.body(Body::from(body.to_string())).expect("a request")).await
}

#[tokio::test]
async fn a_piece_of_the_rack_hangs_in_a_rig_with_its_own_marking() {
    let pages = Pages::example().await;
    let text = include_str!("../../../examples/three-leg-anchor.toml");
    let hang = |piece: &str| serde_json::json!({ "text": text, "change": { "hang": { "connector": "H-07", "piece": piece } } });
    let told = ask_json(&pages, "/api/rig/quick", &hang("C-001")).await;
    assert_eq!(told.status, StatusCode::OK, "{}", told.text);
    let board: serde_json::Value = serde_json::from_str(&told.text).expect("JSON");
    let marked: serde_json::Value = serde_json::from_str(&pages.get("/api/pieces/C-001").await.text).expect("JSON");
    let bears = board["links"]
        .as_array()
        .expect("links")
        .iter()
        .find(|link| link["piece"] == "C-001" && link["position"] == "closed");
    let bears = bears.and_then(|link| link["bears_kn"].as_f64()).expect("the piece bears what is stamped on it");
    let marking = marked["is"]["marking"].as_str().expect("a marking");
    assert!(marking.contains(&format!("{bears} kN")), "{marking}: {bears}");
    assert_eq!(ask_json(&pages, "/api/rig/quick", &hang("C-999")).await.status, StatusCode::NOT_FOUND);
    pages.post("/log/new", &[("what", "quarantined"), ("labels", "C-001"), ("why", "a burr")]).await;
    let refused = ask_json(&pages, "/api/rig/quick", &hang("C-001")).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", refused.text);
}

#[tokio::test]
async fn a_rig_goes_along_with_its_drawing_and_its_report() {
    let pages = Pages::example().await;
    let text = include_str!("../../../examples/three-leg-anchor.toml")
        .replace("name = \"H-07\"", "name = \"H-07\"\npiece = \"C-001\"");
    let file = pages.post("/rigs/out", &[("rig", &text), ("as", "take-along")]).await;
    assert_eq!(file.status, StatusCode::OK, "{}", file.text);
    for part in ["<svg", "Weakest:", "C-001", "Cautions"] {
        assert!(file.text.contains(part), "{part}");
    }
    assert!(!file.text.contains("<pre"), "lines break where the paper ends");
    assert!(!file.text.contains("src=") && !file.text.contains("<script"), "it needs nothing else");
    let pdf = pages.post("/rigs/out", &[("rig", &text), ("as", "pdf")]).await;
    assert!(pdf.status == StatusCode::NOT_IMPLEMENTED && pdf.text.contains("linkwright-press"), "{}", pdf.text);
}

#[tokio::test]
async fn every_reason_and_finding_and_duty_that_pages_link_to_has_its_paragraph() {
    let pages = Pages::example().await;
    pages.post("/log/new", &[("what", "dropped"), ("labels", "C-001"), ("height", "8"), ("onto", "rock")]).await;
    let handbook = pages.get("/handbook").await.text;
    let text = include_str!("../../../examples/outing-sea-cliff.toml");
    let texts = [
        pages.get("/piece/C-001").await.text,
        pages.get("/piece/C-005").await.text,
        pages.post("/outings", &[("text", text), ("what", "plan")]).await.text,
    ];
    let mut count = 0;
    for link in texts.iter().flat_map(|page| page.split("href=\"/handbook#").skip(1)) {
        let place = link.split('"').next().expect("a place");
        assert!(handbook.contains(&format!("id=\"{place}\"")), "{place}");
        count += 1;
    }
    assert!(count > 1, "{count} links");
    for part in ["formula-capstan", "duty-belay", "type-H", "part-gate", "reason-"] {
        assert!(handbook.contains(&format!("id=\"{part}")), "{part}");
    }
}

/// A form with a photo.
async fn sent(pages: &Pages, path: &str, fields: &[(&str, &str)], photo: &[u8]) -> Told {
    let mut body = Vec::new();
    for (name, value) in [("token", pages.token.as_str())].iter().chain(fields) {
        body.extend(format!("--b\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n").into_bytes());
    }
    body.extend(b"--b\r\nContent-Disposition: form-data; name=\"photo\"; filename=\"pear.jpg\"\r\nContent-Type: image/jpeg\r\n\r\n");
    body.extend_from_slice(photo);
    body.extend(b"\r\n--b--\r\n");
    let request = Request::post(path).header(HOST, NAME).header(CONTENT_TYPE, "multipart/form-data; boundary=b");
    pages.ask(request.body(Body::from(body)).expect("a request")).await
}

#[tokio::test]
async fn a_photo_that_waited_is_measured_once_and_leads_to_its_entry_and_a_bad_one_comes_back() {
    let pages = Pages::example().await;
    let photo = include_bytes!("../../../examples/wear-photos/pear-new.jpg");
    let waited = [("wish", "00000000000000000000000000000b01"), ("bar-height", "11.4"), ("filled", "2026-11-20")];
    let first = sent(&pages, "/piece/C-002/wear", &waited, photo).await;
    assert!(first.to().starts_with("/piece/C-002#entry-"), "{} {}", first.status, first.text);
    let page = pages.get("/piece/C-002").await.text;
    assert!(page.contains("<time>2026-11-20</time>") && page.contains("img class=\"photo\""), "{page}");
    let entry = |told: &Told| told.to().split('#').nth(1).map(str::to_owned);
    let again = sent(&pages, "/piece/C-002/wear", &waited, photo).await;
    assert_eq!(entry(&again), entry(&first), "sent again it is the same");
    let dark = [("wish", "00000000000000000000000000000b02"), ("filled", "2026-11-20")];
    let told = sent(&pages, "/piece/C-002/wear", &dark, b"no photo").await;
    assert_eq!(told.status, StatusCode::OK, "what is no photo comes back with why");
}

#[tokio::test]
async fn a_photo_is_kept_with_its_entry_and_wear_is_drawn_from_the_log() {
    let pages = Pages::example().await;
    let photo = include_bytes!("../../../examples/wear-photos/pear-new.jpg");
    for (wish, worn) in [
        ("00000000000000000000000000000a01", photo.as_slice()),
        ("00000000000000000000000000000a02", include_bytes!("../../../examples/wear-photos/pear-worn.jpg")),
    ] {
        let told =
            sent(&pages, "/piece/C-001/wear", &[("wish", wish), ("keep", "yes"), ("bar-height", "11.4")], worn).await;
        assert!(told.status == StatusCode::OK && told.text.contains("<h2>What the photo says</h2>"), "{}", told.text);
        if wish.ends_with('1') {
            let used = [("what", "used"), ("labels", "C-001"), ("rappels", "40"), ("run", "900")];
            assert!(pages.post("/log/new", &used).await.to().starts_with("/piece/C-001"));
        }
    }
    let page = pages.get("/piece/C-001").await.text;
    assert!(page.contains("Wear against use"), "{page}");
    let place =
        page.split("<img class=\"photo\" src=\"").nth(1).and_then(|rest| rest.split('"').next()).expect("a photo");
    let kept = pages.get(place).await;
    assert_eq!(kept.headers[CONTENT_TYPE], "image/jpeg");
    assert_eq!(pages.get("/photo/1/0").await.status, StatusCode::NOT_FOUND);
}
