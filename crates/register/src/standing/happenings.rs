//! What happened to a piece. Each is judged by the policy of its day.

use super::case::Case;
use super::{Ground, State};
use crate::event::{Event, Use};
use crate::group::CaseKind;
use crate::history::Past;
use crate::piece::found;
use crate::recall::{Match, NO_CRITERIA, matches};
use jiff::civil::Date;
use terms::Reason;
use trade::rack::Mishap;

pub(super) fn not_used_yet(case: &Case<'_>) -> Vec<Ground> {
    let until = case.piece.first_use.map(|(day, _)| day);
    vec![Ground::new(State::NotYetInService, Reason::NotUsedYet, case.piece.entered).until(until)]
}

/// Destroyed, divided, or scrap from the start.
pub(super) fn ended(case: &Case<'_>) -> Vec<Ground> {
    let ends = |entry: Option<i64>, reason| entry.map(|entry| (entry, reason));
    let piece = case.piece;
    [
        ends(piece.destroyed, Reason::MadeUnusable),
        ends(piece.divided, Reason::BecameSeveral),
        ends(Some(piece.id.seq()).filter(|_| piece.is_scrap), Reason::ScrapShare),
    ]
    .into_iter()
    .flatten()
    .map(|(entry, reason)| Ground::new(State::Withdrawn, reason, day_of(case, entry)).by(entry))
    .collect()
}

fn day_of(case: &Case<'_>, entry: i64) -> Date {
    case.entries.iter().find(|past| past.seq == entry).map_or(case.piece.entered, |past| past.happened.date)
}

pub(super) fn withdrawn(case: &Case<'_>) -> Vec<Ground> {
    each(case, |past| {
        let Event::Withdrawn { why } = &past.record.event else { return None };
        let why = why.clone();
        if case.has_right(past, "withdraw") {
            return Some(case.by_entry(past, State::Withdrawn, Reason::WithdrawnByEntry { why }));
        }
        Some(case.by_entry(past, State::Quarantined, Reason::WithdrawalWithoutRight { why }))
    })
}

pub(super) fn put_aside(case: &Case<'_>) -> Vec<Ground> {
    each(case, |past| {
        let Event::Quarantined { why, incident } = &past.record.event else { return None };
        Some(match incident {
            Some(incident) => evidence(case, past, *incident),
            None => case.by_entry(past, State::Quarantined, Reason::PutAside { why: why.clone() }),
        })
    })
}

pub(super) fn incidents(case: &Case<'_>) -> Vec<Ground> {
    each(case, |past| matches!(past.record.event, Event::IncidentOpened(_)).then(|| evidence(case, past, past.seq)))
}

/// Quarantined while the incident is open, and after that until an inspection names the entry.
fn evidence(case: &Case<'_>, past: &Past, incident: i64) -> Ground {
    let ground = Ground::new(State::Quarantined, Reason::EvidenceOfIncident { incident }, past.happened.date);
    let known = case.group.case(incident).filter(|known| matches!(known.kind, CaseKind::Incident(_)));
    let closed = known.map_or(Some(past.happened.date), |known| known.closed);
    match closed.filter(|day| *day <= case.on) {
        None => ground.by(past.seq).until(closed),
        Some(day) => {
            let reason = Reason::IncidentNotCleared { incident };
            Ground::new(State::Quarantined, reason, past.happened.date)
                .by(past.seq)
                .until(case.cleared(past, Some(day)))
        }
    }
}

/// Recalls that it meets or cannot be excluded from: until the recall, or its line for this piece, is settled, and an inspection
/// since then names it.
pub(super) fn recalls(case: &Case<'_>) -> Vec<Ground> {
    case.group.cases().filter(|known| known.opened <= case.on).filter_map(|known| recalled(case, known)).collect()
}

fn recalled(case: &Case<'_>, known: &crate::group::Case) -> Option<Ground> {
    let CaseKind::Recall(recall) = &known.kind else { return None };
    let notice = recall.notice.clone();
    let reason = match matches(recall, case.piece, case.group) {
        Match::Excluded(NO_CRITERIA) if known.about.contains(&case.piece.id) => Reason::CalledBack { notice },
        Match::Excluded(_) => return None,
        Match::Meets => Reason::CalledBack { notice },
        Match::NotExcluded(unknown) => Reason::RecallNotExcluded { notice, unknown: unknown.join(", ") },
    };
    let settled = case.entries.iter().filter_map(|past| match past.record.event {
        Event::Settled { case: settled, .. } if settled == known.entry => Some(past.happened.date),
        _ => None,
    });
    let settled = settled.chain(known.closed).filter(|day| *day <= case.on).min();
    let until = settled.and_then(|day| case.cleared_entry(known.entry, day.max(known.opened)));
    let reason = if settled.is_some() { Reason::RecallNotCleared { notice: recall.notice.clone() } } else { reason };
    Some(Ground::new(State::Quarantined, reason, known.opened.max(case.piece.entered)).by(known.entry).until(until))
}

pub(super) fn drops(case: &Case<'_>) -> Vec<Ground> {
    each(case, |past| {
        let Event::Dropped { height_mm, .. } = past.record.event else { return None };
        let height_m = height_mm.map(|height| height as f64 / 1000.0);
        let reason = height_m.map_or(Reason::FellDown, |height_m| Reason::FellFrom { height_m });
        mishap(case, past, Mishap::Drop, reason)
    })
}

pub(super) fn severe_falls(case: &Case<'_>) -> Vec<Ground> {
    each(case, |past| {
        let is_severe = |work: &Use| work.falls.iter().any(|fall| fall.severe);
        let severe = matches!(&past.record.event, Event::Used(work) if is_severe(work));
        severe.then(|| mishap(case, past, Mishap::SevereFall, Reason::HeldSevereFall)).flatten()
    })
}

/// Lost until it is found; and what the policy says of what was lost, until an inspection clears it.
pub(super) fn losses(case: &Case<'_>) -> Vec<Ground> {
    let lost = case.entries.iter().filter(|past| matches!(past.record.event, Event::Lost));
    let grounds = lost.flat_map(|past| {
        let is_lost = Ground::new(State::Quarantined, Reason::IsLost, past.happened.date).by(past.seq);
        let was_lost = mishap(case, past, Mishap::Lost, Reason::WasLost);
        [Some(is_lost.until(found(&case.entries, past))), was_lost]
    });
    grounds.flatten().collect()
}

fn mishap(case: &Case<'_>, past: &Past, mishap: Mishap, reason: Reason) -> Option<Ground> {
    let row = case.rack(past.happened.date).after(mishap, case.gear)?;
    case.ground(past, row.then, reason, row.source())
}

pub(super) fn exposures(case: &Case<'_>) -> Vec<Ground> {
    each(case, |past| {
        let Event::Exposed { to } = &past.record.event else { return None };
        let (then, source) = case.rack(past.happened.date).exposed(to, case.gear);
        case.ground(past, then, Reason::ExposedTo { what: to.clone() }, source)
    })
}

fn each(case: &Case<'_>, rule: impl Fn(&Past) -> Option<Ground>) -> Vec<Ground> {
    case.entries.iter().filter_map(|past| rule(past)).collect()
}
