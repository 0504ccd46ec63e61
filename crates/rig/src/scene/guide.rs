//! One second or two on a device in guide mode: hanging, climbing, hauled or lowered.

use super::Scene;
use super::on_the_move::{firm, friction_key, ratio_device, station_of};
use super::question::Asked;
use super::text::{example, head, in_title, joint, kilonewtons, person, place};

pub(super) fn write(asked: &Asked) -> String {
    let (first, other) = asked.pair("seconds");
    let (doing, below) = (asked.word("doing"), asked.number("below"));
    let seconds: Vec<Second> = [("red", first, -0.2), ("blue", other, 0.2)]
        .into_iter()
        .filter(|(_, mass, _)| *mass > 0.0)
        .map(|(rope, mass, side)| Second { rope, mass, side, below })
        .collect();
    let title = format!("{}, {} m below: {doing}", Scene::Guide.title(), in_title(below));
    [
        head(&title, if doing == "hang" { "rest" } else { "running" }),
        friction_key(),
        seconds.iter().map(|second| half_rope(second.rope)).collect(),
        station_of(0.0, asked.number("angle"), asked.sling("cord")),
        if doing == "hang" { String::new() } else { firm("leader", &place(0.6, -0.7)) },
        seconds.iter().map(|second| second.written(doing)).collect(),
        device(doing),
    ]
    .concat()
}

struct Second {
    rope: &'static str,
    mass: f64,
    side: f64,
    below: f64,
}

impl Second {
    fn written(&self, doing: &str) -> String {
        let name = format!("second on {}", self.rope);
        let at = place(self.side, -self.below);
        match doing {
            "take-in" => {
                let pull = kilonewtons(-example().second_leaves_kn);
                format!(
                    "\n# Who climbs leaves next to nothing on the rope: its own weight, and this.{}",
                    joint(&name, &at)
                ) + &format!("\n[[pull]]\nat = \"{name}\"\nforce_kn = [0.0, 0.0, {pull}]\n")
                    + &self.line(&name, "taken_in_at")
            }
            "haul" => person(&name, self.mass, &at, "") + &self.line(&name, "taken_in_at"),
            "lower" => person(&name, self.mass, &at, "") + &self.line(&name, "paid_out_at"),
            _ => {
                person(&name, self.mass, &at, "")
                    + &format!(
                        "\n# The device holds the rope fast where it is.\n\
                         [[line]]\nof = \"{}\"\nthrough = [\"station\", \"{name}\"]\n",
                        self.rope
                    )
            }
        }
    }

    fn line(&self, name: &str, key: &str) -> String {
        format!(
            "\n[[line]]\nof = \"{}\"\nthrough = [\"leader\", \"station\", \"{name}\"]\n{key} = \"leader\"\nhands = {}\n",
            self.rope,
            example().hands_per_person
        )
    }
}

fn half_rope(name: &str) -> String {
    let example = example();
    format!(
        "\n# A half rope by its data sheet (55 kg on one strand).\n[rope.{name}]\nkind = \"half\"\nimpact_force_kn = {}\n\
         static_elongation_pct = {}\ndynamic_elongation_pct = {}\nmass_kg_per_m = {}  # as it hangs\n",
        example.half_impact_force_kn,
        example.half_static_elongation_pct,
        example.half_dynamic_elongation_pct,
        example.rope_kg_per_m
    )
}

/// What the device does to a rope that runs; one that holds is the end of the line.
fn device(doing: &str) -> String {
    match doing {
        "hang" => String::new(),
        "lower" => {
            "\n# Released with a lever or a sling, a device in guide mode lets go suddenly: put a hitch behind the hand.\n".to_owned()
                + &ratio_device("guide plate, released", "station", &example().guide_lowers)
        }
        _ => ratio_device("guide plate", "station", &example().guide_takes_in),
    }
}
