//! The outing that a page is about: its file, what was chosen for it, and rigs of somebody's own. Nothing of it stands on the server: it goes
//! to the browser with the page and comes back with the form.

use super::fields;
use crate::problem::Wrong;
use crate::typed::Typed;
use crate::word;
use desk::outing::draft::{Asked, DONE, Draft, NEED, OUTING, Place, RIG, Rows, TIMES, asked_after};
use desk::outing::file::read;
use desk::outing::{Kept, KeptOuting};

/// What stands for the text in what is told of it.
pub const NAME: &str = "outing.toml";

/// An outing at hand.
#[derive(Debug, Clone, Default)]
pub struct AtHand {
    /// The text, the choice and the rigs.
    pub kept: KeptOuting,
    /// The entry by which it went out, where it did.
    pub entry: Option<i64>,
    /// The need that is being changed, by its place.
    pub changing: Option<usize>,
}

impl AtHand {
    /// With a text alone.
    pub fn of(text: &str) -> Self {
        Self { kept: KeptOuting { text: text.to_owned(), ..KeptOuting::default() }, ..Self::default() }
    }

    /// As it came back with a form: its text with what the form changes, and the choice as long as the needs are the same.
    pub fn typed(typed: &Typed) -> (Self, Vec<Wrong>) {
        let rigs = typed.all("rig-name").zip(typed.all("rig-text"));
        let kept = KeptOuting {
            text: lines(typed.get("text")),
            choice: serde_json::from_str::<Kept>(typed.get("choice")).ok(),
            rigs: rigs.map(|(name, text)| (name.to_owned(), lines(text))).collect(),
        };
        let entry = typed.some("entry").and_then(|entry| entry.parse().ok());
        let mut at_hand = Self { kept, entry, changing: None };
        let wrong = at_hand.change(typed);
        if wrong.is_empty() {
            at_hand.forget_choice(&lines(typed.get("was")));
        }
        (at_hand, wrong)
    }

    /// What the form changes in the text: what was typed otherwise than it was shown, and what its button says.
    fn change(&mut self, typed: &Typed) -> Vec<Wrong> {
        let was = lines(typed.get("was"));
        let (Some(mut draft), Some(shown)) = (Draft::read(&self.kept.text), Draft::read(&was)) else {
            return Vec::new();
        };
        let changes = changed(typed, &shown);
        let is_moved = |place: &Place| was != self.kept.text && name(&draft, *place) != name(&shown, *place);
        if changes.iter().any(|(place, ..)| is_moved(place)) {
            return vec![Wrong::new(word("outings-both"), word("outings-both-help"))];
        }
        for (place, asked, value) in changes {
            draft.put(place, asked, &value);
        }
        self.done(typed, &mut draft);
        self.row(typed, &mut draft);
        self.kept.text = draft.text();
        Vec::new()
    }

    /// What the button says of a row.
    fn row(&mut self, typed: &Typed, draft: &mut Draft) {
        let what = typed.get("what");
        let (what, at) =
            what.rsplit_once('-').and_then(|(what, at)| Some((what, at.parse().ok()?))).unwrap_or((what, 0));
        match what {
            "need" => {
                let place = typed.some("need.at").and_then(|at| at.parse().ok());
                let place = place.map(|at| Place::Row(Rows::Need, at)).unwrap_or_else(|| draft.add(Rows::Need));
                for asked in NEED {
                    draft.put(place, asked, &fields::typed(typed, "need.", asked));
                }
            }
            "rig" => {
                let place = draft.add(Rows::Rig);
                for asked in RIG {
                    draft.put(place, asked, &fields::typed(typed, "rig.", asked));
                }
            }
            "change" => self.changing = Some(at),
            "away-need" => draft.take_away(Rows::Need, at),
            "away-rig" => draft.take_away(Rows::Rig, at),
            _ => {}
        }
    }

    /// What was done, need by need.
    fn done(&self, typed: &Typed, draft: &mut Draft) {
        let Ok(file) = read(&self.kept.text, NAME) else { return };
        for (place, need) in file.needs.iter().enumerate() {
            let prefix = format!("done-{place}-");
            let asked = asked_after(&need.duty.name);
            let values: Vec<(Asked, String)> =
                asked.into_iter().map(|asked| (asked, fields::typed(typed, &prefix, asked))).collect();
            let is_asked = DONE.iter().any(|asked| fields::is_there(typed, &prefix, *asked));
            let is_told = values.iter().any(|(_, value)| !value.is_empty());
            match draft.find_done(&need.name) {
                Some(Place::Row(rows, at)) if is_asked && !is_told => draft.take_away(rows, at),
                _ if is_told => {
                    let row = draft.done(&need.name);
                    values.into_iter().for_each(|(asked, value)| draft.put(row, asked, &value));
                }
                _ => {}
            }
        }
    }

    /// A choice is of certain needs.
    fn forget_choice(&mut self, was: &str) {
        let needs =
            |text: &str| read(text, NAME).ok().map(|file| (file.needs, files(&file.rigs), file.pieces, file.along));
        if !was.is_empty() && needs(was) != needs(&self.kept.text) {
            self.kept.choice = None;
        }
    }
}

fn files(rigs: &[desk::outing::file::RigNamed]) -> Vec<(String, u32)> {
    rigs.iter().map(|rig| (rig.file.clone(), rig.times)).collect()
}

/// A browser sends lines ended its own way.
fn lines(text: &str) -> String {
    let text = text.replace("\r\n", "\n");
    if text.is_empty() || text.ends_with('\n') { text } else { text + "\n" }
}

/// What a row is about, so that it is told from another in its place.
fn name(draft: &Draft, place: Place) -> [String; 3] {
    [NEED[0], NEED[2], RIG[0]]
        .map(|asked| if place == Place::Outing { String::new() } else { draft.told(place, asked) })
}

/// What was typed otherwise than it was shown.
fn changed(typed: &Typed, shown: &Draft) -> Vec<(Place, Asked, String)> {
    let own = OUTING.map(|asked| (Place::Outing, asked, String::new()));
    let times = [Rows::Need, Rows::Rig].into_iter().flat_map(|rows| {
        (0..shown.count(rows)).map(move |at| (Place::Row(rows, at), TIMES, format!("{}-{at}-", rows.key())))
    });
    let all = own.into_iter().chain(times);
    all.filter(|(place, asked, prefix)| fields::differs(typed, prefix, *asked, &shown.told(*place, *asked)))
        .map(|(place, asked, prefix)| (place, asked, fields::typed(typed, &prefix, asked)))
        .collect()
}
