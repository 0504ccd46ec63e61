//! Who is held, and who was stopped: a fall that nothing holds, or that is not over when the time ends, has no largest load yet.

use crate::model::{PointId, PointKind, Rig, Stance};
use mechanics::fall::Moment;
use mechanics::number::Number;

/// Slower than this, m/s, nobody goes down: what is at rest in a rope that creeps.
const AT_REST_M_S: f64 = 0.01;

/// Watches a fall for whether those on whom a load acts are stopped.
pub(crate) struct Stops(Vec<Stop>);

struct Stop {
    point: PointId,
    from_m: f64,
    was_stopped: bool,
    goes_down: bool,
}

impl Stops {
    pub fn of(rig: &Rig) -> Self {
        let loaded = (0..rig.points.len()).map(PointId).filter(|&point| rig.is_loaded(point));
        let stop =
            |point: PointId| Stop { point, from_m: rig.points[point.0].at[2], was_stopped: false, goes_down: false };
        Self(loaded.map(stop).collect())
    }

    /// Looks which way everybody goes at a moment.
    pub fn see<N: Number>(&mut self, moment: &Moment<'_, N>, lane: usize) {
        for stop in &mut self.0 {
            let [_, _, height_m] = moment.at(stop.point.0).lane(lane).0;
            let [_, _, upward_m_s] = moment.velocity(stop.point.0).lane(lane).0;
            stop.was_stopped |= upward_m_s >= 0.0 && height_m < stop.from_m;
            stop.goes_down = upward_m_s < -AT_REST_M_S;
        }
    }

    /// Whether a point still goes down at the last moment that was seen, and was never stopped on the way there.
    pub fn falls_on(&self, point: PointId) -> bool {
        self.0.iter().any(|stop| stop.point == point && stop.goes_down && !stop.was_stopped)
    }
}

impl Rig {
    /// Those on whom a load acts and from whom no leg and no line leads, over whatever is between, to something that stays:
    /// an anchor, or somebody who stands or is tied down.
    #[must_use]
    pub fn held_by_nothing(&self) -> Vec<PointId> {
        let held = self.joined_to_what_stays();
        (0..self.points.len()).map(PointId).filter(|&point| self.is_loaded(point) && !held[point.0]).collect()
    }

    fn joined_to_what_stays(&self) -> Vec<bool> {
        let stays = |kind: PointKind| match kind {
            PointKind::Anchor { .. } => true,
            PointKind::Person { stance, .. } => stance != Stance::Falls,
            PointKind::Joint { .. } => false,
        };
        let mut joined: Vec<bool> = self.points.iter().map(|point| stays(point.kind)).collect();
        let legs = self.legs.iter().map(|leg| vec![leg.from, leg.to]);
        let pieces: Vec<Vec<PointId>> = legs.chain(self.lines.iter().map(|line| line.through.clone())).collect();
        // Each round passes on by at least one point, or ends it.
        while let Some(piece) = pieces
            .iter()
            .find(|piece| piece.iter().any(|point| joined[point.0]) && piece.iter().any(|point| !joined[point.0]))
        {
            piece.iter().for_each(|point| joined[point.0] = true);
        }
        joined
    }
}
