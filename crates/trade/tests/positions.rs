//! What brings each position about, and what keeps it away.
//!
//! Angles of the pulls are taken from the thresholds of the table, so that no test hangs on a number that the project chose.

use std::collections::BTreeSet;
use terms::{Force, How, Reason};
use trade::connector::{Class, Connector, Gate, Keeper, Lock, Nose, Shape};
use trade::position::{Place, Position, PullOn, RULES, Setting, Slip, slips, thresholds};

/// A plain draw connector of which everything is known, rigged as it should be.
fn runner() -> Connector {
    Connector {
        name: "runner".into(),
        class: Some(Class::B),
        shape: Some(Shape::OffsetD),
        closed: Some(Force::from_kn(24.0)),
        open: Some(Force::from_kn(9.0)),
        minor: Some(Force::from_kn(8.0)),
        gate: Some(Gate::Solid),
        lock: Some(Lock::None),
        nose: Some(Nose::Hookless),
        joins: vec!["tape".into(), "rope".into()],
        free_to_turn: Some(false),
        keeper: Some(Keeper::None),
        over_edge: Some(false),
        ..Connector::default()
    }
}

/// A screw-gate pear, done up, of which everything is known.
fn pear() -> Connector {
    Connector {
        name: "pear".into(),
        class: Some(Class::H),
        shape: Some(Shape::Pear),
        lock: Some(Lock::Screw),
        locked: Some(true),
        ..runner()
    }
}

fn quick_link() -> Connector {
    Connector { class: Some(Class::Q), shape: Some(Shape::QuickLink), lock: None, locked: Some(true), ..runner() }
}

fn at_rope(connector: &Connector) -> Setting<'_> {
    Setting {
        rope_runs: true,
        leads: true,
        runners_on_line: 4,
        open_sling: Some(false),
        ..Setting::new(connector, Place::RopeEnd)
    }
}

fn find(setting: &Setting, position: Position) -> Option<Slip> {
    slips(setting).into_iter().find(|slip| slip.position == position)
}

#[track_caller]
fn brought(setting: &Setting, position: Position) -> Slip {
    find(setting, position).unwrap_or_else(|| panic!("{} expected", position.code()))
}

#[track_caller]
fn kept_away(setting: &Setting, position: Position) {
    assert_eq!(find(setting, position), None, "{}", position.code());
}

fn codes(slip: &Slip) -> Vec<&'static str> {
    slip.because.iter().map(Reason::code).collect()
}

fn asks_for(slip: &Slip, wanted: &str) -> bool {
    !slip.is_known && slip.because.iter().any(|reason| matches!(reason, Reason::KeyUnknown { key } if *key == wanted))
}

/// A pull of 5 kN at an angle from straight up, in degrees.
fn up<'a>(name: &'a str, deg: f64) -> PullOn<'a> {
    let (sin, cos) = deg.to_radians().sin_cos();
    PullOn { name, direction: [sin, 0.0, cos], force: Force::from_kn(5.0), runs_through: false }
}

/// Two pulls upward that spread by an angle, and what holds against them.
fn two_and_one<'a>(names: [&'a str; 3], spread_deg: f64) -> [PullOn<'a>; 3] {
    let against = 2.0 * 5.0 * (spread_deg / 2.0).to_radians().cos();
    [
        up(names[0], spread_deg / 2.0),
        up(names[1], -spread_deg / 2.0),
        PullOn { force: Force::from_kn(against), ..up(names[2], 180.0) },
    ]
}

fn joining(connector: Connector, names: &[&str]) -> Connector {
    Connector { joins: names.iter().map(|name| (*name).to_owned()).collect(), ..connector }
}

// The list of rules

#[test]
fn each_position_has_one_rule_and_the_kinds_are_not_mixed() {
    let ruled: Vec<_> = RULES.iter().map(|rule| rule.position).collect();
    assert_eq!(ruled, Position::ALL);
    let kinds: Vec<_> = ruled.iter().map(|position| position.how()).collect();
    assert!(kinds.is_sorted_by_key(|how| match how {
        How::Intended => 0,
        How::InUse => 1,
        How::RiggingError => 2,
    }));
}

