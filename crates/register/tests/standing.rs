//! What a piece may still do, over time.

mod logs;

use logs::*;
use register::event::{
    Correction, Dated, Description, Event, Grade, Incident, KitPart, MakersLimits, Model, Recall, Share,
};
use register::history::effective;
use register::id::Id;
use register::moment::Moment;
use register::private::Private;

#[test]
fn only_an_inspection_that_names_the_entries_clears_them() {
    let mut log = used("connector");
    let (drop, aside) = (log.add("2026-02-01", dropped()), log.add("2026-02-02", quarantined(None)));
    log.add("2026-02-10", inspected(&[drop], &[]));
    assert_eq!(log.codes("2026-02-10"), ["put-aside"]);
    log.add("2026-02-11", inspected(&[aside], &[("gate", Grade::Defect)]));
    assert_eq!(log.codes("2026-02-12"), ["put-aside", "defect-found"]);
    log.add("2026-02-20", inspected(&[aside, 6], &[]));
    assert_eq!((log.state("2026-02-19"), log.state("2026-02-20")), ("quarantined", "in-service"));
}

#[test]
fn on_one_day_the_worst_counts_and_the_next_day_it_is_cleared() {
    let mut log = used("connector");
    let drop = log.add("2026-02-01", dropped());
    log.add("2026-02-01", inspected(&[drop], &[]));
    let standing = log.standing("2026-02-01");
    assert_eq!((standing.state.code(), standing.changes_on), ("quarantined", Some(day("2026-02-02"))));
    assert_eq!(log.state("2026-02-02"), "in-service");
}

#[test]
fn an_inspection_from_before_the_event_clears_nothing() {
    let mut log = used("connector");
    let drop = log.add("2026-02-01", dropped());
    log.add("2026-01-31", inspected(&[drop], &[]));
    assert_eq!(log.state("2026-03-01"), "quarantined");
}

#[test]
fn an_inspection_that_left_points_out_clears_nothing() {
    let mut log = used("connector");
    let drop = log.add("2026-02-01", dropped());
    log.add("2026-02-10", inspected(&[drop], &[("hinge", Grade::NotLookedAt)]));
    assert_eq!(log.state("2026-03-01"), "quarantined");
}

#[test]
fn only_who_has_the_right_on_that_day_clears() {
    let mut log = used("connector");
    log.right("2026-01-01", "ben", "inspect:connector", "2026-02-10");
    let drop = log.add("2026-02-01", dropped());
    let mut expired = log.clone();
    log.by("2026-02-10", "ben", inspected(&[drop], &[]));
    assert_eq!(log.state("2026-02-10"), "in-service");
    expired.by("2026-02-11", "ben", inspected(&[drop], &[]));
    assert_eq!(expired.codes("2026-02-12"), ["fell-from", "inspection-without-right"]);
    let mut other = used("rope");
    other.right("2026-01-01", "ben", "inspect:connector", "2026-02-10");
    let aside = other.add("2026-02-01", quarantined(None));
    other.by("2026-02-05", "ben", inspected(&[aside], &[]));
    assert_eq!(other.state("2026-02-06"), "quarantined");
}

#[test]
fn of_rights_set_on_one_day_the_least_counts() {
    let mut log = used("connector");
    log.right("2026-01-01", "ben", "inspect", "2026-12-31");
    log.right("2026-01-01", "ben", "inspect", "2025-12-31");
    let drop = log.add("2026-02-01", dropped());
    log.by("2026-02-10", "ben", inspected(&[drop], &[]));
    assert_eq!(log.state("2026-02-11"), "quarantined");
}

#[test]
fn pieces_under_an_open_incident_stay() {
    let mut log = used("rope");
    let what = Private::from_stored("0".repeat(64));
    let case = log.add("2026-02-01", Event::IncidentOpened(Incident { what, people: Vec::new() }));
    log.add("2026-02-02", inspected(&[case], &[]));
    assert_eq!(log.codes("2026-02-03"), ["evidence-of-incident"]);
    log.general("2026-02-10", Event::CaseClosed { case, frozen: None });
    assert_eq!(log.codes("2026-02-10"), ["incident-not-cleared"]);
    log.add("2026-02-11", inspected(&[case], &[]));
    assert_eq!(log.state("2026-02-11"), "in-service");
}

