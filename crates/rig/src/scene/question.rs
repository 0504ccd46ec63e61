//! Questions, and what answers to them do.

use super::Answers;
use serde::Deserialize;
use std::collections::BTreeMap;
use terms::Force;
use trade::sling::{StiffnessBand, stiffness_bands};
use trade::standards;

/// A question.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Question {
    /// Its option on the command line.
    pub key: String,
    /// What is asked.
    pub asks: String,
    /// The unit of each number of an answer, as it is written; empty where none is a quantity with a unit.
    #[serde(default)]
    pub units: Vec<String>,
    /// The answer of whoever just goes on.
    pub default: String,
    /// What answers do.
    pub kind: Kind,
}

/// What answers to a question do.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A number.
    Number(Bounds),
    /// A whole number.
    Count(Bounds),
    /// Two numbers with a slash between.
    Pair(Bounds, Bounds),
    /// One of these.
    Words(Vec<String>),
    /// Fibre, width in mm and state of a sling, such as "nylon 7 used".
    Sling,
}

/// From where to where a number may lie, in the unit of its question.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bounds {
    /// The least.
    pub least: f64,
    /// The most.
    pub most: f64,
}

/// An answer that does not do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{key}`: {message}; {help}")]
pub struct BadAnswer {
    /// The question's key.
    pub key: String,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub help: String,
}

pub(super) fn bad(key: &str, message: &str, help: &str) -> BadAnswer {
    BadAnswer { key: key.to_owned(), message: message.to_owned(), help: help.to_owned() }
}

/// Checks one answer to a question.
///
/// # Errors
/// [`BadAnswer`] says what would be right.
pub fn check_answer(question: &Question, answer: &str) -> Result<(), BadAnswer> {
    question.parse(answer).map(|_| ())
}

/// An answer as parsed.
enum Answer<'q> {
    Number(f64),
    Count(usize),
    Pair(f64, f64),
    Word(&'q str),
    Sling(SlingChoice),
}

/// A sling by fibre, width and state.
pub(super) struct SlingChoice {
    /// Fibre, width in mm and state, in the words of the table.
    pub words: String,
    /// Its stiffness by the table.
    pub band: StiffnessBand,
    /// The least that the standard for its make asks for.
    pub least_strength: Option<Force>,
}

/// The answers of a scene by key.
pub(super) struct Asked(BTreeMap<&'static str, Answer<'static>>);

impl Asked {
    pub fn new(questions: &'static [Question], answers: &Answers) -> Result<Self, BadAnswer> {
        let parse = |question: &'static Question| {
            let answer = answers.get(&question.key).unwrap_or(&question.default);
            Ok((question.key.as_str(), question.parse(answer)?))
        };
        questions.iter().map(parse).collect::<Result<_, _>>().map(Self)
    }

    pub fn number(&self, key: &str) -> f64 {
        let Answer::Number(value) = self.0[key] else { unreachable!("`{key}` asks for a number") };
        value
    }

    pub fn count(&self, key: &str) -> usize {
        let Answer::Count(value) = self.0[key] else { unreachable!("`{key}` asks for a whole number") };
        value
    }

    pub fn pair(&self, key: &str) -> (f64, f64) {
        let Answer::Pair(first, second) = self.0[key] else { unreachable!("`{key}` asks for two numbers") };
        (first, second)
    }

    pub fn word(&self, key: &str) -> &'static str {
        let Answer::Word(word) = self.0[key] else { unreachable!("`{key}` asks for a word") };
        word
    }

    pub fn sling(&self, key: &str) -> &SlingChoice {
        let Answer::Sling(choice) = &self.0[key] else { unreachable!("`{key}` asks for a sling") };
        choice
    }
}

