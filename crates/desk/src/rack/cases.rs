//! Incidents and recalls: opened, settled piece by piece, closed.

use super::enter::TOGETHER;
use super::happen::About;
use super::labels::compact;
use super::{Answer, Fault, Line, Pick, Rack, Result, View, record, words};
use crate::columns::columns;
use crate::texts;
use async_recursion::async_recursion as boxed;
use jiff::civil::Date;
use register::cases::{holdings, lines, used_with};
use register::event::{Event, Incident, Model, Recall};
use register::group::{Case, CaseKind};
use register::history::{History, Past, effective};
use register::id::Id;
use register::piece::Piece;
use register::recall::{Match, matches};
use register::standing::State;
use register::store::Query;
use register::summary::Summary;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// Outcomes that take a piece off a closure list.
pub const OUTCOMES: [&str; 4] = ["inspected", "withdrawn", "destroyed", "not-concerned"];

/// The closing of a case.
pub(super) struct Closing {
    /// The entry.
    pub entry: i64,
    /// The day.
    pub on: Date,
    /// The record as it was frozen; `None` where it is gone.
    pub frozen: Option<String>,
}

impl Rack<'_> {
    /// Opens an incident: what it is about is put aside as evidence, and what was used with it is named.
    ///
    /// # Errors
    /// Where a piece or a person is unknown.
    #[boxed]
    pub async fn open_incident(&self, labels: &str, what: &str, people: &[String], on: Option<&str>) -> Result {
        let view = self.view().await?;
        let rows = self.find_all(labels).await?;
        let people: std::result::Result<Vec<_>, Fault> = people.iter().map(|name| view.person(name)).collect();
        let aside = self.aside(what, None);
        let event = Event::IncidentOpened(Incident { what: aside.private.clone(), people: people? });
        let happened = self.moment(on)?;
        let mut line = Line::new(happened.clone(), record(rows.iter().map(|row| row.id).collect(), event));
        line.asides.push(aside);
        let entries = self.write(vec![line]).await?;
        let mut answer = self.show_case(entries[0]).await?;
        answer.json["entries"] = json!(entries);
        Ok(answer)
    }

    /// Opens a recall about every piece that meets it, and every one that cannot be excluded because its marks do not tell.
    ///
    /// # Errors
    /// Where nothing is called back by name, kind, date, batch or serial.
    #[boxed]
    pub async fn open_recall(&self, recall: Recall, on: Option<&str>) -> Result {
        let view = self.view().await?;
        let recall = with_criteria(recall, &view)?;
        let about: Vec<Id> = self.called(&recall, &view).await?.into_iter().map(|(row, ..)| row.id).collect();
        let event = Event::RecallOpened(recall);
        let entries = self.write(vec![Line::new(self.moment(on)?, record(about, event))]).await?;
        let mut answer = self.show_case(entries[0]).await?;
        answer.json["entries"] = json!(entries);
        Ok(answer)
    }

    /// What a recall would call back, were it opened: each piece with how it meets, who has it and where it stands, and how many there
    /// are of each. Nothing is written.
    ///
    /// # Errors
    /// As [`Rack::open_recall`].
    #[boxed]
    pub async fn preview_recall(&self, recall: Recall) -> Result {
        let view = self.view().await?;
        let recall = with_criteria(recall, &view)?;
        let (mut rows, mut json) = (Vec::new(), Vec::new());
        let (mut surely, mut on_loan, mut withdrawn) = (0, 0, 0);
        for (row, piece, found) in self.called(&recall, &view).await? {
            let is_sure = found == Match::Meets;
            let meets = said_of(&found);
            surely += usize::from(is_sure);
            on_loan += usize::from(row.holder.is_some());
            withdrawn += usize::from(row.standing == State::Withdrawn);
            let holder = row.holder.as_ref().map(|person| view.name(person));
            rows.push(vec![
                row.label.clone(),
                meets.clone(),
                texts::state(row.standing),
                holder.clone().unwrap_or_default(),
            ]);
            json.push(json!({
                "label": row.label,
                "is": view.told(&piece).in_short(),
                "meets": meets,
                "is_sure": is_sure,
                "standing": row.standing.code(),
                "holder": holder,
            }));
        }
        let not_excluded = rows.len() - surely;
        let counts =
            [("surely", surely), ("not-excluded", not_excluded), ("on-loan", on_loan), ("withdrawn", withdrawn)];
        let counts = counts.map(|(code, count)| (code, count.to_string()));
        let text = format!("{}\n{}", texts::rack("recall-would", &counts), columns(&rows));
        let json = json!({
            "surely": surely,
            "not_excluded": not_excluded,
            "on_loan": on_loan,
            "withdrawn": withdrawn,
            "pieces": json,
        });
        Ok(Answer::cautioned(text, json))
    }

    /// The model with a name, of a maker where one is named.
    ///
    /// # Errors
    /// Where none has it, or several do.
    #[boxed]
    pub async fn model_named(&self, name: &str, maker: Option<&str>) -> Result<Id> {
        let group = self.store.group().await?;
        let is_it =
            |model: &Model| model.name == name && maker.is_none_or(|maker| model.maker.as_deref() == Some(maker));
        let found: Vec<(Id, &Model)> = group.models().filter(|(_, model)| is_it(model)).collect();
        match found[..] {
            [(id, _)] => Ok(id),
            [] => Err(Fault::new("no-such-model", &[("model", name.to_owned())]).into()),
            _ => {
                let makers = found.iter().map(|(_, model)| words::model_name(model)).collect::<Vec<_>>().join("; ");
                Err(Fault::new("which-model", &[("model", name.to_owned()), ("models", makers)]).into())
            }
        }
    }

    /// The pieces that a recall calls back; with each, what could not be told. Withdrawn pieces are called back too: they may be
    /// somewhere still.
    async fn called(&self, recall: &Recall, view: &View) -> Result<Vec<(Summary, Piece, Match)>> {
        let mut called = Vec::new();
        let query = Query { gear: recall.gear.clone(), ..Query::default() };
        let without_kind = recall.gear.as_ref().map(|_| Query { gear: Some(String::new()), ..Query::default() });
        for query in std::iter::once(query).chain(without_kind) {
            let rows = self.all(query).await?;
            for (place, some) in rows.chunks(TOGETHER).enumerate() {
                for (row, (piece, _)) in some.iter().zip(self.fold_all(some, view).await?) {
                    match matches(recall, &piece, &view.group) {
                        Match::Excluded(_) => {}
                        found => called.push((row.clone(), piece, found)),
                    }
                }
                self.outside.progress((place * TOGETHER + some.len()) as u64, rows.len() as u64);
            }
        }
        Ok(called)
    }

    /// Settles lines of an incident or a recall.
    ///
    /// # Errors
    /// Where there is no such case, or the outcome is none that settles.
    #[boxed]
    pub async fn settle(&self, case: i64, labels: &str, outcome: &str) -> Result {
        let view = self.view().await?;
        self.open_case(&view, case)?;
        if !OUTCOMES.contains(&outcome) {
            return Err(Fault::no_such_word(outcome, OUTCOMES.into_iter()).into());
        }
        let rows = self.find_all(labels).await?;
        let settled = (Event::Settled { case, outcome: outcome.to_owned() }, rows.iter().map(|row| row.id).collect());
        let outstanding = self.outstanding(&rows, outcome, case, &view).await?;
        let events = outstanding.into_iter().chain([settled]).collect();
        let pick = Pick::Labels(labels.to_owned());
        self.log_each(&About { pick, on: None, note: None, photos: Vec::new() }, &rows, None, events).await?;
        self.show_case(case).await
    }

    /// What an outcome says that no entry says yet: a case is closed by what was done, not by words alone.
    async fn outstanding(
        &self,
        rows: &[Summary],
        outcome: &str,
        case: i64,
        view: &View,
    ) -> Result<Option<(Event, Vec<Id>)>> {
        let opened = view.case(case)?.opened;
        let mut open = Vec::new();
        for (row, (piece, history)) in rows.iter().zip(self.fold_all(rows, view).await?) {
            let was_done = |past: &Past| match &past.record.event {
                Event::Inspected(_) => outcome == "inspected" && past.happened.date >= opened,
                Event::Withdrawn { .. } => outcome == "withdrawn",
                Event::Destroyed => outcome == "destroyed",
                _ => false,
            };
            if !piece.of(&history).any(was_done) {
                open.push(row);
            }
        }
        let ids: Vec<Id> = open.iter().map(|row| row.id).collect();
        let event = match outcome {
            "withdrawn" => Event::Withdrawn { why: texts::rack("settled-why", &[("entry", case.to_string())]) },
            "destroyed" => Event::Destroyed,
            "inspected" if !open.is_empty() => {
                let labels: Vec<String> = open.iter().map(|row| row.label.clone()).collect();
                let values = [("pieces", compact(&labels)), ("day", opened.to_string())];
                return Err(Fault::new("not-inspected", &values).into());
            }
            _ => return Ok(None),
        };
        Ok((!ids.is_empty()).then_some((event, ids)))
    }

    /// Closes an incident or a recall whose lines are all settled, its record frozen as it stands.
    ///
    /// # Errors
    /// Where lines are open.
    #[boxed]
    pub async fn close_case(&self, case: i64) -> Result {
        let view = self.view().await?;
        let found = self.open_case(&view, case)?.clone();
        let history = self.case_history(&found).await?;
        let open: Vec<Id> =
            lines(&found, &history).into_iter().filter(|line| line.settled.is_none()).map(|line| line.piece).collect();
        if !open.is_empty() {
            let labels = self.labels_by_id(&open).await?;
            let values = [("entry", case.to_string()), ("pieces", compact(&labels))];
            return Err(Fault::new("lines-open", &values).into());
        }
        let frozen = format!("{:#}", self.show_case(case).await?.json);
        let aside = self.aside(&frozen, None);
        let event = Event::CaseClosed { case, frozen: Some(aside.private.clone()) };
        let mut line = Line::new(self.moment(None)?, record(Vec::new(), event));
        line.asides.push(aside);
        self.write(vec![line]).await?;
        self.show_case(case).await
    }

    /// Every incident or recall.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn list_cases(&self, recalls: bool) -> Result {
        let view = self.view().await?;
        let (mut rows, mut json) = (Vec::new(), Vec::new());
        for case in view.group.cases().filter(|case| matches!(case.kind, CaseKind::Recall(_)) == recalls) {
            let what = self.what(case, &view).await?;
            let closed = case.closed.map_or_else(|| texts::rack("open", &[]), |day| day.to_string());
            rows.push(vec![case.entry.to_string(), case.opened.to_string(), closed, what.clone()]);
            json.push(json!({ "case": case.entry, "opened": case.opened, "closed": case.closed, "what": what }));
        }
        let text = if rows.is_empty() { texts::rack("no-cases", &[]) + "\n" } else { columns(&rows) };
        Ok(Answer::cautioned(text, json!({ "cases": json })))
    }

    async fn what(&self, case: &Case, view: &View) -> Result<String> {
        match &case.kind {
            CaseKind::Incident(incident) => Ok(self.text_or_erased(&incident.what).await?),
            CaseKind::Recall(recall) => Ok(words::called_back(recall, view)),
        }
    }

    fn open_case<'v>(&self, view: &'v View, case: i64) -> std::result::Result<&'v Case, Fault> {
        let found = view.case(case)?;
        match found.closed {
            None => Ok(found),
            Some(day) => Err(Fault::new("case-closed", &[("entry", case.to_string()), ("day", day.to_string())])),
        }
    }

    /// An incident or a recall: what it is, its closure list, what was used with it and who had it.
    ///
    /// # Errors
    /// Where there is no such case.
    #[boxed]
    pub async fn show_case(&self, entry: i64) -> Result {
        let view = self.view().await?;
        let case = view.case(entry)?;
        let history = self.case_history(case).await?;
        let (rows, json) = self.closure(case, &history, &view).await?;
        let what = self.what(case, &view).await?;
        let closed = case
            .closed
            .map_or_else(|| texts::rack("open", &[]), |day| texts::rack("closed", &[("value", day.to_string())]));
        let values = [
            ("entry", entry.to_string()),
            ("what", what.clone()),
            ("day", case.opened.to_string()),
            ("closed", closed),
        ];
        let mut text = format!("{}\n{}", texts::rack("case", &values), columns(&rows));
        let with = self.used_together(case, &history).await?;
        if !with.is_empty() {
            text += &format!("{}\n", texts::rack("used-with", &[("pieces", compact(&with))]));
        }
        let frozen = self.closing_in(&history, entry).await?.and_then(|closing| closing.frozen);
        let is_recall = matches!(case.kind, CaseKind::Recall(_));
        let json = json!({
            "case": entry,
            "is_recall": is_recall,
            "what": what,
            "opened": case.opened,
            "closed": case.closed,
            "lines": json,
            "used_with": with,
            "frozen": frozen,
        });
        Ok(Answer::cautioned(text, json))
    }

    /// One row for each piece: how it meets, who has it, where, how it was settled.
    async fn closure(&self, case: &Case, history: &History, view: &View) -> Result<(Vec<Vec<String>>, Vec<Value>)> {
        let (mut rows, mut json) = (Vec::new(), Vec::new());
        let lines = lines(case, history);
        let found = self.rows(lines.iter().map(|line| line.piece)).await?;
        let folded = self.fold_all(&found, view).await?;
        let mut folded: BTreeMap<Id, _> =
            found.into_iter().zip(folded).map(|(row, folded)| (row.id, (row, folded))).collect();
        for line in lines {
            let Some((row, (piece, own))) = folded.remove(&line.piece) else { continue };
            let meets = meets(case, &piece, view);
            let held = held(&piece, &own, view);
            let settled = line.settled.as_ref();
            let how = settled.map_or_else(|| texts::rack("open", &[]), |settled| settled.outcome.clone());
            rows.push(vec![row.label.clone(), how, texts::state(row.standing), held.clone(), meets.clone()]);
            json.push(json!({
                "label": row.label,
                "is": view.told(&piece).in_short(),
                "outcome": settled.map(|settled| settled.outcome.clone()),
                "settled_by": settled.map(|settled| settled.entry),
                "settled_on": settled.map(|settled| settled.on),
                "standing": row.standing.code(),
                "held": held,
                "meets": meets,
            }));
        }
        Ok((rows, json))
    }

    async fn case_history(&self, case: &Case) -> Result<History> {
        let histories = self.store.histories(&case.about).await?;
        let mut all: BTreeMap<i64, Past> = histories.into_values().flatten().map(|past| (past.seq, past)).collect();
        let group = self.store.history(register::store::GROUP).await?;
        all.extend(group.into_iter().map(|past| (past.seq, past)));
        Ok(effective(all.into_values().collect()))
    }

    /// What was used together with the pieces of an incident on its day or before, and is not among them.
    async fn used_together(&self, case: &Case, history: &History) -> Result<Vec<String>> {
        if matches!(case.kind, CaseKind::Recall(_)) {
            return Ok(Vec::new());
        }
        let with = |id: &Id| used_with(*id, history, Date::MIN, case.opened).into_keys();
        let ids: BTreeSet<Id> = case.about.iter().flat_map(with).filter(|id| !case.about.contains(id)).collect();
        self.labels_by_id(&ids.into_iter().collect::<Vec<_>>()).await
    }

    /// How a case was closed; `None` while it is open.
    pub(super) async fn closing(&self, case: &Case) -> Result<Option<Closing>> {
        self.closing_in(&self.case_history(case).await?, case.entry).await
    }

    async fn closing_in(&self, history: &History, case: i64) -> Result<Option<Closing>> {
        for past in history.iter() {
            let Event::CaseClosed { case: closed, frozen } = &past.record.event else { continue };
            if *closed == case {
                let frozen = match frozen {
                    Some(frozen) => self.text(frozen).await?,
                    None => None,
                };
                return Ok(Some(Closing { entry: past.seq, on: past.happened.date, frozen }));
            }
        }
        Ok(None)
    }

    async fn labels_by_id(&self, ids: &[Id]) -> Result<Vec<String>> {
        Ok(self.rows(ids.iter().copied()).await?.into_iter().map(|row| row.label).collect())
    }

    async fn rows(&self, ids: impl Iterator<Item = Id>) -> Result<Vec<Summary>> {
        let ids: Vec<Id> = ids.collect();
        let mut rows = self.store.rows(&ids).await?;
        Ok(ids.iter().filter_map(|id| rows.remove(id)).collect())
    }
}

