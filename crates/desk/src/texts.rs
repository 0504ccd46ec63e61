//! Codes to words, from one file of texts.

use register::event::Grade;
use register::standing::State;
use rig::band::Corner;
use rig::change::{Change, Cost};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::LazyLock;
use terms::{Caution, Reason, Source};
use trade::duty::{Duty, duties};
use trade::marking::MarkNote;
use trade::position::Position;
use trade::standards::{self, Standard, TypeLetter};
use wear::calliper::{CalliperNote, CalliperTrouble};
use wear::forecast::{ForecastNote, Refusal};
use wear::section::RatioLimit;
use wear::trouble::{PhotoNote, Trouble};

static TEXTS: LazyLock<Texts> = LazyLock::new(|| {
    toml::from_str(include_str!("../data/texts.toml")).unwrap_or_else(|fault| panic!("built-in texts: {fault}"))
});

/// The entry of one code.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Text {
    /// A name to stand in a table.
    #[serde(default)]
    pub name: String,
    /// One line, with `{value}` for each value of the code.
    #[serde(default)]
    pub text: String,
    /// What to look for at a position.
    #[serde(default)]
    pub look_for: String,
    /// A paragraph of the handbook.
    #[serde(default)]
    pub paragraph: String,
    /// What would be right.
    #[serde(default)]
    pub help: String,
    /// The text, or what would be right, in place of the one that names an option of the command line.
    #[serde(default)]
    pub on_page: String,
    /// Where it comes from.
    #[serde(default)]
    pub source: String,
    /// How that was read.
    #[serde(default)]
    pub quality: String,
    /// The formula that a paragraph is about.
    #[serde(default)]
    pub formula: String,
    /// Cases of outside checks that the formula passed.
    #[serde(default)]
    pub checks: Vec<String>,
}

type Section = BTreeMap<String, Text>;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Texts {
    finding: Section,
    how: Section,
    formula: Section,
    part: Section,
    position: Section,
    link: Section,
    reason: Section,
    caution: Section,
    corner: Section,
    change: Section,
    cost: Section,
    failure: Section,
    report: Section,
    note: Section,
    sheet: Section,
    photo: Section,
    forecast: Section,
    ratio: Section,
    wear: Section,
    rack: Section,
    way: Section,
    rule: Section,
    fault: Section,
    state: Section,
    grade: Section,
    event: Section,
    outing: Section,
    page: Section,
}

fn entry<'t>(section: &'t Section, code: &str) -> &'t Text {
    section.get(code).unwrap_or_else(|| panic!("no text for `{code}`"))
}

/// A text with its placeholders filled.
#[must_use]
pub fn fill(text: &str, values: &[(&str, String)]) -> String {
    values.iter().fold(text.to_owned(), |text, (name, value)| text.replace(&format!("{{{name}}}"), value))
}

/// A note on a marking: the line, and the paragraph of the handbook.
#[must_use]
pub fn note(note: &MarkNote) -> (String, String) {
    let text = entry(&TEXTS.note, note.code());
    let values = note.values();
    (fill(&text.text, &values), fill(&text.paragraph, &values))
}

/// Where a note comes from, and how that was read, in one line.
#[must_use]
pub fn note_source(note: &MarkNote) -> String {
    let text = entry(&TEXTS.note, note.code());
    format!("{} ({})", text.source, text.quality)
}

/// A reason as one line.
#[must_use]
pub fn reason(reason: &Reason) -> String {
    fill(&entry(&TEXTS.reason, reason.code()).text, &reason.values())
}

/// Where a reason comes from, and how that was read, in one line.
#[must_use]
pub fn reason_source(reason: &Reason) -> String {
    let text = entry(&TEXTS.reason, reason.code());
    format!("{} ({})", text.source, text.quality)
}

/// A source in one line.
#[must_use]
pub fn source(source: &Source) -> String {
    format!("{} ({})", source.text, source.quality.words())
}

/// The entry of a position.
#[must_use]
pub fn position(position: Position) -> &'static Text {
    entry(&TEXTS.position, position.code())
}

/// The entry of a finding.
#[must_use]
pub fn finding(finding: terms::Finding) -> &'static Text {
    entry(&TEXTS.finding, finding.code())
}

/// The entry of a way to come about.
#[must_use]
pub fn how(how: terms::How) -> &'static Text {
    entry(&TEXTS.how, how.code())
}

/// All cautions, in the order of print.
#[must_use]
pub fn cautions() -> Vec<String> {
    Caution::ALL.iter().map(|caution| entry(&TEXTS.caution, caution.code()).text.clone()).collect()
}

