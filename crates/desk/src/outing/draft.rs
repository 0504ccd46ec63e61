//! An outing's text as a form changes it: keys and rows are rewritten, and every comment and all else stays where it is.
//!
//! What is typed is written as it is, number or not: a value that will not do is then told where it stands in the file, as any other.

use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, TableLike, Value, value};

/// What a form asks for, by its key in the file; a key inside an inline table is written `load_kn.closed`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Asked {
    /// The key.
    pub key: &'static str,
    /// How it is written.
    pub kind: Kind,
}

/// How something that was typed is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A text.
    Text,
    /// A number.
    Number,
    /// Numbers, parted by `/`.
    Numbers,
    /// Texts, parted by commas.
    Words,
    /// `true`, where anything was typed.
    Yes,
}

const fn text(key: &'static str) -> Asked {
    Asked { key, kind: Kind::Text }
}

const fn number(key: &'static str) -> Asked {
    Asked { key, kind: Kind::Number }
}

const fn numbers(key: &'static str) -> Asked {
    Asked { key, kind: Kind::Numbers }
}

const fn words(key: &'static str) -> Asked {
    Asked { key, kind: Kind::Words }
}

/// Of the outing itself.
pub const OUTING: [Asked; 7] =
    [text("title"), text("day"), number("days"), number("people"), number("budget_kg"), text("site"), words("along")];

/// How often something is needed, or built.
pub const TIMES: Asked = number("times");

/// Of a need.
pub const NEED: [Asked; 14] = [
    text("duty"),
    TIMES,
    text("name"),
    text("device"),
    text("rig"),
    text("link"),
    number("load_kn.closed"),
    number("load_kn.open"),
    number("load_kn.minor"),
    text("size"),
    number("at_least_m"),
    numbers("diameter_mm"),
    words("locks"),
    Asked { key: "mixed_locks", kind: Kind::Yes },
];

/// Of a rig of the day.
pub const RIG: [Asked; 2] = [text("file"), TIMES];

/// Of what was done with the pieces of a need.
pub const DONE: [Asked; 5] =
    [number("rappels"), number("lowers"), number("run_m"), number("falls"), numbers("falls_kn")];

/// What a day does to the pieces of a duty, and so is asked after it; all else stays untold.
#[must_use]
pub fn asked_after(duty: &str) -> Vec<Asked> {
    let [rappels, lowers, run, falls, forces] = DONE;
    match duty {
        "rappel" | "rappel-device" => vec![rappels, run],
        "lower" | "munter" | "lower-off" | "redirect" | "pulley" | "pulley-wheel" | "master-point" => vec![lowers, run],
        "belay" | "belay-device" => vec![lowers, falls, forces],
        "rope" => DONE.to_vec(),
        "helmet" | "rope-clamp" | "ascending" | "hitch-cord" | "friction-hitch-backup" => Vec::new(),
        _ => vec![falls, forces],
    }
}

/// The rows that a form adds and takes away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rows {
    /// What is needed.
    Need,
    /// Rigs of the day.
    Rig,
    /// What was done.
    Done,
}

impl Rows {
    /// Their key in the file.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Need => "need",
            Self::Rig => "rig",
            Self::Done => "done",
        }
    }
}

/// Where something stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// At the outing itself.
    Outing,
    /// In a row, from 0.
    Row(Rows, usize),
}

/// An outing's text, to be changed.
#[derive(Debug, Clone)]
pub struct Draft(DocumentMut);

