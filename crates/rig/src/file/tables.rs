//! The tables of a rig file, as written. Their docs become the descriptions of the JSON Schema.

use schemars::JsonSchema;
use serde::Deserialize;
use trade::connector::{Class, Gate, Keeper, Lock, Nose, Shape};

use super::running::{DeviceTable, GripTable};
use super::values::{
    Clips, Coordinate, FollowedSeconds, Friction, FrictionBounds, Hands, Height, HoldsValue, LinearMass, Name, Named,
    NonNegative, Percent, Placed, Positive, PositiveBounds, Reach, Vector,
};
use super::words;

/// A rig: length in metres, mass in kilograms, force in kilonewtons, time in seconds; [x, y, z] with z up.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, title = "Rig file")]
pub(super) struct RigFile {
    /// What the rig is called.
    #[serde(default)]
    pub title: String,
    /// What is asked: an equilibrium under steady loads, what a fall brings, or what ropes steadily on the move do.
    #[schemars(extend("enum" = words::codes(words::CASES)))]
    pub case: Name,
    /// Capstan coefficient where a connector gives none.
    #[serde(default = "default_friction")]
    pub friction: Friction,
    /// The lowest and highest that the friction may be.
    pub friction_band: Option<Placed<FrictionBounds>>,
    /// How long a fall is followed, in seconds.
    #[serde(default = "default_until")]
    pub until_s: FollowedSeconds,
    /// Take each leg and anchor away in turn, and tell what comes of it.
    pub losses: Option<Placed<bool>>,
    /// Let an anchor pull out at the force that it holds, and follow the fall on.
    #[serde(default)]
    pub pulls_out: bool,
    /// Height of the ground, in metres; if left out, a floor that somebody stands on counts.
    pub ground_m: Option<Coordinate>,
    /// Ledges that a fall may reach.
    #[serde(default)]
    pub ledge: Vec<LedgeTable>,
    /// Upright walls that a fall may swing into.
    #[serde(default)]
    pub wall: Vec<WallTable>,
    /// The falls of a leader before each of the next clips, or the pull of the rope that they take along, as a table.
    pub clip_table: Option<ClipTableTable>,
    /// Ropes by name.
    #[serde(default)]
    pub rope: Named<RopeTable>,
    /// Slings, cords and tapes by name.
    #[serde(default)]
    pub sling: Named<SlingTable>,
    /// Points that do not move.
    #[serde(default)]
    pub anchor: Vec<AnchorTable>,
    /// Free points.
    #[serde(default)]
    pub joint: Vec<JointTable>,
    /// Persons.
    #[serde(default)]
    pub person: Vec<PersonTable>,
    /// Quickdraws.
    #[serde(default)]
    pub draw: Vec<DrawTable>,
    /// Strands of sling between two points.
    #[serde(default)]
    pub leg: Vec<LegTable>,
    /// Ropes as they run.
    #[serde(default)]
    pub line: Vec<LineTable>,
    /// Connectors.
    #[serde(default)]
    pub connector: Vec<ConnectorTable>,
    /// Steady loads, for `case = "rest"` and `case = "running"`.
    #[serde(default)]
    pub pull: Vec<PullTable>,
    /// What ropes run through that is no connector.
    #[serde(default)]
    pub device: Vec<DeviceTable>,
    /// What holds a rope fast.
    #[serde(default)]
    pub grip: Vec<GripTable>,
}

/// A rope, by the declared figures of its data sheet or by the three numbers of its response.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "rope")]
pub(super) struct RopeTable {
    /// Single, half or twin rope.
    #[serde(default = "default_kind")]
    #[schemars(extend("enum" = words::codes(words::ROPE_KINDS)))]
    pub kind: String,
    /// Declared impact force of the first drop, in kN.
    pub impact_force_kn: Option<Positive>,
    /// Declared static elongation, in percent.
    pub static_elongation_pct: Option<Percent>,
    /// Declared dynamic elongation of the first drop, in percent.
    pub dynamic_elongation_pct: Option<Percent>,
    /// The response, instead of the data sheet.
    pub response: Option<ResponseTable>,
    /// Declared elongation of a low-stretch rope from 50 to 150 kg (EN 1891), in percent, instead of the data sheet.
    pub low_stretch_elongation_pct: Option<Percent>,
    /// Mass by length, in kg for each metre (all lengths are in metres), where its weight counts: for `case = "rest"` and
    /// `"running"`.
    pub mass_kg_per_m: Option<LinearMass>,
    /// The state it is in, which changes its stiffness; left out: as declared.
    #[schemars(extend("enum" = trade::rope::state_names()))]
    pub state: Option<String>,
    /// Rated strength, in kN.
    pub strength_kn: Option<Positive>,
}

/// The three numbers of a rope's response (standard linear solid).
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "response")]
pub(super) struct ResponseTable {
    /// Stiffness after a long time: force per unit strain, in kN.
    pub slow_kn: Positive,
    /// Stiffness that relaxes: force per unit strain, in kN.
    pub fast_kn: NonNegative,
    /// Relaxation time, in seconds.
    pub relax_s: Positive,
}

