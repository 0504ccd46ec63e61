//! The drawing board: what is moved, and what follows.

use desk::board::{Board, Change, Figure, NotDrawn, Placed, changed};
use desk::units::Units;
use serde_json::{Value, json};

const LEAD: &str = include_str!("../../../examples/lead-sea-cliff.toml");

fn moved(point: &str, at_m: [f64; 3]) -> Change {
    Change::Move { point: point.to_owned(), at_m }
}

fn quick(text: &str, change: Option<&Change>) -> Result<Value, NotDrawn> {
    Board::read(text, change)?.quick()
}

fn check(text: &str, change: Option<&Change>) -> Result<Value, NotDrawn> {
    Board::read(text, change)?.check(Units::default())
}

#[test]
fn a_point_that_is_moved_changes_its_numbers_and_nothing_else() {
    let text = changed(LEAD, &moved("cam", [-0.3, 0.0, 9.504])).expect("it can be moved");
    let changed: Vec<_> = LEAD.lines().zip(text.lines()).filter(|(before, after)| before != after).collect();
    assert_eq!(changed, [("at_m = [-0.3, 0.0, 9.0]", "at_m = [-0.3, 0.0, 9.5]")]);
    assert_eq!(LEAD.lines().count(), text.lines().count());
}

#[test]
fn the_rope_end_of_a_draw_has_no_place_of_its_own_to_move() {
    assert!(
        matches!(changed(LEAD, &moved("draw 1", [0.0; 3])), Err(NotDrawn::NotChangeable(point)) if point == "draw 1")
    );
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

const ANCHOR: &str = include_str!("../../../examples/three-leg-anchor.toml");

#[test]
fn an_anchor_that_is_placed_gets_a_leg_to_the_joint_and_takes_its_share() {
    let place = Change::Place { what: Placed::Anchor, at_m: [0.3, 0.0, 0.404], to: None };
    let before = quick(ANCHOR, None).expect("it is solved");
    let after = quick(ANCHOR, Some(&place)).expect("it is solved");
    let text = after["text"].as_str().expect("a text");
    assert!(text.contains("name = \"anchor 1\"\nat_m = [0.3, 0.0, 0.4]"), "{text}");
    assert!(text.contains("from = \"anchor 1\"\nto = \"master\"\nof = \"cord\""), "{text}");
    let strands = |board: &Value| board["strands"].as_array().expect("strands").len();
    assert_eq!(strands(&after), strands(&before) + 1);
    assert!(ANCHOR.lines().all(|line| text.contains(line)), "all that stood there stays");
}

#[test]
fn an_anchor_that_is_placed_on_a_climb_gets_a_draw_that_the_rope_runs_through_in_its_order() {
    let text = changed(LEAD, &Change::Place { what: Placed::Anchor, at_m: [0.2, 0.0, 7.5], to: None })
        .expect("it can be placed");
    assert!(text.contains(r#"through = ["belayer", "draw 1", "draw 2", "draw 4", "draw 3", "leader"]"#), "{text}");
    quick(&text, None).expect("it is solved");
}

#[test]
fn a_draw_is_hung_on_an_anchor_that_is_there_and_the_rope_runs_through_it() {
    let hang = |on: &str, length_m| Change::Draw { on: on.to_owned(), of: "tape".to_owned(), length_m };
    let text = changed(LEAD, &hang("bolt 2", 0.6)).expect("an anchor");
    assert!(text.contains("of = \"tape\"\nlength_m = 0.6\nname = \"draw 4\"\non = \"bolt 2\""), "{text}");
    assert!(text.contains(r#"through = ["belayer", "draw 1", "draw 2", "draw 4", "draw 3", "leader"]"#), "{text}");
    quick(&text, None).expect("it is solved");
    let bare = LEAD.replace(r#""draw 1", "draw 2""#, r#""bolt 1", "draw 2""#);
    let text = changed(&bare, &hang("bolt 1", 0.17)).expect("an anchor");
    assert!(text.contains(r#"through = ["belayer", "draw 4", "draw 2", "draw 3", "leader"]"#), "in its place: {text}");
    assert!(matches!(changed(LEAD, &hang("draw 1", 0.17)), Err(NotDrawn::NotChangeable(on)) if on == "draw 1"));
    let fault = quick(LEAD, Some(&hang("bolt 1", 0.0))).expect_err("no length");
    assert!(!fault.wrongs()[0].1.is_empty(), "what would be right is told");
}

/// The field of a thing that a label names, as the board tells it.
fn field<'b>(board: &'b Value, kind: &str, name: &str, label: &str) -> &'b Value {
    let things = board["figures"].as_array().expect("things");
    let thing = things.iter().find(|thing| thing["kind"] == kind && thing["name"] == name);
    let fields = thing.expect("the thing")["fields"].as_array().expect("fields");
    fields.iter().find(|field| field["label"] == label).expect("the field")
}

#[test]
fn figures_are_told_by_the_schema_and_put_where_they_stand_with_all_around_them_left() {
    let board = |text: &str| Board::read(text, None).and_then(|board| board.check(Units::default())).expect("a rig");
    let told = board(LEAD);
    for (kind, name, label, unit, value) in [
        ("person", "leader", "mass", json!("kg"), json!(82)),
        ("anchor", "cam", "at", json!("m"), json!([-0.3, 0.0, 9.0])),
        ("anchor", "bolt 1", "holds", json!("kN"), json!(25)),
        ("anchor", "cam", "holds across", json!("kN"), json!(6)),
        ("sling", "tape", "stiffness band", json!("kN"), json!([70, 195])),
        ("person", "belayer", "stands", json!(null), json!(true)),
        ("person", "leader", "stands", json!(null), json!(null)),
        ("connector", "G-032", "gate", json!(null), json!("wire")),
        ("rig", "", "until, s", json!(null), json!(2.5)),
    ] {
        let field = field(&told, kind, name, label);
        assert_eq!((&field["unit"], &field["value"]), (&unit, &value), "{kind} {name} {label}");
    }
    assert_eq!(field(&told, "connector", "G-032", "gate")["choices"], json!(["solid", "wire"]));
    let put = |kind, name, label, figure| {
        let way = serde_json::from_value(field(&told, kind, name, label)["way"].clone()).expect("a way");
        changed(LEAD, &Change::Put { way, figure })
    };
    let heavier = put("person", "leader", "mass", Some(Figure::Number(95.5))).expect("a mass");
    assert_eq!(heavier, LEAD.replace("mass_kg = 82", "mass_kg = 95.5"));
    assert!(board(&heavier)["answer"] != told["answer"], "the answer is of the text as it is then");
    let upward = put("anchor", "cam", "holds upward", Some(Figure::Number(3.0))).expect("a strength");
    assert_eq!(upward, LEAD.replace("upward = 2", "upward = 3"));
    let band = put("sling", "tape", "stiffness band", Some(Figure::Numbers(vec![80.0, 190.5]))).expect("a band");
    assert_eq!(band, LEAD.replace("[70, 195]", "[80, 190.5]"));
    let hanging = put("person", "belayer", "stands", None).expect("nothing told");
    assert_eq!(hanging.lines().count() + 1, LEAD.lines().count(), "the line is gone");
    let heavy = put("line", "main", "brake slips at", Some(Figure::Number(2.0))).expect("a brake");
    assert!(heavy.contains("brake = { slips_at_kn = 2 }"), "{heavy}");
    board(&heavy);
    let nowhere = Change::Put { way: ["person", "7", "mass_kg"].map(str::to_owned).to_vec(), figure: None };
    assert!(changed(LEAD, &nowhere).is_err());
    let wrong = put("connector", "G-032", "gate", Some(Figure::Word("door".to_owned()))).expect("it is text");
    assert!(quick(&wrong, None).expect_err("no such gate").wrongs()[0].1.contains("wire"));
}

#[test]
fn a_rope_is_run_through_points_and_a_connector_is_hung_and_each_can_be_taken_away() {
    let place = |what, z| Change::Place { what, at_m: [0.0, 0.0, z], to: None };
    let begun = changed("", &place(Placed::Anchor, 3.0)).expect("it begins");
    let belayed = changed(&begun, &place(Placed::Person, 0.0)).expect("somebody stands below");
    let through = ["person 2", "anchor 1", "person 1"].map(str::to_owned).to_vec();
    let roped = changed(&belayed, &Change::Run { through: through.clone() }).expect("a rope");
    assert!(roped.contains(r#"through = ["person 2", "anchor 1", "person 1"]"#), "{roped}");
    assert_eq!(quick(&roped, None).expect("it is solved")["strands"].as_array().map(Vec::len), Some(4), "{roped}");
    let draws = ["belayer", "bolt 1", "leader"].map(str::to_owned).to_vec();
    let second = changed(LEAD, &Change::Run { through: draws }).expect("a rope");
    assert!(
        second.contains(r#"through = ["belayer", "draw 1", "leader"]"#),
        "through the draw that hangs there: {second}"
    );
    assert!(changed(LEAD, &Change::Run { through: vec!["belayer".to_owned()] }).is_err(), "two points at least");
    let hung = changed(&roped, &Change::Connect { at: "anchor 1".to_owned() }).expect("a connector");
    assert!(hung.contains("name = \"connector 1\"\nat = \"anchor 1\""), "{hung}");
    quick(&hung, None).expect("it is solved");
    let take = |key: &str| Change::Take { way: vec![key.to_owned(), "0".to_owned()] };
    let bare = changed(&changed(&hung, &take("connector")).expect("it is there"), &take("line")).expect("it is there");
    assert!(!bare.contains("through") && !bare.contains("connector 1"), "{bare}");
    assert!(changed(&bare, &take("line")).is_err());
}

#[test]
fn the_kinds_of_draw_are_of_each_sling_as_long_as_those_there_and_as_usual() {
    let kinds = |text: &str| quick(text, None).expect("it is solved")["draws"].clone();
    let tape = |length_m: f64| serde_json::json!({ "of": "tape", "length_m": length_m });
    assert_eq!(kinds(LEAD), serde_json::json!([tape(0.17), tape(0.6)]));
    let longer = LEAD.replacen("length_m = 0.17", "length_m = 0.3", 1);
    assert_eq!(kinds(&longer), serde_json::json!([tape(0.17), tape(0.3), tape(0.6)]));
}

#[test]
fn joints_people_and_legs_are_placed_and_the_rig_is_solved_at_every_step() {
    let place = |what, z, to: Option<&str>| Change::Place { what, at_m: [0.6, 0.0, z], to: to.map(str::to_owned) };
    let joint = changed(ANCHOR, &place(Placed::Joint, -1.6, None)).expect("it can be placed");
    assert!(joint.contains("from = \"master\"\nto = \"joint 1\"\nof = \"cord\""), "{joint}");
    let joined = changed(&joint, &Change::Join { from: "bolt".to_owned(), to: "joint 1".to_owned() }).expect("points");
    let person = changed(&joined, &place(Placed::Person, -2.4, Some("joint 1"))).expect("it can be placed");
    assert!(person.contains("mass_kg = 80") && person.contains("from = \"joint 1\"\nto = \"person 1\""), "{person}");
    for text in [&joint, &joined] {
        quick(text, None).expect("it is solved");
    }
    let board = quick(&person, None).expect("it is solved");
    let carries = |from: &str, to: &str| {
        let strands = board["strands"].as_array().expect("strands");
        let found = strands.iter().find(|strand| strand["from"] == from && strand["to"] == to);
        found.and_then(|strand| strand["kn"].as_f64()).expect("a leg")
    };
    // The weight of 80 kg: 80 × 9.80665 N.
    assert!((carries("joint 1", "person 1") - 0.7845).abs() < 0.001, "{}", carries("joint 1", "person 1"));
    assert!(carries("bolt", "joint 1") > 0.0, "what was joined takes its share");
    assert!(changed(ANCHOR, &Change::Join { from: "bolt".to_owned(), to: "nobody".to_owned() }).is_err());
}

/// Each loss with the rest of the rig as it is drawn then; the leg that is lost carries nothing there.
#[test]
fn a_loss_is_told_with_the_rest_of_the_rig() {
    let text = ANCHOR.replace("case = \"rest\"", "case = \"rest\"\nlosses = true");
    let board = Board::read(&text, None).expect("a rig").check(Units::default()).expect("it is solved");
    let (answers, lost) = (&board["answer"]["losses"], board["lost"].as_array().expect("losses"));
    assert_eq!(answers.as_array().map(Vec::len), Some(lost.len()), "one beside the other");
    let legs = lost.iter().filter(|loss| loss["ends"].as_array().is_some_and(|ends| ends.len() == 2));
    let mut count = 0;
    for loss in legs {
        let between = |strand: &&Value| strand["from"] == loss["ends"][0] && strand["to"] == loss["ends"][1];
        let strands = loss["strands"].as_array().expect("what is left holds");
        assert!(!strands.iter().any(|strand| between(&strand)), "{loss}");
        assert_eq!(loss["at_m"].as_array().map(Vec::len), board["points"].as_array().map(Vec::len));
        assert!(loss["links"].as_array().is_some_and(|links| !links.is_empty()));
        count += 1;
    }
    assert_eq!(count, 6, "three legs, at rest and as a drop");
}

#[test]
fn a_point_that_is_taken_away_takes_along_what_hangs_on_it_alone() {
    let text = changed(ANCHOR, &Change::Remove { point: "cam".to_owned() }).expect("it is there");
    assert!(!text.contains("cam"), "{text}");
    assert_eq!(text.matches("[[leg]]").count(), 2);
    quick(&text, None).expect("it is solved");
    let text = changed(LEAD, &Change::Remove { point: "cam".to_owned() }).expect("it is there");
    assert!(!text.contains("draw 3") && !text.contains("G-031") && !text.contains("G-032"), "{text}");
    assert!(text.contains(r#"through = ["belayer", "draw 1", "draw 2", "leader"]"#), "{text}");
    quick(&text, None).expect("it is solved");
    assert!(changed(LEAD, &Change::Remove { point: "nobody".to_owned() }).is_err());
}

#[test]
fn a_piece_hangs_where_a_connector_is_and_what_the_file_told_of_it_gives_way() {
    let hang = |piece: Option<&str>| Change::Hang { connector: "H-07".to_owned(), piece: piece.map(str::to_owned) };
    let text = changed(ANCHOR, &hang(Some("C-001"))).expect("it is there");
    assert!(text.contains("piece = \"C-001\"") && !text.contains("closed_kn"), "{text}");
    let board = quick(&text, None).expect("it is solved");
    assert_eq!(board["connectors"][0]["piece"], "C-001");
    let off = changed(&text, &hang(None)).expect("it is there");
    assert!(!off.contains("piece ="), "{off}");
    assert!(changed(ANCHOR, &Change::Hang { connector: "nut".to_owned(), piece: None }).is_err(), "no connector");
}

#[test]
fn the_first_placement_in_an_empty_text_begins_a_rig_that_can_be_solved() {
    for what in [Placed::Anchor, Placed::Joint, Placed::Person] {
        let place = Change::Place { what, at_m: [1.0, 0.0, 4.0], to: None };
        let board = check("# mine\n", Some(&place)).expect("it is solved");
        let points: Vec<_> = board["points"].as_array().expect("points").iter().map(|point| &point["kind"]).collect();
        assert_eq!(points, ["anchor", "person"]);
        assert_eq!(board["points"][0]["at_m"], serde_json::json!([1.0, 0.0, 4.0]));
        let text = board["text"].as_str().expect("a text");
        let next = Change::Place { what: Placed::Anchor, at_m: [0.0, 0.0, 4.0], to: None };
        let joint = Change::Place { what: Placed::Joint, at_m: [0.5, 0.0, 3.0], to: None };
        let text = changed(&changed(text, &joint).expect("a joint is placed"), &next).expect("and an anchor for it");
        assert!(text.contains("# mine") && text.contains("anchor 2"), "{text}");
    }
}
