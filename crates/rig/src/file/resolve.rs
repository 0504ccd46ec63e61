//! From tables to a rig: defaults, names to places, and what can only be seen when all is known.

use std::ops::Range;

use terms::{Force, Length, Mass};

use super::fault::{FaultCode, Report};
use super::names::Names;
use super::seats::{NamedSeat, Seats, connector};
use super::tables::{
    AnchorTable, ConnectorTable, DrawTable, JointTable, LegTable, LineTable, PersonTable, PullTable, RigFile,
    RopeTable, SlingTable,
};
use super::values::{HoldsValue, Name, Named, Placed, Vector};
use super::words::{CaseWord, Word};
use crate::model::{
    Band, Case, Draw, Holds, Leg, LegId, Line, LineLength, Point, PointId, PointKind, Pull, Rig, Rope, RopeId,
    RopeKind, RopeResponse, Seated, Sling, SlingId, Stance, distance,
};
use trade::sling::{self, StrengthBy};

/// Straight down, for which an anchor is placed unless the file says otherwise.
const DOWN: [f64; 3] = [0.0, 0.0, -1.0];

/// What cord is made of where the file does not say.
const COMMON_FIBRE: &str = "nylon";

/// Points nearer than this, in metres, are in one place: the least length that a file may give.
const LEAST_APART_M: f64 = 1e-6;

/// The rig of a file. Complete only where `report` stays empty: what is at fault is left out.
pub(super) fn resolve(file: RigFile, report: &mut Report<'_>) -> Rig {
    let mut resolver = Resolver {
        report,
        points: Names::new("point"),
        ropes: Names::new("rope"),
        slings: Names::new("sling"),
        connectors: Names::new("connector"),
        rig: Rig {
            title: file.title,
            case: Case::Rest,
            friction: file.friction.0,
            friction_band: None,
            until_s: file.until_s.0,
            losses: file.losses.as_ref().is_some_and(|losses| losses.value),
            pulls_out: file.pulls_out,
            ledges: Vec::new(),
            walls: Vec::new(),
            clip_table: None,
            ropes: Vec::new(),
            slings: Vec::new(),
            points: Vec::new(),
            draws: Vec::new(),
            legs: Vec::new(),
            lines: Vec::new(),
            connectors: Vec::new(),
            pulls: Vec::new(),
            devices: Vec::new(),
            grips: Vec::new(),
        },
    };
    resolver.rig.friction_band = resolver.band(file.friction_band);
    resolver.define_points(&file.anchor, &file.joint, &file.draw, &file.person);
    resolver.define_ropes(file.rope);
    resolver.define_slings(file.sling);
    for (place, connector) in file.connector.iter().enumerate() {
        resolver.connectors.define(&connector.name, place, resolver.report);
    }
    resolver.add_legs(&file.leg);
    resolver.add_draws(&file.draw);
    resolver.add_lines(&file.line);
    resolver.add_connectors(&file.connector, &file.draw);
    resolver.add_pulls(&file.pull);
    resolver.add_devices(&file.device);
    resolver.add_grips(&file.grip);
    resolver.set_case(&file.case, &file.pull);
    resolver.check_running(&file.line);
    resolver.refuse_tension_in_fall(&file.line);
    resolver.refuse_losses_while_running(file.losses.as_ref());
    resolver.add_ground(file.ground_m, file.ledge, file.wall, file.clip_table);
    resolver.rig
}

pub(super) struct Resolver<'r, 't> {
    pub(super) report: &'r mut Report<'t>,
    points: Names,
    ropes: Names,
    slings: Names,
    connectors: Names,
    pub(super) rig: Rig,
}

impl Resolver<'_, '_> {
    pub(super) fn fault(
        &mut self,
        code: FaultCode,
        span: &Range<usize>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.report.add(code, span, message, help);
    }

    pub fn point(&mut self, name: &Name) -> Option<PointId> {
        self.points.find(name, self.report).map(PointId)
    }

    fn sling(&mut self, name: &Name) -> Option<SlingId> {
        self.slings.find(name, self.report).map(SlingId)
    }

    pub fn rope(&mut self, name: &Name) -> Option<RopeId> {
        self.ropes.find(name, self.report).map(RopeId)
    }

    pub fn kind(&self, point: PointId) -> PointKind {
        self.rig.points[point.0].kind
    }

