//! Falls that were held, with the force that a check computed.

use super::happen::About;
use super::{Fault, Rack, Result};
use async_recursion::async_recursion as boxed;
use register::event::{Event, Fall, Use};
use register::id::Id;
use register::summary::Summary;
use serde::Deserialize;
use std::collections::BTreeMap;

/// A fall that was held, as somebody tells it.
#[derive(Debug, Clone, Default)]
pub struct Held {
    /// Its force, kN, as typed.
    pub force: Option<String>,
    /// The file that `check --json` wrote: the force is that of each piece's link.
    pub from_check: Option<String>,
    /// The link of that check, for pieces that the rig does not name.
    pub link: Option<String>,
    /// It was severe, says who held it.
    pub severe: bool,
}

/// What a check told, as far as it is asked here.
#[derive(Debug, Deserialize)]
struct Check {
    title: String,
    links: Vec<Link>,
}

#[derive(Debug, Deserialize)]
struct Link {
    link: String,
    piece: Option<String>,
    sees_kn: Option<f64>,
}

impl Rack<'_> {
    /// Writes a fall that was held by some pieces: one entry for each force.
    ///
    /// # Errors
    /// Where the file is no check, or has no link for one of the pieces.
    #[boxed]
    pub async fn fall_held(&self, about: &About, held: &Held) -> Result {
        let (rows, by_kit) = self.pick(&about.pick).await?;
        let check = held.from_check.as_ref().map(|path| self.check(path)).transpose()?;
        let mut falls: BTreeMap<(Option<u32>, Option<String>), Vec<Id>> = BTreeMap::new();
        for row in &rows {
            let (force_n, from_check) = match &check {
                Some(check) => check.force(row, held.link.as_deref())?,
                None => (held.force.as_deref().map(|force| super::fields::decimal(force, 3)).transpose()?, None),
            };
            falls.entry((force_n, from_check)).or_default().push(row.id);
        }
        let event = |((force_n, from_check), ids)| {
            let falls = vec![Fall { force_n, from_check, severe: held.severe }];
            (Event::Used(Use { falls, ..Use::default() }), ids)
        };
        self.log_each(about, &rows, by_kit, falls.into_iter().map(event).collect()).await
    }

    fn check(&self, path: &str) -> std::result::Result<Check, Fault> {
        let text = self.read(path)?;
        serde_json::from_str(&text)
            .map_err(|why| Fault::new("no-check", &[("path", path.to_owned()), ("why", why.to_string())]))
    }
}

impl Check {
    /// The largest force that a piece's link sees, N, rounded up, over all cases and positions; and which rig and link that was.
    fn force(&self, row: &Summary, named: Option<&str>) -> std::result::Result<(Option<u32>, Option<String>), Fault> {
        let is_it = |link: &&Link| match named {
            Some(name) => link.link == name,
            None => link.piece.as_deref() == Some(&row.label),
        };
        let links: Vec<&Link> = self.links.iter().filter(is_it).collect();
        let force_kn = links.iter().filter_map(|link| link.sees_kn).reduce(f64::max);
        let (Some(link), Some(force_kn)) = (links.first(), force_kn) else {
            let mut names: Vec<&str> = self.links.iter().map(|link| link.link.as_str()).collect();
            names.dedup();
            let values = [("piece", row.label.clone()), ("links", names.join(", ")), ("rig", self.title.clone())];
            return Err(Fault::new("no-such-link", &values));
        };
        Ok((Some(newtons(force_kn)), Some(format!("{}: {}", self.title, link.link))))
    }
}

/// A force in kN in whole newtons, rounded up.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the range")]
fn newtons(force_kn: f64) -> u32 {
    (force_kn * 1000.0).ceil().clamp(0.0, f64::from(u32::MAX)) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn newtons_are_whole_and_never_fewer() {
        assert_eq!([5.0, 5.0001, 0.0, -1.0, f64::INFINITY].map(newtons), [5000, 5001, 0, 0, u32::MAX]);
    }
}