#[test]
fn a_recalled_piece_goes_back_once_its_line_is_settled_and_an_inspection_names_the_recall() {
    let mut log = used("rope");
    let recall = Recall { notice: "notice 7".to_owned(), gear: Some("rope".to_owned()), ..Recall::default() };
    let case = log.general("2026-02-01", Event::RecallOpened(recall));
    log.add("2026-02-02", inspected(&[case], &[]));
    assert_eq!(log.state("2026-02-03"), "quarantined");
    log.add("2026-02-05", Event::Settled { case, outcome: "exchanged-part".to_owned() });
    log.add("2026-02-06", inspected(&[case], &[]));
    assert_eq!((log.state("2026-02-05"), log.state("2026-02-06")), ("quarantined", "in-service"));
}

#[test]
fn telling_what_was_not_known_excludes_a_piece_from_a_recall() {
    let mut log = used("rope");
    let made = Some((day("2024-01-01"), day("2024-12-31")));
    log.general("2026-02-01", Event::RecallOpened(Recall { notice: "notice 7".to_owned(), made, ..Recall::default() }));
    assert_eq!(log.codes("2026-02-01"), ["recall-not-excluded"]);
    let told = Description { made: Some(Dated::Year(2023)), ..Description::default() };
    log.add("2026-02-10", Event::Described(told));
    assert_eq!(log.state("2026-02-10"), "in-service");
}

#[test]
fn the_policy_of_its_day_judges_what_happened() {
    let mut log = used("connector");
    log.add("2026-02-01", dropped());
    log.policy("2026-02-02", "[rack.after.drop.connector]\nthen = \"nothing\"");
    assert_eq!(log.state("2026-03-01"), "quarantined");
    log.add("2026-02-03", dropped());
    assert_eq!(log.standing("2026-03-01").reasons.len(), 1);
}

#[test]
fn what_a_policy_withdrew_stays_withdrawn_when_a_milder_one_comes() {
    let mut log = rack("2020-01-01", Description { made: Some(Dated::Year(2015)), ..is("sling") });
    log.add("2020-01-01", Event::FirstUse);
    log.policy("2020-01-01", "[rack.life.sling.made]\nyears = 6\nthen = \"withdraw\"");
    let stricter = log.clone();
    log.policy("2020-12-31", "[rack.life.sling.made]\nyears = 9\nthen = \"withdraw\"");
    assert_ne!(log.state("2021-06-01"), "withdrawn");
    assert_eq!((log.state("2023-12-31"), log.state("2024-01-01")), ("watch", "withdrawn"));
    let mut late = stricter;
    late.policy("2021-01-01", "[rack.life.sling.made]\nyears = 9\nthen = \"withdraw\"");
    assert_eq!(late.state("2021-01-01"), "in-service");
    let mut later = late.clone();
    later.0.last_mut().expect("a policy").happened = Moment::on(day("2021-01-02"));
    assert_eq!(later.state("2021-06-01"), "withdrawn");
}

#[test]
fn a_policy_that_cannot_be_read_leaves_the_one_before_in_force() {
    let mut log = used("rope");
    log.policy("2026-01-01", "[rack.interval.any]\nmonths = 2");
    let broken = log.policy("2026-01-02", "months = two");
    assert_eq!(log.standing("2026-01-03").next_inspection, Some(day("2026-03-01")));
    assert!(log.group().faults.contains_key(&broken));
}

#[test]
fn the_shortest_interval_wins() {
    let mut log = used("sling");
    assert_eq!(log.standing("2026-01-02").next_inspection, Some(day("2027-01-01")));
    log.policy("2026-01-02", "[rack]\nregimes = [\"fall-arrest-textile\", \"fall-protection\"]");
    assert_eq!(log.standing("2026-01-02").next_inspection, Some(day("2026-07-01")));
    let limits = MakersLimits { inspect_every_months: Some(1), ..Default::default() };
    log.model("2026-01-02", Model { limits, ..model("Model A") });
    assert_eq!(log.standing("2026-01-02").next_inspection, Some(day("2026-02-01")));
    log.add("2026-01-20", inspected(&[], &[]));
    assert_eq!(log.standing("2026-01-20").next_inspection, Some(day("2026-02-20")));
}

#[test]
fn the_stricter_of_maker_and_policy_ends_a_sling() {
    for (months, end) in [(60, "2020-01-01"), (180, "2027-01-01")] {
        let mut log = rack("2016-01-01", Description { made: Some(Dated::Year(2015)), ..is("sling") });
        log.add("2016-01-01", Event::FirstUse);
        let limits = MakersLimits { months_from_made: Some(months), ..Default::default() };
        log.model("2016-01-01", Model { limits, ..model("Model A") });
        let eve = day(end).yesterday().expect("a day");
        assert_ne!(log.standing_of(the_piece(), eve).state.code(), "withdrawn", "{months}");
        assert_eq!(log.state(end), "withdrawn", "{months}");
    }
}

