//! What holds for the whole rack: policies and rights by date, models, incidents and recalls.

use crate::event::{Event, Incident, Model, Recall};
use crate::history::{History, Past};
use crate::id::{Id, PersonId};
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::sync::LazyLock;
use trade::gear::Gear;
use trade::policy::{Policy, PolicyError};

/// The right to keep the rack: its pieces, kits, recalls, people and policy.
pub const KEEP: &str = "keep";
/// What somebody may be given the right to. Only the first two may be given for a kind of gear, `inspect:rope`.
pub const RIGHTS: [&str; 5] = ["inspect", "withdraw", "policy", "log", KEEP];

/// Whether a text names a right, and the kind of gear behind it one that there is.
#[must_use]
pub fn is_right(text: &str) -> bool {
    match text.split_once(':') {
        None => RIGHTS.contains(&text),
        Some((right, kind)) => RIGHTS[..2].contains(&right) && Gear::from_code(kind).is_some(),
    }
}

/// What holds for the whole rack. `Group::default()` has the built-in policy and asks for no rights.
#[derive(Debug, Clone, Default)]
pub struct Group {
    policies: Vec<Dated<Set>>,
    rights: Vec<Dated<Right>>,
    models: BTreeMap<Id, Model>,
    cases: BTreeMap<i64, Case>,
    /// Policies in the log that cannot be read, by entry: the one before each stays in force.
    pub faults: BTreeMap<i64, PolicyError>,
}

#[derive(Debug, Clone)]
struct Dated<T> {
    from: Date,
    is: T,
}

/// A policy, and the entry that set it.
#[derive(Debug, Clone)]
struct Set {
    entry: i64,
    policy: Policy,
}

#[derive(Debug, Clone)]
struct Right {
    person: PersonId,
    right: String,
    until: Date,
}

/// An incident or a recall.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// The entry that opened it.
    pub entry: i64,
    /// The day it was opened.
    pub opened: Date,
    /// The day it was closed.
    pub closed: Option<Date>,
    /// What it is.
    pub kind: CaseKind,
    /// The pieces that it was opened about.
    pub about: Vec<Id>,
}

/// What a case is.
#[derive(Debug, Clone, PartialEq)]
pub enum CaseKind {
    /// An incident.
    Incident(Incident),
    /// A recall.
    Recall(Recall),
}

static BUILT_IN: LazyLock<Policy> = LazyLock::new(Policy::default);

impl Group {
    /// Folds the entries that concern the whole rack; others among them are passed over.
    #[must_use]
    pub fn fold(history: &History) -> Self {
        let mut group = Self::default();
        // Rights first: whether a policy counts does not depend on which was written first on its day.
        for step in [Self::take_right, Self::take, Self::close] {
            history.iter().for_each(|past| step(&mut group, past));
        }
        group
    }

    /// Whether an entry of this kind belongs to what [`Group::fold`] folds. A correction of such an entry does too.
    #[must_use]
    pub const fn concerns(event: &Event) -> bool {
        matches!(
            event,
            Event::PolicySet { .. }
                | Event::RightSet { .. }
                | Event::ModelEntered(_)
                | Event::ModelDescribed { .. }
                | Event::IncidentOpened(_)
                | Event::RecallOpened(_)
                | Event::CaseClosed { .. }
        )
    }

    /// The policy in force on a day: the last set up to that day.
    #[must_use]
    pub fn policy(&self, on: Date) -> &Policy {
        self.policies.iter().rev().find(|policy| policy.from <= on).map_or(&*BUILT_IN, |policy| &policy.is.policy)
    }

    /// The entries whose policies came into force up to a day, the one that holds then last.
    pub fn policies(&self, on: Date) -> impl Iterator<Item = i64> {
        self.policies.iter().filter(move |policy| policy.from <= on).map(|policy| policy.is.entry)
    }

    /// What a person was given up to a day: each right with its last day, which may be past.
    #[must_use]
    pub fn rights(&self, person: &PersonId, on: Date) -> BTreeMap<&str, Date> {
        let mut latest: BTreeMap<&str, (Date, Date)> = BTreeMap::new();
        for row in self.rights.iter().filter(|row| row.from <= on && row.is.person == *person) {
            // Of what was set on one day, the least counts.
            let last = latest.entry(&row.is.right).or_insert((row.from, row.is.until));
            *last = if last.0 == row.from { (row.from, last.1.min(row.is.until)) } else { (row.from, row.is.until) };
        }
        latest.into_iter().map(|(right, (_, until))| (right, until)).collect()
    }

