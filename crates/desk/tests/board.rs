//! The drawing board: what is moved, and what follows.

use desk::board::{Move, NotDrawn, check, put, quick};
use serde_json::Value;

const LEAD: &str = include_str!("../../../examples/lead-sea-cliff.toml");

fn moved(point: &str, at_m: [f64; 3]) -> Move {
    Move { point: point.to_owned(), at_m }
}

#[test]
fn a_point_that_is_moved_changes_its_numbers_and_nothing_else() {
    let text = put(LEAD, &moved("cam", [-0.3, 0.0, 9.504])).expect("it can be moved");
    let changed: Vec<_> = LEAD.lines().zip(text.lines()).filter(|(before, after)| before != after).collect();
    assert_eq!(changed, [("at_m = [-0.3, 0.0, 9.0]", "at_m = [-0.3, 0.0, 9.5]")]);
    assert_eq!(LEAD.lines().count(), text.lines().count());
}

#[test]
fn the_rope_end_of_a_draw_has_no_place_of_its_own_to_move() {
    assert!(matches!(put(LEAD, &moved("draw 1", [0.0; 3])), Err(NotDrawn::NotMovable(point)) if point == "draw 1"));
}

#[test]
fn quick_gives_the_loads_as_typed_that_the_check_gives() {
    let quick = quick(LEAD, None).expect("it is solved");
    let whole = check(LEAD, None).expect("it is solved");
    assert_eq!(quick["strands"], whole["strands"]);
    let typed = |board: &Value| {
        let links = board["links"].as_array().expect("links").iter();
        let mut told: Vec<_> =
            links.map(|link| [&link["link"], &link["position"], &link["as_typed_kn"]].map(Value::to_string)).collect();
        told.sort();
        told
    };
    assert_eq!(typed(&quick), typed(&whole));
}

#[test]
fn a_motion_begins_where_the_rig_is_drawn_and_keeps_its_peak() {
    let board = check(LEAD, None).expect("it is solved");
    let motion = &board["motion"];
    let moments = motion["times_s"].as_array().expect("times").len();
    assert!((50..=160).contains(&moments), "{moments}");
    assert_eq!(motion["at_m"][0][3], board["points"][3]["at_m"]);
    let peak =
        motion["curves"][0]["kn"].as_array().expect("loads").iter().filter_map(Value::as_f64).fold(0.0, f64::max);
    let name = &motion["curves"][0]["name"];
    let points = board["answer"]["cases"][0]["points"].as_array().expect("points").iter();
    let told = points
        .chain(board["answer"]["cases"][0]["persons"].as_array().expect("persons"))
        .find(|point| point["name"] == *name);
    let told = told.and_then(|point| point["peak_kn"].as_f64()).expect("the point's peak");
    assert!((peak - told).abs() < 1e-9, "{peak} {told}");
}

#[test]
fn what_is_wrong_is_told_with_its_place() {
    let fault = quick(&LEAD.replace("case = \"fall\"", "case = \"full\""), None).expect_err("no such case");
    let (what, help, place) = &fault.wrongs()[0];
    assert!(what.contains("full") && !help.is_empty(), "{what} {help}");
    assert_eq!(place.map(|[line, _]| line), Some(7));
}
