//! The teaching card: a connector drawn, its parts named, its plate, and each position with what it bears and why.

use super::{Sheet, heads, word};
use crate::figures::strength;
use crate::{reading, texts};
use draw::connector::{ConnectorDrawing, GateKind, Outline, PartKind, in_words};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use terms::How;
use trade::connector::{Connector, Gate, Keeper, Lock, Nose, Shape};
use trade::marking::{Mark, RatedPosition, read};
use trade::position::{RULES, Rule};

/// What is known of the connector beside its marking.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pictured {
    /// Outline.
    pub shape: Shape,
    /// Gate.
    pub gate: Gate,
    /// Lock.
    pub lock: Lock,
    /// Nose.
    pub nose: Nose,
    /// Keeper.
    pub keeper: Keeper,
}

impl Pictured {
    /// What is known of a connector, where all is that a drawing shows; one without a word of a keeper has none.
    #[must_use]
    pub fn of(connector: &Connector) -> Option<Self> {
        Some(Self {
            shape: connector.shape?,
            gate: connector.gate?,
            lock: connector.lock?,
            nose: connector.nose?,
            keeper: connector.keeper.unwrap_or(Keeper::None),
        })
    }
}

/// The marking of a connector as far as it tells strengths, as it would be stamped.
#[must_use]
pub fn as_stamped(connector: &Connector) -> String {
    let class = connector.class.map(|class| class.code().to_owned());
    let strengths = [("<->", connector.closed), ("open", connector.open), ("cross", connector.minor)];
    let told = strengths.into_iter().filter_map(|(word, bears)| Some(format!("{word} {}", strength(bears?))));
    class.into_iter().chain(told).collect::<Vec<_>>().join(" ")
}

/// The card of a connector with this marking.
#[must_use]
pub fn teaching_card(marking: &str, pictured: Pictured) -> Sheet {
    let connector = marked(marking, pictured);
    let drawing = drawn(pictured);
    let reading = read(marking);
    let groups = [How::Intended, How::InUse, How::RiggingError].map(|how| group(how, &connector));
    let data = json!({
        "title": texts::fill(&word("teaching-title"), &[("shape", pictured.shape.code().to_owned())]),
        "subtitle": texts::fill(&word("teaching-subtitle"), &[("marking", marking.to_owned())]),
        "connector_in_words": in_words(&drawing),
        "plate_in_words": reading.plate().to_text(),
        "groups": groups,
        "notes": reading.notes.iter().map(|note| texts::note(note).0).collect::<Vec<_>>(),
        "words": { "columns": heads("position-columns"), "notes": word("marks") },
    });
    let drawings = BTreeMap::from([
        ("connector.svg".to_owned(), draw::connector::connector(&drawing)),
        ("plate.svg".to_owned(), reading::svg(marking)),
    ]);
    Sheet { template: "teaching-card.typ", data, drawings }
}

/// The connector that a marking and a look at it describe.
fn marked(marking: &str, pictured: Pictured) -> Connector {
    let reading = read(marking);
    let set = reading.sets.first();
    let rating = |position| set.and_then(|set| Mark::value(set.rating(position)).copied());
    Connector {
        name: word("this-connector"),
        shape: Some(pictured.shape),
        gate: Some(pictured.gate),
        lock: Some(pictured.lock),
        nose: Some(pictured.nose),
        keeper: Some(pictured.keeper),
        closed: rating(RatedPosition::Closed),
        open: rating(RatedPosition::Open),
        minor: rating(RatedPosition::Minor),
        ..Connector::default()
    }
}

/// Positions of one kind: every one there is, since a card teaches all of them.
fn group(how: How, connector: &Connector) -> Value {
    let text = texts::how(how);
    let rules = RULES.iter().filter(|rule| rule.position.how() == how);
    json!({
        "title": text.name,
        "meaning": text.paragraph,
        "positions": rules.map(|rule| position(rule, connector)).collect::<Vec<_>>(),
    })
}

fn position(rule: &Rule, connector: &Connector) -> Value {
    let bears = (rule.bears)(connector);
    let text = texts::position(rule.position);
    json!({
        "name": text.name,
        "bears": bears.force.map_or_else(|| word("no-rating"), strength),
        "why": text.paragraph,
        "look_for": text.look_for,
    })
}

fn drawn(pictured: Pictured) -> ConnectorDrawing {
    let outline = match pictured.shape {
        Shape::Pear => Outline::Pear,
        Shape::D => Outline::D,
        Shape::OffsetD => Outline::OffsetD,
        Shape::Oval => Outline::Oval,
        Shape::QuickLink => Outline::QuickLink,
    };
    let gate = match pictured.gate {
        Gate::Solid => GateKind::Solid,
        Gate::Wire => GateKind::Wire,
    };
    let title = texts::fill(&word("teaching-title"), &[("shape", pictured.shape.code().to_owned())]);
    let sleeve = pictured.lock != Lock::None;
    let keeper = pictured.keeper == Keeper::Bar;
    ConnectorDrawing {
        title,
        outline,
        gate,
        sleeve,
        hooked: pictured.nose == Nose::Hooked,
        keeper,
        names: names(outline, sleeve, keeper),
    }
}

fn names(outline: Outline, sleeve: bool, keeper: bool) -> Vec<(PartKind, String)> {
    let is_link = outline == Outline::QuickLink;
    let parts = [
        (PartKind::Spine, "part-spine", true),
        (PartKind::Basket, "part-basket", true),
        (PartKind::Keeper, "part-keeper", keeper),
        (PartKind::Nose, "part-nose", !is_link),
        (PartKind::Sleeve, if is_link { "part-nut" } else { "part-sleeve" }, sleeve || is_link),
        (PartKind::Gate, "part-gate", !is_link),
        (PartKind::Hinge, "part-hinge", !is_link),
    ];
    parts.into_iter().filter(|(.., is_there)| *is_there).map(|(part, code, _)| (part, word(code))).collect()
}
