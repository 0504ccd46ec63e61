//! What holds for any log.

mod logs;

use jiff::ToSpan;
use jiff::civil::Date;
use logs::*;
use proptest::prelude::*;
use register::event::{Correction, Dated, Description, Event, Grade, Incident, KitPart, Mark, Record, Share};
use register::history::{Past, concerns, effective, is_concerned};
use register::id::Id;
use register::moment::Moment;
use register::private::Private;
use register::standing::{Standing, State};
use std::sync::Arc;

/// A day of few, so that entries share days.
fn a_day() -> impl Strategy<Value = Date> {
    (0_i64..40).prop_map(|days| day("2026-01-01").checked_add((days * 9).days()).expect("a day"))
}

fn an_event() -> impl Strategy<Value = Event> {
    let grade = prop::sample::select(vec![Grade::Watch, Grade::Defect, Grade::NotLookedAt]);
    let remarks = prop::collection::vec(grade, 0..2);
    let duties = prop::sample::subsequence(vec!["top-rope-only", "demonstration-only"], 0..=2);
    let inspection = (prop::collection::vec(1_i64..12, 0..6), remarks).prop_map(|(clears, grades)| {
        inspected(&clears, &grades.into_iter().map(|grade| ("gate", grade)).collect::<Vec<_>>())
    });
    prop_oneof![
        4 => inspection,
        1 => Just(Event::FirstUse),
        1 => any::<bool>().prop_map(|severe| use_with(&[severe])),
        2 => Just(dropped()),
        1 => prop::sample::select(vec!["seawater", "fuel", "ghosts"]).prop_map(exposed),
        1 => Just(quarantined(None)),
        1 => duties.prop_map(|duties| restricted(&duties)),
        1 => (400_i64..1100).prop_map(|um| groove(um, Some((um - 100, um + 100)))),
        1 => Just(Event::Lost),
        1 => Just(Event::Found),
        1 => Just(withdrawn()),
        1 => Just(Event::IncidentOpened(Incident { what: Private::from_stored("0".repeat(64)), people: Vec::new() })),
        1 => (1_i64..12).prop_map(|case| Event::CaseClosed { case, frozen: None }),
        1 => prop::sample::select(vec![3_u32, 8]).prop_map(|years| Event::PolicySet {
            text: format!("[rack.life.sling.made]\nyears = {years}\nthen = \"withdraw\"\n[rack.interval.any]\nmonths = {years}"),
        }),
        1 => (prop::sample::select(vec!["anna", "ben"]), prop::sample::select(vec!["inspect", "withdraw"]), a_day())
            .prop_map(|(who, right, until)| Event::RightSet { person: person(who), right: right.to_owned(), until }),
    ]
}

/// A piece, and up to ten things that happen after it came onto the rack.
fn a_log() -> impl Strategy<Value = Log> {
    let gear = prop::sample::select(vec!["connector", "sling", "draw"]);
    let writer = prop::sample::select(vec!["anna", "ben"]);
    (gear, prop::collection::vec((a_day(), writer, an_event()), 0..11)).prop_map(|(gear, rows)| {
        let made = Some(Dated::Day(day("2022-06-01")));
        let mut log = rack("2026-01-01", Description { made, ..is(gear) });
        for (on, writer, event) in rows {
            log.about(&on.to_string(), writer, vec![the_piece()], event);
        }
        log
    })
}

/// Two that differ in the numbers of entries only are alike.
fn alike(standing: &Standing) -> (State, Vec<String>, Vec<String>, Option<Date>, Option<Date>, bool) {
    let mut reasons: Vec<_> =
        standing.reasons.iter().map(|why| format!("{:?} {} {:?}", why.state, why.reason.code(), values(why))).collect();
    reasons.sort();
    let Standing { state, restricted_to, changes_on, next_inspection, is_lost, .. } = standing.clone();
    (state, restricted_to, reasons, changes_on, next_inspection, is_lost)
}

