//! Valid rig files: those of the contract, its defaults, and the whole of its connector.

use std::path::{Path, PathBuf};

use rig::model::{Case, Holds, LineLength, PointId, PointKind, Rig, RopeKind, RopeResponse, Seat, Stance};
use trade::connector::{Class, Gate, Keeper, Lock, Nose, Shape};

fn contract_files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../validation/contract");
    let entries = std::fs::read_dir(folder).expect("the contract's rigs are there");
    let paths = entries.map(|entry| entry.expect("a readable folder").path());
    let mut files: Vec<PathBuf> = paths.filter(|path| path.extension().is_some_and(|end| end == "toml")).collect();
    files.sort();
    files
}

fn contract(name: &str) -> Rig {
    let path = contract_files().into_iter().find(|path| path.file_stem().is_some_and(|stem| stem == name));
    let text = std::fs::read_to_string(path.expect("a rig of the contract")).expect("a readable file");
    read(&text)
}

fn read(text: &str) -> Rig {
    rig::read(text, "rig.toml").unwrap_or_else(|faults| panic!("{faults}"))
}

fn names(rig: &Rig) -> Vec<&str> {
    rig.points.iter().map(|point| point.name.as_str()).collect()
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-12
}

#[test]
fn every_file_of_the_contract_is_read() {
    let files = contract_files();
    assert_eq!(files.len(), 8, "{files:?}");
    for path in files {
        let text = std::fs::read_to_string(&path).expect("a readable file");
        let rig = rig::read(&text, &path.to_string_lossy()).unwrap_or_else(|faults| panic!("{faults}"));
        assert!(!rig.title.is_empty() && !rig.points.is_empty(), "{}", path.display());
    }
}

#[test]
fn line_ends_and_a_byte_order_mark_make_no_difference() {
    let path = contract_files().swap_remove(0);
    let text = std::fs::read_to_string(path).expect("a readable file");
    let with_returns = text.replace('\n', "\r\n");
    assert_eq!(read(&with_returns), read(&text));
    assert_eq!(read(&format!("\u{feff}{text}")), read(&text));
}

#[test]
fn a_loop_at_rest_is_read_as_written() {
    let rig = contract("anchor-sliding-loop");
    assert_eq!(rig.case, Case::Rest);
    assert_eq!(names(&rig), ["left", "right", "master", "load"]);
    let RopeResponse::Given { slow, fast, relax_s } = rig.ropes[0].response else { panic!("{:?}", rig.ropes) };
    assert_eq!((slow.kn(), fast.kn(), relax_s), (90.0, 0.0, 1.0));
    assert_eq!(rig.ropes[0].kind, RopeKind::Single);
    assert_eq!(rig.slings[0].strength.map(terms::Force::kn), Some(22.0));
    assert_eq!((rig.legs[0].from, rig.legs[0].to, rig.legs[0].strands), (PointId(2), PointId(3), 2.0));
    let LineLength::Given(length) = rig.lines[0].length else { panic!("{:?}", rig.lines) };
    assert_eq!(length.m(), 1.5);
    assert_eq!(rig.lines[0].through, [PointId(0), PointId(2), PointId(1)]);
    assert_eq!((rig.pulls[0].at, rig.pulls[0].force_kn), (PointId(3), [-0.6, 0.2, -5.0]));
}

#[test]
fn draws_become_joints_and_legs_that_hang_straight_down() {
    let rig = contract("lead-swinging-draws");
    assert_eq!(names(&rig), ["bolt 1", "bolt 2", "bolt 3", "draw 1", "draw 2", "draw 3", "leader", "belayer"]);
    let draw = rig.draws[1];
    let (joint, leg) = (&rig.points[draw.joint.0], rig.legs[draw.leg.0]);
    assert_eq!((draw.on, leg.from, leg.to, leg.length.m()), (PointId(1), PointId(1), draw.joint, 0.6));
    assert!(close(joint.at[0], 1.0) && close(joint.at[1], 0.0) && close(joint.at[2], 5.4), "{:?}", joint.at);
    assert_eq!((draw.bolt_end, draw.rope_end), (None, None));
    let stances: Vec<_> = rig.points[6..].iter().map(|point| point.kind).collect();
    assert!(matches!(stances[0], PointKind::Person { stance: Stance::Falls, .. }), "{stances:?}");
    assert!(matches!(stances[1], PointKind::Person { stance: Stance::Stands, .. }), "{stances:?}");
    assert_eq!(rig.lines[0].brake_slips_at, None);
}

#[test]
fn what_is_left_out_takes_the_default_of_the_contract() {
    let rig = read(
        r#"
        case = "fall"
        rope.main.response = { slow_kn = 10, fast_kn = 5, relax_s = 0.1 }
        sling.tape.stiffness_kn = 100
        anchor = [{ name = "bolt", at_m = [0, 0, 0] }]
        joint = [{ name = "master", at_m = [3, 0, -4] }]
        draw = [{ name = "draw", on = "bolt", of = "tape", length_m = 0.2 }]
        leg = [{ from = "bolt", to = "master", of = "tape" }]
        person = [{ name = "leader", mass_kg = 80, at_m = [0, 0, 1] }]
        line = [{ of = "main", through = ["bolt", "leader"] }]
        "#,
    );
    assert_eq!((rig.friction, rig.until_s, rig.friction_band), (0.25, 3.0, None));
    for joint in ["master", "draw"] {
        let point = rig.points.iter().find(|point| point.name == joint).expect("the joint is there");
        assert!(matches!(point.kind, PointKind::Joint { mass } if mass.kg() == 0.1), "{point:?}");
    }
    // 3, 4 and 5 make a right-angled triangle.
    assert_eq!((rig.legs[0].strands, rig.legs[0].length.m()), (1.0, 5.0));
    assert_eq!((rig.draws[0].leg.0, rig.legs[1].length.m(), rig.legs[1].strands), (1, 0.2, 1.0));
    assert!(matches!(rig.lines[0].length, LineLength::Slack(slack) if slack.m() == 0.0), "{:?}", rig.lines);
    assert_eq!(rig.ropes[0].kind, RopeKind::Single);
}

