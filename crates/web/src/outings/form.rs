//! The form of an outing: fields for what it is and what it needs, its file beside them, and what can be asked of it.

use super::at_hand::{AtHand, NAME};
use super::{WAITS, after, fields, told};
use crate::form::{Field, Form, Kind, token};
use crate::rigs::EXAMPLES;
use crate::typed::Typed;
use crate::{Site, line, word};
use desk::outing::draft::{Asked, Draft, NEED, OUTING, Place, RIG, Rows, TIMES};
use desk::outing::file::{OutingFile, read};
use desk::texts;
use maud::{Markup, html};

/// What takes a plan to answer, by the name of its button.
pub const PLANS: [&str; 9] = ["plan", "swap", "curve", "buy", "pdf", "along", "along-pdf", "look", "take"];

/// What is asked of a need at once; the rest is asked where somebody wants it.
const FIRST: usize = 3;

/// A new outing.
pub fn begin(site: &Site) -> Markup {
    let mut fields: Vec<Field> = OUTING.into_iter().map(|asked| fields::field("", asked, "", &[])).collect();
    // A file that is pasted brings its own title; one that is begun by fields has none yet.
    fields[0].is_required = true;
    Form::new("/outings", word("outings-begin"), fields).empty(site)
}

/// The outings that this browser keeps: they are opened by the form that they came from.
pub fn kept(site: &Site) -> Markup {
    html! {
        section data-kept-outings hidden {
            h2 { (word("rigs-kept")) }
            ul.rows {}
            form method="post" action="/outings" { (token(site)) input type="hidden" name="text"; input type="hidden" name="choice"; }
        }
    }
}

/// The form.
pub fn draw(site: &Site, at_hand: &AtHand, typed: &Typed, is_rack_empty: bool, said: Option<&told::Said>) -> Markup {
    let text = &at_hand.kept.text;
    let draft = Draft::read(text);
    let file = read(text, NAME).ok();
    let choice = at_hand.kept.choice.as_ref().and_then(|kept| serde_json::to_string(kept).ok());
    html! {
        form #outing.outing method="post" action="/outings" data-stays {
            (token(site))
            input type="hidden" name="was" value=(text);
            input type="hidden" name="choice" value=(choice.unwrap_or_default());
            @if let Some(entry) = at_hand.entry { input type="hidden" name="entry" value=(entry); }
            @for (name, text) in &at_hand.kept.rigs {
                input type="hidden" name="rig-name" value=(name);
                input type="hidden" name="rig-text" value=(text);
            }
            @if is_rack_empty && file.as_ref().is_none_or(|file| file.pieces.is_empty()) {
                p.alert { (word("outings-rack-empty")) " " a href="/begin" { (word("begin")) } }
            }
            div.planning {
                div {
                    @if let Some(draft) = &draft { (own(draft)) (needs(at_hand, draft, file.as_ref(), typed)) (rigs(at_hand, draft)) }
                    @else { p.alert { (word("outings-no-form")) } }
                }
                div.field.long {
                    label for="outing-text" { (word("outings-text")) }
                    textarea #outing-text name="text" rows="24" spellcheck="false" autocapitalize="off" aria-describedby="outing-hint" { (text) }
                    p.hint #outing-hint { (word("outings-hint")) }
                    p.doing {
                        button type="button" data-keep-outing data-done=(word("board-saved")) hidden { (word("board-keep")) }
                        a.button data-download-outing download=(NAME) href="#outing-text" hidden { (word("outings-download")) }
                    }
                    p role="status" data-said { }
                }
            }
            (ask(typed))
            @if let Some(said) = said { (after::section(at_hand, typed, said)) }
        }
        @if said.is_none() { section.paper { h2 { (word("outings-text")) } pre data-as-written { (text) } } }
    }
}

/// What the outing itself is.
fn own(draft: &Draft) -> Markup {
    let all = OUTING.map(|asked| (Place::Outing, asked));
    let shown = Typed::asked(fields::shown(draft, "", &all));
    html! {
        fieldset.own {
            legend { (word("outings-own-part")) }
            @for asked in OUTING { div { (fields::field("", asked, "", &[]).draw("outing", &shown)) } }
            p.doing { button name="what" value="set" { (word("outings-set")) } }
        }
    }
}

/// How often something is needed, in a row of its own.
fn times(rows: Rows, at: usize, draft: &Draft, name: &str) -> Markup {
    let field = fields::named(&format!("{}-{at}-", rows.key()), TIMES);
    let told = draft.told(Place::Row(rows, at), TIMES);
    html! {
        input.times type="number" min="1" step="1" inputmode="numeric" name=(field) value=(told) placeholder="1"
            aria-label=(line("outings-times-of", name));
    }
}

fn button(what: &str, at: usize, name: &str) -> Markup {
    let words = word(&format!("outings-{what}"));
    html! { button name="what" value={ (what) "-" (at) } aria-label={ (words) ": " (name) } { (words) } }
}

