//! Outing files: what a day needs, and for those who keep no rack, what there is.

use crate::rack::traits;
use plan::outing::Piece;
use register::event::Description;
use rig::file::{FaultCode, Faults, Format, Placed, Report};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Deserialize;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::LazyLock;
use terms::{Force, Length, Quality, Source};
use trade::connector::{Class, Gate, Lock, Nose, Shape};
use trade::duty::{Duty, Manual, Side, Strengths, duties};
use trade::gear::Gear;

static FORMAT: LazyLock<Format<OutingTables>> = LazyLock::new(|| Format::new("outing file"));

/// The JSON Schema of outing files (draft 2020-12).
#[must_use]
pub fn schema() -> Value {
    FORMAT.schema().clone()
}

/// Reads an outing file. `file_name` is only used to say where a fault is.
///
/// # Errors
/// All that is wrong, in the order of the text.
pub fn read(text: &str, file_name: &str) -> Result<OutingFile, Faults> {
    FORMAT.read(text, file_name, resolve)
}

/// An outing file as read.
#[derive(Debug, Clone, PartialEq)]
pub struct OutingFile {
    /// What it is.
    pub title: String,
    /// The first day.
    pub day: Option<jiff::civil::Date>,
    /// How many days.
    pub days: u32,
    /// How many people carry.
    pub people: u32,
    /// The most that it should weigh, g.
    pub budget_g: Option<u32>,
    /// The site whose pieces go; those of others could be borrowed.
    pub site: Option<String>,
    /// What is needed.
    pub needs: Vec<Wanted>,
    /// Rigs whose connectors each are a need.
    pub rigs: Vec<RigNamed>,
    /// What there is, where the file tells it.
    pub pieces: Vec<Piece>,
    /// What is stamped on those, by label.
    pub markings: BTreeMap<String, String>,
    /// Labels that must come along.
    pub along: Vec<String>,
    /// What was done, told afterwards.
    pub done: Vec<Done>,
    /// Models on offer.
    pub offers: Vec<Offered>,
}

/// A need as the file tells it.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// What to call it.
    pub name: String,
    /// The duty.
    pub duty: Duty,
    /// How many times.
    pub times: u32,
    /// Model of the device that it goes into, on the rack.
    pub device: Option<String>,
    /// What the device's instructions say, where the file tells it.
    pub manual: Option<Manual>,
    /// Loads that the file tells.
    pub loads: Strengths,
    /// A link of a rig whose loads it takes.
    pub link: Option<(String, String)>,
    /// The size that it must have.
    pub size: Option<String>,
    /// The least length.
    pub least_length: Option<Length>,
    /// Least and largest diameter.
    pub diameter: Option<(Length, Length)>,
    /// Locks in the order of this group.
    pub locks: Vec<Lock>,
    /// A sleeve that is screwed beside a lock that closes by itself.
    pub mixed: bool,
}

/// A rig of the day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RigNamed {
    /// Its file.
    pub file: String,
    /// How often it is built at once.
    pub times: u32,
    /// Where the file names it.
    pub span: Range<usize>,
}

/// What was done with the pieces of a need.
#[derive(Debug, Clone, PartialEq)]
pub struct Done {
    /// The need.
    pub need: String,
    /// Rappels.
    pub rappels: u32,
    /// Lowers.
    pub lowers: u32,
    /// Metres of rope run under load.
    pub run_m: u32,
    /// Falls held, with their force where it is known.
    pub falls: Vec<Option<Force>>,
}

/// A model that could be bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Offered {
    /// As a piece.
    pub piece: Piece,
    /// Price of one.
    pub price: f64,
    /// Years of service that are reckoned with.
    pub years: f64,
}

impl Offered {
    /// What one costs a year of service.
    #[must_use]
    pub fn a_year(&self) -> f64 {
        self.price / self.years
    }
}

