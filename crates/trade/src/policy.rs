//! The policy: how much margin a group asks for, what counts for the exit status, and the rules of its rack.

mod rows;

pub use rows::{Row, rows};

use crate::cited::Read;
use crate::position::Position;
use crate::rack::{Given, Rack};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::LazyLock;
use terms::{Finding, Force, How, Source};
use toml::Spanned;

const BUILT_IN: &str = include_str!("../data/policy.toml");

/// The thresholds of a group.
#[derive(Debug, Clone, PartialEq)]
pub struct Policy {
    /// Strength over load that is asked for in intended positions; at least 1.
    pub margin_intended: f64,
    /// Strength over load that is asked for in every other position; at least 1.
    pub margin_in_use: f64,
    /// The in-use positions in which a load over the rating counts for the exit status. The intended one always does.
    pub counts_for_exit: Vec<Position>,
    /// The rules of the rack, which carry their sources with them.
    pub rack: Rack,
    /// Whether a fall that reaches the ground counts for the exit status.
    pub ground_counts_for_exit: bool,
    /// Whether what a loss brings counts for the exit status: a link over its rating, or a load that nothing holds.
    pub losses_count_for_exit: bool,
    /// Where each value comes from, by its key; keys that a group's own file sets without a source are left out.
    pub sources: BTreeMap<String, Source>,
}

impl Default for Policy {
    /// The policy inside the program.
    fn default() -> Self {
        static DEFAULT: LazyLock<Policy> = LazyLock::new(|| {
            let file: File = toml::from_str(BUILT_IN).unwrap_or_else(|fault| panic!("built-in policy: {fault}"));
            complete(file).unwrap_or_else(|fault| panic!("built-in policy: {}", fault.message))
        });
        DEFAULT.clone()
    }
}

/// What is wrong with a policy file, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PolicyError {
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1, in characters.
    pub column: usize,
    /// What is wrong and what would do.
    pub message: String,
}

impl std::fmt::Display for PolicyError {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(formatter, "line {}, column {}: {}", self.line, self.column, self.message)
    }
}