    pub(super) fn band<B: Into<Band>>(&mut self, bounds: Option<Placed<B>>) -> Option<Band> {
        let Placed { value, span } = bounds?;
        let band = value.into();
        if band.low > band.high {
            let help = format!("the lower one first: [{}, {}]", band.high, band.low);
            self.fault(FaultCode::ReversedBand, &span, "the low end of this band lies above its high end", help);
        }
        Some(band)
    }

    // Points.

    fn define_points(
        &mut self,
        anchors: &[AnchorTable],
        joints: &[JointTable],
        draws: &[DrawTable],
        persons: &[PersonTable],
    ) {
        for anchor in anchors {
            let holds = anchor.holds_kn.as_ref().map(|holds| self.holds(holds));
            self.define_point(&anchor.name, anchor.at_m.0, PointKind::Anchor { holds });
        }
        for joint in joints {
            let mass = Mass::from_kg(joint.mass_kg.0);
            self.define_point(&joint.name, joint.at_m.0, PointKind::Joint { mass });
        }
        for draw in draws {
            self.define_rope_end(draw);
        }
        for person in persons {
            let stance = self.stance(person);
            let mass = Mass::from_kg(person.mass_kg.0);
            self.define_point(&person.name, person.at_m.0, PointKind::Person { mass, stance });
        }
    }

    fn define_point(&mut self, name: &Name, at: [f64; 3], kind: PointKind) {
        self.points.define(name, self.rig.points.len(), self.report);
        self.rig.points.push(Point { name: name.value.clone(), at, kind });
    }

    /// The joint that a draw becomes. That its anchor is one is seen to in `draw`, when every point is known.
    fn define_rope_end(&mut self, draw: &DrawTable) {
        let nowhere = [f64::NAN; 3];
        let [x, y, z] = self.points.place(&draw.on.value).map_or(nowhere, |anchor| self.rig.points[anchor].at);
        let mass = Mass::from_kg(draw.mass_kg.0);
        self.define_point(&draw.name, [x, y, z - draw.length_m.0], PointKind::Joint { mass });
    }

    fn holds(&mut self, holds: &HoldsValue) -> Holds {
        match holds {
            HoldsValue::Every(kn) => Holds::Every(Force::from_kn(*kn)),
            HoldsValue::ByDirection(table) => Holds::ByDirection {
                along: Force::from_kn(table.along.0),
                across: Force::from_kn(table.across.0),
                upward: Force::from_kn(table.upward.0),
                direction: table.direction.as_ref().map_or(DOWN, |direction| self.direction(direction)),
            },
        }
    }

    fn direction(&mut self, direction: &Placed<Vector>) -> [f64; 3] {
        let Vector(vector) = direction.value;
        let length = distance(vector, [0.0; 3]);
        if length == 0.0 {
            let help = "give the direction as [x, y, z]; straight down is [0, 0, -1]";
            self.fault(FaultCode::NoDirection, &direction.span, "a direction of no length points nowhere", help);
        }
        vector.map(|component| component / length)
    }

    fn stance(&mut self, person: &PersonTable) -> Stance {
        if person.stands && person.anchored {
            let message = format!("\"{}\" both stands and is anchored", person.name.value);
            let help = "keep one: who stands can be lifted off, who is anchored cannot";
            self.fault(FaultCode::StandsAndAnchored, &person.name.span, message, help);
        }
        match (person.stands, person.anchored) {
            (_, true) => Stance::Anchored,
            (true, false) => Stance::Stands,
            (false, false) => Stance::Falls,
        }
    }

    // Ropes and slings.

    fn define_ropes(&mut self, ropes: Named<RopeTable>) {
        for (name, table) in ropes.0 {
            self.ropes.define(&name, self.rig.ropes.len(), self.report);
            if let Some(rope) = self.rope_of(&name, &table) {
                self.rig.ropes.push(rope);
            }
        }
    }

    fn rope_of(&mut self, name: &Name, table: &RopeTable) -> Option<Rope> {
        Some(Rope {
            name: name.value.clone(),
            kind: RopeKind::named(&table.kind).unwrap_or(RopeKind::Single),
            response: self.response(name, table)?,
            mass_kg_per_m: table.mass_kg_per_m.map(|mass| mass.0),
            state: table
                .state
                .as_deref()
                .and_then(trade::rope::state)
                .map(|state| Band { low: state.low, high: state.high }),
            strength: table.strength_kn.map(|strength| Force::from_kn(strength.0)),
        })
    }