#[test]
fn a_new_sling_begins_the_age_of_a_draw_anew() {
    let mut log = rack("2020-01-01", Description { made: Some(Dated::Year(2010)), ..is("draw") });
    log.add("2020-01-01", Event::FirstUse);
    log.add("2022-01-01", inspected(&[], &[]));
    assert_eq!(log.codes("2022-02-01"), ["too-old"]);
    let (part, made) = ("sling".to_owned(), Some(Dated::Year(2022)));
    log.add("2022-03-01", Event::PartReplaced { part, old: None, new: None, made });
    assert_eq!(log.state("2022-03-01"), "in-service");
}

#[test]
fn shares_inherit_what_the_whole_went_through() {
    let mut log =
        rack("2026-01-01", Description { made: Some(Dated::Year(2020)), length_mm: Some(60_000), ..is("rope") });
    log.add("2026-01-01", use_with(&[false]));
    let aside = log.add("2026-01-05", exposed("fuel"));
    let half = |label: &str| {
        let is = Description { length_mm: Some(30_000), ..Description::default() };
        Share { mark: mark(label), is, scrap: false }
    };
    let cut = log.add("2026-01-10", Event::Divided { into: vec![half("R-1a"), half("R-1b")] });
    let [a, b] = [0, 1].map(|place| Id::new(cut, place).expect("a name"));
    log.about("2026-01-20", "anna", vec![a], inspected(&[aside], &[]));
    log.add("2026-01-25", dropped());
    let piece = log.piece(a, "2026-02-01");
    assert_eq!(
        (piece.label.as_str(), piece.is.length_mm, piece.is.made),
        ("R-1a", Some(30_000), Some(Dated::Year(2020)))
    );
    assert_eq!((piece.work.falls, piece.work.rappels), (1, 2));
    assert_eq!(log.standing_of(a, day("2026-02-01")).state.code(), "in-service");
    assert_eq!(log.standing_of(b, day("2026-02-01")).state.code(), "quarantined");
    assert_eq!(log.codes("2026-02-01"), ["became-several"]);
}

#[test]
fn a_part_put_in_brings_its_history_along() {
    let mut log = used("draw");
    let entered = register::event::Entered { pieces: vec![mark("S-9")], is: is("sling") };
    let seq = log.general("2026-01-01", Event::Entered(entered));
    let sling = Id::new(seq, 0).expect("a name");
    log.about("2026-01-05", "anna", vec![sling], exposed("fuel"));
    let (part, new) = ("sling".to_owned(), Some(sling));
    log.add("2026-01-10", Event::PartReplaced { part, old: None, new, made: None });
    log.about("2026-01-20", "anna", vec![sling], exposed("acid"));
    assert_eq!(log.codes("2026-02-01"), ["exposed-to"]);
}

#[test]
fn restrictions_hold_until_somebody_with_the_right_lifts_them() {
    let mut log = used("rope");
    log.add("2026-02-01", restricted(&["top-rope-only", "demonstration-only"]));
    let standing = log.standing("2026-02-01");
    assert_eq!(standing.restricted_to, ["demonstration-only", "top-rope-only"]);
    assert!(standing.allows("top-rope-only") && !standing.allows("lead"));
    log.add("2026-02-05", restricted(&[]));
    assert_eq!(log.state("2026-02-05"), "in-service");
    assert!(log.standing("2026-02-05").allows("lead"));
}

#[test]
fn a_lost_piece_is_lost_until_it_is_found_and_then_somebody_looks() {
    let mut log = used("rope");
    let lost = log.add("2026-02-01", Event::Lost);
    log.add("2026-02-05", inspected(&[lost], &[]));
    assert!(log.standing("2026-02-06").is_lost);
    assert_eq!(log.codes("2026-02-06"), ["is-lost"]);
    log.add("2026-02-07", Event::Found);
    assert_eq!((log.state("2026-02-07"), log.standing("2026-02-07").is_lost), ("in-service", false));
}

#[test]
fn a_correction_changes_what_happened_and_a_correction_of_it_brings_it_back() {
    let mut log = used("connector");
    let drop = log.add("2026-02-01", dropped());
    let before = effective(log.0.clone());
    let strike = log.add("2026-02-02", Event::Corrected { entry: drop, with: None });
    assert_eq!(log.state("2026-03-01"), "in-service");
    log.add("2026-02-03", Event::Corrected { entry: strike, with: None });
    assert_eq!(effective(log.0.clone()), before);
}