fn needs(at_hand: &AtHand, draft: &Draft, file: Option<&OutingFile>, typed: &Typed) -> Markup {
    let count = draft.count(Rows::Need);
    let called = |at: usize| {
        let told = |asked| Some(draft.told(Place::Row(Rows::Need, at), asked)).filter(|told| !told.is_empty());
        let own = file.and_then(|file| file.needs.get(at)).map(|need| need.name.clone());
        own.or_else(|| told(NEED[2])).or_else(|| told(NEED[0])).unwrap_or_default()
    };
    html! {
        fieldset {
            legend { (word("outings-needs")) }
            @if count == 0 { p { (word("outings-no-needs")) } }
            ol.rows.needs {
                @for at in 0..count {
                    li {
                        (times(Rows::Need, at, draft, &called(at))) " × "
                        strong { (called(at)) } " "
                        (button("change", at, &called(at))) " " (button("away-need", at, &called(at)))
                    }
                }
            }
            (need(at_hand, draft, typed))
        }
    }
}

/// A need that is added, or changed.
fn need(at_hand: &AtHand, draft: &Draft, typed: &Typed) -> Markup {
    let all = |at| NEED.map(|asked| (Place::Row(Rows::Need, at), asked));
    let shown = match at_hand.changing {
        Some(at) => fields::shown(draft, "need.", &all(at)),
        None => vec![("need.times".to_owned(), "1".to_owned())],
    };
    let shown = Typed::asked(shown);
    let offered = offered(at_hand);
    let field = |asked: Asked| {
        let now = shown.get(&fields::named("need.", asked)).to_owned();
        fields::field("need.", asked, &now, &offered).draw("outing", &shown)
    };
    let is_open = NEED[FIRST..].iter().any(|asked| !shown.get(&fields::named("need.", *asked)).is_empty());
    let words = word(if at_hand.changing.is_some() { "outings-change-this" } else { "outings-add" });
    html! {
        div.add #need {
            h3 { (words) }
            @if let Some(at) = at_hand.changing { input type="hidden" name="need.at" value=(at); }
            @for asked in &NEED[..FIRST] { (field(*asked)) }
            details open[is_open] {
                summary { (word("outings-more")) }
                @for asked in &NEED[FIRST..] { (field(*asked)) }
            }
            p.doing { button name="what" value="need" { (words) } }
            @if typed.get("what") == "need" && typed.some("need.duty").is_none() { p.alert { (word("outings-add-duty")) } }
        }
    }
}

/// Rigs that can be named: those of the invented school, and those that came along with the form.
fn offered(at_hand: &AtHand) -> Vec<(String, String)> {
    let titled = |text: &str| {
        let line = text.lines().find_map(|line| line.strip_prefix("title = \""));
        line.and_then(|line| line.split('"').next()).unwrap_or_default().to_owned()
    };
    let examples = EXAMPLES.iter().map(|(name, text)| (format!("{name}.toml"), titled(text)));
    examples.chain(at_hand.kept.rigs.iter().map(|(name, text)| (name.clone(), titled(text)))).collect()
}

fn rigs(at_hand: &AtHand, draft: &Draft) -> Markup {
    let offered = offered(at_hand);
    let shown = Typed::asked(vec![("rig.times".to_owned(), "1".to_owned())]);
    let name = |at: usize| draft.told(Place::Row(Rows::Rig, at), RIG[0]);
    html! {
        fieldset {
            legend { (word("outings-rigs")) }
            p.hint { (word("outings-rigs-hint")) }
            ol.rows.needs {
                @for at in 0..draft.count(Rows::Rig) {
                    li { (times(Rows::Rig, at, draft, &name(at))) " × " strong { (name(at)) } " " (button("away-rig", at, &name(at))) }
                }
            }
            @for asked in RIG { (fields::field("rig.", asked, "", &offered).draw("outing", &shown)) }
            p.doing { button name="what" value="rig" { (word("outings-add-rig")) } }
        }
    }
}

/// What can be asked of the outing.
fn ask(typed: &Typed) -> Markup {
    let waits = WAITS.iter().map(|seconds| (seconds.to_string(), word(&format!("outings-patience-{seconds}"))));
    let patience = Field::new("patience", word("outings-patience"), Kind::Choice(waits.collect()));
    let until = Field::new("until", word("outings-until"), Kind::Day).hint(word("outings-until-hint"));
    let missing = Field::new("missing", word("outings-missing"), Kind::Line).hint(word("labels-hint"));
    let button = |what: &str| html! { button name="what" value=(what) { (word(&format!("outings-{what}"))) } };
    html! {
        p.doing { (button("plan")) @for what in ["pdf", "along", "along-pdf"] { (button(what)) } }
        details open[typed.some("missing").or_else(|| typed.some("until")).is_some() || ["curve", "buy", "swap"].contains(&typed.get("what"))] {
            summary { (word("outings-ask-more")) }
            div.beside {
                div { (missing.draw("outing", typed)) p.doing { (button("swap")) } }
                div { (until.draw("outing", typed)) p.doing { (button("buy")) (button("curve")) } }
                div { (patience.hint(word("outings-patience-hint")).draw("outing", typed)) }
            }
        }
    }
}

/// A need or piece in a line with two values.
pub fn of_both(code: &str, piece: &str, need: &str) -> String {
    texts::page(code, &[("piece", piece.to_owned()), ("need", need.to_owned())])
}
