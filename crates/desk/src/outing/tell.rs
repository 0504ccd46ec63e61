//! A plan in words and as JSON.

use super::{Cost, Day, Kept, Planned, Point, Unasked};
use crate::columns::columns;
use crate::figures::{mass, strength, two_figures};
use crate::rack::Answer;
use crate::rack::labels::compact;
use crate::texts;
use plan::choice::{Choice, Taken};
use plan::outing::{Misfit, Need, Outing, Piece};
use plan::statement::Goal;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use terms::Force;
use trade::duty::Unfit;

fn say(code: &str, values: &[(&str, String)]) -> String {
    texts::outing(code, values)
}

impl Day {
    /// When, and for how many.
    #[must_use]
    pub fn when(&self) -> String {
        let code = if self.file.days == 1 { "day-one" } else { "days" };
        let values = [
            ("day", self.day.to_string()),
            ("days", self.file.days.to_string()),
            ("people", self.file.people.to_string()),
        ];
        say(code, &values)
    }

    /// A plan, told.
    #[must_use]
    pub fn told(&self, outing: &Outing, planned: &Planned) -> Answer {
        let choice = &planned.choice;
        let mut lines = vec![self.file.title.clone(), self.when(), String::new()];
        lines.extend(self.needs(outing, planned));
        lines.extend(planned.unasked.as_ref().map(Unasked::words));
        lines.extend(beside(outing, choice));
        lines.extend(self.masses(outing, choice));
        for (place, need) in outing.needs.iter().enumerate().filter(|(place, _)| choice.short[*place] > 0) {
            lines.push(String::new());
            lines.push(short(need, choice.short[place]));
            lines.push(refused(outing, need, choice));
        }
        lines.extend(planned.fix.iter().flat_map(|fix| remedies(outing, fix)));
        let mut answer = Answer::cautioned(lines.join("\n") + "\n", self.json(outing, planned));
        answer.counts = choice.is_short();
        answer
    }

    fn needs(&self, outing: &Outing, planned: &Planned) -> Vec<String> {
        let mut lines = Vec::new();
        for (place, need) in outing.needs.iter().enumerate() {
            let taken = planned.choice.taken(place);
            let grams = taken.iter().map(|taken| mass_of(outing, taken)).sum::<Option<u32>>();
            lines.push(format!("{} × {}: {}", need.count, need.name, met(&planned.choice, place)));
            lines.push(say(
                "why",
                &[("reason", need.duty.reason.clone()), ("source", texts::source(&need.duty.source))],
            ));
            if let Some(grams) = grams.filter(|grams| *grams > 0) {
                lines.push(format!("  {}", mass(i64::from(grams))));
            }
            let runners_up = planned.runners_up.get(place).into_iter().flatten();
            lines.extend(
                runners_up.map(|(label, cost)| say("without", &[("label", label.clone()), ("cost", cost.words())])),
            );
        }
        lines
    }

    fn masses(&self, outing: &Outing, choice: &Choice) -> Vec<String> {
        let all = choice.goal(Goal::Mass);
        let each = all / i64::from(self.file.people.max(1));
        let mut lines = vec![String::new(), say("mass", &[("mass", mass(all)), ("each", mass(each))])];
        let over = choice.goal(Goal::Over);
        if over > 0 {
            lines.push(say("over", &[("mass", mass(over))]));
        }
        let taken = all_taken(outing, choice);
        let unknown: Vec<_> =
            taken.iter().filter(|taken| mass_of(outing, taken).is_none()).map(|taken| taken.label.clone()).collect();
        if !unknown.is_empty() {
            lines.push(say("mass-unknown", &[("labels", compact(&unknown))]));
        }
        lines
    }

    fn json(&self, outing: &Outing, planned: &Planned) -> Value {
        let choice = &planned.choice;
        let kept = Kept::of(outing, choice);
        let mut needs = json!(kept.needs);
        for (place, need) in outing.needs.iter().enumerate() {
            let runners_up = planned.runners_up.get(place).into_iter().flatten();
            let told = json!({
                "duty": need.duty.name, "times": need.count, "short": choice.short[place],
                "why": need.duty.reason, "source": texts::source(&need.duty.source),
                "refused": (choice.short[place] > 0).then(|| refused(outing, need, choice).trim().to_owned()),
                "without": runners_up.map(|(label, cost)| json!({ "label": label, "goal": cost.goal.code(), "by": cost.by, "words": cost.words() })).collect::<Vec<_>>(),
            });
            if let (Value::Object(own), Value::Object(told)) = (&mut needs[place], told) {
                own.extend(told);
            }
        }
        let goals: BTreeMap<_, _> = choice.goals.iter().map(|(goal, sum)| (goal.code(), *sum)).collect();
        json!({
            "title": self.file.title, "when": self.when(), "weighs": self.masses(outing, choice).split_off(1),
            "day": self.day.to_string(), "days": self.file.days, "people": self.file.people,
            "needs": needs, "beside": taken_json(&choice.idle(outing)), "left": taken_json(&choice.left(outing)), "goals": goals,
            "unasked": planned.unasked.as_ref().map(Unasked::words),
            "fix": planned.fix.as_ref().map(|fix| fix_json(outing, fix)),
        })
    }
}

