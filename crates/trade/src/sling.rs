//! Slings and cords: what a knot leaves of their strength, and how stiff they may be.

use crate::cited::{self, Read};
use crate::standards;
use serde::Deserialize;
use std::sync::LazyLock;
use terms::{Force, Quality, Reason, Source};

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct FigureRow {
    low_pct: f64,
    high_pct: f64,
    source: String,
    quality: Read,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct KnotRow {
    name: String,
    also: Vec<String>,
    figure: Vec<FigureRow>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct KnotTable {
    knot: Vec<KnotRow>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct StiffnessRow {
    fibre: String,
    made_as: String,
    state: String,
    width_low_mm: f64,
    width_high_mm: f64,
    stiffness_low_kn: f64,
    stiffness_high_kn: f64,
    source: String,
    quality: Read,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct StiffnessTable {
    stiffness: Vec<StiffnessRow>,
}

static KNOTS: LazyLock<KnotTable> = LazyLock::new(|| cited::parse(include_str!("../data/knots.toml")));
static STIFFNESSES: LazyLock<StiffnessTable> = LazyLock::new(|| cited::parse(include_str!("../data/slings.toml")));

/// What one source gives for a knot.
#[derive(Debug, Clone, PartialEq)]
pub struct KnotFigure {
    /// The least that is left, in percent of the strength without a knot.
    pub low_pct: f64,
    /// The most that is left, in percent of the strength without a knot.
    pub high_pct: f64,
    /// Where it comes from.
    pub source: Source,
}

/// What a knot leaves, over all sources that count.
#[derive(Debug, Clone, PartialEq)]
pub struct KnotRange {
    /// The knot by the name of the table.
    pub name: &'static str,
    /// The least that any source gives, in percent.
    pub low_pct: f64,
    /// The most that any source gives, in percent.
    pub high_pct: f64,
    /// Whether nothing better than memory was found: then its figures are taken, else they are only shown.
    pub from_memory: bool,
    /// Every figure, the one beside the other where they disagree.
    pub figures: Vec<KnotFigure>,
}

impl KnotRange {
    /// Whether two sources that count give ranges with no value in common.
    #[must_use]
    pub fn is_disputed(&self) -> bool {
        let counting = || self.figures.iter().filter(|figure| counts(figure));
        let highest_low = counting().map(|figure| figure.low_pct).fold(0.0, f64::max);
        let lowest_high = counting().map(|figure| figure.high_pct).fold(f64::INFINITY, f64::min);
        highest_low > lowest_high
    }
}

fn counts(figure: &KnotFigure) -> bool {
    figure.source.quality != Quality::FromMemory
}

/// What a knot leaves of the strength of cord or tape, by any name it goes by; `None` where no figure was found.
#[must_use]
pub fn knot_range(name: &str) -> Option<KnotRange> {
    let named = name.to_lowercase();
    let row = KNOTS.knot.iter().find(|row| row.name == named || row.also.contains(&named))?;
    let figures: Vec<_> = row.figure.iter().map(knot_figure).collect();
    let from_memory = !figures.iter().any(counts);
    let taken = || figures.iter().filter(|figure| from_memory || counts(figure));
    Some(KnotRange {
        name: &row.name,
        low_pct: taken().map(|figure| figure.low_pct).fold(f64::INFINITY, f64::min),
        high_pct: taken().map(|figure| figure.high_pct).fold(0.0, f64::max),
        from_memory,
        figures,
    })
}

fn knot_figure(row: &FigureRow) -> KnotFigure {
    KnotFigure { low_pct: row.low_pct, high_pct: row.high_pct, source: cited::source(&row.source, row.quality) }
}

/// The names of the knots that are listed.
#[must_use]
pub fn knots() -> Vec<&'static str> {
    KNOTS.knot.iter().map(|row| row.name.as_str()).collect()
}

/// What a sling, cord or tape bears, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct SlingBears {
    /// The least it may bear: the one to compare with. `None` where unknown.
    pub low: Option<Force>,
    /// The most it may bear. `None` where unknown.
    pub high: Option<Force>,
    /// Why.
    pub because: Vec<Reason>,
}

/// Who says what a sling bears.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum StrengthBy {
    /// Its mark.
    #[default]
    Mark,
    /// The standard of accessory cord, EN 564: the least that it asks of the diameter.
    CordStandard,
}

/// What a sling bears as marked or as its standard asks, less what its knot takes.
///
/// `strength` is that of the whole leg as marked (of a sewn loop: of the loop); strands never multiply it. A knot that is
/// not listed makes the strength unknown.
#[must_use]
pub fn sling_bears(strength: Option<Force>, by: StrengthBy, knot: Option<&str>) -> SlingBears {
    const WHAT: &str = "sling";
    let Some(strength) = strength else {
        let unknown = match by {
            StrengthBy::Mark => Reason::StrengthUnknown { what: WHAT },
            StrengthBy::CordStandard => {
                let [least_mm, most_mm] = standards::en564_diameters_mm();
                Reason::CordBesideStandard { least_mm, most_mm }
            }
        };
        return SlingBears { low: None, high: None, because: vec![unknown] };
    };
    let marked = match by {
        StrengthBy::Mark => Reason::MarkedStrength { what: WHAT, strength },
        StrengthBy::CordStandard => Reason::CordStandardAsks { strength },
    };
    let Some(knot) = knot else {
        return SlingBears { low: Some(strength), high: Some(strength), because: vec![marked] };
    };
    let Some(range) = knot_range(knot) else {
        return SlingBears {
            low: None,
            high: None,
            because: vec![marked, Reason::KnotNotListed { knot: knot.to_owned() }],
        };
    };
    let left = |pct: f64| Some(Force::from_newtons(strength.newtons() * pct / 100.0));
    let mut because = vec![
        marked,
        Reason::KnotWeakens { knot: range.name.to_owned(), low_pct: range.low_pct, high_pct: range.high_pct },
    ];
    if range.from_memory {
        because.push(Reason::KnotFromMemory { knot: range.name.to_owned() });
    }
    SlingBears { low: left(range.low_pct), high: left(range.high_pct), because }
}

/// How stiff one strand may be: force per unit strain.
#[derive(Debug, Clone, PartialEq)]
pub struct StiffnessBand {
    /// What it is made of: nylon, polyester, HMPE, aramid.
    pub fibre: &'static str,
    /// Tape or cord.
    pub made_as: &'static str,
    /// New, used or wet.
    pub state: &'static str,
    /// The least.
    pub low: Force,
    /// The most.
    pub high: Force,
    /// Where it comes from.
    pub source: Source,
}

/// Every band for a fibre at a width (of tape) or diameter (of cord) in millimetres: by make and state; empty where none is listed.
#[must_use]
pub fn stiffness_bands(fibre: &str, width_mm: f64) -> Vec<StiffnessBand> {
    let fits = |row: &&StiffnessRow| {
        row.fibre.eq_ignore_ascii_case(fibre) && (row.width_low_mm..=row.width_high_mm).contains(&width_mm)
    };
    STIFFNESSES.stiffness.iter().filter(fits).map(stiffness_band).collect()
}

/// The least and the most that one strand of accessory cord of a diameter in millimetres may be stiff, in whatever state: force
/// per unit strain. `None` where none is listed.
#[must_use]
pub fn cord_stiffness(fibre: &str, diameter_mm: f64) -> Option<[Force; 2]> {
    let bands = stiffness_bands(fibre, diameter_mm);
    let bands = || bands.iter().filter(|band| band.made_as == "cord");
    let low = bands().map(|band| band.low.kn()).reduce(f64::min)?;
    let high = bands().map(|band| band.high.kn()).reduce(f64::max)?;
    Some([low, high].map(Force::from_kn))
}

/// The least that EN 564 asks of accessory cord of a diameter in millimetres; `None` beside the diameters of the standard.
#[must_use]
pub fn cord_strength(diameter_mm: f64) -> Option<Force> {
    standards::en564_minimum_kn(diameter_mm).map(Force::from_kn)
}

/// The whole millimetres of diameter for which cord of a fibre is listed.
#[must_use]
pub fn cord_diameters(fibre: &str) -> Vec<u8> {
    (1..=50).filter(|&diameter_mm| cord_stiffness(fibre, f64::from(diameter_mm)).is_some()).collect()
}

/// The fibres that are listed, each once.
#[must_use]
pub fn fibres() -> Vec<&'static str> {
    let mut names: Vec<&str> = Vec::new();
    for row in &STIFFNESSES.stiffness {
        if !names.contains(&row.fibre.as_str()) {
            names.push(&row.fibre);
        }
    }
    names
}

