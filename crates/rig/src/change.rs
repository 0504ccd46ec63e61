//! What would help: changes to a rig, each tried through the engine, offered only where nothing else gets worse.

use crate::band::{Bands, Corner, bands_around};
use crate::check::{Check, Clearance, Link, LinkKind, check};
use crate::model::{Case, Drag, Draw, Leg, LegId, LineLength, Point, PointId, PointKind, Rig, Seat, Seated, Stance};
use crate::moving::pulls;
use crate::solve::{Keeps, Prepared, Taken, Task, solve_all};
use terms::{Finding, Force, How, Length};
use trade::change::changes;
use trade::connector::{Keeper, Lock};
use trade::policy::Policy;
use trade::position::Position;

/// A load may rise by this share before it counts as worse: twice the engine's own error.
const TOLERANCE: f64 = 5e-3;
/// A person may come this much (m) lower before it counts as worse.
const HEIGHT_TOLERANCE: f64 = 0.01;
/// A fall to the ground has to end this much (m) higher to count as better.
const WORTHWHILE_M: f64 = 0.1;
/// A margin has to grow, or a pull to lessen, by this share to count as better.
const WORTHWHILE: f64 = 0.03;

/// A change to a rig.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// Do up a lock that is there.
    LockGate {
        /// Name of the connector.
        connector: String,
    },
    /// Take a connector with an automatic lock.
    UseLocker {
        /// Name of the connector.
        connector: String,
    },
    /// Put a second connector beside it, opposite and opposed.
    AddOpposed {
        /// Name of the connector.
        connector: String,
    },
    /// Hold it in line with a keeper.
    HoldInLine {
        /// Name of the connector.
        connector: String,
    },
    /// Take a connector that is marked with more in one position.
    StrongerPiece {
        /// Name of the connector.
        connector: String,
        /// The position.
        position: Position,
        /// What it has to be marked with at least.
        at_least: Force,
    },
    /// Take a longer draw.
    LongerDraw {
        /// Name of the draw.
        draw: String,
        /// Its new length.
        to: Length,
    },
    /// Pay out less rope.
    LessSlack {
        /// Name of the rope.
        rope: String,
        /// The slack that is left.
        to: Length,
    },
    /// Clip once more before the fall.
    ClipSooner {
        /// Height of the clip, m.
        height_m: f64,
    },
    /// Let the belayer move.
    LetBelayerMove {
        /// Who.
        person: String,
    },
    /// Make the legs of an anchor longer, so that they stand closer together.
    LongerLegs {
        /// The point they meet in.
        point: String,
        /// By which factor.
        factor: f64,
    },
    /// Put two pulleys each where the other is.
    SwapPulleys {
        /// The one.
        one: String,
        /// The other.
        other: String,
    },
}

/// What a change costs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cost {
    /// No gear: a hand or some attention.
    Attention,
    /// Another piece in place of one, or one more.
    Piece,
    /// One more anchor in the rock.
    Anchor,
}

/// What a change helps.
#[derive(Debug, Clone, PartialEq)]
pub enum Helped {
    /// A link in a position.
    Link(String, LinkKind),
    /// Somebody whose fall reaches the ground.
    Clearance {
        /// Who.
        person: String,
        /// Lowest height over all cases after the change, m.
        lowest_m: f64,
        /// Whether it still reaches the ground.
        reaches_ground: bool,
    },
    /// The hands on ropes that run: the pull asked of them together, the worst over all cases.
    Pull {
        /// Before, kN.
        before_kn: f64,
        /// After, kN.
        after_kn: f64,
    },
}

/// A change that helps.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// The change.
    pub change: Change,
    /// What it costs.
    pub cost: Cost,
    /// What it helps.
    pub helps: Helped,
    /// Its margin before; `None` where unrated.
    pub margin_before: Option<f64>,
    /// Its margin after, or that of a link the change puts in its place, whichever is less; `None` where the position is
    /// gone.
    pub margin_after: Option<f64>,
    /// How much higher (m) whoever falls ends at the worst; 0 at rest.
    pub raises_m: f64,
    /// The rig with the change made.
    pub changed: Rig,
}

