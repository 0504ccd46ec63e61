//! Incidents and recalls, through to closure.

use super::{kinds, piece_link, seen, standing};
use crate::form::{Field, Form, Kind, against, choices};
use crate::layout::{Room, address, page};
use crate::problem::{Problem, Wrong};
use crate::typed::Typed;
use crate::{Shared, Site, line, word};
use axum::extract::{Path, Query};
use axum::response::{IntoResponse, Redirect, Response};
use desk::rack::Answer;
use desk::rack::cases::OUTCOMES;
use desk::rack::fields::day;
use desk::rack::labels::compact;
use desk::texts;
use maud::{Markup, html};
use register::event::Recall;
use register::id::Id;
use serde::Deserialize;
use trade::rack::Occasion;

#[derive(Deserialize)]
struct Cases {
    cases: Vec<Listed>,
}

#[derive(Deserialize)]
struct Listed {
    case: i64,
    opened: String,
    closed: Option<String>,
    what: String,
}

#[derive(Deserialize)]
struct Case {
    case: i64,
    is_recall: bool,
    what: String,
    opened: String,
    closed: Option<String>,
    lines: Vec<Line>,
    used_with: Vec<String>,
}

#[derive(Deserialize)]
struct Line {
    label: String,
    is: String,
    outcome: Option<String>,
    standing: String,
    held: String,
    meets: String,
}

/// What a recall would call back.
#[derive(Deserialize)]
struct Preview {
    surely: usize,
    not_excluded: usize,
    on_loan: usize,
    withdrawn: usize,
    pieces: Vec<Called>,
}

#[derive(Deserialize)]
struct Called {
    label: String,
    is: String,
    meets: String,
    standing: String,
    holder: Option<String>,
}

pub async fn list(Shared(site): Shared, Query(asked): Query<Vec<(String, String)>>) -> Result<Markup, Problem> {
    draw(&site, &Typed::asked(asked), [&[], &[]]).await
}

/// Both lists with their forms; `wrong` with the one and the other.
async fn draw(site: &Site, typed: &Typed, wrong: [&[Wrong]; 2]) -> Result<Markup, Problem> {
    let Cases { cases: incidents } = seen(site.rack.list_cases(false).await?)?;
    let Cases { cases: recalls } = seen(site.rack.list_cases(true).await?)?;
    let models = super::models::choices(site).await?;
    let part = |title: &str, cases: &[Listed], form: &Form, wrong: &[Wrong]| {
        let is_begun = form.fields.iter().any(|field| typed.some(&field.name).is_some());
        html! {
            section {
                h2 { (word(title)) }
                @if cases.is_empty() { p { (word(&format!("{title}-empty"))) } }
                ul.rows { @for case in cases { li { (listed(case)) } } }
                details open[!wrong.is_empty() || is_begun] { summary { (word(&format!("{title}-open"))) } (form.draw(site, typed, wrong)) }
            }
        }
    };
    Ok(page(
        Room::Cases,
        &word("nav-cases"),
        html! {
            (part("incidents", &incidents, &incident_form(), wrong[0]))
            (part("recalls", &recalls, &recall_form(models), wrong[1]))
        },
    ))
}

fn closed(day: Option<&String>) -> String {
    day.map_or_else(|| texts::rack("open", &[]), |day| texts::rack("closed", &[("value", day.clone())]))
}

fn listed(case: &Listed) -> Markup {
    html! {
        a href={ "/cases/" (case.case) } { (line("case", case.case)) } " "
        time { (case.opened) } " " (closed(case.closed.as_ref())) " · " (case.what)
    }
}

fn incident_form() -> Form {
    let fields = vec![
        Field::new("labels", word("labels"), Kind::Line).required().hint(word("labels-hint")),
        Field::new("what", word("incident-what"), Kind::Lines).required(),
        Field::new("people", word("incident-people"), Kind::Line).hint(word("people-hint")),
        Field::new("on", word("day"), Kind::Day),
    ];
    Form::new("/incidents", word("incident-open"), fields)
}

/// What a recall tells pieces by.
const CRITERIA: [&str; 8] = ["notice", "gear", "model", "made-from", "made-to", "batches", "serial-from", "serial-to"];

