//! What gives way in a fall, in the numbers of mechanics: absorbers that tear, anchors that pull out.

use crate::model::{Holds, PointKind, Rig};
use mechanics::fall::{Piece, Tear};
use mechanics::vector::Vector;
use trade::anchor::{ByDirection, sectors};

/// The mass (kg) of a piece that has pulled out: that of a joint where the file gives none.
const OUT_MASS: f64 = 0.1;

impl Rig {
    /// The legs that tear.
    pub(crate) fn tears(&self) -> Vec<Tear<f64>> {
        let tear = |(leg, of): (usize, &crate::model::Leg)| {
            let tears = self.slings[of.of.0].tears?;
            Some(Tear { leg, at: tears.at.newtons() * of.strands, most: tears.most.m() })
        };
        self.legs.iter().enumerate().filter_map(tear).collect()
    }

    /// The anchors whose strength is known, as pieces that pull out beyond it.
    pub(crate) fn pieces(&self) -> Vec<Piece<f64>> {
        let piece = |(node, point): (usize, &crate::model::Point)| {
            let PointKind::Anchor { holds: Some(holds) } = point.kind else { return None };
            let (direction, holds) = match holds {
                Holds::Every(strength) => ([0.0, 0.0, -1.0], vec![(-1.0, strength.newtons())]),
                Holds::ByDirection { along, across, upward, direction } => {
                    let by_sector = sectors(&ByDirection { along, across, upward, direction });
                    (direction, by_sector.map(|(least, force)| (least, force.newtons())).to_vec())
                }
            };
            Some(Piece { node, mass: OUT_MASS, direction: Vector(direction), holds })
        };
        self.points.iter().enumerate().filter_map(piece).collect()
    }
}
