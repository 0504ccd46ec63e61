//! What a file says of ropes on the move: which way they run, what they run through, what holds them fast.

use std::ops::Range;

use mechanics::running::Way;
use schemars::JsonSchema;
use serde::Deserialize;
use terms::{Force, Length};

use super::fault::FaultCode;
use super::resolve::Resolver;
use super::tables::LineTable;
use super::values::{Friction, Name, Placed, Positive, PositiveBounds, Share, TensionRatio};
use crate::model::{Case, Device, Drag, Grip, PointId, PointKind, Ranged, Runs};

/// What a rope runs through that is no connector: a pulley, a belay device, turns round a bar. One of `efficiency`,
/// `ratio`, or `friction` with `wraps`.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "device")]
pub(super) struct DeviceTable {
    /// Its name.
    pub name: Name,
    /// The point where it is.
    pub at: Name,
    /// The ropes that run through it; all there if left out.
    #[serde(default)]
    pub joins: Vec<String>,
    /// The share of the tension that it passes on over half a turn; counts in falls too.
    pub efficiency: Option<Share>,
    /// The tension on the side that the rope runs to over that on the other, whatever the angle.
    pub ratio: Option<TensionRatio>,
    /// Capstan coefficient of turns round a bar.
    pub friction: Option<Friction>,
    /// The whole contact in turns; what is drawn does not come to it.
    pub wraps: Option<Positive>,
    /// The lowest and highest that `efficiency`, `ratio` or `friction` may be.
    pub band: Option<Placed<PositiveBounds>>,
    /// Rated strength, in kN.
    pub strength_kn: Option<Positive>,
}

/// A friction hitch or a clamp that holds a rope fast where one or two of its lines end.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "grip")]
pub(super) struct GripTable {
    /// Its name.
    pub name: Name,
    /// The point where the lines end.
    pub at: Name,
    /// The rope it grips.
    pub of: Name,
    /// The pull at which it slips at the least, in kN.
    pub slips_at_kn: Option<Positive>,
    /// What its cord is made of.
    #[schemars(extend("enum" = trade::sling::fibres()))]
    pub fibre: Option<String>,
}

impl Resolver<'_, '_> {
    /// How a line is on the move, if the file says so.
    pub fn runs(&mut self, table: &LineTable, through: &[PointId]) -> Option<Runs> {
        let (name, way) = match (&table.taken_in_at, &table.paid_out_at) {
            (Some(name), _) | (_, Some(name)) if table.runs_to.is_some() => {
                let help = "`runs_to` is for a line that no hand holds: keep it, or the end where a hand is";
                self.fault(FaultCode::RunsBothWays, &name.span, "this line both ends at a hand and runs along", help);
                return None;
            }
            (Some(_), Some(name)) => {
                let help = "keep `taken_in_at` or `paid_out_at`: the report tells both ways";
                self.fault(FaultCode::RunsBothWays, &name.span, "this line is both taken in and paid out", help);
                return None;
            }
            (Some(name), None) => (name, Way::In),
            (None, Some(name)) => (name, Way::Out),
            (None, None) => {
                self.refuse_keys_of_running(table, "no hand holds this line");
                return self.runs_along(table.runs_to.as_ref()?, through);
            }
        };
        let hand = self.hand(name, through)?;
        Some(Runs {
            hand,
            is_held: true,
            hand_is_last: through[0] != hand,
            way,
            pull: table.pull_kn.as_ref().map(|pull| Force::from_kn(pull.value.0)),
            rope: table.rope_m.as_ref().map(|rope| Length::from_m(rope.value.0)),
            reaches_m: table.reaches_m.as_ref().map(|height| height.value.0),
            hands: table.hands.as_ref().map_or(1, |hands| hands.value.0),
        })
    }

    /// A line that other ropes move along.
    fn runs_along(&mut self, name: &Name, through: &[PointId]) -> Option<Runs> {
        let end = self.end(name, through)?;
        Some(Runs {
            hand: end,
            is_held: false,
            hand_is_last: through[0] != end,
            way: Way::In,
            pull: None,
            rope: None,
            reaches_m: None,
            hands: 0,
        })
    }

    fn end(&mut self, name: &Name, through: &[PointId]) -> Option<PointId> {
        let end = self.point(name)?;
        if end == through[0] || end == through[through.len() - 1] {
            return Some(end);
        }
        let message = format!("\"{}\" is not an end of this line", name.value);
        self.fault(FaultCode::NotAnEnd, &name.span, message, "name the first or the last point of `through`");
        None
    }