/// One kind of change: its cost, and every way in which it could be made to a rig.
struct Way {
    cost: Cost,
    tries: fn(&Rig, &Check, &Policy) -> Vec<(Change, Rig)>,
}

/// Every kind of change that is tried.
const WAYS: &[Way] = &[
    Way { cost: Cost::Attention, tries: lock_gate },
    Way { cost: Cost::Attention, tries: less_slack },
    Way { cost: Cost::Attention, tries: let_belayer_move },
    Way { cost: Cost::Attention, tries: swap_pulleys },
    Way { cost: Cost::Piece, tries: use_locker },
    Way { cost: Cost::Piece, tries: add_opposed },
    Way { cost: Cost::Piece, tries: hold_in_line },
    Way { cost: Cost::Piece, tries: stronger_piece },
    Way { cost: Cost::Piece, tries: longer_draw },
    Way { cost: Cost::Piece, tries: longer_legs },
    Way { cost: Cost::Anchor, tries: clip_sooner },
];

/// A rig with a change made, or none: its check, and the pull asked of the hands on ropes that run, kN.
struct Tried {
    check: Check,
    pull_kn: Option<f64>,
}

impl Tried {
    fn of(rig: &Rig, bands: &Bands, policy: &Policy) -> Self {
        Self { check: check(rig, bands, policy), pull_kn: pull_kn(rig, bands) }
    }
}

/// The worst pull on all ropes that run and are not pulled with a given force; `None` where there are none.
fn pull_kn(rig: &Rig, bands: &Bands) -> Option<f64> {
    let pulls = pulls(rig, bands);
    (!pulls.is_empty()).then(|| pulls.iter().map(|(_, pull)| pull.most).sum())
}

/// The changes that help the links of a check which are not within their margin, or else its weakest link; that end a fall
/// higher; or that ease a pull: cheapest first, then by what they gain.
#[must_use]
pub fn offers(prepared: &Prepared<'_>, bands: &Bands, before: &Check, policy: &Policy) -> Vec<Offer> {
    let before = Tried { check: before.clone(), pull_kn: pull_kn(prepared.rig(), bands) };
    let to_help = !targets(&before.check).is_empty() || grounded(&before.check).next().is_some();
    if !to_help && before.pull_kn.is_none() {
        return Vec::new();
    }
    let made = |way: &'static Way| {
        let tries = (way.tries)(prepared.rig(), &before.check, policy).into_iter();
        tries.map(|(change, rig)| Try { cost: way.cost, change, rig })
    };
    let tries: Vec<Try> = WAYS.iter().flat_map(made).collect();
    let mut offers = Trial { prepared, bands, before: &before, policy }.offers(&tries);
    offers.sort_by(|a, b| a.cost.cmp(&b.cost).then(gain(b).total_cmp(&gain(a))));
    offers
}

fn gain(offer: &Offer) -> f64 {
    match (&offer.helps, offer.margin_before, offer.margin_after) {
        (Helped::Pull { before_kn, after_kn }, _, _) => before_kn / after_kn,
        (_, Some(before), Some(after)) => after / before,
        _ => f64::INFINITY,
    }
}

/// A change made to a rig.
struct Try {
    cost: Cost,
    change: Change,
    rig: Rig,
}

impl Try {
    /// The offer that it amounts to. More cases never make one of none: loads and pulls only grow by them, heights only sink.
    fn offer(&self, before: &Tried, after: &Tried) -> Option<Offer> {
        eases(self.cost, &self.change, before, after, &self.rig)
            .or_else(|| clears(self.cost, &self.change, &before.check, &after.check, &self.rig))
            .or_else(|| offer(self.cost, self.change.clone(), &before.check, &after.check, &self.rig))
    }
}

/// What changes are tried on.
struct Trial<'t> {
    prepared: &'t Prepared<'t>,
    bands: &'t Bands,
    before: &'t Tried,
    policy: &'t Policy,
}