fn recall_form(models: Vec<(String, String)>) -> Form {
    let words = |name: &str| Field::new(name, word(&format!("recall-{name}")), Kind::Line);
    let fields = vec![
        words("notice").required().hint(word("recall-notice-hint")),
        Field::new("gear", texts::rack("column-kind", &[]), choices(word("any"), kinds())),
        Field::new("model", word("recall-model"), choices(word("any"), models.into_iter())),
        Field::new("made-from", word("recall-made-from"), Kind::Day),
        Field::new("made-to", word("recall-made-to"), Kind::Day),
        words("batches").hint(word("recall-batches-hint")),
        words("serial-from"),
        words("serial-to"),
    ];
    Form::new("/recalls", word("recall-look"), fields)
}

fn to_case(answer: &Answer) -> Response {
    Redirect::to(&format!("/cases/{}", answer.json["case"])).into_response()
}

pub async fn incident(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    let people: Vec<String> = names(typed.get("people"));
    match typed.rack(&site).open_incident(typed.get("labels"), typed.get("what"), &people, typed.some("on")).await {
        Ok(answer) => Ok(to_case(&answer)),
        Err(refused) => Ok(draw(&site, &typed, [&against(refused.into())?, &[]]).await?.into_response()),
    }
}

/// A recall is shown first with all that it would call back, and opened once that was seen.
pub async fn recall(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    match look_or_open(&site, &typed).await {
        Ok(done) => Ok(done),
        Err(problem) => Ok(draw(&site, &typed, [&[], &against(problem)?]).await?.into_response()),
    }
}

async fn look_or_open(site: &Site, typed: &Typed) -> Result<Response, Problem> {
    let recall = called_back(typed)?;
    if typed.some("sure").is_some() {
        return Ok(to_case(&typed.rack(site).open_recall(recall, None).await?));
    }
    Ok(would_be(site, typed, &seen(site.rack.preview_recall(recall).await?)?).into_response())
}

fn called_back(typed: &Typed) -> Result<Recall, Problem> {
    let model = typed.some("model").map(str::parse).transpose();
    let model = model.map_err(|_| Problem::Unreadable(format!("model: {}", typed.get("model"))))?.map(Id::from_number);
    let made = match (typed.some("made-from"), typed.some("made-to")) {
        (None, None) => None,
        (first, last) => Some((day(first.unwrap_or_default())?, day(last.unwrap_or_default())?)),
    };
    let serials = typed.owned("serial-from").zip(typed.owned("serial-to"));
    let (notice, gear) = (typed.get("notice").to_owned(), typed.owned("gear"));
    Ok(Recall { notice, gear, model, made, batches: names(typed.get("batches")), serials })
}

/// What a recall would call back, and the form that opens it: it holds all that was typed.
fn would_be(site: &Site, typed: &Typed, would: &Preview) -> Markup {
    let given = CRITERIA.into_iter().filter_map(|name| Some(Field::given(name, typed.some(name)?)));
    let form = Form::new("/recalls", word("recall-open"), given.chain([Field::given("sure", "yes")]).collect());
    let asked: Vec<_> = CRITERIA.iter().map(|name| (*name, typed.get(name))).collect();
    let counts = [
        ("recall-surely", would.surely),
        ("recall-not-excluded", would.not_excluded),
        ("recall-on-loan", would.on_loan),
        ("recall-withdrawn", would.withdrawn),
    ];
    page(
        Room::Cases,
        &word("recall-would"),
        html! {
            p.lead { (typed.get("notice")) }
            p { (word("recall-would-lead")) }
            dl { @for (code, count) in counts { div { dt { (word(code)) } dd { (count) } } } }
            @if would.pieces.is_empty() { p { (word("recall-would-none")) } } @else { (called(&would.pieces)) }
            (form.empty(site))
            p { a href=(address("/cases", &asked)) { (word("recall-change")) } }
        },
    )
}

fn called(pieces: &[Called]) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label=(word("pieces")) {
            table.stacks {
                thead { tr { @for code in ["line-piece", "line-is", "line-meets", "line-standing", "line-held"] { th scope="col" { (word(code)) } } } }
                tbody {
                    @for piece in pieces {
                        tr {
                            th scope="row" { (piece_link(&piece.label)) }
                            td data-head=(word("line-is")) { (piece.is) }
                            td data-head=(word("line-meets")) { (piece.meets) }
                            td data-head=(word("line-standing")) { (standing(&piece.standing)) }
                            @if let Some(holder) = &piece.holder { td data-head=(word("line-held")) { (holder) } } @else { td {} }
                        }
                    }
                }
            }
        }
    }
}

