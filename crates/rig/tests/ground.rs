//! Ground, ledges and walls, falls clip by clip, lines under tension, pieces that pull out.

use rig::band::{Corner, bands};
use rig::change::{Change, Helped, offers};
use rig::check::check;
use rig::ground::{Obstacle, clip_falls};
use rig::model::{ClipTable, LineLength, Rig};
use rig::scene::{Answers, Scene, write};
use rig::solve::{Prepared, typed};
use terms::Length;
use trade::policy::Policy;

fn read(text: &str) -> Rig {
    rig::read(text, "ground").unwrap_or_else(|faults| panic!("{faults}\n{text}"))
}

fn scene(scene: Scene, pairs: &[(&str, &str)]) -> Rig {
    let answers: Answers = pairs.iter().map(|(key, answer)| ((*key).to_owned(), (*answer).to_owned())).collect();
    read(&write(scene, &answers).unwrap_or_else(|fault| panic!("{fault}")))
}

/// A free fall of known height past a ledge, and a pendulum into a wall.
#[test]
fn a_fall_meets_a_ledge_at_the_speed_of_its_height_and_a_wall_at_that_of_its_swing() {
    let text = "case = \"fall\"\nuntil_s = 3.0\nground_m = -30.0\n\
                [rope.main]\nresponse = { slow_kn = 400.0, fast_kn = 0.0, relax_s = 1.0 }\n\
                [[ledge]]\nname = \"ledge\"\nheight_m = -3.0\nx_m = [4.0, 6.0]\n\
                [[ledge]]\nname = \"aside\"\nheight_m = -3.0\nx_m = [7.0, 9.0]\n[[wall]]\nname = \"corner\"\nx_m = 0.0\n\
                [[anchor]]\nname = \"top\"\nat_m = [0.0, 0.0, 0.0]\n[[anchor]]\nname = \"far\"\nat_m = [5.0, 0.0, 20.0]\n\
                [[person]]\nname = \"second\"\nmass_kg = 70.0\nat_m = [5.0, 0.0, 0.0]\n\
                [[person]]\nname = \"falls\"\nmass_kg = 70.0\nat_m = [5.0, 0.0, 0.0]\n\
                [[line]]\nof = \"main\"\nthrough = [\"top\", \"second\"]\n\
                [[line]]\nof = \"main\"\nthrough = [\"far\", \"falls\"]\nslack_m = 60.0\n";
    let loads = typed(&read(text)).expect("the fall runs");
    let met: Vec<_> = loads.meetings.iter().map(|met| (met.person.0, met.with, met.speed_m_s)).collect();
    // v = sqrt(2 g h), for the swing through a quarter turn as for the free fall.
    let ledge = met.iter().find(|met| met.0 == 3 && met.1 == Obstacle::Ledge(1)).expect("comes to the ledge");
    assert!((ledge.2 / (2.0 * 9.80665 * 3.0_f64).sqrt() - 1.0).abs() < 0.01, "{ledge:?}");
    let wall = met.iter().find(|met| met.0 == 2 && met.1 == Obstacle::Wall(0)).expect("swings into the wall");
    assert!((wall.2 / (2.0 * 9.80665 * 5.0_f64).sqrt() - 1.0).abs() < 0.03, "{wall:?}");
    assert!(!met.iter().any(|met| met.1 == Obstacle::Ledge(2)), "the ledge aside is passed: {met:?}");
}

#[test]
fn the_table_of_clips_has_a_row_a_clip_and_more_slack_never_ends_higher() {
    let rig = scene(Scene::Ground, &[]);
    let falls = clip_falls(&Prepared::new(&rig).expect("ropes that fit")).expect("the falls run");
    assert_eq!(falls.len(), 16);
    for row in falls.chunks(4) {
        assert!(row.windows(2).all(|pair| pair[1].lowest_m < pair[0].lowest_m + 0.01), "{row:?}");
        assert!(row.iter().all(|fall| fall.lowest_m <= fall.as_typed_m));
        assert!(row.iter().all(|fall| fall.reaches_ground == (fall.lowest_m <= 0.0)));
    }
    assert!(falls[3].reaches_ground, "off at the second clip with twice the slack: {:?}", falls[3]);
    assert!(falls[12].lowest_m > falls[0].lowest_m, "higher up there is more room");
}

