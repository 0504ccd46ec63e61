//! What comes about by itself as time passes, or by what was measured: intervals, ages, grooves, the maker's limits.

use super::case::{Case, after_months};
use super::{Ground, State};
use crate::event::{Event, MakersLimits, Reading};
use crate::history::Past;
use jiff::civil::Date;
use terms::{Reason, Source};
use trade::gear::Gear;
use trade::rack::{AgeFrom, Body, Depth, Mishap, Rack, Then, Whose};

/// A day by which a piece is to be inspected.
struct Due {
    on: Date,
    whose: Whose,
    reason: Reason,
    source: Option<Source>,
}

/// The day by which it is to be inspected; `None` while it is not in use and was never inspected.
pub(super) fn next_inspection(case: &Case<'_>) -> Option<Date> {
    dues(case).into_iter().map(|due| due.on).min()
}

pub(super) fn overdue(case: &Case<'_>) -> Vec<Ground> {
    let ground = |due: Due| {
        let state = State::of(case.rack(case.on).overdue(due.whose)?.then)?;
        Some(Ground::new(state, due.reason, due.on.tomorrow().ok()?).sourced(due.source))
    };
    dues(case).into_iter().filter_map(ground).collect()
}

fn dues(case: &Case<'_>) -> Vec<Due> {
    let rack = case.rack(case.on);
    let Some(last) = last_inspection(case, rack) else { return Vec::new() };
    let by_regimes = rack.regimes_for(case.gear).map(|regime| {
        let (on, months) = (after_months(last, regime.months), regime.months as usize);
        let reason = Reason::RegimeInspectionOverdue { regime: regime.code.clone(), due: on.to_string(), months };
        Due { on, whose: Whose::Regime, reason, source: Some(regime.source()) }
    });
    let by_maker = limits(case).inspect_every_months.map(|months| {
        let on = after_months(last, months);
        let reason = Reason::MakersInspectionOverdue { due: on.to_string(), months: months as usize };
        Due { on, whose: Whose::Maker, reason, source: rack.makers_limit.source() }
    });
    let by_own_rule = rack.interval(case.gear).map(|row| {
        let on = after_months(last, row.months);
        let reason = Reason::InspectionOverdue { due: on.to_string(), months: row.months as usize };
        Due { on, whose: Whose::Own, reason, source: row.source() }
    });
    by_regimes.chain(by_maker).chain(by_own_rule).chain(after_watch(case, rack, last)).collect()
}

/// The last inspection that counts, or else the first use.
fn last_inspection(case: &Case<'_>, rack: &Rack) -> Option<Date> {
    let counts = |occasion: &str| rack.counts.occasions.iter().any(|counted| counted.code() == occasion);
    let held = case.inspections.iter().filter(|held| held.counts() && counts(&held.is.occasion));
    held.map(|held| held.past.happened.date).max().or(case.piece.first_use.map(|(day, _)| day))
}

fn after_watch(case: &Case<'_>, rack: &Rack, last: Date) -> Option<Due> {
    let watched = super::inspections::remarks(case);
    let watched = watched.iter().filter(|ground| ground.why.state == State::Watch && ground.holds(case.on));
    let on = after_months(watched.map(|ground| ground.from).min()?.max(last), rack.after_watch.months);
    let reason = Reason::WatchOverdue { due: on.to_string() };
    Some(Due { on, whose: Whose::Own, reason, source: rack.after_watch.source() })
}

/// Ages by the policy, watched from the least that anybody says on; and by the maker.
pub(super) fn ages(case: &Case<'_>) -> Vec<Ground> {
    AgeFrom::ALL.iter().flat_map(|from| aged(case, *from)).collect()
}

