//! The rules: one entry for each position.

use super::spread::{loads, widest_on_one_end};
use super::table::words;
use super::{Bears, Place, Position, Rule, Setting, thresholds};
use crate::connector::{Class, Connector, Gate, Keeper, Lock, Nose, Shape};
use terms::{Angle, Reason};

/// Every position with its rule: the intended one, those in use, then rigging errors.
pub const RULES: &[Rule] = &[
    Rule { position: Position::Closed, applies: as_intended, bears: bears_closed },
    Rule { position: Position::GateOpen, applies: gate_opens, bears: bears_open },
    Rule { position: Position::CrossLoaded, applies: turns_across, bears: bears_minor },
    Rule { position: Position::TriAxial, applies: pulled_three_ways, bears: unrated },
    Rule { position: Position::OffSpine, applies: loaded_off_spine, bears: unrated },
    Rule { position: Position::Levered, applies: levered, bears: unrated },
    Rule { position: Position::OverEdge, applies: over_edge, bears: unrated },
    Rule { position: Position::NoseHooked, applies: nose_catches, bears: unrated },
    Rule { position: Position::RopeOverGate, applies: rope_crosses_gate, bears: unrated },
    Rule { position: Position::BackClipped, applies: clipped_backwards, bears: unrated },
    Rule { position: Position::ZClipped, applies: line_zigzags, bears: unrated },
    Rule { position: Position::KeeperOnly, applies: keeper_holds_alone, bears: unrated },
    Rule { position: Position::ConnectorInConnector, applies: holds_connector, bears: unrated },
    Rule { position: Position::NotScrewedHome, applies: not_screwed_home, bears: unrated },
    Rule { position: Position::GearLoop, applies: on_gear_loop, bears: unrated },
];

/// Always; and where a pair stands opposite and opposed, what that does.
fn as_intended(setting: &Setting) -> Option<Vec<Reason>> {
    let Some(other) = setting.opposed else { return Some(Vec::new()) };
    let mut because = vec![Reason::StrengthsNotAdded { other: other.name.clone() }];
    if is_covered(setting) {
        because.push(Reason::CoveredByOpposed { other: other.name.clone() });
    }
    Some(because)
}

fn gate_opens(setting: &Setting) -> Option<Vec<Reason>> {
    if is_quick_link(setting.connector) || is_covered(setting) {
        return None;
    }
    let mut because = match hold_of_gate(setting.connector) {
        Hold::Locked => return None,
        Hold::Sleeve => return setting.rope_runs.then(|| vec![Reason::SleeveMayWorkBack]),
        Hold::Loose(reason) => reason.into_iter().collect(),
        Hold::Unknown(key) => vec![Reason::KeyUnknown { key }],
    };
    if setting.connector.gate != Some(Gate::Wire) {
        because.push(Reason::GateMayLash);
    }
    because.push(Reason::GateMayBePushed);
    because.extend(setting.opposed.map(|other| Reason::OpposedStrengthUnknown { other: other.name.clone() }));
    Some(because)
}

fn turns_across(setting: &Setting) -> Option<Vec<Reason>> {
    let connector = setting.connector;
    if connector.class == Some(Class::T) || connector.keeper == Some(Keeper::Bar) {
        return None;
    }
    match (connector.free_to_turn, connector.keeper) {
        (Some(false), _) | (None, Some(Keeper::Elastic)) => None,
        (Some(true), Some(Keeper::Elastic)) => Some(vec![Reason::FreeToTurn, Reason::ElasticMayGive]),
        (Some(true), _) => Some(vec![Reason::FreeToTurn]),
        (None, Some(_)) => Some(vec![Reason::NothingHoldsInLine]),
        (None, None) => Some(vec![Reason::KeyUnknown { key: "free_to_turn" }]),
    }
}

fn pulled_three_ways(setting: &Setting) -> Option<Vec<Reason>> {
    let limit = Angle::from_deg(thresholds().tri_axial_deg.value);
    let spread = widest_on_one_end(&loads(setting)).filter(|spread| *spread >= limit)?;
    Some(with_joins_unknown(setting, vec![Reason::PullsSpread { spread, limit }]))
}

fn loaded_off_spine(setting: &Setting) -> Option<Vec<Reason>> {
    let shape = shape(setting.connector);
    if shape.is_some_and(is_broad) {
        return None;
    }
    let loads = loads(setting);
    let mut because: Vec<_> = spread_off_spine(&loads).into_iter().collect();
    let things = setting.connector.joins.len().max(loads.len());
    if things as f64 >= thresholds().crowded_from.value {
        because.push(Reason::Crowded { things });
    }
    if because.is_empty() {
        return None;
    }
    if shape.is_none() {
        because.push(Reason::KeyUnknown { key: "shape" });
    }
    Some(with_joins_unknown(setting, because))
}

