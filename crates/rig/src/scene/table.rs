//! The questions and the example gear, as data.

use super::question::Question;
use serde::Deserialize;
use std::sync::LazyLock;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Entry {
    pub title: String,
    pub question: Vec<Question>,
}

/// The gear that a new file begins with; lengths in m.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Example {
    pub until_s: f64,
    pub until_most_s: f64,
    pub draw_sling: String,
    pub draw_length_m: f64,
    /// How many draws hang one below the other must fit between two clips.
    pub draws_per_gap: f64,
    pub clip_zigzag_m: f64,
    pub bolt_holds_kn: f64,
    pub placement_holds_kn: PlacementHolds,
    pub leg_sling: String,
    pub leg_knot: String,
    pub leg_drop_m: f64,
    pub rope_impact_force_kn: f64,
    pub rope_static_elongation_pct: f64,
    pub rope_dynamic_elongation_pct: f64,
    pub lead_slack_m: f64,
    pub lead_belayer_out_m: f64,
    pub top_rope_belayer_out_m: f64,
    pub climber_out_m: f64,
    pub brake: String,
    pub closed_kn: f64,
    pub open_kn: f64,
    pub minor_kn: f64,
    pub limiter_m: f64,
    pub webbing_kg_per_m: f64,
    pub webbing_strength_kn: f64,
    pub low_stretch_pct: f64,
    pub absorber_first_kn: f64,
    pub absorber_first_m: f64,
    pub absorber_second_kn: f64,
    pub absorber_second_m: f64,
    pub half_impact_force_kn: f64,
    pub half_static_elongation_pct: f64,
    pub half_dynamic_elongation_pct: f64,
    pub rope_kg_per_m: f64,
    pub pulley_kn: f64,
    pub hitch_slips_kn: f64,
    pub backup_slips_kn: f64,
    pub tube: DeviceRatio,
    pub munter: DeviceRatio,
    pub eight: DeviceRatio,
    pub bar_friction: f64,
    pub bar_friction_band: [f64; 2],
    pub bar_turns: f64,
    pub guide_takes_in: DeviceRatio,
    pub guide_lowers: DeviceRatio,
    pub second_leaves_kn: f64,
    pub belayer_leaves_kn: f64,
    pub hands_per_person: u8,
    source: String,
    quality: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PlacementHolds {
    pub along: f64,
    pub across: f64,
    pub upward: f64,
}

/// Tension before a device over that at the hand.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct DeviceRatio {
    pub ratio: f64,
    pub band: [f64; 2],
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Table {
    pub lead: Entry,
    pub top_rope: Entry,
    pub anchor: Entry,
    pub losses: Entry,
    pub tether: Entry,
    pub high_line: Entry,
    pub ground: Entry,
    pub two_strands: Entry,
    pub fixed_point: Entry,
    pub pendulum: Entry,
    pub haul: Entry,
    pub lower: Entry,
    pub rappel: Entry,
    pub guide: Entry,
    pub drag: Entry,
    pub example: Example,
}

pub(super) static TABLE: LazyLock<Table> = LazyLock::new(|| {
    toml::from_str(include_str!("../../data/scenes.toml")).unwrap_or_else(|fault| panic!("built-in scenes: {fault}"))
});

/// Where the gear of a new file comes from, and how that was read.
#[must_use]
pub fn example_source() -> (&'static str, &'static str) {
    (&TABLE.example.source, &TABLE.example.quality)
}
