//! Outings on the pages: put together by fields, swapped by hand, given out, booked. Choices are told by hand here: nothing solves.

mod common;

use axum::body::Body;
use axum::http::header::{CONTENT_TYPE, HOST};
use axum::http::{Request, StatusCode};
use common::{NAME, Pages, Told};
use serde_json::{Value, json};

const BELAYS: &str =
    "# ours\ntitle = \"Belays\"\n\n[[need]]\nname = \"belays\"   # both\nduty = \"belay\"\ntimes = 2\n";

/// The example rack with its connectors in service.
async fn rack() -> Pages {
    let pages = Pages::example().await;
    let fields = [("labels", "C-001..C-005"), ("occasion", "before-first-use"), ("hand", "yes"), ("all", "pass")];
    for label in ["C-001", "C-002", "C-003", "C-004"] {
        let mut fields = fields.to_vec();
        fields[0].1 = label;
        let told = pages.post("/inspect", &fields).await;
        assert_eq!(told.status, StatusCode::SEE_OTHER, "{}", told.text);
    }
    pages
}

fn choice(labels: &[&str]) -> String {
    let units: Vec<Value> = labels.iter().map(|label| json!([{ "label": label, "count": 1 }])).collect();
    json!({ "needs": [{ "name": "belays", "units": units }] }).to_string()
}

/// The text in the file's field, as a browser would read it.
fn file(page: &Told) -> String {
    let text = page.text.split("<textarea id=\"outing-text\"").nth(1).and_then(|rest| rest.split_once('>'));
    let text = text.and_then(|(_, rest)| rest.split("</textarea>").next()).expect("a file");
    text.replace("&quot;", "\"").replace("&gt;", ">").replace("&amp;", "&")
}

async fn api(pages: &Pages, asked: &Value) -> (StatusCode, Value) {
    let request = Request::post("/api/outing/swap").header(HOST, NAME).header(CONTENT_TYPE, "application/json");
    let told = pages.ask(request.body(Body::from(asked.to_string())).expect("a request")).await;
    (told.status, serde_json::from_str(&told.text).expect(&told.text))
}

#[tokio::test]
async fn an_outing_is_put_together_by_fields_and_its_file_keeps_every_comment() {
    let pages = Pages::example().await;
    let begun = pages.post("/outings", &[("title", "Day \"one\""), ("people", "4"), ("days", "2")]).await;
    assert_eq!(file(&begun), "title = 'Day \"one\"'\ndays = 2\npeople = 4\n");
    assert!(begun.text.contains("Nothing is needed yet"), "{}", begun.text);
    let own = [("text", BELAYS), ("was", BELAYS)];
    let added = pages
        .post(
            "/outings",
            &[&own[..], &[("what", "need"), ("need.duty", "rope"), ("need.times", "1"), ("need.at_least_m", "50")]]
                .concat(),
        )
        .await;
    assert!(file(&added).starts_with(BELAYS) && file(&added).contains("at_least_m = 50"), "{}", file(&added));
    let counted = pages
        .post("/outings", &[&own[..], &[("what", "set"), ("need-0-times", "3"), ("title", "Belays")]].concat())
        .await;
    assert_eq!(file(&counted), BELAYS.replace("times = 2", "times = 3"));
    let change = pages.post("/outings", &[&own[..], &[("what", "change-0")]].concat()).await;
    assert!(change.text.contains("name=\"need.at\" value=\"0\"") && change.text.contains("value=\"belay\" selected"));
    let fields = [
        ("what", "need"),
        ("need.at", "0"),
        ("need.duty", "belay"),
        ("need.name", "belays"),
        ("need.times", "2"),
        ("need.locks", "screw"),
    ];
    let changed = pages.post("/outings", &[&own[..], &fields[..]].concat()).await;
    assert_eq!(file(&changed), BELAYS.to_owned() + "locks = [\"screw\"]\n");
    let away = pages.post("/outings", &[&own[..], &[("what", "away-need-0")]].concat()).await;
    assert!(!file(&away).contains("belay\"") && file(&away).contains("# ours"), "{}", file(&away));
}

