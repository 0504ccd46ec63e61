//! A sheet of pieces: read and shown first, entered once that was seen, or told back with all that is wrong in it. What was chosen or typed
//! stays in the form until it is entered.

use crate::form::{Field as Typing, Form, Kind, against, token};
use crate::layout::{Room, page};
use crate::problem::{Problem, Wrong as Refusal, told};
use crate::typed::{Typed, Upload};
use crate::{Shared, Site, line, word};
use axum::response::{IntoResponse, Response};
use desk::rack::fields::Field;
use desk::rack::sheet::{Columns, LEFT_OUT, Wrong, headings};
use desk::rack::{Answer, Refused};
use desk::texts::{self, Read};
use maud::{Markup, html};
use serde::Deserialize;

/// What is wrong, as far as it is shown.
const WRONGS: usize = 100;

/// What an import answers, before and after it is written.
#[derive(Deserialize)]
struct Entered {
    entries: Vec<i64>,
    pieces: Vec<String>,
    first: Vec<First>,
}

#[derive(Deserialize)]
struct First {
    label: String,
    is: String,
    marking: String,
    site: String,
}

/// A sheet as it was sent: its text, what it is, and what its headings stand for.
struct Sent {
    text: String,
    name: &'static str,
    columns: Columns,
}

impl Sent {
    fn of(typed: &Typed) -> Result<Self, Problem> {
        let upload = typed.upload("sheet");
        let text = match upload {
            Some(Upload { bytes, .. }) => String::from_utf8(bytes.clone()).map_err(|_| no_text())?,
            None => typed.get("text").to_owned(),
        };
        if text.trim().is_empty() {
            return Err(Problem::Unreadable(word("sheet-nothing")));
        }
        let name = if text.trim_start().starts_with('{') { "sheet.json" } else { "sheet.csv" };
        let mut columns = Columns::default();
        for (heading, field) in typed.all("heading").zip(typed.all("stands-for")).filter(|(_, field)| !field.is_empty())
        {
            columns.add(heading, field)?;
        }
        Ok(Self { text, name, columns })
    }
}

fn no_text() -> Problem {
    Problem::Unreadable(word("sheet-no-text"))
}

/// The form that takes a sheet, as a file or as text.
pub fn form() -> Form {
    let file = Typing::new("sheet", word("sheet-file"), Kind::File(".csv,.json,.txt")).hint(word("sheet-hint"));
    let text = Typing::new("text", word("sheet-text"), Kind::Lines).hint(word("sheet-text-hint"));
    Form::new("/begin/sheet", word("sheet-look"), vec![file, text])
}

pub async fn blank(Shared(site): Shared) -> Markup {
    draw(&site, &Typed::default(), &[])
}

fn draw(site: &Site, typed: &Typed, wrong: &[Refusal]) -> Markup {
    page(
        Room::Rack,
        &word("begin-sheet-do"),
        html! { p { (word("begin-sheet-text")) } (form().draw(site, typed, wrong)) },
    )
}

pub async fn enter(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    let sent = match Sent::of(&typed) {
        Ok(sent) => sent,
        Err(problem) => return Ok(draw(&site, &typed, &against(problem)?).into_response()),
    };
    let is_sure = typed.some("sure").is_some();
    let Sent { text, name, columns } = &sent;
    match typed.rack(&site).import_text(name, text, columns, None, !is_sure).await {
        Ok(answer) if is_sure => Ok(entered(&read(answer)?).into_response()),
        Ok(answer) => Ok(would_enter(&site, &sent, &read(answer)?).into_response()),
        Err(Refused::Sheet { wrong, .. }) => Ok(at_fault(&site, &sent, &wrong).into_response()),
        Err(refused) => Ok(draw(&site, &typed, &against(refused.into())?).into_response()),
    }
}

fn read(answer: Answer) -> Result<Entered, Problem> {
    super::seen(answer)
}

/// How many went in, and where they are.
fn entered(entered: &Entered) -> Markup {
    page(
        Room::Rack,
        &word("sheet-entered"),
        html! {
            p.lead { (line("sheet-went-in", entered.pieces.len())) }
            (first(entered))
            p.doing {
                a.button href="/rack" { (word("nav-rack")) } " "
                @if let Some(entry) = entered.entries.last() { a href={ "/log#entry-" (entry) } { (line("entry", entry)) } }
            }
        },
    )
}

/// What would go in; the form that enters it holds the sheet.
fn would_enter(site: &Site, sent: &Sent, entered: &Entered) -> Markup {
    page(
        Room::Rack,
        &word("sheet-would"),
        html! {
            p.lead { (line("sheet-would-enter", entered.pieces.len())) }
            p { (word("sheet-nothing-written")) }
            (first(entered))
            form method="post" action="/begin/sheet" {
                (token(site))
                input type="hidden" name="sure" value="yes";
                textarea name="text" hidden { "\n" (sent.text) }
                (meanings(sent, |_| false))
                button type="submit" { (line("sheet-enter", entered.pieces.len())) }
            }
            p { a href="/begin/sheet" { (word("sheet-another")) } }
        },
    )
}

