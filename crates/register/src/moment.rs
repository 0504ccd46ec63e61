//! When something happened: a civil date, and where it is known a time of day and the zone it was told in.

use jiff::civil::{Date, Time};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use std::str::FromStr;

/// When something happened, as the people who were there would say it.
///
/// Written as `2026-11-25`, `2026-11-25T14:30` or `2026-11-25T14:30[Europe/Lisbon]`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment {
    /// The civil date.
    pub date: Date,
    /// The time of day.
    pub time: Option<Time>,
    /// The IANA name of the zone that date and time were told in.
    pub zone: Option<String>,
}

impl Moment {
    /// Some time on a day.
    #[must_use]
    pub const fn on(date: Date) -> Self {
        Self { date, time: None, zone: None }
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{}", self.date)?;
        if let Some(time) = self.time {
            write!(formatter, "T{:02}:{:02}", time.hour(), time.minute())?;
        }
        match &self.zone {
            Some(zone) => write!(formatter, "[{zone}]"),
            None => Ok(()),
        }
    }
}

/// A text that is no moment.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no date: write 2026-11-25, 2026-11-25T14:30 or 2026-11-25T14:30[Zone/Name]")]
pub struct NoMoment(pub String);

impl FromStr for Moment {
    type Err = NoMoment;

    fn from_str(text: &str) -> Result<Self, NoMoment> {
        parse(text).ok_or_else(|| NoMoment(text.to_owned()))
    }
}

fn parse(text: &str) -> Option<Moment> {
    let (rest, zone) = match text.strip_suffix(']').map(|rest| rest.split_once('[')) {
        Some(split) => split.map(|(rest, zone)| (rest, Some(zone.to_owned())))?,
        None => (text, None),
    };
    let (date, time) = match rest.split_once('T') {
        Some((date, time)) => (date, Some(time)),
        None => (rest, None),
    };
    let time = time.map(str::parse::<Time>).transpose().ok()?;
    Some(Moment { date: date.parse().ok()?, time, zone: zone.filter(|zone| !zone.is_empty()) })
}

impl Serialize for Moment {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Moment {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_reads_as_it_is_written() {
        for text in ["2026-11-25", "2026-11-25T14:30", "2026-11-25T14:30[Europe/Lisbon]"] {
            assert_eq!(text.parse::<Moment>().expect("a moment").to_string(), text);
        }
    }

    #[test]
    fn what_is_no_moment_is_told_with_what_would_be() {
        for text in ["", "25.11.2026", "2026-13-01", "2026-11-25T", "2026-11-25T14:30["] {
            assert_eq!(text.parse::<Moment>(), Err(NoMoment(text.to_owned())));
        }
    }
}
