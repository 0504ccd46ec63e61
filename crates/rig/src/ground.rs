//! What a fall comes to: the ground, ledges and walls; and the falls of a leader clip by clip.

use crate::band::{Corner, corners, variation};
use crate::falling::lowest;
use crate::file::GROUND;
use crate::model::{Case, Draw, LineLength, PointId, Rig};
use crate::solve::{Failure, Prepared, Step, Task};
use mechanics::fall::Moment;
use mechanics::number::Number;
use terms::Length;

/// What somebody came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Obstacle {
    /// Place in [`Rig::ledges`].
    Ledge(usize),
    /// Place in [`Rig::walls`].
    Wall(usize),
}

/// Somebody who falls comes to a ledge or a wall. The fall is followed on as if it were not there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meeting {
    /// Who.
    pub person: PointId,
    /// What.
    pub with: Obstacle,
    /// When, in s.
    pub time_s: f64,
    /// How fast: into a ledge downward, into a wall across it, m/s.
    pub speed_m_s: f64,
}

/// Watches a fall for meetings.
pub(crate) struct Meetings<'r> {
    rig: &'r Rig,
    falling: Vec<PointId>,
    before: Vec<[f64; 3]>,
    pub met: Vec<Meeting>,
}

impl<'r> Meetings<'r> {
    pub fn of(rig: &'r Rig) -> Self {
        let falling: Vec<PointId> = (0..rig.points.len()).map(PointId).filter(|&point| rig.falls(point)).collect();
        let before = falling.iter().map(|point| rig.points[point.0].at).collect();
        Self { rig, falling, before, met: Vec::new() }
    }

    /// Compares where everybody is with where they were a step before.
    pub fn see<N: Number>(&mut self, moment: &Moment<'_, N>, lane: usize) {
        if self.rig.ledges.is_empty() && self.rig.walls.is_empty() {
            return;
        }
        for (&person, before) in self.falling.iter().zip(&mut self.before) {
            let after = moment.at(person.0).lane(lane).0;
            let velocity = moment.velocity(person.0).lane(lane).0;
            let ledges = (0..self.rig.ledges.len()).map(Obstacle::Ledge);
            for with in ledges.chain((0..self.rig.walls.len()).map(Obstacle::Wall)) {
                let is_new = !self.met.iter().any(|met| met.person == person && met.with == with);
                if is_new && self.rig.crosses(with, *before, after) {
                    let speed_m_s = match with {
                        Obstacle::Ledge(_) => velocity[2].abs(),
                        Obstacle::Wall(_) => velocity[0].abs(),
                    };
                    self.met.push(Meeting { person, with, time_s: moment.time(), speed_m_s });
                }
            }
            *before = after;
        }
    }
}

impl Rig {
    /// Whether a way from one place to another comes down on a ledge, or goes through a wall.
    fn crosses(&self, with: Obstacle, before: [f64; 3], after: [f64; 3]) -> bool {
        let within =
            |reach: Option<[f64; 2]>, place: f64| reach.is_none_or(|[low, high]| low <= place && place <= high);
        match with {
            Obstacle::Ledge(ledge) => {
                let ledge = &self.ledges[ledge];
                before[2] > ledge.height_m && after[2] <= ledge.height_m && within(ledge.x_m, after[0])
            }
            Obstacle::Wall(wall) => {
                let wall = &self.walls[wall];
                let [was, is] = [before[0] - wall.x_m, after[0] - wall.x_m];
                was * is <= 0.0 && was != 0.0 && within(wall.z_m, after[2])
            }
        }
    }

    /// The name of a ledge or a wall.
    #[must_use]
    pub fn obstacle(&self, with: Obstacle) -> &str {
        match with {
            Obstacle::Ledge(ledge) => &self.ledges[ledge].name,
            Obstacle::Wall(wall) => &self.walls[wall].name,
        }
    }

    /// Height of the ground: as given, or else the highest floor that somebody stands on.
    #[must_use]
    pub fn ground_m(&self) -> Option<f64> {
        let given = self.ledges.iter().find(|ledge| ledge.name == GROUND).map(|ledge| ledge.height_m);
        let standing = (0..self.points.len()).map(PointId).filter(|&point| self.stands(point));
        let floors = standing.map(|point| self.points[point.0].at[2]);
        given.or_else(|| floors.reduce(f64::max))
    }
}

/// One fall of the table: off just before the next clip.
#[derive(Debug, Clone, PartialEq)]
pub struct ClipFall {
    /// How many clips are in.
    pub clips: usize,
    /// The slack, m.
    pub slack_m: f64,
    /// Height of the harness when the fall begins, m.
    pub from_m: f64,
    /// Lowest height over all cases, m, and as typed.
    pub lowest_m: f64,
    /// Lowest height with the numbers as typed, m.
    pub as_typed_m: f64,
    /// The case of the lowest.
    pub worst_in: Corner,
    /// Whether that is the ground or below.
    pub reaches_ground: bool,
}

