//! A fall on a top rope: two legs, a master point with two connectors, a belayer on the ground.

use super::Scene;
use super::followed::RoughFall;
use super::question::{Asked, BadAnswer, bad};
use super::text::{
    ABOUT_CONNECTORS, MASTER_POINT, anchor, bolt_holds, connector, example, example_sling, head, in_title, joint, leg,
    line, person, place, rope, sling,
};

pub(super) fn write(asked: &Asked) -> Result<String, BadAnswer> {
    let (height, below, slack) = (asked.number("master-point"), asked.number("below"), asked.number("slack"));
    if below >= height {
        return Err(bad("below", "the fall would begin below the belayer's feet", &format!("less than {height}")));
    }
    let title = format!("{}, {} m below the master point", Scene::TopRope.title(), in_title(below));
    let (faller_kg, belayer_kg) = asked.pair("masses");
    let rope_m = height + below + slack;
    let fall = RoughFall { drop_m: slack, rope_m, faller_kg, lifts: Some((belayer_kg, height)) };
    Ok([
        head(&title, "fall"),
        fall.keys(),
        rope(),
        sling("cord", &example_sling(&example().leg_sling)),
        legs(height, asked.number("angle")),
        connectors(),
        people(height - below, (faller_kg, belayer_kg)),
        line(&["belayer", "master", "climber"], slack),
    ]
    .concat())
}

fn legs(height: f64, angle_deg: f64) -> String {
    let drop = example().leg_drop_m;
    let out = drop * (angle_deg / 2.0).to_radians().tan();
    let doubled = "strands = 2  # left out: 1\n";
    [
        format!(
            "\n# Two legs that make {angle_deg} degrees, as long as drawn; length_m, where it is given, comes first.\n\
             # holds_kn: what each anchor holds, left out where unknown.\n"
        ),
        anchor("left", &place(-out, height + drop), &bolt_holds()),
        anchor("right", &place(out, height + drop), &bolt_holds()),
        joint("master", &place(0.0, height)),
        leg("left", "master", doubled),
        leg("right", "master", doubled),
    ]
    .concat()
}

fn connectors() -> String {
    let joins = "joins = [\"cord\", \"main\"]  # what lies in it, spine side first\n";
    let opposed = |to: &str| format!("{MASTER_POINT}{joins}opposed_to = \"{to}\"  # left out: it stands alone\n");
    [
        "\n# Two connectors of one size, opposite and opposed.\n",
        ABOUT_CONNECTORS,
        &connector("one", "master", &opposed("other")),
        &connector("other", "master", &opposed("one")),
    ]
    .concat()
}

fn people(climber_height: f64, (climber, belayer): (f64, f64)) -> String {
    let lifted = "stands = true  # can be lifted off the ground; with \"anchored = true\" instead they are tied down\n";
    person("climber", climber, &place(example().climber_out_m, climber_height), "")
        + &person("belayer", belayer, &place(example().top_rope_belayer_out_m, 0.0), lifted)
}
