//! `linkwright log`.

use super::Result;
use super::args::{About, Log};
use desk::rack::falls::Held;
use desk::rack::fields::decimal;
use desk::rack::happen::{self, day_of_use};
use desk::rack::{Pick, Rack};
use register::event::{Event, Reading};

/// Writes what happened, or shows what is written.
pub async fn run(rack: &Rack<'_>, what: &Log) -> Result {
    match what {
        Log::List { before, limit } => rack.entries(*before, *limit).await,
        Log::Correct { entry, on, labels, remark, note } => {
            let anew = happen::Anew { on: on.clone(), labels: labels.clone(), remark: remark.clone() };
            rack.correct(*entry, &anew, note.as_deref()).await
        }
        Log::FallHeld { about, force, from_check, link, severe } => {
            let (force, from_check, link) = (force.clone(), from_check.clone(), link.clone());
            rack.fall_held(&told(about), &Held { force, from_check, link, severe: *severe }).await
        }
        happened => {
            let (about, event) = event(rack, happened).await?;
            rack.log(&told(about), event).await
        }
    }
}

fn told(about: &About) -> happen::About {
    let labels = || Pick::Labels(about.labels.clone().unwrap_or_default());
    let pick = about.kit.clone().map_or_else(labels, Pick::Kit);
    happen::About {
        pick,
        on: about.on.clone(),
        note: about.note.clone(),
        photos: about.photo.iter().cloned().map(happen::Paper::File).collect(),
    }
}

async fn event<'a>(rack: &Rack<'_>, what: &'a Log) -> Result<(&'a About, Event)> {
    Ok(match what {
        Log::Used { about, duty, rappels, lowers, run, falls, force, severe } => {
            (about, day_of_use(duty.clone(), *rappels, *lowers, *run, *falls, force.as_deref(), *severe)?)
        }
        Log::FirstUse(about) => (about, Event::FirstUse),
        Log::Bought { about, supplier } => (about, Event::Bought { supplier: supplier.clone() }),
        Log::Dropped { about, height, onto } => {
            let height = height.as_deref().map(|height| decimal(height, 3)).transpose()?;
            (about, Event::Dropped { height_mm: height.map(i64::from), onto: onto.clone() })
        }
        Log::Exposed { about, to } => (about, Event::Exposed { to: to.clone() }),
        Log::Cleaned(about) => (about, Event::Cleaned),
        Log::Measured { about, what, how, mm, plus_minus } => {
            let (what, how, value) = (what.clone(), how.clone(), i64::from(decimal(mm, 3)?));
            let off = plus_minus.as_deref().map(|off| decimal(off, 3)).transpose()?.map(i64::from);
            let interval = off.map(|off| (value.saturating_sub(off).max(0), value.saturating_add(off)));
            (about, Event::Measured(Reading { what, how, value, interval, bar_um: None }))
        }
        Log::Repaired { about, part } => (about, Event::Repaired { part: part.clone() }),
        Log::Restricted { about, to } => (about, Event::Restricted { to: to.clone() }),
        Log::Quarantined { about, why } => (about, Event::Quarantined { why: why.clone(), incident: None }),
        Log::HandedTo { about, person, site } => {
            let person = match person {
                Some(name) => Some(rack.person(name).await?),
                None => None,
            };
            (about, Event::HandedTo { person, site: site.clone() })
        }
        Log::Returned(about) => (about, Event::Returned),
        Log::Withdrawn { about, why } => (about, Event::Withdrawn { why: why.clone() }),
        Log::Destroyed(about) => (about, Event::Destroyed),
        Log::Lost(about) => (about, Event::Lost),
        Log::Found(about) => (about, Event::Found),
        Log::List { .. } | Log::Correct { .. } | Log::FallHeld { .. } => unreachable!("told apart before"),
    })
}
