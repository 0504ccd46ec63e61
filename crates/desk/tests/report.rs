//! What the report says first: nothing that reads as harmless where it is not.

use desk::beginning::begin;
use desk::checking::{Checked, check_text};
use desk::report::{Headline, head, parts, text};
use rig::scene::{Answers, Scene};
use trade::policy::Policy;

fn checked(text: &str) -> Checked {
    check_text(text, "rig.toml", Policy::default()).unwrap_or_else(|trouble| panic!("{trouble}\n{text}"))
}

fn scene(scene: Scene, answers: &[(&str, &str)]) -> String {
    let answers: Answers = answers.iter().map(|(key, answer)| ((*key).to_owned(), (*answer).to_owned())).collect();
    begin(scene, &answers).expect("answers that do")
}

/// A leader above a strong bolt and, where the ring is no anchor, somebody whose sling leads to nothing.
fn fall(ring: &str, until_s: f64) -> String {
    format!(
        "case = \"fall\"\nuntil_s = {until_s:?}\n[rope.main]\nresponse = {{ slow_kn = 9.0, fast_kn = 16.0, relax_s = 0.1 }}\n\
         [sling.tape]\nstiffness_kn = 100.0\n\
         [[anchor]]\nname = \"belay\"\nat_m = [0.0, 0.0, 0.0]\nholds_kn = 25.0\n\
         [[anchor]]\nname = \"bolt\"\nat_m = [0.0, 0.0, 4.0]\nholds_kn = 25.0\n\
         [[{ring}]]\nname = \"ring\"\nat_m = [2.0, 0.0, 7.0]\n\
         [[person]]\nname = \"leader\"\nmass_kg = 80.0\nat_m = [0.2, 0.0, 6.0]\n\
         [[person]]\nname = \"person 1\"\nmass_kg = 70.0\nat_m = [2.0, 0.0, 6.0]\n\
         [[leg]]\nof = \"tape\"\nfrom = \"ring\"\nto = \"person 1\"\n\
         [[line]]\nof = \"main\"\nthrough = [\"belay\", \"bolt\", \"leader\"]\n"
    )
}

#[test]
fn whom_nothing_holds_is_said_first_and_no_margin_beside_it_reads_as_the_answer() {
    let Headline { first, weakest, .. } = head(&checked(&fall("joint", 3.0)));
    assert!(first[0].starts_with("person 1 IS HELD BY NOTHING"), "{first:?}");
    assert!(!weakest.contains("within margin") && weakest.contains("no verdict"), "{weakest}");
    let Headline { first, weakest, .. } = head(&checked(&fall("anchor", 3.0)));
    assert_eq!(first, Vec::<String>::new());
    assert!(weakest.contains("within margin"), "{weakest}");
}

#[test]
fn a_fall_that_is_not_over_says_so_first_with_its_time() {
    let short = checked(&fall("anchor", 1.0));
    let Headline { first, weakest, .. } = head(&short);
    let still = &first[0];
    assert!(still.starts_with("STILL FALLING WHEN THE TIME ENDS: leader goes down after 1.0 s"), "{first:?}");
    assert!(still.contains("Nothing below says what comes then") && !weakest.contains("within margin"), "{weakest}");
    let report = text(&short);
    assert!(report.find("STILL FALLING") < report.find("comes closest"), "{report}");
}

#[test]
fn the_worst_loss_stands_in_the_headline_and_before_all_else_where_it_is_over_a_rating() {
    let Headline { first, .. } = head(&checked(&scene(Scene::Losses, &[])));
    assert!(
        first[0].starts_with("IF anchor 1 GOES (the drop): loop") && first[0].contains("over its rating"),
        "{first:?}"
    );
    let Headline { first, weakest, .. } = head(&checked(&scene(Scene::Losses, &[("anchors", "3")])));
    assert_eq!(first, Vec::<String>::new());
    assert!(weakest.contains("Worst if one goes, ") && weakest.contains("within margin."), "{weakest}");
    assert!(!head(&checked(&scene(Scene::Anchor, &[]))).weakest.contains("if one goes"), "no loss was asked for");
}

#[test]
fn a_loss_after_which_nothing_holds_is_worse_than_any_margin() {
    let one = "case = \"rest\"\nlosses = true\n[sling.tape]\nstiffness_kn = 100.0\nstrength_kn = 22.0\n\
        [[anchor]]\nname = \"bolt\"\nat_m = [0.0, 0.0, 1.0]\nholds_kn = 25.0\n[[joint]]\nname = \"ring\"\nat_m = [0.0, 0.0, 0.0]\n\
        [[leg]]\nof = \"tape\"\nfrom = \"bolt\"\nto = \"ring\"\n[[pull]]\nat = \"ring\"\nforce_kn = [0.0, 0.0, -2.0]\n";
    let Headline { first, .. } = head(&checked(one));
    assert_eq!(first, ["IF bolt GOES (at rest): NOTHING HOLDS ring."]);
}

#[test]
fn what_cannot_be_is_said_first_and_once() {
    let short = checked(&scene(Scene::Rappel, &[("rope", "40")]));
    let Headline { first, .. } = head(&short);
    assert!(first[0].starts_with("THE ROPE IS TOO SHORT by 8.0 m"), "{first:?}");
    assert_eq!(text(&short).matches("TOO SHORT").count(), 1);
    assert!(parts(&short).iter().any(|part| part.code == "runs"), "the rest stands where it stood");
    let heavy = head(&checked(&scene(Scene::Haul, &[("load", "400"), ("people", "1")])));
    assert!(heavy.first.iter().any(|line| line.starts_with("NO HANDS PULL THIS")), "{heavy:?}");
    assert_eq!(head(&checked(&scene(Scene::Rappel, &[]))).first, Vec::<String>::new());
}

#[test]
fn the_headline_says_how_much_has_no_rating() {
    let weakest = |text: &str| head(&checked(text)).weakest;
    let lead = scene(Scene::Lead, &[]);
    assert!(weakest(&lead).ends_with("4 anchors have no rating."), "{}", weakest(&lead));
    let rated = fall("anchor", 3.0);
    let some = weakest(&rated);
    assert!(some.ends_with("1 anchor has no rating. 1 link besides anchors has no rating."), "{some}");
    let all = rated.replace("at_m = [2.0, 0.0, 7.0]", "at_m = [2.0, 0.0, 7.0]\nholds_kn = 25.0");
    let all = weakest(&all.replace("stiffness_kn = 100.0", "stiffness_kn = 100.0\nstrength_kn = 22.0"));
    assert!(!all.contains("no rating"), "{all}");
}

#[test]
fn clips_that_end_on_the_ground_at_any_slack_are_said_first() {
    let Headline { first, .. } = head(&checked(&scene(Scene::Ground, &[])));
    let table = first.iter().find(|line| line.starts_with("FALLS END ON THE GROUND")).expect("said first");
    assert!(table.contains("of the 16") && table.contains("after clip 1 with 0.0 m"), "{table}");
    let high = head(&checked(&scene(Scene::Ground, &[("heights", "12/0.7"), ("slack", "0.1"), ("clips", "2")])));
    assert_eq!(high.first, Vec::<String>::new());
}

#[test]
fn a_margin_beyond_a_hundred_is_told_as_that_everywhere() {
    let light = text(&checked(&scene(Scene::Anchor, &[("load", "0.1/0")])));
    assert!(light.contains("over 100") && !light.contains("Margin 1"), "{light}");
}