fn first(entered: &Entered) -> Markup {
    let more = entered.pieces.len().saturating_sub(entered.first.len());
    html! {
        div.scroll tabindex="0" role="region" aria-label=(word("pieces")) {
            table {
                thead { tr { @for field in [Field::Label, Field::Gear, Field::Marking, Field::Site] { th scope="col" { (texts::field(field)) } } } }
                tbody { @for piece in &entered.first { tr { th scope="row" { (piece.label) } td { (piece.is) } td data-as-written { (piece.marking) } td { (piece.site) } } } }
            }
        }
        @if more > 0 { p { (line("sheet-more", more)) } }
    }
}

/// Line by line what is wrong and what would be right, with the sheet to mend it in, and a choice for each heading that says nothing.
fn at_fault(site: &Site, sent: &Sent, wrong: &[Wrong]) -> Markup {
    let is_of_headings = |wrong: &&Wrong| wrong.line == 1 && wrong.fault.code != "no-sheet";
    let asks_for_all = wrong.iter().any(|wrong| matches!(wrong.fault.code, "no-label-column" | "column-twice"));
    let unknown: Vec<_> = wrong.iter().filter(is_of_headings).filter_map(|wrong| wrong.column.as_deref()).collect();
    let is_asked = |heading: &str| asks_for_all || unknown.contains(&heading);
    let refusal = Refusal::new(line("sheet-wrong", wrong.len()), word("sheet-nothing-written"));
    page(
        Room::Rack,
        &word("sheet-at-fault"),
        html! {
            (told(&[refusal]))
            (wrongs(wrong))
            form method="post" action="/begin/sheet" {
                (token(site))
                (meanings(sent, is_asked))
                div.field.long { label for="f-sheet-text" { (word("sheet-as-sent")) }
                    textarea #f-sheet-text name="text" rows="12" { "\n" (sent.text) } }
                button type="submit" { (word("sheet-again")) }
            }
            p { a href="/begin/sheet" { (word("sheet-another")) } }
        },
    )
}

fn wrongs(wrong: &[Wrong]) -> Markup {
    let more = wrong.len().saturating_sub(WRONGS);
    html! {
        div.scroll tabindex="0" role="region" aria-label=(word("sheet-at-fault")) {
            table.stacks {
                thead { tr { @for code in HEADS { th scope="col" { (word(code)) } } } }
                tbody {
                    @for one in wrong.iter().take(WRONGS) {
                        @let (what, right) = one.fault.words(Read::OnPage);
                        tr {
                            th scope="row" data-head=(word(HEADS[0])) { (one.line) }
                            td data-head=(word(HEADS[1])) { (one.column.as_deref().unwrap_or_default()) }
                            td data-head=(word(HEADS[2])) data-as-written { (one.said) }
                            td data-head=(word(HEADS[3])) { (what) }
                            td data-head=(word(HEADS[4])) { (right) }
                        }
                    }
                }
            }
        }
        @if more > 0 { p { (line("sheet-more-wrong", more)) } }
    }
}

const HEADS: [&str; 5] = ["sheet-line", "sheet-column", "sheet-said", "sheet-what", "sheet-right"];

/// What each heading stands for: a choice where that is asked, and else what was chosen before.
fn meanings(sent: &Sent, is_asked: impl Fn(&str) -> bool) -> Markup {
    let all = if sent.name.ends_with("csv") { headings(&sent.text) } else { Vec::new() };
    html! {
        @for (place, heading) in all.iter().enumerate() {
            @let chosen = sent.columns.chosen(heading);
            @if is_asked(heading) {
                @let is = chosen.or_else(|| Field::of_heading(heading).map(Field::code)).unwrap_or_default();
                div.field {
                    input type="hidden" name="heading" value=(heading);
                    label for={ "f-heading-" (place) } { (line("sheet-stands-for", heading)) }
                    select id={ "f-heading-" (place) } name="stands-for" {
                        option value="" { (word("sheet-choose")) }
                        option value=(LEFT_OUT) selected[is == LEFT_OUT] { (word("sheet-left-out")) }
                        @for field in Field::ALL { option value=(field.code()) selected[is == field.code()] { (texts::field(*field)) } }
                    }
                }
            } @else if let Some(chosen) = chosen {
                input type="hidden" name="heading" value=(heading);
                input type="hidden" name="stands-for" value=(chosen);
            }
        }
    }
}