impl Draft {
    /// Reads a text; `None` where it is no TOML.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        text.parse().ok().map(Self)
    }

    /// The text.
    #[must_use]
    pub fn text(&self) -> String {
        self.0.to_string()
    }

    /// How many rows there are.
    #[must_use]
    pub fn count(&self, rows: Rows) -> usize {
        self.0.get(rows.key()).and_then(Item::as_array_of_tables).map_or(0, ArrayOfTables::len)
    }

    /// What stands there, as it would be typed; empty where nothing does.
    #[must_use]
    pub fn told(&self, place: Place, asked: Asked) -> String {
        let table: Option<&dyn TableLike> = match place {
            Place::Outing => Some(self.0.as_table()),
            Place::Row(rows, at) => self.row(rows, at).map(|row| row as &dyn TableLike),
        };
        let mut keys = asked.key.split('.');
        let first = keys.next().and_then(|key| table?.get(key));
        let item = keys.fold(first, |item, key| item?.as_table_like()?.get(key));
        item.and_then(Item::as_value).map(|told| as_typed(told, asked.kind)).unwrap_or_default()
    }

    /// Writes what was typed there; nothing typed takes the key away. What says the same already stays as it is written.
    pub fn put(&mut self, place: Place, asked: Asked, typed: &str) {
        if self.told(place, asked) == typed.trim() {
            return;
        }
        let table: Option<&mut dyn TableLike> = match place {
            Place::Outing => Some(self.0.as_table_mut()),
            Place::Row(rows, at) => self.row_mut(rows, at).map(|row| row as &mut dyn TableLike),
        };
        if let Some(table) = table {
            write(table, asked.key, as_written(typed.trim(), asked.kind));
        }
    }

    /// Adds a row; gives its place.
    pub fn add(&mut self, rows: Rows) -> Place {
        let at = self.count(rows);
        let mut row = Table::new();
        row.decor_mut().set_prefix("\n");
        let all = self.0.entry(rows.key()).or_insert(Item::ArrayOfTables(ArrayOfTables::new()));
        if let Some(all) = all.as_array_of_tables_mut() {
            all.push(row);
        }
        Place::Row(rows, at)
    }

    /// Takes a row away, where it is there.
    pub fn take_away(&mut self, rows: Rows, at: usize) {
        if let Some(all) = self.0.get_mut(rows.key()).and_then(Item::as_array_of_tables_mut)
            && at < all.len()
        {
            all.remove(at);
        }
    }

    /// The row that says what was done for a need, added where there is none.
    pub fn done(&mut self, need: &str) -> Place {
        let found = self.find_done(need);
        found.unwrap_or_else(|| {
            let place = self.add(Rows::Done);
            self.put(place, text("need"), need);
            place
        })
    }

    /// The row that says what was done for a need, where one does.
    #[must_use]
    pub fn find_done(&self, need: &str) -> Option<Place> {
        let mut places = (0..self.count(Rows::Done)).map(|at| Place::Row(Rows::Done, at));
        places.find(|place| self.told(*place, text("need")) == need)
    }

    fn row(&self, rows: Rows, at: usize) -> Option<&Table> {
        self.0.get(rows.key())?.as_array_of_tables()?.get(at)
    }

    fn row_mut(&mut self, rows: Rows, at: usize) -> Option<&mut Table> {
        self.0.get_mut(rows.key())?.as_array_of_tables_mut()?.get_mut(at)
    }
}

/// Writes at a key, inside an inline table where the key names one; a comment behind the value stays.
fn write(table: &mut dyn TableLike, key: &str, written: Option<Value>) {
    if let Some((outer, inner)) = key.split_once('.') {
        if written.is_some() && !table.contains_key(outer) {
            table.insert(outer, value(toml_edit::InlineTable::new()));
        }
        if let Some(own) = table.get_mut(outer).and_then(Item::as_table_like_mut) {
            write(own, inner, written);
            if own.is_empty() {
                table.remove(outer);
            }
        }
        return;
    }
    match (written, table.get_mut(key).and_then(Item::as_value_mut)) {
        (None, _) => drop(table.remove(key)),
        (Some(mut written), Some(before)) => {
            *written.decor_mut() = before.decor().clone();
            *before = written;
        }
        (Some(written), None) => drop(table.insert(key, Item::Value(written))),
    }
}

fn as_typed(told: &Value, kind: Kind) -> String {
    let one = |told: &Value| told.as_str().map_or_else(|| bare(told), str::to_owned);
    let between = if kind == Kind::Numbers { "/" } else { ", " };
    match (told.as_array(), told.as_bool()) {
        (Some(all), _) => all.iter().map(one).collect::<Vec<_>>().join(between),
        (_, Some(is)) if kind == Kind::Yes => if is { "yes" } else { "" }.to_owned(),
        _ => one(told),
    }
}