#[tokio::test]
async fn what_will_not_do_is_told_where_it_stands_in_the_file() {
    let pages = Pages::example().await;
    let own = [("text", BELAYS), ("was", BELAYS), ("what", "set")];
    let told = pages.post("/outings", &[&own[..], &[("need-0-times", "some")]].concat()).await;
    assert!(told.text.contains("role=\"alert\"") && told.text.contains("7:9"), "{}", told.text);
    assert!(file(&told).contains("times = \"some\""));
    let by_hand = BELAYS.replace("[[need]]", "[[need]]\nduty = \"rope\"\n\n[[need]]");
    let both = [("text", by_hand.as_str()), ("was", BELAYS), ("what", "set"), ("need-0-times", "3")];
    let told = pages.post("/outings", &both).await;
    assert!(told.text.contains("The file was changed by hand") && file(&told) == by_hand, "{}", told.text);
}

#[tokio::test]
async fn a_choice_is_forgotten_with_its_needs_and_an_empty_swap_says_what_to_do() {
    let pages = rack().await;
    let chosen = choice(&["C-001", "C-002"]);
    let own = [("text", BELAYS), ("was", BELAYS), ("choice", chosen.as_str())];
    let told = pages.post("/outings", &[&own[..], &[("what", "set"), ("title", "Other")]].concat()).await;
    assert!(told.text.contains("What goes along"), "another title is no other need: {}", told.text);
    let told = pages.post("/outings", &[&own[..], &[("what", "set"), ("need-0-times", "1")]].concat()).await;
    assert!(
        !told.text.contains("What goes along") && told.text.contains("name=\"choice\" value=\"\""),
        "{}",
        told.text
    );
    let told = pages.post("/outings", &[&own[..], &[("what", "swap"), ("missing", "")]].concat()).await;
    assert!(told.text.contains("no missing piece is named") && told.text.contains("C-001..C-003"), "{}", told.text);
    let told = pages.post("/outings", &[&own[..], &[("what", "take")]].concat()).await;
    assert!(told.text.contains("No swap is selected"), "{}", told.text);
}

#[tokio::test]
async fn swaps_by_hand_are_judged_at_once_and_taken_where_no_rule_is_broken() {
    let pages = rack().await;
    let chosen: Value = serde_json::from_str(&choice(&["C-001", "C-002"])).expect("JSON");
    let swap = |out: &str, into: &str| json!({ "need": 0, "out": out, "in": into });
    let ask = |swaps: Value| json!({ "text": BELAYS, "choice": chosen, "swaps": swaps });
    let (status, told) = api(&pages, &ask(json!([swap("C-001", "C-003")]))).await;
    assert_eq!(
        (status, &told["stands"], &told["needs"][0]["units"][0][0]["label"]),
        (StatusCode::OK, &json!(true), &json!("C-003")),
        "{told}"
    );
    let (_, told) = api(&pages, &ask(json!([swap("C-001", "C-002")]))).await;
    assert!(
        told["stands"] == false && told["against"][0].as_str().is_some_and(|why| why.contains("2 times")),
        "{told}"
    );
    let (_, told) = api(&pages, &ask(json!([swap("C-001", "C-004")]))).await;
    assert!(told["against"][0].as_str().is_some_and(|why| why.contains("not fit")), "no locker: {told}");
    for (swaps, status) in [
        (json!([swap("C-001", "X-1")]), 422),
        (json!([{ "need": 9, "out": "C-001", "in": "C-003" }]), 422),
        (json!([{ "need": 0 }]), 400),
    ] {
        assert_eq!(api(&pages, &ask(swaps)).await.0.as_u16(), status);
    }
    let huge =
        json!({ "needs": [{ "name": "belays", "units": [[{ "label": "C-001", "count": 4_000_000_000_u32 }]] }] });
    let (status, _) = api(&pages, &json!({ "text": BELAYS, "choice": huge, "swaps": [] })).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);

    let (chosen, other) = (choice(&["C-001", "C-002"]), swap("C-001", "C-003").to_string());
    let own =
        [("text", BELAYS), ("was", BELAYS), ("choice", chosen.as_str()), ("swap", other.as_str()), ("swap-times", "1")];
    let looked = pages.post("/outings", &[&own[..], &[("what", "look")]].concat()).await;
    assert!(
        looked.text.contains("C-003 for C-001 (belays): fits") && looked.text.contains("\" selected>C-003"),
        "{}",
        looked.text
    );
    let taken = pages.post("/outings", &[&own[..], &[("what", "take")]].concat()).await;
    assert!(taken.text.contains("C-003 goes") && !taken.text.contains("C-001 goes"), "{}", taken.text);
    let clash = swap("C-001", "C-002").to_string();
    let own =
        [("text", BELAYS), ("was", BELAYS), ("choice", chosen.as_str()), ("swap", clash.as_str()), ("swap-times", "1")];
    let kept = pages.post("/outings", &[&own[..], &[("what", "take")]].concat()).await;
    assert!(kept.text.contains("role=\"alert\"") && kept.text.contains("C-001 goes"), "{}", kept.text);
}