/// The falls of the table that a rig asks for: a leader who comes off with the harness at the next clip, with each of the
/// slacks, in that order; one line through draws to one person who falls, or else none.
///
/// # Errors
/// The first [`Failure`].
pub fn clip_falls(whole: &Prepared<'_>) -> Result<Vec<ClipFall>, Failure> {
    let rig = whole.rig();
    let Some(table) = rig.clip_table.as_ref().filter(|_| rig.case == Case::Fall) else { return Ok(Vec::new()) };
    let Some(lead) = rig.lead() else { return Ok(Vec::new()) };
    let stages: Vec<(usize, Rig)> =
        (1..=table.clips).map_while(|clips| Some((clips, rig.clipped(lead, clips)?))).collect();
    let slacks = |(clips, stage): &(usize, Rig)| -> Vec<Stage> {
        table.slack_m.iter().map(|&slack_m| Stage::of(*clips, stage, lead, slack_m)).collect()
    };
    let stages: Vec<Stage> = stages.iter().flat_map(slacks).collect();
    let prepared: Vec<Prepared<'_>> = stages.iter().map(|stage| whole.with_ropes_of(&stage.rig)).collect();
    let cases: Vec<Vec<Corner>> = stages.iter().map(|stage| with_typed(&stage.rig)).collect();
    let tasks: Vec<Task<'_>> =
        prepared.iter().zip(&cases).flat_map(|(prepared, cases)| tasks(prepared, cases)).collect();
    let mut heights = lowest(&tasks).into_iter();
    let mut fall = |(stage, cases): (&Stage, Vec<Corner>)| {
        let of_leader = |(corner, heights): (Corner, Result<Vec<f64>, Failure>)| Ok((corner, heights?[lead.leader.0]));
        let count = cases.len();
        let lowest: Result<Vec<_>, Failure> =
            cases.into_iter().zip(heights.by_ref().take(count)).map(of_leader).collect();
        Ok(stage.fall(lead, &lowest?))
    };
    stages.iter().zip(cases).map(&mut fall).collect()
}

/// Heights are asked for, of every corner.
fn tasks<'t>(prepared: &'t Prepared<'t>, cases: &'t [Corner]) -> impl Iterator<Item = Task<'t>> {
    let of = |corner: &Corner| Task::of(prepared, variation(prepared.rig(), *corner));
    cases.iter().map(move |corner| Task { step: Step::ForPersons, ..of(corner) })
}

fn with_typed(rig: &Rig) -> Vec<Corner> {
    std::iter::once(Corner::TYPED).chain(corners(rig)).collect()
}

/// A rig of the table.
struct Stage {
    clips: usize,
    slack_m: f64,
    rig: Rig,
}

impl Stage {
    fn of(clips: usize, clipped: &Rig, lead: Lead, slack_m: f64) -> Self {
        let mut rig = clipped.clone();
        rig.lines[lead.line].length = LineLength::Slack(Length::from_m(slack_m));
        Self { clips, slack_m, rig }
    }

    /// From the lowest height in each case, as typed first.
    fn fall(&self, lead: Lead, cases: &[(Corner, f64)]) -> ClipFall {
        let deeper = |deepest: (Corner, f64), next: &(Corner, f64)| if next.1 < deepest.1 { *next } else { deepest };
        let (worst_in, lowest_m) = cases.iter().fold(cases[0], deeper);
        ClipFall {
            clips: self.clips,
            slack_m: self.slack_m,
            from_m: self.rig.points[lead.leader.0].at[2],
            lowest_m,
            as_typed_m: cases[0].1,
            worst_in,
            reaches_ground: self.rig.ground_m().is_some_and(|ground| lowest_m <= ground),
        }
    }
}

/// A line that leads through points to whoever climbs on.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Lead {
    /// Place of the line.
    pub line: usize,
    /// Who leads.
    pub leader: PointId,
}

impl Rig {
    /// The line that leads through points to somebody who falls.
    fn lead(&self) -> Option<Lead> {
        let leads = |(line, of): (usize, &crate::model::Line)| {
            let leader = *of.through.last()?;
            (self.falls(leader) && of.through.len() > 2).then_some(Lead { line, leader })
        };
        self.lines.iter().enumerate().find_map(leads)
    }

    /// The rig with the first `clips` clips in and the leader at the next one; `None` beyond the last.
    pub(crate) fn clipped(&self, Lead { line, leader }: Lead, clips: usize) -> Option<Rig> {
        let at = self.next_clip(line, leader, clips)?;
        let mut clipped = self.clone();
        let through = &self.lines[line].through;
        clipped.lines[line].through = through[..=clips].iter().copied().chain([leader]).collect();
        clipped.points[leader.0].at = at;
        clipped.clip_table = None;
        // Draws that are not clipped yet hang free and move nobody.
        let (clipped_in, later) = through.split_at(clips + 1);
        let is_free = |draw: &&Draw| later.contains(&draw.joint) && !clipped_in.contains(&draw.joint);
        self.draws.iter().filter(is_free).for_each(|draw| clipped.remove_anchor(draw.on));
        Some(clipped)
    }

    /// Where the harness is when the clip after the first `clips` is about to be made; after the last, where the file has it.
    fn next_clip(&self, line: usize, leader: PointId, clips: usize) -> Option<[f64; 3]> {
        let through = &self.lines[line].through;
        let last = through.len() - 1;
        match clips.cmp(&(last - 1)) {
            std::cmp::Ordering::Less => Some(self.points[through[clips + 1].0].at),
            std::cmp::Ordering::Equal => Some(self.points[leader.0].at),
            std::cmp::Ordering::Greater => None,
        }
    }
}
