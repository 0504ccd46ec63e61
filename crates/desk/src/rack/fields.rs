//! What can be told of a piece: one list for options, columns and pages.

use super::Fault;
use super::labels;
use crate::texts;
use crate::units::Unit;
use jiff::civil::Date;
use register::event::{Dated, Description};
use terms::coded;
use trade::connector::{Gate, Lock, Nose, Shape};
use trade::gear::Gear;

/// A piece as somebody tells it. What is left out is unknown.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Told {
    /// Its label.
    pub label: String,
    /// The maker's serial.
    pub serial: Option<String>,
    /// The maker's name.
    pub maker: Option<String>,
    /// The model's name.
    pub model: Option<String>,
    /// The day of its first use.
    pub first_use: Option<Date>,
    /// The rest. Its `model` is left empty: `maker` and `model` above name it.
    pub is: Description,
}

impl Told {
    /// What it is, in few words: kind, maker, model.
    #[must_use]
    pub fn in_short(&self) -> String {
        let parts = [Field::Gear, Field::Maker, Field::Model].map(|field| field.get(self));
        parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
    }
}

coded!(
    /// One thing that can be told: its word is its name as a column and as an option; in the order of columns.
    Field {
        /// Label on the rack.
        Label = "label",
        /// The maker's serial.
        Serial = "serial",
        /// Kind of gear.
        Gear = "gear",
        /// The maker.
        Maker = "maker",
        /// The model.
        Model = "model",
        /// How many, for a lot.
        Count = "count",
        /// The marking as typed.
        Marking = "marking",
        /// When it was made.
        Made = "made",
        /// When it was bought.
        Bought = "bought",
        /// Day of first use.
        FirstUse = "first-use",
        /// Mass, g.
        Mass = "mass-g",
        /// Length, m.
        Length = "length-m",
        /// Diameter or width, mm.
        Diameter = "diameter-mm",
        /// Size as marked.
        Size = "size",
        /// Material.
        Material = "material",
        /// Shape of a connector.
        Shape = "shape",
        /// Gate of a connector.
        Gate = "gate",
        /// Lock of a connector.
        Lock = "lock",
        /// Nose of a connector.
        Nose = "nose",
        /// Where it belongs.
        Site = "site",
        /// Who supplied it.
        Supplier = "supplier",
    }
);

impl Field {
    /// The field that a heading names, if any; `_` and spaces do for `-`.
    #[must_use]
    pub fn of_heading(code: &str) -> Option<Self> {
        Self::from_code(&code.trim().to_lowercase().replace(['_', ' '], "-"))
    }

    /// Puts what was typed into `told`. Nothing typed is nothing told.
    ///
    /// # Errors
    /// Where the text is no value of this field.
    pub fn put(self, told: &mut Told, text: &str) -> Result<(), Fault> {
        if text.is_empty() {
            return Ok(());
        }
        let is = &mut told.is;
        let words = || Some(text.to_owned());
        match self {
            Self::Label => labels::fit(text)?.clone_into(&mut told.label),
            Self::Serial => told.serial = words(),
            Self::Maker => told.maker = words(),
            Self::Model => told.model = words(),
            Self::FirstUse => told.first_use = Some(day(text)?),
            Self::Gear => is.gear = Some(word(text, Gear::ALL, Gear::code)?),
            Self::Shape => is.shape = Some(word(text, Shape::ALL, Shape::code)?),
            Self::Gate => is.gate = Some(word(text, Gate::ALL, Gate::code)?),
            Self::Lock => is.lock = Some(word(text, Lock::ALL, Lock::code)?),
            Self::Nose => is.nose = Some(word(text, Nose::ALL, Nose::code)?),
            Self::Count => is.count = Some(decimal(text, 0)?),
            Self::Mass => is.mass_g = Some(decimal(text, 0)?),
            Self::Length => is.length_mm = Some(decimal(text, 3)?),
            Self::Diameter => is.diameter_um = Some(decimal(text, 3)?),
            Self::Made => is.made = Some(dated(text)?),
            Self::Bought => is.bought = Some(dated(text)?),
            Self::Marking => is.marking = words(),
            Self::Size => is.size = words(),
            Self::Material => is.material = words(),
            Self::Site => is.site = words(),
            Self::Supplier => is.supplier = words(),
        }
        Ok(())
    }

    /// What `told` says, by its name and with its unit: `mass 85 g`.
    #[must_use]
    pub fn in_words(self, told: &Told) -> Option<String> {
        let text = Some(self.get(told)).filter(|text| !text.is_empty())?;
        let name = texts::field(self);
        Some(match Unit::at_end(name) {
            Some((name, unit)) => format!("{name} {text} {}", unit.code()),
            None => format!("{name} {text}"),
        })
    }

    /// The unit of its value, where it has one.
    #[must_use]
    pub fn unit(self) -> Option<Unit> {
        Unit::at_end(texts::field(self)).map(|(_, unit)| unit)
    }