const CONNECTORS: &str = r#"
    case = "rest"
    friction_band = [0.1, 0.3]
    [sling.tape]
    stiffness_kn = 100
    stiffness_band_kn = [80, 150]
    knot = "figure eight"
    [rope.low-stretch]
    kind = "half"
    strength_kn = 22
    impact_force_kn = 6
    static_elongation_pct = 3
    dynamic_elongation_pct = 20
    [[anchor]]
    name = "cam"
    at_m = [0, 0, 0]
    holds_kn = { along = 10, across = 4, upward = 0, direction = [0, 3, -4] }
    [[anchor]]
    name = "nut"
    at_m = [1, 0, 0]
    holds_kn = { along = 8, across = 3, upward = 1 }
    [[anchor]]
    name = "bolt"
    at_m = [2, 0, 0]
    holds_kn = 25
    [[joint]]
    name = "master"
    at_m = [0, 0, -1]
    [[draw]]
    name = "draw"
    on = "bolt"
    of = "tape"
    length_m = 0.2
    bolt_end = "upper"
    rope_end = "lower"
    [[connector]]
    name = "upper"
    [[connector]]
    name = "lower"
    at = "draw"
    [[connector]]
    name = "belay pear"
    at = "master"
    piece = "C-014"
    class = "H"
    shape = "pear"
    closed_kn = 22.0
    open_kn = 7.0
    minor_kn = 6.0
    gate = "solid"
    lock = "screw"
    locked = true
    nose = "hookless"
    opposed_to = "spare pear"
    joins = ["sling", "rope"]
    free_to_turn = true
    keeper = "none"
    over_edge = false
    friction = 0.18
    duty = "master point"
    [[connector]]
    name = "spare pear"
    at = "master"
"#;

#[test]
fn a_connector_in_full_is_read_as_written() {
    let rig = read(CONNECTORS);
    let connector = &rig.connectors[2].connector;
    assert_eq!((connector.name.as_str(), connector.piece.as_deref()), ("belay pear", Some("C-014")));
    assert_eq!((connector.class, connector.shape), (Some(Class::H), Some(Shape::Pear)));
    let strengths = [connector.closed, connector.open, connector.minor].map(|force| force.map(terms::Force::kn));
    assert_eq!(strengths, [Some(22.0), Some(7.0), Some(6.0)]);
    assert_eq!((connector.gate, connector.lock), (Some(Gate::Solid), Some(Lock::Screw)));
    assert_eq!((connector.nose, connector.keeper), (Some(Nose::Hookless), Some(Keeper::None)));
    assert_eq!((connector.locked, connector.free_to_turn, connector.over_edge), (Some(true), Some(true), Some(false)));
    assert_eq!((connector.opposed_to.as_deref(), connector.friction), (Some("spare pear"), Some(0.18)));
    assert_eq!((connector.joins.join(" "), connector.duty.as_deref()), ("sling rope".into(), Some("master point")));
    let spare = &rig.connectors[3].connector;
    assert_eq!((spare.class, spare.closed, spare.locked, spare.friction), (None, None, None, None));
}

#[test]
fn connectors_sit_where_the_file_says() {
    let rig = read(CONNECTORS);
    let seats: Vec<Seat> = rig.connectors.iter().map(|seated| seated.seat).collect();
    assert_eq!(seats, [Seat::BoltEnd(0), Seat::RopeEnd(0), Seat::At(PointId(3)), Seat::At(PointId(3))]);
    assert_eq!((rig.draws[0].bolt_end, rig.draws[0].rope_end), (Some(0), Some(1)));
}

#[test]
fn keys_of_our_own_are_read_as_written() {
    let rig = read(CONNECTORS);
    assert_eq!(rig.friction_band.map(|band| (band.low, band.high)), Some((0.1, 0.3)));
    let sling = &rig.slings[0];
    assert_eq!(sling.stiffness_band_kn.map(|band| (band.low, band.high)), Some((80.0, 150.0)));
    assert_eq!((sling.knot.as_deref(), sling.strength), (Some("figure eight"), None));
    assert_eq!((rig.ropes[0].kind, rig.ropes[0].strength.map(terms::Force::kn)), (RopeKind::Half, Some(22.0)));
    let held = |kind| if let PointKind::Anchor { holds } = kind { holds } else { None };
    let holds: Vec<Holds> = rig.points.iter().filter_map(|point| held(point.kind)).collect();
    let Holds::ByDirection { along, across, upward, direction } = holds[0] else { panic!("{holds:?}") };
    assert_eq!((along.kn(), across.kn(), upward.kn()), (10.0, 4.0, 0.0));
    // 3, 4 and 5 make a right-angled triangle.
    assert!(close(direction[0], 0.0) && close(direction[1], 0.6) && close(direction[2], -0.8), "{direction:?}");
    assert!(matches!(holds[1], Holds::ByDirection { direction: [0.0, 0.0, -1.0], .. }), "{holds:?}");
    assert!(matches!(holds[2], Holds::Every(force) if force.kn() == 25.0), "{holds:?}");
}
