//! Pages of the rack: what is known is corrected and parts change, as their users go through them.

mod common;

use axum::http::StatusCode;
use common::Pages;

/// The same fields with some other values.
fn with<'f>(fields: &[(&'f str, &'f str)], others: &[(&'f str, &'f str)]) -> Vec<(&'f str, &'f str)> {
    let kept = fields.iter().filter(|(name, _)| others.iter().all(|(other, _)| other != name));
    kept.chain(others).copied().collect()
}

/// What a form of a page holds.
fn held(page: &str, name: &str) -> String {
    let field = page.split(&format!(" name=\"{name}\"")).nth(1).expect("a field");
    let value = field.split('>').next().and_then(|tag| tag.split("value=\"").nth(1));
    value.and_then(|rest| rest.split('"').next()).unwrap_or_default().to_owned()
}

#[tokio::test]
async fn what_is_known_is_corrected_after_it_was_shown_before_and_after() {
    let pages = Pages::new("correct").await;
    let typed = [("labels", "N-1"), ("gear", "connector"), ("marking", "H 2? kN zzyzx"), ("maker", "Mkaer A")];
    pages.post("/rack/new", &typed).await;
    let page = pages.get("/piece/N-1").await.text;
    assert!(page.contains("zzyzx") && page.contains("/piece/N-1/correct"), "what was not understood is told");
    let inspect = pages.get("/inspect?labels=N-1").await.text;
    assert!(inspect.contains("Stays out of use even if every point passes"), "{inspect}");

    let form = pages.get("/piece/N-1/correct").await.text;
    assert_eq!(held(&form, "maker"), "Mkaer A");
    let known = [("gear", "connector"), ("marking", "H 2? kN zzyzx"), ("maker", "Mkaer A")];
    let emptied = pages.post("/piece/N-1/correct", &with(&known, &[("maker", "")])).await.text;
    assert!(emptied.contains("was emptied"), "nothing is silently left as it was: {emptied}");

    let right = with(&known, &[("marking", "H <-> 22 kN open 8 cross 7"), ("maker", "Maker A"), ("serial", "A-17")]);
    let look = pages.post("/piece/N-1/correct", &right).await.text;
    assert!(look.contains("Mkaer A") && look.contains("<strong>Maker A</strong>"), "{look}");
    assert!(pages.get("/piece/N-1").await.text.contains("2? kN"), "nothing is written yet");
    let done = pages.post("/piece/N-1/correct", &with(&right, &[("sure", "yes")])).await;
    assert!(done.to().starts_with("/piece/N-1#entry-"), "{}", done.text);
    let page = pages.get("/piece/N-1").await.text;
    assert!(page.contains("maker: Mkaer A, since then Maker A") && page.contains("serial: not told, since then A-17"));
    assert!(!pages.get("/inspect?labels=N-1").await.text.contains("Stays out of use"), "the marking can be read");
}

#[tokio::test]
async fn what_is_left_as_it_is_shown_is_no_correction_in_other_units_either() {
    let pages = Pages::new("units-correct").await;
    pages.post("/rack/new", &[("labels", "R-1"), ("gear", "rope"), ("length-m", "60"), ("site", "Shed")]).await;
    let form = pages.get_with("/piece/R-1/correct", "units=lbf.in.lb").await;
    let shown = held(&form, "length-m");
    assert_eq!(shown, "196.9");
    let fields = [("gear", "rope"), ("length-m", shown.as_str()), ("site", "Loft"), ("units", "lbf.in.lb")];
    let look = pages.post("/piece/R-1/correct", &fields).await.text;
    assert!(look.contains("Loft") && !look.contains("59.9"), "{look}");
}

