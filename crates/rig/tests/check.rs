//! Bands, findings and changes, each shown on a small rig of its own.

use rig::band::{Bands, Corner, bands};
use rig::change::{Change, Helped, offers};
use rig::check::{Check, Link, LinkKind, check};
use rig::model::Rig;
use rig::solve::{Failure, Prepared};
use terms::{Finding, Force, How, Reason};
use trade::policy::Policy;
use trade::position::Position;

fn read(text: &str) -> Rig {
    rig::read(text, "test").unwrap_or_else(|faults| panic!("{faults}"))
}

fn contract(name: &str) -> Rig {
    let path = format!("{}/../../validation/contract/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    read(&std::fs::read_to_string(path).expect("a rig of the contract"))
}

fn solved(rig: &Rig) -> Bands {
    bands(&Prepared::new(rig).expect("ropes that fit")).expect("a rig that can be solved")
}

fn checked(rig: &Rig) -> Check {
    check(rig, &solved(rig), &Policy::default())
}

fn changes(rig: &Rig) -> Vec<Change> {
    let prepared = Prepared::new(rig).expect("ropes that fit");
    let bands = bands(&prepared).expect("a rig that can be solved");
    let policy = Policy::default();
    let before = check(rig, &bands, &policy);
    offers(&prepared, &bands, &before, &policy).into_iter().map(|offer| offer.change).collect()
}

fn link<'c>(check: &'c Check, name: &str, kind: LinkKind) -> Option<&'c Link> {
    check.links.iter().find(|link| link.name == name && link.kind == kind)
}

/// Two legs at 90 degrees hold 10 kN; `connectors` sit at the master point.
fn master_point(connectors: &str) -> Rig {
    read(&format!(
        r#"
title = "master point"
case = "rest"
[sling.cord]
stiffness_kn = 1e6
strength_kn = 22
[[anchor]]
name = "left"
at_m = [-1, 0, 1]
holds_kn = 25
[[anchor]]
name = "right"
at_m = [1, 0, 1]
holds_kn = {{ along = 12, across = 8, upward = 2, direction = [0, 0, -1] }}
[[joint]]
name = "master"
at_m = [0, 0, 0]
[[leg]]
from = "left"
to = "master"
of = "cord"
[[leg]]
from = "right"
to = "master"
of = "cord"
[[pull]]
at = "master"
force_kn = [0, 0, -10]
{connectors}
"#
    ))
}

const PEAR: &str = r#"
[[connector]]
name = "pear"
at = "master"
class = "H"
closed_kn = 24
open_kn = 8
minor_kn = 8
lock = "none"
free_to_turn = false
over_edge = false
nose = "hookless"
"#;

#[test]
fn the_first_case_is_as_typed_and_the_worst_is_never_less() {
    let rig = contract("lead-four-clips");
    let bands = solved(&rig);
    assert_eq!(bands.cases[0].0, Corner::TYPED);
    let codes: Vec<_> = bands.cases.iter().map(|(corner, _)| corner.code()).collect();
    assert_eq!(
        codes,
        [
            "as-typed",
            "friction-low brake-slips",
            "friction-low brake-holds",
            "friction-high brake-slips",
            "friction-high brake-holds"
        ]
    );
    for link in &check(&rig, &bands, &Policy::default()).links {
        assert!(link.sees_least <= link.as_typed && link.as_typed <= link.sees, "{}", link.name);
    }
    let clearance = &checked(&rig).clearances[0];
    assert!(clearance.worst_m < clearance.as_typed_m);
}

#[test]
fn a_brake_that_holds_pulls_harder_and_one_that_slips_drops_lower() {
    let rig = contract("brake-slips");
    let bands = solved(&rig);
    let corner = |code: &str| &bands.cases.iter().find(|(corner, _)| corner.code() == code).expect(code).1;
    let [slips, holds] = ["friction-low brake-slips", "friction-low brake-holds"].map(corner);
    assert!(holds.lines[0][1] > slips.lines[0][1]);
    let leader = rig.points.iter().position(|point| point.name == "leader").expect("a leader");
    assert!(slips.points[leader].lowest_m < holds.points[leader].lowest_m);
}

#[test]
fn one_thread_and_many_give_the_same_bits() {
    let rig = contract("lead-swinging-draws");
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        pool.install(|| solved(&rig))
    };
    assert_eq!(on(1), on(3));
}

#[test]
fn nothing_is_lent_to_a_connector_that_nobody_can_read() {
    let rig = master_point("[[connector]]\nname = \"old\"\nat = \"master\"\nclass = \"H\"\nlock = \"none\"\n");
    let check = checked(&rig);
    let old = link(&check, "old", LinkKind::Connector(Position::Closed)).expect("an intended position");
    assert_eq!((old.bears, old.margin, old.finding), (None, None, Finding::NoRating));
    assert!(old.because.iter().any(|reason| matches!(reason, Reason::StrengthUnknown { .. })));
    assert!((old.sees.kn() - 10.0).abs() < 1e-6, "its load is told all the same");
}