fn aged(case: &Case<'_>, from: AgeFrom) -> Vec<Ground> {
    let Some(since) = since(case, from) else { return Vec::new() };
    let makers = makers_age(case, from).map(|months| {
        let reason = Reason::MakersAgePassed { from: from.code(), since: since.to_string(), months: months as usize };
        (after_months(since, months), reason)
    });
    let by_policy = lasting(case, |rack| {
        let life = rack.life(case.gear, from)?;
        let years = life.years[1];
        let reason = Reason::TooOld { from: from.code(), since: since.to_string(), years: years as usize };
        Some((after_months(since, years * 12), life.then, reason, life.source()))
    });
    let by_maker = lasting(case, |rack| {
        let (day, reason) = makers.clone()?;
        Some((day, rack.makers_limit.then, reason, rack.makers_limit.source()))
    });
    by_policy.into_iter().chain(by_maker).chain(disputed(case, from, since)).collect()
}

fn disputed(case: &Case<'_>, from: AgeFrom, since: Date) -> Option<Ground> {
    let life = case.rack(case.on).life(case.gear, from).filter(|life| life.is_range())?;
    let [least, most] = life.years;
    let (first, last) = (after_months(since, least * 12), after_months(since, most * 12));
    let (least, most) = (least as usize, most as usize);
    let reason = Reason::AgeDisputed { from: from.code(), since: since.to_string(), least, most };
    Some(Ground::new(State::Watch, reason, first).sourced(life.source()).until(Some(last)))
}

/// The day from which an age counts; the earliest that it may be. Where a sling can be replaced, it is the sling's.
fn since(case: &Case<'_>, from: AgeFrom) -> Option<Date> {
    let is_composed = case.gear.map(Gear::body) == Some(Body::Composed);
    let sling = case.piece.parts.get(SLING).filter(|_| is_composed);
    match (from, sling) {
        (AgeFrom::Made, None) => case.is.made.map(|made| made.earliest()),
        (AgeFrom::Made, Some(sling)) => sling.made.map(|made| made.earliest()),
        (AgeFrom::FirstUse, None) => case.piece.first_use.map(|(day, _)| day),
        (AgeFrom::FirstUse, Some(sling)) => Some(sling.since),
    }
}

/// The part of a composed piece that ages.
const SLING: &str = "sling";

fn makers_age(case: &Case<'_>, from: AgeFrom) -> Option<u32> {
    let limits = limits(case);
    match from {
        AgeFrom::Made => limits.months_from_made,
        AgeFrom::FirstUse => limits.months_from_first_use,
    }
}

fn limits(case: &Case<'_>) -> MakersLimits {
    case.is.model.and_then(|model| case.group.model(model)).map(|model| model.limits.clone()).unwrap_or_default()
}

/// When a rule takes hold, what follows, and why.
type Rule = (Date, Then, Reason, Option<Source>);

/// The grounds of a rule that takes hold by itself. The policy in force decides; but what an earlier one withdrew, while it was in
/// force, stays withdrawn.
fn lasting(case: &Case<'_>, rule: impl Fn(&Rack) -> Option<Rule>) -> Vec<Ground> {
    let entered = case.piece.entered;
    let changes = case.group.policy_days().filter(|day| entered < *day && *day <= case.on);
    let starts: Vec<_> = [entered].into_iter().chain(changes).collect();
    let mut grounds = Vec::new();
    for (place, start) in starts.iter().enumerate() {
        let Some((day, then, reason, source)) = rule(case.rack(*start)) else { continue };
        let from = day.max(*start);
        let end = starts.get(place + 1);
        let is_reached = end.is_none_or(|end| then == Then::Withdraw && from < *end);
        if let Some(state) = State::of(then).filter(|_| is_reached) {
            grounds.push(Ground::new(state, reason, from).sourced(source));
        }
    }
    grounds
}

/// Grooves as measured: past the limit, perhaps past it, or close to it on the last day of measuring.
pub(super) fn grooves(case: &Case<'_>) -> Vec<Ground> {
    case.entries.iter().filter_map(|past| Some((*past, groove(past)?))).flat_map(|row| worn(case, row)).collect()
}

fn groove(past: &Past) -> Option<&Reading> {
    match &past.record.event {
        Event::Measured(reading) if reading.what == GROOVE => Some(reading),
        _ => None,
    }
}

/// What a depth of wear is called in the log.
const GROOVE: &str = "groove";

