//! The policy in force, row by row, and one row of it changed.

use super::fields::{decimal, decimal_text};
use super::{Answer, Fault, Rack, Result};
use crate::texts;
use async_recursion::async_recursion as boxed;
use jiff::civil::Date;
use register::event::Event;
use register::history::{Past, effective};
use register::store::GROUP;
use serde_json::{Value as Json, json};
use terms::{How, Quality};
use toml_edit::{Array, DocumentMut, Item, Table, Value, value};
use trade::policy::{Row, rows};
use trade::position::Position;
use trade::rack::{Occasion, Then, regimes, voices};

/// How a value of a row is typed, and what can be chosen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Typing {
    /// A number.
    Number,
    /// A whole number.
    Count,
    /// Whole numbers, the least and the most.
    Span,
    /// A depth in mm.
    Depth,
    /// Yes or no.
    Flag,
    /// One of these.
    One(Vec<&'static str>),
    /// Any of these.
    Several(Vec<&'static str>),
}

/// A value of a row, as it can be typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Setting {
    /// Its name in the policy.
    pub name: String,
    /// What it is.
    pub text: String,
    /// How it is typed.
    pub typing: Typing,
}

/// A row of the policy in force.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// Where it stands in the policy.
    pub key: String,
    /// What it holds.
    pub settings: Vec<Setting>,
    /// Where it comes from, as far as that is told.
    pub source: Option<String>,
    /// The day since which it holds so, the entry and who wrote it; nothing where it is that of the program.
    pub set: Option<(Date, i64, String)>,
}

impl Rule {
    /// What it is about, in words.
    #[must_use]
    pub fn title(&self) -> String {
        let parts = self.key.split('.').filter(|part| *part != "rack");
        parts.map(|part| texts::rule(part).unwrap_or_else(|| part.to_owned())).collect::<Vec<_>>().join(": ")
    }

    fn text(&self) -> String {
        let one = |setting: &Setting| match self.settings.len() {
            1 => setting.shown(),
            _ => format!("{} {}", setting.title(), setting.shown()),
        };
        self.settings.iter().map(one).collect::<Vec<_>>().join(", ")
    }

    fn since(&self) -> String {
        match &self.set {
            None => texts::rack("rule-inside", &[]),
            Some((day, entry, who)) => {
                let values = [("day", day.to_string()), ("entry", entry.to_string()), ("who", who.clone())];
                texts::rack("rule-set", &values)
            }
        }
    }

    fn json(&self) -> Json {
        let setting = |setting: &Setting| json!({ "name": setting.name, "text": setting.text });
        json!({
            "key": self.key,
            "title": self.title(),
            "settings": self.settings.iter().map(setting).collect::<Vec<_>>(),
            "shown": self.text(),
            "source": self.source,
            "since": self.since(),
            "entry": self.set.as_ref().map(|(_, entry, _)| entry),
        })
    }
}

impl Setting {
    fn new(key: &str, name: &str, value: &toml::Value) -> Self {
        let typing = Typing::of(key, name);
        let text = match (&typing, value) {
            (Typing::Depth, value) => um(value).map_or_else(String::new, |um| decimal_text(um, 3)),
            (Typing::Flag, value) => if value.as_bool() == Some(true) { "yes" } else { "no" }.to_owned(),
            (_, toml::Value::Array(all)) => all.iter().map(plain).collect::<Vec<_>>().join(", "),
            (_, value) => plain(value),
        };
        Self { name: name.to_owned(), text, typing }
    }

    /// Its name in words.
    #[must_use]
    pub fn title(&self) -> String {
        texts::rule(&self.name).unwrap_or_else(|| self.name.clone())
    }

    /// What it is, in words.
    #[must_use]
    pub fn shown(&self) -> String {
        let words = |code: &str| texts::rule(code).unwrap_or_else(|| code.to_owned());
        match &self.typing {
            Typing::Several(_) if self.text.is_empty() => texts::rack("rule-none", &[]),
            Typing::Several(_) => self.text.split(", ").map(words).collect::<Vec<_>>().join(", "),
            Typing::One(_) | Typing::Flag => words(&self.text),
            Typing::Depth => format!("{} mm", self.text),
            _ => self.text.clone(),
        }
    }
}

fn plain(value: &toml::Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), str::to_owned)
}

fn um(value: &toml::Value) -> Option<u32> {
    value.as_integer().and_then(|um| um.try_into().ok())
}

