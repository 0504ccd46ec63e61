//! What a piece may still do: a pure function of its log, the policy and a date.
//!
//! Each rule gives grounds: a state that it asks for, the day from which and the day up to which, and why. The gravest ground of
//! a day decides. So the standing does not depend on the order in which entries of one day were written, and the worst of
//! them counts.

mod case;
mod conditions;
mod happenings;
mod inspections;
mod restrictions;

use crate::group::Group;
use crate::history::History;
use crate::piece::Piece;
use case::Case;
use jiff::civil::Date;
use std::collections::BTreeSet;
use terms::{Reason, Source, coded};
use trade::rack::Then;

coded!(
    /// What a piece may still do, mildest first.
    State {
        /// In service.
        InService = "in-service",
        /// In service; look again sooner, or something is due.
        Watch = "watch",
        /// For some duties only.
        Restricted = "restricted",
        /// Not used yet.
        NotYetInService = "not-yet-in-service",
        /// Put aside until an inspection clears it.
        Quarantined = "quarantined",
        /// Out of service for good.
        Withdrawn = "withdrawn",
    }
);

impl State {
    /// What a consequence of the policy asks for; `None` for nothing.
    const fn of(then: Then) -> Option<Self> {
        match then {
            Then::Nothing => None,
            Then::Watch => Some(Self::Watch),
            Then::Quarantine => Some(Self::Quarantined),
            Then::Withdraw => Some(Self::Withdrawn),
        }
    }
}

/// What a piece may still do on a day, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// What it may still do.
    pub state: State,
    /// The only duties that it may still do, where a restriction holds; empty where none does.
    pub restricted_to: Vec<String>,
    /// Why: the gravest first. A reason that asks for [`State::InService`] is for information.
    pub reasons: Vec<Why>,
    /// The first later day on which reasons or next inspection are others, if nothing more is written.
    pub changes_on: Option<Date>,
    /// The day by which it is to be inspected.
    pub next_inspection: Option<Date>,
    /// Nobody knows where it is.
    pub is_lost: bool,
    /// It was made unusable.
    pub is_destroyed: bool,
}

impl Standing {
    /// Whether it may be used, for a duty that is named as restrictions name duties.
    #[must_use]
    pub fn allows(&self, duty: &str) -> bool {
        match self.state {
            State::InService | State::Watch => true,
            State::Restricted => self.restricted_to.iter().any(|allowed| allowed == duty),
            State::NotYetInService | State::Quarantined | State::Withdrawn => false,
        }
    }
}

/// One reason of a standing.
#[derive(Debug, Clone, PartialEq)]
pub struct Why {
    /// The state that it asks for.
    pub state: State,
    /// The reason: its code and values.
    pub reason: Reason,
    /// The entry that brought it about, where one did: the one that an inspection has to name.
    pub entry: Option<i64>,
    /// Where the rule comes from, where it is a rule with a source.
    pub source: Option<Source>,
}

/// A reason, and the days for which it holds.
#[derive(Debug, Clone, PartialEq)]
struct Ground {
    why: Why,
    from: Date,
    /// The first day for which it holds no more.
    until: Option<Date>,
}

impl Ground {
    const fn new(state: State, reason: Reason, from: Date) -> Self {
        let why = Why { state, reason, entry: None, source: None };
        Self { why, from, until: None }
    }

    fn by(mut self, entry: i64) -> Self {
        self.why.entry = Some(entry);
        self
    }

    fn sourced(mut self, source: Option<Source>) -> Self {
        self.why.source = source;
        self
    }

    /// Ends it, unless it is for good.
    fn until(mut self, until: Option<Date>) -> Self {
        self.until = until.filter(|_| self.why.state != State::Withdrawn);
        self
    }

    fn holds(&self, on: Date) -> bool {
        self.from <= on && self.until.is_none_or(|until| on < until)
    }
}

/// Every rule; each gives the grounds that the entries up to the day of the case are reason for.
const RULES: [fn(&Case<'_>) -> Vec<Ground>; 17] = [
    happenings::not_used_yet,
    happenings::ended,
    happenings::withdrawn,
    happenings::put_aside,
    happenings::incidents,
    happenings::recalls,
    happenings::drops,
    happenings::exposures,
    happenings::severe_falls,
    happenings::losses,
    inspections::remarks,
    inspections::not_counted,
    restrictions::restrictions,
    conditions::overdue,
    conditions::ages,
    conditions::grooves,
    conditions::other_limits,
];

/// What a piece may still do on a day; before it came in, as on the day that it did. `history` holds its entries, and those of the
/// pieces that it descends from; `piece` is that history folded up to the day.
#[must_use]
pub fn standing(piece: &Piece, history: &History, group: &Group, on: Date) -> Standing {
    let on = on.max(piece.entered);
    let case = Case::new(piece, history, group, on);
    let judgement = judge(&case);
    let written = history.iter().map(|past| past.happened.date);
    let days = written.chain(group.days()).chain(judgement.days.iter().copied()).filter(|day| *day > on).collect();
    let changes_on = change(&judgement, days, |day| {
        Piece::fold(piece.id, history, day).map(|piece| judge(&Case::new(&piece, history, group, day)))
    });
    Standing {
        state: judgement.reasons.iter().map(|why| why.state).max().unwrap_or(State::InService),
        restricted_to: restrictions::duties(&case),
        reasons: judgement.reasons,
        changes_on,
        next_inspection: judgement.next_inspection,
        is_lost: piece.lost.is_some(),
        is_destroyed: piece.destroyed.is_some(),
    }
}

/// What the rules say on a day.
struct Judgement {
    /// The gravest first.
    reasons: Vec<Why>,
    next_inspection: Option<Date>,
    /// The later days on which it may be another.
    days: Vec<Date>,
}

/// The first of these days on which the judgement is another. What a later entry brings about may change by itself later still.
fn change(now: &Judgement, mut days: BTreeSet<Date>, judge: impl Fn(Date) -> Option<Judgement>) -> Option<Date> {
    while let Some(day) = days.pop_first() {
        let then = judge(day)?;
        if (&then.reasons, then.next_inspection) != (&now.reasons, now.next_inspection) {
            return Some(day);
        }
        days.extend(then.days);
    }
    None
}

fn judge(case: &Case<'_>) -> Judgement {
    let grounds: Vec<_> = RULES.iter().flat_map(|rule| rule(case)).collect();
    let days = grounds.iter().flat_map(|ground| [Some(ground.from), ground.until]).flatten();
    let days = days.filter(|day| *day > case.on).collect();
    let mut reasons: Vec<_> =
        grounds.into_iter().filter(|ground| ground.holds(case.on)).map(|ground| ground.why).collect();
    let is_withdrawn = reasons.iter().any(|why| why.state == State::Withdrawn);
    // Nothing else matters of what is out of service for good.
    reasons.retain(|why| !is_withdrawn || why.state == State::Withdrawn);
    reasons.sort_by_key(|why| (std::cmp::Reverse(why.state), why.entry));
    let next_inspection = if is_withdrawn { None } else { conditions::next_inspection(case) };
    Judgement { reasons, next_inspection, days }
}
