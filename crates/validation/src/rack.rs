//! What a rack goes by: intervals as a standing tells them, and how long textiles serve.

use jiff::civil::{Date, date};
use register::event::{Description, Entered, Event, Inspection, Mark, Record};
use register::group::Group;
use register::history::{Past, effective};
use register::id::{Id, PersonId};
use register::moment::Moment;
use register::piece::Piece;
use register::standing::standing;

const INSPECTED: Date = date(2025, 1, 1);

/// Months from an inspection to the next, for a group that names this regime and leaves 60 months itself.
///
/// # Errors
/// Where there is no such regime.
pub fn interval_months(regime: &str, gear: &str) -> Result<Option<f64>, String> {
    let history = effective(log(regime, gear));
    let group = Group::fold(&history);
    if let Some(fault) = group.faults.values().next() {
        return Err(fault.to_string());
    }
    let piece = Id::new(1, 0).and_then(|id| Piece::fold(id, &history, INSPECTED)).ok_or("the log has no piece")?;
    let due = standing(&piece, &history, &group, INSPECTED).next_inspection;
    Ok(due.map(|due| f64::from(12 * i32::from(due.year() - 2025) + i32::from(due.month()) - 1)))
}

fn log(regime: &str, gear: &str) -> Vec<Past> {
    let mark = Mark { label: "A-1".to_owned(), serial: None };
    let is = Description { gear: Some(gear.to_owned()), ..Description::default() };
    let inspection =
        Inspection { occasion: "periodic".to_owned(), list: String::new(), remarks: Vec::new(), clears: Vec::new() };
    let text = format!("[rack]\nregimes = [\"{regime}\"]\n[rack.interval.any]\nmonths = 60");
    let events =
        [Event::Entered(Entered { pieces: vec![mark], is }), Event::PolicySet { text }, Event::Inspected(inspection)];
    events.into_iter().zip(1..).map(|(event, seq)| past(seq, event)).collect()
}

fn past(seq: i64, event: Event) -> Past {
    let about = if seq == 1 { Vec::new() } else { Id::new(1, 0).into_iter().collect() };
    let record = Record { about, by_kit: None, note: None, photos: Vec::new(), event };
    let (happened, writer) = (Moment::on(INSPECTED), PersonId("writer".to_owned()));
    Past { seq, happened, written_ms: seq, writer, record: record.into() }
}

/// The least and the most years that a voice gives.
///
/// # Errors
/// Where there is no such voice.
pub fn life_years(voice: &str) -> Result<[f64; 2], String> {
    let found = trade::rack::voices().iter().find(|row| row.code == voice);
    found.map(|row| row.years.map(f64::from)).ok_or_else(|| format!("no voice `{voice}`"))
}
