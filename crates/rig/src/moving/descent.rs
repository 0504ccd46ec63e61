//! Coming down on a rope: what a smooth descent puts on the anchors, and what an abrupt stop would.
//!
//! The engine follows the steady motion. How hard a stop can be was measured; every load grows with the same share.

use crate::check::{Check, Link, LinkKind};
use crate::model::Rig;
use crate::running::Way;
use terms::{Finding, Force, How};
use trade::descent::{AnchorShare, Descent, anchor_shares};
use trade::policy::{Policy, judge};

/// What comes of an abrupt stop on a rope.
#[derive(Debug, Clone, PartialEq)]
pub struct Descended {
    /// Loads of an abrupt stop over those of the steady motion: the least and the most that were found.
    pub shares: Vec<AnchorShare>,
    /// The anchors: places in [`Check::links`], and the most that each would see.
    pub anchors: Vec<(usize, Force)>,
    /// The link with the least margin in an abrupt stop: place in [`Check::links`], margin and what that means.
    pub weakest: Option<(usize, f64, Finding)>,
}

/// `None` where nobody comes down on a rope that they pay out themselves.
pub(super) fn descent(rig: &Rig, check: &Check, policy: &Policy) -> Option<Descended> {
    rig.lines.iter().filter_map(|line| line.runs).find(|runs| runs.way == Way::Out && !rig.is_still(runs.hand))?;
    let shares = anchor_shares(Descent::Abrupt);
    let most = shares.last()?.share;
    let abrupt = |link: &Link| Force::from_kn(link.sees.kn() * most);
    let places = || check.links.iter().enumerate();
    let loaded = |(_, link): &(usize, &Link)| link.kind == LinkKind::Anchor && link.sees.kn() > 0.0;
    let rated = |(_, link): &(usize, &Link)| link.margin.is_some() && link.how == How::Intended;
    let margin = |link: &Link| link.margin.map_or(f64::INFINITY, |margin| margin / most);
    let weakest = places().filter(rated).min_by(|a, b| margin(a.1).total_cmp(&margin(b.1)));
    Some(Descended {
        anchors: places().filter(loaded).map(|(place, link)| (place, abrupt(link))).collect(),
        weakest: weakest.map(|(place, link)| (place, margin(link), judge(policy, link.how, link.bears, abrupt(link)))),
        shares,
    })
}