fn stiffness_band(row: &'static StiffnessRow) -> StiffnessBand {
    StiffnessBand {
        fibre: &row.fibre,
        made_as: &row.made_as,
        state: &row.state,
        low: Force::from_kn(row.stiffness_low_kn),
        high: Force::from_kn(row.stiffness_high_kn),
        source: cited::source(&row.source, row.quality),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn range(name: &str) -> (f64, f64) {
        let range = knot_range(name).expect("listed");
        (range.low_pct, range.high_pct)
    }

    /// US Army knot guide 75 to 80, Day and Dent 48, Knots in Use 28 lost, Fitch and Funderburke 10 to 20 lost: all read.
    #[test]
    fn a_range_spans_every_source_that_counts() {
        assert_eq!(range("figure eight"), (48.0, 90.0));
        assert_eq!(range("Figure-of-eight loop"), (48.0, 90.0));
        assert_eq!(range("water knot"), (60.0, 70.0));
    }

    #[test]
    fn sources_that_disagree_are_told_from_those_that_do_not() {
        assert!(knot_range("figure eight").expect("listed").is_disputed());
        assert!(!knot_range("water knot").expect("listed").is_disputed());
    }

    #[test]
    fn figures_from_memory_count_only_where_there_is_nothing_better_and_are_marked() {
        let mut kinds = [0, 0];
        for name in knots() {
            let range = knot_range(name).expect("listed");
            let (better, recalled): (Vec<_>, Vec<_>) = range.figures.iter().partition(|figure| counts(figure));
            assert_eq!(range.from_memory, better.is_empty(), "{name}");
            assert_eq!(
                (range.low_pct, range.high_pct),
                span(if better.is_empty() { &recalled } else { &better }),
                "{name}"
            );
            kinds[usize::from(range.from_memory)] += 1;
        }
        assert!(kinds.iter().all(|count| *count > 0), "{kinds:?}");
    }

    fn span(figures: &[&KnotFigure]) -> (f64, f64) {
        let mut ends: Vec<_> = figures.iter().flat_map(|figure| [figure.low_pct, figure.high_pct]).collect();
        ends.sort_by(f64::total_cmp);
        (ends[0], ends[ends.len() - 1])
    }

    #[test]
    fn every_figure_is_a_percentage_with_a_source() {
        for name in knots() {
            for figure in knot_range(name).expect("listed").figures {
                assert!(
                    0.0 < figure.low_pct && figure.low_pct <= figure.high_pct && figure.high_pct <= 100.0,
                    "{name}"
                );
                assert!(!figure.source.text.is_empty(), "{name}");
            }
        }
    }

    /// EN 564: 7.2 kN for 6 mm; the stiffness spans what is recalled of new, used and wet cord.
    #[test]
    fn cord_is_known_by_its_diameter() {
        let strength = cord_strength(6.0);
        assert!((strength.expect("within EN 564").kn() - 7.2).abs() < 1e-9);
        assert_eq!([3.0, 9.0].map(cord_strength), [None; 2]);
        let [low, high] = cord_stiffness("nylon", 6.0).expect("listed");
        let listed = stiffness_bands("nylon", 6.0);
        let cords: Vec<_> = listed.iter().filter(|band| band.made_as == "cord").collect();
        assert!(cords.len() > 1 && cords.iter().all(|band| low <= band.low && band.high <= high));
        assert_eq!(cord_stiffness("nylon", 30.0), None);
        assert!(cord_diameters("nylon").contains(&6));
        let because = sling_bears(strength, StrengthBy::CordStandard, None).because;
        assert_eq!(because, [Reason::CordStandardAsks { strength: strength.expect("as above") }]);
    }

    #[test]
    fn a_sewn_sling_bears_what_is_marked() {
        let bears = sling_bears(Some(Force::from_kn(22.0)), StrengthBy::Mark, None);
        assert_eq!((bears.low, bears.high), (Some(Force::from_kn(22.0)), Some(Force::from_kn(22.0))));
    }

    #[test]
    fn a_knot_takes_its_share() {
        let bears = sling_bears(Some(Force::from_kn(10.0)), StrengthBy::Mark, Some("water knot"));
        assert_eq!((bears.low, bears.high), (Some(Force::from_kn(6.0)), Some(Force::from_kn(7.0))));
        assert!(bears.because.iter().any(|reason| reason.code() == "knot-weakens"));
    }

    #[test]
    fn a_knot_known_from_memory_says_so() {
        let name = knots().into_iter().find(|name| knot_range(name).expect("listed").from_memory).expect("one");
        let bears = sling_bears(Some(Force::from_kn(10.0)), StrengthBy::Mark, Some(name));
        assert!(bears.because.iter().any(|reason| reason.code() == "knot-from-memory"));
        let read = sling_bears(Some(Force::from_kn(10.0)), StrengthBy::Mark, Some("water knot"));
        assert!(read.because.iter().all(|reason| reason.code() != "knot-from-memory"));
    }

    #[test]
    fn no_strength_is_lent() {
        let unmarked = sling_bears(None, StrengthBy::Mark, Some("water knot"));
        assert_eq!((unmarked.low, unmarked.because[0].code()), (None, "strength-unknown"));
        let thick = sling_bears(cord_strength(9.0), StrengthBy::CordStandard, None);
        assert_eq!(
            (thick.low, thick.because),
            (None, vec![Reason::CordBesideStandard { least_mm: 4.0, most_mm: 8.0 }])
        );
        let unlisted = sling_bears(Some(Force::from_kn(22.0)), StrengthBy::Mark, Some("granny knot"));
        assert_eq!((unlisted.low, unlisted.because[1].code()), (None, "knot-not-listed"));
    }

    #[test]
    fn every_stiffness_is_a_band_with_a_source_and_found_by_its_own_row() {
        for row in &STIFFNESSES.stiffness {
            let bands = stiffness_bands(&row.fibre, f64::midpoint(row.width_low_mm, row.width_high_mm));
            assert!(bands.iter().any(|band| band.made_as == row.made_as && band.state == row.state), "{row:?}");
            assert!(bands.iter().all(|band| Force::default() < band.low && band.low < band.high), "{row:?}");
            assert!(bands.iter().all(|band| !band.source.text.is_empty()), "{row:?}");
        }
        assert_eq!(stiffness_bands("hemp", 10.0), []);
        assert_eq!(stiffness_bands("nylon", 1000.0), []);
    }
}