#[test]
fn a_well_rigged_draw_stays_sober() {
    let found: Vec<_> = slips(&at_rope(&runner())).iter().map(|slip| slip.position).collect();
    assert_eq!(
        found,
        [Position::Closed, Position::GateOpen, Position::RopeOverGate, Position::BackClipped, Position::ZClipped]
    );
}

#[test]
fn a_locked_pear_with_a_fixed_sling_has_its_intended_position_alone() {
    let found: Vec<_> = slips(&Setting::new(&pear(), Place::Joint)).iter().map(|slip| slip.position).collect();
    assert_eq!(found, [Position::Closed]);
}

// Strengths

#[test]
fn the_strength_is_that_of_the_marking() {
    let free = Connector { free_to_turn: Some(true), ..runner() };
    let setting = at_rope(&free);
    for (position, strength_kn) in [(Position::Closed, 24.0), (Position::GateOpen, 9.0), (Position::CrossLoaded, 8.0)] {
        let slip = brought(&setting, position);
        assert_eq!(slip.bears, Some(Force::from_kn(strength_kn)));
        assert!(codes(&slip).contains(&"marked-strength"));
    }
}

#[test]
fn no_legible_mark_no_strength() {
    let illegible = Connector { closed: None, open: None, minor: None, free_to_turn: Some(true), ..runner() };
    let setting = at_rope(&illegible);
    for position in [Position::Closed, Position::GateOpen, Position::CrossLoaded] {
        let slip = brought(&setting, position);
        assert_eq!(slip.bears, None);
        assert!(codes(&slip).contains(&"strength-unknown"), "{}", position.code());
    }
}

#[test]
fn the_intended_position_tells_that_ratings_are_slow_pulls() {
    assert!(codes(&brought(&at_rope(&runner()), Position::Closed)).contains(&"ratings-are-slow-pulls"));
}

#[test]
fn an_automatic_lock_needs_no_gate_open_mark() {
    let auto = Connector { lock: Some(Lock::ThreeAction), locked: Some(false), open: None, ..pear() };
    let slip = brought(&Setting::new(&auto, Place::Joint), Position::GateOpen);
    assert_eq!((slip.bears, codes(&slip).contains(&"no-gate-open-requirement")), (None, true));
    for class in [Some(Class::K), None] {
        let asked = Connector { class, ..auto.clone() };
        let slip = brought(&Setting::new(&asked, Place::Joint), Position::GateOpen);
        assert_eq!((slip.bears, codes(&slip).contains(&"strength-unknown")), (None, true));
    }
}

#[test]
fn class_a_needs_no_minor_mark() {
    let anchor = Connector { class: Some(Class::A), minor: None, free_to_turn: Some(true), ..runner() };
    let slip = brought(&Setting::new(&anchor, Place::Anchor), Position::CrossLoaded);
    assert_eq!((slip.bears, codes(&slip).contains(&"no-minor-requirement")), (None, true));
}

// Gate open

#[test]
fn a_gate_without_lock_opens_by_lash_or_push() {
    let slip = brought(&at_rope(&runner()), Position::GateOpen);
    assert!(slip.is_known && codes(&slip).starts_with(&["gate-may-lash", "gate-may-be-pushed"]));
}

#[test]
fn a_wire_gate_is_not_said_to_lash() {
    let wire = Connector { gate: Some(Gate::Wire), ..runner() };
    let slip = brought(&at_rope(&wire), Position::GateOpen);
    assert!(codes(&slip).contains(&"gate-may-be-pushed") && !codes(&slip).contains(&"gate-may-lash"));
}

#[test]
fn an_automatic_lock_keeps_the_gate_closed_unless_said_otherwise() {
    for locked in [None, Some(true)] {
        let auto = Connector { lock: Some(Lock::TwoAction), locked, ..pear() };
        kept_away(&at_rope(&auto), Position::GateOpen);
    }
    let blocked = Connector { lock: Some(Lock::TwoAction), locked: Some(false), ..pear() };
    assert!(codes(&brought(&at_rope(&blocked), Position::GateOpen)).contains(&"lock-not-engaged"));
}

