//! A slip above or below an anchor onto a tether of rope, tape or cord, or into a via ferrata set.

use super::Scene;
use super::question::{Asked, BadAnswer, bad};
use super::text::{
    ABOUT_CONNECTORS, MASTER_POINT, anchor, bolt_holds, connector, example, example_sling, head, in_title, joint, leg,
    person, place, rope, sling,
};

pub(super) fn write(asked: &Asked) -> Result<String, BadAnswer> {
    let (length, above, mass) = (asked.number("length"), asked.number("above"), asked.number("mass"));
    let (made_of, drop) = (asked.word("of"), asked.number("cable"));
    if above > length {
        return Err(bad("above", "the tether does not reach so far above its anchor", &format!("at most {length}")));
    }
    let title = format!("{}, from {} m above the anchor", Scene::Tether.title(), in_title(above));
    // On a cable the clips slide down first: as if the fall began that much higher on a tether that much longer.
    let (reach, from) = (length + drop / 2.0, above + drop / 2.0);
    Ok([
        head(&title, "fall"),
        strands(made_of, reach, drop),
        "\n# holds_kn: what the anchor holds, left out where unknown.\n".to_owned(),
        anchor("anchor", &place(0.0, 0.0), &bolt_holds()),
        person("climber", mass, &place(0.0, from), ""),
        ties(made_of, reach, from),
        format!("\n{ABOUT_CONNECTORS}"),
        connector("anchor connector", "anchor", MASTER_POINT),
    ]
    .concat())
}

fn strands(made_of: &str, reach: f64, drop: f64) -> String {
    let slid = if drop > 0.0 {
        format!(
            "\n# The clips slide {drop} m down the cable before they catch. That stands here as a tether longer by half of it\n\
             # ({reach} m) and a fall from as much higher: the same free fall, the same energy; the tether's own stretch is softer.\n"
        )
    } else {
        String::new()
    };
    match made_of {
        "rope" => slid + &rope(),
        "absorber" => slid + &absorber(),
        fibre => slid + &sling("cord", &example_sling(fibre)),
    }
}

/// Two stages, so that the lightest is not caught as hard as the heaviest.
fn absorber() -> String {
    let example = example();
    format!(
        "\n# An absorber in two stages (invented). EN 958 allows 3.5 kN with 40 kg, 6 kN with 120 kg, and 2.2 m of braking.\n\
         [sling.first]\nstiffness_kn = 100.0\ntears_at_kn = {}  # the force at which it tears open\ntears_m = {}  # by how much\n\n\
         [sling.second]\nstiffness_kn = 100.0\ntears_at_kn = {}\ntears_m = {}\n",
        example.absorber_first_kn, example.absorber_first_m, example.absorber_second_kn, example.absorber_second_m
    )
}

fn ties(made_of: &str, reach: f64, from: f64) -> String {
    let length = |metres: f64| format!("length_m = {metres:?}\n");
    match made_of {
        "rope" => format!("\n[[line]]\nof = \"main\"\nthrough = [\"anchor\", \"climber\"]\nlength_m = {reach:?}\n"),
        "absorber" => {
            joint("stitch", &place(0.0, from / 2.0))
                + &leg("anchor", "stitch", &length(reach / 2.0)).replace("\"cord\"", "\"first\"")
                + &leg("stitch", "climber", &length(reach / 2.0)).replace("\"cord\"", "\"second\"")
        }
        _ => leg("anchor", "climber", &length(reach)),
    }
}
