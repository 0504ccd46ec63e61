//! Sentences of the contract's text (`validation/contract/rig-file.md`) that its example rigs do not show, one test each.

use rig::model::{PointId, Rig};
use rig::solve::{Loads, typed};

const G: f64 = 9.80665;

fn read(text: &str) -> Rig {
    rig::read(text, "test").unwrap_or_else(|faults| panic!("{faults}"))
}

fn loads(rig: &Rig) -> Loads {
    typed(rig).unwrap_or_else(|failure| panic!("{failure}"))
}

fn point(rig: &Rig, name: &str) -> usize {
    rig.points.iter().position(|point| point.name == name).unwrap_or_else(|| panic!("no point {name}"))
}

/// A climber hangs from a bolt on a line through a second bolt; `more` follows.
fn hanging(more: &str) -> String {
    format!(
        r#"
title = "hanging"
case = "rest"
[rope.low]
response = {{ slow_kn = 20, fast_kn = 0, relax_s = 1 }}
[[anchor]]
name = "one"
at_m = [0, 0, 0]
[[anchor]]
name = "two"
at_m = [3, 0, 4]
[[person]]
name = "climber"
mass_kg = 100
at_m = [3, 0, 2]
[[line]]
of = "low"
through = ["one", "two", "climber"]
{more}"#
    )
}

#[test]
fn at_rest_persons_weigh_on_what_they_hang_from_and_a_line_has_one_tension() {
    let rig = read(&hanging(""));
    let loads = loads(&rig);
    let weight = 100.0 * G / 1e3;
    for tension in &loads.lines[0] {
        assert!((tension / weight - 1.0).abs() < 1e-9, "{tension} kN");
    }
    assert!((loads.points[point(&rig, "climber")].peak_kn / weight - 1.0).abs() < 1e-9);
    // The second bolt takes both strands: one straight down, one toward (-3, -4)/5.
    let expected = weight * (0.6_f64.powi(2) + 1.8_f64.powi(2)).sqrt();
    assert!((loads.points[point(&rig, "two")].peak_kn / expected - 1.0).abs() < 1e-6);
    // Stretch: one tension over 5 m + 2 m + stretch, at slow_kn times the strain as a whole.
    let stretch = 7.0 * weight / 20.0;
    assert!((loads.points[point(&rig, "climber")].lowest_m - (2.0 - stretch)).abs() < 1e-6);
}

#[test]
fn joints_weigh_nothing_at_rest() {
    let text = r#"
title = "joint"
case = "rest"
[sling.tape]
stiffness_kn = 100
[[anchor]]
name = "top"
at_m = [0, 0, 1]
[[joint]]
name = "heavy"
at_m = [0, 0, 0]
mass_kg = 50
[[leg]]
from = "top"
to = "heavy"
of = "tape"
[[pull]]
at = "heavy"
force_kn = [0, 0, -1]
"#;
    assert!((loads(&read(text)).legs[0] - 1.0).abs() < 1e-9);
}

#[test]
fn a_given_length_is_spread_over_the_segments_in_proportion() {
    let rig = read(&hanging("length_m = 14\n"));
    let lengths = rig.segment_lengths(&rig.lines[0]);
    assert!((lengths[0] - 10.0).abs() < 1e-12 && (lengths[1] - 4.0).abs() < 1e-12, "{lengths:?}");
}

#[test]
fn slack_hangs_in_the_last_segment() {
    let rig = read(&hanging("slack_m = 0.7\n"));
    let lengths = rig.segment_lengths(&rig.lines[0]);
    assert!((lengths[0] - 5.0).abs() < 1e-12 && (lengths[1] - 2.7).abs() < 1e-12, "{lengths:?}");
}

#[test]
fn of_several_connectors_the_one_whose_joins_has_the_rope_decides_the_friction_else_the_first() {
    let connector = |name: &str, friction: f64, joins: &str| {
        format!("[[connector]]\nname = \"{name}\"\nat = \"two\"\nfriction = {friction}\njoins = [{joins}]\n")
    };
    let first = connector("first", 0.1, "\"tape\"");
    let second = connector("second", 0.3, "\"tape\", \"low\"");
    let third = connector("third", 0.5, "");
    let friction = |more: String| {
        let rig = read(&hanging(&more));
        rig.friction_at(PointId(point(&rig, "two")), &rig.lines[0])
    };
    assert_eq!(friction(format!("{first}{second}{third}")), 0.3);
    assert_eq!(friction(format!("{first}{third}")), 0.1);
    assert_eq!(friction(String::new()), 0.25, "the default of the file");
    let silent = first.replace("friction = 0.1\n", "");
    assert_eq!(friction(format!("{silent}{third}")), 0.25, "the first decides, even by saying nothing");
}