impl std::error::Error for PolicyError {}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    margin_intended: Option<Spanned<f64>>,
    margin_in_use: Option<Spanned<f64>>,
    counts_for_exit: Option<Vec<Spanned<String>>>,
    rack: Option<Given>,
    ground_counts_for_exit: Option<bool>,
    losses_count_for_exit: Option<bool>,
    #[serde(default)]
    source: Sources,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Sources {
    margin_intended: Option<SourceRow>,
    margin_in_use: Option<SourceRow>,
    counts_for_exit: Option<SourceRow>,
    ground_counts_for_exit: Option<SourceRow>,
    losses_count_for_exit: Option<SourceRow>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct SourceRow {
    text: String,
    quality: Read,
}

struct Fault {
    at: Range<usize>,
    message: String,
}

impl Policy {
    /// Reads a group's own policy: keys that it leaves out stay as in [`Policy::default`].
    ///
    /// # Errors
    /// An unknown key, a margin under 1, or a position that is not one of those in use; with its line and column.
    pub fn parse(text: &str) -> Result<Self, PolicyError> {
        let file: File = toml::from_str(text)
            .map_err(|fault| located(text, fault.span().unwrap_or_default(), fault.message().to_owned()))?;
        over(Self::default(), file).map_err(|fault| located(text, fault.at, fault.message))
    }

    /// The margin that is asked for in a position that comes about so.
    #[must_use]
    pub const fn margin(&self, how: How) -> f64 {
        match how {
            How::Intended => self.margin_intended,
            How::InUse | How::RiggingError => self.margin_in_use,
        }
    }

    /// Whether a finding in a position makes the exit status 1.
    #[must_use]
    pub fn counts(&self, position: Position, finding: Finding) -> bool {
        finding == Finding::OverRating && (position.how() == How::Intended || self.counts_for_exit.contains(&position))
    }
}

/// What a check says of a load against a strength.
///
/// A load that is no number is over every rating.
#[must_use]
pub fn judge(policy: &Policy, how: How, bears: Option<Force>, sees: Force) -> Finding {
    match bears {
        None => Finding::NoRating,
        Some(bears) if sees <= bears => margin_finding(policy.margin(how), bears, sees),
        Some(_) => Finding::OverRating,
    }
}

fn margin_finding(margin: f64, bears: Force, sees: Force) -> Finding {
    if sees.newtons() * margin <= bears.newtons() { Finding::WithinMargin } else { Finding::LowMargin }
}

/// The built-in file, where every key has to be there with its source.
fn complete(file: File) -> Result<Policy, Fault> {
    let is_complete = file.margin_intended.is_some()
        && file.margin_in_use.is_some()
        && file.counts_for_exit.is_some()
        && file.ground_counts_for_exit.is_some()
        && file.losses_count_for_exit.is_some();
    let empty = Policy {
        margin_intended: 1.0,
        margin_in_use: 1.0,
        counts_for_exit: Vec::new(),
        ground_counts_for_exit: false,
        losses_count_for_exit: false,
        rack: Rack::default(),
        sources: BTreeMap::new(),
    };
    let policy = over(empty, file)?;
    if is_complete && policy.sources.len() == 5 {
        return Ok(policy);
    }
    Err(Fault { at: 0..0, message: "a key or the source of a key is missing".to_owned() })
}

/// Lays the keys of a file over a policy.
fn over(base: Policy, file: File) -> Result<Policy, Fault> {
    let mut policy = base;
    if let Some(given) = file.rack {
        policy.rack = policy.rack.with(given);
    }
    let Sources { margin_intended, margin_in_use, counts_for_exit, ground_counts_for_exit, losses_count_for_exit } =
        file.source;
    if let Some(value) = file.margin_intended {
        policy.margin_intended = margin(value)?;
        set_source(&mut policy, "margin_intended", margin_intended);
    }
    if let Some(value) = file.margin_in_use {
        policy.margin_in_use = margin(value)?;
        set_source(&mut policy, "margin_in_use", margin_in_use);
    }
    if let Some(codes) = file.counts_for_exit {
        policy.counts_for_exit = codes.into_iter().map(in_use).collect::<Result<_, _>>()?;
        set_source(&mut policy, "counts_for_exit", counts_for_exit);
    }
    if let Some(counts) = file.ground_counts_for_exit {
        policy.ground_counts_for_exit = counts;
        set_source(&mut policy, "ground_counts_for_exit", ground_counts_for_exit);
    }
    if let Some(counts) = file.losses_count_for_exit {
        policy.losses_count_for_exit = counts;
        set_source(&mut policy, "losses_count_for_exit", losses_count_for_exit);
    }
    Ok(policy)
}

fn set_source(policy: &mut Policy, key: &str, row: Option<SourceRow>) {
    policy.sources.remove(key);
    if let Some(SourceRow { text, quality }) = row {
        policy.sources.insert(key.to_owned(), Source { text, quality: quality.0 });
    }
}

fn margin(value: Spanned<f64>) -> Result<f64, Fault> {
    let at = value.span();
    let value = value.into_inner();
    if value.is_finite() && value >= 1.0 {
        return Ok(value);
    }
    Err(Fault { at, message: format!("a margin is strength over load and at least 1, not {value}") })
}

fn in_use(code: Spanned<String>) -> Result<Position, Fault> {
    let at = code.span();
    let code = code.into_inner();
    Position::from_code(&code).filter(|position| position.how() == How::InUse).ok_or_else(|| {
        let known: Vec<_> = Position::ALL
            .iter()
            .filter(|position| position.how() == How::InUse)
            .map(|position| position.code())
            .collect();
        Fault { at, message: format!("\"{code}\" is no position in use; those are {}", known.join(", ")) }
    })
}

fn located(text: &str, at: Range<usize>, message: String) -> PolicyError {
    let before = text.get(..at.start).unwrap_or(text);
    let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    PolicyError { line: before.matches('\n').count() + 1, column: before[line_start..].chars().count() + 1, message }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(how: How, bears_kn: Option<f64>, sees_kn: f64) -> Finding {
        judge(&Policy::default(), how, bears_kn.map(Force::from_kn), Force::from_kn(sees_kn))
    }

    /// Schambron and Uggowitzer 2008: dynamic failure load down to half of the static one.
    #[test]
    fn the_default_asks_for_two_on_intended_positions() {
        assert_eq!(Policy::default().margin_intended, 2.0);
        assert_eq!(found(How::Intended, Some(22.0), 11.0), Finding::WithinMargin);
        assert_eq!(found(How::Intended, Some(22.0), 11.1), Finding::LowMargin);
        assert_eq!(found(How::Intended, Some(22.0), 22.0), Finding::LowMargin);
        assert_eq!(found(How::Intended, Some(22.0), 22.1), Finding::OverRating);
        assert_eq!(found(How::Intended, None, 0.1), Finding::NoRating);
    }

    #[test]
    fn every_other_position_has_a_margin_of_its_own() {
        let policy = Policy::parse("margin_in_use = 1.5").expect("a policy");
        let judged = |sees| judge(&policy, How::InUse, Some(Force::from_kn(6.0)), Force::from_kn(sees));
        assert_eq!(
            (judged(4.0), judged(4.1), judged(6.1)),
            (Finding::WithinMargin, Finding::LowMargin, Finding::OverRating)
        );
        assert_eq!(policy.margin_intended, Policy::default().margin_intended);
    }

    #[test]
    fn a_load_that_is_no_number_is_over_every_rating() {
        assert_eq!(found(How::Intended, Some(22.0), f64::NAN), Finding::OverRating);
    }

    #[test]
    fn the_built_in_policy_gives_a_source_for_every_key() {
        let keys: Vec<_> = Policy::default().sources.into_keys().collect();
        let all =
            ["counts_for_exit", "ground_counts_for_exit", "losses_count_for_exit", "margin_in_use", "margin_intended"];
        assert_eq!(keys, all);
    }

    #[test]
    fn the_exit_status_counts_what_is_intended_and_what_the_policy_lists() {
        let policy = Policy::parse("counts_for_exit = [\"gate-open\"]").expect("a policy");
        assert!(policy.counts(Position::Closed, Finding::OverRating));
        assert!(policy.counts(Position::GateOpen, Finding::OverRating));
        assert!(!policy.counts(Position::CrossLoaded, Finding::OverRating));
        assert!(!policy.counts(Position::Closed, Finding::LowMargin));
        assert!(!policy.counts(Position::GateOpen, Finding::NoRating));
    }

    #[test]
    fn a_group_may_say_why_and_a_number_of_its_own_does_not_keep_our_source() {
        let text =
            "margin_intended = 3\n[source.margin_intended]\ntext = \"our rules\"\nquality = \"common practice\"\n";
        assert_eq!(Policy::parse(text).expect("a policy").sources["margin_intended"].text, "our rules");
        assert!(!Policy::parse("margin_intended = 3").expect("a policy").sources.contains_key("margin_intended"));
    }

    #[test]
    fn faults_name_their_place() {
        let cases = [
            ("margin_intended = 2.0\nmargin = 3.0\n", 2, 1, "unknown field `margin`"),
            ("margin_intended = 0.5", 1, 19, "at least 1"),
            ("margin_in_use = inf", 1, 17, "at least 1"),
            ("# ours\ncounts_for_exit = [\"gate-open\", \"gate-shut\"]", 2, 33, "\"gate-shut\" is no position in use"),
            ("counts_for_exit = [\"nose-hooked\"]", 1, 20, "is no position in use"),
            ("margin_intended = \"two\"", 1, 19, "invalid type"),
            ("margin_intended = ", 1, 19, ""),
        ];
        for (text, line, column, part) in cases {
            let error = Policy::parse(text).expect_err(text);
            assert_eq!((error.line, error.column), (line, column), "{text}: {error}");
            assert!(error.message.contains(part), "{text}: {error}");
        }
    }
}
