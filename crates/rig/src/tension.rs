//! Lines that were tensioned before anything hung on them: their length follows from the pull.

use crate::model::Rig;
use mechanics::rest::{self, Hold, Net, Unrest};
use mechanics::vector::Vector;

/// How closely (relative) the pull is met.
const CLOSENESS: f64 = 1e-9;
const MOST_ROUNDS: usize = 60;
/// The shortest and the longest that a line may be, as a share of its length as drawn.
const SHARES: [f64; 2] = [0.2, 4.0];

/// Why lines could not be tensioned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Untensioned {
    /// There is no rest.
    Unrest(Unrest),
    /// No length gives this line its pull, alone or with the others.
    NotMet { line: usize },
}

impl From<Unrest> for Untensioned {
    fn from(unrest: Unrest) -> Self {
        Self::Unrest(unrest)
    }
}

/// The net with each tensioned line as long as makes it pull with its tension where it begins, with nothing on it.
pub(crate) fn tensioned(rig: &Rig, net: Net) -> Result<Net, Untensioned> {
    let lines: Vec<(usize, f64)> =
        rig.lines.iter().enumerate().filter_map(|(line, of)| Some((line, of.tensioned?.newtons()))).collect();
    if lines.is_empty() {
        return Ok(net);
    }
    let mut empty = without_loads(&net);
    lines.iter().for_each(|&(line, _)| let_go_of_riders(&mut empty, line));
    // One line after the other, until no one changes another's pull.
    for _ in 0..MOST_ROUNDS {
        for &(line, pull) in &lines {
            tension(&mut empty, line, pull)?;
        }
        if unmet(&empty, &lines)?.is_none() {
            break;
        }
    }
    if let Some(line) = unmet(&empty, &lines)? {
        return Err(Untensioned::NotMet { line });
    }
    let mut net = net;
    lines.iter().for_each(|&(line, _)| net.lines[line].length = empty.lines[line].length);
    Ok(net)
}

fn without_loads(net: &Net) -> Net {
    let mut empty = net.clone();
    for node in &mut empty.nodes {
        node.load = Vector::zero();
        if node.hold == Hold::Stands {
            node.hold = Hold::Fixed;
        }
    }
    empty
}

/// What only rides on a line has no place of its own there while nothing hangs on it: the line runs without it.
fn let_go_of_riders(net: &mut Net, line: usize) {
    let mut ties = vec![0; net.nodes.len()];
    net.legs.iter().flat_map(|leg| leg.ends).for_each(|end| ties[end] += 1);
    net.lines.iter().flat_map(|line| &line.through).for_each(|&point| ties[point] += 1);
    let nodes = &net.nodes;
    net.lines[line].through.retain(|&point| nodes[point].hold != Hold::Free || ties[point] > 1);
}

/// The first line whose pull is not what it should be.
fn unmet(net: &Net, lines: &[(usize, f64)]) -> Result<Option<usize>, Unrest> {
    for &(line, pull) in lines {
        if excess(net, line, pull)?.abs() >= CLOSENESS {
            return Ok(Some(line));
        }
    }
    Ok(None)
}

/// By what share a line pulls harder at its beginning than it should.
fn excess(net: &Net, line: usize, pull: f64) -> Result<f64, Unrest> {
    Ok(rest::solve(net)?.strands[line][0].pulls[0].norm() / pull - 1.0)
}

/// Sets one line's length by halving an interval of its logarithm: the pull falls as the line grows.
fn tension(net: &mut Net, line: usize, pull: f64) -> Result<(), Unrest> {
    if excess(net, line, pull)?.abs() < CLOSENESS {
        return Ok(());
    }
    let drawn: f64 =
        net.lines[line].through.windows(2).map(|pair| (net.nodes[pair[1]].at - net.nodes[pair[0]].at).norm()).sum();
    let [mut low, mut high] = SHARES.map(|share| (share * drawn).ln());
    for _ in 0..MOST_ROUNDS {
        let middle = f64::midpoint(low, high);
        net.lines[line].length = middle.exp();
        let found = excess(net, line, pull)?;
        if found.abs() < CLOSENESS {
            break;
        }
        if found > 0.0 { low = middle } else { high = middle }
    }
    Ok(())
}