#[test]
fn a_fall_to_the_ground_counts_unless_the_policy_says_otherwise_and_is_helped_by_less_slack() {
    let mut rig = scene(Scene::Ground, &[("clips", "2"), ("slack", "2"), ("heights", "4/2")]);
    rig.clip_table = None;
    let prepared = Prepared::new(&rig).expect("ropes that fit");
    let bands = bands(&prepared).expect("a rig that can be solved");
    let policy = Policy::default();
    let found = check(&rig, &bands, &policy);
    assert!(found.clearances[0].reaches_floor(), "{:?}", found.clearances);
    assert!(found.counts);
    let lenient = Policy { ground_counts_for_exit: false, ..policy.clone() };
    assert_eq!(check(&rig, &bands, &lenient).counts, found.links.iter().any(|link| link.counts));
    let offers = offers(&prepared, &bands, &found, &policy);
    let helps = |offer: &rig::change::Offer| {
        matches!(offer.change, Change::LessSlack { .. } | Change::ClipSooner { .. })
            && matches!(offer.helps, Helped::Clearance { .. })
    };
    assert!(offers.iter().any(helps), "{:?}", offers.iter().map(|offer| &offer.change).collect::<Vec<_>>());
}

/// The table follows its falls in longer steps than the check does. Both tell heights to a decimetre.
#[test]
fn the_table_ends_its_falls_where_the_check_does() {
    let mut most: f64 = 0.0;
    for (heights, clips) in [("3.5/2", "4"), ("2/0.8", "7"), ("5/3.5", "2"), ("3/1.5", "10")] {
        for masses in ["80/65", "60/90", "110/55"] {
            let mut rig =
                scene(Scene::Ground, &[("heights", heights), ("clips", clips), ("slack", "0.5"), ("masses", masses)]);
            rig.clip_table = Some(ClipTable { clips: rig.draws.len(), slack_m: vec![0.5] });
            let prepared = Prepared::new(&rig).expect("ropes that fit");
            let check = check(&rig, &bands(&prepared).expect("a rig that can be solved"), &Policy::default());
            let clearance = &check.clearances[0];
            let falls = clip_falls(&prepared).expect("falls that run");
            let same = falls.iter().rfind(|fall| fall.slack_m == 0.5).expect("the file's own fall");
            assert_eq!(same.clips, rig.draws.len());
            let off = (same.lowest_m - clearance.worst_m).abs().max((same.as_typed_m - clearance.as_typed_m).abs());
            most = most.max(off);
        }
    }
    assert!(most < 0.1, "{most} m");
}

#[test]
fn a_tensioned_line_pulls_with_its_tension_before_anything_hangs_on_it() {
    let mut rig = scene(Scene::HighLine, &[("tension", "2.5")]);
    let loaded = typed(&rig).expect("at rest").lines[0][0];
    rig.pulls.clear();
    rig.lines[0].through.remove(1);
    let empty = typed(&rig).expect("at rest");
    assert!((empty.points[0].peak_kn - 2.5).abs() < 1e-6, "{}", empty.points[0].peak_kn);
    assert!(loaded > 2.5, "{loaded}");
}

#[test]
fn a_piece_pulls_out_only_where_that_is_asked_for() {
    let text = "case = \"fall\"\npulls_out = true\n[rope.main]\nresponse = { slow_kn = 9.0, fast_kn = 16.0, relax_s = 0.1 }\n\
                [[anchor]]\nname = \"belay\"\nat_m = [0.0, 0.0, 0.0]\n\
                [[anchor]]\nname = \"nut\"\nat_m = [0.0, 0.0, 4.0]\nholds_kn = { along = 3.0, across = 2.0, upward = 1.0 }\n\
                [[person]]\nname = \"leader\"\nmass_kg = 80.0\nat_m = [0.2, 0.0, 6.0]\n\
                [[line]]\nof = \"main\"\nthrough = [\"belay\", \"nut\", \"leader\"]\n";
    let out = typed(&read(text)).expect("the fall runs");
    let held = typed(&read(&text.replace("pulls_out = true\n", ""))).expect("the fall runs");
    assert!(out.points[1].out_at_s.is_some_and(|time| time > 0.5), "{:?}", out.points[1]);
    assert_eq!(held.points[1].out_at_s, None);
    assert!(held.points[1].peak_kn > 3.0 && out.points[2].lowest_m < held.points[2].lowest_m - 3.0);
}

