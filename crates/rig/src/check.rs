//! Check: the loads of a rig against what each link bears in each position it can slip into.

use crate::band::{Bands, Corner};
use crate::ground::Meeting;
use crate::model::{Case, Draw, Holds, PointId, PointKind, Rig, RopeId, Seat, Stance};
use crate::solve::Loads;
use mechanics::vector::Vector;
use std::cmp::Ordering;
use terms::{Finding, Force, How, Reason};
use trade::anchor::ByDirection;
use trade::connector::Connector;
use trade::policy::{Policy, judge};
use trade::position::{self, Place, Position, PullOn, Setting};
use trade::sling::sling_bears;

/// What a link is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LinkKind {
    /// A connector in one position.
    Connector(Position),
    /// A leg of sling, cord or tape.
    Sling,
    /// An anchor.
    Anchor,
    /// A rope.
    Rope,
    /// A pulley or another device that a rope runs through.
    Device,
    /// A hitch or a clamp that holds a rope fast.
    Grip,
}

impl LinkKind {
    /// The code used in files and reports.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Connector(_) => "connector",
            Self::Sling => "sling",
            Self::Anchor => "anchor",
            Self::Rope => "rope",
            Self::Device => "device",
            Self::Grip => "grip",
        }
    }

    /// The code of the position; what is not a connector has one only.
    #[must_use]
    pub const fn position(self) -> &'static str {
        match self {
            Self::Connector(position) => position.code(),
            Self::Sling | Self::Rope => "stretched",
            Self::Anchor | Self::Device => "pulled",
            Self::Grip => "holding",
        }
    }
}

/// A link in one position: what it bears, what it sees, what that means.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    /// Its name; of a leg, its two ends.
    pub name: String,
    /// What it is, and in which position.
    pub kind: LinkKind,
    /// How it comes to be loaded so.
    pub how: How,
    /// Where it is.
    pub at: PointId,
    /// What it bears; `None` where unrated or unknown.
    pub bears: Option<Force>,
    /// The worst that it sees over all cases.
    pub sees: Force,
    /// The least that it sees over all cases.
    pub sees_least: Force,
    /// What it sees with the numbers as typed.
    pub as_typed: Force,
    /// The case of the worst.
    pub worst_in: Corner,
    /// How far `as_typed` moves when the step is halved.
    pub error: Force,
    /// Strength over load; `None` where there is no strength or no load.
    pub margin: Option<f64>,
    /// What that means.
    pub finding: Finding,
    /// Why.
    pub because: Vec<Reason>,
    /// Whether it makes the exit status 1.
    pub counts: bool,
    /// Whether something given says that it can come to this; false where it merely cannot be excluded.
    pub is_known: bool,
}

/// How low a person who falls comes.
#[derive(Debug, Clone, PartialEq)]
pub struct Clearance {
    /// Who.
    pub person: PointId,
    /// Lowest height with the numbers as typed, m.
    pub as_typed_m: f64,
    /// Lowest height over all cases, m.
    pub worst_m: f64,
    /// The case of the worst.
    pub worst_in: Corner,
    /// The ground, or else the floor that somebody of the rig stands on, m.
    pub floor_m: Option<f64>,
    /// The ledges and walls come to in some case: each at its fastest, with that case; in the order of the file.
    pub meets: Vec<(Meeting, Corner)>,
}

impl Clearance {
    /// Whether the fall reaches the floor in some case.
    #[must_use]
    pub fn reaches_floor(&self) -> bool {
        self.floor_m.is_some_and(|floor| self.worst_m <= floor)
    }
}

/// A checked rig.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Links in the order of the file: connectors, slings, anchors, ropes; each with its positions.
    pub links: Vec<Link>,
    /// How low those who fall come, in the order of the file.
    pub clearances: Vec<Clearance>,
    /// In a fall, those whom no leg and no line holds.
    pub held_by_nothing: Vec<PointId>,
    /// Those whom something holds and who still go down when the time ends, never stopped before; each with the first case of that.
    pub falling_on: Vec<(PointId, Corner)>,
    /// Belayers who were stopped at the first piece in some case.
    pub stopped: Vec<PointId>,
    /// Whether the exit status is 1.
    pub counts: bool,
}