#[test]
fn an_opposed_pair_covers_the_open_gate_and_each_takes_the_whole_load() {
    let other = PEAR.replace("\"pear\"", "\"spare\"") + "opposed_to = \"pear\"\n";
    let check = checked(&master_point(&format!("{PEAR}{other}")));
    for name in ["pear", "spare"] {
        assert!(link(&check, name, LinkKind::Connector(Position::GateOpen)).is_none());
        let closed = link(&check, name, LinkKind::Connector(Position::Closed)).expect("an intended position");
        assert!((closed.sees.kn() - 10.0).abs() < 1e-6);
        assert_eq!(closed.bears, Some(Force::from_kn(24.0)), "strengths are never added");
    }
    let alone = checked(&master_point(PEAR));
    let open = link(&alone, "pear", LinkKind::Connector(Position::GateOpen)).expect("alone, its gate can open");
    assert_eq!(open.finding, Finding::OverRating);
}

#[test]
fn three_pulls_spread_wide_make_a_connector_tri_axial() {
    let check = checked(&master_point(&PEAR.replace("\"H\"", "\"B\"")));
    let position = link(&check, "pear", LinkKind::Connector(Position::TriAxial)).expect("legs at 90 degrees");
    assert_eq!((position.bears, position.finding, position.how), (None, Finding::NoRating, How::InUse));
}

#[test]
fn an_anchor_bears_what_it_does_in_the_direction_of_the_pull() {
    let check = checked(&master_point(""));
    let right = link(&check, "right", LinkKind::Anchor).expect("an anchor");
    // Pulled at 45 degrees, between along (12) and across (8): the lesser counts.
    assert_eq!(right.bears, Some(Force::from_kn(8.0)));
    assert!((right.sees.kn() - 10.0 / 2.0_f64.sqrt()).abs() < 1e-3);
    let left = link(&check, "left", LinkKind::Anchor).expect("an anchor");
    assert_eq!(left.bears, Some(Force::from_kn(25.0)));
}

#[test]
fn a_knot_takes_from_a_sling_what_the_worst_source_says() {
    let mut rig = master_point("");
    rig.slings[0].knot = Some("figure eight".to_owned());
    let check = checked(&rig);
    let sling = check.links.iter().find(|link| link.kind == LinkKind::Sling).expect("a sling");
    let range = trade::sling::knot_range("figure eight").expect("a knot of the table");
    let expected = 22.0 * range.low_pct / 100.0;
    assert!((sling.bears.expect("a strength").kn() - expected).abs() < 1e-9);
}

#[test]
fn the_policy_decides_which_positions_in_use_count() {
    let rig = master_point(PEAR);
    let bands = solved(&rig);
    assert!(!check(&rig, &bands, &Policy::default()).counts);
    let strict = Policy::parse("counts_for_exit = [\"gate-open\"]").expect("a policy");
    assert!(check(&rig, &bands, &strict).counts);
    let weak = master_point(&PEAR.replace("closed_kn = 24", "closed_kn = 9"));
    assert!(checked(&weak).counts, "over its rating as intended");
}

#[test]
fn a_lock_or_a_second_connector_helps_an_open_gate() {
    let found = changes(&master_point(PEAR));
    assert!(found.contains(&Change::UseLocker { connector: "pear".into() }), "{found:?}");
    assert!(found.contains(&Change::AddOpposed { connector: "pear".into() }));
    let unlocked = PEAR.replace("lock = \"none\"", "lock = \"screw\"\nlocked = false");
    let found = changes(&master_point(&unlocked));
    assert_eq!(found[0], Change::LockGate { connector: "pear".into() }, "the cheapest comes first: {found:?}");
}

#[test]
fn longer_legs_help_a_wide_anchor() {
    let rig = master_point("");
    assert!(changes(&rig).contains(&Change::LongerLegs { point: "master".into(), factor: 1.5 }));
}

/// A belayer who is lifted softens the fall but lets the leader fall lower: never offered.
#[test]
fn a_change_that_costs_height_is_not_offered() {
    let mut rig = contract("lead-four-clips");
    rig.lines[0].brake_slips_at = Some(Force::from_kn(3.0));
    for point in &mut rig.points {
        match &mut point.kind {
            rig::model::PointKind::Anchor { holds } => *holds = Some(rig::model::Holds::Every(Force::from_kn(9.0))),
            rig::model::PointKind::Person { stance, .. } if *stance == rig::model::Stance::Stands => {
                *stance = rig::model::Stance::Anchored;
            }
            _ => {}
        }
    }
    let softer = {
        let mut changed = rig.clone();
        for point in &mut changed.points {
            if let rig::model::PointKind::Person { stance: stance @ rig::model::Stance::Anchored, .. } = &mut point.kind
            {
                *stance = rig::model::Stance::Stands;
            }
        }
        changed
    };
    let (before, after) = (checked(&rig), checked(&softer));
    let top = |check: &Check| link(check, "clip 4", LinkKind::Anchor).expect("the top anchor").sees;
    assert!(top(&after) < top(&before), "it would help the anchor");
    assert!(after.clearances[0].worst_m < before.clearances[0].worst_m - 0.01, "at the cost of height");
    assert!(!changes(&rig).iter().any(|change| matches!(change, Change::LetBelayerMove { .. })));
}