#[tokio::test]
async fn a_day_goes_out_is_found_again_shown_and_booked_once() {
    let pages = rack().await;
    let chosen = choice(&["C-001", "C-003"]);
    let own = [("text", BELAYS), ("was", BELAYS), ("choice", chosen.as_str())];
    let out = pages.post("/outings/out", &[&own[..], &[("out.kit", "Belay day")]].concat()).await;
    assert_eq!(out.status, StatusCode::SEE_OTHER, "{}", out.text);
    let place = out.to().to_owned();
    assert!(pages.get("/outings").await.text.contains("Belay day"), "it is told as out");
    assert!(pages.get("/kits/Belay%20day").await.text.contains("C-001, C-003"));
    let again = pages.post("/outings/out", &[&own[..], &[("out.kit", "Belay day")]].concat()).await;
    assert!(again.text.contains("role=\"alert\""), "what is out cannot go out: {}", again.text);

    let page = pages.get(&place).await;
    assert!(file(&page).contains("day = \"2026-11-25\""), "its day is that on which it went out: {}", file(&page));
    let entry = place.rsplit('=').next().expect("an entry");
    let text = file(&page);
    let own = [
        ("text", text.as_str()),
        ("was", text.as_str()),
        ("choice", chosen.as_str()),
        ("entry", entry),
        ("done-0-lowers", "3"),
        ("done-0-falls", ""),
        ("done-0-falls_kn", "2.5/3"),
    ];
    let before = pages.get("/log").await.text.matches("<li id=").count();
    let shown = pages.post("/outings/close", &[&own[..], &[("what", "show")]].concat()).await;
    assert!(shown.text.contains("would be written") && shown.text.contains("3 lowers"), "{}", shown.text);
    assert!(file(&shown).contains("falls_kn = [2.5, 3]"), "{}", file(&shown));
    assert_eq!(pages.get("/log").await.text.matches("<li id=").count(), before, "nothing is written yet");
    let text = file(&shown);
    let own = [
        ("text", text.as_str()),
        ("was", text.as_str()),
        ("choice", chosen.as_str()),
        ("entry", entry),
        ("close.wet", "C-001"),
    ];
    let written = pages.post("/outings/close", &[&own[..], &[("what", "write")]].concat()).await;
    assert_eq!(written.to(), "/log", "{}", written.text);
    let piece = pages.get("/piece/C-001").await.text;
    assert!(piece.contains("3 lowers") && piece.contains("2 falls"), "{piece}");
    assert!(!pages.get("/outings").await.text.contains("Out now"));
    let twice = pages.post("/outings/close", &[&own[..], &[("what", "write")]].concat()).await;
    assert!(twice.text.contains("is back already"), "{}", twice.text);
    assert!(!pages.get("/kits/Belay%20day").await.text.contains("C-001, C-003"), "its pieces are free again");
}

