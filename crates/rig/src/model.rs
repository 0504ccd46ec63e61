//! A rig as parsed: every name resolved, every quantity in range. A value of these types cannot point at nothing.

mod running;

pub use running::{Device, Drag, Grip, Ranged, Runs};
use terms::{Force, Length, Mass};
use trade::connector::Connector;
use trade::sling::StrengthBy;

/// Place of a point in [`Rig::points`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PointId(pub usize);
/// Place of a rope in [`Rig::ropes`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RopeId(pub usize);
/// Place of a sling in [`Rig::slings`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SlingId(pub usize);
/// Place of a leg in [`Rig::legs`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LegId(pub usize);

/// What a rig file asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Case {
    /// Equilibrium under steady loads.
    Rest,
    /// What a fall brings.
    Fall,
    /// Ropes steadily on the move.
    Running,
}

/// A number that is known as a range, lowest first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// The least it may be.
    pub low: f64,
    /// The most it may be.
    pub high: f64,
}

/// What kind of rope, which decides the mass of its drop test.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RopeKind {
    /// Single rope.
    Single,
    /// Half rope.
    Half,
    /// Twin rope.
    Twin,
}

/// How a rope answers to strain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RopeResponse {
    /// The declared figures of the data sheet (EN 892).
    DataSheet {
        /// Impact force of the first drop.
        impact_force: Force,
        /// Static elongation under 80 kg, in percent.
        static_elongation_pct: f64,
        /// Dynamic elongation in the first drop, in percent.
        dynamic_elongation_pct: f64,
    },
    /// The three numbers of the standard linear solid.
    Given {
        /// Stiffness (force per unit strain) after a long time.
        slow: Force,
        /// Stiffness that relaxes.
        fast: Force,
        /// Relaxation time in seconds.
        relax_s: f64,
    },
    /// A low-stretch rope by its declared elongation from 50 to 150 kg (EN 1891), taken as elastic.
    LowStretch {
        /// That elongation, in percent.
        elongation_pct: f64,
    },
}

/// A rope.
#[derive(Debug, Clone, PartialEq)]
pub struct Rope {
    /// Its name.
    pub name: String,
    /// Single, half or twin.
    pub kind: RopeKind,
    /// Its response.
    pub response: RopeResponse,
    /// Mass of a metre of it, kg; `None` where its weight does not count.
    pub mass_kg_per_m: Option<f64>,
    /// What its state makes of its stiffness: the range of the factor, where a state is given.
    pub state: Option<Band>,
    /// Rated strength, where it has one (low-stretch ropes).
    pub strength: Option<Force>,
}

impl Rope {
    /// Its weight, N for each metre; 0 where none is given.
    #[must_use]
    pub fn weight_n_per_m(&self) -> f64 {
        self.mass_kg_per_m.unwrap_or(0.0) * terms::STANDARD_GRAVITY
    }
}

/// A sling, cord or tape.
#[derive(Debug, Clone, PartialEq)]
pub struct Sling {
    /// Its name.
    pub name: String,
    /// Force per unit strain of one strand.
    pub stiffness: Force,
    /// The range the stiffness may lie in, where the file gives one (kN inside `Band`).
    pub stiffness_band_kn: Option<Band>,
    /// Rated strength of the sling.
    pub strength: Option<Force>,
    /// Who says so.
    pub strength_by: StrengthBy,
    /// The knot that is tied in it, in the trade's word, if any.
    pub knot: Option<String>,
    /// What it is made of, in the trade's word, where known.
    pub fibre: Option<String>,
    /// At what force it tears open, where it is an energy absorber.
    pub tears: Option<Tears>,
}

/// How an energy absorber gives way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tears {
    /// The force at which it tears.
    pub at: Force,
    /// By how much it lengthens when all of it is torn.
    pub most: Length,
}

/// What an anchor holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Holds {
    /// The same in every direction.
    Every(Force),
    /// By direction of the pull.
    ByDirection {
        /// Along the direction it was placed for.
        along: Force,
        /// Across it.
        across: Force,
        /// Against it (upward for a piece placed for a downward pull).
        upward: Force,
        /// The direction it was placed for: unit vector.
        direction: [f64; 3],
    },
}

/// How a person is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stance {
    /// Falls from rest at t = 0.
    Falls,
    /// Stands on a floor at the height of its point and can be lifted off.
    Stands,
    /// Does not move.
    Anchored,
}

/// What a point is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PointKind {
    /// Does not move.
    Anchor {
        /// Its strength, where known.
        holds: Option<Holds>,
    },
    /// Moves freely.
    Joint {
        /// Its mass.
        mass: Mass,
    },
    /// A person.
    Person {
        /// Its mass.
        mass: Mass,
        /// How it is held.
        stance: Stance,
    },
}

/// A point of the rig. Draws have made their rope end into a joint of their own name.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Its name.
    pub name: String,
    /// Where it is at t = 0, in metres, z up.
    pub at: [f64; 3],
    /// What it is.
    pub kind: PointKind,
}