fn worn(case: &Case<'_>, (past, reading): (&Past, &Reading)) -> Vec<Ground> {
    let rack = case.rack(past.happened.date);
    let (least, most) = reading.interval.unwrap_or((reading.value, reading.value));
    let at_most_mm = mm(most);
    let limit = rack.groove(case.gear, Depth::Limit).and_then(|row| {
        let limit_mm = mm(i64::from(row.um));
        let is_past = least >= i64::from(row.um);
        let (then, reason) = match is_past {
            true => (row.then, Reason::GrooveTooDeep { depth_mm: mm(reading.value), limit_mm }),
            false => (row.then.min(Then::Quarantine), Reason::GrooveMayBeTooDeep { at_most_mm, limit_mm }),
        };
        (most >= i64::from(row.um)).then(|| case.ground(past, then, reason, row.source())).flatten()
    });
    let maker = limits(case).groove_um.filter(|um| most >= i64::from(*um)).and_then(|um| {
        let row = &rack.makers_limit;
        let then = if least >= i64::from(um) { row.then } else { row.then.min(Then::Quarantine) };
        let reason = Reason::MakersGroovePassed { at_most_mm, limit_mm: mm(i64::from(um)) };
        case.ground(past, then, reason, row.source())
    });
    let near = near(case, past, most).filter(|_| limit.is_none());
    [limit, maker, near].into_iter().flatten().collect()
}

/// Close to the limit when it was measured last; there is no need to clear it, a later measurement tells anew.
fn near(case: &Case<'_>, past: &Past, most: i64) -> Option<Ground> {
    let (day, _) = case.piece.readings.get(GROOVE)?;
    let row = case.rack(past.happened.date).groove(case.gear, Depth::Near)?;
    let is_near = *day == past.happened.date && most >= i64::from(row.um);
    let reason = Reason::GrooveNearLimit { at_most_mm: mm(most), near_mm: mm(i64::from(row.um)) };
    is_near.then(|| case.ground(past, row.then, reason, row.source())).flatten()
}

fn mm(um: i64) -> f64 {
    um as f64 / 1000.0
}

/// Falls by the maker's limit, a marking that tells no strength, no inspection before the first use.
pub(super) fn other_limits(case: &Case<'_>) -> Vec<Ground> {
    [falls(case), unreadable(case), not_inspected(case)].into_iter().flatten().collect()
}

fn falls(case: &Case<'_>) -> Vec<Ground> {
    let Some(limit) = limits(case).falls.map(|limit| limit as usize) else { return Vec::new() };
    let falls = case.entries.iter().flat_map(|past| match &past.record.event {
        Event::Used(work) => vec![past.happened.date; work.falls.len()],
        _ => Vec::new(),
    });
    let days: Vec<_> = falls.collect();
    let Some(day) = days.get(limit.saturating_sub(1)) else { return Vec::new() };
    let reason = Reason::MakersFallsReached { falls: days.len(), limit };
    lasting(case, |rack| Some((*day, rack.makers_limit.then, reason.clone(), rack.makers_limit.source())))
}

fn unreadable(case: &Case<'_>) -> Vec<Ground> {
    let is_legible = |marking: &String| trade::marking::read(marking).has_legible_strength();
    if case.gear != Some(Gear::Connector) || case.is.marking.as_ref().is_none_or(is_legible) {
        return Vec::new();
    }
    lasting(case, |rack| {
        let row = rack.after(Mishap::Unreadable, case.gear)?;
        Some((case.piece.entered, row.then, Reason::MarkingUnreadable, row.source()))
    })
}

fn not_inspected(case: &Case<'_>) -> Vec<Ground> {
    let row = &case.rack(case.on).no_first_inspection;
    let Some((state, (first, _))) = State::of(row.then).zip(case.piece.first_use) else { return Vec::new() };
    let held = case.inspections.iter().filter(|held| held.counts()).map(|held| held.past.happened.date).min();
    let ground = Ground::new(state, Reason::NotInspectedBeforeUse, first).sourced(row.source());
    vec![ground.until(held.map(|held| held.max(first)))]
}