/// A corner in words.
#[must_use]
pub fn corner(corner: Corner) -> String {
    let code = corner.code();
    let parts: Vec<_> = code.split(' ').map(|part| entry(&TEXTS.corner, part).text.as_str()).collect();
    parts.join(", ")
}

/// A line of the report.
#[must_use]
pub fn line(code: &str, values: &[(&str, String)]) -> String {
    fill(&entry(&TEXTS.report, code).text, values)
}

/// A word that stands on a sheet, and a title of the report.
#[must_use]
pub(crate) fn on_sheet(code: &str) -> &'static str {
    &entry(&TEXTS.sheet, code).text
}

/// What a record of equipment asks for, and where that comes from.
#[must_use]
pub(crate) fn asked_of_records() -> String {
    let text = entry(&TEXTS.sheet, "record-asks");
    format!("{} [{} ({})]", text.text, text.source, text.quality)
}

/// A line about an outing.
#[must_use]
pub fn outing(code: &str, values: &[(&str, String)]) -> String {
    fill(&entry(&TEXTS.outing, code).text, values)
}

/// A failure: what is wrong, and what would be right.
#[must_use]
pub fn failure(code: &str, values: &[(&str, String)]) -> (String, String) {
    let text = entry(&TEXTS.failure, code);
    (fill(&text.text, values), fill(&text.help, values))
}

/// Why a photo cannot be measured, and what to do.
#[must_use]
pub fn photo_trouble(trouble: &Trouble) -> (String, String) {
    use crate::figures::{percent, plain};
    let text = entry(&TEXTS.photo, trouble.code.code());
    let values = [
        ("found", plain(trouble.found)),
        ("allowed", plain(trouble.allowed)),
        ("found_pct", percent(trouble.found)),
        ("allowed_pct", percent(trouble.allowed)),
    ];
    (fill(&text.text, &values), text.help.clone())
}

/// What to know about a photo that was measured, and what to do about it.
#[must_use]
pub fn photo_note(note: PhotoNote, value: f64, read: Read) -> (String, String) {
    let text = entry(&TEXTS.photo, note.code());
    (fill(&text.text, &[("value", crate::figures::plain(value))]), read.of(&text.help, text).to_owned())
}

/// What is said once a first photo would do.
pub(crate) fn first_photo_next(photo: &str, read: Read) -> String {
    let text = entry(&TEXTS.wear, "first-photo-next");
    fill(read.of(&text.text, text), &[("photo", photo.to_owned())])
}

/// Where something is read: what can be typed is an option there, or a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Read {
    /// In a terminal.
    InTerminal,
    /// On a page.
    OnPage,
}

impl Read {
    fn of<'t>(self, in_terminal: &'t str, text: &'t Text) -> &'t str {
        match self {
            Self::OnPage if !text.on_page.is_empty() => &text.on_page,
            Self::OnPage | Self::InTerminal => in_terminal,
        }
    }
}

/// Why readings with a calliper are no measurement, and what would be right.
#[must_use]
pub fn calliper_trouble(trouble: CalliperTrouble) -> (String, String) {
    of_forecast(trouble.code())
}

/// What to know about readings with a calliper, and what to do about it.
#[must_use]
pub fn calliper_note(note: CalliperNote) -> (String, String) {
    of_forecast(note.code())
}

/// Why nothing is promised, and what to do.
#[must_use]
pub fn refusal(refusal: Refusal) -> (String, String) {
    of_forecast(refusal.code())
}

/// What to know about a forecast, and what to do about it.
#[must_use]
pub fn forecast_note(note: ForecastNote) -> (String, String) {
    of_forecast(note.code())
}

fn of_forecast(code: &str) -> (String, String) {
    let text = entry(&TEXTS.forecast, code);
    (text.text.clone(), text.help.clone())
}

/// What a ratio of stresses does not know.
#[must_use]
pub fn ratio_limit(limit: RatioLimit) -> &'static str {
    &entry(&TEXTS.ratio, limit.code()).text
}

/// A line about wear.
#[must_use]
pub fn wear_line(code: &str, values: &[(&str, String)]) -> String {
    fill(&entry(&TEXTS.wear, code).text, values).replace("{{", "{").replace("}}", "}")
}

/// What is wrong about wear, and what would be right.
#[must_use]
pub fn wear_fault(code: &str, values: &[(&str, String)]) -> (String, String) {
    let text = entry(&TEXTS.wear, code);
    (fill(&text.text, values), fill(&text.help, values))
}