impl Check {
    /// Places of the links, worst first: over rating, low margin, unrated, within margin; then by margin.
    #[must_use]
    pub fn worst_first(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.links.len()).collect();
        order.sort_by(|&a, &b| compare(&self.links[a], &self.links[b]));
        order
    }

    /// The rated link with the least margin: of intended positions first, then of those in use.
    #[must_use]
    pub fn weakest(&self) -> Option<&Link> {
        let rated = |link: &&Link| link.margin.is_some();
        let least = |a: &&Link, b: &&Link| a.margin.partial_cmp(&b.margin).unwrap_or(Ordering::Equal);
        self.links.iter().filter(rated).min_by(least)
    }
}

fn compare(a: &Link, b: &Link) -> Ordering {
    let margin = |link: &Link| link.margin.unwrap_or(f64::INFINITY);
    a.finding.cmp(&b.finding).then(margin(a).total_cmp(&margin(b))).then(a.how.cmp(&b.how))
}

/// Checks a rig's loads against its links.
#[must_use]
pub fn check(rig: &Rig, bands: &Bands, policy: &Policy) -> Check {
    let checker = Checker { rig, bands, policy };
    let links: Vec<Link> = checker
        .connectors()
        .chain((0..rig.legs.len()).map(|leg| checker.sling(leg)))
        .chain(checker.anchors())
        .chain((0..rig.lines.len()).map(|line| checker.rope(line)))
        .chain(checker.devices())
        .chain((0..rig.grips.len()).map(|grip| checker.grip(grip)))
        .collect();
    let stopped = |point: &PointId| bands.cases.iter().any(|(_, loads)| loads.points[point.0].stopped_at_s.is_some());
    let clearances = checker.clearances();
    let held_by_nothing = if rig.case == Case::Fall { rig.held_by_nothing() } else { Vec::new() };
    let grounded = policy.ground_counts_for_exit && clearances.iter().any(Clearance::reaches_floor);
    Check {
        counts: grounded || !held_by_nothing.is_empty() || links.iter().any(|link| link.counts),
        links,
        clearances,
        falling_on: checker.falling_on(&held_by_nothing),
        held_by_nothing,
        stopped: (0..rig.points.len()).map(PointId).filter(stopped).collect(),
    }
}

struct Checker<'a> {
    rig: &'a Rig,
    bands: &'a Bands,
    policy: &'a Policy,
}

/// What is known of a link before it is compared.
struct Entry {
    name: String,
    kind: LinkKind,
    how: How,
    at: PointId,
    bears: Option<Force>,
    because: Vec<Reason>,
    is_known: bool,
}