    /// What `told` says, as it can be typed; empty where it says nothing.
    #[must_use]
    pub fn get(self, told: &Told) -> String {
        let is = &told.is;
        let number = |value: Option<u32>, places| value.map(|value| decimal_text(value, places));
        let found = match self {
            Self::Label => Some(told.label.clone()),
            Self::Serial => told.serial.clone(),
            Self::Maker => told.maker.clone(),
            Self::Model => told.model.clone(),
            Self::FirstUse => told.first_use.map(|day| day.to_string()),
            Self::Gear => is.gear.clone(),
            Self::Shape => is.shape.clone(),
            Self::Gate => is.gate.clone(),
            Self::Lock => is.lock.clone(),
            Self::Nose => is.nose.clone(),
            Self::Count => number(is.count, 0),
            Self::Mass => number(is.mass_g, 0),
            Self::Length => number(is.length_mm, 3),
            Self::Diameter => number(is.diameter_um, 3),
            Self::Made => is.made.map(dated_text),
            Self::Bought => is.bought.map(dated_text),
            Self::Marking => is.marking.clone(),
            Self::Size => is.size.clone(),
            Self::Material => is.material.clone(),
            Self::Site => is.site.clone(),
            Self::Supplier => is.supplier.clone(),
        };
        found.unwrap_or_default()
    }
}

fn word<T: Copy>(text: &str, all: &[T], code: impl Fn(T) -> &'static str) -> Result<String, Fault> {
    let typed = text.trim().to_lowercase().replace(['_', ' '], "-");
    let found = all.iter().map(|value| code(*value)).find(|code| code.to_lowercase() == typed);
    found.map(str::to_owned).ok_or_else(|| Fault::no_such_word(text, all.iter().map(|value| code(*value))))
}

/// A day, `2026-11-25`.
///
/// # Errors
/// Where it is none.
pub fn day(text: &str) -> Result<Date, Fault> {
    text.trim().parse().map_err(|_| Fault::new("no-day", &[("value", text.to_owned())]))
}

/// A year, a month or a day: `2026`, `2026-11`, `2026-11-25`.
///
/// # Errors
/// Where it is none.
pub fn dated(text: &str) -> Result<Dated, Fault> {
    let fault = || Fault::new("no-date", &[("value", text.to_owned())]);
    let parts: Vec<&str> = text.trim().split('-').collect();
    let year = parts[0].parse::<i16>().ok().filter(|year| (1900..2200).contains(year)).ok_or_else(fault)?;
    match parts[..] {
        [_] => Ok(Dated::Year(year)),
        [_, month] => {
            let month = month.parse::<i8>().ok().filter(|month| (1..=12).contains(month));
            month.map(|month| Dated::Month(year, month)).ok_or_else(fault)
        }
        _ => text.trim().parse().map(Dated::Day).map_err(|_| fault()),
    }
}

/// As [`dated`] reads it.
#[must_use]
pub fn dated_text(dated: Dated) -> String {
    match dated {
        Dated::Year(year) => format!("{year:04}"),
        Dated::Month(year, month) => format!("{year:04}-{month:02}"),
        Dated::Day(day) => day.to_string(),
    }
}

/// A number with at most `places` decimal places, in units of the last one; exact. Point or comma.
///
/// # Errors
/// Where it is none, is negative, finer than that, or too large.
pub fn decimal(text: &str, places: usize) -> Result<u32, Fault> {
    let typed = text.trim().replace(',', ".");
    let (whole, part) = typed.split_once('.').unwrap_or((&typed, ""));
    let is_number = !whole.is_empty() && whole.chars().chain(part.chars()).all(|c| c.is_ascii_digit());
    let fine = part.trim_end_matches('0');
    let digits = format!("{whole}{fine:0<places$}");
    let number = digits.parse().ok().filter(|_| is_number && fine.len() <= places);
    number.ok_or_else(|| {
        let code = if places == 0 { "no-whole-number" } else { "no-number" };
        Fault::new(code, &[("value", text.to_owned()), ("places", places.to_string())])
    })
}

/// As [`decimal`] reads it.
#[must_use]
pub fn decimal_text(value: u32, places: u32) -> String {
    let unit = 10_u32.pow(places);
    match value % unit {
        0 => (value / unit).to_string(),
        rest => {
            let part = format!("{rest:0width$}", width = places as usize);
            format!("{}.{}", value / unit, part.trim_end_matches('0'))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_decimal_reads_as_it_is_written() {
        for (text, value) in [("9.8", 9_800), ("0.001", 1), ("60", 60_000), ("11.05", 11_050), ("0", 0)] {
            assert_eq!(decimal(text, 3), Ok(value));
            assert_eq!(decimal_text(value, 3), text);
        }
        assert_eq!(decimal("9,80", 3), Ok(9_800));
        for text in ["", "-1", "9.8001", "1e3", "nan", "1.2.3", ".5", "99999999"] {
            assert_eq!(decimal(text, 3).expect_err(text).code, "no-number");
        }
    }

    #[test]
    fn a_date_is_as_exact_as_it_is_told() {
        for text in ["2019", "2019-05", "2019-05-31"] {
            assert_eq!(dated_text(dated(text).expect(text)), text);
        }
        for text in ["19", "2019-13", "2019-02-30", "May 2019", "2019-05-31-1"] {
            assert_eq!(dated(text).expect_err(text).code, "no-date");
        }
    }

    #[test]
    fn every_field_keeps_what_it_is_told() {
        for field in Field::ALL {
            let text = match field {
                Field::Gear => "rope",
                Field::Shape => "pear",
                Field::Gate => "wire",
                Field::Lock => "screw",
                Field::Nose => "hooked",
                Field::Made | Field::Bought | Field::FirstUse => "2019-05-31",
                _ => "12",
            };
            let mut told = Told::default();
            field.put(&mut told, text).expect("a value");
            assert_eq!(field.get(&told), text, "{}", field.code());
            let others = Field::ALL.iter().filter(|other| *other != field);
            assert_eq!(others.map(|other| other.get(&told)).collect::<String>(), "");
        }
    }
}