/// What a day needs: lengths in m, diameters in mm, masses in g or kg, forces in kN.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, title = "Outing file")]
struct OutingTables {
    /// What the outing is called.
    title: String,
    /// The first day, such as "2026-05-09"; today unless given.
    day: Option<Placed<String>>,
    /// How many days.
    #[serde(default = "one")]
    #[schemars(range(min = 1, max = 366))]
    days: u32,
    /// How many people carry.
    #[serde(default = "one")]
    #[schemars(range(min = 1, max = 1000))]
    people: u32,
    /// The most that it should weigh, in kg; a choice over it is told as such.
    #[schemars(range(min = 0, max = 10_000))]
    budget_kg: Option<f64>,
    /// The site whose pieces go; those of others could be borrowed.
    site: Option<String>,
    /// Labels that must come along, needed or not.
    #[serde(default)]
    #[schemars(length(max = 10_000))]
    along: Vec<String>,
    /// What is needed.
    #[serde(default)]
    #[schemars(length(max = 10_000))]
    need: Vec<NeedTable>,
    /// Rigs: each of their connectors that tells a `duty` is a need, with the loads of the check.
    #[serde(default)]
    #[schemars(length(max = 1000))]
    rig: Vec<RigTable>,
    /// Duties of your own, beside those inside or in place of one of the same name.
    #[serde(default)]
    #[schemars(length(max = 1000))]
    duty: Vec<DutyTable>,
    /// What there is, where no rack is kept.
    #[serde(default)]
    #[schemars(length(max = 100_000))]
    piece: Vec<PieceTable>,
    /// What was done, told afterwards for `outing close`.
    #[serde(default)]
    #[schemars(length(max = 10_000))]
    done: Vec<DoneTable>,
    /// Models on offer, for `outing buy`.
    #[serde(default)]
    #[schemars(length(max = 10_000))]
    offer: Vec<PieceTable>,
}

const fn one() -> u32 {
    1
}

/// Something that is needed.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "need")]
struct NeedTable {
    /// What to call it; what the duty is unless given.
    name: Option<String>,
    /// The duty, such as "belay".
    duty: Placed<String>,
    /// How many: pieces, or pairs of a duty that takes two.
    #[serde(default = "one")]
    #[schemars(range(min = 1, max = 10_000))]
    times: u32,
    /// The model of the device that it goes into: its instructions on the rack win over shapes and locks.
    device: Option<String>,
    /// The same typed here.
    manual: Option<ManualTable>,
    /// What the piece will see, in kN.
    load_kn: Option<KnTable>,
    /// The rig file whose check tells what it will see.
    rig: Option<String>,
    /// The link of that rig.
    link: Option<String>,
    /// The size that it must be marked with.
    size: Option<String>,
    /// The least length, in m.
    #[schemars(range(min = 0, max = 1000))]
    at_least_m: Option<f64>,
    /// Least and largest diameter, in mm.
    #[schemars(length(min = 2, max = 2), inner(range(min = 0, max = 1000)))]
    diameter_mm: Option<Vec<f64>>,
    /// Locks in the order in which you take them.
    #[serde(default)]
    #[schemars(schema_with = "locks")]
    locks: Vec<String>,
    /// Of a pair: one with a sleeve that is screwed, one that locks by itself.
    #[serde(default)]
    mixed_locks: bool,
}

/// What the instructions of a device allow in it.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "manual")]
struct ManualTable {
    /// Shapes.
    #[serde(default)]
    #[schemars(schema_with = "shapes")]
    shapes: Vec<String>,
    /// Locks.
    #[serde(default)]
    #[schemars(schema_with = "locks")]
    locks: Vec<String>,
}

/// Forces by position, in kN.
#[derive(Deserialize, JsonSchema, Default)]
#[schemars(deny_unknown_fields, rename = "forces")]
struct KnTable {
    /// Along the spine, gate closed.
    #[schemars(range(min = 0, max = 1000))]
    closed: Option<f64>,
    /// Along the spine, gate open.
    #[schemars(range(min = 0, max = 1000))]
    open: Option<f64>,
    /// Across.
    #[schemars(range(min = 0, max = 1000))]
    minor: Option<f64>,
}

/// A rig of the day.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "rig")]
struct RigTable {
    /// The rig file.
    file: Placed<String>,
    /// How often it is built at once.
    #[serde(default = "one")]
    #[schemars(range(min = 1, max = 100))]
    times: u32,
}