/// A try that is still followed: its place, its rig, and what was solved of it.
type Followed<'p, 'r> = (usize, (&'p Prepared<'r>, Bands));

impl Trial<'_> {
    /// All that the tries amount to. They are solved as typed first, those that promise something in some of the corners, and
    /// those that may still be offered in the rest.
    fn offers(&self, tries: &[Try]) -> Vec<Offer> {
        let changed: Vec<_> = tries.iter().map(|one| self.prepared.changed(&one.rig).ok()).collect();
        let solvable = changed.iter().enumerate().filter_map(|(place, changed)| Some((place, changed.as_ref()?)));
        let (same, others): (Vec<_>, Vec<_>) =
            solvable.partition(|(_, changed)| changed.is_same_to_mechanics(self.prepared));
        let mut offers: Vec<Option<Offer>> = tries.iter().map(|_| None).collect();
        for (place, _) in same {
            offers[place] = self.offer(&tries[place], self.bands);
        }
        // The corners that share a stiffness fill the lanes of one run.
        let first = self.before.check.weakest().map_or(Taken::AsTyped, |link| link.worst_in.stiffness);
        let promising = self.promising(tries, others);
        // Fewer than there are cores are dropped no sooner by it.
        let few = promising.len() < rayon::current_num_threads();
        let is_soon = |corner: &Corner| few || corner.stiffness == first;
        let mut followed = with_corners(promising, is_soon);
        followed.retain(|(place, (_, bands))| self.offer(&tries[*place], bands).is_some());
        for (place, (_, bands)) in with_corners(followed, |corner| !is_soon(corner)) {
            offers[place] = self.offer(&tries[place], &bands);
        }
        offers.into_iter().flatten().collect()
    }

    /// Those that promise something with the numbers as typed.
    fn promising<'p, 'r>(&self, tries: &[Try], others: Vec<(usize, &'p Prepared<'r>)>) -> Vec<Followed<'p, 'r>> {
        let tasks: Vec<Task<'_>> = others.iter().map(|(_, changed)| Task::typed(changed, Keeps::Peaks)).collect();
        let solved = solve_all(&tasks);
        let typed = others.into_iter().zip(solved).filter_map(|((place, changed), solved)| {
            let alone = Bands::typed_alone(solved.ok()?);
            self.promises(&tries[place], &alone).then_some((place, (changed, alone)))
        });
        typed.collect()
    }

    fn offer(&self, one: &Try, bands: &Bands) -> Option<Offer> {
        one.offer(self.before, &self.after(one, bands))
    }

    fn after(&self, one: &Try, bands: &Bands) -> Tried {
        Tried::of(&one.rig, bands, self.policy)
    }

    /// Whether the numbers as typed show no lower height, and some gain.
    fn promises(&self, one: &Try, alone: &Bands) -> bool {
        let pulled = |rig: &Rig, bands: &Bands| pulls(rig, bands).iter().map(|(_, pull)| pull.typed).sum::<f64>();
        let before_kn = pulled(self.prepared.rig(), self.bands);
        let eased = || pulled(&one.rig, alone) < before_kn * (1.0 - WORTHWHILE / 2.0);
        let after = self.after(one, alone);
        (promises(&self.before.check, &after.check) || eased()) && one.offer(self.before, &after).is_some()
    }
}

/// Adds some corners to all that are followed; those that have no rest or fall in one of them are left out.
fn with_corners<'p, 'r>(followed: Vec<Followed<'p, 'r>>, which: impl Fn(&Corner) -> bool) -> Vec<Followed<'p, 'r>> {
    let (tries, solved): (Vec<_>, Vec<_>) =
        followed.into_iter().map(|(place, (changed, bands))| ((place, changed), (changed, bands))).unzip();
    let each = tries.into_iter().zip(bands_around(solved, which));
    each.filter_map(|((place, changed), bands)| Some((place, (changed, bands.ok()?)))).collect()
}