#[test]
fn a_screwed_sleeve_works_back_only_where_a_rope_runs() {
    let pear = pear();
    let still = Setting::new(&pear, Place::Joint);
    kept_away(&still, Position::GateOpen);
    let slip = brought(&Setting { rope_runs: true, ..still }, Position::GateOpen);
    assert!(slip.is_known && codes(&slip).contains(&"sleeve-may-work-back"));
}

#[test]
fn a_sleeve_that_is_not_done_up_is_a_plain_gate() {
    let open = Connector { locked: Some(false), ..pear() };
    assert!(codes(&brought(&Setting::new(&open, Place::Joint), Position::GateOpen)).contains(&"sleeve-not-done-up"));
}

#[test]
fn what_is_unknown_of_the_lock_counts_as_it_can() {
    let unknown_lock = Connector { lock: None, ..pear() };
    assert!(asks_for(&brought(&Setting::new(&unknown_lock, Place::Joint), Position::GateOpen), "lock"));
    let unknown_locked = Connector { locked: None, ..pear() };
    assert!(asks_for(&brought(&Setting::new(&unknown_locked, Place::Joint), Position::GateOpen), "locked"));
}

// Pairs

#[test]
fn an_opposite_and_opposed_pair_is_judged_as_a_pair() {
    let (one, other) = (runner(), Connector { name: "other".into(), nose: Some(Nose::Hooked), ..runner() });
    let setting = Setting { opposed: Some(&other), ..at_rope(&one) };
    for position in [Position::GateOpen, Position::NoseHooked, Position::RopeOverGate, Position::BackClipped] {
        kept_away(&setting, position);
    }
    let closed = brought(&setting, Position::Closed);
    assert!(codes(&closed).contains(&"covered-by-opposed") && codes(&closed).contains(&"strengths-not-added"));
    assert_eq!(closed.bears, one.closed);
}

#[test]
fn a_pair_does_not_keep_cross_loading_away() {
    let (one, other) = (Connector { free_to_turn: Some(true), ..runner() }, runner());
    let slip = brought(&Setting { opposed: Some(&other), ..at_rope(&one) }, Position::CrossLoaded);
    assert_eq!(slip.bears, one.minor);
}

#[test]
fn an_illegible_partner_covers_nothing() {
    let (one, other) = (runner(), Connector { name: "scratched".into(), closed: None, ..runner() });
    let setting = Setting { opposed: Some(&other), ..at_rope(&one) };
    assert!(codes(&brought(&setting, Position::GateOpen)).contains(&"opposed-strength-unknown"));
    assert!(!codes(&brought(&setting, Position::Closed)).contains(&"covered-by-opposed"));
}

// Cross-loaded

#[test]
fn what_holds_in_line_keeps_cross_loading_away() {
    let cases = [
        (Some(false), None, None),
        (Some(false), Some(Keeper::None), None),
        (None, Some(Keeper::Elastic), None),
        (Some(true), Some(Keeper::Bar), None),
        (Some(true), Some(Keeper::None), Some(Class::T)),
    ];
    for (free_to_turn, keeper, class) in cases {
        let held = Connector { free_to_turn, keeper, class, ..runner() };
        kept_away(&at_rope(&held), Position::CrossLoaded);
    }
}

#[test]
fn what_turns_can_be_cross_loaded() {
    let cases = [
        (Some(true), Some(Keeper::None), "free-to-turn"),
        (Some(true), None, "free-to-turn"),
        (Some(true), Some(Keeper::Elastic), "elastic-may-give"),
        (None, Some(Keeper::None), "nothing-holds-in-line"),
    ];
    for (free_to_turn, keeper, code) in cases {
        let loose = Connector { free_to_turn, keeper, ..runner() };
        let slip = brought(&at_rope(&loose), Position::CrossLoaded);
        assert!(slip.is_known && codes(&slip).contains(&code), "{code}");
    }
    let unknown = Connector { free_to_turn: None, keeper: None, ..runner() };
    assert!(asks_for(&brought(&at_rope(&unknown), Position::CrossLoaded), "free_to_turn"));
}