/// A duty of your own.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "duty")]
struct DutyTable {
    /// Its name.
    name: Placed<String>,
    /// What it is.
    title: String,
    /// The kind of gear.
    #[schemars(extend("enum" = codes(Gear::ALL, Gear::code)))]
    gear: String,
    /// Type letters that do.
    #[serde(default)]
    #[schemars(schema_with = "classes")]
    classes: Vec<String>,
    /// Shapes that do, the one to take first in front.
    #[serde(default)]
    #[schemars(schema_with = "shapes")]
    shapes: Vec<String>,
    /// Locks that do, the one to take first in front.
    #[serde(default)]
    #[schemars(schema_with = "locks")]
    locks: Vec<String>,
    /// The least that must be marked, in kN.
    #[serde(default)]
    least_kn: KnTable,
    /// Whether it takes two, opposite and opposed, of one size.
    #[serde(default)]
    paired: bool,
    /// Whether it goes into a device, whose instructions win.
    #[serde(default)]
    device: bool,
    /// What it touches.
    #[schemars(extend("enum" = codes(Side::ALL, Side::code)))]
    side: Option<String>,
    /// Why it asks for that.
    reason: String,
}

/// A piece, or a lot of pieces alike.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "piece")]
struct PieceTable {
    /// Its label.
    label: Placed<String>,
    /// How many it is.
    #[serde(default = "one")]
    #[schemars(range(min = 1, max = 100_000))]
    count: u32,
    /// Days of use so far.
    #[serde(default)]
    #[schemars(range(min = 0, max = 100_000))]
    days_used: u32,
    /// The duties that it may do only.
    #[serde(default)]
    only: Vec<Placed<String>>,
    /// What it has lived on: what has hung on bolts does not come back to the rope.
    #[schemars(extend("enum" = codes(Side::ALL, Side::code)))]
    lives_on: Option<String>,
    /// The set that it goes along with, whole or not at all.
    set: Option<String>,
    /// The kind of gear.
    #[schemars(extend("enum" = codes(Gear::ALL, Gear::code)))]
    gear: String,
    /// The marking, typed as people type it.
    marking: Option<String>,
    /// Its model.
    model: Option<String>,
    /// Mass of one, in g.
    #[schemars(range(min = 0, max = 1_000_000))]
    mass_g: Option<u32>,
    /// Shape of a connector.
    #[schemars(extend("enum" = codes(Shape::ALL, Shape::code)))]
    shape: Option<String>,
    /// Gate of a connector.
    #[schemars(extend("enum" = codes(Gate::ALL, Gate::code)))]
    gate: Option<String>,
    /// Lock of a connector.
    #[schemars(extend("enum" = codes(Lock::ALL, Lock::code)))]
    lock: Option<String>,
    /// Nose of a connector.
    #[schemars(extend("enum" = codes(Nose::ALL, Nose::code)))]
    nose: Option<String>,
    /// Size as marked.
    size: Option<String>,
    /// Length, in m.
    #[schemars(range(min = 0, max = 10_000))]
    length_m: Option<f64>,
    /// Diameter or width, in mm.
    #[schemars(range(min = 0, max = 1000))]
    diameter_mm: Option<f64>,
    /// Of an offer: price of one, in your money.
    #[schemars(range(min = 0, max = 1_000_000))]
    price: Option<f64>,
    /// Of an offer: years of service that you reckon with.
    #[schemars(range(min = 0.1, max = 100))]
    years: Option<f64>,
}

/// What was done with the pieces of a need.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "done")]
struct DoneTable {
    /// The need, by its name.
    need: Placed<String>,
    /// Rappels.
    #[serde(default)]
    rappels: u32,
    /// Lowers.
    #[serde(default)]
    lowers: u32,
    /// Metres of rope run under load.
    #[serde(default)]
    run_m: u32,
    /// Falls held whose force nobody computed.
    #[serde(default)]
    #[schemars(range(min = 0, max = 1000))]
    falls: u32,
    /// Forces of the falls held, in kN, as a check gives them.
    #[serde(default)]
    #[schemars(length(max = 1000), inner(range(min = 0, max = 1000)))]
    falls_kn: Vec<f64>,
}

