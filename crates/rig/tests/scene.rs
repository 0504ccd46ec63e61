//! Scenes from questions: every file parses, solves, and is as it was asked for.

use rig::model::{PointKind, Rig, Stance};
use rig::scene::{Answers, Scene, write};

fn answers(pairs: &[(&str, &str)]) -> Answers {
    pairs.iter().map(|(key, answer)| ((*key).to_owned(), (*answer).to_owned())).collect()
}

fn made(scene: Scene, pairs: &[(&str, &str)]) -> Rig {
    let text = write(scene, &answers(pairs)).unwrap_or_else(|fault| panic!("{fault}"));
    let rig = rig::read(&text, scene.code()).unwrap_or_else(|faults| panic!("{faults}\n{text}"));
    rig::solve::typed(&rig).unwrap_or_else(|failure| panic!("{failure}\n{text}"));
    rig
}

fn at(rig: &Rig, name: &str) -> [f64; 3] {
    rig.points.iter().find(|point| point.name == name).unwrap_or_else(|| panic!("no point {name}")).at
}

#[test]
fn each_scene_asks_five_questions_and_its_defaults_do() {
    for scene in Scene::ALL {
        assert_eq!(scene.questions().len(), 5);
        assert_eq!(Scene::from_code(scene.code()), Some(scene));
        made(scene, &[]);
    }
}

#[test]
fn a_lead_is_as_high_and_falls_as_far_as_asked() {
    for (last, clips, above) in [("6", "2", "1"), ("12", "4", "2.5"), ("30", "10", "6"), ("2", "1", "0,5")] {
        for belay in ["lifted", "tied"] {
            let rig = made(
                Scene::Lead,
                &[("last-clip", last), ("clips", clips), ("above", above), ("belay", belay), ("masses", "75/65")],
            );
            let [last, above]: [f64; 2] = [last, above].map(|text| text.replace(',', ".").parse().expect("a number"));
            let draw = at(&rig, &format!("draw {clips}"));
            assert!((draw[2] - last).abs() < 2e-3);
            assert!((at(&rig, "leader")[2] - last - above).abs() < 2e-3);
            let stance = rig.points.iter().find_map(|point| match point.kind {
                PointKind::Person { stance, .. } if point.name == "belayer" => Some(stance),
                _ => None,
            });
            assert_eq!(stance, Some(if belay == "tied" { Stance::Anchored } else { Stance::Stands }));
        }
    }
}

#[test]
fn a_top_rope_has_the_angle_and_the_drop_asked_for() {
    for angle in ["5", "50", "120", "150"] {
        let rig = made(Scene::TopRope, &[("angle", angle), ("master-point", "20"), ("below", "7"), ("slack", "0")]);
        let (left, master) = (at(&rig, "left"), at(&rig, "master"));
        let half = (-left[0] / (left[2] - master[2])).atan().to_degrees();
        assert!((2.0 * half - angle.parse::<f64>().expect("a number")).abs() < 0.2);
        assert!((at(&rig, "climber")[2] - 13.0).abs() < 1e-9);
    }
}

#[test]
fn an_anchor_has_the_spread_depth_and_load_asked_for() {
    for count in ["2", "3", "4"] {
        let rig = made(
            Scene::Anchor,
            &[("anchors", count), ("spread", "1.2"), ("depth", "1"), ("load", "8/-20"), ("cord", "HMPE 11 new")],
        );
        assert_eq!(rig.legs.len(), count.parse::<usize>().expect("a number"));
        assert!((at(&rig, "anchor 1")[0] + 0.6).abs() < 1e-9);
        let [x, _, z] = rig.pulls[0].force_kn;
        assert!((x.hypot(z) - 8.0).abs() < 1e-3 && x < 0.0);
        let band = rig.slings[0].stiffness_band_kn.expect("a range");
        assert!(band.low < band.high);
    }
}

#[test]
fn the_file_says_what_is_invented_and_what_comes_first() {
    for scene in Scene::ALL {
        let text = write(scene, &Answers::new()).expect("defaults do");
        for part in ["invented", "qualified person", "from memory"] {
            assert!(text.contains(part), "{part} in {text}");
        }
    }
}

#[test]
fn an_answer_that_does_not_do_says_what_would() {
    let cases = [
        (Scene::Lead, "clips", "many", "a number from 1 to 20"),
        (Scene::Lead, "clips", "0", "a number from 1 to 20"),
        (Scene::Lead, "masses", "80", "such as 80/70"),
        (Scene::Lead, "masses", "80/7", "a number from 30 to 160"),
        (Scene::Lead, "belay", "maybe", "lifted or tied"),
        (Scene::Anchor, "cord", "wool 7 used", "such as \"nylon 7 used\""),
        (Scene::TopRope, "below", "20", "less than 14"),
        (Scene::TopRope, "rope", "9.8", "the questions are"),
    ];
    for (scene, key, answer, help) in cases {
        let fault = write(scene, &answers(&[(key, answer)])).expect_err(answer);
        assert_eq!(fault.key, key);
        assert!(fault.help.contains(help), "{fault}");
    }
    let crowded = write(Scene::Lead, &answers(&[("clips", "20"), ("last-clip", "3")])).expect_err("too many clips");
    assert_eq!(crowded.key, "clips");
}