#[tokio::test]
async fn a_kit_that_comes_back_short_stays_together() {
    let pages = rack().await;
    let chosen = choice(&["C-001", "C-003"]);
    let own = [("text", BELAYS), ("was", BELAYS), ("choice", chosen.as_str())];
    let place = pages.post("/outings/out", &own).await.to().to_owned();
    let text = file(&pages.get(&place).await);
    let entry = place.rsplit('=').next().expect("an entry");
    let own = [
        ("text", text.as_str()),
        ("was", text.as_str()),
        ("choice", chosen.as_str()),
        ("entry", entry),
        ("what", "write"),
    ];
    let wrong = pages.post("/outings/close", &[&own[..], &[("close.short", "C-002")]].concat()).await;
    assert!(wrong.text.contains("role=\"alert\""), "it did not go along: {}", wrong.text);
    let written = pages.post("/outings/close", &[&own[..], &[("close.short", "C-003")]].concat()).await;
    assert_eq!(written.to(), "/log", "{}", written.text);
    assert!(pages.get("/kits/Belays").await.text.contains("C-003"), "what is missing is told");
}

#[tokio::test]
async fn pieces_of_a_file_cannot_go_out() {
    let pages = rack().await;
    let text = include_str!("../../../examples/outing-sea-cliff.toml");
    for path in ["/outings/out", "/outings/close"] {
        let told = pages.post(path, &[("text", text), ("was", text)]).await;
        assert!(told.text.contains("on no rack"), "{path}: {}", told.text);
    }
    assert_eq!(pages.get("/outings?entry=1").await.status, StatusCode::NOT_FOUND);
    assert_eq!(pages.get("/outings?example=other").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn labels_and_cards_are_asked_for_where_they_belong_and_a_wrong_measure_is_told() {
    let pages = Pages::example().await;
    pages.post("/kits", &[("kit", "Day kit"), ("contents", "C-001..C-002")]).await;
    for (from, link) in [
        ("/rack?gear=connector", "href=\"/labels?gear=connector\""),
        ("/kits/Day%20kit", "href=\"/labels?kit=Day%20kit\""),
        ("/piece/C-001", "href=\"/labels?labels=C-001\""),
        ("/piece/C-001", "href=\"/sheet/teaching-card?marking="),
        ("/handbook", "action=\"/sheet/teaching-card\""),
        ("/rigs/board?example=lead-sea-cliff", "value=\"teaching-card\""),
    ] {
        assert!(pages.get(from).await.text.contains(link), "{link} on {from}");
    }
    let of_kit = pages.get("/labels?kit=Day%20kit").await.text;
    assert!(of_kit.contains(">C-001..C-002</textarea>"), "{of_kit}");
    let told = |told: &Told| told.status == StatusCode::NOT_IMPLEMENTED && told.text.contains("linkwright-press");
    assert!(told(&pages.get("/sheet/labels?labels=C-001").await));
    let wide = pages.get("/sheet/labels?labels=C-001&across=9").await;
    assert!(wide.text.contains("9 labels of 38.1 mm need") && wide.text.contains("value=\"9\""), "{}", wide.text);
    assert!(pages.get("/sheet/labels?labels=C-001&width=broad").await.text.contains("is no length"));
    let card = "/sheet/teaching-card?marking=H%2024&shape=pear&gate=solid&lock=screw&nose=hooked&keeper=none";
    assert!(told(&pages.get(card).await));
    assert_eq!(pages.get("/sheet/teaching-card?marking=H&shape=round").await.status, StatusCode::UNPROCESSABLE_ENTITY);
    let rig = include_str!("../../../examples/lead-sea-cliff.toml");
    let of_rig = pages.post("/rigs/out", &[("rig", rig), ("as", "teaching-card")]).await;
    assert!(told(&of_rig), "{}", of_rig.text);
}