/// A value without what stands around it.
fn bare(told: &Value) -> String {
    let mut told = told.clone();
    told.decor_mut().clear();
    told.to_string()
}

fn as_written(typed: &str, kind: Kind) -> Option<Value> {
    if typed.is_empty() {
        return None;
    }
    let parts = |between: char| typed.split(between).map(str::trim).filter(|part| !part.is_empty());
    Some(match kind {
        Kind::Text => typed.into(),
        Kind::Number => one_number(typed),
        Kind::Numbers => parts('/').map(one_number).collect::<Array>().into(),
        Kind::Words => parts(',').collect::<Array>().into(),
        Kind::Yes => true.into(),
    })
}

/// A number as it was typed, with a point or a comma; what is none is written as text, and told as a fault where it is read.
fn one_number(typed: &str) -> Value {
    let point = typed.replace(',', ".");
    let whole = point.parse::<i64>().ok().map(Value::from);
    let number = point.parse::<f64>().ok().filter(|number| number.is_finite()).map(Value::from);
    whole.or(number).unwrap_or_else(|| typed.into())
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = "# A day\ntitle = \"Belays\"  # ours\ndays = 1\n\n# first\n[[need]]\nduty = \"belay\"\ntimes = 2   # two ropes\n\
                        load_kn = { closed = 3.5, open = 1 }\n\n# second\n[[need]]\nduty = \"rappel\"\n";

    fn draft() -> Draft {
        Draft::read(FILE).expect("TOML")
    }

    fn of(key: &str) -> Asked {
        OUTING.into_iter().chain(NEED).find(|asked| asked.key == key).expect(key)
    }

    const FIRST: Place = Place::Row(Rows::Need, 0);

    #[test]
    fn what_is_typed_again_as_it_stands_changes_no_byte() {
        let mut draft = draft();
        for place in [Place::Outing, FIRST, Place::Row(Rows::Need, 1)] {
            for asked in OUTING.into_iter().chain(NEED) {
                let told = draft.told(place, asked);
                draft.put(place, asked, &told);
            }
        }
        assert_eq!(draft.text(), FILE);
    }

    #[test]
    fn a_change_leaves_comments_and_order() {
        let mut draft = draft();
        draft.put(FIRST, TIMES, "3");
        draft.put(FIRST, of("load_kn.open"), "");
        draft.put(FIRST, of("diameter_mm"), "8.9/10");
        draft.put(Place::Outing, of("along"), "R-01, C-001");
        let told = draft.text();
        for part in ["# A day", "# ours", "# first", "times = 3   # two ropes", "{ closed = 3.5}", "# second"] {
            assert!(told.contains(part), "{part} is not in {told}");
        }
        assert!(told.contains("diameter_mm = [8.9, 10]") && told.contains("along = [\"R-01\", \"C-001\"]"), "{told}");
        assert_eq!(draft.told(FIRST, of("diameter_mm")), "8.9/10");
        assert_eq!(draft.told(Place::Outing, of("along")), "R-01, C-001");
    }

    #[test]
    fn rows_come_and_go() {
        let mut draft = draft();
        let place = draft.add(Rows::Need);
        draft.put(place, of("duty"), "rope");
        draft.put(place, of("load_kn.closed"), "2,5");
        draft.take_away(Rows::Need, 0);
        draft.take_away(Rows::Need, 9);
        let done = draft.done("rappelling");
        draft.put(done, DONE[0], "6");
        assert_eq!(draft.done("rappelling"), done, "once only");
        let told = draft.text();
        assert!(!told.contains("belay\"") && told.contains("rappel"), "{told}");
        assert!(told.contains("closed = 2.5") && told.contains("rappels = 6"), "{told}");
        assert_eq!((draft.count(Rows::Need), draft.count(Rows::Done)), (2, 1));
    }

    #[test]
    fn what_will_not_do_is_written_and_told_where_it_stands() {
        let mut draft = draft();
        draft.put(Place::Outing, of("days"), "soon");
        let faults = crate::outing::file::read(&draft.text(), "outing.toml").expect_err("no days");
        assert_eq!(faults.list()[0].line, 3, "{faults:?}");
    }
}
