//! Rope that runs over cloth: heat melts what it rubs on.

use crate::model::{PointId, Rig};

/// A piece that a moving rope rubs on.
#[derive(Debug, Clone, PartialEq)]
pub struct Textile {
    /// The sling, or the hitch.
    pub piece: String,
    /// What it is made of.
    pub fibre: String,
    /// Where.
    pub at: PointId,
    /// Whether it is a hitch, which is meant to grip, and not a sling that the rope runs over.
    pub is_hitch: bool,
}

/// The fibre that melts at the lowest temperature of those used, by its word in the table of slings.
const MELTS_FIRST: &str = "HMPE";

/// Slings that a rope runs over with neither connector nor device between, and hitches of the fibre that melts first; of
/// those whose fibre is given.
pub(super) fn textiles(rig: &Rig) -> Vec<Textile> {
    let mut found = Vec::new();
    for line in rig.lines.iter().filter(|line| line.runs.is_some()) {
        let rope = &rig.ropes[line.of.0].name;
        for &at in &line.through[1..line.through.len() - 1] {
            if !rig.has_metal_at(at, rope) {
                found.extend(slings_at(rig, at));
            }
        }
    }
    found.extend(rig.grips.iter().filter_map(|grip| {
        let fibre = grip.fibre.clone().filter(|fibre| fibre == MELTS_FIRST)?;
        Some(Textile { piece: grip.name.clone(), fibre, at: grip.at, is_hitch: true })
    }));
    found.dedup();
    found
}

fn slings_at(rig: &Rig, at: PointId) -> impl Iterator<Item = Textile> + '_ {
    let legs = rig.legs.iter().filter(move |leg| leg.from == at || leg.to == at);
    legs.filter_map(move |leg| {
        let sling = &rig.slings[leg.of.0];
        Some(Textile { piece: sling.name.clone(), fibre: sling.fibre.clone()?, at, is_hitch: false })
    })
}

impl Rig {
    /// Whether a rope runs through a connector or a device at a point; the rope end of a draw is a connector.
    fn has_metal_at(&self, at: PointId, rope: &str) -> bool {
        let seated = self.connectors.iter().any(|seated| self.rope_seat(seated.seat) == Some(at));
        seated || self.draw_at(at).is_some() || self.device_at(at, rope).is_some()
    }
}
