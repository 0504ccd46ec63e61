//! Pieces of the rack in a rig: `piece = "C-014"` takes what the rig file leaves out from the rack.

use super::{Fault, Rack, Result};
use crate::texts;
use async_recursion::async_recursion as boxed;
use register::event::Description;
use register::standing::State;
use rig::model::Rig;
use terms::Force;
use trade::connector::{Connector, Gate, Lock, Nose, Shape};
use trade::marking::{Mark, RatedPosition, Reading, read};

impl Rack<'_> {
    /// Fills in what a rig leaves out of the connectors that name a piece: its marking's strengths and its form. What the rig
    /// file says itself stays.
    ///
    /// # Errors
    /// Where the rig names a piece that is not on the rack, or one that is quarantined or withdrawn.
    #[boxed]
    pub async fn lend(&self, rig: &mut Rig) -> Result<()> {
        if rig.connectors.iter().all(|seated| seated.connector.piece.is_none()) {
            return Ok(());
        }
        let view = self.view().await?;
        for connector in rig.connectors.iter_mut().map(|seated| &mut seated.connector) {
            let Some(label) = connector.piece.clone() else { continue };
            let row = self.find(&label).await?;
            if row.standing >= State::Quarantined {
                let state = texts::state(row.standing);
                let values = [("connector", connector.name.clone()), ("piece", label), ("state", state)];
                return Err(Fault::new("out-of-use", &values).into());
            }
            let (piece, _) = self.fold(&row, &view).await?;
            fill(connector, &piece.described(&view.group));
        }
        Ok(())
    }
}

fn fill(connector: &mut Connector, is: &Description) {
    let shape = is.shape.as_deref().and_then(Shape::from_code);
    let gate = is.gate.as_deref().and_then(Gate::from_code);
    let lock = is.lock.as_deref().and_then(Lock::from_code);
    let nose = is.nose.as_deref().and_then(Nose::from_code);
    connector.shape = connector.shape.or(shape);
    connector.gate = connector.gate.or(gate);
    connector.lock = connector.lock.or(lock);
    connector.nose = connector.nose.or(nose);
    if let Some(reading) = is.marking.as_deref().map(read) {
        connector.closed = connector.closed.or_else(|| strength(&reading, RatedPosition::Closed));
        connector.open = connector.open.or_else(|| strength(&reading, RatedPosition::Open));
        connector.minor = connector.minor.or_else(|| strength(&reading, RatedPosition::Minor));
    }
}

/// What is marked for a position; of two ratings the lower one.
pub(super) fn strength(reading: &Reading, position: RatedPosition) -> Option<Force> {
    let marked = reading.sets.iter().filter_map(|set| Mark::value(set.rating(position)).copied());
    marked.min_by(|one, other| one.kn().total_cmp(&other.kn()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rig_files_own_word_stays_and_the_marking_fills_the_rest() {
        let mut connector = Connector { open: Some(Force::from_kn(6.0)), ..Connector::default() };
        let marking = Some("EN 12275 H <-> 24 kN, open 8, cross 7".to_owned());
        fill(&mut connector, &Description { marking, lock: Some("screw".to_owned()), ..Description::default() });
        let kn = |force: Option<Force>| force.map(|force| force.kn());
        assert_eq!((kn(connector.closed), kn(connector.open), kn(connector.minor)), (Some(24.0), Some(6.0), Some(7.0)));
        assert_eq!(connector.lock, Some(Lock::Screw));
    }

    #[test]
    fn nothing_is_lent_from_a_mark_that_cannot_be_read() {
        let mut connector = Connector::default();
        let marking = Some("H <-> 2? kN, open 8 kN".to_owned());
        fill(&mut connector, &Description { marking, ..Description::default() });
        assert_eq!(connector.closed, None);
        assert!(connector.open.is_some());
    }
}