/// Spread enough to lie off the spine, not enough to be tri-axial.
fn spread_off_spine(loads: &[[f64; 3]]) -> Option<Reason> {
    let [from, to] =
        [&thresholds().off_spine_deg, &thresholds().tri_axial_deg].map(|limit| Angle::from_deg(limit.value));
    let spread = widest_on_one_end(loads).filter(|spread| (from..to).contains(spread))?;
    Some(Reason::PullsOffSpine { spread, limit: from })
}

fn with_joins_unknown(setting: &Setting, mut because: Vec<Reason>) -> Vec<Reason> {
    if setting.connector.joins.is_empty() {
        because.push(Reason::KeyUnknown { key: "joins" });
    }
    because
}

/// At a bolt a connector has to follow the pull; held stiff it is bent over the hanger.
fn levered(setting: &Setting) -> Option<Vec<Reason>> {
    if setting.place != Place::BoltEnd {
        return None;
    }
    match (setting.connector.free_to_turn, setting.connector.keeper) {
        (Some(false), _) | (None, Some(Keeper::Elastic | Keeper::Bar)) => Some(vec![Reason::HeldStiffAtBolt]),
        (None, None) => Some(vec![Reason::KeyUnknown { key: "keeper" }]),
        (Some(true), _) | (None, Some(Keeper::None)) => None,
    }
}

/// At a person it hangs free of the rock.
fn over_edge(setting: &Setting) -> Option<Vec<Reason>> {
    match setting.connector.over_edge {
        Some(true) => Some(vec![Reason::LiesOverEdge]),
        None if setting.place != Place::Person => Some(vec![Reason::KeyUnknown { key: "over_edge" }]),
        _ => None,
    }
}

/// A gate that is locked is closed, and then the nose holds nothing.
fn nose_catches(setting: &Setting) -> Option<Vec<Reason>> {
    let mut because = loose_gate(setting)?;
    match setting.connector.nose {
        Some(Nose::Hookless) => return None,
        Some(Nose::Hooked) => because.push(Reason::NoseCanCatch),
        None => because.push(Reason::KeyUnknown { key: "nose" }),
    }
    Some(because)
}

fn rope_crosses_gate(setting: &Setting) -> Option<Vec<Reason>> {
    is_runner(setting).then(|| loose_gate(setting)).flatten().map(|because| with(because, Reason::RopeCanCrossGate))
}

fn clipped_backwards(setting: &Setting) -> Option<Vec<Reason>> {
    is_runner(setting).then(|| loose_gate(setting)).flatten().map(|because| with(because, Reason::RunnerCanBeReversed))
}

fn line_zigzags(setting: &Setting) -> Option<Vec<Reason>> {
    let runners = setting.runners_on_line;
    (is_runner(setting) && runners > 1).then(|| vec![Reason::LineCanZigzag { runners }])
}

fn keeper_holds_alone(setting: &Setting) -> Option<Vec<Reason>> {
    if !setting.place.is_end_of_draw() || setting.open_sling == Some(false) {
        return None;
    }
    match setting.connector.keeper {
        Some(Keeper::Elastic) => Some(vec![Reason::KeeperMayHoldAlone]),
        Some(Keeper::None | Keeper::Bar) => None,
        None => Some(vec![Reason::KeyUnknown { key: "keeper" }]),
    }
}

/// A quick link is made to be joined to metal. What lies in the end of a draw is said by the draw.
fn holds_connector(setting: &Setting) -> Option<Vec<Reason>> {
    let connector = setting.connector;
    if is_quick_link(connector) {
        return None;
    }
    if let Some(other) = connector.joins.iter().find(|name| setting.neighbours.contains(&name.as_str())) {
        return Some(vec![Reason::ConnectorInside { other: other.clone() }]);
    }
    let opposed = setting.opposed.map(|other| other.name.as_str());
    let has_neighbour = setting.neighbours.iter().any(|other| Some(*other) != opposed);
    let is_open_question = connector.joins.is_empty() && has_neighbour && !setting.place.is_end_of_draw();
    is_open_question.then(|| vec![Reason::KeyUnknown { key: "joins" }])
}

fn not_screwed_home(setting: &Setting) -> Option<Vec<Reason>> {
    if !is_quick_link(setting.connector) {
        return None;
    }
    match setting.connector.locked {
        Some(true) => None,
        Some(false) => Some(vec![Reason::LinkNotScrewedHome]),
        None => Some(vec![Reason::KeyUnknown { key: "locked" }]),
    }
}

fn on_gear_loop(setting: &Setting) -> Option<Vec<Reason>> {
    let duty = setting.connector.duty.clone()?;
    let named = duty.to_lowercase();
    let names_one_of = |list: &[String]| list.iter().any(|word| named.contains(word.as_str()));
    if names_one_of(&words().gear_only.list) {
        return Some(vec![Reason::HoldsGearOnly { duty }]);
    }
    let is_at_harness = setting.place == Place::Person && names_one_of(&words().duties_at_harness.list);
    is_at_harness.then(|| vec![Reason::GearLoopClose { duty }])
}

