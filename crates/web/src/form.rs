//! Forms: described once, drawn empty or with what was typed and what is wrong with it. Nothing that was typed is lost.

use crate::Site;
use crate::problem::{Problem, Wrong, told, wrongs};
use crate::typed::{TOKEN, Typed, WISH, WRITER};
use crate::units::Unit;
use desk::rack::Refused;
use maud::{Markup, html};
use register::private::hex;

/// What is typed into a field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// One line.
    Line,
    /// Some lines.
    Lines,
    /// A day.
    Day,
    /// A whole number from 0.
    Count,
    /// One of these: code and words. The first stands where nothing was chosen.
    Choice(Vec<(String, String)>),
    /// Any of these.
    Several(Vec<(String, String)>),
    /// A password; what a browser may fill in.
    Secret(&'static str),
    /// Yes or no.
    Tick,
    /// A file of these kinds.
    File(&'static str),
    /// A number of a unit, to so many decimal places.
    Value(Unit, usize),
    /// Nothing: a value that the page itself gives.
    Given(String),
}

/// One field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Field {
    pub name: String,
    pub label: String,
    pub kind: Kind,
    /// What helps to fill it.
    pub hint: String,
    pub is_required: bool,
}

impl Field {
    pub fn new(name: &str, label: String, kind: Kind) -> Self {
        Self { name: name.to_owned(), label, kind, hint: String::new(), is_required: false }
    }

    pub fn given(name: &str, value: impl ToString) -> Self {
        Self::new(name, String::new(), Kind::Given(value.to_string()))
    }

    pub fn hint(self, hint: String) -> Self {
        Self { hint, ..self }
    }

    pub fn required(self) -> Self {
        Self { is_required: true, ..self }
    }

    /// `form` keeps the names of its parts apart from those of other forms on the page.
    pub fn draw(&self, form: &str, typed: &Typed) -> Markup {
        let id = format!("{form}-{}", self.name);
        let hint = (!self.hint.is_empty()).then(|| format!("{id}-hint"));
        let typed_text = typed.get(&self.name);
        html! {
            @match &self.kind {
                Kind::Given(value) => { input type="hidden" name=(self.name) value=(value); }
                Kind::Tick => {
                    div.field.tick {
                        input #(id) type="checkbox" name=(self.name) value="yes" checked[!typed_text.is_empty()]
                            aria-describedby=[hint.as_deref()];
                        label for=(id) { (self.label) }
                    }
                }
                Kind::Several(choices) => {
                    fieldset.field aria-describedby=[hint.as_deref()] {
                        legend { (self.label) }
                        @for (code, words) in choices {
                            div.tick {
                                input id={ (id) "-" (code) } type="checkbox" name=(self.name) value=(code) checked[typed.all(&self.name).any(|chosen| chosen == code)];
                                label for={ (id) "-" (code) } { (words) }
                            }
                        }
                    }
                }
                kind => {
                    div.field {
                        label for=(id) { (self.label) }
                        @match kind {
                            Kind::Choice(choices) => {
                                select #(id) name=(self.name) required[self.is_required] aria-describedby=[hint.as_deref()] {
                                    @for (code, words) in choices {
                                        option value=(code) selected[code == typed_text] { (words) }
                                    }
                                }
                            }
                            Kind::Lines => {
                                textarea #(id) name=(self.name) rows="4" required[self.is_required]
                                    aria-describedby=[hint.as_deref()] { (typed_text) }
                            }
                            Kind::File(accept) => {
                                input #(id) type="file" name=(self.name) accept=(accept) required[self.is_required]
                                    aria-describedby=[hint.as_deref()];
                            }
                            Kind::Day => {
                                input #(id) type="date" name=(self.name) value=(typed_text) required[self.is_required]
                                    aria-describedby=[hint.as_deref()];
                            }
                            Kind::Secret(autocomplete) => {
                                input #(id) type="password" name=(self.name) required[self.is_required]
                                    autocomplete=(autocomplete) aria-describedby=[hint.as_deref()];
                            }
                            Kind::Count => {
                                input #(id) type="number" min="0" step="1" inputmode="numeric" name=(self.name)
                                    value=(typed_text) required[self.is_required] aria-describedby=[hint.as_deref()];
                            }
                            Kind::Value(unit, places) => {
                                input #(id) type="text" inputmode="decimal" data-unit=(unit.code()) name=(self.name)
                                    value=(typed.value(&self.name, *unit, *places)) required[self.is_required]
                                    autocomplete="off" aria-describedby=[hint.as_deref()];
                            }
                            _ => {
                                input #(id) type="text" name=(self.name) value=(typed_text)
                                    required[self.is_required] autocomplete="off" aria-describedby=[hint.as_deref()];
                            }
                        }
                    }
                }
            }
            @if let Some(hint) = &hint { p.hint #(hint) { (self.hint) } }
        }
    }
}

/// A form.
#[derive(Debug, Clone)]
pub struct Form {
    pub action: String,
    pub fields: Vec<Field>,
    pub submit: String,
}

impl Form {
    pub fn new(action: impl Into<String>, submit: String, fields: Vec<Field>) -> Self {
        Self { action: action.into(), fields, submit }
    }

    /// With nothing typed yet.
    pub fn empty(&self, site: &Site) -> Markup {
        self.draw(site, &Typed::default(), &[])
    }

    /// With what was typed, and what is wrong with it.
    pub fn draw(&self, site: &Site, typed: &Typed, wrong: &[Wrong]) -> Markup {
        let name: String =
            self.action.chars().map(|letter| if letter.is_ascii_alphanumeric() { letter } else { '-' }).collect();
        let name = format!("f{name}");
        let has_file = self.fields.iter().any(|field| matches!(field.kind, Kind::File(_)));
        html! {
            form method="post" action=(self.action) enctype=[has_file.then_some("multipart/form-data")] {
                @if !wrong.is_empty() { (told(wrong)) }
                (token(site))
                @for field in &self.fields { (field.draw(&name, typed)) }
                button type="submit" { (self.submit) }
            }
        }
    }
}

/// What every form that is sent must hold: the token, as whom it is written, and what tells this sending of it from others.
pub fn token(site: &Site) -> Markup {
    html! {
        input type="hidden" name=(TOKEN) value=(site.token);
        @if site.guest.is_some() { input type="hidden" name=(WRITER) value=(site.as_whom()); }
        input type="hidden" name=(WISH) value=(hex(&site.outside.random()));
    }
}

/// What the desk says against what was typed; other problems are no matter of the form.
pub fn against(problem: Problem) -> Result<Vec<Wrong>, Problem> {
    match problem {
        Problem::Refused(Refused::Store(error)) => Err(Problem::Refused(Refused::Store(error))),
        Problem::Refused(refused) => Ok(wrongs(&refused)),
        Problem::Unreadable(what) => Ok(vec![Wrong::new(crate::line("unreadable-request", what), String::new())]),
        other => Err(other),
    }
}

/// A list of choices from codes and words, with nothing chosen first.
pub fn choices(none: String, codes: impl Iterator<Item = (String, String)>) -> Kind {
    Kind::Choice(std::iter::once((String::new(), none)).chain(codes).collect())
}
