//! Positions: how a connector can come to be loaded, why, and what it bears there.
//!
//! [`slips`] asks the [`RULES`] one by one. What is unknown counts as "it can", and the reason names the key that would decide.

mod rules;
mod spread;
mod table;

use crate::connector::Connector;
use terms::{Force, How, Reason, coded};

pub use rules::RULES;
pub use table::{Threshold, Thresholds, settings, source, thresholds};

coded!(
    /// How a connector is loaded.
    Position {
        /// Major axis, gate closed.
        Closed = "closed",
        /// Major axis, gate open.
        GateOpen = "gate-open",
        /// Minor axis: from spine to gate.
        CrossLoaded = "cross-loaded",
        /// Pulled in three directions at once.
        TriAxial = "tri-axial",
        /// Major axis, the load away from the spine.
        OffSpine = "off-spine",
        /// Bent over what it is clipped to.
        Levered = "levered",
        /// Bent over an edge.
        OverEdge = "over-edge",
        /// Hung by the tip of its nose, gate open.
        NoseHooked = "nose-hooked",
        /// The rope lies over the gate and can open it.
        RopeOverGate = "rope-over-gate",
        /// The rope runs in from the front, towards the rock behind.
        BackClipped = "back-clipped",
        /// The rope was taken from below the last runner.
        ZClipped = "z-clipped",
        /// An open sling hangs in its elastic keeper alone.
        KeeperOnly = "keeper-only",
        /// Another connector lies in it.
        ConnectorInConnector = "connector-in-connector",
        /// The sleeve of a quick link is not screwed home.
        NotScrewedHome = "not-screwed-home",
        /// Clipped to a gear loop or a key-ring link.
        GearLoop = "gear-loop",
    }
);

impl Position {
    /// How a connector comes to be loaded so.
    #[must_use]
    pub const fn how(self) -> How {
        match self {
            Self::Closed => How::Intended,
            Self::GateOpen | Self::CrossLoaded | Self::TriAxial | Self::OffSpine | Self::Levered | Self::OverEdge => {
                How::InUse
            }
            Self::NoseHooked
            | Self::RopeOverGate
            | Self::BackClipped
            | Self::ZClipped
            | Self::KeeperOnly
            | Self::ConnectorInConnector
            | Self::NotScrewedHome
            | Self::GearLoop => How::RiggingError,
        }
    }
}

/// Where a connector sits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// At a point that does not move: bolt, tree, chock.
    Anchor,
    /// At a free point: master point, redirect.
    Joint,
    /// At the bolt end of a draw.
    BoltEnd,
    /// At the rope end of a draw.
    RopeEnd,
    /// At a person.
    Person,
}

impl Place {
    const fn is_end_of_draw(self) -> bool {
        matches!(self, Self::BoltEnd | Self::RopeEnd)
    }
}

/// One strand that pulls on the point of a connector.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PullOn<'a> {
    /// The name of its sling or rope.
    pub name: &'a str,
    /// Unit vector of its pull on the connector.
    pub direction: [f64; 3],
    /// How hard it pulls.
    pub force: Force,
    /// Whether it belongs to a rope that runs through: its strands then act as one pull.
    pub runs_through: bool,
}

/// A connector and all around it that decides its positions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting<'a> {
    /// The connector.
    pub connector: &'a Connector,
    /// Where it sits.
    pub place: Place,
    /// What pulls at its point at the moment that is judged.
    pub pulls: &'a [PullOn<'a>],
    /// Whether a rope runs through it.
    pub rope_runs: bool,
    /// Whether that rope leads on to somebody who climbs above. The rope end of a draw is a runner without it.
    pub leads: bool,
    /// How many runners that rope goes through, this one among them.
    pub runners_on_line: usize,
    /// The one that stands opposite and opposed, whichever of the two names the other.
    pub opposed: Option<&'a Connector>,
    /// Names of the other connectors at the same point, and of those that its `joins` name.
    pub neighbours: &'a [&'a str],
    /// Whether the sling of its draw is an open one, held in line by a keeper alone.
    pub open_sling: Option<bool>,
}

impl<'a> Setting<'a> {
    /// A connector alone at its place.
    #[must_use]
    pub const fn new(connector: &'a Connector, place: Place) -> Self {
        Self {
            connector,
            place,
            pulls: &[],
            rope_runs: false,
            leads: false,
            runners_on_line: 0,
            opposed: None,
            neighbours: &[],
            open_sling: None,
        }
    }
}

/// What a connector bears in a position, and where the number comes from or why there is none.
#[derive(Debug, Clone, PartialEq)]
pub struct Bears {
    /// The strength; `None` where there is no rated or no legible one.
    pub force: Option<Force>,
    /// Why.
    pub because: Vec<Reason>,
}

/// How one position comes about and what is borne in it.
#[derive(Clone, Copy)]
pub struct Rule {
    /// The position.
    pub position: Position,
    /// Why the connector can come to be loaded so; `None` where it cannot.
    pub applies: fn(&Setting) -> Option<Vec<Reason>>,
    /// What it bears there.
    pub bears: fn(&Connector) -> Bears,
}

/// A position that a connector can slip into.
#[derive(Debug, Clone, PartialEq)]
pub struct Slip {
    /// The position.
    pub position: Position,
    /// How it comes about.
    pub how: How,
    /// What the connector bears there; `None` where unrated or unknown.
    pub bears: Option<Force>,
    /// Why it can slip there, then where the strength comes from.
    pub because: Vec<Reason>,
    /// Whether something given says that it can; false where it merely cannot be excluded.
    pub is_known: bool,
}

/// The positions that a connector can be loaded in: the intended one first, then in use, then rigging errors.
#[must_use]
pub fn slips(setting: &Setting) -> Vec<Slip> {
    RULES.iter().filter_map(|rule| slip(rule, setting)).collect()
}

fn slip(rule: &Rule, setting: &Setting) -> Option<Slip> {
    let mut because = (rule.applies)(setting)?;
    let is_known = !because.iter().any(|reason| matches!(reason, Reason::KeyUnknown { .. }));
    let bears = (rule.bears)(setting.connector);
    because.extend(bears.because);
    Some(Slip { position: rule.position, how: rule.position.how(), bears: bears.force, because, is_known })
}