/// A line about the rack.
#[must_use]
pub fn rack(code: &str, values: &[(&str, String)]) -> String {
    fill(&entry(&TEXTS.rack, code).text, values)
}

/// What is wrong with something asked of the rack, and what would be right.
#[must_use]
pub fn rack_fault(code: &str, values: &[(&str, String)], read: Read) -> (String, String) {
    let text = entry(&TEXTS.fault, code);
    let said = |text: &str| fill(&with_ways(text, read), values);
    (said(&text.text), said(read.of(&text.help, text)))
}

/// What a key, a value or a code of a policy is called; `None` for what bears its own name, such as kinds of gear.
#[must_use]
pub fn rule(code: &str) -> Option<String> {
    TEXTS.rule.get(code).map(|text| text.name.clone())
}

/// How a line of a case was settled.
#[must_use]
pub fn outcome(code: &str) -> String {
    TEXTS.page.get(&format!("outcome-{code}")).map_or_else(|| code.to_owned(), |text| text.text.clone())
}

/// A text with `{way.CODE}` for each way in it filled: as a command, or on a page.
fn with_ways(text: &str, read: Read) -> String {
    let way =
        |text: String, (code, way): (&String, &Text)| text.replace(&format!("{{way.{code}}}"), read.of(&way.text, way));
    TEXTS.way.iter().fold(text.to_owned(), way)
}

/// How a link is loaded that is no connector, as [`rig::check::LinkKind::position`] names it.
#[must_use]
pub fn link(code: &str) -> &'static Text {
    entry(&TEXTS.link, code)
}

/// The handbook: each part by its code, with its paragraphs by theirs; `…` stands where a report fills something in.
#[must_use]
pub fn handbook() -> Vec<(&'static str, Vec<Paragraph>)> {
    let parts = [
        ("finding", &TEXTS.finding),
        ("how", &TEXTS.how),
        ("position", &TEXTS.position),
        ("link", &TEXTS.link),
        ("reason", &TEXTS.reason),
        ("formula", &TEXTS.formula),
        ("part", &TEXTS.part),
        ("note", &TEXTS.note),
        ("photo", &TEXTS.photo),
        ("forecast", &TEXTS.forecast),
        ("ratio", &TEXTS.ratio),
        ("caution", &TEXTS.caution),
    ];
    let of_texts = |(part, section): (&'static str, &'static Section)| {
        (part, section.iter().map(|(code, text)| Paragraph::of(code, text)).collect())
    };
    let mut handbook: Vec<_> = parts.into_iter().map(of_texts).collect();
    let at = handbook.iter().position(|(part, _)| *part == "part").map_or(handbook.len(), |place| place + 1);
    handbook.insert(at, ("type", TypeLetter::ALL.iter().filter_map(|letter| Paragraph::of_type(*letter)).collect()));
    handbook.insert(at + 1, ("duty", duties().iter().map(Paragraph::of_duty).collect()));
    handbook
}

/// A paragraph of the handbook.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Paragraph {
    /// The code that it belongs to.
    pub code: &'static str,
    /// Its title.
    pub title: String,
    /// What it says.
    pub text: String,
    /// The formula, where it is about one.
    pub formula: &'static str,
    /// Cases of outside checks that it passed, as `validation` names them.
    pub checks: &'static [String],
    /// What to look for, where it is a position.
    pub look_for: &'static str,
    /// Where it comes from, and how that was read; empty where nobody says.
    pub source: String,
}

impl Paragraph {
    fn of(code: &'static str, text: &'static Text) -> Self {
        let title = if text.name.is_empty() { &text.text } else { &text.name };
        let body = if text.paragraph.is_empty() { &text.help } else { &text.paragraph };
        let source = if text.source.is_empty() { String::new() } else { format!("{} ({})", text.source, text.quality) };
        let (formula, checks) = (text.formula.as_str(), text.checks.as_slice());
        Self { code, title: open(title), text: open(body), formula, checks, look_for: &text.look_for, source }
    }

    /// What the standard for climbing asks of a type.
    fn of_type(letter: TypeLetter) -> Option<Self> {
        let least = standards::minimum(Standard::En12275, letter)?;
        let asked = [("closed", least.closed), ("open", least.open), ("minor", least.minor)];
        let asked = asked.into_iter().filter_map(|(code, force)| {
            Some(page(&format!("least-{code}"), &[("value", format!("{} kN", force?.kn()))]))
        });
        let text = page("type-asks", &[("value", asked.collect::<Vec<_>>().join(", "))]);
        let title = format!("{}: {}", letter.code(), least.description);
        Some(Self { code: letter.code(), title, text, source: source(&least.source), ..Self::default() })
    }

