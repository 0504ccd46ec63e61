//! Wear files: what was measured of a piece and of others of its kind, and what was done with them in between.

use rig::file::{FaultCode, Faults, Format, Placed, Report};
use schemars::JsonSchema;
use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeSet;
use std::sync::LazyLock;
use terms::{Force, Length, Mass};
use wear::calliper::{self, CalliperNote, CalliperReadings, CalliperTrouble};
use wear::exposure::{Activity, Exposure};
use wear::forecast::{Reading, Record};
use wear::practice::practice;
use wear::section::Shape;

static FORMAT: LazyLock<Format<WearTables>> = LazyLock::new(|| Format::new("wear file"));

/// The JSON Schema of wear files (draft 2020-12).
#[must_use]
pub fn schema() -> Value {
    FORMAT.schema().clone()
}

/// Reads a wear file. `file_name` is only used to say where a fault is.
///
/// # Errors
/// All that is wrong, in the order of the text.
pub fn read(text: &str, file_name: &str) -> Result<WearFile, Faults> {
    FORMAT.read(text, file_name, resolve)
}

/// A wear file as read.
#[derive(Debug, Clone, PartialEq)]
pub struct WearFile {
    /// What it is called.
    pub title: String,
    /// The pieces: one at least.
    pub pieces: Vec<Piece>,
}

/// One piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Its name, in no other piece of the file.
    pub name: String,
    /// What kind it is: pieces with the same words are taken to wear alike.
    pub kind: String,
    /// Its bar where the rope runs, if known: shape of the section, and radius of the bend at its inside.
    pub bar: Bar,
    /// Depth at which its maker has it withdrawn, if told.
    pub maker_limit: Option<Length>,
    /// The readings.
    pub record: Record,
    /// Use until the end of the record.
    pub so_far: Exposure,
    /// Days of use in the record.
    pub days: u32,
    /// Use in the periods of which the days are known.
    pub on_days: Exposure,
    /// What was done with it.
    pub acts: Vec<Act>,
    /// What to know about readings by hand.
    pub notes: BTreeSet<CalliperNote>,
}

/// What is known of a bar.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Bar {
    /// Its thickness in the direction of the pull.
    pub thickness: Option<Length>,
    /// Whether its section is a rectangle; round otherwise.
    pub is_flat: bool,
    /// Its width across the pull, of a rectangle; as thick as wide otherwise.
    pub width: Option<Length>,
    /// Radius of the bend at its inside.
    pub inside_radius: Option<Length>,
}

impl Bar {
    /// A bar of known thickness and bend, flat where a width is given; mm.
    #[must_use]
    pub fn of_mm(thickness: f64, flat_width: Option<f64>, inside_radius: f64) -> Self {
        Self {
            thickness: Some(Length::from_mm(thickness)),
            is_flat: flat_width.is_some(),
            width: flat_width.map(Length::from_mm),
            inside_radius: Some(Length::from_mm(inside_radius)),
        }
    }

    /// Its section and the radius of the bend, where both are known.
    #[must_use]
    pub fn bent(&self) -> Option<(Shape, Length)> {
        let depth = self.thickness?;
        let flat = || Shape::Rectangle { width: self.width.unwrap_or(depth), depth };
        let shape = if self.is_flat { flat() } else { Shape::Circle { diameter: depth } };
        self.inside_radius.map(|inside| (shape, inside))
    }
}

/// What was done so many times, and what all of it adds to the use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Act {
    /// What; nothing where load and rope were given by themselves.
    pub activity: Option<Activity>,
    /// How often.
    pub times: f64,
    /// What it adds in all.
    pub adds: Exposure,
}

/// What was measured of a piece and of others of its kind, and what was done with them in between: lengths of pieces in mm,
/// of rope in m, masses in kg, forces in kN.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, title = "Wear file")]
struct WearTables {
    /// What the file is called.
    #[serde(default)]
    title: String,
    /// The pieces; the first is the one that is asked about unless another is named.
    #[schemars(length(min = 1, max = 10_000))]
    piece: Vec<PieceTable>,
}

