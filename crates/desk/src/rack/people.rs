//! People, what they may sign, and the group's policy.

use super::fields::day;
use super::{Answer, Fault, Line, Rack, Result, record};
use crate::columns::columns;
use crate::texts;
use async_recursion::async_recursion as boxed;
use jiff::civil::Date;
use register::event::{Event, Model};
use register::group::{KEEP, RIGHTS, is_right};
use register::id::PersonId;
use register::moment::Moment;
use register::private::hex;
use register::store::Spellings;
use serde_json::json;

impl Rack<'_> {
    /// Makes a person known. The log names them by an opaque word; the name stands beside it and can be erased.
    ///
    /// # Errors
    /// Where somebody of that name is known already.
    #[boxed]
    pub async fn add_person(&self, name: &str) -> Result {
        if self.view().await?.person(name).is_ok() || name.trim().is_empty() {
            return Err(Fault::new("name-taken", &[("name", name.to_owned())]).into());
        }
        let person = PersonId(hex(&self.outside.random()));
        let aside = self.aside(name, Some(person.clone()));
        let event = Event::PersonEntered { person: person.clone(), name: aside.private.clone() };
        let mut line = Line::new(self.moment(None)?, record(Vec::new(), event));
        line.asides.push(aside);
        let entries = self.write(vec![line]).await?;
        let text = texts::rack("person-added", &[("name", name.to_owned())]);
        Ok(Answer::new(text + "\n", json!({ "entries": entries, "person": person })))
    }

    /// Everybody who is known, what each was given the right to and until when, and what is free to all.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn people(&self) -> Result {
        let view = self.view().await?;
        let mut people: Vec<(&String, &PersonId)> = view.names.iter().map(|(person, name)| (name, person)).collect();
        people.sort_unstable();
        let (mut rows, mut json) = (Vec::new(), Vec::new());
        for (name, person) in people {
            let rights: Vec<_> = view.group.rights(person, view.now.on).into_iter().collect();
            let said = |(right, until): &(&str, Date)| {
                let code = if *until < view.now.on { "right-past" } else { "right-until" };
                texts::rack(code, &[("right", (*right).to_owned()), ("day", until.to_string())])
            };
            rows.push(vec![name.clone(), rights.iter().map(said).collect::<Vec<_>>().join("; ")]);
            let right = |(right, until): &(&str, Date)| json!({ "right": right, "until": until, "holds": *until >= view.now.on });
            let rights: Vec<_> = rights.iter().map(right).collect();
            json.push(json!({ "person": person, "name": name, "rights": rights }));
        }
        let text = if rows.is_empty() { texts::rack("nobody", &[]) + "\n" } else { columns(&rows) };
        // What nobody was ever given, everybody has; but nobody keeps the rack whom it was not given to.
        let free: Vec<_> =
            RIGHTS.into_iter().filter(|right| *right != KEEP && view.group.is_free(right, view.now.on)).collect();
        Ok(Answer::new(text, json!({ "people": json, "free": free })))
    }

    /// Lets a person sign until a day, that day included.
    ///
    /// # Errors
    /// Where nobody of that name is known, there is no such right, or the day is none.
    #[boxed]
    pub async fn allow(&self, name: &str, right: &str, until: &str) -> Result {
        let view = self.view().await?;
        if !is_right(right) {
            let values = [("right", right.to_owned()), ("rights", RIGHTS.join(", "))];
            return Err(Fault::new("no-such-right", &values).into());
        }
        let until = day(until)?;
        let event = Event::RightSet { person: view.person(name)?, right: right.to_owned(), until };
        let entries = self.write(vec![Line::new(self.moment(None)?, record(Vec::new(), event))]).await?;
        let values = [("name", name.to_owned()), ("right", right.to_owned()), ("until", until.to_string())];
        Ok(Answer::new(texts::rack("allowed", &values) + "\n", json!({ "entries": entries })))
    }

    /// Erases what is known of a person: name, texts and photos that are theirs, and the name from every other text. `also` are
    /// further ways in which texts write it. The chain still holds.
    ///
    /// # Errors
    /// Where nobody of that name is known, or a way of writing it says nothing.
    #[boxed]
    pub async fn erase(&self, name: &str, also: &[String]) -> Result {
        let person = self.view().await?.person(name)?;
        let of: Vec<String> = std::iter::once(name.to_owned()).chain(also.iter().cloned()).collect();
        if let Some(empty) = of.iter().find(|spelling| spelling.trim().chars().count() < 2) {
            return Err(Fault::new("no-spelling", &[("value", empty.clone())]).into());
        }
        let event = Event::PersonErased { person, gone: Vec::new() };
        let draft = self.draft(Line::new(self.moment(None)?, record(Vec::new(), event)));
        let mark = texts::rack("erased", &[]);
        let spellings = Spellings { of: &of, mark: &mark, salt: &|| self.outside.random() };
        let erased = self.store.erase(draft, &spellings, self.now()).await?;
        let values = [("count", erased.asides.to_string()), ("blanked", erased.blanked.to_string())];
        let mut text = texts::rack("person-erased", &values) + "\n";
        if !erased.left.is_empty() {
            let entries = erased.left.iter().map(i64::to_string).collect::<Vec<_>>().join(", ");
            text += &(texts::rack("name-left", &[("entries", entries)]) + "\n");
        }
        let json = json!({
            "entries": [erased.entry.seq],
            "asides": erased.asides,
            "blanked": erased.blanked,
            "left": erased.left,
        });
        let mut answer = Answer::new(text, json);
        answer.counts = !erased.left.is_empty();
        Ok(answer)
    }

    /// Sets the group's policy from a day on. Its text goes into the log.
    ///
    /// # Errors
    /// Where the file is no policy, or who writes may not set it.
    #[boxed]
    pub async fn set_policy(&self, path: &str, on: Option<&str>) -> Result {
        self.set_policy_text(path, self.read(path)?, on).await
    }

    /// The same for a text in hand; `path` stands for it in what is told.
    ///
    /// # Errors
    /// As [`Rack::set_policy`].
    #[boxed]
    pub async fn set_policy_text(&self, path: &str, text: String, on: Option<&str>) -> Result {
        let view = self.view().await?;
        trade::policy::Policy::parse(&text)
            .map_err(|why| Fault::new("no-policy", &[("path", path.to_owned()), ("why", why.to_string())]))?;
        if !view.group.has_right(&self.writer, "policy", None, view.now.on) {
            let (name, who) = (view.name(&self.writer), view.who_may("policy", None));
            let values = [("name", name), ("right", "policy".to_owned()), ("gear", String::new()), ("who", who)];
            return Err(Fault::new("no-right", &values).into());
        }
        let from = match on {
            Some(on) => Moment::on(day(on)?),
            None => self.moment(None)?,
        };
        let values = [("path", path.to_owned()), ("day", from.date.to_string())];
        let entries = self.write(vec![Line::new(from, record(Vec::new(), Event::PolicySet { text }))]).await?;
        Ok(Answer::new(texts::rack("policy-set", &values) + "\n", json!({ "entries": entries })))
    }

    /// Describes a model from a TOML file: what its pieces share, the maker's limits, what fits it, its papers.
    ///
    /// # Errors
    /// Where the file describes no model.
    #[boxed]
    pub async fn describe_model(&self, path: &str) -> Result {
        let view = self.view().await?;
        let is: Model = toml::from_str(&self.read(path)?).map_err(|why| {
            Fault::new("no-model", &[("path", path.to_owned()), ("why", why.to_string().trim().to_owned())])
        })?;
        let known = view.group.models().find(|(_, model)| (&model.name, &model.maker) == (&is.name, &is.maker));
        let values = [("name", is.name.clone())];
        let event = match known {
            Some((model, _)) => Event::ModelDescribed { model, is },
            None => Event::ModelEntered(is),
        };
        let entries = self.write(vec![Line::new(self.moment(None)?, record(Vec::new(), event))]).await?;
        Ok(Answer::new(texts::rack("model-told", &values) + "\n", json!({ "entries": entries })))
    }
}
