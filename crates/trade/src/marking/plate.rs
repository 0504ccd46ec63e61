//! The plate drawn back: what was read, as lines with the pictograms of this project.

use crate::standards::Standard;
use terms::coded;

use super::note::kn;
use super::reading::{Mark, RatedPosition, RatingSet, Reading};

coded!(
    /// The sign at the head of a line.
    PlateSymbol {
        /// Double arrow along the spine.
        Closed = "<->",
        /// The same beside an open gate.
        Open = "<c>",
        /// Double arrow across.
        Minor = "^v",
        /// Type letter in a circle.
        Class = "( )",
        /// Number of the standard.
        Standard = "EN",
        /// CE.
        Ce = "CE",
        /// UKCA.
        Ukca = "UKCA",
        /// The federation's label.
        Uiaa = "UIAA",
        /// Year of manufacture.
        Year = "year",
        /// Batch or serial.
        Batch = "no.",
        /// Open book.
        Instructions = "i",
    }
);

/// One line of the plate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlateLine {
    /// What stands at its head.
    pub symbol: PlateSymbol,
    /// What was read; `?` where it cannot be.
    pub value: String,
    /// What the mark is, in the words of the trade.
    pub meaning: String,
    /// Whether the value was read.
    pub legible: bool,
}

/// A marking as lines.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Plate {
    /// From the standard and the ratings down to the instructions.
    pub lines: Vec<PlateLine>,
}

impl Plate {
    /// A small plate for a terminal, in a frame.
    #[must_use]
    pub fn to_text(&self) -> String {
        let symbol = self.width(|line| line.symbol.code());
        let value = self.width(|line| &line.value);
        let rows: Vec<String> = self
            .lines
            .iter()
            .map(|line| format!("{:symbol$}  {:value$}  {}", line.symbol.code(), line.value, line.meaning))
            .collect();
        let width = rows.iter().map(|row| row.chars().count()).max().unwrap_or(0);
        let edge = format!("+{}+\n", "-".repeat(width + 2));
        let body: String = rows.iter().map(|row| format!("| {row:width$} |\n")).collect();
        format!("{edge}{body}{edge}")
    }

    fn width<'a>(&'a self, part: impl Fn(&'a PlateLine) -> &'a str) -> usize {
        self.lines.iter().map(|line| part(line).chars().count()).max().unwrap_or(0)
    }
}

impl Reading {
    /// The plate drawn back.
    #[must_use]
    pub fn plate(&self) -> Plate {
        let mut lines: Vec<PlateLine> = self.sets.iter().flat_map(|set| set_lines(self, set)).collect();
        for conformity in &self.conformity {
            let symbol = PlateSymbol::from_code(conformity.sign.code()).unwrap_or(PlateSymbol::Ce);
            lines.push(line(symbol, &conformity.body, String::clone, "conformity; number of the body"));
        }
        let marks = [
            self.uiaa_label.then(|| plain(PlateSymbol::Uiaa, "the federation's label")),
            shown(PlateSymbol::Year, &self.year, u16::to_string, "year of manufacture"),
            shown(PlateSymbol::Batch, &self.batch, String::clone, "batch or serial number"),
            self.instructions.then(|| plain(PlateSymbol::Instructions, "read the instructions")),
        ];
        lines.extend(marks.into_iter().flatten());
        Plate { lines }
    }
}

/// The lines of one set: the ratings always, for a plate without them shows that there is no strength to read.
fn set_lines(reading: &Reading, set: &RatingSet) -> Vec<PlateLine> {
    let standard = set.standard.map(|standard| PlateLine {
        symbol: PlateSymbol::Standard,
        value: standard_value(reading, standard),
        meaning: "standard".to_owned(),
        legible: true,
    });
    let class = shown(PlateSymbol::Class, &set.class, |letter| letter.code().to_owned(), "type letter");
    let ratings = RatedPosition::ALL.iter().map(|position| {
        let (symbol, meaning) = match position {
            RatedPosition::Closed => (PlateSymbol::Closed, "major axis, gate closed"),
            RatedPosition::Open => (PlateSymbol::Open, "major axis, gate open"),
            RatedPosition::Minor => (PlateSymbol::Minor, "minor axis, gate closed"),
        };
        line(symbol, set.rating(*position), |force| format!("{} kN", kn(*force)), meaning)
    });
    standard.into_iter().chain(class).chain(ratings).collect()
}

fn standard_value(reading: &Reading, standard: Standard) -> String {
    let number = standard.code().trim_start_matches("EN ").to_owned();
    let edition = reading.standards.iter().find(|named| named.standard == standard).and_then(|named| named.edition);
    edition.map_or(number.clone(), |year| format!("{number}:{year}"))
}

fn plain(symbol: PlateSymbol, meaning: &str) -> PlateLine {
    PlateLine { symbol, value: String::new(), meaning: meaning.to_owned(), legible: true }
}

fn shown<T>(symbol: PlateSymbol, mark: &Mark<T>, value: impl Fn(&T) -> String, meaning: &str) -> Option<PlateLine> {
    (!mark.is_absent()).then(|| line(symbol, mark, value, meaning))
}

fn line<T>(symbol: PlateSymbol, mark: &Mark<T>, value: impl Fn(&T) -> String, meaning: &str) -> PlateLine {
    let (value, remark) = match mark {
        Mark::Read(read) => (value(read), ""),
        Mark::Illegible { .. } => ("?".to_owned(), ", illegible"),
        Mark::Undecided { .. } => ("?".to_owned(), ", cannot be told"),
        Mark::Conflicting(values) => (values.iter().map(value).collect::<Vec<_>>().join(" or "), ", contradictory"),
        Mark::Absent => ("-".to_owned(), ", not marked"),
    };
    let legible = matches!(mark, Mark::Read(_));
    PlateLine { symbol, value, meaning: format!("{meaning}{remark}"), legible }
}
