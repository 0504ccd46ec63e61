//! Parts of the files in which ropes are on the move.

use super::question::SlingChoice;
use super::table::DeviceRatio;
use super::text::{
    ABOUT_CONNECTORS, MASTER_POINT, anchor, bolt_holds, connector, example, example_sling, joint, leg, person, place,
    rope, sling,
};
use trade::friction::friction_band;

/// The key on top of each such file.
pub(super) fn friction_key() -> String {
    format!(
        "friction = {:?}  # rope over metal where a connector gives none; the report shows a band around it\n",
        friction_band().nominal
    )
}

/// The rope of the examples with its weight.
pub(super) fn rope_with_weight() -> String {
    format!("{}mass_kg_per_m = {}  # as it hangs\n", rope(), example().rope_kg_per_m)
}

/// An anchor of two legs whose master point is called `station`, with a connector in it.
pub(super) fn station(height: f64) -> String {
    station_of(height, 50.0, &example_sling(&example().leg_sling))
}

/// The same with legs of a given sling that make a given angle, in degrees.
pub(super) fn station_of(height: f64, angle_deg: f64, cord: &SlingChoice) -> String {
    let drop = example().leg_drop_m;
    let out = drop * (angle_deg / 2.0).to_radians().tan();
    [
        sling("cord", cord),
        format!(
            "\n# Two legs that make {angle_deg} degrees. holds_kn: what each anchor holds, left out where unknown.\n"
        ),
        anchor("left", &place(-out, height + drop), &bolt_holds()),
        anchor("right", &place(out, height + drop), &bolt_holds()),
        joint("station", &place(0.0, height)),
        leg("left", "station", "strands = 2\n"),
        leg("right", "station", "strands = 2\n"),
        format!("\n{ABOUT_CONNECTORS}"),
        connector("station connector", "station", MASTER_POINT),
    ]
    .concat()
}

/// A pulley by the share of the tension that it passes on over half a turn.
pub(super) fn pulley(name: &str, at: &str, efficiency: f64) -> String {
    format!(
        "\n[[device]]\nname = \"{name}\"\nat = \"{at}\"\nefficiency = {efficiency}\nstrength_kn = {:?}  # as marked\n",
        example().pulley_kn
    )
}

/// What a rope is braked by.
#[derive(Clone, Copy)]
pub(super) enum Brake {
    Tube,
    Munter,
    Eight,
    Bar,
}

impl Brake {
    /// By the word of a question.
    pub fn named(word: &str) -> Self {
        match word {
            "tube" => Self::Tube,
            "figure-eight" => Self::Eight,
            "bar" => Self::Bar,
            _ => Self::Munter,
        }
    }

    /// Its name and its table; strength left out, as it is not marked on most.
    pub fn device(self, at: &str) -> String {
        let example = example();
        match self {
            Self::Tube => ratio_device("tube", at, &example.tube),
            Self::Munter => ratio_device("Munter hitch", at, &example.munter),
            Self::Eight => ratio_device("figure-eight", at, &example.eight),
            Self::Bar => format!(
                "\n# Turns round a bar: each turn more holds some 3 to 5 times as much (exp(2 pi friction), Euler 1775).\n\
                 [[device]]\nname = \"bar\"\nat = \"{at}\"\nfriction = {:?}\nband = {:?}\nwraps = {:?}  # turns round it\n",
                example.bar_friction, example.bar_friction_band, example.bar_turns
            ),
        }
    }
}

/// A device by its ratio, which is an example.
pub(super) fn ratio_device(name: &str, at: &str, held: &DeviceRatio) -> String {
    format!(
        "\n# ratio: the pull before the device over that at the hand; an invented example, no measurement. Yours depends on rope and hand.\n\
         [[device]]\nname = \"{name}\"\nat = \"{at}\"\nratio = {:?}\nband = {:?}\n",
        held.ratio, held.band
    )
}

/// A friction hitch.
pub(super) fn grip(name: &str, at: &str, of: &str, slips_kn: f64, about: &str) -> String {
    format!(
        "\n[[grip]]\nname = \"{name}\"\nat = \"{at}\"\nof = \"{of}\"\nslips_at_kn = {slips_kn:?}  # {about}\nfibre = \"nylon\"\n"
    )
}

/// Somebody who stands firm and holds a rope.
pub(super) fn firm(name: &str, at: &str) -> String {
    person(name, 75.0, at, "anchored = true  # stands firm here\n")
}
