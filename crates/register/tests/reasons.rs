//! Every reason of the register is brought about by a log, or by a question of fit, that a reader can check by hand.

mod logs;

use logs::*;
use register::event::{Description, Event, Fit, Grade, Incident, MakersLimits, Model, Recall, Share};
use register::fit::{Fits, fitting};
use register::private::Private;
use std::collections::BTreeSet;
use terms::Reason;

fn made(gear: &str, year: i16) -> Description {
    Description { made: Some(register::event::Dated::Year(year)), ..is(gear) }
}

fn with_limits(limits: MakersLimits, gear: &str, year: i16) -> Log {
    let mut log = rack("2020-01-01", made(gear, year));
    log.add("2020-01-01", Event::FirstUse);
    log.model("2020-01-01", Model { limits, ..model("Model A") });
    log
}

fn incident() -> Event {
    Event::IncidentOpened(Incident { what: Private::from_stored("0".repeat(64)), people: Vec::new() })
}

fn recall(recall: Recall) -> Event {
    Event::RecallOpened(Recall { notice: "Maker A, notice 7".to_owned(), ..recall })
}

fn share(label: &str, scrap: bool) -> Share {
    Share { mark: mark(label), is: Description::default(), scrap }
}

/// What is written after a piece came into use, the day that is asked for, the reason, the state.
type Scene = (&'static str, fn() -> Log, &'static str, &'static str);

const SCENES: &[Scene] = &[
    ("not-used-yet", || rack("2026-01-01", is("rope")), "2026-01-02", "not-yet-in-service"),
    ("withdrawn-by-entry", || after("connector", withdrawn()), "2026-03-01", "withdrawn"),
    (
        "withdrawal-without-right",
        || {
            let mut log = used("connector");
            log.right("2026-01-01", "ben", "withdraw", "2026-12-31");
            log.add("2026-02-01", withdrawn());
            log
        },
        "2026-03-01",
        "quarantined",
    ),
    ("made-unusable", || after("connector", Event::Destroyed), "2026-03-01", "withdrawn"),
    (
        "became-several",
        || after("rope", Event::Divided { into: vec![share("R-1a", false)] }),
        "2026-03-01",
        "withdrawn",
    ),
    ("put-aside", || after("rope", quarantined(None)), "2026-03-01", "quarantined"),
    ("evidence-of-incident", || after("rope", incident()), "2026-03-01", "quarantined"),
    (
        "incident-not-cleared",
        || {
            let mut log = after("rope", incident());
            log.general("2026-02-10", Event::CaseClosed { case: 3, frozen: None });
            log
        },
        "2026-03-01",
        "quarantined",
    ),
    (
        "recall-not-cleared",
        || {
            let mut log = used("rope");
            let case = log.general("2026-02-01", recall(Recall { gear: Some("rope".to_owned()), ..Recall::default() }));
            log.add("2026-02-10", Event::Settled { case, outcome: "not-concerned".to_owned() });
            log
        },
        "2026-03-01",
        "quarantined",
    ),
    (
        "called-back",
        || {
            let mut log = used("rope");
            log.general("2026-02-01", recall(Recall { gear: Some("rope".to_owned()), ..Recall::default() }));
            log
        },
        "2026-03-01",
        "quarantined",
    ),
    (
        "recall-not-excluded",
        || {
            let mut log = used("rope");
            log.general("2026-02-01", recall(Recall { batches: vec!["B7".to_owned()], ..Recall::default() }));
            log
        },
        "2026-03-01",
        "quarantined",
    ),
    ("fell-from", || after("connector", dropped()), "2026-03-01", "quarantined"),
    ("fell-down", || after("connector", Event::Dropped { height_mm: None, onto: None }), "2026-03-01", "quarantined"),
    ("exposed-to", || after("connector", exposed("seawater")), "2026-03-01", "watch"),
    ("held-severe-fall", || after("sling", use_with(&[false, true])), "2026-03-01", "withdrawn"),
    ("is-lost", || after("rope", Event::Lost), "2026-03-01", "quarantined"),
    (
        "was-lost",
        || {
            let mut log = after("rope", Event::Lost);
            log.add("2026-02-10", Event::Found);
            log
        },
        "2026-03-01",
        "quarantined",
    ),
    ("defect-found", || after("rope", inspected(&[], &[("sheath", Grade::Defect)])), "2026-03-01", "quarantined"),
    ("point-to-watch", || after("rope", inspected(&[], &[("sheath", Grade::Watch)])), "2026-03-01", "watch"),
    ("watch-overdue", || after("rope", inspected(&[], &[("sheath", Grade::Watch)])), "2026-05-02", "watch"),
    (
        "inspection-without-right",
        || {
            let mut log = used("rope");
            log.right("2026-01-01", "ben", "inspect", "2026-12-31");
            log.add("2026-02-01", inspected(&[], &[]));
            log
        },
        "2026-03-01",
        "in-service",
    ),
    (
        "inspection-incomplete",
        || after("rope", inspected(&[], &[("sheath", Grade::NotLookedAt)])),
        "2026-03-01",
        "in-service",
    ),
    ("restricted-to", || after("rope", restricted(&["top-rope-only"])), "2026-03-01", "restricted"),
    (
        "restrictions-exclude",
        || {
            let mut log = after("rope", restricted(&["top-rope-only"]));
            log.add("2026-02-01", restricted(&["demonstration-only"]));
            log
        },
        "2026-03-01",
        "quarantined",
    ),
    (
        "lift-without-right",
        || {
            let mut log = after("rope", restricted(&["top-rope-only"]));
            log.right("2026-02-02", "ben", "inspect", "2026-12-31");
            log.add("2026-02-10", restricted(&[]));
            log
        },
        "2026-03-01",
        "restricted",
    ),
    ("inspection-overdue", || used("rope"), "2027-01-02", "watch"),
    (
        "regime-inspection-overdue",
        || {
            let mut log = used("rope");
            log.policy("2026-01-01", "[rack]\nregimes = [\"lifting-persons\"]");
            log
        },
        "2026-07-02",
        "quarantined",
    ),
    (
        "makers-inspection-overdue",
        || with_limits(MakersLimits { inspect_every_months: Some(3), ..Default::default() }, "pulley", 2019),
        "2020-04-02",
        "quarantined",
    ),
    (
        "not-inspected-before-use",
        || {
            let mut log = used("rope");
            log.policy("2026-01-01", "[rack.no_first_inspection]\nthen = \"quarantine\"");
            log
        },
        "2026-03-01",
        "quarantined",
    ),
    ("age-disputed", || with_limits(MakersLimits::default(), "sling", 2015), "2025-01-01", "watch"),
    ("too-old", || with_limits(MakersLimits::default(), "sling", 2015), "2027-01-01", "withdrawn"),
    (
        "makers-age-passed",
        || with_limits(MakersLimits { months_from_made: Some(60), ..Default::default() }, "connector", 2019),
        "2024-01-01",
        "withdrawn",
    ),
    ("groove-too-deep", || after("connector", groove(1000, None)), "2026-03-01", "withdrawn"),
    ("groove-may-be-too-deep", || after("connector", groove(900, Some((800, 1010)))), "2026-03-01", "quarantined"),
    ("groove-near-limit", || after("connector", groove(650, Some((600, 700)))), "2026-03-01", "watch"),
    (
        "makers-groove-passed",
        || {
            let limits = MakersLimits { groove_um: Some(500), ..Default::default() };
            let mut log = with_limits(limits, "connector", 2019);
            log.add("2020-02-01", groove(550, None));
            log
        },
        "2020-03-01",
        "withdrawn",
    ),
    (
        "makers-falls-reached",
        || {
            let mut log = with_limits(MakersLimits { falls: Some(3), ..Default::default() }, "rope", 2019);
            log.add("2020-02-01", use_with(&[false, false]));
            log.add("2020-02-02", use_with(&[false]));
            log
        },
        "2020-02-02",
        "withdrawn",
    ),
    (
        "marking-unreadable",
        || {
            let mut log = used("connector");
            log.add(
                "2026-02-01",
                Event::Described(Description { marking: Some("CE ?? kN".to_owned()), ..Default::default() }),
            );
            log
        },
        "2026-03-01",
        "quarantined",
    ),
];

fn after(gear: &str, event: Event) -> Log {
    let mut log = used(gear);
    log.add("2026-02-01", event);
    log
}

#[test]
fn each_scene_has_its_reason_and_its_state() {
    for (code, log, on, state) in SCENES {
        let log = log();
        assert!(log.codes(on).contains(code), "{code}: {:?}", log.codes(on));
        assert_eq!(log.state(on), *state, "{code}");
    }
}

#[test]
fn the_day_before_it_is_not_so() {
    let eves = [
        ("inspection-overdue", "2027-01-01"),
        ("regime-inspection-overdue", "2026-07-01"),
        ("makers-inspection-overdue", "2020-04-01"),
        ("watch-overdue", "2026-05-01"),
        ("age-disputed", "2024-12-31"),
        ("too-old", "2026-12-31"),
        ("makers-age-passed", "2023-12-31"),
        ("makers-falls-reached", "2020-02-01"),
        ("fell-from", "2026-01-31"),
    ];
    for (code, eve) in eves {
        let (_, log, ..) = SCENES.iter().find(|scene| scene.0 == code).expect(code);
        assert!(!log().codes(eve).contains(&code), "{code}");
    }
}

fn scrap_codes() -> Vec<&'static str> {
    let mut log = used("rope");
    let seq = log.add("2026-02-01", Event::Divided { into: vec![share("R-1a", false), share("end", true)] });
    let end = register::id::Id::new(seq, 1).expect("a name");
    log.standing_of(end, day("2026-02-02")).reasons.iter().map(|why| why.reason.code()).collect()
}