/// Whether a check of the numbers as typed shows a gain for a link to help and no person lower.
fn promises(before: &Check, typed: &Check) -> bool {
    let lower = |(before, after): (&Clearance, &Clearance)| after.as_typed_m < before.as_typed_m - HEIGHT_TOLERANCE;
    let relieved = |target: &Link| match typed.links.iter().find(|link| is_same(link, target)) {
        Some(link) => link.sees.kn() < target.as_typed.kn() * (1.0 - WORTHWHILE / 2.0),
        None => true,
    };
    let higher = |(before, after): (&Clearance, &Clearance)| {
        before.reaches_floor() && after.as_typed_m > before.as_typed_m + WORTHWHILE_M
    };
    let clearances = || before.clearances.iter().zip(&typed.clearances);
    !clearances().any(lower) && (clearances().any(higher) || targets(before).into_iter().any(relieved))
}

/// Those whose fall reaches the ground in some case.
fn grounded(check: &Check) -> impl Iterator<Item = &Clearance> {
    check.clearances.iter().filter(|clearance| clearance.reaches_floor())
}

/// The offer of a change that eases a pull, if no link that then has less than the margin asked for sees more by it. A
/// pulley that passes on more takes more, so that others may see more here.
fn eases(cost: Cost, change: &Change, before: &Tried, after: &Tried, changed: &Rig) -> Option<Offer> {
    let (before_kn, after_kn) = (before.pull_kn?, after.pull_kn?);
    let counts = |link: &Link| matches!(link.finding, Finding::OverRating | Finding::LowMargin);
    if after_kn > before_kn * (1.0 - WORTHWHILE) || is_worse(&before.check, &after.check, counts) {
        return None;
    }
    Some(Offer {
        change: change.clone(),
        cost,
        helps: Helped::Pull { before_kn, after_kn },
        margin_before: None,
        margin_after: None,
        raises_m: 0.0,
        changed: changed.clone(),
    })
}

/// The offer of a change that ends a fall to the ground higher, if nothing gets worse.
fn clears(cost: Cost, change: &Change, before: &Check, after: &Check, changed: &Rig) -> Option<Offer> {
    if is_worse(before, after, |_| true) {
        return None;
    }
    let better = |before: &Clearance| {
        let after = after.clearances.iter().find(|after| after.person == before.person)?;
        (after.worst_m > before.worst_m + WORTHWHILE_M).then_some(after)
    };
    let cleared = grounded(before).find_map(better)?;
    Some(Offer {
        change: change.clone(),
        cost,
        helps: Helped::Clearance {
            person: changed.points[cleared.person.0].name.clone(),
            lowest_m: cleared.worst_m,
            reaches_ground: cleared.reaches_floor(),
        },
        margin_before: None,
        margin_after: None,
        raises_m: raised(before, after),
        changed: changed.clone(),
    })
}

/// The offer that a change amounts to, if it helps and nothing gets worse.
fn offer(cost: Cost, change: Change, before: &Check, after: &Check, changed: &Rig) -> Option<Offer> {
    if is_worse(before, after, |_| true) {
        return None;
    }
    let helped = targets(before).into_iter().filter_map(|target| {
        let same = after.links.iter().find(|link| is_same(link, target));
        let margin_after = least_margin(same, added_like(target, before, after));
        let helps = match (same, target.margin, margin_after) {
            (None, _, _) => true,
            (Some(_), Some(before), Some(after)) => after > before * (1.0 + WORTHWHILE),
            _ => false,
        };
        helps.then(|| Offer {
            change: change.clone(),
            cost,
            helps: Helped::Link(target.name.clone(), target.kind),
            margin_before: target.margin,
            margin_after,
            raises_m: raised(before, after),
            changed: changed.clone(),
        })
    });
    helped.max_by(|a, b| gain(a).total_cmp(&gain(b)))
}

/// Links of the change's own that stand in the same position: a new top piece takes over what the old one no longer
/// sees.
fn added_like<'a>(target: &'a Link, before: &'a Check, after: &'a Check) -> impl Iterator<Item = &'a Link> {
    let is_new = |link: &&Link| !before.links.iter().any(|old| is_same(old, link));
    after.links.iter().filter(is_new).filter(|link| link.kind == target.kind)
}