// Tri-axial and off the spine

const LEGS: [&str; 3] = ["left", "right", "rope"];

#[test]
fn legs_that_spread_wide_pull_three_ways() {
    let limit = thresholds().tri_axial_deg.value;
    let connector = joining(pear(), &LEGS);
    let wide = two_and_one(LEGS, limit + 1.0);
    let slip = brought(&Setting { pulls: &wide, ..Setting::new(&connector, Place::Joint) }, Position::TriAxial);
    assert_eq!((slip.bears, slip.is_known), (None, true));
    assert_eq!(codes(&slip), ["pulls-spread", "position-unrated"]);
    let narrow = two_and_one(LEGS, limit - 1.0);
    kept_away(&Setting { pulls: &narrow, ..Setting::new(&connector, Place::Joint) }, Position::TriAxial);
}

#[test]
fn legs_at_right_angles_to_the_load_and_beyond_are_still_one_end() {
    let connector = joining(pear(), &LEGS);
    for spread in [120.0, 150.0, 170.0] {
        let pulls = two_and_one(LEGS, spread);
        brought(&Setting { pulls: &pulls, ..Setting::new(&connector, Place::Joint) }, Position::TriAxial);
    }
}

#[test]
fn at_an_anchor_the_anchor_itself_is_the_third_pull() {
    let connector = joining(pear(), &LEGS[..2]);
    let [left, right, _] = two_and_one(LEGS, thresholds().tri_axial_deg.value + 1.0);
    let pulls = [left, right];
    brought(&Setting { pulls: &pulls, ..Setting::new(&connector, Place::Anchor) }, Position::TriAxial);
    let one = joining(pear(), &["left"]);
    kept_away(&Setting { pulls: &pulls[..1], ..Setting::new(&one, Place::Anchor) }, Position::TriAxial);
}

#[test]
fn what_lies_in_the_connector_once_pulls_as_one() {
    let wide = two_and_one(["cord", "cord", "rope"], thresholds().tri_axial_deg.value + 20.0);
    let with = |names| {
        let connector = joining(pear(), names);
        find(&Setting { pulls: &wide, ..Setting::new(&connector, Place::Joint) }, Position::TriAxial)
    };
    assert_eq!(with(&["cord", "rope"]), None);
    assert_eq!(with(&["master knot", "rope"]), None);
    assert!(with(&["cord", "cord", "rope"]).is_some_and(|slip| slip.is_known));
    assert!(with(&[]).is_some_and(|slip| asks_for(&slip, "joins")));
}

#[test]
fn strands_of_a_rope_that_runs_through_pull_as_one() {
    let spread = thresholds().tri_axial_deg.value + 20.0;
    let running =
        two_and_one(["rope", "rope", "tape"], spread).map(|pull| PullOn { runs_through: pull.name == "rope", ..pull });
    let runner = runner();
    kept_away(&Setting { pulls: &running, ..at_rope(&runner) }, Position::TriAxial);
    kept_away(&Setting { pulls: &running, ..at_rope(&runner) }, Position::OffSpine);
}

#[test]
fn what_another_connector_takes_is_felt_as_the_pull_that_balances_the_rest() {
    let pulls = two_and_one(LEGS, thresholds().tri_axial_deg.value + 20.0);
    let with = |names, pulls| {
        let connector = joining(pear(), names);
        find(&Setting { pulls, ..Setting::new(&connector, Place::Joint) }, Position::TriAxial)
    };
    assert!(with(&["left", "rope"], &pulls).is_some_and(|slip| slip.is_known));
    let [left, _, rope] = pulls;
    let in_line = [PullOn { direction: [0.0, 0.0, 1.0], force: rope.force, ..left }, rope, up("right", 40.0)];
    assert_eq!(with(&["left", "rope"], &in_line), None);
}

