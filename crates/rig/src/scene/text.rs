//! The parts that the files of all scenes are put together from.

use super::question::SlingChoice;
use super::table::{Example, TABLE};
use trade::friction::brake_band;

/// How a connector is used: its keys below the ratings, each with what it says.
pub(super) const BOLT_END: &str = "\
class = \"B\"  # type letter: B H K A T Q X
gate = \"wire\"  # solid or wire
lock = \"none\"  # none, screw, two-action, three-action
nose = \"hookless\"  # hooked or hookless: whether it catches on the hanger
keeper = \"none\"  # none, elastic, bar: what holds it in line
free_to_turn = true  # whether it can turn across its load
over_edge = false  # whether rock bends it or pushes on its gate
";
pub(super) const ROPE_END: &str = "\
class = \"B\"
gate = \"wire\"
lock = \"none\"
nose = \"hookless\"
keeper = \"elastic\"
# free_to_turn = false  # left out, so the report shows it pulled across as well
over_edge = false
";
pub(super) const MASTER_POINT: &str = "\
class = \"H\"  # type letter: B H K A T Q X
shape = \"pear\"  # pear, D, offset-D, oval, quick-link
lock = \"screw\"  # none, screw, two-action, three-action
locked = true  # whether the lock is done up here
nose = \"hookless\"  # hooked or hookless: whether it catches on what lies in it
free_to_turn = false  # whether it can turn across its load
over_edge = false  # whether rock bends it or pushes on its gate
";

/// The example gear.
pub(super) fn example() -> &'static Example {
    &TABLE.example
}

/// A number as a title tells it, to the hundredth: one that was typed in another unit has more places than anybody meant.
pub(super) fn in_title(value: f64) -> f64 {
    (100.0 * value).round() / 100.0
}

/// A number of metres to the millimetre.
pub(super) fn metres(value: f64) -> String {
    rounded(value, 3)
}

/// A number of kN to the tenth of a newton.
pub(super) fn kilonewtons(value: f64) -> String {
    rounded(value, 4)
}

fn rounded(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    if text.parse() == Ok(0.0) { "0.0".to_owned() } else { text }
}

/// A place in the plane of the scene.
pub(super) fn place(x: f64, z: f64) -> String {
    format!("[{}, 0.0, {}]", metres(x), metres(z))
}

/// What stands on top of every file.
pub(super) fn head(title: &str, case: &str) -> String {
    format!(
        "# Begun from five questions; every number here is yours to change.\n\
         # Gear is an invented example: overwrite it with what is stamped on your own pieces. What cannot be read, leave out.\n\
         # Estimates only: the maker's instructions, local rules and a qualified person come first.\n\
         # Lengths in m, masses in kg, forces in kN. Positions are [x, y, z], z up.\n\n\
         title = \"{title}\"\ncase = \"{case}\"\n"
    )
}

pub(super) fn rope() -> String {
    let example = example();
    format!(
        "\n# The rope by its data sheet: declared impact force, static and dynamic elongation (EN 892).\n\
         [rope.main]\nkind = \"single\"  # single, half or twin; left out: single\n\
         impact_force_kn = {}\nstatic_elongation_pct = {}\ndynamic_elongation_pct = {}\n",
        example.rope_impact_force_kn, example.rope_static_elongation_pct, example.rope_dynamic_elongation_pct
    )
}

/// A sling of the examples.
pub(super) fn example_sling(words: &str) -> SlingChoice {
    SlingChoice::parse(words).unwrap_or_else(|help| panic!("built-in scenes: {help}"))
}

/// The strength that a file begins with, and what it says.
pub(super) fn strength(choice: &SlingChoice) -> String {
    match choice.least_strength {
        Some(least) => format!("strength_kn = {}  # as marked, without a knot\n", rounded_kn(least.kn())),
        None => "# strength_kn =   # as marked, without a knot; left out = unknown, and no margin\n".to_owned(),
    }
}

fn rounded_kn(value: f64) -> f64 {
    (100.0 * value).round() / 100.0
}

pub(super) fn sling(name: &str, choice: &SlingChoice) -> String {
    let (low, high) = (choice.band.low.kn(), choice.band.high.kn());
    format!(
        "\n# {} ({}, {}): force per unit strain of one strand, as a range from memory; no better source was found.\n\
         [sling.{name}]\nfibre = \"{}\"\nstiffness_kn = {}\nstiffness_band_kn = [{low}, {high}]\n{}{}",
        choice.words,
        choice.band.made_as,
        choice.band.source.quality.words(),
        choice.band.fibre,
        f64::midpoint(low, high),
        strength(choice),
        knot(choice)
    )
}

/// Cord is tied, so its knot counts from the start; tape is mostly sewn.
fn knot(choice: &SlingChoice) -> String {
    let knot = &example().leg_knot;
    match choice.band.made_as {
        "cord" => {
            format!("knot = \"{knot}\"  # what it takes is allowed for; take the line out only where nothing is tied\n")
        }
        _ => format!("# knot = \"{knot}\"  # if it is tied: what the knot takes is then allowed for\n"),
    }
}

pub(super) fn anchor(name: &str, at: &str, holds: &str) -> String {
    format!("\n[[anchor]]\nname = \"{name}\"\nat_m = {at}\n# holds_kn = {holds}\n")
}

/// What the bolts of the example hold.
pub(super) fn bolt_holds() -> String {
    example().bolt_holds_kn.to_string()
}

pub(super) fn joint(name: &str, at: &str) -> String {
    format!("\n[[joint]]\nname = \"{name}\"\nat_m = {at}\n")
}

pub(super) fn leg(from: &str, to: &str, more: &str) -> String {
    format!("\n[[leg]]\nfrom = \"{from}\"\nto = \"{to}\"\nof = \"cord\"\n{more}")
}

pub(super) fn connector(name: &str, at: &str, more: &str) -> String {
    let example = example();
    format!(
        "\n[[connector]]\nname = \"{name}\"\nat = \"{at}\"\nclosed_kn = {}  # along the spine, gate closed\n\
         open_kn = {}  # along the spine, gate open\nminor_kn = {}  # across\n{more}",
        example.closed_kn, example.open_kn, example.minor_kn
    )
}

/// What stands above the first connector.
pub(super) const ABOUT_CONNECTORS: &str = "\
# Type what is stamped on yours. A rating that is left out is unknown: that position then has no margin. Any other key
# that is left out counts as \"it can\", and the report names the position that nothing excludes.
";

pub(super) fn person(name: &str, mass_kg: f64, at: &str, stance: &str) -> String {
    format!("\n[[person]]\nname = \"{name}\"\nmass_kg = {mass_kg}\nat_m = {at}\n{stance}")
}

/// The rope from the belayer through some points to whoever falls.
pub(super) fn line(through: &[&str], slack_m: f64) -> String {
    let names: Vec<_> = through.iter().map(|name| format!("\"{name}\"")).collect();
    format!(
        "\n# The rope, from the belayer to whoever falls; slack_m is added to its length as drawn. brake: the tension\n\
         # at which it slips through; left out, the report shows both a brake that holds and one that slips.\n\
         [[line]]\nof = \"main\"\nthrough = [{}]\nslack_m = {slack_m}\n{}",
        names.join(", "),
        brake()
    )
}

fn brake() -> String {
    let device = &example().brake;
    let Some(band) = brake_band(device) else { return String::new() };
    let (low, high) = (band.low.kn(), band.high.kn());
    let quality = band.source.quality.words();
    format!("# brake = {{ slips_at_kn = {low} }}  # {device}: {low} to {high} kN, {quality}\n")
}
