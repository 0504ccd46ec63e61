//! Whether a recall calls a piece back: it meets every criterion, it cannot be excluded because something is not known, or one
//! criterion excludes it.

use crate::event::{Description, Recall};
use crate::group::Group;
use crate::piece::Piece;
use jiff::civil::Date;
use trade::marking::{Mark, Reading};

/// What a recall is to a piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Match {
    /// It meets every criterion.
    Meets,
    /// It meets every criterion that can be told; these are not known: `gear`, `model`, `made`, `batch`, `serial`.
    NotExcluded(Vec<&'static str>),
    /// This criterion it does not meet.
    Excluded(&'static str),
}

/// What excludes a piece from a recall that has no criteria.
pub const NO_CRITERIA: &str = "criteria";

/// Compares a piece, or what is known of a lot, with what is called back. A recall without criteria meets nothing by itself.
///
/// Year and batch that were not told are read from the marking as typed.
#[must_use]
pub fn matches(recall: &Recall, piece: &Piece, group: &Group) -> Match {
    let is = piece.described(group);
    let marking = is.marking.as_deref().filter(|_| recall.made.is_some() || !recall.batches.is_empty());
    let marking = marking.map(trade::marking::read);
    let answers = [
        ("gear", recall.gear.as_ref().map(|gear| is.gear.as_ref().map(|own| own == gear))),
        ("model", recall.model.map(|model| is.model.map(|own| own == model))),
        ("made", recall.made.map(|days| made_within(&is, marking.as_ref(), days))),
        ("batch", (!recall.batches.is_empty()).then(|| in_batch(marking.as_ref(), &recall.batches))),
        ("serial", recall.serials.as_ref().map(|ends| serial_within(piece.serial.as_deref(), ends))),
    ];
    let asked: Vec<_> = answers.into_iter().filter_map(|(criterion, answer)| Some((criterion, answer?))).collect();
    if let Some((criterion, _)) = asked.iter().find(|(_, answer)| *answer == Some(false)) {
        return Match::Excluded(criterion);
    }
    let unknown: Vec<_> =
        asked.iter().filter(|(_, answer)| answer.is_none()).map(|(criterion, _)| *criterion).collect();
    match (asked.is_empty(), unknown.is_empty()) {
        (true, _) => Match::Excluded(NO_CRITERIA),
        (false, true) => Match::Meets,
        (false, false) => Match::NotExcluded(unknown),
    }
}

/// `None` where the days that it may have been made on lie partly within.
fn made_within(is: &Description, marking: Option<&Reading>, (first, last): (Date, Date)) -> Option<bool> {
    let told = is.made.map(|made| (made.earliest(), made.latest()));
    let (earliest, latest) = told.or_else(|| year_of(marking?))?;
    if latest < first || last < earliest {
        return Some(false);
    }
    (first <= earliest && latest <= last).then_some(true)
}

fn year_of(marking: &Reading) -> Option<(Date, Date)> {
    let year = i16::try_from(*marking.year.value()?).ok()?;
    Some((Date::new(year, 1, 1).ok()?, Date::new(year, 12, 31).ok()?))
}

fn in_batch(marking: Option<&Reading>, batches: &[String]) -> Option<bool> {
    match &marking?.batch {
        Mark::Read(batch) => Some(batches.iter().any(|called| plain(called) == plain(batch))),
        _ => None,
    }
}

fn plain(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// Serials of one form, letters and then figures, in the order of their figures; `None` where the form is another.
fn serial_within(serial: Option<&str>, (first, last): &(String, String)) -> Option<bool> {
    let [(own, number), (from, least), (to, most)] = [parts(serial?)?, parts(first)?, parts(last)?];
    (own == from && own == to).then_some((least..=most).contains(&number))
}

/// `None` where a sign can't be read: what stands for it, such as `?`, is neither letter, figure nor divider.
fn parts(serial: &str) -> Option<(String, u64)> {
    if !serial.chars().all(|c| c.is_alphanumeric() || "-/. ".contains(c)) {
        return None;
    }
    let serial = plain(serial);
    let letters = serial.trim_end_matches(|c: char| c.is_ascii_digit());
    Some((letters.to_owned(), serial[letters.len()..].parse().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn serials_are_compared_by_their_figures_where_their_form_is_one() {
        let ends = ("AB-0100".to_owned(), "AB-0200".to_owned());
        assert_eq!(serial_within(Some("ab 150"), &ends), Some(true));
        assert_eq!(serial_within(Some("AB0200"), &ends), Some(true));
        assert_eq!(serial_within(Some("AB-201"), &ends), Some(false));
        assert_eq!(serial_within(Some("XY-150"), &ends), None);
        assert_eq!(serial_within(Some("AB-15?"), &ends), None);
        assert_eq!(serial_within(None, &ends), None);
    }
}