#[test]
fn a_strand_that_hardly_pulls_is_left_out() {
    let [left, right, rope] = two_and_one(LEGS, thresholds().tri_axial_deg.value + 20.0);
    let faint = Force::from_newtons(0.9 * thresholds().least_share.value * 5e3);
    let pulls = [PullOn { direction: [0.0, 0.0, 1.0], ..left }, PullOn { force: faint, ..right }, rope];
    let connector = joining(pear(), &LEGS);
    kept_away(&Setting { pulls: &pulls, ..Setting::new(&connector, Place::Joint) }, Position::TriAxial);
}

#[test]
fn no_pull_at_all_spreads_nowhere() {
    let pulls = [PullOn { force: Force::default(), ..up("left", 0.0) }];
    let unsaid = joining(runner(), &[]);
    for pulls in [&pulls[..0], &pulls] {
        kept_away(&Setting { pulls, ..Setting::new(&unsaid, Place::Anchor) }, Position::TriAxial);
        kept_away(&Setting { pulls, ..Setting::new(&unsaid, Place::Anchor) }, Position::OffSpine);
    }
}

#[test]
fn legs_that_spread_a_little_leave_the_spine_of_a_narrow_shape() {
    let middle = f64::midpoint(thresholds().off_spine_deg.value, thresholds().tri_axial_deg.value);
    let pulls = two_and_one(LEGS, middle);
    let narrow = joining(runner(), &LEGS);
    let slip = brought(&Setting { pulls: &pulls, ..Setting::new(&narrow, Place::Joint) }, Position::OffSpine);
    assert_eq!((slip.bears, codes(&slip)), (None, vec!["pulls-off-spine", "position-unrated"]));
    let broad = joining(pear(), &LEGS);
    kept_away(&Setting { pulls: &pulls, ..Setting::new(&broad, Place::Joint) }, Position::OffSpine);
    let closer = two_and_one(LEGS, thresholds().off_spine_deg.value - 1.0);
    kept_away(&Setting { pulls: &closer, ..Setting::new(&narrow, Place::Joint) }, Position::OffSpine);
}

#[test]
fn many_things_crowd_a_narrow_shape() {
    let names = vec!["sling"; thresholds().crowded_from.value as usize];
    let crowded = joining(runner(), &names);
    assert!(codes(&brought(&Setting::new(&crowded, Place::Joint), Position::OffSpine)).contains(&"crowded"));
    kept_away(&Setting::new(&joining(runner(), &names[1..]), Place::Joint), Position::OffSpine);
    kept_away(&Setting::new(&joining(pear(), &names), Place::Joint), Position::OffSpine);
}

#[test]
fn a_shape_that_is_not_given_may_be_narrow_unless_the_letter_defines_it() {
    let names = vec!["sling"; thresholds().crowded_from.value as usize];
    let unknown = Connector { shape: None, class: Some(Class::B), ..joining(runner(), &names) };
    assert!(asks_for(&brought(&Setting::new(&unknown, Place::Joint), Position::OffSpine), "shape"));
    let by_letter = Connector { shape: None, class: Some(Class::H), ..joining(runner(), &names) };
    kept_away(&Setting::new(&by_letter, Place::Joint), Position::OffSpine);
    let oval = Connector { shape: None, class: Some(Class::X), ..joining(runner(), &names) };
    assert!(brought(&Setting::new(&oval, Place::Joint), Position::OffSpine).is_known);
}

// Levered, over an edge

#[test]
fn held_stiff_at_the_bolt_it_is_levered() {
    let stiff = [(None, Some(Keeper::Elastic)), (None, Some(Keeper::Bar)), (Some(false), Some(Keeper::None))];
    for (free_to_turn, keeper) in stiff {
        let held = Connector { free_to_turn, keeper, ..runner() };
        let slip = brought(&Setting::new(&held, Place::BoltEnd), Position::Levered);
        assert_eq!(codes(&slip), ["held-stiff-at-bolt", "position-unrated"]);
        kept_away(&Setting::new(&held, Place::RopeEnd), Position::Levered);
    }
    for (free_to_turn, keeper) in [(Some(true), None), (Some(true), Some(Keeper::Elastic)), (None, Some(Keeper::None))]
    {
        let free = Connector { free_to_turn, keeper, ..runner() };
        kept_away(&Setting::new(&free, Place::BoltEnd), Position::Levered);
    }
    let unknown = Connector { free_to_turn: None, keeper: None, ..runner() };
    assert!(asks_for(&brought(&Setting::new(&unknown, Place::BoltEnd), Position::Levered), "keeper"));
}