fn codes<T: Copy>(all: &[T], code: fn(T) -> &'static str) -> Vec<&'static str> {
    all.iter().map(|value| code(*value)).collect()
}

/// A list of words.
fn list(codes: Vec<&'static str>) -> Schema {
    json_schema!({ "type": "array", "items": { "type": "string", "enum": codes } })
}

fn shapes(_: &mut SchemaGenerator) -> Schema {
    list(codes(Shape::ALL, Shape::code))
}

fn locks(_: &mut SchemaGenerator) -> Schema {
    list(codes(Lock::ALL, Lock::code))
}

fn classes(_: &mut SchemaGenerator) -> Schema {
    list(codes(Class::ALL, Class::code))
}

/// Words that the schema has let through, which are those of the list.
fn words<T>(words: &[String], from_code: fn(&str) -> Option<T>) -> Vec<T> {
    words.iter().filter_map(|word| from_code(word)).collect()
}

impl KnTable {
    fn strengths(&self) -> Strengths {
        let force = |kn: Option<f64>| kn.map(Force::from_kn);
        Strengths { closed: force(self.closed), open: force(self.open), minor: force(self.minor) }
    }
}

fn resolve(file: OutingTables, report: &mut Report<'_>) -> OutingFile {
    let own: Vec<Duty> = file.duty.into_iter().map(|table| own_duty(table, report)).collect();
    let all: Vec<&Duty> =
        own.iter().chain(duties().iter().filter(|duty| own.iter().all(|own| own.name != duty.name))).collect();
    let needs: Vec<Wanted> = file.need.into_iter().filter_map(|need| wanted(need, &all, report)).collect();
    let stamped = |piece: &PieceTable| Some((piece.label.value.clone(), piece.marking.clone()?));
    let markings = file.piece.iter().filter_map(stamped).collect();
    let pieces = pieces(file.piece, &all, report);
    let offers = file.offer.into_iter().filter_map(|table| offered(table, &all, report)).collect();
    let done = file.done.into_iter().filter_map(|done| done_with(done, &needs, report)).collect();
    OutingFile {
        title: file.title,
        day: file.day.and_then(|day| date(&day, report)),
        days: file.days,
        people: file.people,
        budget_g: file.budget_kg.map(|kg| (kg * 1000.0).round() as u32),
        site: file.site,
        needs,
        rigs: file
            .rig
            .into_iter()
            .map(|rig| RigNamed { file: rig.file.value, times: rig.times, span: rig.file.span })
            .collect(),
        pieces,
        markings,
        along: file.along,
        done,
        offers,
    }
}

fn date(day: &Placed<String>, report: &mut Report<'_>) -> Option<jiff::civil::Date> {
    let parsed = day.value.parse().ok();
    if parsed.is_none() {
        report.add(FaultCode::OutOfRange, &day.span, format!("`{}` is no day", day.value), "write it as 2026-05-09");
    }
    parsed
}

fn own_duty(table: DutyTable, report: &mut Report<'_>) -> Duty {
    if table.name.value.trim().is_empty() {
        report.add(
            FaultCode::EmptyName,
            &table.name.span,
            "a duty has an empty name",
            "give each duty a name of its own",
        );
    }
    Duty {
        // The schema lets no other word through.
        gear: Gear::from_code(&table.gear).unwrap_or(Gear::Connector),
        classes: words(&table.classes, Class::from_code),
        shapes: words(&table.shapes, Shape::from_code),
        locks: words(&table.locks, Lock::from_code),
        least: table.least_kn.strengths(),
        is_paired: table.paired,
        goes_into_device: table.device,
        side: table.side.as_deref().and_then(Side::from_code),
        source: Source { text: "this outing file".to_owned(), quality: Quality::CommonPractice },
        name: table.name.value,
        title: table.title,
        reason: table.reason,
    }
}

fn known<'d>(name: &Placed<String>, all: &[&'d Duty], report: &mut Report<'_>) -> Option<&'d Duty> {
    let found = all.iter().copied().find(|duty| duty.name == name.value);
    if found.is_none() {
        let names: Vec<_> = all.iter().map(|duty| duty.name.as_str()).collect();
        let message = format!("there is no duty `{}`", name.value);
        report.add(FaultCode::UnknownWord, &name.span, message, format!("duties: {}", names.join(", ")));
    }
    found
}