    /// What a duty asks for, and why.
    fn of_duty(duty: &'static Duty) -> Self {
        let codes = |codes: Vec<&'static str>| codes.join(", ");
        let asks = [
            ("shapes", codes(duty.shapes.iter().map(|shape| shape.code()).collect())),
            ("locks", codes(duty.locks.iter().map(|lock| lock.code()).collect())),
            ("classes", codes(duty.classes.iter().map(|class| class.code()).collect())),
        ];
        let asks = asks.into_iter().filter(|(_, value)| !value.is_empty());
        let asks = asks.map(|(code, value)| page(&format!("duty-{code}"), &[("value", value)]));
        let text = std::iter::once(duty.reason.clone()).chain(asks).collect::<Vec<_>>().join(" ");
        Self { code: &duty.name, title: duty.title.clone(), text, source: source(&duty.source), ..Self::default() }
    }
}

/// A text with `…` in place of what is filled in.
fn open(text: &str) -> String {
    let mut parts = text.split('{');
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |told, part| told + "…" + part.split_once('}').map_or(part, |(_, rest)| rest))
}

/// A line of a page.
#[must_use]
pub fn page(code: &str, values: &[(&str, String)]) -> String {
    fill(&entry(&TEXTS.page, code).text, values)
}

/// What a field of a piece is called.
#[must_use]
pub fn field(field: crate::rack::fields::Field) -> &'static str {
    match field {
        crate::rack::fields::Field::Label => &entry(&TEXTS.rack, "column-label").text,
        field => on_sheet(&format!("fact-{}", field.code())),
    }
}

/// A state of a piece.
#[must_use]
pub fn state(state: State) -> String {
    entry(&TEXTS.state, state.code()).name.clone()
}

/// What an inspection finds at a point.
#[must_use]
pub fn grade(grade: Grade) -> String {
    let code = match grade {
        Grade::Pass => "pass",
        Grade::NotLookedAt => "not-looked-at",
        Grade::Watch => "watch",
        Grade::Defect => "defect",
    };
    entry(&TEXTS.grade, code).name.clone()
}

/// A kind of event.
#[must_use]
pub fn event(kind: &str) -> String {
    entry(&TEXTS.event, kind).name.clone()
}

/// A change as one line.
#[must_use]
pub fn change(change: &Change) -> String {
    use crate::figures::{force, height, length, two_figures};
    let (code, values) = match change {
        Change::LockGate { connector } => ("lock-gate", vec![("connector", connector.clone())]),
        Change::UseLocker { connector } => ("use-locker", vec![("connector", connector.clone())]),
        Change::AddOpposed { connector } => ("add-opposed", vec![("connector", connector.clone())]),
        Change::HoldInLine { connector } => ("hold-in-line", vec![("connector", connector.clone())]),
        Change::StrongerPiece { connector, position: at, at_least } => (
            "stronger-piece",
            vec![
                ("connector", connector.clone()),
                ("position", position(*at).name.clone()),
                ("at_least", force(*at_least)),
            ],
        ),
        Change::LongerDraw { draw, to } => ("longer-draw", vec![("draw", draw.clone()), ("to", length(*to))]),
        Change::LessSlack { rope, to } => ("less-slack", vec![("rope", rope.clone()), ("to", length(*to))]),
        Change::ClipSooner { height_m } => ("clip-sooner", vec![("height", height(*height_m))]),
        Change::LetBelayerMove { person } => ("let-belayer-move", vec![("person", person.clone())]),
        Change::LongerLegs { point, factor } => {
            ("longer-legs", vec![("point", point.clone()), ("factor", two_figures(*factor))])
        }
        Change::SwapPulleys { one, other } => ("swap-pulleys", vec![("one", one.clone()), ("other", other.clone())]),
    };
    fill(&entry(&TEXTS.change, code).text, &values)
}

/// What a change costs, in words.
#[must_use]
pub fn cost(cost: Cost) -> &'static str {
    let code = match cost {
        Cost::Attention => "attention",
        Cost::Piece => "piece",
        Cost::Anchor => "anchor",
    };
    &entry(&TEXTS.cost, code).text
}