impl Checker<'_> {
    /// Compares one link with its worst load.
    fn judge(&self, entry: Entry, load_kn: impl Fn(&Loads) -> f64) -> Link {
        let (worst_in, worst) = self.bands.worst(&load_kn);
        let sees = Force::from_kn(worst);
        let finding = judge(self.policy, entry.how, entry.bears, sees);
        let counts = match entry.kind {
            LinkKind::Connector(position) => self.policy.counts(position, finding),
            _ => finding == Finding::OverRating,
        };
        Link {
            margin: entry.bears.filter(|_| worst > 0.0).map(|bears| bears.kn() / worst),
            sees,
            sees_least: Force::from_kn(self.bands.least(&load_kn)),
            as_typed: Force::from_kn(load_kn(self.bands.typed())),
            error: Force::from_kn(self.bands.error(&load_kn)),
            name: entry.name,
            kind: entry.kind,
            how: entry.how,
            at: entry.at,
            bears: entry.bears,
            because: entry.because,
            is_known: entry.is_known,
            worst_in,
            finding,
            counts,
        }
    }

    fn connectors(&self) -> impl Iterator<Item = Link> + '_ {
        (0..self.rig.connectors.len()).flat_map(move |place| self.connector(place))
    }

    fn connector(&self, place: usize) -> Vec<Link> {
        let seated = &self.rig.connectors[place];
        let pulls = self.pulls_on(&seated.connector, seated.seat);
        let neighbours = self.neighbours(place);
        let setting = self.setting(place, &pulls, &neighbours);
        let at = self.rig.point_of(seated.seat);
        let load = |loads: &Loads| match seated.seat {
            Seat::BoltEnd(draw) => loads.legs[self.rig.draws[draw].leg.0],
            Seat::At(point) => loads.points[point.0].peak_kn,
            Seat::RopeEnd(draw) => loads.points[self.rig.draws[draw].joint.0].peak_kn,
        };
        let link = |slip: position::Slip| {
            let entry = Entry {
                name: seated.connector.name.clone(),
                kind: LinkKind::Connector(slip.position),
                how: slip.how,
                at,
                bears: slip.bears,
                because: slip.because,
                is_known: slip.is_known,
            };
            self.judge(entry, load)
        };
        position::slips(&setting).into_iter().map(link).collect()
    }

    fn setting<'s>(&'s self, place: usize, pulls: &'s [PullOn<'s>], neighbours: &'s [&'s str]) -> Setting<'s> {
        let seated = &self.rig.connectors[place];
        let point = self.rig.point_of(seated.seat);
        let through = |line: &&crate::model::Line| line.through[1..line.through.len() - 1].contains(&point);
        let line = self.rig.lines.iter().find(through);
        Setting {
            place: self.place_of(seated.seat),
            pulls,
            rope_runs: line.is_some() && !matches!(seated.seat, Seat::BoltEnd(_)),
            leads: line.is_some_and(|line| self.leads_above(line, point)),
            runners_on_line: line.map_or(0, |line| self.runners_on(line)),
            opposed: self.opposed(place),
            neighbours,
            ..Setting::new(&seated.connector, self.place_of(seated.seat))
        }
    }

    fn place_of(&self, seat: Seat) -> Place {
        match seat {
            Seat::BoltEnd(_) => Place::BoltEnd,
            Seat::RopeEnd(_) => Place::RopeEnd,
            Seat::At(point) => match self.rig.points[point.0].kind {
                PointKind::Anchor { .. } => Place::Anchor,
                PointKind::Joint { .. } => Place::Joint,
                PointKind::Person { .. } => Place::Person,
            },
        }
    }

    /// What pulls on a connector when its point takes its largest load: what its `joins` names, or all of it.
    fn pulls_on(&self, connector: &Connector, seat: Seat) -> Vec<PullOn<'_>> {
        if matches!(seat, Seat::BoltEnd(_)) {
            return Vec::new();
        }
        let point = self.rig.point_of(seat);
        let history = &self.bands.history;
        let moment = history.moment_at(self.bands.typed().points[point.0].time_s);
        let all = history.pulls_on(self.rig, point, moment);
        let joined: Vec<_> =
            all.iter().copied().filter(|pull| connector.joins.iter().any(|name| name == pull.name)).collect();
        if joined.is_empty() { all } else { joined }
    }

    /// Whether a line leads on to somebody who falls from above a point.
    fn leads_above(&self, line: &crate::model::Line, point: PointId) -> bool {
        let above = |other: &PointId| self.rig.points[other.0].at[2] > self.rig.points[point.0].at[2];
        line.through.last().is_some_and(|last| self.rig.falls(*last) && above(last))
    }

    fn runners_on(&self, line: &crate::model::Line) -> usize {
        let is_runner = |point: &&PointId| {
            let on_draw = self.rig.draws.iter().any(|draw| draw.joint == **point);
            on_draw || self.rig.connectors.iter().any(|seated| seated.seat == Seat::At(**point))
        };
        line.through[1..line.through.len() - 1].iter().filter(is_runner).count()
    }

    /// The connector that stands opposite and opposed, whichever of the two names the other.
    fn opposed(&self, place: usize) -> Option<&Connector> {
        let this = &self.rig.connectors[place].connector;
        let is_pair = |other: &&crate::model::Seated| {
            this.opposed_to.as_ref() == Some(&other.connector.name)
                || other.connector.opposed_to.as_ref() == Some(&this.name)
        };
        self.rig.connectors.iter().find(is_pair).map(|seated| &seated.connector)
    }

    fn neighbours(&self, place: usize) -> Vec<&str> {
        let this = &self.rig.connectors[place];
        let near = |other: &&crate::model::Seated| {
            other.connector.name != this.connector.name
                && (other.seat == this.seat || this.connector.joins.contains(&other.connector.name))
        };
        self.rig.connectors.iter().filter(near).map(|other| other.connector.name.as_str()).collect()
    }

    fn sling(&self, place: usize) -> Link {
        let leg = self.rig.legs[place];
        let sling = &self.rig.slings[leg.of.0];
        let bears = sling_bears(sling.strength, sling.strength_by, sling.knot.as_deref());
        let name = |point: PointId| self.rig.points[point.0].name.as_str();
        let draw = self.rig.draws.iter().find(|draw| draw.leg.0 == place);
        let entry = Entry {
            name: match draw {
                Some(draw) => format!("{} of {}", sling.name, name(draw.joint)),
                None => format!("{} from {} to {}", sling.name, name(leg.from), name(leg.to)),
            },
            kind: LinkKind::Sling,
            how: How::Intended,
            at: leg.to,
            bears: bears.low,
            because: bears.because,
            is_known: true,
        };
        self.judge(entry, |loads| loads.legs[place])
    }

    fn anchors(&self) -> impl Iterator<Item = Link> + '_ {
        let is_anchor = |point: &usize| matches!(self.rig.points[*point].kind, PointKind::Anchor { .. });
        (0..self.rig.points.len()).filter(is_anchor).map(|point| self.anchor(point))
    }

    fn anchor(&self, point: usize) -> Link {
        let PointKind::Anchor { holds } = self.rig.points[point].kind else { unreachable!("asked for an anchor") };
        let (bears, because) = match holds {
            None => (None, vec![Reason::StrengthUnknown { what: "anchor" }]),
            Some(Holds::Every(strength)) => (Some(strength), vec![Reason::MarkedStrength { what: "anchor", strength }]),
            Some(Holds::ByDirection { along, across, upward, direction }) => {
                let (bears, reason) = self.weakest_direction(point, &ByDirection { along, across, upward, direction });
                (Some(bears), vec![reason])
            }
        };
        let entry = Entry {
            name: self.rig.points[point].name.clone(),
            kind: LinkKind::Anchor,
            how: How::Intended,
            at: PointId(point),
            bears,
            because,
            is_known: true,
        };
        self.judge(entry, |loads| loads.points[point].peak_kn)
    }

    /// The least an anchor bears over the directions of its largest pull in each case.
    fn weakest_direction(&self, point: usize, holds: &ByDirection) -> (Force, Reason) {
        let pulled = self.bands.cases.iter().map(|(_, loads)| loads.points[point]).filter(|load| load.peak_kn > 0.0);
        let borne = pulled.map(|load| trade::anchor::bears(holds, load.direction));
        let least = borne.min_by(|a, b| a.0.kn().total_cmp(&b.0.kn()));
        least.unwrap_or_else(|| trade::anchor::bears(holds, holds.direction))
    }

    fn rope(&self, place: usize) -> Link {
        let line = &self.rig.lines[place];
        let rope = &self.rig.ropes[line.of.0];
        let because = match rope.strength {
            Some(strength) => Reason::MarkedStrength { what: "rope", strength },
            None => Reason::RopeTestedByFalls,
        };
        let entry = Entry {
            name: rope.name.clone(),
            kind: LinkKind::Rope,
            how: How::Intended,
            at: line.through[line.through.len() - 1],
            bears: rope.strength,
            because: vec![because],
            is_known: true,
        };
        self.judge(entry, |loads| loads.lines[place].iter().copied().fold(0.0, f64::max))
    }

    fn devices(&self) -> impl Iterator<Item = Link> + '_ {
        let told = if self.rig.case == Case::Running { self.rig.devices.len() } else { 0 };
        (0..told).map(|place| {
            let device = &self.rig.devices[place];
            let entry = marked(&device.name, LinkKind::Device, device.at, device.strength);
            self.judge(entry, |loads| loads.devices[place])
        })
    }

    /// What a grip holds: what the lines of its rope that end where it is pull to one side, less what they pull to the other.
    fn grip(&self, place: usize) -> Link {
        let grip = &self.rig.grips[place];
        let entry = marked(&grip.name, LinkKind::Grip, grip.at, grip.slips_at);
        let ends = self.rope_ends_at(grip.at, grip.of);
        self.judge(entry, |loads| {
            let tension = |&(line, segment, side): &(usize, usize, f64)| side * loads.lines[line][segment];
            ends.iter().map(tension).sum::<f64>().abs()
        })
    }

    /// The ends of a rope's lines at a point: line, segment, and the side it leads to as drawn, +1 that of the first.
    fn rope_ends_at(&self, at: PointId, of: RopeId) -> Vec<(usize, usize, f64)> {
        let mut ends: Vec<(usize, usize, Vector<f64>)> = Vec::new();
        for (place, line) in self.rig.lines.iter().enumerate().filter(|(_, line)| line.of == of) {
            let last = line.through.len() - 1;
            for (end, next, segment) in [(0, 1, 0), (last, last - 1, last - 1)] {
                if line.through[end] == at {
                    let span = Vector(self.rig.points[line.through[next].0].at) - Vector(self.rig.points[at.0].at);
                    ends.push((place, segment, span.length_and_direction().1));
                }
            }
        }
        let Some(&(_, _, first)) = ends.first() else { return Vec::new() };
        let side = |towards: Vector<f64>| if towards.dot(first) < 0.0 { -1.0 } else { 1.0 };
        ends.into_iter().map(|(line, segment, towards)| (line, segment, side(towards))).collect()
    }

    /// What somebody comes to besides the ground, each at its fastest.
    fn meets(&self, person: PointId) -> Vec<(Meeting, Corner)> {
        let mut meets: Vec<(Meeting, Corner)> = Vec::new();
        for (corner, loads) in &self.bands.cases {
            for &meeting in loads.meetings.iter().filter(|met| met.person == person) {
                match meets.iter_mut().find(|(met, _)| met.with == meeting.with) {
                    Some(met) if met.0.speed_m_s < meeting.speed_m_s => *met = (meeting, *corner),
                    Some(_) => {}
                    None => meets.push((meeting, *corner)),
                }
            }
        }
        meets.retain(|(met, _)| self.rig.obstacle(met.with) != crate::file::GROUND);
        meets.sort_by_key(|(met, _)| met.with);
        meets
    }

    /// Who is not stopped in some case, but for those whom nothing holds.
    fn falling_on(&self, held_by_nothing: &[PointId]) -> Vec<(PointId, Corner)> {
        let held = (0..self.rig.points.len()).map(PointId).filter(|point| !held_by_nothing.contains(point));
        let case = |point: PointId| self.bands.cases.iter().find(|(_, loads)| loads.points[point.0].falls_on);
        held.filter_map(|point| case(point).map(|(corner, _)| (point, *corner))).collect()
    }

    fn clearances(&self) -> Vec<Clearance> {
        let falling = (0..self.rig.points.len()).map(PointId).filter(|&point| self.rig.falls(point));
        let floor_m = self.rig.ground_m();
        let clearance = |person: PointId| {
            let lowest = |case: &(Corner, Loads)| case.1.points[person.0].lowest_m;
            let worst = self.bands.cases.iter().min_by(|a, b| lowest(a).total_cmp(&lowest(b)));
            let (worst_in, worst_m) = worst.map_or((Corner::TYPED, f64::NAN), |case| (case.0, lowest(case)));
            let as_typed_m = lowest(&self.bands.cases[0]);
            Clearance { person, as_typed_m, worst_m, worst_in, floor_m, meets: self.meets(person) }
        };
        if self.rig.case != Case::Fall { Vec::new() } else { falling.map(clearance).collect() }
    }
}

