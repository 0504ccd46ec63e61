//! How low falls end: a lead climb, its falls clip by clip and slack by slack, with ground and a ledge.

use super::Scene;
use super::lead::Lead;
use super::question::{Asked, BadAnswer, bad};
use super::text::in_title;

pub(super) fn write(asked: &Asked) -> Result<String, BadAnswer> {
    let (leader, belayer) = asked.pair("masses");
    let (first, gap) = asked.pair("heights");
    let clips = asked.count("clips");
    let slacks = [0.0, 0.5, 1.0, 2.0].map(|share: f64| (share * asked.number("slack") * 100.0).round() / 100.0);
    let ledge = asked.number("ledge");
    if ledge >= first {
        return Err(bad("ledge", "the ledge lies above the first clip", &format!("less than {first}, or 0 for none")));
    }
    let title = format!("{}, {clips} clips, the first at {} m", Scene::Ground.title(), in_title(first));
    let keys = format!(
        "ground_m = 0.0  # height of the ground\n\n\
         # The falls before each of the next clips, with each of these slacks in m.\n\
         [clip_table]\nclips = {clips}\nslack_m = {slacks:?}\n"
    );
    let lead = Lead::spaced(first, gap, clips, (leader, belayer), asked.number("slack"));
    Ok(lead.file(&title, &(keys + &ledge_table(ledge))))
}

fn ledge_table(height: f64) -> String {
    if height == 0.0 {
        return "\n# A ledge: [[ledge]] with name, height_m and x_m = [from, to]. A wall: [[wall]] with name, x_m and z_m.\n"
            .to_owned();
    }
    format!(
        "\n# A ledge: how high, and from where to where it reaches along x. A wall is [[wall]] with name, x_m and z_m.\n\
         [[ledge]]\nname = \"the ledge\"\nheight_m = {height}\nx_m = [-1.0, 1.0]\n"
    )
}