/// Sling, cord or tape that legs are made of.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "sling")]
pub(super) struct SlingTable {
    /// Force per unit strain of one strand, in kN; of cord by its diameter (`cord_mm`) it may be left out.
    pub stiffness_kn: Option<Positive>,
    /// Diameter of accessory cord, in mm: from tables come, where they are not given, the range of its stiffness (of its fibre,
    /// else nylon, in any state) and the least strength that EN 564 asks of it.
    pub cord_mm: Option<Placed<Positive>>,
    /// The lowest and highest that the stiffness may be, in kN.
    pub stiffness_band_kn: Option<Placed<PositiveBounds>>,
    /// Rated strength as marked, in kN.
    pub strength_kn: Option<Positive>,
    /// The knot that is tied in it, in the trade's word.
    pub knot: Option<String>,
    /// What it is made of.
    #[schemars(extend("enum" = trade::sling::fibres()))]
    pub fibre: Option<String>,
    /// The force at which it tears open, in kN, where it is an energy absorber; with `tears_m`.
    pub tears_at_kn: Option<Placed<Positive>>,
    /// By how much it lengthens when all of it is torn, in metres; with `tears_at_kn`.
    pub tears_m: Option<Placed<Positive>>,
}

/// A point that does not move: bolt, cam, nut, tree.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "anchor")]
pub(super) struct AnchorTable {
    /// Its name.
    pub name: Name,
    /// Where it is, in metres.
    pub at_m: Vector,
    /// What it holds, in kN: a number, or a table by the direction of the pull.
    pub holds_kn: Option<HoldsValue>,
}

/// What an anchor holds by the direction of the pull.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "holds")]
pub(super) struct HoldsTable {
    /// Along the direction it was placed for, in kN.
    pub along: Positive,
    /// Across that direction, in kN.
    pub across: NonNegative,
    /// Against that direction, in kN.
    pub upward: NonNegative,
    /// The direction it was placed for; straight down if left out. Any length but zero.
    pub direction: Option<Placed<Vector>>,
}

/// A free point: master point, rope-end connector.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "joint")]
pub(super) struct JointTable {
    /// Its name.
    pub name: Name,
    /// Where it is at first, in metres; at rest a first guess.
    pub at_m: Vector,
    /// Its mass, in kg.
    #[serde(default = "default_small_mass")]
    pub mass_kg: Positive,
}

/// A person. Who neither stands nor is anchored falls from rest at t = 0.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "person")]
pub(super) struct PersonTable {
    /// What the person is called.
    pub name: Name,
    /// Mass with gear, in kg.
    pub mass_kg: Positive,
    /// Where the person is at t = 0, in metres.
    pub at_m: Vector,
    /// Stands on a floor at this height and can be lifted off.
    #[serde(default)]
    pub stands: bool,
    /// Does not move.
    #[serde(default)]
    pub anchored: bool,
}

/// A quickdraw: a leg from an anchor to a joint that takes the draw's name, hanging straight down at t = 0.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "draw")]
pub(super) struct DrawTable {
    /// Its name, and that of the joint at its rope end.
    pub name: Name,
    /// The anchor it hangs on.
    pub on: Name,
    /// The sling it is made of.
    pub of: Name,
    /// Unstretched length, in metres.
    pub length_m: Positive,
    /// Mass at the rope end, in kg.
    #[serde(default = "default_small_mass")]
    pub mass_kg: Positive,
    /// The connector at the bolt, which sees the leg.
    pub bolt_end: Option<Name>,
    /// The connector at the rope, which sees the rope.
    pub rope_end: Option<Name>,
}

/// A strand of sling between two points.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "leg")]
pub(super) struct LegTable {
    /// The point at one end.
    pub from: Name,
    /// The point at the other end.
    pub to: Name,
    /// The sling it is made of.
    pub of: Name,
    /// Unstretched length, in metres; the distance as drawn if left out.
    pub length_m: Option<Positive>,
    /// How many strands share the load.
    #[serde(default = "default_strands")]
    pub strands: Positive,
}

