//! What the anchor of a rappel takes, by how it is done.

use crate::cited::{self, Read};
use serde::Deserialize;
use std::sync::LazyLock;
use terms::{Source, coded};

coded!(
    /// How somebody comes down.
    Descent {
        /// Steadily.
        Smooth = "smooth",
        /// In jerks, or braked abruptly.
        Abrupt = "abrupt",
    }
);

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    when: String,
    share: f64,
    source: String,
    quality: Read,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    share: Vec<Row>,
}

static DESCENTS: LazyLock<Table> = LazyLock::new(|| cited::parse(include_str!("../data/descents.toml")));

/// The load of an anchor over the weight that hangs on it.
#[derive(Debug, Clone, PartialEq)]
pub struct AnchorShare {
    /// As a share of the weight.
    pub share: f64,
    /// Where it comes from.
    pub source: Source,
}

/// What was found for a way to come down, the least first.
#[must_use]
pub fn anchor_shares(descent: Descent) -> Vec<AnchorShare> {
    let rows = DESCENTS.share.iter().filter(|row| row.when == descent.code());
    let share = |row: &Row| AnchorShare { share: row.share, source: cited::source(&row.source, row.quality) };
    let mut shares: Vec<AnchorShare> = rows.map(share).collect();
    shares.sort_by(|a, b| a.share.total_cmp(&b.share));
    shares
}

#[cfg(test)]
mod tests {
    use super::*;

    /// bergundsteigen: 0.9 and 2.6 kN for 86 kg; HSE CRR 364/2001: 150 and 200 % of the gross weight.
    #[test]
    fn the_shares_are_as_published() {
        let weight_kn = 86.0 * 9.81e-3;
        for (descent, kn, pct) in [(Descent::Smooth, 0.9, 150.0), (Descent::Abrupt, 2.6, 200.0)] {
            let shares = anchor_shares(descent);
            assert_eq!(shares.len(), 2);
            assert!(shares.iter().any(|one| (one.share - kn / weight_kn).abs() < 5e-3), "{shares:?}");
            assert!(shares.iter().any(|one| (one.share - pct / 100.0).abs() < 1e-9), "{shares:?}");
            assert!(shares[0].share <= shares[1].share && shares.iter().all(|one| !one.source.text.is_empty()));
        }
    }

    #[test]
    fn every_row_says_how_somebody_comes_down() {
        assert!(DESCENTS.share.iter().all(|row| Descent::from_code(&row.when).is_some()));
    }
}