fn values(why: &register::standing::Why) -> Vec<(&'static str, String)> {
    why.reason.values().into_iter().filter(|(name, _)| *name != "incident").collect()
}

/// The same log, its entries written in another order: the first stays, and what names an entry names it by its new number.
fn renumbered(log: &Log, order: &[usize]) -> Log {
    let new = |seq: i64| match order.iter().position(|old| *old as i64 + 2 == seq) {
        Some(place) => place as i64 + 2,
        None => seq,
    };
    let mut entries: Vec<Past> = log.0.clone();
    for past in &mut entries {
        past.seq = new(past.seq);
        past.written_ms = past.seq;
        match &mut Arc::make_mut(&mut past.record).event {
            Event::Inspected(inspection) => inspection.clears.iter_mut().for_each(|seq| *seq = new(*seq)),
            Event::CaseClosed { case, .. } => *case = new(*case),
            _ => {}
        }
    }
    entries.sort_by_key(|past| past.seq);
    Log(entries)
}

fn with(log: &Log, record: Record, happened: Date) -> Log {
    let mut log = log.clone();
    let seq = log.0.len() as i64 + 1;
    let happened = Moment::on(happened);
    log.0.push(Past { seq, happened, written_ms: seq, writer: person("anna"), record: record.into() });
    log
}

fn correcting(log: &Log, entry: i64, with_event: Option<Event>) -> Log {
    let record = |event| Record { about: vec![the_piece()], by_kit: None, note: None, photos: Vec::new(), event };
    let correction = |event| Box::new(Correction { happened: Moment::on(day("2026-03-01")), record: record(event) });
    with(log, record(Event::Corrected { entry, with: with_event.map(correction) }), day("2027-01-01"))
}

/// Policies of one day are the one thing where the later written holds.
fn has_policies_of_one_day(log: &Log) -> bool {
    let policies = log.0.iter().filter(|past| matches!(past.record.event, Event::PolicySet { .. }));
    let mut days: Vec<_> = policies.map(|past| past.happened.date).collect();
    let count = days.len();
    days.sort_unstable();
    days.dedup();
    days.len() < count
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(1000) })]

    #[test]
    fn the_order_of_writing_does_not_matter(log in a_log(), on in a_day(), seed in any::<u64>()) {
        prop_assume!(!has_policies_of_one_day(&log));
        let count = log.0.len() - 1;
        let mut order: Vec<usize> = (0..count).collect();
        order.sort_by_key(|place| (*place as u64 + 1).wrapping_mul(seed | 1));
        let other = renumbered(&log, &order);
        let (here, there) = (log.standing_of(the_piece(), on), other.standing_of(the_piece(), on));
        prop_assert_eq!(alike(&here), alike(&there));
    }

    #[test]
    fn a_correction_of_a_correction_restores_exactly(log in a_log(), at in any::<prop::sample::Index>(), event in an_event(), strike in any::<bool>()) {
        let entry = at.index(log.0.len()) as i64 + 1;
        let wrong = correcting(&log, entry, (!strike).then_some(event));
        let restored = correcting(&wrong, wrong.0.len() as i64, None);
        prop_assert_eq!(effective(restored.0.clone()), effective(log.0.clone()));
        let again = correcting(&restored, restored.0.len() as i64, None);
        prop_assert_eq!(effective(again.0), effective(wrong.0));
    }

    #[test]
    fn an_entry_that_is_struck_never_happened(log in a_log(), on in a_day(), event in an_event(), happened in a_day()) {
        let record = Record { about: vec![the_piece()], by_kit: None, note: None, photos: Vec::new(), event };
        let more = with(&log, record, happened);
        let struck = correcting(&more, more.0.len() as i64, None);
        prop_assert_eq!(effective(struck.0.clone()), effective(log.0.clone()));
        prop_assert_eq!(struck.standing_of(the_piece(), on), log.standing_of(the_piece(), on));
    }

    #[test]
    fn withdrawn_is_final(log in a_log(), on in a_day(), days in 1_i64..400) {
        if log.standing_of(the_piece(), on).state == State::Withdrawn {
            let later = on.checked_add(days.days()).expect("a day");
            prop_assert_eq!(log.standing_of(the_piece(), later).state, State::Withdrawn);
        }
    }

    #[test]
    fn between_the_days_of_change_nothing_changes(log in a_log(), on in a_day()) {
        let at = |day: Date| {
            let standing = log.standing_of(the_piece(), day);
            (standing.reasons, standing.next_inspection)
        };
        let (now, change) = (at(on), log.standing_of(the_piece(), on).changes_on);
        let end = change.unwrap_or_else(|| on.checked_add(2000.days()).expect("a day"));
        for step in [1_i64, 2, 5, 17, 60, 200, 364, 365, 366, 700, 1500] {
            let later = on.checked_add(step.days()).expect("a day");
            if later < end {
                prop_assert_eq!(&at(later), &now);
            }
        }
        if let Some(change) = change {
            prop_assert!(on < change);
            prop_assert_eq!(&at(change.yesterday().expect("a day")), &now);
            prop_assert_ne!(&at(change), &now);
        }
    }

    #[test]
    fn nothing_clears_an_entry_that_is_not_named(log in a_log(), on in a_day(), drop in any::<bool>(), happened in a_day()) {
        let Event::Entered(entered) = &log.0[0].record.event else { unreachable!("a log begins with its piece") };
        // A sling takes no harm from a drop.
        let event = if drop && entered.is.gear.as_deref() != Some("sling") { dropped() } else { quarantined(None) };
        let (happened, on) = (happened.min(on), happened.max(on));
        let record = Record { about: vec![the_piece()], by_kit: None, note: None, photos: Vec::new(), event };
        let mut log = with(&log, record, happened);
        let unnamed = log.0.len() as i64;
        for past in &mut log.0 {
            if let Event::Inspected(inspection) = &mut Arc::make_mut(&mut past.record).event {
                inspection.clears.retain(|seq| *seq != unnamed);
            }
        }
        let others: Vec<i64> = (1..unnamed).collect();
        log.by(&on.to_string(), "anna", inspected(&others, &[]));
        prop_assert!(log.standing_of(the_piece(), on.tomorrow().expect("a day")).state >= State::Quarantined);
    }
}

