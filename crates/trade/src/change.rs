//! The numbers of changes that might help a rig.

use crate::cited::{self, Read};
use serde::Deserialize;
use std::sync::LazyLock;
use terms::Source;

static CHANGES: LazyLock<Changes> = LazyLock::new(|| cited::parse(include_str!("../data/changes.toml")));

/// A number and where it comes from.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figure {
    /// The number, in the unit of its key.
    pub value: f64,
    source: String,
    quality: Read,
}

impl Figure {
    /// Where it comes from.
    #[must_use]
    pub fn source(&self) -> Source {
        cited::source(&self.source, self.quality)
    }
}

/// How far a change goes.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Changes {
    /// Length of an extended draw, m.
    pub longer_draw_m: Figure,
    /// Factor on the legs of an anchor.
    pub leg_factor: Figure,
    /// How far a sling slides before limiter knots stop it, m.
    pub limiter_m: Figure,
    /// Factor on slack.
    pub slack_factor: Figure,
    /// Share of the way from the last clip to the start of the fall at which one more clip is placed.
    pub clip_share: Figure,
    /// The strongest ordinary connector, gate closed, kN.
    pub highest_closed_kn: Figure,
    /// The strongest ordinary connector, gate open, kN.
    pub highest_open_kn: Figure,
    /// The strongest ordinary connector, minor axis, kN.
    pub highest_minor_kn: Figure,
}

/// The table.
#[must_use]
pub fn changes() -> &'static Changes {
    &CHANGES
}