#[test]
fn of_two_corrections_the_last_written_holds_and_an_entry_keeps_its_number() {
    let mut log = used("connector");
    let drop = log.add("2026-02-01", dropped());
    let cleaned = |on: &str| {
        let mut record = (*log.0[2].record).clone();
        record.event = exposed("seawater");
        Some(Box::new(Correction { happened: Moment::on(day(on)), record }))
    };
    let (first, last) = (cleaned("2026-02-05"), cleaned("2026-02-06"));
    log.add("2026-02-10", Event::Corrected { entry: drop, with: first });
    log.add("2026-02-11", Event::Corrected { entry: drop, with: last });
    let history = effective(log.0.clone());
    let put = history.iter().find(|past| past.seq == drop).expect("the entry");
    assert_eq!((put.happened.date, put.record.event.kind(), put.written_ms), (day("2026-02-06"), "exposed", 5));
    assert_eq!(history.len(), 3);
}

#[test]
fn a_correction_of_what_was_written_later_is_none() {
    let mut log = used("connector");
    log.add("2026-02-01", Event::Corrected { entry: 4, with: None });
    log.add("2026-02-01", dropped());
    assert_eq!(log.state("2026-03-01"), "quarantined");
}

#[test]
fn a_kit_knows_what_is_short_and_a_piece_knows_its_kit() {
    let mut log = used("rope");
    let contents = vec![KitPart { piece: the_piece(), count: 1 }, KitPart { piece: Id::from_number(99), count: 5 }];
    let label = "beginners".to_owned();
    let seq = log.add("2026-02-01", Event::KitSet { kit: None, label, contents });
    let id = Id::new(seq, 0).expect("a name");
    let (to, due) = (Some(person("ben")), Some(day("2026-02-05")));
    log.add("2026-02-02", Event::KitIssued { kit: id, to: to.clone(), due });
    let kit = |log: &Log, on: &str| register::kit::Kit::fold(id, &effective(log.0.clone()), day(on)).expect("a kit");
    assert!(kit(&log, "2026-02-06").is_late(day("2026-02-06")) && !kit(&log, "2026-02-06").is_late(day("2026-02-05")));
    assert_eq!((log.piece(the_piece(), "2026-02-03").kit, log.piece(the_piece(), "2026-02-03").holder), (Some(id), to));
    let short = vec![KitPart { piece: Id::from_number(99), count: 2 }];
    log.add("2026-02-06", Event::KitReturned { kit: id, short, wet: vec![the_piece()] });
    let back = kit(&log, "2026-02-06");
    assert_eq!((back.there()[1].count, back.out, back.wet), (3, None, vec![the_piece()]));
    let piece = log.piece(the_piece(), "2026-02-06");
    assert_eq!((piece.holder, piece.is_wet), (None, true));
    log.add("2026-02-07", Event::Cleaned);
    assert!(kit(&log, "2026-02-07").wet.is_empty() && !log.piece(the_piece(), "2026-02-07").is_wet);
}

#[test]
fn an_incident_tells_what_was_on_that_rope_and_who_had_it() {
    let mut log = used("rope");
    let other = Id::from_number(7 << 16);
    log.add("2026-02-01", Event::HandedTo { person: Some(person("ben")), site: None });
    let day_out = log.about("2026-02-02", "anna", vec![the_piece(), other], use_with(&[true]));
    log.add("2026-02-03", Event::Returned);
    let what = Private::from_stored("0".repeat(64));
    let incident = Event::IncidentOpened(Incident { what, people: Vec::new() });
    let case = log.about("2026-02-04", "anna", vec![the_piece(), other], incident);
    log.about("2026-02-05", "anna", vec![other], Event::Settled { case, outcome: "destroyed".to_owned() });
    let history = effective(log.0.clone());
    let with = register::cases::used_with(the_piece(), &history, day("2026-02-01"), day("2026-02-03"));
    assert_eq!(with.into_iter().collect::<Vec<_>>(), [(other, vec![day_out])]);
    let holdings = register::cases::holdings(the_piece(), &history);
    assert_eq!((holdings.len(), holdings[0].until), (1, Some(day("2026-02-03"))));
    let lines = register::cases::lines(log.group().case(case).expect("a case"), &history);
    let settled: Vec<_> = lines.iter().map(|line| line.settled.is_some()).collect();
    assert_eq!(settled, [false, true]);
}

#[test]
fn a_row_of_a_list_tells_when_it_changes() {
    let mut log = used("rope");
    log.add("2026-01-02", Event::Described(Description { size: Some("60 m".to_owned()), ..Description::default() }));
    let row = register::summary::summary(the_piece(), &effective(log.0.clone()), &log.group(), day("2026-02-01"))
        .expect("a row");
    assert_eq!(
        (row.standing.code(), row.due_on, row.changes_on),
        ("in-service", Some(day("2027-01-01")), Some(day("2027-01-02")))
    );
    assert_eq!(row.words, ["60", "c-001", "m", "rope"]);
}
