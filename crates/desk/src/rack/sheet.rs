//! A rack as a sheet of comma-separated values: read all or nothing, written so that it reads back the same.

use super::Fault;
use super::fields::{Field, Told};
use std::collections::{BTreeMap, BTreeSet};

/// What each heading of a sheet stands for: the code of a field, or `-` for a column that is left out. Kept from one sheet to
/// the next.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Columns(BTreeMap<String, Option<Field>>);

/// A heading that is left out.
pub const LEFT_OUT: &str = "-";

impl Columns {
    /// Reads a map that [`Columns::text`] wrote.
    ///
    /// # Errors
    /// Where it is no TOML table of texts, or names a field that there is not.
    pub fn read(text: &str) -> Result<Self, Fault> {
        let rows: BTreeMap<String, String> = toml::from_str(text)
            .map_err(|fault| Fault::new("no-column-map", &[("why", fault.message().to_owned())]))?;
        let mut columns = Self::default();
        rows.iter().try_for_each(|(heading, field)| columns.add(heading, field))?;
        Ok(columns)
    }

    /// Adds what a heading stands for.
    ///
    /// # Errors
    /// Where there is no such field.
    pub fn add(&mut self, heading: &str, field: &str) -> Result<(), Fault> {
        let is = match field {
            LEFT_OUT => None,
            code => Some(Field::of_heading(code).ok_or_else(|| no_field(code))?),
        };
        self.0.insert(heading.to_owned(), is);
        Ok(())
    }

    /// The map as a TOML file.
    #[must_use]
    pub fn text(&self) -> String {
        let line = |(heading, field): (&String, &Option<Field>)| {
            let field = field.map_or(LEFT_OUT, Field::code);
            format!("{} = \"{field}\"\n", toml::Value::from(heading.as_str()))
        };
        self.0.iter().map(line).collect()
    }

    /// What was told that a heading stands for: the code of a field, or [`LEFT_OUT`].
    #[must_use]
    pub fn chosen(&self, heading: &str) -> Option<&'static str> {
        self.0.get(heading).map(|field| field.map_or(LEFT_OUT, Field::code))
    }

    /// What a heading stands for: as told, or a field by its own name; `None` where nobody knows.
    fn field(&self, heading: &str) -> Option<Option<Field>> {
        self.0.get(heading).copied().or_else(|| Field::of_heading(heading).map(Some))
    }
}

fn no_field(code: &str) -> Fault {
    let words = Field::ALL.iter().map(|field| field.code()).collect::<Vec<_>>().join(", ");
    Fault::new("no-such-field", &[("value", code.to_owned()), ("words", words)])
}

/// What is wrong in a sheet, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wrong {
    /// Line, from 1.
    pub line: u64,
    /// The heading of the column, where it is one.
    pub column: Option<String>,
    /// What stands there; empty where it is the line as a whole.
    pub said: String,
    /// What is wrong.
    pub fault: Fault,
}

impl Wrong {
    /// About a line as a whole.
    pub(super) const fn of_line(line: u64, fault: Fault) -> Self {
        Self { line, column: None, said: String::new(), fault }
    }

    /// About what stands in a column of a line.
    pub(super) fn of_cell(line: u64, column: &str, said: &str, fault: Fault) -> Self {
        Self { line, column: Some(column.to_owned()), said: said.to_owned(), fault }
    }
}

/// Reads a sheet whose first line holds headings; parted by commas, semicolons or tabs, whichever the headings are.
///
/// Gives each piece with its line.
///
/// # Errors
/// All that is wrong in it; then nothing is to be taken from it.
pub fn read(text: &str, columns: &Columns) -> Result<Vec<(u64, Told)>, Vec<Wrong>> {
    let mut reader = reader(text);
    let headings = reader.headers().map_err(|fault| vec![broken(&fault)])?.clone();
    let fields = fields(&headings, columns)?;
    let (mut pieces, mut wrong) = (Vec::new(), Vec::new());
    for record in reader.records() {
        match record {
            Ok(record) => pieces.push(piece(&headings, &fields, &record, &mut wrong)),
            Err(fault) => wrong.push(broken(&fault)),
        }
    }
    wrong.extend(twice(&pieces));
    if wrong.is_empty() {
        return Ok(pieces);
    }
    wrong.sort_by_key(|wrong| wrong.line);
    Err(wrong)
}

/// The headings of a sheet; none where it is no sheet.
#[must_use]
pub fn headings(text: &str) -> Vec<String> {
    let mut reader = reader(text);
    reader.headers().map(|headings| headings.iter().map(str::to_owned).collect()).unwrap_or_default()
}

fn reader(text: &str) -> csv::Reader<&[u8]> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    csv::ReaderBuilder::new().delimiter(delimiter(text)).from_reader(text.as_bytes())
}

fn delimiter(text: &str) -> u8 {
    let headings = text.lines().next().unwrap_or_default();
    let count = |sign: u8| headings.bytes().filter(|byte| *byte == sign).count();
    [b',', b';', b'\t'].into_iter().rev().max_by_key(|sign| count(*sign)).unwrap_or(b',')
}

fn broken(fault: &csv::Error) -> Wrong {
    let line = fault.position().map_or(1, csv::Position::line);
    let fault = match fault.kind() {
        csv::ErrorKind::UnequalLengths { expected_len, len, .. } => {
            Fault::new("columns-differ", &[("columns", expected_len.to_string()), ("found", len.to_string())])
        }
        _ => Fault::new("no-sheet", &[("why", fault.to_string())]),
    };
    Wrong::of_line(line, fault)
}