fn least_margin<'a>(same: Option<&'a Link>, added: impl Iterator<Item = &'a Link>) -> Option<f64> {
    same.into_iter().chain(added).filter_map(|link| link.margin).reduce(f64::min)
}

/// How much higher those who fall end at the worst, m: the least gain of any of them.
fn raised(before: &Check, after: &Check) -> f64 {
    let pairs = before.clearances.iter().zip(&after.clearances);
    pairs.map(|(before, after)| after.worst_m - before.worst_m).reduce(f64::min).unwrap_or(0.0)
}

/// The links to help: those over their rating or low on margin; where there are none, the weakest; and what is known
/// to slip where nothing is rated.
fn targets(check: &Check) -> Vec<&Link> {
    let short = |link: &&Link| matches!(link.finding, Finding::OverRating | Finding::LowMargin);
    let unrated = |link: &&Link| link.finding == Finding::NoRating && link.is_known && link.how == How::InUse;
    let mut targets: Vec<&Link> = check.links.iter().filter(short).collect();
    if targets.is_empty() {
        targets.extend(check.weakest());
    }
    targets.extend(check.links.iter().filter(unrated));
    targets
}

fn is_same(a: &Link, b: &Link) -> bool {
    a.name == b.name && a.kind == b.kind
}

/// Whether somebody ends lower, or a link that `counts` after the change has less margin or sees more.
fn is_worse(before: &Check, after: &Check, counts: impl Fn(&Link) -> bool) -> bool {
    let lower = |(before, after): (&Clearance, &Clearance)| after.worst_m < before.worst_m - HEIGHT_TOLERANCE;
    let weakest = before.weakest().and_then(|link| link.margin).unwrap_or(0.0);
    let worse = |link: &Link| match before.links.iter().find(|old| is_same(old, link)) {
        Some(old) => is_link_worse(old, link),
        None => link.how != How::RiggingError && link.margin.is_some_and(|margin| margin < weakest),
    };
    let lowered = before.clearances.iter().zip(&after.clearances).any(lower);
    lowered || after.links.iter().any(|link| counts(link) && worse(link))
}

fn is_link_worse(before: &Link, after: &Link) -> bool {
    match (before.margin, after.margin) {
        (Some(before), Some(after)) => after < before * (1.0 - TOLERANCE),
        _ => after.sees.kn() > before.sees.kn() * (1.0 + TOLERANCE),
    }
}

/// The connectors that have a position among the links to help.
fn slipping<'r>(rig: &'r Rig, check: &Check, position: Position) -> impl Iterator<Item = (usize, &'r Seated)> {
    let names: Vec<String> = targets(check)
        .into_iter()
        .filter(|link| link.kind == LinkKind::Connector(position))
        .map(|link| link.name.clone())
        .collect();
    rig.connectors.iter().enumerate().filter(move |(_, seated)| names.contains(&seated.connector.name))
}

fn with(rig: &Rig, edit: impl FnOnce(&mut Rig)) -> Rig {
    let mut changed = rig.clone();
    edit(&mut changed);
    changed
}

fn lock_gate(rig: &Rig, check: &Check, _: &Policy) -> Vec<(Change, Rig)> {
    let lockable = |seated: &Seated| {
        seated.connector.lock.is_some_and(|lock| lock != Lock::None) && seated.connector.locked != Some(true)
    };
    slipping(rig, check, Position::GateOpen)
        .filter(|(_, seated)| lockable(seated))
        .map(|(place, seated)| {
            let changed = with(rig, |rig| rig.connectors[place].connector.locked = Some(true));
            (Change::LockGate { connector: seated.connector.name.clone() }, changed)
        })
        .collect()
}