    fn response(&mut self, name: &Name, table: &RopeTable) -> Option<RopeResponse> {
        let (impact, fixed, dynamic) =
            (table.impact_force_kn, table.static_elongation_pct, table.dynamic_elongation_pct);
        if let (Some(elongation), None, None, None, None) =
            (table.low_stretch_elongation_pct, &table.response, impact, fixed, dynamic)
        {
            return Some(RopeResponse::LowStretch { elongation_pct: elongation.0 });
        }
        match (&table.response, impact, fixed, dynamic) {
            (Some(response), None, None, None) => Some(RopeResponse::Given {
                slow: Force::from_kn(response.slow_kn.0),
                fast: Force::from_kn(response.fast_kn.0),
                relax_s: response.relax_s.0,
            }),
            (None, Some(impact), Some(fixed), Some(dynamic)) => Some(RopeResponse::DataSheet {
                impact_force: Force::from_kn(impact.0),
                static_elongation_pct: fixed.0,
                dynamic_elongation_pct: dynamic.0,
            }),
            _ => self.badly_described(name, table),
        }
    }

    fn badly_described(&mut self, name: &Name, table: &RopeTable) -> Option<RopeResponse> {
        let figures = [
            ("impact_force_kn", table.impact_force_kn.is_some()),
            ("static_elongation_pct", table.static_elongation_pct.is_some()),
            ("dynamic_elongation_pct", table.dynamic_elongation_pct.is_some()),
        ];
        let absent: Vec<_> = figures.iter().filter(|(_, given)| !given).map(|(key, _)| *key).collect();
        let (code, what, help) = if table.response.is_some() || table.low_stretch_elongation_pct.is_some() {
            let what = "is described in more than one way";
            (FaultCode::RopeDescribedTwice, what, "keep one of the two".to_owned())
        } else if absent.len() == figures.len() {
            let help = "give the figures of its data sheet (impact_force_kn, static_elongation_pct, \
                        dynamic_elongation_pct), low_stretch_elongation_pct, or response = { slow_kn, fast_kn, relax_s }";
            (FaultCode::RopeNotDescribed, "has neither a data sheet nor a `response`", help.to_owned())
        } else {
            let help = format!("add {}", absent.join(" and "));
            (FaultCode::DataSheetIncomplete, "has a data sheet with figures missing", help)
        };
        self.fault(code, &name.span, format!("the rope \"{}\" {what}", name.value), help);
        None
    }

    fn define_slings(&mut self, slings: Named<SlingTable>) {
        for (name, table) in slings.0 {
            self.slings.define(&name, self.rig.slings.len(), self.report);
            let (stiffness, listed_band) = self.stiffness(&name, &table);
            let stiffness_band_kn = self.band(table.stiffness_band_kn).or(listed_band);
            let tears = self.tears(table.tears_at_kn, table.tears_m);
            let marked = table.strength_kn.map(|strength| Force::from_kn(strength.0));
            let asked = table.cord_mm.as_ref().and_then(|cord| sling::cord_strength(cord.value.0));
            let is_marked = marked.is_some() || table.cord_mm.is_none();
            let strength_by = if is_marked { StrengthBy::Mark } else { StrengthBy::CordStandard };
            self.rig.slings.push(Sling {
                name: name.value,
                stiffness,
                stiffness_band_kn,
                strength: marked.or(asked),
                strength_by,
                knot: table.knot,
                fibre: table.fibre,
                tears,
            });
        }
    }

    /// As given, or as listed for cord: the middle of its range, and the range.
    fn stiffness(&mut self, name: &Name, table: &SlingTable) -> (Force, Option<Band>) {
        if let Some(given) = &table.stiffness_kn {
            return (Force::from_kn(given.0), None);
        }
        let Some(cord) = &table.cord_mm else {
            let message = format!("the sling \"{}\" has neither `stiffness_kn` nor `cord_mm`", name.value);
            let help = "give stiffness_kn, its force per unit strain, or cord_mm, the diameter of accessory cord";
            self.fault(FaultCode::SlingNotDescribed, &name.span, message, help);
            return (Force::default(), None);
        };
        let fibre = table.fibre.as_deref().unwrap_or(COMMON_FIBRE);
        let Some([low, high]) = sling::cord_stiffness(fibre, cord.value.0) else {
            let diameters: Vec<String> = sling::cord_diameters(fibre).iter().map(ToString::to_string).collect();
            let message = format!("no stiffness is listed for {fibre} cord of {} mm", cord.value.0);
            let listed = if diameters.is_empty() { "none".to_owned() } else { diameters.join(", ") };
            let help = format!("give stiffness_kn too; diameters that are listed, in mm: {listed}");
            self.fault(FaultCode::CordNotListed, &cord.span, message, help);
            return (Force::default(), None);
        };
        let band = Band { low: low.kn(), high: high.kn() };
        (Force::from_kn(f64::midpoint(band.low, band.high)), Some(band))
    }

