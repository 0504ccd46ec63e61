//! Lowering: off the anchor by a device, or by a belayer below with the rope over the anchor.

use super::Scene;
use super::on_the_move::{Brake, firm, friction_key, rope_with_weight, station};
use super::question::{Asked, BadAnswer, bad};
use super::text::{example, head, in_title, joint, leg, person, place};

pub(super) fn write(asked: &Asked) -> Result<String, BadAnswer> {
    let (load_kg, belayer_kg) = asked.pair("masses");
    let (height, below) = asked.pair("heights");
    if below >= height {
        return Err(bad("heights", "the load would begin below the ground", &format!("less than {height} below it")));
    }
    let (set_up, tandem, rope_m) = (asked.word("set-up"), asked.number("tandem"), asked.number("rope"));
    let title = format!(
        "{} {} kg{}",
        Scene::Lower.title(),
        in_title(load_kg),
        if tandem > 0.0 { format!(" with {} kg more", in_title(tandem)) } else { String::new() }
    );
    Ok([
        head(&title, "running"),
        friction_key(),
        rope_with_weight(),
        station(height),
        "\n# Who is lowered.\n".to_owned(),
        person("load", load_kg, &place(0.1, height - below), ""),
        if tandem > 0.0 { hung_on(tandem, height - below) } else { String::new() },
        match set_up {
            "top-rope" => from_below(belayer_kg, rope_m),
            "releasable" => tied_off(height, rope_m),
            device => off_the_anchor(Brake::named(device), height, rope_m),
        },
    ]
    .concat())
}

/// A second load on a tether from the same tie-in.
fn hung_on(tandem_kg: f64, height: f64) -> String {
    "\n# What hangs with them, on a sling of its own from the same point.\n".to_owned()
        + &person("second load", tandem_kg, &place(0.2, height - 0.8), "")
        + &leg("load", "second load", "")
}

fn off_the_anchor(brake: Brake, height: f64, rope_m: f64) -> String {
    [
        firm("belayer", &place(0.6, height + 0.3)),
        paid_out(&["belayer", "station", "load"], rope_m),
        brake.device("station"),
    ]
    .concat()
}

/// The hand's end is a knot that can be undone under load.
fn tied_off(height: f64, rope_m: f64) -> String {
    let line = paid_out(&["tie-off", "station", "load"], rope_m);
    [
        "\n# A Munter hitch that is tied off and can be released under load. hands = 0: what the knot has to hold is told as the pull there.\n"
            .to_owned(),
        firm("tie-off", &place(0.3, height + 0.1)),
        line.replace("hands = 1", "hands = 0"),
        Brake::Munter.device("station"),
    ]
    .concat()
}

/// Belayer and device on the ground; the rope runs over the connector of the station.
fn from_below(belayer_kg: f64, rope_m: f64) -> String {
    [
        person(
            "belayer",
            belayer_kg,
            &place(example().top_rope_belayer_out_m, 0.0),
            "stands = true  # the report says by how much they are pulled off the floor; a leg to a ground anchor ties them down\n",
        ),
        joint("harness", &place(example().top_rope_belayer_out_m, 0.6)),
        leg("harness", "belayer", ""),
        paid_out(&["belayer", "harness", "station", "load"], rope_m),
        Brake::Tube.device("harness"),
    ]
    .concat()
}

fn paid_out(through: &[&str], rope_m: f64) -> String {
    let names: Vec<_> = through.iter().map(|name| format!("\"{name}\"")).collect();
    format!(
        "\n# rope_m: the whole rope; reaches_m: how low the load has to get.\n\
         [[line]]\nof = \"main\"\nthrough = [{}]\npaid_out_at = {}\nhands = 1\nrope_m = {rope_m:?}\nreaches_m = 0.0\n",
        names.join(", "),
        names[0]
    )
}