#[tokio::test]
async fn a_part_is_replaced_and_a_lot_is_split() {
    let pages = Pages::new("parts").await;
    pages.post("/rack/new", &[("labels", "D-1"), ("gear", "draw"), ("made", "2012")]).await;
    let form = pages.get("/piece/D-1/part").await.text;
    assert!(form.contains("value=\"sling\"") && !form.contains("value=\"absorber\""), "the parts of a draw");
    assert!(pages.post("/piece/D-1/part", &[("part", "absorber")]).await.text.contains("role=\"alert\""));
    let done = pages.post("/piece/D-1/part", &[("part", "sling"), ("made", "2026-01")]).await;
    assert!(done.to().starts_with("/piece/D-1#entry-"), "{}", done.text);
    assert!(pages.get("/piece/D-1").await.text.contains("part replaced: sling"));

    pages.post("/rack/new", &[("labels", "L-1"), ("gear", "connector"), ("count", "20")]).await;
    let shares = [("label-1", "L-2"), ("count-1", "5"), ("label-2", "L-3"), ("count-2", "14")];
    let short = pages.post("/piece/L-1/divide", &shares).await.text;
    assert!(short.contains("the shares are 19") && short.contains("value=\"L-2\""), "{short}");
    let done = pages.post("/piece/L-1/divide", &with(&shares, &[("count-2", "15"), ("scrap-1", "yes")])).await;
    assert!(done.to().starts_with("/piece/L-1#entry-"), "{}", done.text);
    assert!(pages.get("/piece/L-2").await.text.contains("standing withdrawn"), "its share is scrap");
    assert!(pages.get("/piece/L-3").await.text.contains("15"));
}

#[tokio::test]
async fn an_entry_is_told_anew_with_its_remark_and_both_are_shown() {
    let pages = Pages::example().await;
    let told = [("what", "dropped"), ("labels", "C-001"), ("height", "8"), ("note", "off the legde")];
    let done = pages.post("/log/new", &told).await;
    let path = format!("/log/{}/correct", done.to().rsplit('-').next().expect("a number"));
    let form = pages.get(&path).await.text;
    assert!(form.contains("off the legde") && held(&form, "labels") == "C-001", "{form}");
    let same = pages.post(&path, &[("on", "2026-11-25"), ("labels", "C-001"), ("remark", "off the legde")]).await.text;
    assert!(same.contains("Nothing was changed here"), "{same}");
    let other = [("on", "2026-11-25"), ("labels", "C-002"), ("remark", "off the ledge"), ("note", "a slip")];
    assert!(pages.post(&path, &other).await.to().starts_with("/piece/C-002#entry-"));
    assert!(!pages.get("/piece/C-001").await.text.contains("standing quarantined"));
    let page = pages.get("/piece/C-002").await.text;
    assert!(page.contains("standing quarantined") && page.contains("off the ledge") && page.contains("a slip"));
}

#[tokio::test]
async fn a_piece_tells_its_kit_and_that_it_is_missing_from_it() {
    let pages = Pages::example().await;
    pages.post("/kits", &[("kit", "Day kit"), ("contents", "C-001..C-003")]).await;
    pages.post("/kits/Day%20kit/out", &[]).await;
    pages.post("/kits/Day%20kit/back", &[("short", "C-002")]).await;
    let page = pages.get("/piece/C-002").await.text;
    assert!(page.contains("href=\"/kits/Day%20kit\"") && page.contains("1 missing since it came back"), "{page}");
    assert!(!pages.get("/piece/C-001").await.text.contains("missing since"));
}

#[tokio::test]
async fn what_is_refused_on_a_page_names_no_command() {
    let pages = Pages::example().await;
    let missing = pages.get("/piece/C-999").await;
    assert_eq!(missing.status, StatusCode::NOT_FOUND);
    assert!(missing.text.contains("the page Rack shows the labels there are"), "{}", missing.text);
}