    // Legs and draws.

    fn add_legs(&mut self, legs: &[LegTable]) {
        for table in legs {
            if let Some(leg) = self.leg(table) {
                self.rig.legs.push(leg);
            }
        }
    }

    fn leg(&mut self, table: &LegTable) -> Option<Leg> {
        let (from, to, of) = (self.point(&table.from), self.point(&table.to), self.sling(&table.of));
        let (from, to) = (from?, to?);
        let drawn = self.drawn_length(from, to, &table.to);
        let length = table.length_m.map_or(drawn, |length| Some(length.0));
        Some(Leg { from, to, of: of?, length: Length::from_m(length?), strands: table.strands.0 })
    }

    /// How far two points are apart as drawn, in metres; a fault at `second` where that is nothing.
    fn drawn_length(&mut self, from: PointId, to: PointId, second: &Name) -> Option<f64> {
        let [first_point, second_point] = [from, to].map(|point| &self.rig.points[point.0]);
        let length = distance(first_point.at, second_point.at);
        let apart = length.is_nan() || length >= LEAST_APART_M;
        if apart {
            return Some(length);
        }
        let (code, message) = if from == to {
            (FaultCode::SamePoint, format!("this runs from \"{}\" to itself", second.value))
        } else {
            let message = format!("\"{}\" and \"{}\" are in one place", first_point.name, second.value);
            (FaultCode::CoincidentPoints, message)
        };
        self.fault(code, &second.span, message, "join two points that are apart");
        None
    }

    fn add_draws(&mut self, draws: &[DrawTable]) {
        for table in draws {
            if let Some((draw, leg)) = self.draw(table) {
                self.rig.draws.push(draw);
                self.rig.legs.push(leg);
            }
        }
    }

    fn draw(&mut self, table: &DrawTable) -> Option<(Draw, Leg)> {
        let [bolt_end, rope_end] = [&table.bolt_end, &table.rope_end]
            .map(|end| end.as_ref().and_then(|name| self.connectors.find(name, self.report)));
        let (on, of) = (self.anchor(&table.on), self.sling(&table.of));
        let (on, joint) = (on?, PointId(self.points.place(&table.name.value)?));
        let leg = Leg { from: on, to: joint, of: of?, length: Length::from_m(table.length_m.0), strands: 1.0 };
        Some((Draw { on, joint, leg: LegId(self.rig.legs.len()), bolt_end, rope_end }, leg))
    }

    fn anchor(&mut self, name: &Name) -> Option<PointId> {
        let point = self.point(name)?;
        if matches!(self.kind(point), PointKind::Anchor { .. }) {
            return Some(point);
        }
        let message = format!("a draw hangs on an anchor, and \"{}\" is none", name.value);
        let help = "name an [[anchor]]; from a joint or a person hang a [[leg]] instead";
        self.fault(FaultCode::NotAnAnchor, &name.span, message, help);
        None
    }

    // Lines.

    fn add_lines(&mut self, lines: &[LineTable]) {
        for table in lines {
            if let Some(line) = self.line(table) {
                self.rig.lines.push(line);
            }
        }
    }

    fn line(&mut self, table: &LineTable) -> Option<Line> {
        let of = self.rope(&table.of);
        let through = self.through(&table.through);
        let length = self.line_length(table);
        let brake_slips_at = table.brake.as_ref().map(|brake| Force::from_kn(brake.slips_at_kn.0));
        let through = through?;
        let runs = self.runs(table, &through);
        let tensioned = self.tensioned(table);
        let limiter = table.limiter_m.map(|limiter| Length::from_m(limiter.0));
        Some(Line { of: of?, through, length, brake_slips_at, runs, tensioned, limiter })
    }