/// What changes from one choice to the other, told.
#[must_use]
pub fn swapped(outing: &Outing, earlier: &Choice, planned: &Planned, day: &Day) -> Answer {
    let mut changes = Vec::new();
    for (place, need) in outing.needs.iter().enumerate() {
        let (old, new) = (earlier.taken(place), planned.choice.taken(place));
        if old != new {
            changes.push((need.name.clone(), less(&old, &new), less(&new, &old)));
        }
    }
    let mut lines: Vec<String> = changes
        .iter()
        .filter(|(_, old, new)| !(old.is_empty() && new.is_empty()))
        .map(|(need, old, new)| say("swapped", &[("need", need.clone()), ("old", listed(old)), ("new", listed(new))]))
        .collect();
    lines.push(say("unchanged", &[]));
    let shorts = outing.needs.iter().zip(&planned.choice.short).filter(|(_, count)| **count > 0);
    lines.extend(shorts.map(|(need, count)| short(need, *count)));
    let mut json = day.json(outing, planned);
    json["changes"] = changes
        .iter()
        .map(|(need, old, new)| json!({ "need": need, "out": taken_json(old), "in": taken_json(new) }))
        .collect();
    let mut answer = Answer::cautioned(lines.join("\n") + "\n", json);
    answer.counts = planned.choice.is_short();
    answer
}

/// A curve, told.
#[must_use]
pub fn curve(points: &[Point]) -> Answer {
    let head: Vec<String> = say("curve", &[]).split('|').map(str::to_owned).collect();
    let row = |point: &Point| vec![two_figures(point.margin), mass(point.mass_g)];
    let text = if points.is_empty() {
        say("curve-none", &[]) + "\n"
    } else {
        columns(&[head].into_iter().chain(points.iter().map(row)).collect::<Vec<_>>())
    };
    let points: Vec<_> = points.iter().map(|point| json!({ "margin": point.margin, "mass_g": point.mass_g })).collect();
    Answer::cautioned(text, json!({ "points": points }))
}

/// What is in one list and not in the other.
fn less(one: &[Taken], other: &[Taken]) -> Vec<Taken> {
    let left = |taken: &Taken| {
        let kept = other.iter().find(|other| other.label == taken.label).map_or(0, |other| other.count);
        let count = taken.count.saturating_sub(kept);
        (count > 0).then(|| Taken { label: taken.label.clone(), count })
    };
    one.iter().filter_map(left).collect()
}

fn listed(taken: &[Taken]) -> String {
    let one = |taken: &Taken| {
        if taken.count == 1 { taken.label.clone() } else { format!("{} × {}", taken.count, taken.label) }
    };
    if taken.is_empty() { "-".to_owned() } else { taken.iter().map(one).collect::<Vec<_>>().join(", ") }
}

/// The pieces of each time: pairs told as such.
fn met(choice: &Choice, need: usize) -> String {
    let units = &choice.units[need];
    if units.iter().any(|unit| unit.pieces.iter().map(|taken| taken.count).sum::<u32>() > 1) {
        return units.iter().map(|unit| listed(&unit.pieces).replace(", ", " + ")).collect::<Vec<_>>().join("; ");
    }
    listed(&choice.taken(need))
}

fn beside(outing: &Outing, choice: &Choice) -> Vec<String> {
    let idle = choice.idle(outing);
    let idle = (!idle.is_empty()).then(|| say("idle", &[("labels", listed(&idle))]));
    idle.into_iter().chain(left(outing, choice)).flat_map(|line| [String::new(), line]).collect()
}

/// What belongs to a set that goes along, and stays, in words.
pub(super) fn left(outing: &Outing, choice: &Choice) -> Option<String> {
    let left = choice.left(outing);
    (!left.is_empty()).then(|| say("left", &[("labels", listed(&left))]))
}

fn all_taken(outing: &Outing, choice: &Choice) -> Vec<Taken> {
    (0..outing.needs.len()).flat_map(|need| choice.taken(need)).chain(choice.idle(outing)).collect()
}

pub(super) fn mass_of(outing: &Outing, taken: &Taken) -> Option<u32> {
    Some(outing.piece(&taken.label)?.mass_g? * taken.count)
}

/// That a need is not met so many times.
pub(super) fn short(need: &Need, short: u32) -> String {
    let values = [("need", need.name.clone()), ("count", short.to_string()), ("asked", need.count.to_string())];
    say("short", &values)
}