#[cfg(test)]
mod tests {
    use super::*;
    use rig::solve::Taken;
    use terms::{Force, Length};

    fn is_filled(text: &str) -> bool {
        !text.is_empty() && !text.contains(['{', '}'])
    }

    #[test]
    fn every_change_has_its_words() {
        let name = || "piece".to_owned();
        let changes = [
            Change::LockGate { connector: name() },
            Change::UseLocker { connector: name() },
            Change::AddOpposed { connector: name() },
            Change::HoldInLine { connector: name() },
            Change::StrongerPiece { connector: name(), position: Position::GateOpen, at_least: Force::from_kn(8.0) },
            Change::LongerDraw { draw: name(), to: Length::from_m(0.6) },
            Change::LessSlack { rope: name(), to: Length::from_m(0.4) },
            Change::ClipSooner { height_m: 12.0 },
            Change::LetBelayerMove { person: name() },
            Change::SwapPulleys { one: name(), other: name() },
            Change::LongerLegs { point: name(), factor: 1.5 },
        ];
        assert_eq!(changes.len(), TEXTS.change.len(), "as many texts as changes");
        for change in changes {
            assert!(is_filled(&super::change(&change)), "{change:?}");
        }
        for cost in [Cost::Attention, Cost::Piece, Cost::Anchor] {
            assert!(is_filled(super::cost(cost)));
        }
    }

    #[test]
    fn every_corner_has_its_words() {
        let ends = [Taken::AsTyped, Taken::Low, Taken::High];
        for friction in ends {
            for brake in ends {
                for stiffness in ends {
                    assert!(is_filled(&corner(Corner { friction, brake, stiffness })));
                }
            }
        }
    }

    #[test]
    fn every_position_finding_and_caution_has_its_words() {
        for position in Position::ALL {
            let text = super::position(*position);
            assert!(!text.name.is_empty() && !text.look_for.is_empty() && !text.paragraph.is_empty(), "{position:?}");
        }
        assert!(cautions().iter().all(|caution| is_filled(caution)));
        assert_eq!(TEXTS.caution.len(), Caution::ALL.len());
    }

    /// The first words in quotes behind `before`, wherever it stands in the code of the rack.
    fn codes(before: &str) -> Vec<String> {
        codes_in(&["src/rack", "../linkwright/src/rack"], before)
    }

    fn codes_in(folders: &[&str], before: &str) -> Vec<String> {
        let path = |folder: &&str| format!("{}/{folder}", env!("CARGO_MANIFEST_DIR"));
        let files = folders.iter().flat_map(|folder| std::fs::read_dir(path(folder)).expect("code"));
        let texts = files.map(|file| std::fs::read_to_string(file.expect("a file").path()).expect("its text"));
        let found = |text: String| text.split(before).skip(1).filter_map(first_quoted).collect::<Vec<_>>();
        texts.flat_map(found).collect()
    }

    fn first_quoted(text: &str) -> Option<String> {
        Some(text.trim_start().strip_prefix('"')?.split('"').next()?.to_owned())
    }

    #[test]
    fn every_fault_of_the_rack_has_its_words_and_says_what_would_be_right() {
        let codes = codes("Fault::new(");
        assert!(codes.len() > 40, "{} faults were found", codes.len());
        for code in codes {
            let text = entry(&TEXTS.fault, &code);
            assert!(!text.text.is_empty() && !text.help.is_empty(), "{code}");
        }
    }

    #[test]
    fn every_line_of_the_rack_and_every_state_has_its_words() {
        let codes = codes("texts::rack(");
        assert!(codes.len() > 50, "{} lines were found", codes.len());
        for code in codes.iter().chain(&self::codes("said(")) {
            assert!(!entry(&TEXTS.rack, code).text.is_empty(), "{code}");
        }
        for &state in State::ALL {
            assert!(is_filled(&super::state(state)));
        }
        for kind in kinds_of_events() {
            assert!(is_filled(&super::event(&kind)), "{kind}");
        }
    }

    #[test]
    fn every_word_on_sheets_is_there_and_every_field_has_its_name() {
        let sheets = ["src/sheets", "src/rack"];
        let found = ["word(", "heads("].into_iter().flat_map(|before| codes_in(&sheets, before));
        let codes: Vec<String> = found.collect();
        assert!(codes.len() > 60, "{} words were found", codes.len());
        let facts = crate::rack::fields::Field::ALL.iter().skip(1).map(|field| format!("fact-{}", field.code()));
        for code in codes.into_iter().chain(facts) {
            assert!(!on_sheet(&code).is_empty(), "{code}");
        }
        assert!(asked_of_records().contains("from memory"));
    }

