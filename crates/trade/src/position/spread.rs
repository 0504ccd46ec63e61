//! How far the pulls on one end of a connector spread.

use super::{Place, PullOn, Setting, thresholds};
use terms::Angle;

type Vector = [f64; 3];

/// The pulls that the connector itself takes, in newtons: what acts as one is added up, what pulls but little is left out.
///
/// Strands of a rope that runs through, and legs of a sling that lies in the connector once, act as one pull. What `joins` does
/// not name comes by way of its plain words ("master loop"); where it has none, other connectors take it.
pub(super) fn loads(setting: &Setting) -> Vec<Vector> {
    let mut groups: Vec<(Thing, Vector)> = Vec::new();
    let mut is_all_taken = true;
    for (index, pull) in setting.pulls.iter().enumerate() {
        let Some(thing) = thing(setting, index, pull) else {
            is_all_taken = false;
            continue;
        };
        let vector = pull.direction.map(|part| part * pull.force.newtons());
        match groups.iter_mut().find(|(known, _)| *known == thing) {
            Some((_, sum)) => *sum = add(*sum, vector),
            None => groups.push((thing, vector)),
        }
    }
    let mut loads: Vec<_> = groups.into_iter().map(|(_, sum)| sum).collect();
    if !is_all_taken || matches!(setting.place, Place::Anchor | Place::BoltEnd | Place::Person) {
        loads.push(loads.iter().fold([0.0; 3], |sum, load| add(sum, load.map(|part| -part))));
    }
    drop_small(loads)
}

/// What lies in a connector and pulls as one.
#[derive(PartialEq)]
enum Thing<'a> {
    Named(&'a str),
    Strand(usize),
    PlainWords,
}

fn thing<'a>(setting: &Setting, index: usize, pull: &PullOn<'a>) -> Option<Thing<'a>> {
    let joins = &setting.connector.joins;
    if pull.runs_through && (joins.is_empty() || joins.iter().any(|name| name == pull.name)) {
        return Some(Thing::Named(pull.name));
    }
    if joins.is_empty() {
        return Some(Thing::Strand(index));
    }
    match joins.iter().filter(|name| *name == pull.name).count() {
        0 => has_plain_words(setting).then_some(Thing::PlainWords),
        1 => Some(Thing::Named(pull.name)),
        _ => Some(Thing::Strand(index)),
    }
}

/// Whether `joins` has words that are neither a strand that pulls here nor a connector.
fn has_plain_words(setting: &Setting) -> bool {
    let is_plain = |name: &String| {
        setting.pulls.iter().all(|pull| pull.name != name) && setting.neighbours.iter().all(|other| other != name)
    };
    setting.connector.joins.iter().any(is_plain)
}

fn drop_small(loads: Vec<Vector>) -> Vec<Vector> {
    let least = thresholds().least_share.value * loads.iter().copied().map(length).fold(0.0, f64::max);
    loads.into_iter().filter(|load| length(*load) > least).collect()
}

/// The widest angle between two loads on the same end; `None` where no end has two.
///
/// The largest load marks one end; whatever pulls within a right angle of it pulls on the same end.
pub(super) fn widest_on_one_end(loads: &[Vector]) -> Option<Angle> {
    let axis = loads.iter().copied().max_by(|one, other| length(*one).total_cmp(&length(*other)))?;
    let (one_end, other_end): (Vec<Vector>, Vec<Vector>) = loads.iter().partition(|load| dot(axis, **load) > 0.0);
    [one_end, other_end]
        .iter()
        .flat_map(|end| pairs(end))
        .map(|(one, other)| angle(one, other))
        .max_by(f64::total_cmp)
        .map(Angle::from_rad)
}

fn pairs(loads: &[Vector]) -> impl Iterator<Item = (Vector, Vector)> + '_ {
    loads.iter().enumerate().flat_map(|(index, one)| loads[index + 1..].iter().map(move |other| (*one, *other)))
}

fn angle(one: Vector, other: Vector) -> f64 {
    (dot(one, other) / (length(one) * length(other))).clamp(-1.0, 1.0).acos()
}

fn add(one: Vector, other: Vector) -> Vector {
    [one[0] + other[0], one[1] + other[1], one[2] + other[2]]
}

fn dot(one: Vector, other: Vector) -> f64 {
    one[0] * other[0] + one[1] * other[1] + one[2] * other[2]
}

fn length(vector: Vector) -> f64 {
    dot(vector, vector).sqrt()
}
