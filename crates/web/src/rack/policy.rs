//! The policy in force, row by row, with where each comes from and who set it; changed by fields, or whole as text.

use super::seen;
use crate::form::{Field, Form, Kind, against};
use crate::layout::{Room, address, page};
use crate::problem::{Problem, Wrong};
use crate::typed::Typed;
use crate::units::Unit;
use crate::{Shared, Site, line, word};
use axum::extract::Query;
use axum::response::{IntoResponse, Redirect, Response};
use desk::rack::rules::{Rule, Setting, Typing};
use desk::texts;
use maud::{Markup, html};
use serde::Deserialize;

#[derive(Deserialize)]
struct Policy {
    rules: Vec<Shown>,
    text: String,
}

#[derive(Deserialize)]
struct Shown {
    key: String,
    title: String,
    shown: String,
    source: Option<String>,
    since: String,
    entry: Option<i64>,
}

pub async fn show(Shared(site): Shared) -> Result<Markup, Problem> {
    draw(&site, None, &[]).await
}

async fn draw(site: &Site, typed: Option<&Typed>, wrong: &[Wrong]) -> Result<Markup, Problem> {
    let Policy { rules, text } = seen(site.rack.policy().await?)?;
    let in_force = Typed::asked(vec![("policy".to_owned(), text)]);
    Ok(page(
        Room::Group,
        &word("policy-in-force"),
        html! {
            p { (word("policy-lead")) }
            (table(&rules))
            details open[!wrong.is_empty()] { summary { (word("policy-whole")) } (text_form().draw(site, typed.unwrap_or(&in_force), wrong)) }
            p { a href="/group" { (word("nav-group")) } }
        },
    ))
}

fn table(rules: &[Shown]) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label=(word("policy-in-force")) {
            table.stacks.rules {
                thead { tr { @for code in ["policy-rule", "policy-value", "policy-since", "policy-source"] { th scope="col" { (word(code)) } } } }
                tbody {
                    @for rule in rules {
                        tr {
                            th scope="row" { a href=(address("/policy/change", &[("row", &rule.key)])) { (rule.title) } }
                            td data-head=(word("policy-value")) { (rule.shown) }
                            td data-head=(word("policy-since")) {
                                @match rule.entry { Some(entry) => a href={ "/log?before=" (entry + 1) "#entry-" (entry) } { (rule.since) }, None => (rule.since) }
                            }
                            td data-head=(word("policy-source")) { span.source { (rule.source.as_deref().unwrap_or_default()) } }
                        }
                    }
                }
            }
        }
    }
}

fn text_form() -> Form {
    let text = Field::new("policy", word("policy-text"), Kind::Lines).hint(word("policy-hint"));
    let on = Field::new("on", word("policy-from"), Kind::Day).hint(word("day-hint"));
    Form::new("/policy", word("policy-set"), vec![text, on])
}

/// The whole text, as a file would hold it.
pub async fn set(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    let rack = typed.rack(&site);
    match rack.set_policy_text(&word("policy-text"), typed.get("policy").to_owned(), typed.some("on")).await {
        Ok(_) => Ok(Redirect::to("/policy").into_response()),
        Err(refused) => Ok(draw(&site, Some(&typed), &against(refused.into())?).await?.into_response()),
    }
}

#[derive(Deserialize)]
pub struct Asked {
    row: String,
}

async fn rule(site: &Site, key: &str) -> Result<Rule, Problem> {
    let found = site.rack.rules().await?.into_iter().find(|rule| rule.key == key);
    found.ok_or_else(|| Problem::NoSuchPage(key.to_owned()))
}

pub async fn blank(Shared(site): Shared, Query(Asked { row }): Query<Asked>) -> Result<Markup, Problem> {
    let rule = rule(&site, &row).await?;
    let values = rule.settings.iter().flat_map(|setting| {
        let texts: Vec<_> = match setting.typing {
            Typing::Several(_) => setting.text.split(", ").map(str::to_owned).collect(),
            _ => vec![setting.text.clone()],
        };
        texts.into_iter().map(|text| (setting.name.clone(), text))
    });
    Ok(draw_rule(&site, &rule, &Typed::asked(values.collect()), &[]))
}

fn draw_rule(site: &Site, rule: &Rule, typed: &Typed, wrong: &[Wrong]) -> Markup {
    let why = Field::new("source", word("policy-why"), Kind::Line).hint(word("policy-why-hint"));
    let on = Field::new("on", word("policy-from"), Kind::Day).hint(word("day-hint"));
    let fields = [Field::given("row", &rule.key)].into_iter().chain(rule.settings.iter().map(field)).chain([why, on]);
    let form = Form::new("/policy/change", word("policy-change"), fields.collect());
    page(
        Room::Group,
        &rule.title(),
        html! {
            @if let Some(source) = &rule.source { p { (word("policy-until-now")) " " span.source { (source) } } }
            (form.draw(site, typed, wrong))
            p { a href="/policy" { (word("policy-in-force")) } }
        },
    )
}

fn field(setting: &Setting) -> Field {
    let words = |code: &str| texts::rule(code).unwrap_or_else(|| code.to_owned());
    let choices = |codes: &[&'static str]| codes.iter().map(|code| ((*code).to_owned(), words(code))).collect();
    let kind = match &setting.typing {
        Typing::Number | Typing::Span => Kind::Line,
        Typing::Count => Kind::Count,
        Typing::Depth => Kind::Value(Unit::Mm, 3),
        Typing::Flag => Kind::Choice(choices(&["yes", "no"])),
        Typing::One(codes) => Kind::Choice(choices(codes)),
        Typing::Several(codes) => Kind::Several(choices(codes)),
    };
    let title = match setting.typing {
        Typing::Depth => line("in-mm", setting.title()),
        _ => setting.title(),
    };
    let field = Field::new(&setting.name, title, kind);
    if setting.typing == Typing::Span { field.hint(word("policy-years-hint")) } else { field }
}

pub async fn change(Shared(site): Shared, typed: Typed) -> Result<Response, Problem> {
    let rule = rule(&site, typed.get("row")).await?;
    let value = |setting: &Setting| {
        let text = match setting.typing {
            Typing::Several(_) => typed.all(&setting.name).collect::<Vec<_>>().join(", "),
            Typing::Depth => typed.value(&setting.name, Unit::Mm, 3),
            _ => typed.get(&setting.name).to_owned(),
        };
        (setting.name.clone(), text)
    };
    let values: Vec<_> = rule.settings.iter().map(value).collect();
    let done = typed.rack(&site).change_policy(&rule.key, &values, typed.some("source"), typed.some("on")).await;
    match done {
        Ok(_) => Ok(Redirect::to("/policy").into_response()),
        Err(refused) => Ok(draw_rule(&site, &rule, &typed, &against(refused.into())?).into_response()),
    }
}