#[test]
fn a_draw_hangs_straight_down_and_its_ends_see_the_leg_and_the_rope() {
    let text = std::fs::read_to_string(format!(
        "{}/../../validation/contract/lead-swinging-draws.toml",
        env!("CARGO_MANIFEST_DIR")
    ))
    .expect("a rig of the contract");
    let text = text.replace("name = \"draw 3\"", "name = \"draw 3\"\nbolt_end = \"upper\"\nrope_end = \"lower\"")
        + "\n[[connector]]\nname = \"upper\"\nat = \"draw 3\"\n[[connector]]\nname = \"lower\"\nat = \"draw 3\"\n";
    let rig = read(&text);
    let draw = rig.draws[2];
    assert_eq!(rig.points[draw.joint.0].at, [-0.6, 0.0, 9.0 - 0.18]);
    let bands =
        rig::band::bands(&rig::solve::Prepared::new(&rig).expect("ropes that fit")).expect("a rig that can be solved");
    let check = rig::check::check(&rig, &bands, &trade::policy::Policy::default());
    let typed = |name: &str| check.links.iter().find(|link| link.name == name).expect(name).as_typed.kn();
    assert_eq!(typed("upper"), bands.typed().legs[draw.leg.0]);
    assert_eq!(typed("lower"), bands.typed().points[draw.joint.0].peak_kn);
}

#[test]
fn a_line_may_come_back_to_a_point() {
    let rig = read(
        r#"
title = "there and back"
case = "rest"
[rope.low]
response = { slow_kn = 20, fast_kn = 0, relax_s = 1 }
[[anchor]]
name = "top"
at_m = [0, 0, 5]
[[joint]]
name = "load"
at_m = [0, 0, 2]
[[line]]
of = "low"
through = ["top", "load", "top"]
[[pull]]
at = "load"
force_kn = [0, 0, -2]
"#,
    );
    let loads = loads(&rig);
    assert!((loads.lines[0][0] - 1.0).abs() < 1e-9, "two strands share the load");
    assert!((loads.points[point(&rig, "top")].peak_kn - 2.0).abs() < 1e-9);
}

#[test]
fn lists_keep_the_order_of_the_file() {
    let rig = read(&hanging(""));
    let names: Vec<_> = rig.points.iter().map(|point| point.name.as_str()).collect();
    assert_eq!(names, ["one", "two", "climber"]);
}

/// One who falls past a point is not stopped by it: the fall of the contract passes its belay.
#[test]
fn who_falls_past_a_point_is_not_stopped_by_it() {
    let text = std::fs::read_to_string(format!(
        "{}/../../validation/contract/factor-two-elastic.toml",
        env!("CARGO_MANIFEST_DIR")
    ))
    .expect("a rig of the contract");
    let rig = read(&text);
    assert!(loads(&rig).points[point(&rig, "leader")].lowest_m < -2.5);
}

/// At rest the pull on one who stands lifts them only where it exceeds their weight; a slack tether then holds them.
#[test]
fn one_who_stands_stays_put_while_the_pull_does_not_lift_them() {
    let rig = |mass: f64| {
        read(&hanging(&format!(
            "[[person]]\nname = \"belayer\"\nmass_kg = {mass}\nat_m = [0, 0, -3]\nstands = true\n\
             [[line]]\nof = \"low\"\nthrough = [\"belayer\", \"one\", \"weight\"]\n\
             [[joint]]\nname = \"weight\"\nat_m = [0.5, 0, -2]\n[[pull]]\nat = \"weight\"\nforce_kn = [0, 0, -0.7]\n\
             [sling.tether]\nstiffness_kn = 100\n[[anchor]]\nname = \"ground\"\nat_m = [0, 0, -3.5]\n\
             [[leg]]\nfrom = \"ground\"\nto = \"belayer\"\nof = \"tether\"\nlength_m = 1\n"
        )))
    };
    let (heavy, light) = (rig(80.0), rig(60.0));
    let height = |rig: &Rig| loads(rig).points[point(rig, "belayer")].lowest_m;
    assert_eq!(height(&heavy), -3.0);
    assert!((height(&light) - -2.5).abs() < 0.01, "0.7 kN lifts 60 kg until the tether holds");
    assert!((loads(&light).legs[0] - (0.7 - 60.0 * G / 1e3)).abs() < 1e-6, "which takes what the weight does not");
}
