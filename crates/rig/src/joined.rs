//! One anchor joined in three ways: a sling that slides, one that limiter knots stop, fixed legs; the losses of each.

use crate::band::bands;
use crate::check::LinkKind;
use crate::loss::{Held, Loss, Outcome, losses};
use crate::model::{
    Case, Leg, Line, LineLength, PointId, PointKind, Rig, Rope, RopeId, RopeKind, RopeResponse, Sling, SlingId,
    distance,
};
use crate::solve::Prepared;
use rayon::prelude::*;
use terms::{Force, Length, coded};
use trade::change::changes;
use trade::policy::Policy;
use trade::sling::StrengthBy;

coded!(
    /// How the anchors are joined to the master point.
    Joined {
        /// By a sling that slides through the master point.
        Sliding = "sliding",
        /// By one that slides as far as its limiter knots let it.
        Limited = "limited",
        /// By legs of their own.
        Fixed = "fixed",
    }
);

/// What the losses of a way to join come to, at their worst.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compared {
    /// The way.
    pub joined: Joined,
    /// Whether it is that of the file.
    pub is_own: bool,
    /// Whether the load is held whatever goes.
    pub is_held: bool,
    /// The least margin of what is left; `None` where nothing has a strength.
    pub margin: Option<f64>,
    /// The most that an anchor sees.
    pub most: Force,
    /// How far the load sinks at the most, m.
    pub sinks_m: f64,
}

/// The three ways compared, those that can be solved; empty unless a rig at rest asks for losses and joins anchors to one
/// joint by one sling that slides, or by legs of one sling.
#[must_use]
pub fn compare(rig: &Rig, policy: &Policy) -> Vec<Compared> {
    if !rig.losses || rig.case != Case::Rest {
        return Vec::new();
    }
    let Some(tied) = rig.tied() else { return Vec::new() };
    let own = tied.joined;
    Joined::ALL.par_iter().filter_map(|&joined| compared(&rig.joined(&tied, joined), joined, own, policy)).collect()
}

fn compared(rig: &Rig, joined: Joined, own: Joined, policy: &Policy) -> Option<Compared> {
    let prepared = Prepared::new(rig).ok()?;
    let bands = bands(&prepared).ok()?;
    let losses = losses(&prepared, &bands.history, policy);
    let held = || losses.iter().filter_map(held_by);
    let margins = held().filter_map(|held| held.check.weakest()?.margin);
    Some(Compared {
        joined,
        is_own: joined == own,
        is_held: losses.iter().all(|loss| held_by(loss).is_some()),
        margin: margins.reduce(f64::min),
        most: held()
            .map(largest_on_an_anchor)
            .fold(Force::default(), |most, next| if next > most { next } else { most }),
        sinks_m: held().map(|held| held.sinks_m).fold(0.0, f64::max),
    })
}

fn held_by(loss: &Loss) -> Option<&Held> {
    match &loss.outcome {
        Outcome::Held(held) => Some(held),
        Outcome::NotHeld(_) | Outcome::Failed(_) => None,
    }
}

fn largest_on_an_anchor(held: &Held) -> Force {
    let anchors = held.check.links.iter().filter(|link| link.kind == LinkKind::Anchor);
    anchors.map(|link| link.sees).fold(Force::default(), |most, sees| if sees > most { sees } else { most })
}

/// Anchors tied to one joint, and by what.
struct Tied {
    joined: Joined,
    anchors: Vec<PointId>,
    master: PointId,
    /// Force per unit strain of what leads to each anchor.
    stiffness: Force,
    strength: Option<Force>,
    strength_by: StrengthBy,
    knot: Option<String>,
    name: String,
}

impl Rig {
    fn tied(&self) -> Option<Tied> {
        self.lines.iter().find_map(|line| self.tied_by(line)).or_else(|| self.tied_by_legs())
    }

    fn is_anchor(&self, point: PointId) -> bool {
        matches!(self.points[point.0].kind, PointKind::Anchor { .. })
    }