fn marked(name: &str, kind: LinkKind, at: PointId, bears: Option<Force>) -> Entry {
    let what = kind.code();
    let because = match bears {
        Some(strength) => Reason::MarkedStrength { what, strength },
        None => Reason::StrengthUnknown { what },
    };
    Entry { name: name.to_owned(), kind, how: How::Intended, at, bears, because: vec![because], is_known: true }
}

impl Rig {
    /// The point whose pulls a connector takes.
    #[must_use]
    pub fn point_of(&self, seat: Seat) -> PointId {
        match seat {
            Seat::At(point) => point,
            Seat::BoltEnd(draw) => self.draws[draw].on,
            Seat::RopeEnd(draw) => self.draws[draw].joint,
        }
    }

    /// Whether a point is a person who falls.
    #[must_use]
    pub fn falls(&self, point: PointId) -> bool {
        matches!(self.points[point.0].kind, PointKind::Person { stance: Stance::Falls, .. })
    }

    /// Whether a point is a person who stands on a floor.
    #[must_use]
    pub fn stands(&self, point: PointId) -> bool {
        matches!(self.points[point.0].kind, PointKind::Person { stance: Stance::Stands, .. })
    }

    /// The draw whose rope end is a point.
    #[must_use]
    pub fn draw_at(&self, point: PointId) -> Option<&Draw> {
        self.draws.iter().find(|draw| draw.joint == point)
    }
}