fn use_locker(rig: &Rig, check: &Check, _: &Policy) -> Vec<(Change, Rig)> {
    slipping(rig, check, Position::GateOpen)
        .filter(|(_, seated)| !seated.connector.lock.is_some_and(Lock::is_automatic))
        .map(|(place, seated)| {
            let changed = with(rig, |rig| {
                rig.connectors[place].connector.lock = Some(Lock::TwoAction);
                rig.connectors[place].connector.locked = Some(true);
            });
            (Change::UseLocker { connector: seated.connector.name.clone() }, changed)
        })
        .collect()
}

fn add_opposed(rig: &Rig, check: &Check, _: &Policy) -> Vec<(Change, Rig)> {
    slipping(rig, check, Position::GateOpen)
        .filter(|(_, seated)| matches!(seated.seat, Seat::At(_)) && seated.connector.opposed_to.is_none())
        .map(|(place, seated)| {
            let changed = with(rig, |rig| {
                let mut other = seated.clone();
                other.connector.name = format!("{}, opposed", seated.connector.name);
                other.connector.opposed_to = Some(seated.connector.name.clone());
                rig.connectors[place].connector.opposed_to = Some(other.connector.name.clone());
                rig.connectors.push(other);
            });
            (Change::AddOpposed { connector: seated.connector.name.clone() }, changed)
        })
        .collect()
}

fn hold_in_line(rig: &Rig, check: &Check, _: &Policy) -> Vec<(Change, Rig)> {
    slipping(rig, check, Position::CrossLoaded)
        .filter(|(_, seated)| !matches!(seated.seat, Seat::BoltEnd(_)))
        .map(|(place, seated)| {
            let changed = with(rig, |rig| {
                rig.connectors[place].connector.keeper = Some(Keeper::Bar);
                rig.connectors[place].connector.free_to_turn = Some(false);
            });
            (Change::HoldInLine { connector: seated.connector.name.clone() }, changed)
        })
        .collect()
}

fn stronger_piece(rig: &Rig, check: &Check, policy: &Policy) -> Vec<(Change, Rig)> {
    let ordinary = changes();
    let rated = [
        (Position::Closed, &ordinary.highest_closed_kn),
        (Position::GateOpen, &ordinary.highest_open_kn),
        (Position::CrossLoaded, &ordinary.highest_minor_kn),
    ];
    let mut tries = Vec::new();
    for (position, highest) in rated {
        for link in targets(check).into_iter().filter(|link| link.kind == LinkKind::Connector(position)) {
            // Markings are whole or half kilonewtons; round the need up to the next half.
            let need = (policy.margin(link.how) * link.sees.kn() * 2.0).ceil() / 2.0;
            if need > highest.value || link.bears.is_some_and(|bears| bears.kn() >= need) {
                continue;
            }
            let at_least = Force::from_kn(need);
            let changed = with(rig, |rig| {
                for seated in rig.connectors.iter_mut().filter(|seated| seated.connector.name == link.name) {
                    let connector = &mut seated.connector;
                    let mark = match position {
                        Position::Closed => &mut connector.closed,
                        Position::GateOpen => &mut connector.open,
                        _ => &mut connector.minor,
                    };
                    *mark = Some(at_least);
                }
            });
            tries.push((Change::StrongerPiece { connector: link.name.clone(), position, at_least }, changed));
        }
    }
    tries
}

/// Tries the draw over which the rope turns most; where ropes run, each of those that it turns over.
fn longer_draw(rig: &Rig, _: &Check, _: &Policy) -> Vec<(Change, Rig)> {
    let to = changes().longer_draw_m.value;
    let turn = |draw: &&Draw| turn_at(rig, draw.joint);
    let short = || rig.draws.iter().filter(|draw| rig.legs[draw.leg.0].length.m() < to);
    let tried: Vec<&Draw> = match rig.case {
        Case::Running => short().filter(|draw| turn(draw) > 0.0).collect(),
        Case::Fall | Case::Rest => short().max_by(|a, b| turn(a).total_cmp(&turn(b))).into_iter().collect(),
    };
    let longer = |draw: &Draw| {
        let changed = with(rig, |rig| {
            let top = rig.points[draw.on.0].at;
            rig.legs[draw.leg.0].length = Length::from_m(to);
            rig.points[draw.joint.0].at = [top[0], top[1], top[2] - to];
        });
        (Change::LongerDraw { draw: rig.points[draw.joint.0].name.clone(), to: Length::from_m(to) }, changed)
    };
    tried.into_iter().map(longer).collect()
}

