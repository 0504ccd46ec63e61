//! Rope drag: the pull that a leader feels at each clip.

use super::{Spread, pulls};
use crate::band::{Bands, bands_around};
use crate::ground::Lead;
use crate::model::Rig;
use crate::running::Way;
use crate::solve::{Failure, Keeps, Prepared, Task, solve_all};

/// The pull of the rope on a leader who is about to make the next clip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dragged {
    /// How many clips are in.
    pub clips: usize,
    /// Height of the harness, m.
    pub from_m: f64,
    /// The pull, kN.
    pub pull_kn: Spread,
}

/// The pull at the next clip after each number of clips that the rig's table asks for; empty where it asks for none, where
/// nobody takes rope along through clips, or where a part of the climb has no steady state.
pub(super) fn drag(whole: &Prepared<'_>) -> Vec<Dragged> {
    let rig = whole.rig();
    let (Some(table), Some(lead)) = (&rig.clip_table, rig.taken_along()) else { return Vec::new() };
    let stages: Vec<Rig> = (1..=table.clips).map_while(|clips| rig.clipped(lead, clips)).collect();
    let prepared: Vec<Prepared<'_>> = stages.iter().map(|stage| whole.with_ropes_of(stage)).collect();
    let typed: Vec<Task<'_>> = prepared.iter().map(|prepared| Task::typed(prepared, Keeps::Peaks)).collect();
    let Ok(typed) = solve_all(&typed).into_iter().collect::<Result<Vec<_>, _>>() else { return Vec::new() };
    let dragged = |((stage, clipped), bands): ((usize, &Rig), Result<Bands, Failure>)| {
        let (_, pull_kn) = pulls(clipped, &bands.ok()?).into_iter().find(|(line, _)| *line == lead.line)?;
        Some(Dragged { clips: stage + 1, from_m: clipped.points[lead.leader.0].at[2], pull_kn })
    };
    let bands = bands_around(prepared.iter().zip(typed.into_iter().map(Bands::typed_alone)).collect(), |_| true);
    stages.iter().enumerate().zip(bands).map(dragged).collect::<Option<_>>().unwrap_or_default()
}

impl Rig {
    /// The line that is paid out with a given pull and that whoever leads takes along at its last point.
    fn taken_along(&self) -> Option<Lead> {
        let leads = |(line, of): (usize, &crate::model::Line)| {
            let runs = of.runs.filter(|runs| runs.pull.is_some() && runs.way == Way::Out && !runs.hand_is_last)?;
            let leader = *of.through.last()?;
            (runs.is_held && of.through.len() > 2 && self.is_still(leader)).then_some(Lead { line, leader })
        };
        self.lines.iter().enumerate().find_map(leads)
    }
}
