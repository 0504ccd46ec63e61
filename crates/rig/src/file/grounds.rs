//! What a rig file says beyond the strands: ground, ledges and walls, absorbers, and lines under tension.

use terms::{Force, Length};

use super::fault::FaultCode;
use super::resolve::Resolver;
use super::tables::{ClipTableTable, LedgeTable, LineTable, WallTable};
use super::values::{Coordinate, Placed, Positive, Reach};
use crate::model::{Case, ClipTable, Ledge, Tears, Wall};

/// What the ground is called.
pub(crate) const GROUND: &str = "the ground";

impl Resolver<'_, '_> {
    pub(super) fn add_ground(
        &mut self,
        ground: Option<Coordinate>,
        ledges: Vec<LedgeTable>,
        walls: Vec<WallTable>,
        clip_table: Option<ClipTableTable>,
    ) {
        let ground = ground.map(|height| Ledge { name: GROUND.to_owned(), height_m: height.0, x_m: None });
        self.rig.ledges.extend(ground);
        for ledge in ledges {
            let x_m = self.reach(ledge.x_m);
            self.rig.ledges.push(Ledge { name: ledge.name, height_m: ledge.height_m.0, x_m });
        }
        for wall in walls {
            let z_m = self.reach(wall.z_m);
            self.rig.walls.push(Wall { name: wall.name, x_m: wall.x_m.0, z_m });
        }
        self.rig.clip_table = clip_table.map(|table| ClipTable {
            clips: usize::from(table.clips.0),
            slack_m: table.slack_m.iter().map(|slack| slack.0).collect(),
        });
    }

    fn reach(&mut self, reach: Option<Placed<Reach>>) -> Option<[f64; 2]> {
        self.band(reach).map(|band| [band.low, band.high])
    }

    /// An absorber is known by both of its numbers.
    pub(super) fn tears(&mut self, at: Option<Placed<Positive>>, most: Option<Placed<Positive>>) -> Option<Tears> {
        match (at, most) {
            (Some(at), Some(most)) => {
                Some(Tears { at: Force::from_kn(at.value.0), most: Length::from_m(most.value.0) })
            }
            (Some(only), None) | (None, Some(only)) => {
                let help = "give tears_at_kn, the force, and tears_m, how much longer it becomes";
                self.fault(FaultCode::AbsorberIncomplete, &only.span, "half of an energy absorber", help);
                None
            }
            (None, None) => None,
        }
    }

    /// The pull that a line was tensioned with: it stands in place of a length, and in a rig at rest.
    pub(super) fn tensioned(&mut self, table: &LineTable) -> Option<Force> {
        let Placed { value, span } = table.tensioned_kn.as_ref()?;
        if table.slack_m.is_some() || table.length_m.is_some() {
            let help = "keep `tensioned_kn` (the length follows from the pull) or the length";
            self.fault(FaultCode::TensionAndLength, span, "this line has both a tension and a length", help);
        }
        Some(Force::from_kn(value.0))
    }

    /// In a fall a tensioned line has no meaning: it would have to be loaded first.
    pub(super) fn refuse_losses_while_running(&mut self, losses: Option<&Placed<bool>>) {
        if let (Case::Running, Some(losses)) = (self.rig.case, losses.filter(|losses| losses.value)) {
            let help = "ask for case = \"rest\" with the load at rest, or leave `losses` out";
            let message = "losses are not followed while ropes run";
            self.report.add(FaultCode::LossesWhileRunning, &losses.span, message, help);
        }
    }

    pub(super) fn refuse_tension_in_fall(&mut self, lines: &[LineTable]) {
        if self.rig.case != Case::Fall {
            return;
        }
        for span in lines.iter().filter_map(|line| line.tensioned_kn.as_ref()).map(|tension| &tension.span) {
            let help = "give `length_m`, or ask for case = \"rest\"";
            self.report.add(FaultCode::TensionInFall, span, "a fall has no tensioned lines", help);
        }
    }
}