    /// A line from anchor to anchor that comes back to one joint between each two.
    fn tied_by(&self, line: &Line) -> Option<Tied> {
        let (anchors, joints): (Vec<PointId>, Vec<PointId>) =
            line.through.iter().partition(|point| self.is_anchor(**point));
        let master = *joints.first()?;
        let alternates =
            line.through.iter().enumerate().all(|(place, &point)| self.is_anchor(point) == (place % 2 == 0));
        let rope = &self.ropes[line.of.0];
        let RopeResponse::Given { slow, .. } = rope.response else { return None };
        (alternates && joints.iter().all(|&joint| joint == master) && anchors.len() == joints.len() + 1).then(|| Tied {
            joined: if line.limiter.is_some() { Joined::Limited } else { Joined::Sliding },
            anchors,
            master,
            stiffness: slow,
            strength: rope.strength,
            strength_by: StrengthBy::Mark,
            knot: None,
            name: rope.name.clone(),
        })
    }

    fn tied_by_legs(&self) -> Option<Tied> {
        let leads_down = |leg: &&Leg| self.is_anchor(leg.from) && !self.is_anchor(leg.to);
        let first = self.legs.iter().find(leads_down)?;
        let of_one =
            |leg: &&Leg| leads_down(leg) && (leg.to, leg.of, leg.strands) == (first.to, first.of, first.strands);
        let anchors: Vec<PointId> = self.legs.iter().filter(of_one).map(|leg| leg.from).collect();
        let sling = &self.slings[first.of.0];
        (anchors.len() > 1 && self.draws.is_empty()).then(|| Tied {
            joined: Joined::Fixed,
            anchors,
            master: first.to,
            stiffness: Force::from_kn(sling.stiffness.kn() * first.strands),
            strength: sling.strength,
            strength_by: sling.strength_by,
            knot: sling.knot.clone(),
            name: sling.name.clone(),
        })
    }

    /// The rig with its anchors joined in another way, of the same stuff and as long as drawn.
    fn joined(&self, tied: &Tied, joined: Joined) -> Rig {
        let mut rig = self.clone();
        if tied.joined == joined {
            return rig;
        }
        rig.untie(tied);
        match joined {
            Joined::Fixed => rig.tie_by_legs(tied),
            Joined::Sliding => rig.tie_by_line(tied, None),
            Joined::Limited => rig.tie_by_line(tied, Some(Length::from_m(changes().limiter_m.value))),
        }
        rig
    }

    fn untie(&mut self, tied: &Tied) {
        let ties = |from: PointId, to: PointId| tied.anchors.contains(&from) && to == tied.master;
        self.legs.retain(|leg| !ties(leg.from, leg.to));
        self.lines.retain(|line| !line.through.windows(2).all(|pair| ties(pair[0], pair[1]) || ties(pair[1], pair[0])));
    }

    fn tie_by_legs(&mut self, tied: &Tied) {
        self.slings.push(Sling {
            name: tied.name.clone(),
            stiffness: tied.stiffness,
            stiffness_band_kn: None,
            strength: tied.strength,
            strength_by: tied.strength_by,
            knot: tied.knot.clone(),
            fibre: None,
            tears: None,
        });
        let of = SlingId(self.slings.len() - 1);
        for &from in &tied.anchors {
            let length = Length::from_m(distance(self.points[from.0].at, self.points[tied.master.0].at));
            self.legs.push(Leg { from, to: tied.master, of, length, strands: 1.0 });
        }
    }

    fn tie_by_line(&mut self, tied: &Tied, limiter: Option<Length>) {
        self.ropes.push(Rope {
            name: tied.name.clone(),
            kind: RopeKind::Single,
            response: RopeResponse::Given { slow: tied.stiffness, fast: Force::default(), relax_s: 1.0 },
            mass_kg_per_m: None,
            state: None,
            strength: tied.strength,
        });
        let between = tied.anchors.iter().flat_map(|&anchor| [tied.master, anchor]).skip(1);
        self.lines.push(Line {
            of: RopeId(self.ropes.len() - 1),
            through: between.collect(),
            length: LineLength::Slack(Length::from_m(0.0)),
            brake_slips_at: None,
            runs: None,
            tensioned: None,
            limiter,
        });
    }
}