    fn hand(&mut self, name: &Name, through: &[PointId]) -> Option<PointId> {
        let hand = self.end(name, through)?;
        if matches!(self.kind(hand), PointKind::Joint { .. }) {
            let message = format!("nobody holds the rope at \"{}\", which is a joint", name.value);
            let help =
                "end the line at a [[person]] or an [[anchor]]; where another rope moves it along, say runs_to = NAME";
            self.fault(FaultCode::NobodyHolds, &name.span, message, help);
            return None;
        }
        Some(hand)
    }

    fn refuse_keys_of_running(&mut self, table: &LineTable, why: &str) {
        let span = |span: &Range<usize>| span.clone();
        let keys = [
            ("pull_kn", table.pull_kn.as_ref().map(|key| span(&key.span))),
            ("rope_m", table.rope_m.as_ref().map(|key| span(&key.span))),
            ("reaches_m", table.reaches_m.as_ref().map(|key| span(&key.span))),
            ("hands", table.hands.as_ref().map(|key| span(&key.span))),
        ];
        for (key, span) in keys {
            if let Some(span) = span {
                let help = "say where its rope is taken in or paid out: taken_in_at = NAME or paid_out_at = NAME";
                self.fault(FaultCode::DoesNotRun, &span, format!("`{key}` is given, but {why}"), help);
            }
        }
    }

    pub fn set_running(&mut self, word: &Name) {
        self.rig.case = Case::Running;
        if self.report.is_empty() && !self.rig.lines.iter().any(|line| line.runs.is_some_and(|runs| runs.is_held)) {
            let help = "say of a [[line]] at which end: taken_in_at = NAME or paid_out_at = NAME";
            self.fault(FaultCode::NothingRuns, &word.span, "no rope is taken in or paid out here", help);
        }
    }

    /// What only ropes on the move have, in a file that asks for something else.
    pub fn check_running(&mut self, lines: &[LineTable]) {
        if self.rig.case == Case::Running {
            return;
        }
        for name in lines.iter().flat_map(|line| [&line.taken_in_at, &line.paid_out_at, &line.runs_to]).flatten() {
            let help = "ask for case = \"running\", or leave this key out";
            self.fault(FaultCode::DoesNotRun, &name.span, "ropes run with case = \"running\" only", help);
        }
    }

    pub fn add_devices(&mut self, tables: &[DeviceTable]) {
        for table in tables {
            let at = self.point(&table.at);
            let drag = self.drag(table);
            let (Some(at), Some(drag)) = (at, drag) else { continue };
            if !self.rig.lines.iter().any(|line| line.through[1..line.through.len() - 1].contains(&at)) {
                let message = format!("no rope runs through \"{}\"", table.at.value);
                let help = "name a point between the two ends of a [[line]]";
                self.fault(FaultCode::NoRopeThere, &table.at.span, message, help);
            }
            let strength = table.strength_kn.map(|strength| Force::from_kn(strength.0));
            let name = table.name.value.clone();
            self.rig.devices.push(Device { name, at, joins: table.joins.clone(), drag, strength });
        }
    }

    fn drag(&mut self, table: &DeviceTable) -> Option<Drag> {
        let band = self.band(table.band.as_ref().map(|band| Placed { value: band.value, span: band.span.clone() }));
        let ranged = |typed: f64| Ranged { typed, band };
        match (table.efficiency, table.ratio, table.friction, table.wraps) {
            (Some(share), None, None, None) => Some(Drag::Efficiency(ranged(share.0))),
            (None, Some(ratio), None, None) => Some(Drag::Ratio(ranged(ratio.0))),
            (None, None, Some(friction), Some(turns)) => {
                Some(Drag::Wraps { friction: ranged(friction.0), turns: turns.0 })
            }
            _ => {
                let message = format!("what \"{}\" does to a rope is not said once and wholly", table.name.value);
                let help = "give `efficiency`, or `ratio`, or `friction` and `wraps`";
                self.fault(FaultCode::DeviceNotDescribed, &table.name.span, message, help);
                None
            }
        }
    }

    pub fn add_grips(&mut self, tables: &[GripTable]) {
        for table in tables {
            let (at, of) = (self.point(&table.at), self.rope(&table.of));
            let (Some(at), Some(of)) = (at, of) else { continue };
            let ends = |through: &[PointId]| through[0] == at || through[through.len() - 1] == at;
            if !self.rig.lines.iter().any(|line| line.of == of && ends(&line.through)) {
                let message = format!("no line of \"{}\" ends at \"{}\"", table.of.value, table.at.value);
                let help = "a hitch splits a rope: end one [[line]] of it there and begin the next";
                self.fault(FaultCode::NoRopeThere, &table.at.span, message, help);
            }
            let slips_at = table.slips_at_kn.map(|slips| Force::from_kn(slips.0));
            let (name, fibre) = (table.name.value.clone(), table.fibre.clone());
            self.rig.grips.push(Grip { name, at, of, slips_at, fibre });
        }
    }
}