/// A quickdraw: the leg and the joint that it became, and the connectors at its ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draw {
    /// The anchor it hangs on.
    pub on: PointId,
    /// Its rope end.
    pub joint: PointId,
    /// Its sling.
    pub leg: LegId,
    /// Place in [`Rig::connectors`] of the connector at the bolt.
    pub bolt_end: Option<usize>,
    /// Place in [`Rig::connectors`] of the connector at the rope.
    pub rope_end: Option<usize>,
}

/// A strand of sling between two points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// One end.
    pub from: PointId,
    /// Other end.
    pub to: PointId,
    /// What it is made of.
    pub of: SlingId,
    /// Unstretched length.
    pub length: Length,
    /// How many strands share the load.
    pub strands: f64,
}

/// How long a line's rope is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LineLength {
    /// As drawn, plus slack that hangs in the last segment.
    Slack(Length),
    /// Given, spread over the segments in proportion.
    Given(Length),
}

/// A rope as it runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Which rope.
    pub of: RopeId,
    /// The points it runs through, in order; fast at the first and last.
    pub through: Vec<PointId>,
    /// Its length.
    pub length: LineLength,
    /// The tension above which a brake at the first name pays rope out.
    pub brake_slips_at: Option<Force>,
    /// How it is on the move, if it is.
    pub runs: Option<Runs>,
    /// The pull that it was tensioned with before anything hung on it, which decides its length.
    pub tensioned: Option<Force>,
    /// How far it runs through its points before a limiter knot stops it, where there is one.
    pub limiter: Option<Length>,
}

/// Something to land on: the ground, or a ledge.
#[derive(Debug, Clone, PartialEq)]
pub struct Ledge {
    /// Its name.
    pub name: String,
    /// Its height, m.
    pub height_m: f64,
    /// From where to where it reaches along x, m.
    pub x_m: Option<[f64; 2]>,
}

/// An upright wall across x.
#[derive(Debug, Clone, PartialEq)]
pub struct Wall {
    /// Its name.
    pub name: String,
    /// Where it stands, m along x.
    pub x_m: f64,
    /// From what height to what height it reaches, m.
    pub z_m: Option<[f64; 2]>,
}

/// The falls of a leader before each of the next clips; where ropes run, the pull on a leader who takes rope along.
#[derive(Debug, Clone, PartialEq)]
pub struct ClipTable {
    /// How many clips it goes up to.
    pub clips: usize,
    /// The slacks that each fall is followed with, m.
    pub slack_m: Vec<f64>,
}

/// Where a connector sits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seat {
    /// At a point.
    At(PointId),
    /// At the bolt end of a draw: place in [`Rig::draws`]; it sees the leg.
    BoltEnd(usize),
    /// At the rope end of a draw: place in [`Rig::draws`]; it sees the rope.
    RopeEnd(usize),
}

/// A connector and its seat.
#[derive(Debug, Clone, PartialEq)]
pub struct Seated {
    /// The connector.
    pub connector: Connector,
    /// Where it sits.
    pub seat: Seat,
}

/// A steady load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pull {
    /// Where it acts.
    pub at: PointId,
    /// Its components in kN.
    pub force_kn: [f64; 3],
}

/// A whole rig.
#[derive(Debug, Clone, PartialEq)]
pub struct Rig {
    /// Its title.
    pub title: String,
    /// What is asked.
    pub case: Case,
    /// Capstan coefficient where a connector gives none.
    pub friction: f64,
    /// The range the friction may lie in, where the file gives one.
    pub friction_band: Option<Band>,
    /// How long a fall is followed, in seconds.
    pub until_s: f64,
    /// Whether each leg and anchor is taken away in turn.
    pub losses: bool,
    /// Whether an anchor pulls out at the force it holds, and the fall goes on.
    pub pulls_out: bool,
    /// Ground and ledges, in the order of the file, the ground first.
    pub ledges: Vec<Ledge>,
    /// Walls in the order of the file.
    pub walls: Vec<Wall>,
    /// The table of falls clip by clip, where one is asked for.
    pub clip_table: Option<ClipTable>,
    /// Ropes in the order of the file.
    pub ropes: Vec<Rope>,
    /// Slings in the order of the file.
    pub slings: Vec<Sling>,
    /// Anchors, then joints, then the joints of draws, then persons; each in the order of the file.
    pub points: Vec<Point>,
    /// Draws in the order of the file.
    pub draws: Vec<Draw>,
    /// The legs of the file in its order, then those of draws.
    pub legs: Vec<Leg>,
    /// Lines in the order of the file.
    pub lines: Vec<Line>,
    /// Connectors in the order of the file.
    pub connectors: Vec<Seated>,
    /// Steady loads in the order of the file.
    pub pulls: Vec<Pull>,
    /// Pulleys and other devices in the order of the file.
    pub devices: Vec<Device>,
    /// Hitches and clamps in the order of the file.
    pub grips: Vec<Grip>,
}

/// Distance of two places, m.
pub(crate) fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1]).hypot(a[2] - b[2])
}