impl Typing {
    fn of(key: &str, name: &str) -> Self {
        let codes = |all: &[Then]| all.iter().map(|then| then.code()).collect();
        match name {
            // What an inspection can make good withdraws nothing.
            "then" if key.contains("overdue") || key.contains("no_first_inspection") => {
                Self::One(codes(&[Then::Nothing, Then::Watch, Then::Quarantine]))
            }
            "then" => Self::One(codes(Then::ALL)),
            "months" => Self::Count,
            "years" => Self::Span,
            "um" => Self::Depth,
            "occasions" => Self::Several(Occasion::ALL.iter().map(|occasion| occasion.code()).collect()),
            "regimes" => Self::Several(regimes().iter().map(|regime| regime.code.as_str()).collect()),
            "voices" => {
                let known = voices().iter().filter(|voice| voice.source().quality != Quality::FromMemory);
                Self::Several(known.map(|voice| voice.code.as_str()).collect())
            }
            "counts_for_exit" => {
                let in_use = Position::ALL.iter().filter(|position| position.how() == How::InUse);
                Self::Several(in_use.map(|position| position.code()).collect())
            }
            name if name.ends_with("_for_exit") => Self::Flag,
            _ => Self::Number,
        }
    }

    /// What was typed, as it stands in a policy.
    fn read(&self, text: &str) -> std::result::Result<Value, Fault> {
        let whole = |text: &str| decimal(text, 0).map(i64::from);
        Ok(match self {
            Self::Number => {
                let no_number = |_| Fault::new("no-number", &[("value", text.to_owned()), ("places", "3".to_owned())]);
                text.trim().replace(',', ".").parse::<f64>().map_err(no_number)?.into()
            }
            Self::Count => whole(text)?.into(),
            Self::Span => text.split(',').map(whole).collect::<std::result::Result<Array, _>>()?.into(),
            Self::Depth => i64::from(decimal(text, 3)?).into(),
            Self::Flag => (text == "yes").into(),
            Self::One(all) => known(text, all)?.into(),
            Self::Several(all) => {
                let chosen = text.split(',').map(str::trim).filter(|code| !code.is_empty());
                chosen.map(|code| known(code, all)).collect::<std::result::Result<Array, _>>()?.into()
            }
        })
    }
}

fn known(code: &str, all: &[&'static str]) -> std::result::Result<&'static str, Fault> {
    let found = all.iter().find(|known| **known == code).copied();
    found.ok_or_else(|| Fault::no_such_word(code, all.iter().copied()))
}

impl Rack<'_> {
    /// The policy in force today, row by row: each with where it comes from, since when it holds so and who wrote it.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn policy(&self) -> Result {
        let rules = self.rules().await?;
        let mut text = String::new();
        for rule in &rules {
            text += &format!("{}: {}  ({})\n", rule.title(), rule.text(), rule.since());
            text.extend(rule.source.as_ref().map(|source| format!("    [{source}]\n")));
        }
        let in_log = self.policies(self.outside.today()).await?.last().map(text_of).unwrap_or_default().to_owned();
        Ok(Answer::new(text, json!({ "rules": rules.iter().map(Rule::json).collect::<Vec<_>>(), "text": in_log })))
    }

    /// The same as values.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn rules(&self) -> Result<Vec<Rule>> {
        let view = self.view().await?;
        let set = self.policies(view.now.on).await?;
        let each: Vec<Vec<Row>> = set.iter().map(|past| rows(text_of(past))).collect();
        let now = each.last().cloned().unwrap_or_else(|| rows(""));
        let inside = rows("");
        let rule = |row: Row| {
            let as_now = |rows: &Vec<Row>| rows.contains(&row);
            let since = set.iter().zip(&each).rev().take_while(|(_, rows)| as_now(rows)).last();
            let is_inside = as_now(&inside) && each.iter().all(as_now);
            let since = since.filter(|_| !is_inside).map(|(past, _)| past);
            let set = since.map(|past| (past.happened.date, past.seq, view.name(&past.writer)));
            let settings = settings(&row);
            Rule { settings, source: row.source.as_ref().map(texts::source), set, key: row.key.clone() }
        };
        Ok(now.into_iter().map(rule).collect())
    }

    /// Changes one row of the policy from a day on; what the group's policy says besides stays as it is, its comments too. Values that are not
    /// given stay. `source` is why; without it none is told.
    ///
    /// # Errors
    /// Where there is no such row or value of it, a value is none, or who writes may not set the policy.
    #[boxed]
    pub async fn change_policy(
        &self,
        key: &str,
        values: &[(String, String)],
        source: Option<&str>,
        on: Option<&str>,
    ) -> Result {
        let from = on.map_or_else(|| Ok(self.outside.today()), super::fields::day)?;
        let text = self.policies(from).await?.last().map(text_of).unwrap_or_default().to_owned();
        let row = rows(&text).into_iter().find(|row| row.key == key).ok_or_else(|| no_row(key))?;
        let mut settings = settings(&row);
        for (name, text) in values {
            let names = settings.iter().map(|setting| setting.name.clone()).collect::<Vec<_>>();
            let found = settings.iter_mut().find(|setting| setting.name == *name);
            let found = found.ok_or_else(|| Fault::no_such_word(name, names.iter().map(String::as_str)))?;
            found.text.clone_from(text);
        }
        let text = with_row(&text, key, &settings, source)?;
        self.set_policy_text(&texts::rack("policy-itself", &[]), text, on).await
    }

    /// The entries whose policies came into force up to a day, as they hold; the last is in force then.
    async fn policies(&self, on: Date) -> Result<Vec<Past>> {
        let view = self.view().await?;
        let history = effective(self.store.history(GROUP).await?);
        let entry = |entry: i64| history.iter().find(|past| past.seq == entry).cloned();
        Ok(view.group.policies(on).filter_map(entry).collect())
    }
}

