//! The handbook: what every finding, position, reason and note means, and where that comes from.

use crate::layout::{Room, page};
use crate::sheets::ask_teaching;
use crate::word;
use desk::texts;
use desk::texts::Paragraph;
use maud::{Markup, html};

pub async fn handbook() -> Markup {
    let handbook = texts::handbook();
    page(
        Room::Handbook,
        &word("nav-handbook"),
        html! {
            nav.kinds aria-label=(word("handbook-parts")) {
                @for (part, _) in &handbook { a href={ "#part-" (part) } { (word(&format!("handbook-{part}"))) } }
            }
            @for (part, paragraphs) in &handbook {
                @if *part == "position" { (ask_teaching()) }
                section {
                    h2 id={ "part-" (part) } { (word(&format!("handbook-{part}"))) }
                    @for paragraph in paragraphs { (told(part, paragraph)) }
                }
            }
        },
    )
}

/// One code may stand in several parts; findings, positions and ways in which a link is loaded, which pages link to, keep theirs as it is.
fn told(part: &str, paragraph: &Paragraph) -> Markup {
    let place = match part {
        "finding" | "position" | "link" => paragraph.code.to_owned(),
        part => format!("{part}-{}", paragraph.code),
    };
    html! {
        article.paragraph id=(place) {
            h3 { (paragraph.title) }
            @if !paragraph.look_for.is_empty() { p.look { (paragraph.look_for) } }
            @if !paragraph.formula.is_empty() { p.formula { (paragraph.formula) } }
            @if !paragraph.text.is_empty() { p { (paragraph.text) } }
            @if part == "position" { p.doing { a href="#teaching-card" { (word("sheet-teaching")) } } }
            @if !paragraph.source.is_empty() { p.source { (paragraph.source) } }
            @if !paragraph.checks.is_empty() { p.source { (word("handbook-checks")) " " (paragraph.checks.join(", ")) } }
        }
    }
}
