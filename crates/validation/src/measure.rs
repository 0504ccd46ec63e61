//! What `of` names in a solved rig.

use crate::engine::Solved;

/// The dimension of a measured quantity, which decides its unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    /// kN in the rig files.
    Force,
    /// m in the rig files.
    Length,
    /// kN m in the rig files.
    Energy,
    /// Degrees everywhere.
    Angle,
}

/// Measures what `of` names, in the units of the rig files.
///
/// # Errors
/// Where `of` names nothing that is known, or nothing that is in the rig.
pub fn measure(of: &str, solved: &Solved) -> Result<(f64, Dimension), String> {
    let words: Vec<&str> = of.split_whitespace().collect();
    let force = |value: f64| Ok((value, Dimension::Force));
    let length = |value: f64| Ok((value, Dimension::Length));
    match words[..] {
        ["leg", from, to] => force(solved.leg(from, to)?),
        ["line", rope] => force(solved.line(rope)?),
        ["point" | "person", name] => force(solved.point(name)?.0),
        ["along", axis, name] => force(component(solved.point(name)?, axis)?),
        ["down", name] => force(-component(solved.point(name)?, "z")?),
        ["energy"] => Ok((solved.stored(), Dimension::Energy)),
        ["moved", axis, name] => {
            let axis = axis_of(axis)?;
            length(solved.place(name)?[axis] - solved.drawn(name)?[axis])
        }
        ["sunk", name] => length(solved.drawn(name)?[2] - solved.place(name)?[2]),
        ["below", upper, lower] => length(solved.place(upper)?[2] - solved.place(lower)?[2]),
        ["hangs", rope, segment] => length(solved.hangs(rope, segment)?),
        ["torn", from, to] => length(solved.torn(from, to)?),
        ["lowest", name] => length(solved.heights(name)?[0]),
        ["fallen", name] => length(solved.drawn(name)?[2] - solved.heights(name)?[0]),
        ["lifted", name] => length(solved.heights(name)?[1] - solved.drawn(name)?[2]),
        ["angle", one, at, other] => {
            let strands = [between(solved, at, one)?, between(solved, at, other)?];
            Ok((angle_between(strands), Dimension::Angle))
        }
        ["slope", from, to] => {
            let span = between(solved, from, to)?;
            Ok((span[2].atan2(span[0].hypot(span[1])).to_degrees(), Dimension::Angle))
        }
        _ => Err(format!("nothing is measured by `{of}`")),
    }
}

fn axis_of(name: &str) -> Result<usize, String> {
    ["x", "y", "z"].iter().position(|axis| *axis == name).ok_or_else(|| format!("no axis `{name}`"))
}

fn component((size, direction): (f64, [f64; 3]), axis: &str) -> Result<f64, String> {
    Ok(size * direction[axis_of(axis)?])
}

fn between(solved: &Solved, from: &str, to: &str) -> Result<[f64; 3], String> {
    let (from, to) = (solved.place(from)?, solved.place(to)?);
    Ok(std::array::from_fn(|axis| to[axis] - from[axis]))
}

fn angle_between([a, b]: [[f64; 3]; 2]) -> f64 {
    let dot = |a: [f64; 3], b: [f64; 3]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    (dot(a, b) / (dot(a, a) * dot(b, b)).sqrt()).acos().to_degrees()
}