    fn through(&mut self, names: &Placed<Vec<Name>>) -> Option<Vec<PointId>> {
        if names.value.len() < 2 {
            let help = "name the points in order, from where the rope starts to where it ends";
            self.fault(FaultCode::TooFewPoints, &names.span, "a line goes through two points at least", help);
        }
        let points: Vec<Option<PointId>> = names.value.iter().map(|name| self.point(name)).collect();
        for (pair, second) in points.windows(2).zip(names.value.iter().skip(1)) {
            if let [Some(from), Some(to)] = pair {
                self.drawn_length(*from, *to, second);
            }
        }
        points.into_iter().collect()
    }

    fn line_length(&mut self, table: &LineTable) -> LineLength {
        let slack = LineLength::Slack(Length::from_m(table.slack_m.map_or(0.0, |slack| slack.0)));
        let Some(given) = &table.length_m else { return slack };
        if table.slack_m.is_some() {
            let help = "keep `slack_m` (added to the length as drawn) or `length_m` (the whole)";
            self.fault(FaultCode::SlackAndLength, &given.span, "this line has both slack and a length", help);
        }
        LineLength::Given(Length::from_m(given.value.0))
    }

    // Connectors.

    fn add_connectors(&mut self, connectors: &[ConnectorTable], draws: &[DrawTable]) {
        let seats = Seats::new(connectors, draws, &self.connectors, &self.points, self.report);
        for (place, table) in connectors.iter().enumerate() {
            if let Some(opposed_to) = &table.opposed_to {
                self.check_opposed(place, opposed_to, &seats);
            }
            if let Some(NamedSeat { seat, .. }) = seats.get(place) {
                self.rig.connectors.push(Seated { connector: connector(table), seat });
            }
        }
    }

    fn check_opposed(&mut self, place: usize, opposed_to: &Name, seats: &Seats<'_>) {
        let Some(other) = self.connectors.find(opposed_to, self.report) else { return };
        let message = if other == place {
            format!("\"{}\" is opposed to itself", opposed_to.value)
        } else {
            match (seats.get(place), seats.get(other)) {
                (Some(here), Some(there)) if here.point != there.point => {
                    format!("\"{}\" sits elsewhere, at \"{}\"", opposed_to.value, there.point)
                }
                _ => return,
            }
        };
        let help = "name the other connector of the pair, at the same point";
        self.fault(FaultCode::OpposedElsewhere, &opposed_to.span, message, help);
    }

    // The case and its loads.

    fn add_pulls(&mut self, pulls: &[PullTable]) {
        for table in pulls {
            if let Some(at) = self.pulled_point(&table.at) {
                self.rig.pulls.push(Pull { at, force_kn: table.force_kn.0 });
            }
        }
    }

    fn pulled_point(&mut self, name: &Name) -> Option<PointId> {
        let point = self.point(name)?;
        let fixed = match self.kind(point) {
            PointKind::Anchor { .. } => true,
            PointKind::Joint { .. } => false,
            PointKind::Person { stance, .. } => stance == Stance::Anchored,
        };
        if fixed {
            let message = format!("\"{}\" does not move: a pull there loads nothing else", name.value);
            self.fault(FaultCode::PullAtFixed, &name.span, message, "pull at a joint or at a person who hangs");
        }
        Some(point)
    }

    fn set_case(&mut self, word: &Name, pulls: &[PullTable]) {
        match CaseWord::named(&word.value) {
            Some(CaseWord::Fall) => self.set_fall(word, pulls),
            Some(CaseWord::Running) => self.set_running(word),
            Some(CaseWord::Rest) | None => {}
        }
    }

    fn set_fall(&mut self, word: &Name, pulls: &[PullTable]) {
        self.rig.case = Case::Fall;
        for pull in pulls {
            let help = "drop this [[pull]], or ask for case = \"rest\"";
            self.fault(FaultCode::PullInFall, &pull.at.span, "a fall has no steady loads", help);
        }
        let falls = |point: &Point| matches!(point.kind, PointKind::Person { stance: Stance::Falls, .. });
        if !self.rig.points.iter().any(falls) {
            let help = "add a [[person]] who neither stands nor is anchored";
            self.fault(FaultCode::NobodyFalls, &word.span, "nobody falls in this fall", help);
        }
    }
}