fn text_of(past: &Past) -> &str {
    match &past.record.event {
        Event::PolicySet { text } => text,
        _ => "",
    }
}

/// The values of a row; what follows is told after what it follows from.
fn settings(row: &Row) -> Vec<Setting> {
    let mut settings: Vec<_> = row.values.iter().map(|(name, value)| Setting::new(&row.key, name, value)).collect();
    settings.sort_by_key(|setting| setting.name == "then");
    settings
}

fn no_row(key: &str) -> Fault {
    let keys = rows("").into_iter().map(|row| row.key).collect::<Vec<_>>().join(", ");
    Fault::new("no-such-row", &[("key", key.to_owned()), ("keys", keys)])
}

/// A policy's text with one row of it set.
fn with_row(text: &str, key: &str, settings: &[Setting], source: Option<&str>) -> std::result::Result<String, Fault> {
    let no_policy = |why: toml_edit::TomlError| {
        Fault::new("no-policy", &[("path", texts::rack("policy-itself", &[])), ("why", why.to_string())])
    };
    let mut document: DocumentMut = text.parse().map_err(no_policy)?;
    let (path, last) = key.rsplit_once('.').unwrap_or(("", key));
    let at = table_at(document.as_table_mut(), path);
    if let [Setting { name, text, typing }] = settings
        && name == last
    {
        at[last] = value(typing.read(text)?);
        set_source_beside(document.as_table_mut(), key, source);
    } else {
        let mut row = Table::new();
        for Setting { name, text, typing } in settings {
            row.insert(name, value(typing.read(text)?));
        }
        cite(&mut row, "source", source);
        at[last] = Item::Table(row);
    }
    Ok(document.to_string())
}

/// The table at a path of keys, made where there is none.
fn table_at<'t>(mut at: &'t mut Table, path: &str) -> &'t mut Table {
    for part in path.split('.').filter(|part| !part.is_empty()) {
        if !at.get(part).is_some_and(Item::is_table) {
            let mut inner = Table::new();
            inner.set_implicit(true);
            at.insert(part, Item::Table(inner));
        }
        at = at[part].as_table_mut().unwrap_or_else(|| unreachable!("a table was put there"));
    }
    at
}

/// The source of a key that stands by itself is in a table of its own; that of the value before does not stay.
fn set_source_beside(document: &mut Table, key: &str, source: Option<&str>) {
    if key.contains('.') {
        return;
    }
    if let Some(sources) = document.get_mut("source").and_then(Item::as_table_mut) {
        sources.remove(key);
    }
    if source.is_some() {
        cite(table_at(document, &format!("source.{key}")), "text", source);
    }
}

fn cite(row: &mut Table, name: &str, source: Option<&str>) {
    if let Some(source) = source {
        row.insert(name, value(source));
        row.insert("quality", value(Quality::OurDefault.words()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn settings_of(key: &str) -> Vec<Setting> {
        settings(&rows("").into_iter().find(|row| row.key == key).unwrap_or_else(|| panic!("{key}")))
    }

    #[test]
    fn a_row_is_set_in_a_text_that_keeps_its_comments() {
        let own = "# ours\nmargin_intended = 3 # since the fall\n\n[source.margin_intended]\ntext = \"a vote\"\nquality = \"our default\"\n";
        let [mut margin] = settings_of("margin_intended").try_into().expect("one value");
        margin.text = "2,5".to_owned();
        let text = with_row(own, "margin_intended", &[margin], Some("another vote")).expect("a policy");
        assert!(
            text.contains("# ours")
                && text.contains("2.5")
                && text.contains("another vote")
                && !text.contains("\"a vote\"")
        );
        assert_eq!(trade::policy::Policy::parse(&text).expect("a policy").margin_intended, 2.5);
    }

    #[test]
    fn every_row_inside_is_read_back_as_it_is_shown_and_has_its_words() {
        for row in rows("") {
            let settings = settings(&row);
            let text = with_row("", &row.key, &settings, None).unwrap_or_else(|fault| panic!("{}: {fault:?}", row.key));
            let again = rows(&text).into_iter().find(|again| again.key == row.key).expect("the row");
            assert_eq!(super::settings(&again), settings, "{}", row.key);
            let unnamed = settings.iter().map(|setting| setting.name.as_str()).chain(row.key.split('.').skip(1));
            let gear = |code: &str| trade::gear::Gear::from_code(code).is_some();
            let unnamed: Vec<_> = unnamed.filter(|code| texts::rule(code).is_none() && !gear(code)).collect();
            assert_eq!(unnamed, [""; 0], "{} has words", row.key);
        }
    }
}