fn device() -> Model {
    let rope = Fit {
        with: "rope".to_owned(),
        mode: Some("guide".to_owned()),
        diameter_um: Some((8_500, 10_500)),
        shapes: Vec::new(),
        locks: Vec::new(),
    };
    let connector = Fit {
        with: "connector".to_owned(),
        mode: None,
        diameter_um: None,
        shapes: vec!["pear".to_owned(), "D".to_owned()],
        locks: vec!["screw".to_owned()],
    };
    Model { fits: vec![rope, connector], ..model("Device A") }
}

fn connector(shape: &str, lock: Option<&str>) -> Description {
    Description { shape: Some(shape.to_owned()), lock: lock.map(str::to_owned), ..is("connector") }
}

fn rope(diameter_um: u32) -> Description {
    Description { diameter_um: Some(diameter_um), ..is("rope") }
}

/// What is asked for, in which mode, whether it fits, and the reasons.
fn fits() -> Vec<(Description, Option<&'static str>, Fits, Vec<&'static str>)> {
    vec![
        (rope(8_500), Some("guide"), Fits::Yes, vec!["diameter-fits"]),
        (rope(8_499), Some("guide"), Fits::No, vec!["diameter-outside"]),
        (rope(9_500), Some("belay"), Fits::Unknown, vec!["fit-not-given"]),
        (is("rope"), Some("guide"), Fits::Unknown, vec!["fit-unknown"]),
        (connector("pear", Some("screw")), Some("belay"), Fits::Yes, vec!["shape-allowed", "lock-allowed"]),
        (connector("oval", Some("screw")), None, Fits::No, vec!["shape-not-allowed", "lock-allowed"]),
        (connector("D", Some("none")), None, Fits::No, vec!["shape-allowed", "lock-not-allowed"]),
        (connector("D", None), None, Fits::Unknown, vec!["shape-allowed", "fit-unknown"]),
    ]
}

#[test]
fn a_manual_decides_what_goes_with_a_device() {
    for (other, mode, fits, codes) in fits() {
        let fitting = fitting(&device(), &other, mode);
        let found: Vec<_> = fitting.reasons.iter().map(Reason::code).collect();
        assert_eq!((fitting.fits, found), (fits, codes), "{other:?}");
    }
}

#[test]
fn every_reason_of_the_register_is_brought_about_here() {
    let scenes = SCENES.iter().map(|scene| scene.0);
    let brought: BTreeSet<_> =
        scenes.chain(scrap_codes()).chain(fits().into_iter().flat_map(|(.., codes)| codes)).collect();
    let catalogue: BTreeSet<_> =
        Reason::CATALOGUE.iter().filter(|entry| entry.room == "register").map(|entry| entry.code).collect();
    assert_eq!(brought, catalogue);
}