    /// The days on which anything changes that standings go by.
    pub fn days(&self) -> impl Iterator<Item = Date> {
        let cases = self.cases.values().flat_map(|case| [Some(case.opened), case.closed]).flatten();
        self.policy_days().chain(self.rights.iter().map(|right| right.from)).chain(cases)
    }

    /// The days on which another policy comes into force.
    pub fn policy_days(&self) -> impl Iterator<Item = Date> {
        self.policies.iter().map(|policy| policy.from)
    }

    /// Whether a person has a right for a kind of gear on a day. Where nobody was ever given it by then, everybody has it.
    #[must_use]
    pub fn has_right(&self, person: &PersonId, right: &str, gear: Option<&str>, on: Date) -> bool {
        self.is_free(right, on) || self.was_given(person, right, gear, on)
    }

    /// Whether nobody was ever given a right by a day: then it is everybody's.
    #[must_use]
    pub fn is_free(&self, right: &str, on: Date) -> bool {
        !self.rights.iter().any(|row| row.from <= on && row.is.is_about(right))
    }

    /// Whether a person was given a right for a kind of gear, and has it on a day. Of what was set on one day, the least counts.
    #[must_use]
    pub fn was_given(&self, person: &PersonId, right: &str, gear: Option<&str>, on: Date) -> bool {
        self.rights(person, on).into_iter().any(|(given, until)| covers(given, right, gear) && on <= until)
    }

    /// What is known of a model.
    #[must_use]
    pub fn model(&self, id: Id) -> Option<&Model> {
        self.models.get(&id)
    }

    /// Every model that is known.
    pub fn models(&self) -> impl Iterator<Item = (Id, &Model)> {
        self.models.iter().map(|(id, model)| (*id, model))
    }

    /// The incident or recall that an entry opened.
    #[must_use]
    pub fn case(&self, entry: i64) -> Option<&Case> {
        self.cases.get(&entry)
    }

    /// Every incident and recall, by the entry that opened it.
    pub fn cases(&self) -> impl Iterator<Item = &Case> {
        self.cases.values()
    }

    fn take_right(&mut self, past: &Past) {
        if let Event::RightSet { person, right, until } = &past.record.event {
            let is = Right { person: person.clone(), right: right.clone(), until: *until };
            self.rights.push(Dated { from: past.happened.date, is });
        }
    }

    fn take(&mut self, past: &Past) {
        match &past.record.event {
            Event::PolicySet { text } => self.set_policy(past, text),
            Event::ModelEntered(model) => {
                self.models.extend(Id::new(past.seq, 0).map(|id| (id, model.clone())));
            }
            Event::ModelDescribed { model, is } => {
                self.models.insert(*model, is.clone());
            }
            Event::IncidentOpened(incident) => self.open(past, CaseKind::Incident(incident.clone())),
            Event::RecallOpened(recall) => self.open(past, CaseKind::Recall(recall.clone())),
            _ => {}
        }
    }

    fn set_policy(&mut self, past: &Past, text: &str) {
        if !self.has_right(&past.writer, "policy", None, past.happened.date) {
            return;
        }
        match Policy::parse(text) {
            Ok(policy) => {
                self.policies.push(Dated { from: past.happened.date, is: Set { entry: past.seq, policy } });
            }
            Err(fault) => {
                self.faults.insert(past.seq, fault);
            }
        }
    }

    fn open(&mut self, past: &Past, kind: CaseKind) {
        let (opened, about) = (past.happened.date, past.record.about.clone());
        self.cases.insert(past.seq, Case { entry: past.seq, opened, closed: None, kind, about });
    }

    fn close(&mut self, past: &Past) {
        if let Event::CaseClosed { case, .. } = &past.record.event
            && let Some(case) = self.cases.get_mut(case)
        {
            let day = past.happened.date.max(case.opened);
            case.closed = Some(case.closed.map_or(day, |closed| closed.max(day)));
        }
    }
}

impl Right {
    fn is_about(&self, right: &str) -> bool {
        self.right.split(':').next() == Some(right)
    }
}

/// Whether a right that was given is one for a kind of gear.
fn covers(given: &str, right: &str, gear: Option<&str>) -> bool {
    match given.split_once(':') {
        None => given == right,
        Some((name, kind)) => name == right && gear == Some(kind),
    }
}