/// Why what is there does not do, counted.
fn refused(outing: &Outing, need: &Need, choice: &Choice) -> String {
    let taken = all_taken(outing, choice);
    let is_taken = |piece: &Piece| taken.iter().any(|taken| taken.label == piece.label);
    let mut counts: BTreeMap<&'static str, u32> = BTreeMap::new();
    for piece in &outing.pieces {
        let why = match need.suit(piece) {
            Err(Misfit::Unfit(Unfit::Gear)) => continue,
            Err(misfit) => misfit.code(),
            Ok(_) if piece.stays.is_some() => "stays",
            Ok(_) if is_taken(piece) => "taken",
            // One that does and is left over has no second of its size.
            Ok(_) => "size",
        };
        *counts.entry(why).or_default() += piece.count;
    }
    if counts.is_empty() {
        return say("refused-none", &[]);
    }
    let told = counts.iter().map(|(code, count)| format!("{count} {}", say(&format!("misfit-{code}"), &[])));
    say("refused", &[("reasons", told.collect::<Vec<_>>().join(", "))])
}

fn remedies(outing: &Outing, fix: &Choice) -> Vec<String> {
    let mut lines = vec![String::new(), say("fix", &[])];
    for (place, count, like) in &fix.remedies.buy {
        let need = &outing.needs[*place];
        let mut values =
            vec![("count", count.to_string()), ("need", need.name.clone()), ("asked", asked(outing, need, fix))];
        values.extend(like.clone().map(|label| ("label", label)));
        lines.push(say(if like.is_some() { "fix-buy-like" } else { "fix-buy" }, &values));
    }
    for (code, list) in [("fix-borrow", &fix.remedies.borrow), ("fix-inspect", &fix.remedies.inspect)] {
        if !list.is_empty() {
            lines.push(say(code, &[("labels", listed(list))]));
        }
    }
    lines
}

/// What a piece has to be that is bought for a need.
fn asked(outing: &Outing, need: &Need, fix: &Choice) -> String {
    let duty = &need.duty;
    let mut parts = vec![duty.gear.code().to_owned()];
    let codes = |codes: Vec<&str>| codes.join(", ");
    if !duty.shapes.is_empty() {
        parts.push(say("ask-shapes", &[("shapes", codes(duty.shapes.iter().map(|shape| shape.code()).collect()))]));
    }
    if !duty.locks.is_empty() {
        parts.push(say("ask-locks", &[("locks", codes(duty.locks.iter().map(|lock| lock.code()).collect()))]));
    }
    let names = ["closed-short", "open-short", "minor-short"];
    for (position, name) in names.iter().enumerate() {
        let load = need.loads.by_position()[position];
        let least = load.map(|load| Force::from_newtons(load.newtons() * need.margins[position]));
        let asked = [duty.least.by_position()[position], least].into_iter().flatten();
        if let Some(most) = asked.max_by(|a, b| a.newtons().total_cmp(&b.newtons())) {
            let kn = strength(most).replace(" kN", "");
            parts.push(say("ask-least", &[("kn", kn), ("position", say(name, &[]))]));
        }
    }
    let left = outing.budget_g.map(|budget| i64::from(budget) - fix.goal(Goal::Mass));
    let pieces: u32 = fix.remedies.buy.iter().map(|(_, count, _)| count).sum();
    if let Some(left) = left.filter(|left| *left > 0) {
        parts.push(say("ask-lightest", &[("mass", mass(left / i64::from(pieces.max(1))))]));
    }
    parts.join("; ")
}

fn fix_json(outing: &Outing, fix: &Choice) -> Value {
    let buy = fix.remedies.buy.iter().map(|(need, count, like)| {
        let need = &outing.needs[*need];
        json!({ "need": need.name, "count": count, "like": like, "asked": asked(outing, need, fix) })
    });
    json!({
        "buy": buy.collect::<Vec<_>>(),
        "borrow": taken_json(&fix.remedies.borrow),
        "inspect": taken_json(&fix.remedies.inspect),
    })
}

fn taken_json(taken: &[Taken]) -> Value {
    taken.iter().map(|taken| json!({ "label": taken.label, "count": taken.count })).collect()
}

impl Unasked {
    /// In words.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Many(count) => say("unasked-many", &[("count", count.to_string())]),
            Self::Slow(limit, labels) => {
                let seconds = two_figures(limit.as_secs_f64());
                say("unasked-slow", &[("labels", labels.join(", ")), ("seconds", seconds)])
            }
            Self::Failed(why) => say("unasked-failed", &[("why", why.words().0)]),
        }
    }
}

impl Cost {
    /// In words.
    #[must_use]
    pub fn words(&self) -> String {
        let code = match self.goal {
            Goal::Short => "cost-short",
            Goal::Over => "cost-over",
            Goal::Shape => "cost-shape",
            Goal::Lock => "cost-lock",
            Goal::Use if self.by < 0 => "cost-use-less",
            Goal::Use => "cost-use",
            _ if self.by < 0 => "cost-mass-less",
            _ => "cost-mass",
        };
        say(code, &[("by", self.by.abs().to_string())])
    }
}