#[test]
fn over_an_edge_as_said_or_as_not_known() {
    let at = |over_edge, place| find(&Setting::new(&Connector { over_edge, ..pear() }, place), Position::OverEdge);
    assert_eq!(codes(&at(Some(true), Place::Joint).expect("over an edge")), ["lies-over-edge", "position-unrated"]);
    assert_eq!(at(Some(false), Place::Joint), None);
    assert!(asks_for(&at(None, Place::Anchor).expect("not known"), "over_edge"));
    assert_eq!(at(None, Place::Person), None);
}

// Rigging errors

#[test]
fn only_a_hooked_or_unknown_nose_catches() {
    let with_nose = |nose| Connector { nose, ..runner() };
    assert!(
        codes(&brought(&at_rope(&with_nose(Some(Nose::Hooked))), Position::NoseHooked)).contains(&"nose-can-catch")
    );
    assert!(asks_for(&brought(&at_rope(&with_nose(None)), Position::NoseHooked), "nose"));
    kept_away(&at_rope(&with_nose(Some(Nose::Hookless))), Position::NoseHooked);
    let locked = Connector { nose: Some(Nose::Hooked), ..pear() };
    kept_away(&at_rope(&locked), Position::NoseHooked);
}

#[test]
fn clipping_errors_belong_to_runners_without_a_lock() {
    let plain = runner();
    for (position, code) in
        [(Position::RopeOverGate, "rope-can-cross-gate"), (Position::BackClipped, "runner-can-be-reversed")]
    {
        let slip = brought(&at_rope(&plain), position);
        assert!(slip.how == How::RiggingError && codes(&slip).contains(&code));
        brought(&Setting { rope_runs: true, leads: true, ..Setting::new(&plain, Place::Anchor) }, position);
        kept_away(&Setting { rope_runs: true, ..Setting::new(&plain, Place::Joint) }, position);
        kept_away(&Setting::new(&plain, Place::BoltEnd), position);
        kept_away(&at_rope(&pear()), position);
    }
}

#[test]
fn a_line_zigzags_from_two_runners_on() {
    let plain = runner();
    let slip = brought(&Setting { runners_on_line: 2, ..at_rope(&plain) }, Position::ZClipped);
    assert!(slip.because.contains(&Reason::LineCanZigzag { runners: 2 }));
    kept_away(&Setting { runners_on_line: 1, ..at_rope(&plain) }, Position::ZClipped);
    kept_away(
        &Setting { rope_runs: true, runners_on_line: 2, ..Setting::new(&plain, Place::Joint) },
        Position::ZClipped,
    );
}

#[test]
fn an_elastic_keeper_on_an_open_sling_can_hold_alone() {
    let keeper = |keeper| Connector { keeper, ..runner() };
    let elastic = keeper(Some(Keeper::Elastic));
    for place in [Place::BoltEnd, Place::RopeEnd] {
        assert!(
            codes(&brought(&Setting::new(&elastic, place), Position::KeeperOnly)).contains(&"keeper-may-hold-alone")
        );
    }
    kept_away(&Setting { open_sling: Some(false), ..Setting::new(&elastic, Place::RopeEnd) }, Position::KeeperOnly);
    kept_away(&Setting::new(&elastic, Place::Joint), Position::KeeperOnly);
    kept_away(&Setting::new(&keeper(Some(Keeper::Bar)), Place::RopeEnd), Position::KeeperOnly);
    assert!(asks_for(&brought(&Setting::new(&keeper(None), Place::RopeEnd), Position::KeeperOnly), "keeper"));
}

