//! Markings written by hand, of all classes and of every way to go wrong, against what is to be read.

use serde::Deserialize;
use terms::{Force, STANDARD_GRAVITY};
use trade::connector::Connector;
use trade::marking::{ConformitySign, Mark, RatedPosition, RatingSet, Reading, read};

#[derive(Deserialize)]
struct File {
    marking: Vec<Case>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    text: String,
    sets: Vec<Set>,
    year: Option<String>,
    batch: Option<String>,
    ce: Option<String>,
    ukca: Option<String>,
    #[serde(default)]
    uiaa: bool,
    #[serde(default)]
    instructions: bool,
    #[serde(default)]
    notes: Vec<String>,
    #[serde(default)]
    never: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Set {
    standard: Option<String>,
    class: Option<String>,
    closed: Option<String>,
    open: Option<String>,
    minor: Option<String>,
}

fn cases() -> Vec<Case> {
    let file: File = toml::from_str(include_str!("data/markings.toml")).expect("the table parses");
    file.marking
}

/// What became of a mark: the value in words, or why there is none.
fn shown<T>(mark: &Mark<T>, value: impl Fn(&T) -> String) -> Option<String> {
    match mark {
        Mark::Read(read) => Some(value(read)),
        Mark::Illegible { .. } => Some("illegible".to_owned()),
        Mark::Undecided { .. } => Some("undecided".to_owned()),
        Mark::Conflicting(_) => Some("contradictory".to_owned()),
        Mark::Absent => None,
    }
}

/// To the newton, which tells every stamped figure from its neighbour.
fn newtons(force: Force) -> String {
    format!("{:.0} N", force.newtons())
}

fn expected(rating: Option<&str>) -> Option<String> {
    let Some((figure, unit)) = rating?.split_once(' ') else { return rating.map(str::to_owned) };
    let figure: f64 = figure.parse().expect("a figure");
    Some(newtons(match unit {
        "kN" => Force::from_kn(figure),
        "lbf" => Force::from_lbf(figure),
        "kg" => Force::from_newtons(figure * STANDARD_GRAVITY),
        other => panic!("{other}?"),
    }))
}

fn compare_set(text: &str, read: &RatingSet, wanted: &Set) {
    assert_eq!(read.standard.map(|standard| standard.code()), wanted.standard.as_deref(), "{text:?}: standard");
    let class = shown(&read.class, |letter| letter.code().to_owned());
    assert_eq!(class, wanted.class, "{text:?}: class");
    let wanted = [&wanted.closed, &wanted.open, &wanted.minor].map(|rating| expected(rating.as_deref()));
    let ratings = [&read.closed, &read.open, &read.minor].map(|mark| shown(mark, |force| newtons(*force)));
    assert_eq!(ratings, wanted, "{text:?}: closed, open, minor");
}

fn body(reading: &Reading, sign: ConformitySign) -> Option<String> {
    let conformity = reading.conformity.iter().find(|conformity| conformity.sign == sign)?;
    shown(&conformity.body, String::clone)
}

#[test]
fn markings_by_hand() {
    let cases = cases();
    for case in &cases {
        let reading = read(&case.text);
        let text = &case.text;
        assert_eq!(reading.sets.len(), case.sets.len(), "{text:?}: sets");
        for (read, wanted) in reading.sets.iter().zip(&case.sets) {
            compare_set(text, read, wanted);
        }
        assert_eq!(shown(&reading.year, u16::to_string), case.year, "{text:?}: year");
        assert_eq!(shown(&reading.batch, String::clone), case.batch, "{text:?}: batch");
        assert_eq!(body(&reading, ConformitySign::Ce), case.ce, "{text:?}: CE");
        assert_eq!(body(&reading, ConformitySign::Ukca), case.ukca, "{text:?}: UKCA");
        assert_eq!(reading.uiaa_label, case.uiaa, "{text:?}: UIAA");
        assert_eq!(reading.instructions, case.instructions, "{text:?}: instructions");
        let codes: Vec<&str> = reading.notes.iter().map(|note| note.code()).collect();
        for code in &case.notes {
            assert!(codes.contains(&code.as_str()), "{text:?} should say {code}, says {codes:?}");
        }
        for code in &case.never {
            assert!(!codes.contains(&code.as_str()), "{text:?} should not say {code}");
        }
    }
    assert!(cases.len() >= 60, "{}", cases.len());
}

/// What goes into a connector is what was read, and nothing else.
#[test]
fn a_connector_gets_only_what_was_read() {
    for case in cases() {
        let reading = read(&case.text);
        let connector = reading.connector();
        let set = reading.ratings().expect("there is always a set");
        let marks = [&set.closed, &set.open, &set.minor];
        assert_eq!([connector.closed, connector.open, connector.minor], marks.map(|mark| mark.value().copied()));
        assert_eq!(reading.has_legible_strength(), connector.closed.is_some(), "{:?}", case.text);
    }
    let mut known = Connector { minor: Some(Force::from_kn(9.0)), ..Connector::default() };
    read("H ↔ 22 kN ↕ ? kN").apply(&mut known);
    assert_eq!((known.closed, known.minor), (Some(Force::from_kn(22.0)), Some(Force::from_kn(9.0))));
}

/// A missing number of the standard, year or label is no defect; a missing strength is.
#[test]
fn what_is_missing_matters_only_where_it_does() {
    use trade::marking::NoteKind::{MissingMatters, MissingNoDefect};
    let kinds = |text: &str| read(text).notes.iter().map(|note| note.kind()).collect::<Vec<_>>();
    let sound = kinds("↔ 22 kN ↕ 8 kN ⊂ 7 kN");
    assert!(sound.contains(&MissingNoDefect) && !sound.contains(&MissingMatters), "{sound:?}");
    assert!(kinds("H EN 12275 2019 UIAA").contains(&MissingMatters));
}

#[test]
fn the_plate_shows_what_was_read_and_a_question_mark_where_not() {
    let plate = read("H ↔ 22 kN ↕ ?kN CE 0123").plate();
    let line = |meaning: &str| plate.lines.iter().find(|line| line.meaning.starts_with(meaning)).expect("a line");
    assert_eq!(line("major axis, gate closed").value, "22 kN");
    assert_eq!((line("minor axis").value.as_str(), line("minor axis").legible), ("?", false));
    assert_eq!((line("major axis, gate open").value.as_str(), line("major axis, gate open").legible), ("-", false));
    let text = plate.to_text();
    assert_eq!(text.lines().count(), plate.lines.len() + 2);
    let widths: Vec<usize> = text.lines().map(|row| row.chars().count()).collect();
    assert!(widths.iter().all(|width| *width == widths[0]), "{text}");
    assert_eq!(RatedPosition::ALL.len(), plate.lines.iter().filter(|line| line.meaning.contains("axis")).count());
}
