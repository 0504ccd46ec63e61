//! A check in the words of its report, where nothing moves: headline, links, and all else that it says, part by part.

use desk::checking::Checked;
use desk::report::{Headline, Part, head, links, parts};
use maud::{Markup, html};

/// All of it.
pub fn report(checked: &Checked) -> Markup {
    let Headline { asked, first, weakest } = head(checked);
    html! {
        @for line in &first { p.ground { (line) } }
        p { strong { (weakest) } }
        p.source { (asked) }
        (part(&links(checked)))
        @for told in &parts(checked) { (part(told)) }
    }
}

fn part(part: &Part) -> Markup {
    html! {
        section {
            h3 { (part.title) }
            @if let Some((heads, rows)) = part.table.split_first() { (table(heads, rows, part.figures)) }
            @if !part.lines.is_empty() { ul { @for line in &part.lines { li { (line) } } } }
        }
    }
}

/// A table whose rows stand as lists of named cells where it is narrow.
fn table(heads: &[String], rows: &[Vec<String>], figures: bool) -> Markup {
    let class = figures.then_some("figure");
    html! {
        table.stacks {
            thead { tr { @for (place, name) in heads.iter().enumerate() { th scope="col" class=[class.filter(|_| place > 0)] { (name) } } } }
            tbody { @for row in rows { tr {
                @for (place, (cell, name)) in row.iter().zip(heads).enumerate() {
                    @if place == 0 { th scope="row" { (cell) } } @else { td data-head=(name) class=[class] { (cell) } }
                }
            } } }
        }
    }
}
