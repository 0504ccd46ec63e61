//! Rope drag: a leader takes the rope along through clips to either side.

use super::Scene;
use super::on_the_move::{friction_key, rope_with_weight};
use super::question::{Asked, BadAnswer, bad};
use super::text::{
    ABOUT_CONNECTORS, ROPE_END, anchor, bolt_holds, connector, example, example_sling, head, in_title, kilonewtons,
    person, place, sling,
};

pub(super) fn write(asked: &Asked) -> Result<String, BadAnswer> {
    let (last, clips, side) = (asked.number("last-clip"), asked.count("clips"), asked.number("side"));
    let (draw_m, above) = (asked.number("draw"), asked.number("above"));
    let gap = last / clips as f64;
    // A draw that reaches half way to where the leader stands could swing up to them.
    if 2.0 * draw_m >= gap.min(above) {
        let help = format!("less than {:.2}, or clips farther apart and more above the last", gap.min(above) / 2.0);
        return Err(bad("draw", "the draws would reach half way to the next clip, or to the leader", &help));
    }
    let to_side = |clip: usize| if clip.is_multiple_of(2) { side } else { 0.0 };
    let title = format!("{}, {clips} clips, every other one {} m to the side", Scene::Drag.title(), in_title(side));
    let draw = |clip: usize| {
        anchor(&format!("bolt {clip}"), &place(to_side(clip), gap * clip as f64 + draw_m), &bolt_holds())
            + &format!("\n[[draw]]\nname = \"draw {clip}\"\non = \"bolt {clip}\"\nof = \"tape\"\nlength_m = {draw_m}\n")
            + if clip == clips { "rope_end = \"rope-end connector\"  # described below\n" } else { "" }
    };
    let through: Vec<_> = (1..=clips).map(|clip| format!("\"draw {clip}\"")).collect();
    Ok([
        head(&title, "running"),
        friction_key(),
        format!("\n# The pull of the rope before each of the next clips.\n[clip_table]\nclips = {clips}\n"),
        rope_with_weight(),
        sling("tape", &example_sling(&example().draw_sling)),
        "\n# holds_kn: what each bolt holds, left out where unknown.\n".to_owned(),
        (1..=clips).map(draw).collect(),
        format!("\n{ABOUT_CONNECTORS}"),
        connector("rope-end connector", &format!("draw {clips}"), ROPE_END),
        person("leader", 80.0, &place(to_side(clips), last + above), "anchored = true  # where they are as they pull\n"),
        person("belayer", 75.0, &place(example().lead_belayer_out_m, 1.0_f64.min(gap / 2.0)), "anchored = true\n"),
        format!(
            "\n# pull_kn: what the belayer who pays out leaves on the rope; the question is the pull at the other end.\n\
             [[line]]\nof = \"main\"\nthrough = [\"belayer\", {}, \"leader\"]\npaid_out_at = \"belayer\"\npull_kn = {}\nhands = 0\n",
            through.join(", "),
            kilonewtons(example().belayer_leaves_kn)
        ),
    ]
    .concat())
}