fn wanted(table: NeedTable, all: &[&Duty], report: &mut Report<'_>) -> Option<Wanted> {
    let duty = known(&table.duty, all, report)?.clone();
    if table.rig.is_some() != table.link.is_some() {
        report.add(
            FaultCode::MissingKey,
            &table.duty.span,
            "`rig` and `link` belong together",
            "name the rig file and the link of it whose load this need takes",
        );
    }
    let mm = |pair: Vec<f64>| Some((Length::from_mm(*pair.first()?), Length::from_mm(*pair.get(1)?)));
    Some(Wanted {
        name: table.name.unwrap_or_else(|| duty.title.clone()),
        times: table.times,
        device: table.device,
        manual: table.manual.map(|manual| Manual {
            shapes: words(&manual.shapes, Shape::from_code),
            locks: words(&manual.locks, Lock::from_code),
        }),
        loads: table.load_kn.unwrap_or_default().strengths(),
        link: table.rig.zip(table.link),
        size: table.size,
        least_length: table.at_least_m.map(Length::from_m),
        diameter: table.diameter_mm.and_then(mm),
        locks: words(&table.locks, Lock::from_code),
        mixed: table.mixed_locks,
        duty,
    })
}

fn pieces(tables: Vec<PieceTable>, all: &[&Duty], report: &mut Report<'_>) -> Vec<Piece> {
    let mut labels = BTreeSet::new();
    let mut pieces = Vec::new();
    for table in tables {
        if !labels.insert(table.label.value.clone()) {
            let message = format!("there is a piece `{}` already", table.label.value);
            report.add(FaultCode::NameTwice, &table.label.span, message, "give each piece a label of its own");
        }
        pieces.push(piece(table, all, report));
    }
    pieces
}

/// A piece in service.
fn piece(table: PieceTable, all: &[&Duty], report: &mut Report<'_>) -> Piece {
    let only = table.only.iter().filter_map(|name| known(name, all, report)).map(|duty| duty.name.clone());
    let restricted_to = only.collect();
    let is = Description {
        gear: Some(table.gear),
        marking: table.marking,
        shape: table.shape,
        gate: table.gate,
        lock: table.lock,
        nose: table.nose,
        size: table.size,
        length_mm: table.length_m.map(|length| (length * 1000.0).round() as u32),
        diameter_um: table.diameter_mm.map(|diameter| (diameter * 1000.0).round() as u32),
        ..Description::default()
    };
    Piece {
        label: table.label.value,
        count: table.count,
        is: traits(&is),
        model: table.model,
        mass_g: table.mass_g,
        days: table.days_used,
        restricted_to,
        lives_on: table.lives_on.as_deref().and_then(Side::from_code),
        set: table.set,
        stays: None,
        along: 0,
    }
}

fn offered(table: PieceTable, all: &[&Duty], report: &mut Report<'_>) -> Option<Offered> {
    let (Some(price), Some(years)) = (table.price, table.years) else {
        let message = format!("the offer `{}` tells no price or no years", table.label.value);
        report.add(
            FaultCode::MissingKey,
            &table.label.span,
            message,
            "give `price` and the `years` of service that you reckon with",
        );
        return None;
    };
    Some(Offered { piece: piece(table, all, report), price, years })
}

fn done_with(table: DoneTable, needs: &[Wanted], report: &mut Report<'_>) -> Option<Done> {
    if needs.iter().all(|need| need.name != table.need.value) {
        let names: Vec<_> = needs.iter().map(|need| need.name.as_str()).collect();
        let message = format!("there is no need `{}`", table.need.value);
        report.add(FaultCode::UndefinedName, &table.need.span, message, format!("needs: {}", names.join(", ")));
        return None;
    }
    let unknown = (0..table.falls).map(|_| None);
    let falls = table.falls_kn.iter().map(|kn| Some(Force::from_kn(*kn))).chain(unknown).collect();
    Some(Done { need: table.need.value, rappels: table.rappels, lowers: table.lowers, run_m: table.run_m, falls })
}