    #[test]
    fn every_word_of_outings_is_there() {
        let found = ["say(", "texts::outing("].into_iter().flat_map(|before| codes_in(&["src/outing"], before));
        let codes: Vec<String> = found.filter(|code| !code.contains('{')).collect();
        assert!(codes.len() > 15, "{} lines were found", codes.len());
        let misfits = trade::duty::Unfit::ALL.iter().map(|unfit| unfit.code());
        let others = ["margin", "restricted", "burred", "size", "short", "diameter", "taken", "stays"];
        for code in codes.into_iter().chain(misfits.chain(others).map(|code| format!("misfit-{code}"))) {
            assert!(!entry(&TEXTS.outing, &code).text.is_empty(), "{code}");
        }
    }

    /// As the log writes them: the words behind `=>` in the list of kinds.
    fn kinds_of_events() -> Vec<String> {
        let code = include_str!("../../register/src/event.rs");
        let list =
            code.split("const fn kind").nth(1).and_then(|rest| rest.split("\n    }\n").next()).expect("the list");
        let kinds: Vec<_> = list.split("=>").skip(1).filter_map(first_quoted).collect();
        assert_eq!(kinds.len(), TEXTS.event.len(), "as many texts as kinds");
        kinds
    }

    #[test]
    fn every_code_of_wear_has_its_words() {
        use wear::trouble::PhotoTrouble;
        let are_filled = |(text, help): (String, String)| is_filled(&text) && is_filled(&help);
        for code in PhotoTrouble::ALL {
            assert!(are_filled(photo_trouble(&Trouble { code: *code, found: 3.0, allowed: 1.0 })), "{code:?}");
        }
        assert!(PhotoNote::ALL.iter().all(|note| {
            [Read::InTerminal, Read::OnPage].into_iter().all(|read| are_filled(photo_note(*note, 10.5, read)))
        }));
        assert!(
            PhotoNote::ALL.iter().all(|note| !photo_note(*note, 10.5, Read::OnPage).1.contains("--")),
            "no options on a page"
        );
        assert_eq!(TEXTS.photo.len(), PhotoTrouble::ALL.len() + PhotoNote::ALL.len());
        assert!(CalliperTrouble::ALL.iter().all(|code| are_filled(calliper_trouble(*code))));
        assert!(CalliperNote::ALL.iter().all(|code| are_filled(calliper_note(*code))));
        assert!(Refusal::ALL.iter().all(|code| are_filled(refusal(*code))));
        assert!(ForecastNote::ALL.iter().all(|code| are_filled(forecast_note(*code))));
        // One code is of callipers and of forecasts.
        let codes = CalliperTrouble::ALL.len() + CalliperNote::ALL.len() + Refusal::ALL.len() + ForecastNote::ALL.len();
        assert_eq!(TEXTS.forecast.len(), codes - 1);
        assert!(wear::section::RatioLimit::ALL.iter().all(|limit| is_filled(ratio_limit(*limit))));
        let sections = [&TEXTS.photo, &TEXTS.forecast, &TEXTS.ratio];
        assert!(sections.into_iter().flat_map(BTreeMap::values).all(|text| is_filled(&text.paragraph)));
    }

    #[test]
    fn what_is_wrong_names_no_command_on_a_page_and_every_way_is_filled() {
        for code in TEXTS.fault.keys() {
            for read in [Read::InTerminal, Read::OnPage] {
                let (text, help) = rack_fault(code, &[], read);
                assert!(!help.is_empty() && !format!("{text}{help}").contains("{way."), "{code}: {help}");
            }
            let (text, help) = rack_fault(code, &[], Read::OnPage);
            let said = format!("{text} {help}");
            assert!(!said.contains("--"), "{code} names an option: {said}");
            let is_command = |quoted: &&str| {
                let of_words = |word: &str| word.chars().all(|c| c.is_ascii_lowercase() || c == '-');
                quoted.split_once(' ').is_some_and(|(word, _)| of_words(word))
            };
            assert_eq!(said.split('`').skip(1).step_by(2).find(is_command), None, "{code} names a command");
        }
    }

    #[test]
    fn nothing_is_ever_called_safe() {
        let words = include_str!("../data/texts.toml").to_lowercase();
        let found = words.split(|c: char| !c.is_alphabetic()).find(|word| ["safe", "safely"].contains(word));
        assert_eq!(found, None);
    }
}