#[tokio::test]
async fn models_are_counted_and_one_of_them_is_called_back() {
    let pages = Pages::example().await;
    pages.post("/rack/new", &[("labels", "Z-1"), ("gear", "pulley")]).await;
    let list = pages.get("/models").await.text;
    assert!(list.contains("of no known model"), "{list}");
    assert!(list.contains("Pear 24"), "{list}");
    let path = list.split("<a href=\"/models/").skip(1).find(|rest| rest.contains("Pear 24")).expect("a model");
    let number = path.split('"').next().expect("a number");
    let page = pages.get(&format!("/models/{number}")).await.text;
    assert!(page.contains("Maker A") && page.contains("href=\"/piece/C-001\""), "{page}");
    let form = pages.get(&format!("/cases?model={number}")).await.text;
    assert!(form.contains(&format!("value=\"{number}\" selected")), "the form stands open with the model chosen");
    assert_eq!(pages.get("/models/1").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_recall_is_shown_before_it_opens_and_its_pieces_are_inspected_from_its_case() {
    let pages = Pages::example().await;
    pages.post("/people", &[("name", "Anna")]).await;
    pages.post("/log/new", &[("what", "handed-to"), ("labels", "C-001"), ("person", "Anna")]).await;
    pages.post("/log/new", &[("what", "withdrawn"), ("labels", "C-002"), ("why", "worn")]).await;
    let recall = [
        ("notice", "Invented notice 8"),
        ("gear", "connector"),
        ("made-from", "2024-01-01"),
        ("made-to", "2024-12-31"),
    ];
    let would = pages.post("/recalls", &recall).await.text;
    let count = |code: &str| {
        let rest = would.split(&format!("<dt>{code}</dt><dd>")).nth(1).expect("a count");
        rest.split('<').next().expect("a number").parse::<usize>().expect("a number")
    };
    assert!(count("surely called back") >= 3 && count("cannot be excluded") >= 1, "{would}");
    assert_eq!((count("of these on loan"), count("of these withdrawn already")), (1, 1));
    assert!(pages.get("/cases").await.text.contains("No recall is written down"), "nothing is written yet");
    let case = pages.post("/recalls", &with(&recall, &[("sure", "yes")])).await.to().to_owned();
    let page = pages.get(&case).await.text;
    assert!(!page.contains("recall: Invented") && page.contains("Invented notice 8"), "its title stands there once");
    let number = case.rsplit('/').next().expect("a number");
    let way = page.split("href=\"/inspect?").nth(1).and_then(|rest| rest.split('"').next()).expect("a way to inspect");
    assert!(way.contains(&format!("case={number}")) && way.contains("after-event"), "{way}");
    let fields = [("labels", "C-003"), ("occasion", "after-event"), ("hand", "yes"), ("all", "pass"), ("case", number)];
    assert_eq!(pages.post("/inspect", &fields).await.to(), case, "the last one leads back to the case");
}

#[tokio::test]
async fn a_sheet_is_shown_before_it_is_entered_and_told_back_line_by_line_with_nothing_lost() {
    let pages = Pages::new("sheet").await;
    let sheet = "Nr;gear;color\nX-1;connector;red\nX-2;conector;blue\n";
    let unknown = pages.post("/begin/sheet", &[("text", sheet)]).await.text;
    assert!(unknown.contains("What the heading “Nr” stands for") && unknown.contains("X-2;conector;blue"), "{unknown}");
    assert!(!unknown.contains("--map"), "a page names no option");
    let chosen = [("heading", "Nr"), ("stands-for", "label"), ("heading", "color"), ("stands-for", "-")];
    let wrong = pages.post("/begin/sheet", &[&[("text", sheet)], &chosen[..]].concat()).await.text;
    for told in [">3</th>", "data-head=\"what it says\" data-as-written>conector", "one of: connector, draw"] {
        assert!(wrong.contains(told), "{told}: {wrong}");
    }
    assert!(wrong.contains("name=\"stands-for\" value=\"label\""), "what was chosen is kept");
    let mended = sheet.replace("conector", "rope");
    let fields = [&[("text", mended.as_str())], &chosen[..]].concat();
    let would = pages.post("/begin/sheet", &fields).await.text;
    assert!(would.contains("Pieces that would go in: 2") && would.contains("Nothing is written yet"), "{would}");
    assert_eq!(pages.get("/").await.to(), "/begin", "nothing is written yet");
    let done = pages.post("/begin/sheet", &[&fields[..], &[("sure", "yes")]].concat()).await.text;
    assert!(done.contains("Pieces that went in: 2"), "{done}");
    assert!(pages.get("/piece/X-2").await.text.contains("rope"));
    let twice = pages.post("/begin/sheet", &fields).await.text;
    assert!(twice.contains("taken") && twice.contains("the page of X-1 shows whose it is"), "{twice}");
}

#[tokio::test]
async fn a_rack_that_is_kept_already_is_offered_no_example() {
    let pages = Pages::example().await;
    let begin = pages.get("/begin").await.text;
    assert!(!begin.contains("/begin/example") && !begin.contains("nothing on this rack"), "{begin}");
    assert!(begin.contains("/rack/new") && begin.contains("/begin/sheet"));
}

#[tokio::test]
async fn the_policy_in_force_is_shown_and_changed_by_its_fields() {
    let pages = Pages::example().await;
    let shown = pages.get("/policy").await.text;
    assert!(shown.contains("Groove: connector: the limit") && shown.contains("as the program has it"), "{shown}");
    let form = pages.get("/policy/change?row=rack.wear.connector.limit").await.text;
    assert_eq!(held(&form, "um"), "1");
    assert!(form.contains("value=\"withdraw\" selected"), "{form}");
    let row = [("row", "rack.wear.connector.limit"), ("um", "a lot"), ("then", "withdraw")];
    let wrong = pages.post("/policy/change", &row).await.text;
    assert!(wrong.contains("role=\"alert\"") && wrong.contains("value=\"a lot\""), "{wrong}");
    let right = with(&row, &[("um", "0.8"), ("source", "what we voted on")]);
    assert_eq!(pages.post("/policy/change", &right).await.to(), "/policy");
    let shown = pages.get("/policy").await.text;
    for told in ["from a depth of 0.8 mm", "since 2026-11-25, by owner, entry", "what we voted on"] {
        assert!(shown.contains(told), "{told}: {shown}");
    }
    let several = [("row", "counts_for_exit"), ("counts_for_exit", "gate-open"), ("counts_for_exit", "cross-loaded")];
    pages.post("/policy/change", &several).await;
    let text = pages.get("/policy").await.text;
    assert!(text.contains("gate-open, cross-loaded") && text.contains("from a depth of 0.8 mm"), "what was set stays");
    assert_eq!(pages.get("/policy/change?row=no.such").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn who_may_sign_what_stands_in_a_list_with_its_end() {
    let pages = Pages::example().await;
    assert!(pages.get("/group").await.text.contains("Nobody was ever given these"));
    pages.post("/people", &[("name", "Anna")]).await;
    let given = [("name", "Anna"), ("right", "inspect"), ("gear", "rope"), ("until", "2027-01-01")];
    assert_eq!(pages.post("/people/allow", &given).await.to(), "/group");
    pages.post("/people/allow", &[("name", "Anna"), ("right", "withdraw"), ("until", "2026-01-01")]).await;
    let page = pages.get("/group").await.text;
    assert!(
        page.contains("sign inspections, rope only") && page.contains("2027-01-01") && page.contains("is past"),
        "{page}"
    );
    let of_kind = with(&given, &[("right", "log")]);
    assert!(pages.post("/people/allow", &of_kind).await.text.contains("role=\"alert\""), "not for a kind of gear");
}

#[tokio::test]
async fn a_recall_that_is_older_than_a_piece_is_offered_to_its_inspection() {
    let pages = Pages::new("older").await;
    let recall = [("notice", "Invented notice 9"), ("gear", "connector"), ("batches", "B7"), ("sure", "yes")];
    let case = pages.post("/recalls", &recall).await.to().to_owned();
    pages.post(&format!("{case}/close"), &[]).await;
    pages.post("/rack/new", &[("labels", "N-1"), ("gear", "connector")]).await;
    let number = case.rsplit('/').next().expect("a number");
    let form = pages.get("/inspect?labels=N-1").await.text;
    assert!(form.contains(&format!("name=\"clears\" value=\"{number}\"")), "{form}");
    assert!(!form.contains("Stays out of use"), "an inspection that names it clears it");
}

#[tokio::test]
async fn what_waits_to_be_sent_is_told_in_words_whatever_form_it_is_of() {
    let pages = Pages::example().await;
    pages.post("/kits", &[("kit", "Day kit"), ("contents", "C-001..C-003")]).await;
    let waiting = pages.get("/waiting").await.text;
    let told = waiting.split("data-told=\"").nth(1).and_then(|rest| rest.split('"').next()).expect("words");
    let inspected = ["C-001", "R-01"].map(|label| format!("/inspect?labels={label},C-002"));
    let logged = web::KINDS.map(|what| format!("/log/new?what={what}"));
    let others = ["/kits", "/kits/Day%20kit", "/piece/C-001/wear"].map(str::to_owned);
    let mut seen = 0;
    for path in inspected.iter().chain(&logged).chain(&others) {
        let page = pages.get(path).await.text;
        let form = page.split("method=\"post\"").nth(1).and_then(|rest| rest.split("</form>").next()).expect("a form");
        for name in form.split(" name=\"").skip(1).filter_map(|rest| rest.split('"').next()) {
            let is_its_own = ["token", "wish", "writer"].contains(&name);
            assert!(is_its_own || told.contains(&format!("&quot;{name}&quot;:")), "{path}: {name}");
            seen += 1;
        }
    }
    assert!(seen > 100, "{seen} fields were seen");
}