/// Each two pulleys of different efficiency on ropes that run.
fn swap_pulleys(rig: &Rig, _: &Check, _: &Policy) -> Vec<(Change, Rig)> {
    if rig.case != Case::Running {
        return Vec::new();
    }
    let efficiency = |place: usize| match rig.devices[place].drag {
        Drag::Efficiency(efficiency) => Some(efficiency.typed),
        Drag::Ratio(_) | Drag::Wraps { .. } => None,
    };
    let pulleys: Vec<(usize, f64)> =
        (0..rig.devices.len()).filter_map(|place| Some((place, efficiency(place)?))).collect();
    let pairs =
        pulleys.iter().enumerate().flat_map(|(place, one)| pulleys[place + 1..].iter().map(move |other| (one, other)));
    let swapped = |(&(one, _), &(other, _)): (&(usize, f64), &(usize, f64))| {
        let changed = with(rig, |rig| {
            let (at, joins) = (rig.devices[one].at, std::mem::take(&mut rig.devices[one].joins));
            rig.devices[one].at = rig.devices[other].at;
            rig.devices[one].joins = std::mem::replace(&mut rig.devices[other].joins, joins);
            rig.devices[other].at = at;
        });
        let name = |place: usize| rig.devices[place].name.clone();
        (Change::SwapPulleys { one: name(one), other: name(other) }, changed)
    };
    pairs
        .filter(|(one, other)| one.1 != other.1 && rig.devices[one.0].at != rig.devices[other.0].at)
        .map(swapped)
        .collect()
}

/// How far a rope turns at a point as drawn, as the length of the change of its direction (0 straight, 2 back).
fn turn_at(rig: &Rig, point: PointId) -> f64 {
    use mechanics::vector::Vector;
    let direction = |from: PointId, to: PointId| {
        (Vector(rig.points[to.0].at) - Vector(rig.points[from.0].at)).length_and_direction().1
    };
    let turns = rig.lines.iter().flat_map(|line| line.through.windows(3)).filter(|triple| triple[1] == point);
    turns.map(|triple| (direction(triple[1], triple[2]) - direction(triple[0], triple[1])).norm()).fold(0.0, f64::max)
}

fn less_slack(rig: &Rig, _: &Check, _: &Policy) -> Vec<(Change, Rig)> {
    let slack = |line: &crate::model::Line| match line.length {
        LineLength::Slack(slack) if slack.m() > 0.0 => Some(slack.m()),
        _ => None,
    };
    let tries = rig.lines.iter().enumerate().filter_map(|(place, line)| {
        let to = Length::from_m(slack(line)? * changes().slack_factor.value);
        let changed = with(rig, |rig| rig.lines[place].length = LineLength::Slack(to));
        Some((Change::LessSlack { rope: rig.ropes[line.of.0].name.clone(), to }, changed))
    });
    tries.collect()
}

fn let_belayer_move(rig: &Rig, _: &Check, _: &Policy) -> Vec<(Change, Rig)> {
    let tries = rig.points.iter().enumerate().filter_map(|(place, point)| match point.kind {
        PointKind::Person { mass, stance: Stance::Anchored } => {
            let kind = PointKind::Person { mass, stance: Stance::Stands };
            Some((
                Change::LetBelayerMove { person: point.name.clone() },
                with(rig, |rig| rig.points[place].kind = kind),
            ))
        }
        _ => None,
    });
    tries.collect()
}