#[test]
fn what_is_concerned_is_what_concerns_gives() {
    let id = |seq, place| Id::new(seq, place).expect("a name");
    let part = |piece| KitPart { piece, count: 1 };
    let mark = Mark { label: "R-1".to_owned(), serial: None };
    let share = Share { mark, is: Description::default(), scrap: false };
    let events = [
        Event::Lost,
        Event::Divided { into: vec![share.clone(), share] },
        Event::PartReplaced { part: "sling".to_owned(), old: Some(id(2, 0)), new: Some(id(2, 1)), made: None },
        Event::KitSet { kit: None, label: "K".to_owned(), contents: vec![part(id(1, 2))] },
        Event::KitSet { kit: Some(id(3, 0)), label: "K".to_owned(), contents: vec![part(id(1, 3))] },
        Event::KitIssued { kit: id(3, 1), to: None, due: None },
        Event::KitReturned { kit: id(3, 2), short: vec![part(id(2, 2))], wet: vec![id(2, 3)] },
    ];
    for event in events {
        let record = Record { about: vec![id(1, 0)], by_kit: Some(id(1, 1)), note: None, photos: vec![], event };
        let with = Correction { happened: Moment::on(day("2026-01-01")), record: record.clone() };
        let event = Event::Corrected { entry: 4, with: Some(Box::new(with)) };
        let corrected = Record { about: vec![], by_kit: None, event, ..record.clone() };
        for (seq, record) in [(4, record), (5, corrected)] {
            let all = concerns(seq, &record);
            let things = (1..6).flat_map(|seq| (0..5).map(move |place| id(seq, place)));
            let told: Vec<Id> = things.filter(|thing| is_concerned(*thing, seq, &record)).collect();
            assert_eq!(told, all, "{:?}", record.event);
        }
    }
}
