//! Due dates for a calendar: iCalendar, RFC 5545.

use super::labels::compact;
use crate::texts;
use icalendar::{Calendar, Component, Event, EventLike, Property, ValueType};
use jiff::civil::Date;
use register::store::Now;
use std::collections::BTreeMap;

/// A piece and the day by which it is to be inspected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Due {
    /// The day.
    pub on: Date,
    /// Where the piece is.
    pub site: Option<String>,
    /// Its label.
    pub label: String,
}

/// A calendar with one event for each day and site. The same due dates have the same names, so that a calendar read again
/// takes the place of the one before.
#[must_use]
pub fn calendar(due: &[Due], now: Now) -> String {
    let mut days: BTreeMap<(Date, Option<&str>), Vec<String>> = BTreeMap::new();
    for piece in due {
        days.entry((piece.on, piece.site.as_deref())).or_default().push(piece.label.clone());
    }
    let mut calendar = Calendar::empty();
    calendar.append_property(Property::new("VERSION", "2.0"));
    calendar.append_property(Property::new("PRODID", "-//Linkwright//Rack//EN"));
    for ((on, site), labels) in days {
        calendar.push(event(on, site, &labels, now));
    }
    calendar.to_string()
}

fn event(on: Date, site: Option<&str>, labels: &[String], now: Now) -> Event {
    let count = [("count", labels.len().to_string()), ("pieces", compact(labels))];
    let cautions = texts::cautions().join(" ");
    let mut event = Event::new();
    event
        .uid(&format!("inspection-{on}-{}@linkwright", site.map_or_else(String::new, plain)))
        .add_property("DTSTAMP", stamp(now))
        .summary(&texts::rack("calendar-event", &count))
        .description(&format!("{} {cautions}", texts::rack("calendar-pieces", &count)))
        .append_property(date("DTSTART", on))
        // An event of whole days ends on the day after its last.
        .append_property(date("DTEND", on.tomorrow().unwrap_or(on)));
    if let Some(site) = site {
        event.location(site);
    }
    event.done()
}

/// A name as letters, figures and `-`, one name for each site.
fn plain(site: &str) -> String {
    site.bytes()
        .map(|byte| if byte.is_ascii_alphanumeric() { char::from(byte).to_string() } else { format!("-{byte:02x}") })
        .collect()
}

fn date(name: &str, on: Date) -> Property {
    Property::new(name, on.strftime("%Y%m%d").to_string()).append_parameter(ValueType::Date).done()
}

fn stamp(now: Now) -> String {
    let instant = jiff::Timestamp::from_millisecond(now.ms).unwrap_or(jiff::Timestamp::UNIX_EPOCH);
    instant.strftime("%Y%m%dT%H%M%SZ").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use ical::parser::ical::component::IcalEvent;

    fn due() -> Vec<Due> {
        let piece = |day, label: &str, site: Option<&str>| Due {
            on: Date::constant(2026, 12, day),
            site: site.map(str::to_owned),
            label: label.to_owned(),
        };
        vec![
            piece(31, "C-001", Some("store; north, 1")),
            piece(31, "C-002", Some("store; north, 1")),
            piece(31, "R-07", None),
            piece(1, "H-1", None),
        ]
    }

    fn now() -> Now {
        Now { ms: 1_790_000_000_000, on: Date::constant(2026, 11, 25) }
    }

    /// Read by a parser that is not ours.
    fn events(text: &str) -> Vec<IcalEvent> {
        let calendar = ical::IcalParser::new(text.as_bytes()).next().expect("a calendar").expect("RFC 5545");
        calendar.events
    }

    fn value(event: &IcalEvent, name: &str) -> String {
        let property = event.properties.iter().find(|property| property.name == name);
        property.and_then(|property| property.value.clone()).unwrap_or_default()
    }

    #[test]
    fn a_day_and_a_site_are_one_event_that_ends_on_the_next_day() {
        let events = events(&calendar(&due(), now()));
        let told: Vec<_> = events.iter().map(|event| (value(event, "DTSTART"), value(event, "DTEND"))).collect();
        let pair = |from: &str, to: &str| (from.to_owned(), to.to_owned());
        let last = pair("20261231", "20270101");
        assert_eq!(told, [pair("20261201", "20261202"), last.clone(), last]);
        assert!(value(&events[2], "SUMMARY").contains("C-001..C-002"));
        assert_eq!(value(&events[2], "LOCATION"), "store\\; north\\, 1");
        assert_eq!(value(&events[0], "DTSTAMP"), "20260921T141320Z");
    }

    #[test]
    fn each_event_has_a_name_of_its_own_and_keeps_it() {
        let names = |text: String| events(&text).iter().map(|event| value(event, "UID")).collect::<Vec<_>>();
        let first = names(calendar(&due(), now()));
        assert_eq!(first, names(calendar(&due(), Now { ms: 0, ..now() })));
        let apart: std::collections::BTreeSet<_> = first.iter().collect();
        assert_eq!(apart.len(), 3);
    }

    #[test]
    fn lines_are_folded_and_end_as_the_standard_asks() {
        let text = calendar(&due(), now());
        assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
        assert!(text.split("\r\n").all(|line| line.len() <= 75), "{text}");
    }
}
