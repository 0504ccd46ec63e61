//! A rappel on one strand or two, with a friction hitch below the device or without.

use super::Scene;
use super::on_the_move::{Brake, friction_key, grip, rope_with_weight, station};
use super::question::{Asked, BadAnswer, bad};
use super::text::{example, head, in_title, joint, leg, person, place};

pub(super) fn write(asked: &Asked) -> Result<String, BadAnswer> {
    let (height, below) = asked.pair("heights");
    if below + HANGS >= height {
        let message = "the rappeller would hang below the ground";
        return Err(bad("heights", message, &format!("less than {} below it", height - HANGS)));
    }
    let (strands, backup) = asked.word("strands").split_once(' ').unwrap_or((asked.word("strands"), ""));
    let (mass, rope_m) = (asked.number("mass"), asked.number("rope"));
    let title = format!(
        "{} on {}, {} kg",
        Scene::Rappel.title(),
        if strands == "2" { "two strands" } else { "one strand" },
        in_title(mass)
    );
    let (count, each_m) = if strands == "2" { (2, rope_m / 2.0) } else { (1, rope_m) };
    Ok([
        head(&title, "running"),
        friction_key(),
        rope_with_weight(),
        station(height),
        "\n# The device hangs on the rappeller's harness.\n".to_owned(),
        joint("device", &place(0.0, height - below)),
        person("rappeller", mass, &place(0.0, height - below - HANGS), ""),
        leg("device", "rappeller", ""),
        "\n# Each strand: rope_m is its share of the rope, reaches_m the ground. The hand is the rappeller's own, one for all strands.\n"
            .to_owned(),
        strand(each_m).repeat(count),
        Brake::named(asked.word("device")).device("device"),
        if backup.is_empty() { String::new() } else { hitch() },
    ]
    .concat())
}

/// How far the rappeller hangs below the device, m.
const HANGS: f64 = 0.6;

fn strand(rope_m: f64) -> String {
    format!(
        "\n[[line]]\nof = \"main\"\nthrough = [\"station\", \"device\", \"rappeller\"]\npaid_out_at = \"rappeller\"\nhands = 1\n\
         rope_m = {rope_m:?}\nreaches_m = 0.0\n"
    )
}

fn hitch() -> String {
    let about = "the least that was measured for 6 mm cord in three and two coils on 8 mm; yours may slip sooner";
    "\n# The friction hitch below the device: if the hand lets go, it must hold what the hand held.\n".to_owned()
        + &grip("backup hitch", "rappeller", "main", example().backup_slips_kn, about)
}
