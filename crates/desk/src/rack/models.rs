//! Models: what kinds of thing there are, how many of each, and where those stand.

use super::fields::{Field, Told, decimal_text};
use super::show::{Filter, table};
use super::{Answer, Fault, Rack, Result, View, words};
use crate::columns::columns;
use crate::texts;
use async_recursion::async_recursion as boxed;
use register::event::{Description, Fit, MakersLimits, Model};
use register::id::Id;
use register::standing::State;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// What a row of the list is about: a kind of gear, and a model of it where one is known.
type Of = (String, Option<Id>);

/// How many pieces stand where.
#[derive(Debug, Default)]
struct Counts(BTreeMap<State, i64>);

impl Counts {
    fn all(&self) -> i64 {
        self.0.values().sum()
    }

    fn text(&self) -> String {
        let each = self.0.iter().map(|(state, count)| format!("{count} {}", texts::state(*state)));
        each.collect::<Vec<_>>().join(", ")
    }

    fn json(&self) -> Value {
        self.0
            .iter()
            .map(|(state, count)| (state.code().to_owned(), json!(count)))
            .collect::<serde_json::Map<_, _>>()
            .into()
    }
}

impl Rack<'_> {
    /// Every model, and for each kind of gear the pieces of no known model: how many there are, and where they stand.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn models(&self) -> Result {
        let view = self.view().await?;
        let mut counts: BTreeMap<Of, Counts> = BTreeMap::new();
        for ((model, gear, standing), count) in self.store.counts_by_model().await? {
            let Some(state) = State::from_code(&standing) else { continue };
            *counts.entry((gear, model)).or_default().0.entry(state).or_default() += count;
        }
        let has_pieces: BTreeSet<Id> = counts.keys().filter_map(|(_, model)| *model).collect();
        for (id, model) in view.group.models().filter(|(id, _)| !has_pieces.contains(id)) {
            counts.entry((model.is.gear.clone().unwrap_or_default(), Some(id))).or_default();
        }
        let mut rows: Vec<_> = counts.iter().map(|(of, counts)| (named(of, &view), of, counts)).collect();
        rows.sort_by(|(one, of, _), (other, of_other, _)| (&of.0, one).cmp(&(&of_other.0, other)));
        let line = |(name, (gear, _), counts): &(String, &Of, &Counts)| {
            vec![gear.clone(), name.clone(), counts.all().to_string(), counts.text()]
        };
        let lines: Vec<_> = rows.iter().map(line).collect();
        let text = if lines.is_empty() { texts::rack("no-models", &[]) + "\n" } else { columns(&lines) };
        let json = |(name, (gear, model), counts): &(String, &Of, &Counts)| json!({ "model": model, "name": name, "gear": gear, "count": counts.all(), "standings": counts.json() });
        Ok(Answer::cautioned(text, json!({ "models": rows.iter().map(json).collect::<Vec<_>>() })))
    }

    /// The models that are known, by name; no piece is counted.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn model_names(&self) -> Result<Vec<(Id, String)>> {
        let view = self.view().await?;
        let mut names: Vec<_> = view.group.models().map(|(id, model)| (id, words::model_name(model))).collect();
        names.sort_by(|one, other| one.1.cmp(&other.1));
        Ok(names)
    }

    /// A model: what is known of it, how many pieces there are and where they stand, and the first of them.
    ///
    /// # Errors
    /// Where there is no such model.
    #[boxed]
    pub async fn show_model(&self, id: Id, after: Option<&str>, limit: u32) -> Result {
        let view = self.view().await?;
        let model = view.model(id)?;
        let mut counts = Counts::default();
        for ((of, _, standing), count) in self.store.counts_by_model().await? {
            if let Some(state) = State::from_code(&standing).filter(|_| of == Some(id)) {
                *counts.0.entry(state).or_default() += count;
            }
        }
        let filter = Filter { model: Some(id), after: after.map(str::to_owned), limit, ..Filter::default() };
        let page = self.store.pieces(&self.query(&filter, &view).await?).await?;
        let name = words::model_name(model);
        let facts = facts(model);
        let mut text = format!("{name}\n");
        text.extend(facts.iter().map(|fact| format!("  {fact}\n")));
        text += &format!("  {} {}\n{}", counts.all(), counts.text(), table(&page.pieces, &view));
        let rows: Vec<_> = page.pieces.iter().map(|row| super::show::row_json(row, &view)).collect();
        let next = page.next.as_ref().and_then(|cursor| serde_json::to_string(cursor).ok());
        let json = json!({
            "model": id,
            "name": name,
            "facts": facts,
            "count": counts.all(),
            "standings": counts.json(),
            "pieces": rows,
            "after": next,
        });
        Ok(Answer::cautioned(text, json))
    }
}

impl View {
    /// The model of a number.
    pub(super) fn model(&self, id: Id) -> std::result::Result<&Model, Fault> {
        let found = self.group.model(id);
        found.ok_or_else(|| Fault::new("no-such-model", &[("model", id.number().to_string())]))
    }
}

fn named((_, model): &Of, view: &View) -> String {
    let name = model.and_then(|model| view.group.model(model)).map(words::model_name);
    name.unwrap_or_else(|| texts::rack("no-model-known", &[]))
}

/// What is known of a model, a line each: what its pieces share, what its maker limits, what goes with it, its papers.
fn facts(model: &Model) -> Vec<String> {
    let told = Told {
        maker: model.maker.clone(),
        model: Some(model.name.clone()).filter(|name| !name.is_empty()),
        is: Description { model: None, ..model.is.clone() },
        ..Told::default()
    };
    let fields = Field::ALL.iter().filter_map(|field| field.in_words(&told));
    let papers = model
        .papers
        .iter()
        .map(|paper| texts::rack("model-paper", &[("what", paper.what.clone()), ("edition", paper.edition.clone())]));
    fields.chain(limits(&model.limits)).chain(model.fits.iter().map(fit)).chain(papers).collect()
}

fn limits(is: &MakersLimits) -> impl Iterator<Item = String> {
    let limits = [
        ("limit-made", is.months_from_made.map(|months| months.to_string())),
        ("limit-first-use", is.months_from_first_use.map(|months| months.to_string())),
        ("limit-inspect", is.inspect_every_months.map(|months| months.to_string())),
        ("limit-groove", is.groove_um.map(|um| decimal_text(um, 3))),
        ("limit-falls", is.falls.map(|falls| falls.to_string())),
    ];
    limits.into_iter().filter_map(|(code, value)| Some(texts::rack(code, &[("value", value?)])))
}

fn fit(fit: &Fit) -> String {
    let span = |(least, most): (u32, u32)| {
        texts::rack("fit-diameter", &[("least", decimal_text(least, 3)), ("most", decimal_text(most, 3))])
    };
    let only = |list: &[String]| (!list.is_empty()).then(|| list.join(" "));
    let parts = [fit.mode.clone(), fit.diameter_um.map(span), only(&fit.shapes), only(&fit.locks)];
    let what = parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
    texts::rack("model-fits", &[("with", fit.with.clone()), ("what", what)])
}