#[test]
fn a_connector_in_a_connector_is_named() {
    let holds = joining(pear(), &["tape", "other"]);
    fn setting(connector: &Connector) -> Setting<'_> {
        Setting { neighbours: &["other"], ..Setting::new(connector, Place::Joint) }
    }
    let slip = brought(&setting(&holds), Position::ConnectorInConnector);
    assert!(slip.because.contains(&Reason::ConnectorInside { other: "other".into() }));
    kept_away(&setting(&joining(pear(), &["tape"])), Position::ConnectorInConnector);
    assert!(asks_for(&brought(&setting(&joining(pear(), &[])), Position::ConnectorInConnector), "joins"));
    kept_away(&Setting::new(&joining(pear(), &[]), Place::Joint), Position::ConnectorInConnector);
    kept_away(&setting(&joining(quick_link(), &["other"])), Position::ConnectorInConnector);
}

#[test]
fn the_other_of_a_pair_does_not_hang_in_it() {
    let (one, other) = (joining(pear(), &[]), Connector { name: "other".into(), ..pear() });
    let setting = Setting { opposed: Some(&other), neighbours: &["other"], ..Setting::new(&one, Place::Joint) };
    kept_away(&setting, Position::ConnectorInConnector);
}

#[test]
fn a_quick_link_has_to_be_screwed_home_and_no_gate_to_open() {
    let link = |locked| Connector { locked, ..quick_link() };
    fn at(connector: &Connector) -> Setting<'_> {
        Setting { rope_runs: true, leads: true, ..Setting::new(connector, Place::Anchor) }
    }
    kept_away(&at(&link(Some(true))), Position::NotScrewedHome);
    assert!(codes(&brought(&at(&link(Some(false))), Position::NotScrewedHome)).contains(&"link-not-screwed-home"));
    assert!(asks_for(&brought(&at(&link(None)), Position::NotScrewedHome), "locked"));
    kept_away(&at(&pear()), Position::NotScrewedHome);
    for position in [Position::GateOpen, Position::NoseHooked, Position::RopeOverGate, Position::BackClipped] {
        kept_away(&at(&link(None)), position);
    }
}

#[test]
fn gear_loops_are_a_matter_of_duty() {
    let with_duty = |duty: &str| Connector { duty: Some(duty.to_owned()), ..pear() };
    let belay = with_duty("Belay");
    assert!(codes(&brought(&Setting::new(&belay, Place::Person), Position::GearLoop)).contains(&"gear-loop-close"));
    kept_away(&Setting::new(&belay, Place::Joint), Position::GearLoop);
    kept_away(&Setting::new(&pear(), Place::Person), Position::GearLoop);
    let racked = with_duty("gear loop");
    assert!(codes(&brought(&Setting::new(&racked, Place::Person), Position::GearLoop)).contains(&"holds-gear-only"));
}

#[test]
fn an_unrated_position_has_no_strength() {
    let worst =
        Connector { over_edge: Some(true), nose: Some(Nose::Hooked), keeper: Some(Keeper::Elastic), ..runner() };
    let found = slips(&Setting { open_sling: Some(true), ..at_rope(&worst) });
    let rated = [Position::Closed, Position::GateOpen, Position::CrossLoaded];
    let unrated: Vec<_> = found.iter().filter(|slip| !rated.contains(&slip.position)).collect();
    assert!(unrated.len() >= 5);
    assert!(unrated.iter().all(|slip| slip.bears.is_none() && codes(slip).ends_with(&["position-unrated"])));
}

#[test]
fn nothing_known_means_everything_possible_and_every_reason_says_what_to_fill_in() {
    let unknown = Connector { name: "found".into(), ..Connector::default() };
    let found =
        slips(&Setting { rope_runs: true, leads: true, runners_on_line: 2, ..Setting::new(&unknown, Place::RopeEnd) });
    let possible: BTreeSet<_> = found.iter().map(|slip| slip.position).collect();
    for position in
        [Position::GateOpen, Position::CrossLoaded, Position::OverEdge, Position::NoseHooked, Position::KeeperOnly]
    {
        assert!(possible.contains(&position), "{}", position.code());
    }
    let unasked: Vec<_> = found.iter().filter(|slip| slip.is_known).map(|slip| slip.position).collect();
    assert_eq!(unasked, [Position::Closed, Position::ZClipped]);
    assert!(found.iter().all(|slip| slip.bears.is_none()));
}