/// What keeps a gate closed.
enum Hold {
    /// An automatic lock.
    Locked,
    /// A screw sleeve that is done up.
    Sleeve,
    /// The spring alone, and why, where that needs a word.
    Loose(Option<Reason>),
    /// The key that would say.
    Unknown(&'static str),
}

/// An automatic lock is locked when its gate is closed, unless it is said that it is not.
fn hold_of_gate(connector: &Connector) -> Hold {
    match (connector.lock, connector.locked) {
        (None, _) => Hold::Unknown("lock"),
        (Some(Lock::None), _) => Hold::Loose(None),
        (Some(Lock::Screw), Some(true)) => Hold::Sleeve,
        (Some(Lock::Screw), Some(false)) => Hold::Loose(Some(Reason::SleeveNotDoneUp)),
        (Some(Lock::Screw), None) => Hold::Unknown("locked"),
        (Some(Lock::TwoAction | Lock::ThreeAction), Some(false)) => Hold::Loose(Some(Reason::LockNotEngaged)),
        (Some(Lock::TwoAction | Lock::ThreeAction), _) => Hold::Locked,
    }
}

/// Why the gate may be found unlocked, where an error with one connector alone needs that; `None` where it is held or covered.
fn loose_gate(setting: &Setting) -> Option<Vec<Reason>> {
    if is_quick_link(setting.connector) || is_covered(setting) {
        return None;
    }
    match hold_of_gate(setting.connector) {
        Hold::Locked | Hold::Sleeve => None,
        Hold::Loose(reason) => Some(reason.into_iter().collect()),
        Hold::Unknown(key) => Some(vec![Reason::KeyUnknown { key }]),
    }
}

/// Whether one of a pair holds when the other opens. One whose mark nobody can read covers nothing.
fn is_covered(setting: &Setting) -> bool {
    setting.opposed.is_some_and(|other| other.closed.is_some())
}

fn is_runner(setting: &Setting) -> bool {
    setting.rope_runs && (setting.leads || setting.place == Place::RopeEnd)
}

fn is_quick_link(connector: &Connector) -> bool {
    shape(connector) == Some(Shape::QuickLink)
}

/// The shape as given, or as the type letter defines it.
fn shape(connector: &Connector) -> Option<Shape> {
    connector.shape.or(match connector.class? {
        Class::H => Some(Shape::Pear),
        Class::X => Some(Shape::Oval),
        Class::Q => Some(Shape::QuickLink),
        Class::B | Class::K | Class::A | Class::T => None,
    })
}

fn is_broad(shape: Shape) -> bool {
    words().broad_shapes.list.iter().any(|word| word == shape.code())
}

fn with(mut because: Vec<Reason>, reason: Reason) -> Vec<Reason> {
    because.push(reason);
    because
}

const CLOSED: &str = "major axis, gate closed";
const OPEN: &str = "major axis, gate open";
const MINOR: &str = "minor axis";

fn bears_closed(connector: &Connector) -> Bears {
    match connector.closed {
        None => unknown(Reason::StrengthUnknown { what: CLOSED }),
        Some(strength) => Bears {
            force: Some(strength),
            because: vec![Reason::MarkedStrength { what: CLOSED, strength }, Reason::RatingsAreSlowPulls],
        },
    }
}

fn bears_open(connector: &Connector) -> Bears {
    match connector.open {
        Some(strength) => marked(OPEN, strength),
        None if needs_no_open_mark(connector) => unknown(Reason::NoGateOpenRequirement),
        None => unknown(Reason::StrengthUnknown { what: OPEN }),
    }
}

/// EN 12275:2013 asks for no gate-open strength of an automatic lock, except in class K.
fn needs_no_open_mark(connector: &Connector) -> bool {
    connector.lock.is_some_and(Lock::is_automatic) && connector.class.is_some_and(|class| class != Class::K)
}

fn bears_minor(connector: &Connector) -> Bears {
    match (connector.minor, connector.class) {
        (Some(strength), _) => marked(MINOR, strength),
        (None, Some(class @ (Class::A | Class::T))) => unknown(Reason::NoMinorRequirement { class: class.code() }),
        (None, _) => unknown(Reason::StrengthUnknown { what: MINOR }),
    }
}

fn marked(what: &'static str, strength: terms::Force) -> Bears {
    Bears { force: Some(strength), because: vec![Reason::MarkedStrength { what, strength }] }
}

fn unknown(reason: Reason) -> Bears {
    Bears { force: None, because: vec![reason] }
}

fn unrated(_: &Connector) -> Bears {
    unknown(Reason::PositionUnrated)
}
