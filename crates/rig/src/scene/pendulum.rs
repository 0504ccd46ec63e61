//! A second who comes off at the side of the belay and swings.

use super::Scene;
use super::question::{Asked, BadAnswer, bad};
use super::text::{
    ABOUT_CONNECTORS, MASTER_POINT, anchor, bolt_holds, connector, head, in_title, line, person, place, rope,
};
use trade::friction::friction_band;

pub(super) fn write(asked: &Asked) -> Result<String, BadAnswer> {
    let (across, below, slack) = (asked.number("across"), asked.number("below"), asked.number("slack"));
    let wall = asked.number("wall");
    if wall >= across {
        let message = "the wall would stand behind the second";
        return Err(bad("wall", message, &format!("less than {across}")));
    }
    let title = format!("{}, {} m across", Scene::Pendulum.title(), in_title(across));
    // A whole swing there and back of a pendulum as long as the rope, to the next second: 2 pi sqrt(L / g), any textbook.
    let length_m = across.hypot(below) + slack;
    let until_s = (2.0 * std::f64::consts::PI * (length_m / mechanics::GRAVITY).sqrt() * 1.3 + 1.0).ceil();
    Ok([
        head(&title, "fall"),
        format!(
            "friction = {:?}  # rope over metal where a connector gives none; the report shows a band around it\n\
             until_s = {until_s:?}  # how long the swing is followed\n\n\
             # What the swing comes to; a ledge is [[ledge]] with name, height_m and x_m = [from, to].\n\
             [[wall]]\nname = \"the wall\"\nx_m = {wall:?}\n",
            friction_band().nominal
        ),
        rope(),
        "\n# holds_kn: what the anchor holds, left out where unknown.\n".to_owned(),
        anchor("belay", &place(0.0, 0.0), &bolt_holds()),
        format!("\n{ABOUT_CONNECTORS}"),
        connector("belay connector", "belay", MASTER_POINT),
        person("second", asked.number("mass"), &place(across, -below), ""),
        person("belayer", 75.0, &place(-0.3, 0.6), "anchored = true  # hangs in the anchor\n"),
        line(&["belayer", "belay", "second"], slack),
    ]
    .concat())
}