/// A piece.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "piece")]
struct PieceTable {
    /// Its name.
    name: Placed<String>,
    /// What kind it is, in your words: pieces with the same words tell of one another.
    #[serde(default)]
    kind: String,
    /// Whether it was new when the record begins.
    #[serde(default)]
    from_new: bool,
    /// Thickness of the sound bar where the rope runs, in the direction of the pull, in mm.
    #[schemars(range(min = 0, max = 1000))]
    bar_mm: Option<Placed<f64>>,
    /// Shape of the bar's section.
    #[serde(default = "round")]
    #[schemars(extend("enum" = ["round", "flat"]))]
    bar_shape: String,
    /// Width of a flat bar across the pull, in mm.
    #[schemars(range(min = 0.1, max = 1000))]
    bar_width_mm: Option<f64>,
    /// Radius of the bend at its inside, in mm.
    #[schemars(range(min = 0.1, max = 1000))]
    inside_radius_mm: Option<f64>,
    /// Depth of wear at which its maker has it withdrawn, in mm.
    #[schemars(range(min = 0.01, max = 20))]
    maker_limit_mm: Option<f64>,
    /// What was done and then measured, in the order of time.
    #[serde(default)]
    #[schemars(length(max = 10_000))]
    period: Vec<PeriodTable>,
}

fn round() -> String {
    "round".to_owned()
}

/// A stretch of time: what was done with the piece, and what was measured at its end.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "period")]
struct PeriodTable {
    /// What to call it.
    #[serde(default)]
    #[expect(dead_code, reason = "a note for whoever writes the file")]
    name: String,
    /// On how many days it was used.
    #[serde(default)]
    #[schemars(range(min = 0, max = 100_000))]
    days: f64,
    /// What was done.
    #[serde(default, rename = "use")]
    #[schemars(length(max = 10_000))]
    used: Vec<UseTable>,
    /// Rope that ran over it under a load known otherwise, as from a rig.
    #[serde(default)]
    #[schemars(length(max = 10_000))]
    run: Vec<RunTable>,
    /// A measurement from a photo at the end, as `linkwright wear measure` gives it.
    photo: Option<PhotoTable>,
    /// Readings with a calliper at the end.
    calliper: Option<Placed<CalliperTable>>,
}

/// Something done so many times.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "use")]
struct UseTable {
    /// What: a rappel on a device in this piece; a lower with a device in this piece; a lower with the rope turning over this
    /// piece; slack taken in; hanging.
    #[schemars(extend("enum" = Activity::ALL.iter().map(|activity| activity.code()).collect::<Vec<_>>()))]
    activity: String,
    /// How often.
    #[schemars(range(min = 0, max = 1_000_000))]
    times: f64,
    /// Mass of the person with what they carry, in kg.
    #[schemars(range(min = 10, max = 500))]
    person_kg: f64,
    /// Length of rope that runs each time, in m.
    #[schemars(range(min = 0, max = 1000))]
    rope_run_m: f64,
}

/// Rope that ran under a known load so many times.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "run")]
struct RunTable {
    /// How often.
    #[schemars(range(min = 0, max = 1_000_000))]
    times: f64,
    /// Pull on the piece while the rope runs, in kN.
    #[schemars(range(min = 0, max = 100))]
    load_kn: f64,
    /// Length of rope that runs each time, in m.
    #[schemars(range(min = 0, max = 1000))]
    rope_run_m: f64,
}

/// A depth from a photo.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "photo")]
struct PhotoTable {
    /// Depth, in mm.
    #[schemars(range(min = 0, max = 20))]
    depth_mm: f64,
    /// Half the width of its interval of 95 %, in mm.
    #[schemars(range(min = 0.001, max = 20))]
    plus_minus_mm: f64,
}

/// Readings with a calliper.
#[derive(Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields, rename = "calliper")]
struct CalliperTable {
    /// Thickness of the bar beside the groove, read once or more, in mm.
    #[schemars(length(min = 1, max = 100), inner(range(min = 0, max = 100)))]
    sound_mm: Vec<f64>,
    /// Thickness of what is left in the groove, read once or more, in mm.
    #[schemars(length(min = 1, max = 100), inner(range(min = 0, max = 100)))]
    left_mm: Vec<f64>,
    /// Width of the groove, in mm.
    #[schemars(range(min = 0, max = 100))]
    groove_width_mm: Option<f64>,
    /// Largest error of the calliper, in mm.
    #[schemars(range(min = 0, max = 1))]
    largest_error_mm: Option<f64>,
}

fn resolve(file: WearTables, report: &mut Report<'_>) -> WearFile {
    let mut names = BTreeSet::new();
    for PieceTable { name, .. } in &file.piece {
        if name.value.trim().is_empty() {
            report.add(
                FaultCode::EmptyName,
                &name.span,
                "a piece has an empty name",
                "give each piece a name of its own",
            );
        } else if !names.insert(name.value.clone()) {
            let message = format!("there is a piece `{}` already", name.value);
            report.add(FaultCode::NameTwice, &name.span, message, "give each piece a name of its own");
        }
    }
    let pieces = file.piece.into_iter().map(|piece| resolve_piece(piece, report)).collect();
    WearFile { title: file.title, pieces }
}