/// A rope that is fast at both ends and runs through the points between.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "line")]
pub(super) struct LineTable {
    /// The rope.
    pub of: Name,
    /// The points it runs through, in order; it may come back to a point. Two at least.
    pub through: Placed<Vec<Name>>,
    /// Rope beyond the length as drawn, in metres; it hangs in the last segment.
    pub slack_m: Option<NonNegative>,
    /// Whole unstretched length, in metres, instead of the length as drawn.
    pub length_m: Option<Placed<Positive>>,
    /// A brake at the first point.
    pub brake: Option<BrakeTable>,
    /// The end where rope is hauled or taken in, for `case = "running"`.
    pub taken_in_at: Option<Name>,
    /// The end where rope is paid out, for `case = "running"`.
    pub paid_out_at: Option<Name>,
    /// The end that its rope runs towards where no hand holds it, such as a hitch that another rope moves, for `case = "running"`.
    pub runs_to: Option<Name>,
    /// The pull at that end, in kN, where it is not the question; the load must then be held.
    pub pull_kn: Option<Placed<NonNegative>>,
    /// How much rope there is, what hangs or lies beyond that end included, in metres.
    pub rope_m: Option<Placed<Positive>>,
    /// The height that the load has to be able to reach, in metres.
    pub reaches_m: Option<Placed<Height>>,
    /// How many hands hold it at that end; one if left out, 0 where no hand does (a body, a winch).
    pub hands: Option<Placed<Hands>>,
    /// The pull that it was tensioned with before anything hung on it, in kN: for `case = "rest"`, instead of its length.
    pub tensioned_kn: Option<Placed<Positive>>,
    /// How far it runs through its points before a limiter knot stops it, in metres, when something is lost.
    pub limiter_m: Option<NonNegative>,
}

/// Something to land on.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "ledge")]
pub(super) struct LedgeTable {
    /// Its name.
    pub name: String,
    /// Its height, in metres.
    pub height_m: Coordinate,
    /// From where to where it reaches along x, in metres; everywhere if left out.
    pub x_m: Option<Placed<Reach>>,
}

/// An upright wall across x.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "wall")]
pub(super) struct WallTable {
    /// Its name.
    pub name: String,
    /// Where it stands along x, in metres.
    pub x_m: Coordinate,
    /// From what height to what height it reaches, in metres; everywhere if left out.
    pub z_m: Option<Placed<Reach>>,
}

/// The falls of a leader before each of the next clips; for `case = "running"` the pull of the rope that they take along.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "clip_table")]
pub(super) struct ClipTableTable {
    /// How many clips it goes up to.
    #[serde(default = "default_clips")]
    pub clips: Clips,
    /// The slacks that each fall is followed with, in metres; needless for `case = "running"`.
    #[serde(default = "default_slacks")]
    pub slack_m: Vec<NonNegative>,
}

/// A brake: it pays rope out, and never takes it in.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "brake")]
pub(super) struct BrakeTable {
    /// The tension above which it pays rope out, in kN.
    pub slips_at_kn: Positive,
}

/// A connector that sits at a point. What is left out is unknown, never assumed.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "connector")]
pub(super) struct ConnectorTable {
    /// Its name.
    pub name: Name,
    /// The point where it sits, or the draw whose end it is (needless where a draw names it).
    pub at: Option<Name>,
    /// Its label on the rack; then the rest comes from there.
    pub piece: Option<String>,
    /// Type letter of EN 12275.
    #[schemars(extend("enum" = words::codes(Class::ALL)))]
    pub class: Option<String>,
    /// Outline.
    #[schemars(extend("enum" = words::codes(Shape::ALL)))]
    pub shape: Option<String>,
    /// Marked strength along the major axis with the gate closed, in kN.
    pub closed_kn: Option<Positive>,
    /// Marked strength along the major axis with the gate open, in kN.
    pub open_kn: Option<Positive>,
    /// Marked strength along the minor axis, in kN.
    pub minor_kn: Option<Positive>,
    /// Gate.
    #[schemars(extend("enum" = words::codes(Gate::ALL)))]
    pub gate: Option<String>,
    /// Lock.
    #[schemars(extend("enum" = words::codes(Lock::ALL)))]
    pub lock: Option<String>,
    /// Whether the lock is done up here.
    pub locked: Option<bool>,
    /// Nose.
    #[schemars(extend("enum" = words::codes(Nose::ALL)))]
    pub nose: Option<String>,
    /// The connector that stands opposite and opposed at the same point.
    pub opposed_to: Option<Name>,
    /// What lies in it, spine side first.
    #[serde(default)]
    pub joins: Vec<String>,
    /// Whether it can turn across its load.
    pub free_to_turn: Option<bool>,
    /// What holds it in line with the load.
    #[schemars(extend("enum" = words::codes(Keeper::ALL)))]
    pub keeper: Option<String>,
    /// Whether it lies over an edge.
    pub over_edge: Option<bool>,
    /// Capstan coefficient of a rope that runs here.
    pub friction: Option<Friction>,
    /// The job it does, in the words of the trade.
    pub duty: Option<String>,
}

/// A steady load.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "pull")]
pub(super) struct PullTable {
    /// The joint or person where it acts.
    pub at: Name,
    /// Its components, in kN.
    pub force_kn: Vector,
}

// Defaults of the contract.

fn default_friction() -> Friction {
    Friction(0.25)
}

fn default_until() -> FollowedSeconds {
    FollowedSeconds(3.0)
}

fn default_kind() -> String {
    words::Word::code(crate::model::RopeKind::Single).into()
}

fn default_small_mass() -> Positive {
    Positive(0.1)
}

fn default_clips() -> Clips {
    Clips(4)
}

fn default_slacks() -> Vec<NonNegative> {
    vec![NonNegative(0.0)]
}

fn default_strands() -> Positive {
    Positive(1.0)
}