fn fields(headings: &csv::StringRecord, columns: &Columns) -> Result<Vec<Option<Field>>, Vec<Wrong>> {
    let mut seen = BTreeSet::new();
    let mut wrong = Vec::new();
    let mut field = |heading: &str| {
        let found = columns.field(heading);
        let code = match found {
            None => Some("no-such-column"),
            Some(Some(field)) if !seen.insert(field) => Some("column-twice"),
            Some(_) => None,
        };
        let fault = |code| Fault::new(code, &[("heading", heading.to_owned())]);
        wrong.extend(code.map(|code| Wrong::of_cell(1, heading, heading, fault(code))));
        found.flatten()
    };
    let fields = headings.iter().map(&mut field).collect();
    if !seen.contains(&Field::Label) {
        wrong.push(Wrong::of_line(1, Fault::new("no-label-column", &[])));
    }
    if wrong.is_empty() { Ok(fields) } else { Err(wrong) }
}

fn piece(
    headings: &csv::StringRecord,
    fields: &[Option<Field>],
    record: &csv::StringRecord,
    wrong: &mut Vec<Wrong>,
) -> (u64, Told) {
    let line = record.position().map_or(0, csv::Position::line);
    let mut told = Told::default();
    let cells = headings.iter().zip(fields).zip(record);
    for ((heading, field), value) in cells {
        let put = field.map_or(Ok(()), |field| match field {
            Field::Label if value.is_empty() => Err(Fault::new("no-label", &[("label", String::new())])),
            field => field.put(&mut told, value),
        });
        wrong.extend(put.err().map(|fault| Wrong::of_cell(line, heading, value, fault)));
    }
    (line, told)
}

/// Labels that stand in a sheet twice.
pub(super) fn twice(pieces: &[(u64, Told)]) -> Vec<Wrong> {
    let mut first = BTreeMap::new();
    let mut wrong = Vec::new();
    for (line, told) in pieces.iter().filter(|(_, told)| !told.label.is_empty()) {
        if let Some(before) = first.insert(&told.label, *line) {
            let values = [("label", told.label.clone()), ("line", u64::to_string(&before))];
            wrong.push(Wrong::of_cell(*line, Field::Label.code(), &told.label, Fault::new("label-in-line", &values)));
        }
    }
    wrong
}

/// The sheet of some pieces, with every field as a column.
///
/// # Panics
/// Never: writing to memory cannot fail.
#[must_use]
pub fn write(pieces: &[Told]) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let headings = Field::ALL.iter().map(|field| field.code().to_owned()).collect();
    let rows = pieces.iter().map(|told| Field::ALL.iter().map(|field| field.get(told)).collect::<Vec<_>>());
    for row in std::iter::once(headings).chain(rows) {
        writer.write_record(row).unwrap_or_else(|fault| unreachable!("{fault}"));
    }
    let bytes = writer.into_inner().unwrap_or_else(|fault| unreachable!("{fault}"));
    String::from_utf8(bytes).unwrap_or_else(|fault| unreachable!("{fault}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn codes(text: &str) -> Vec<(u64, &'static str)> {
        let wrong = read(text, &Columns::default()).expect_err("a sheet at fault");
        wrong.into_iter().map(|wrong| (wrong.line, wrong.fault.code)).collect()
    }

    #[test]
    fn everything_wrong_is_told_line_by_line() {
        let sheet = "label,gear,made\nC-1,connector,2019\nC-1,carabine,2019\n,rope,31.5.2019\nC-3,rope\n";
        let told = [(3, "no-such-word"), (3, "label-in-line"), (4, "no-label"), (4, "no-date"), (5, "columns-differ")];
        assert_eq!(codes(sheet), told);
        assert_eq!(codes("gear,Nr\nrope,1\n"), [(1, "no-such-column"), (1, "no-label-column")]);
        assert_eq!(codes("label,Label\na,b\n"), [(1, "column-twice")]);
    }

    #[test]
    fn a_map_tells_what_a_heading_stands_for_and_reads_back() {
        let mut columns = Columns::default();
        columns.add("Nr. \"neu\"", "label").expect("a field");
        columns.add("Farbe", LEFT_OUT).expect("a field");
        assert_eq!(Columns::read(&columns.text()), Ok(columns.clone()));
        let pieces = read("\"Nr. \"\"neu\"\"\";Farbe;gear\nC-1;rot;rope\n", &columns).expect("a sheet");
        assert_eq!((pieces[0].1.label.as_str(), pieces[0].1.is.gear.as_deref()), ("C-1", Some("rope")));
    }

    fn text() -> impl Strategy<Value = Option<String>> {
        proptest::option::of("[ -~äß€\n\"';]{1,12}")
    }

    prop_compose! {
        fn told()(
            texts in prop::array::uniform8(text()),
            numbers in prop::array::uniform4(proptest::option::of(0_u32..4_000_000)),
            year in proptest::option::of(1950_i16..2100),
        ) -> Told {
            let [serial, maker, model, marking, size, material, site, supplier] = texts;
            let [count, mass_g, length_mm, diameter_um] = numbers;
            let made = year.map(register::event::Dated::Year);
            let is = register::event::Description {
                count, mass_g, length_mm, diameter_um, marking, size, material, site, supplier, made, ..Default::default()
            };
            Told { label: String::new(), serial, maker, model, first_use: None, is }
        }
    }

    proptest! {
        #[test]
        fn a_sheet_reads_as_it_is_written(mut pieces in prop::collection::vec(told(), 0..12)) {
            for (place, told) in pieces.iter_mut().enumerate() {
                told.label = format!("C-{place:03}");
            }
            let read = read(&write(&pieces), &Columns::default()).expect("a sheet of our own");
            prop_assert_eq!(read.into_iter().map(|(_, told)| told).collect::<Vec<_>>(), pieces);
        }
    }
}