/// Lengthens all legs that lead from anchors to one joint.
fn longer_legs(rig: &Rig, _: &Check, _: &Policy) -> Vec<(Change, Rig)> {
    let is_anchor = |point: PointId| matches!(rig.points[point.0].kind, PointKind::Anchor { .. });
    let legs_to = |joint: PointId| -> Vec<usize> {
        let leads = |leg: &Leg| (leg.to == joint && is_anchor(leg.from)) || (leg.from == joint && is_anchor(leg.to));
        (0..rig.legs.len()).filter(|&leg| leads(&rig.legs[leg])).collect()
    };
    let factor = changes().leg_factor.value;
    let joints = (0..rig.points.len()).map(PointId).filter(|joint| !is_anchor(*joint));
    let several = joints.map(|joint| (joint, legs_to(joint))).filter(|(_, legs)| legs.len() > 1);
    let lengthen = |(joint, legs): (PointId, Vec<usize>)| {
        let mean = legs.iter().map(|&leg| rig.legs[leg].length.m()).sum::<f64>() / legs.len() as f64;
        let changed = with(rig, |rig| {
            for &leg in &legs {
                rig.legs[leg].length = Length::from_m(rig.legs[leg].length.m() * factor);
            }
            rig.points[joint.0].at[2] -= mean * (factor - 1.0);
        });
        (Change::LongerLegs { point: rig.points[joint.0].name.clone(), factor }, changed)
    };
    several.map(lengthen).collect()
}

/// One more clip between the last point of a line and who falls on it, made like the last one.
fn clip_sooner(rig: &Rig, _: &Check, _: &Policy) -> Vec<(Change, Rig)> {
    let tries = rig.lines.iter().enumerate().filter_map(|(place, line)| {
        let [.., last, who] = line.through[..] else { return None };
        let above = rig.falls(who) && rig.points[who.0].at[2] > rig.points[last.0].at[2];
        if line.through.len() < 3 || !above {
            return None;
        }
        let share = changes().clip_share.value;
        let (from, to) = (rig.points[last.0].at, rig.points[who.0].at);
        let at: [f64; 3] = std::array::from_fn(|axis| from[axis] + share * (to[axis] - from[axis]));
        let changed = with(rig, |rig| add_clip(rig, place, last, at));
        Some((Change::ClipSooner { height_m: at[2] }, changed))
    });
    tries.collect()
}

/// Adds a point like `like` at `at`, with its connectors, as the last but one of a line.
fn add_clip(rig: &mut Rig, line: usize, like: PointId, at: [f64; 3]) {
    const ANCHOR: &str = "another clip";
    let holds = |kind: PointKind| matches!(kind, PointKind::Anchor { .. }).then_some(kind);
    let draw = rig.draw_at(like).copied();
    let model = draw.map_or(like, |draw| draw.on);
    let kind = holds(rig.points[model.0].kind).unwrap_or(PointKind::Anchor { holds: None });
    let drop = draw.map_or(0.0, |draw| rig.legs[draw.leg.0].length.m());
    rig.points.push(Point { name: ANCHOR.to_owned(), at: [at[0], at[1], at[2] + drop], kind });
    let anchor = PointId(rig.points.len() - 1);
    let clip = match draw {
        None => anchor,
        Some(draw) => {
            let joint = Point { name: format!("draw of {ANCHOR}"), at, kind: rig.points[draw.joint.0].kind };
            rig.points.push(joint);
            let joint = PointId(rig.points.len() - 1);
            let leg = Leg { from: anchor, to: joint, ..rig.legs[draw.leg.0] };
            rig.legs.push(leg);
            rig.draws.push(Draw { on: anchor, joint, leg: LegId(rig.legs.len() - 1), bolt_end: None, rope_end: None });
            joint
        }
    };
    let seat = if draw.is_some() { Seat::RopeEnd(rig.draws.len() - 1) } else { Seat::At(clip) };
    let last_but_one = rig.lines[line].through.len() - 1;
    rig.lines[line].through.insert(last_but_one, clip);
    let like_connector = rig.connectors.iter().find(|seated| rig.rope_seat(seated.seat) == Some(like)).cloned();
    if let Some(mut seated) = like_connector {
        seated.connector.name = format!("{} of {ANCHOR}", seated.connector.name);
        seated.connector.opposed_to = None;
        seated.seat = seat;
        rig.connectors.push(seated);
    }
}