impl Question {
    fn parse(&self, answer: &str) -> Result<Answer<'_>, BadAnswer> {
        let answer = answer.trim();
        match &self.kind {
            Kind::Number(bounds) => self.number(answer, *bounds).map(Answer::Number),
            Kind::Count(bounds) => self.count(answer, *bounds).map(Answer::Count),
            Kind::Pair(first, second) => self.pair(answer, *first, *second),
            Kind::Words(words) => self.word(answer, words).map(Answer::Word),
            Kind::Sling => SlingChoice::parse(answer).map(Answer::Sling).map_err(|help| self.unfit(answer, &help)),
        }
    }

    fn number(&self, text: &str, bounds: Bounds) -> Result<f64, BadAnswer> {
        let Bounds { least, most } = bounds;
        number(text)
            .filter(|value| (least..=most).contains(value))
            .ok_or_else(|| self.unfit(text, &format!("a number from {least} to {most}, such as {}", self.default)))
    }

    fn count(&self, text: &str, bounds: Bounds) -> Result<usize, BadAnswer> {
        let Bounds { least, most } = bounds;
        let count = text.parse::<usize>().ok().filter(|&count| (least..=most).contains(&(count as f64)));
        let help = || format!("a whole number from {least} to {most}, such as {}", self.default);
        count.ok_or_else(|| self.unfit(text, &help()))
    }

    fn pair(&self, text: &str, first: Bounds, second: Bounds) -> Result<Answer<'static>, BadAnswer> {
        let Some((one, other)) = text.split_once('/') else {
            return Err(self.unfit(text, &format!("two numbers with a slash between, such as {}", self.default)));
        };
        Ok(Answer::Pair(self.number(one.trim(), first)?, self.number(other.trim(), second)?))
    }

    fn word<'q>(&self, text: &str, words: &'q [String]) -> Result<&'q str, BadAnswer> {
        let said = words.iter().find(|word| word.eq_ignore_ascii_case(text));
        said.map(String::as_str).ok_or_else(|| self.unfit(text, &format!("say {}", words.join(" or "))))
    }

    fn unfit(&self, answer: &str, help: &str) -> BadAnswer {
        bad(&self.key, &format!("\"{}\" does not do", answer.escape_debug()), help)
    }
}

/// A number with a point or a comma; what stands for no number at all is none, and -0 is 0.
fn number(text: &str) -> Option<f64> {
    text.replace(',', ".").parse::<f64>().ok().filter(|value| value.is_finite()).map(|value| value + 0.0)
}

impl SlingChoice {
    /// # Errors
    /// What would be right.
    pub fn parse(answer: &str) -> Result<Self, String> {
        let parts: Vec<&str> = answer.split_whitespace().collect();
        let [fibre, width, state] = parts[..] else { return Err(sling_help()) };
        let width_mm = number(width).ok_or_else(sling_help)?;
        let bands = stiffness_bands(fibre, width_mm);
        if bands.is_empty() {
            return Err(width_help(fibre));
        }
        let band = bands.into_iter().find(|band| band.state.eq_ignore_ascii_case(state)).ok_or_else(sling_help)?;
        let words = format!("{} {width_mm} {}", band.fibre, band.state);
        let least_strength = least_strength(band.made_as, width_mm);
        Ok(Self { words, band, least_strength })
    }
}

/// The least that the standard asks of a sewn sling (EN 566) or of cord (EN 564); `None` where none is listed.
fn least_strength(made_as: &str, width_mm: f64) -> Option<Force> {
    match made_as {
        "cord" => standards::en564_minimum_kn(width_mm).map(Force::from_kn),
        _ => standards::gear("EN 566").map(|gear| gear.minimum).next(),
    }
}

fn sling_help() -> String {
    "fibre, mm of width and state (new, used or wet), such as \"nylon 7 used\" or \"HMPE 11 new\"".to_owned()
}

fn width_help(fibre: &str) -> String {
    let widths: Vec<_> = (1..=50).filter(|&mm| !stiffness_bands(fibre, f64::from(mm)).is_empty()).collect();
    let listed: Vec<_> = widths.iter().map(ToString::to_string).collect();
    match listed[..] {
        [] => sling_help(),
        _ => format!("widths in whole mm that are listed for {fibre}: {}", listed.join(", ")),
    }
}