/// Names parted by commas.
fn names(text: &str) -> Vec<String> {
    text.split(',').map(str::trim).filter(|name| !name.is_empty()).map(str::to_owned).collect()
}

pub async fn case(Shared(site): Shared, Path(entry): Path<i64>) -> Result<Markup, Problem> {
    draw_case(&site, entry, &Typed::default(), &[]).await
}

async fn draw_case(site: &Site, entry: i64, typed: &Typed, wrong: &[Wrong]) -> Result<Markup, Problem> {
    let case: Case = seen(site.rack.show_case(entry).await?)?;
    let open: Vec<String> =
        case.lines.iter().filter(|line| line.outcome.is_none()).map(|line| line.label.clone()).collect();
    let title = if case.is_recall { "recall" } else { "incident" };
    Ok(page(
        Room::Cases,
        &format!("{} {}", word(title), case.case),
        html! {
            p.lead { (case.what) }
            p { time { (case.opened) } " · " (closed(case.closed.as_ref())) }
            (lines(&case.lines))
            p.doing {
                @if case.closed.is_none() && !open.is_empty() {
                    a.button href=(address("/inspect", &[("labels", &compact(&open)), ("occasion", Occasion::AfterEvent.code()), ("case", &entry.to_string())])) { (word("inspect-these")) } " "
                }
                a href=(address("/sheet/case", &[("case", &case.case.to_string()), ("recall", if case.is_recall { "yes" } else { "" })])) { (word("sheet-case")) }
            }
            @if !case.used_with.is_empty() { p { (texts::rack("used-with", &[("pieces", compact(&case.used_with))])) } }
            @if case.closed.is_none() {
                section { h2 { (word("settle")) }
                    @if open.is_empty() { (close_form(entry).draw(site, typed, wrong)) }
                    @else { p { (line("settle-open", compact(&open))) } (settle_form(entry).draw(site, &typed.or("labels", &compact(&open)), wrong)) }
                }
            }
        },
    ))
}

fn lines(lines: &[Line]) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label=(word("pieces")) {
            table.stacks {
                thead { tr { @for code in ["line-piece", "line-is", "line-outcome", "line-standing", "line-held", "line-meets"] { th scope="col" { (word(code)) } } } }
                tbody {
                    @for line in lines {
                        tr {
                            th scope="row" { (piece_link(&line.label)) }
                            td data-head=(word("line-is")) { (line.is) }
                            td data-head=(word("line-outcome")) { (line.outcome.as_deref().map_or_else(|| texts::rack("open", &[]), texts::outcome)) }
                            td data-head=(word("line-standing")) { (standing(&line.standing)) }
                            td data-head=[(!line.held.is_empty()).then(|| word("line-held"))] { (line.held) }
                            td data-head=[(!line.meets.is_empty()).then(|| word("line-meets"))] { (line.meets) }
                        }
                    }
                }
            }
        }
    }
}

fn settle_form(entry: i64) -> Form {
    let outcomes = OUTCOMES.map(|code| (code.to_owned(), word(&format!("outcome-{code}")))).to_vec();
    let labels = Field::new("labels", word("labels"), Kind::Line).required().hint(word("settle-labels-hint"));
    let fields = vec![labels, Field::new("outcome", word("line-outcome"), Kind::Choice(outcomes))];
    Form::new(format!("/cases/{entry}/settle"), word("settle"), fields)
}

fn close_form(entry: i64) -> Form {
    Form::new(format!("/cases/{entry}/close"), word("close-case"), Vec::new())
}

pub async fn settle(Shared(site): Shared, Path(entry): Path<i64>, typed: Typed) -> Result<Response, Problem> {
    match typed.rack(&site).settle(entry, typed.get("labels"), typed.get("outcome")).await {
        Ok(answer) => Ok(to_case(&answer)),
        Err(refused) => Ok(draw_case(&site, entry, &typed, &against(refused.into())?).await?.into_response()),
    }
}

pub async fn close(Shared(site): Shared, Path(entry): Path<i64>, typed: Typed) -> Result<Response, Problem> {
    match typed.rack(&site).close_case(entry).await {
        Ok(answer) => Ok(to_case(&answer)),
        Err(refused) => Ok(draw_case(&site, entry, &typed, &against(refused.into())?).await?.into_response()),
    }
}
