//! Where connectors sit: at a point that they name, or at the end of a draw that names them.

use terms::Force;
use trade::connector::{Class, Connector, Gate, Keeper, Lock, Nose, Shape};

use super::fault::{FaultCode, Report};
use super::names::Names;
use super::tables::{ConnectorTable, DrawTable};
use super::values::{Name, Positive};
use super::words::Word;
use crate::model::{PointId, Seat};

/// The seat of each connector, by place in the file; none where it has none or an undefined one.
pub(super) struct Seats<'f>(Vec<Option<NamedSeat<'f>>>);

/// A seat and the name of the point at which it is.
#[derive(Clone, Copy)]
pub(super) struct NamedSeat<'f> {
    pub seat: Seat,
    pub point: &'f str,
}

/// An end of a draw that names a connector.
struct End<'f> {
    draw: &'f str,
    named: &'f Name,
    at: NamedSeat<'f>,
}

impl<'f> Seats<'f> {
    pub fn new(
        connectors: &'f [ConnectorTable],
        draws: &'f [DrawTable],
        connector_names: &Names,
        points: &Names,
        report: &mut Report<'_>,
    ) -> Self {
        let mut ends: Vec<Option<End>> = connectors.iter().map(|_| None).collect();
        for end in all_ends(draws) {
            let Some(place) = connector_names.place(&end.named.value) else { continue };
            match &ends[place] {
                Some(first) => end_taken(&end, first, report),
                None => ends[place] = Some(end),
            }
        }
        let seated = connectors.iter().zip(&ends);
        Self(seated.map(|(connector, end)| seat_of(connector, end.as_ref(), points, report)).collect())
    }

    pub fn get(&self, place: usize) -> Option<NamedSeat<'f>> {
        self.0[place]
    }
}

fn all_ends(draws: &[DrawTable]) -> impl Iterator<Item = End<'_>> {
    draws.iter().enumerate().flat_map(|(place, table)| {
        let draw = table.name.value.as_str();
        let bolt_end = NamedSeat { seat: Seat::BoltEnd(place), point: &table.on.value };
        let rope_end = NamedSeat { seat: Seat::RopeEnd(place), point: draw };
        let ends = [(&table.bolt_end, bolt_end), (&table.rope_end, rope_end)];
        ends.into_iter().filter_map(move |(named, at)| Some(End { draw, named: named.as_ref()?, at }))
    })
}

fn end_taken(end: &End<'_>, first: &End<'_>, report: &mut Report<'_>) {
    let message = format!("\"{}\" is at an end of the draw \"{}\" already", end.named.value, first.draw);
    let help = "give each end of a draw a connector of its own";
    report.add(FaultCode::TwoSeats, &end.named.span, message, help);
}

fn seat_of<'f>(
    table: &'f ConnectorTable,
    end: Option<&End<'f>>,
    points: &Names,
    report: &mut Report<'_>,
) -> Option<NamedSeat<'f>> {
    match (&table.at, end) {
        (None, None) => {
            let help = "give `at` = a point, or name it as `bolt_end` or `rope_end` of a [[draw]]";
            report.add(FaultCode::NoSeat, &table.name.span, format!("\"{}\" sits nowhere", table.name.value), help);
            None
        }
        (Some(at), None) => {
            let point = PointId(points.find(at, report)?);
            Some(NamedSeat { seat: Seat::At(point), point: &at.value })
        }
        (None, Some(end)) => Some(end.at),
        (Some(at), Some(end)) => {
            if at.value != end.draw {
                let (name, draw) = (&table.name.value, end.draw);
                let message = format!("\"{name}\" sits at \"{}\" and at an end of the draw \"{draw}\"", at.value);
                report.add(FaultCode::TwoSeats, &at.span, message, format!("leave `at` out, or at = \"{draw}\""));
            }
            Some(end.at)
        }
    }
}

/// The connector that a table describes.
pub(super) fn connector(table: &ConnectorTable) -> Connector {
    Connector {
        name: table.name.value.clone(),
        piece: table.piece.clone(),
        class: word::<Class>(&table.class),
        shape: word::<Shape>(&table.shape),
        closed: force(table.closed_kn),
        open: force(table.open_kn),
        minor: force(table.minor_kn),
        gate: word::<Gate>(&table.gate),
        lock: word::<Lock>(&table.lock),
        locked: table.locked,
        nose: word::<Nose>(&table.nose),
        opposed_to: table.opposed_to.as_ref().map(|name| name.value.clone()),
        joins: table.joins.clone(),
        free_to_turn: table.free_to_turn,
        keeper: word::<Keeper>(&table.keeper),
        over_edge: table.over_edge,
        friction: table.friction.map(|friction| friction.0),
        duty: table.duty.clone(),
    }
}

fn force(kn: Option<Positive>) -> Option<Force> {
    kn.map(|kn| Force::from_kn(kn.0))
}

/// The value of a word; words outside the list were reported when the form was checked.
fn word<W: Word>(code: &Option<String>) -> Option<W> {
    code.as_deref().and_then(W::named)
}