#[test]
fn the_state_of_a_rope_is_a_band_around_its_stiffness() {
    let text = |state: &str| {
        format!(
            "case = \"fall\"\n[rope.main]\n{state}low_stretch_elongation_pct = 5.0\n[[anchor]]\nname = \"top\"\n\
             at_m = [0.0, 0.0, 0.0]\n[[person]]\nname = \"climber\"\nmass_kg = 100.0\nat_m = [0.0, 0.0, -2.0]\n\
             [[line]]\nof = \"main\"\nthrough = [\"top\", \"climber\"]\nslack_m = 1.0\n"
        )
    };
    let peaks = |text: &str| {
        let rig = read(text);
        let bands = bands(&Prepared::new(&rig).expect("ropes that fit")).expect("a rig that can be solved");
        bands.cases.iter().map(|(_, loads)| loads.points[0].peak_kn).collect::<Vec<_>>()
    };
    let [dry] = peaks(&text(""))[..] else { panic!("one case") };
    let [typed, low, high] = peaks(&text("state = \"just fallen on\"\n"))[..] else { panic!("three cases") };
    assert!(dry < low && low < typed && typed < high, "{dry} {low} {typed} {high}");
}

#[test]
fn the_fall_of_the_ground_scene_has_the_slack_that_was_called_usual() {
    for answer in ["0.4", "0.8"] {
        let rig = scene(Scene::Ground, &[("slack", answer)]);
        let usual = Length::from_m(answer.parse().expect("a number"));
        assert_eq!(rig.lines[0].length, LineLength::Slack(usual));
        assert!(rig.clip_table.expect("a table").slack_m.contains(&usual.m()));
    }
}

/// A leader on a rope over a nut, and somebody with a sling that leads to a ring which hangs on nothing.
const TWO_WHO_FALL: &str = "case = \"fall\"\n[rope.main]\nresponse = { slow_kn = 9.0, fast_kn = 16.0, relax_s = 0.1 }\n\
    [sling.tape]\nstiffness_kn = 100.0\n\
    [[anchor]]\nname = \"belay\"\nat_m = [0.0, 0.0, 0.0]\n[[anchor]]\nname = \"nut\"\nat_m = [0.0, 0.0, 4.0]\n\
    [[joint]]\nname = \"ring\"\nat_m = [2.0, 0.0, 7.0]\n\
    [[person]]\nname = \"leader\"\nmass_kg = 80.0\nat_m = [0.2, 0.0, 6.0]\n\
    [[person]]\nname = \"other\"\nmass_kg = 70.0\nat_m = [2.0, 0.0, 6.0]\n\
    [[leg]]\nof = \"tape\"\nfrom = \"ring\"\nto = \"other\"\n\
    [[line]]\nof = \"main\"\nthrough = [\"belay\", \"nut\", \"leader\"]\n";

fn checked(text: &str) -> rig::check::Check {
    let rig = read(text);
    let bands = bands(&Prepared::new(&rig).expect("ropes that fit")).expect("the fall runs");
    check(&rig, &bands, &Policy::default())
}

#[test]
fn somebody_whose_sling_leads_to_nothing_that_stays_is_held_by_nothing_and_counts() {
    let rig = read(TWO_WHO_FALL);
    let found = checked(TWO_WHO_FALL);
    let names: Vec<_> = found.held_by_nothing.iter().map(|point| rig.points[point.0].name.as_str()).collect();
    assert_eq!(names, ["other"]);
    assert!(found.counts, "nobody is held by nothing with status 0");
    let anchored = checked(&TWO_WHO_FALL.replace("[[joint]]\nname = \"ring\"", "[[anchor]]\nname = \"ring\""));
    assert!(anchored.held_by_nothing.is_empty() && !anchored.counts, "{anchored:?}");
}

#[test]
fn who_is_not_stopped_before_the_time_ends_falls_on_in_the_first_case_of_that() {
    let held = TWO_WHO_FALL.replace("[[joint]]\nname = \"ring\"", "[[anchor]]\nname = \"ring\"");
    let followed =
        |until_s: f64| checked(&held.replace("case = \"fall\"", &format!("case = \"fall\"\nuntil_s = {until_s:?}")));
    assert_eq!(followed(3.0).falling_on, []);
    // Two metres above the nut: off the rope for sqrt(2 h / g) = 0.9 s.
    let short = followed(0.9);
    assert_eq!(
        short.falling_on.iter().map(|(point, corner)| (point.0, *corner)).collect::<Vec<_>>(),
        [(3, Corner::TYPED)]
    );
    // More friction stops the fall sooner: for a while it goes on in a corner alone.
    let lasts = (90..150).map(|hundredth| followed(f64::from(hundredth) / 100.0).falling_on);
    let corner = lasts.flatten().find(|(_, corner)| *corner != Corner::TYPED);
    assert!(corner.is_some(), "no time at which the fall goes on at the worst alone");
    // Nothing holds the other one, who goes down as well: that is said already.
    assert!(checked(TWO_WHO_FALL).falling_on.is_empty());
}