fn meets(case: &Case, piece: &Piece, view: &View) -> String {
    let CaseKind::Recall(recall) = &case.kind else { return String::new() };
    said_of(&matches(recall, piece, &view.group))
}

fn said_of(found: &Match) -> String {
    let criterion = |code: &&str| texts::rack(&format!("criterion-{code}"), &[]);
    match found {
        Match::Meets => texts::rack("meets", &[]),
        Match::NotExcluded(unknown) => {
            let unknown = unknown.iter().map(criterion).collect::<Vec<_>>().join(", ");
            texts::rack("cannot-be-excluded", &[("value", unknown)])
        }
        Match::Excluded(code) => texts::rack("excluded", &[("value", criterion(code))]),
    }
}

/// A recall with all that its model tells, where it names anything to tell pieces by.
fn with_criteria(mut recall: Recall, view: &View) -> std::result::Result<Recall, Fault> {
    // A model is of one kind: what is of another cannot be meant, however little is known of it.
    let of_model = || view.group.model(recall.model?)?.is.gear.clone();
    recall.gear = recall.gear.take().or_else(of_model);
    let bare = Recall { notice: recall.notice.clone(), ..Recall::default() };
    if recall == bare { Err(Fault::new("no-criteria", &[])) } else { Ok(recall) }
}

/// Who has it or had it last, and since when.
fn held(piece: &Piece, history: &History, view: &View) -> String {
    let holding = holdings(piece.id, history).pop().filter(|holding| holding.until.is_none());
    holding.map_or_else(String::new, |holding| {
        let who = holding.person.map(|person| view.name(&person)).or(holding.site).unwrap_or_default();
        texts::rack("held-since", &[("who", who), ("day", holding.from.to_string())])
    })
}