fn resolve_piece(table: PieceTable, report: &mut Report<'_>) -> Piece {
    let mm = |value: Option<f64>| value.map(Length::from_mm);
    let mut piece = Piece {
        bar: Bar {
            thickness: table.bar_mm.and_then(|bar| thickness(&bar, report)),
            is_flat: table.bar_shape == "flat",
            width: mm(table.bar_width_mm),
            inside_radius: mm(table.inside_radius_mm),
        },
        maker_limit: mm(table.maker_limit_mm),
        name: table.name.value,
        kind: table.kind,
        record: Record { readings: Vec::new(), from_new: table.from_new },
        so_far: Exposure::default(),
        days: 0,
        on_days: Exposure::default(),
        acts: Vec::new(),
        notes: BTreeSet::new(),
    };
    for period in table.period {
        add_period(&mut piece, period, report);
    }
    piece
}

/// A thickness that a connector's bar can have.
fn thickness(bar_mm: &Placed<f64>, report: &mut Report<'_>) -> Option<Length> {
    let [from, to] = [&practice().bar_from_mm, &practice().bar_to_mm].map(|figure| figure.value);
    let believed = (from..=to).contains(&bar_mm.value);
    if !believed {
        let (message, help) = crate::texts::calliper_trouble(CalliperTrouble::NoSuchBar);
        report.add(FaultCode::OutOfRange, &bar_mm.span, message, help);
    }
    believed.then(|| Length::from_mm(bar_mm.value))
}

fn add_period(piece: &mut Piece, period: PeriodTable, report: &mut Report<'_>) {
    let acts: Vec<Act> = period.used.iter().map(UseTable::act).chain(period.run.iter().map(RunTable::act)).collect();
    let adds = acts.iter().map(|act| act.adds).sum();
    let days = period.days.round() as u32;
    piece.so_far = piece.so_far + adds;
    piece.days += days;
    piece.on_days = if days > 0 { piece.on_days + adds } else { piece.on_days };
    piece.acts.extend(acts);
    let exposure = piece.so_far;
    if let Some(PhotoTable { depth_mm, plus_minus_mm }) = period.photo {
        let uncertainty = Length::from_mm(plus_minus_mm / calliper::COVERS_95);
        piece.record.readings.push(Reading { exposure, depth: Length::from_mm(depth_mm), uncertainty });
    }
    if let Some(Placed { value, span }) = period.calliper {
        match calliper::measure(&value.readings()) {
            Ok(measured) => {
                piece.bar.thickness = piece.bar.thickness.or(Some(measured.bar));
                piece.notes.extend(measured.notes);
                let (depth, uncertainty) = (measured.depth, measured.uncertainty);
                piece.record.readings.push(Reading { exposure, depth, uncertainty });
            }
            Err(trouble) => {
                let (message, help) = crate::texts::calliper_trouble(trouble);
                let code = match trouble {
                    CalliperTrouble::NotRead => FaultCode::WrongLength,
                    CalliperTrouble::NoSuchBar | CalliperTrouble::LeftThickerThanBar => FaultCode::OutOfRange,
                };
                report.add(code, &span, message, help);
            }
        }
    }
}

/// What so many times add, nothing where one is no exposure: the schema has kept that out.
fn act(activity: Option<Activity>, times: f64, each: Option<Exposure>) -> Act {
    Act { activity, times, adds: Exposure::from_kn_m(times * each.unwrap_or_default().kn_m()) }
}

impl UseTable {
    fn act(&self) -> Act {
        let activity = Activity::from_code(&self.activity);
        let person = Mass::from_kg(self.person_kg);
        let each = activity.and_then(|activity| activity.exposure(person, Length::from_m(self.rope_run_m)));
        act(activity, self.times, each)
    }
}

impl RunTable {
    fn act(&self) -> Act {
        act(None, self.times, Exposure::of(Force::from_kn(self.load_kn), Length::from_m(self.rope_run_m)))
    }
}

impl CalliperTable {
    fn readings(&self) -> CalliperReadings {
        let lengths = |values: &[f64]| values.iter().map(|value| Length::from_mm(*value)).collect();
        CalliperReadings {
            sound: lengths(&self.sound_mm),
            left: lengths(&self.left_mm),
            groove_width: self.groove_width_mm.map(Length::from_mm),
            largest_error: self.largest_error_mm.map(Length::from_mm),
        }
    }
}