/// Every offer is solved and compared again, link by link, by its own comparison.
#[test]
fn no_offer_makes_another_link_or_height_worse() {
    let mut tried = 0;
    for rig in [lead_with_gear(), master_point(PEAR)] {
        let prepared = Prepared::new(&rig).expect("ropes that fit");
        let bands = bands(&prepared).expect("a rig that can be solved");
        let policy = Policy::default();
        let before = check(&rig, &bands, &policy);
        for offer in offers(&prepared, &bands, &before, &policy) {
            tried += 1;
            let after = checked(&offer.changed);
            for old in &before.links {
                let Some(new) = link(&after, &old.name, old.kind) else { continue };
                let (old_margin, new_margin) = (old.margin.unwrap_or(1.0), new.margin.unwrap_or(1.0));
                assert!(new_margin > old_margin * 0.99, "{:?}: {} {:?}", offer.change, old.name, old.kind);
            }
            for (old, new) in before.clearances.iter().zip(&after.clearances) {
                assert!(new.worst_m > old.worst_m - 0.02, "{:?}", offer.change);
            }
        }
    }
    assert!(tried >= 4, "only {tried} offers");
}

/// The draws of the contract with strengths on everything and a light connector at the top.
fn lead_with_gear() -> Rig {
    let path = format!("{}/../../validation/contract/lead-swinging-draws.toml", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).expect("a rig of the contract");
    let text = text.replace("stiffness_kn = 400", "stiffness_kn = 400\nstrength_kn = 22");
    let light = PEAR
        .replace("\"pear\"", "\"light\"")
        .replace("at = \"master\"", "at = \"draw 3\"")
        .replace("open_kn = 8", "open_kn = 6");
    read(&format!("{text}{light}"))
}

/// One more clip takes the load off the old one: the margin that is told is that of the piece which has it now.
#[test]
fn a_new_clip_is_told_by_its_own_margin_and_by_the_height_it_saves() {
    let rig = lead_with_gear();
    let prepared = Prepared::new(&rig).expect("ropes that fit");
    let bands = bands(&prepared).expect("a rig that can be solved");
    let policy = Policy::default();
    let before = check(&rig, &bands, &policy);
    let offers = offers(&prepared, &bands, &before, &policy);
    let offer = offers.iter().find(|offer| matches!(offer.change, Change::ClipSooner { .. })).expect("it helps");
    let after = checked(&offer.changed);
    let of_kind = after
        .links
        .iter()
        .filter(|link| matches!(&offer.helps, Helped::Link(_, kind) if *kind == link.kind))
        .filter_map(|link| link.margin);
    let least = of_kind.fold(f64::INFINITY, f64::min);
    assert!((offer.margin_after.expect("a margin") - least).abs() < 1e-9, "{:?} {least}", offer.margin_after);
    assert!(offer.raises_m > 0.5, "{}", offer.raises_m);
}

#[test]
fn a_load_that_nothing_holds_is_refused_by_name() {
    let rig = read(
        "title = \"x\"\ncase = \"rest\"\n[[joint]]\nname = \"loose\"\nat_m = [0, 0, 0]\n[[pull]]\nat = \"loose\"\nforce_kn = [0, 0, -1]\n",
    );
    let failure = bands(&Prepared::new(&rig).expect("no ropes")).expect_err("nothing holds it");
    assert_eq!(failure, Failure::NotHeld { point: "loose".into() });
}

#[test]
fn a_data_sheet_that_cannot_be_met_names_the_figure() {
    let mut rig = contract("brake-slips");
    rig.ropes[0].response = rig::model::RopeResponse::DataSheet {
        impact_force: Force::from_kn(9.2),
        static_elongation_pct: 7.5,
        dynamic_elongation_pct: 60.0,
    };
    let failure = Prepared::new(&rig).expect_err("no rope stretches so far");
    assert!(matches!(failure, Failure::DynamicElongation { most_pct, .. } if most_pct < 60.0), "{failure:?}");
    rig.ropes[0].response = rig::model::RopeResponse::DataSheet {
        impact_force: Force::from_kn(4.0),
        static_elongation_pct: 7.5,
        dynamic_elongation_pct: 32.0,
    };
    let failure = Prepared::new(&rig).expect_err("no rope pulls so little");
    assert!(matches!(failure, Failure::ImpactForce { least_kn, .. } if least_kn > 4.0), "{failure:?}");
}
