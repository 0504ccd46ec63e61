//! A lead fall on two strands: half ropes with clips of their own, or twin ropes through every clip.

use super::Scene;
use super::followed::RoughFall;
use super::question::{Asked, BadAnswer, bad};
use super::text::{
    ABOUT_CONNECTORS, ROPE_END, anchor, bolt_holds, connector, example, example_sling, head, in_title, person, place,
    sling,
};

pub(super) fn write(asked: &Asked) -> Result<String, BadAnswer> {
    let (leader, belayer) = asked.pair("masses");
    let (last, clips, above) = (asked.number("last-clip"), asked.count("clips"), asked.number("above"));
    let twin = asked.word("technique") == "twin";
    if clips < 2 && !twin {
        return Err(bad("clips", "two strands with clips of their own need two clips", "2 or more, or twin"));
    }
    let title = format!(
        "{}, {} technique, {} m above the last clip",
        Scene::TwoStrands.title(),
        asked.word("technique"),
        in_title(above)
    );
    let spread = if twin { 0.0 } else { 2.0 * example().clip_zigzag_m };
    let side = |clip: usize| if clip.is_multiple_of(2) { spread } else { 0.0 };
    let height = |clip: usize| last * clip as f64 / clips as f64;
    let draw = example().draw_length_m;
    let clip = |clip: usize| {
        anchor(&format!("piece {clip}"), &place(side(clip), height(clip) + draw), &bolt_holds())
            + &format!("\n[[draw]]\nname = \"draw {clip}\"\non = \"piece {clip}\"\nof = \"tape\"\nlength_m = {draw}\n")
            + if clip == clips { "rope_end = \"rope-end connector\"  # described below\n" } else { "" }
    };
    let slack = example().lead_slack_m;
    // The belayer is lifted up to the first clip of either strand.
    let first_of_both = height(if twin { 1 } else { 2 });
    let fall = RoughFall {
        drop_m: 2.0 * above + slack,
        rope_m: last + above + slack,
        faller_kg: leader,
        lifts: Some((belayer, first_of_both)),
    };
    Ok([
        head(&title, "fall"),
        fall.keys(),
        ropes(twin),
        sling("tape", &example_sling(&example().draw_sling)),
        "\n# holds_kn: what each piece holds, left out where unknown; with pulls_out = true it comes out at that force.\n"
            .to_owned(),
        (1..=clips).map(clip).collect(),
        format!("\n# The connector of the last draw; others can be added in the same manner.\n{ABOUT_CONNECTORS}"),
        connector("rope-end connector", &format!("draw {clips}"), ROPE_END),
        person("leader", leader, &place(side(clips), last + above), ""),
        person("belayer", belayer, &place(example().lead_belayer_out_m, 0.0), "stands = true\n"),
        strand("red", &(1..=clips).filter(|clip| twin || !clip.is_multiple_of(2)).collect::<Vec<_>>()),
        strand("blue", &(1..=clips).filter(|clip| twin || clip.is_multiple_of(2)).collect::<Vec<_>>()),
    ]
    .concat())
}

fn ropes(twin: bool) -> String {
    let example = example();
    let about = if twin {
        "\n# Each strand of a twin rope by the data sheet of a half rope: twin ropes are declared with two strands together\n\
         # (80 kg), and this file has each strand by itself.\n"
    } else {
        "\n# Two half ropes, each by its data sheet (55 kg on one strand).\n"
    };
    let rope = |name: &str| {
        format!(
            "[rope.{name}]\nkind = \"half\"\nimpact_force_kn = {}\nstatic_elongation_pct = {}\ndynamic_elongation_pct = {}\n\n",
            example.half_impact_force_kn, example.half_static_elongation_pct, example.half_dynamic_elongation_pct
        )
    };
    about.to_owned() + &rope("red") + rope("blue").trim_end() + "\n"
}

fn strand(of: &str, clips: &[usize]) -> String {
    let through: Vec<_> = clips.iter().map(|clip| format!("\"draw {clip}\", ")).collect();
    format!(
        "\n[[line]]\nof = \"{of}\"\nthrough = [\"belayer\", {}\"leader\"]\nslack_m = {}\n",
        through.concat(),
        example().lead_slack_m
    )
}
