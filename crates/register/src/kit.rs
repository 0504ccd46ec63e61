//! Kits: what goes out together, and what came back.

use crate::event::{Event, KitPart};
use crate::history::{History, Past};
use crate::id::{Id, PersonId};
use jiff::civil::Date;

/// What is known of a kit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kit {
    /// Its name in the log.
    pub id: Id,
    /// Its label.
    pub label: String,
    /// What belongs to it.
    pub contents: Vec<KitPart>,
    /// Where it is out: to whom, since when, until when.
    pub out: Option<Issue>,
    /// What was missing when it came back last.
    pub short: Vec<KitPart>,
    /// What was wet when it came back last, and was not dried since.
    pub wet: Vec<Id>,
}

/// A kit that is out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Issue {
    /// The entry.
    pub entry: i64,
    /// Since when.
    pub since: Date,
    /// To whom.
    pub to: Option<PersonId>,
    /// When it is to be back.
    pub due: Option<Date>,
}

impl Kit {
    /// What `history` tells of a kit up to a day; `None` where nothing brings it in by then.
    #[must_use]
    pub fn fold(id: Id, history: &History, on: Date) -> Option<Self> {
        let mut kit = None;
        history.iter().filter(|past| past.happened.date <= on).for_each(|past| take(id, &mut kit, past));
        kit
    }

    /// Whether it is out past the day that it was to be back.
    #[must_use]
    pub fn is_late(&self, on: Date) -> bool {
        self.out.as_ref().and_then(|out| out.due).is_some_and(|due| due < on)
    }

    /// What is there of it, in the order of its contents: what was missing when it came back last is taken off.
    #[must_use]
    pub fn there(&self) -> Vec<KitPart> {
        let missing = |piece| self.short.iter().filter(|part| part.piece == piece).map(|part| part.count).sum::<u32>();
        let left =
            self.contents.iter().map(|part| KitPart { count: part.count.saturating_sub(missing(part.piece)), ..*part });
        left.filter(|part| part.count > 0).collect()
    }
}

fn take(id: Id, kit: &mut Option<Kit>, past: &Past) {
    match (&past.record.event, kit) {
        (Event::KitSet { kit: named, label, contents }, kit) if named.or_else(|| Id::new(past.seq, 0)) == Some(id) => {
            let (label, contents, short) = (label.clone(), contents.clone(), Vec::new());
            let (out, wet) = kit.take().map_or((None, Vec::new()), |before| (before.out, before.wet));
            *kit = Some(Kit { id, label, contents, out, short, wet });
        }
        (Event::KitIssued { kit: named, to, due }, Some(kit)) if *named == id => {
            kit.out = Some(Issue { entry: past.seq, since: past.happened.date, to: to.clone(), due: *due });
        }
        (Event::KitReturned { kit: named, short, wet }, Some(kit)) if *named == id => {
            (kit.out, kit.short, kit.wet) = (None, short.clone(), wet.clone());
        }
        (Event::Cleaned, Some(kit)) => kit.wet.retain(|piece| !past.record.about.contains(piece)),
        _ => {}
    }
}
