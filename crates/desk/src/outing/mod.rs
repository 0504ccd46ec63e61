//! Outings: from a file and a rack to named pieces for each duty.
//!
//! ```text
//!   file ─▶ day (rigs checked for loads) ─▶ outing (pieces of the rack or of the file) ─▶ plan ─▶ told
//! ```

mod buying;
pub mod by_hand;
pub mod draft;
pub mod file;
mod kept;
mod sheet;
mod tell;

use crate::checking::{self, Trouble};
use crate::solving::{SolveTrouble, Solver};
use crate::{Surroundings, texts};
use file::{OutingFile, Wanted};
use plan::checker::objections;
use plan::choice::Choice;
use plan::outing::{Need, Outing, Piece};
use plan::programme::Solution;
use plan::statement::{Asked, Goal, Statement};
use rig::check::{Link, LinkKind};
use rig::file::Faults;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::time::Duration;
use terms::Force;
use trade::duty::{Duty, Manual, Strengths, duties};
use trade::gear::Gear;
use trade::policy::Policy;
use trade::position::Position;

pub use kept::{Kept, KeptOuting};
pub use sheet::{pack_list, packed};
pub use tell::{curve as curve_told, swapped};

/// Past this many, what would have been taken in a piece's place is not asked.
const RUNNERS_UP: usize = 60;
/// This part of the patience is theirs: whoever asked for a plan has it by then.
const RUNNERS_UP_SHARE: u32 = 20;
/// Points of a curve.
const POINTS: usize = 10;

/// Why nothing was planned.
#[derive(Debug)]
pub enum NotPlanned {
    /// A file could not be read.
    Unreadable {
        /// Which.
        path: String,
        /// Why.
        why: String,
    },
    /// The outing file is at fault.
    File(Faults),
    /// A rig of it is at fault, or the policy.
    Rig(Trouble),
    /// What it says does not go together: what is wrong, and what would be right.
    Fault(String, String),
    /// It could not be solved.
    Solve(SolveTrouble),
}

impl From<SolveTrouble> for NotPlanned {
    fn from(trouble: SolveTrouble) -> Self {
        Self::Solve(trouble)
    }
}

impl NotPlanned {
    /// A season was asked of the pieces that a file tells: nobody knows what becomes of those.
    #[must_use]
    pub fn season_of_file(path: &str) -> Self {
        fault("outing-season-of-file", &[("path", path.to_owned())])
    }

    /// All that is wrong, of texts that came with a request: those name no files of the machine.
    #[must_use]
    pub fn wrongs(&self) -> Vec<checking::Wrong> {
        match self {
            Self::File(faults) => checking::wrongs(faults),
            Self::Rig(trouble) => trouble.wrongs(),
            Self::Unreadable { path, why } => {
                vec![(format!("{path}: {why}"), texts::page("outings-no-file", &[]), None)]
            }
            Self::Fault(what, help) => vec![(what.clone(), help.clone(), None)],
            Self::Solve(trouble) => {
                let (what, help) = trouble.words();
                vec![(what, help, None)]
            }
        }
    }

    /// The pieces that a file tells were to go out of a rack, or to be booked to its log.
    #[must_use]
    pub fn of_file() -> Self {
        fault("outing-of-file", &[])
    }

    /// Something was asked that wants a choice first.
    #[must_use]
    pub fn unchosen() -> Self {
        fault("outing-unchosen", &[])
    }

    /// A choice that was kept breaks a rule by now: why.
    #[must_use]
    pub fn fallen(why: &str) -> Self {
        fault("outing-fallen", &[("why", why.to_owned())])
    }
}

fn fault(code: &str, values: &[(&str, String)]) -> NotPlanned {
    let (what, help) = texts::failure(code, values);
    NotPlanned::Fault(what, help)
}

/// An outing file with the loads of its rigs.
#[derive(Debug, Clone, PartialEq)]
pub struct Day {
    /// The file.
    pub file: OutingFile,
    /// The first day.
    pub day: jiff::civil::Date,
    margins: [f64; 3],
}

/// By need: a label, and what it would cost to do without it.
pub type RunnersUp = Vec<Vec<(String, Cost)>>;

/// A choice, judged, and what there is to say of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Planned {
    /// The choice.
    pub choice: Choice,
    /// What would have to be done where something is short.
    pub fix: Option<Choice>,
    /// By need: a label, and what it would cost to do without it.
    pub runners_up: RunnersUp,
    /// Which runners-up are not told, and why, where some are not.
    pub unasked: Option<Unasked>,
}

/// Why it is not told what would be taken in a piece's place. The choice itself was proven before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unasked {
    /// So many questions, which are too many.
    Many(usize),
    /// The solver did not find it in this time, in the places of these.
    Slow(Duration, Vec<String>),
    /// The solver failed: why.
    Failed(SolveTrouble),
}

/// What doing without a piece costs: the first goal that gets worse, and by how much.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cost {
    /// The goal.
    pub goal: Goal,
    /// By how much.
    pub by: i64,
}

/// A point of the curve of mass against the least margin.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Every load is borne with at least this margin.
    pub margin: f64,
    /// What the choice weighs, g.
    pub mass_g: i64,
}

impl Day {
    /// Reads an outing file, and checks its rigs for the loads.
    ///
    /// # Errors
    /// [`NotPlanned`] says what is wrong.
    pub fn read(surroundings: &dyn Surroundings, path: &str, policy: Option<&str>) -> Result<Self, NotPlanned> {
        let unreadable =
            |path: &str, why: std::io::Error| NotPlanned::Unreadable { path: path.to_owned(), why: why.to_string() };
        let text = surroundings.read(path).map_err(|why| unreadable(path, why))?;
        let mut file = file::read(&text, path).map_err(NotPlanned::File)?;
        let rules = match policy {
            None => Policy::default(),
            Some(path) => checking::read_policy(surroundings, path).map_err(NotPlanned::Rig)?,
        };
        let mut rigs = Rigs { surroundings, beside: path, policy, known: BTreeMap::new() };
        for need in file.needs.iter_mut().filter(|need| need.link.is_some()) {
            rigs.load(need)?;
        }
        for named in file.rigs.clone() {
            file.needs.extend(rigs.needs(&named.file, named.times)?);
        }
        if file.needs.is_empty() {
            return Err(fault("outing-no-need", &[("path", path.to_owned())]));
        }
        let day = file.day.unwrap_or_else(|| surroundings.today());
        Ok(Self { file, day, margins: [rules.margin_intended, rules.margin_in_use, rules.margin_in_use] })
    }

    /// The kinds of gear that it needs.
    #[must_use]
    pub fn gears(&self) -> BTreeSet<Gear> {
        self.file.needs.iter().map(|need| need.duty.gear).collect()
    }

    /// The rig files that it names, whole or for a link of theirs, each once.
    #[must_use]
    pub fn rigs(&self) -> BTreeSet<&str> {
        let for_a_link = self.file.needs.iter().filter_map(|need| need.link.as_ref()).map(|(rig, _)| rig.as_str());
        self.file.rigs.iter().map(|rig| rig.file.as_str()).chain(for_a_link).collect()
    }

    /// Models of devices whose instructions count, and are to be looked up on the rack.
    #[must_use]
    pub fn devices(&self) -> BTreeSet<String> {
        let asked = self.file.needs.iter().filter(|need| need.manual.is_none());
        asked.filter_map(|need| need.device.clone()).collect()
    }

    /// The outing with what there is: the pieces of a rack, or else those of the file.
    ///
    /// # Errors
    /// Where something must come along that is not there.
    pub fn outing(&self, rack: Option<Vec<Piece>>, manuals: &BTreeMap<String, Manual>) -> Result<Outing, NotPlanned> {
        let mut pieces = rack.unwrap_or_default();
        pieces.extend(self.file.pieces.iter().cloned());
        for label in &self.file.along {
            let piece = pieces.iter_mut().find(|piece| piece.label == *label);
            let piece = piece.ok_or_else(|| fault("outing-no-piece", &[("label", label.clone())]))?;
            if piece.stays.is_some() {
                return Err(fault("outing-stays", &[("label", label.clone())]));
            }
            piece.along = piece.count;
        }
        let need = |wanted: &Wanted| Need {
            name: wanted.name.clone(),
            duty: wanted.duty.clone(),
            count: wanted.times,
            loads: wanted.loads,
            margins: self.margins,
            manual: wanted.manual.clone().or_else(|| manuals.get(wanted.device.as_ref()?).cloned()),
            size: wanted.size.clone(),
            least_length: wanted.least_length,
            diameter: wanted.diameter,
            locks: wanted.locks.clone(),
            mixed: wanted.mixed,
        };
        Ok(Outing { needs: self.file.needs.iter().map(need).collect(), pieces, budget_g: self.file.budget_g })
    }

    /// The same after the day: what went along is out by then, or due, and counts all the same.
    ///
    /// # Errors
    /// As [`Day::outing`].
    pub fn outing_after(
        &self,
        rack: Option<Vec<Piece>>,
        manuals: &BTreeMap<String, Manual>,
    ) -> Result<Outing, NotPlanned> {
        let went = |piece: Piece| Piece { stays: None, ..piece };
        self.outing(rack.map(|rack| rack.into_iter().map(went).collect()), manuals)
    }
}

/// Rigs as they are checked, each once.
struct Rigs<'a> {
    surroundings: &'a dyn Surroundings,
    beside: &'a str,
    policy: Option<&'a str>,
    known: BTreeMap<String, checking::Checked>,
}

impl Rigs<'_> {
    fn checked(&mut self, file: &str) -> Result<&checking::Checked, NotPlanned> {
        if !self.known.contains_key(file) {
            let folder = Path::new(self.beside).parent().unwrap_or_else(|| Path::new(""));
            let path = folder.join(file).to_string_lossy().into_owned();
            let checked = checking::check_file(self.surroundings, &path, self.policy).map_err(NotPlanned::Rig)?;
            self.known.insert(file.to_owned(), checked);
        }
        Ok(&self.known[file])
    }

    /// Gives a need the loads of its link.
    fn load(&mut self, need: &mut Wanted) -> Result<(), NotPlanned> {
        let Some((file, link)) = need.link.clone() else { return Ok(()) };
        let links = &self.checked(&file)?.check.links;
        let of: Vec<&Link> = links.iter().filter(|known| known.name == link).collect();
        if of.is_empty() {
            let mut names: Vec<_> = links.iter().map(|link| link.name.as_str()).collect();
            names.dedup();
            return Err(fault("outing-no-link", &[("rig", file), ("link", link), ("links", names.join(", "))]));
        }
        need.loads = loads(&of);
        Ok(())
    }

    /// A need for each connector of a rig that tells its duty.
    fn needs(&mut self, file: &str, times: u32) -> Result<Vec<Wanted>, NotPlanned> {
        let checked = self.checked(file)?;
        let mut needs = Vec::new();
        for connector in checked.rig.connectors.iter().map(|seated| &seated.connector) {
            let Some(name) = &connector.duty else { continue };
            let duty = duties().iter().find(|duty| duty.name == *name).ok_or_else(|| {
                let known: Vec<_> = duties().iter().map(|duty| duty.name.as_str()).collect();
                let values = [("rig", file.to_owned()), ("duty", name.clone()), ("duties", known.join(", "))];
                fault("outing-no-duty", &values)
            })?;
            let of: Vec<&Link> = checked.check.links.iter().filter(|link| link.name == connector.name).collect();
            needs.push(wanted(format!("{}: {}", checked.rig.title, connector.name), duty, times, loads(&of)));
        }
        Ok(needs)
    }
}

/// A need that asks for one piece each time: what a rig names piece by piece is no pair.
fn wanted(name: String, duty: &Duty, times: u32, loads: Strengths) -> Wanted {
    Wanted {
        name,
        duty: Duty { is_paired: false, ..duty.clone() },
        times,
        device: None,
        manual: None,
        loads,
        link: None,
        size: None,
        least_length: None,
        diameter: None,
        locks: Vec::new(),
        mixed: false,
    }
}

/// What a link sees at the worst in the positions that bear a rating; of what is no connector, all in one.
fn loads(links: &[&Link]) -> Strengths {
    let worst = |is: &dyn Fn(&Link) -> bool| {
        links.iter().filter(|link| is(link)).map(|link| link.sees).max_by(|a, b| a.newtons().total_cmp(&b.newtons()))
    };
    let at = |position: Position| -> Option<Force> { worst(&|link: &Link| link.kind == LinkKind::Connector(position)) };
    Strengths {
        closed: at(Position::Closed).or_else(|| worst(&|link: &Link| !matches!(link.kind, LinkKind::Connector(_)))),
        open: at(Position::GateOpen),
        minor: at(Position::CrossLoaded),
    }
}

/// Plans an outing: the choice, what it would take where something is short, and what the runners-up would cost.
///
/// # Errors
/// Where it cannot be solved, or a choice does not stand up to the checker.
pub fn plan(solver: Solver<'_>, outing: &Outing) -> Result<Planned, NotPlanned> {
    let choice = choose(solver, outing)?;
    let fix = if choice.is_short() { Some(mended(solver, outing)?) } else { None };
    let (runners_up, unasked) = runners_up(solver, outing, &choice);
    Ok(Planned { choice, fix, runners_up, unasked })
}

/// The choice alone.
///
/// # Errors
/// As [`plan()`].
pub fn choose(solver: Solver<'_>, outing: &Outing) -> Result<Choice, NotPlanned> {
    chosen(solver, outing, &Asked::default())
}

/// The choice with the least that mends what is short: bought, borrowed or inspected.
///
/// # Errors
/// As [`plan()`].
pub fn mended(solver: Solver<'_>, outing: &Outing) -> Result<Choice, NotPlanned> {
    chosen(solver, outing, &Asked { remedies: true, ..Asked::default() })
}

/// Plans again without some labels, with as few changes as possible.
///
/// # Errors
/// As [`plan()`]; and where no label is named, or one is not there.
pub fn swap(
    solver: Solver<'_>,
    outing: &mut Outing,
    earlier: &Choice,
    missing: &[String],
) -> Result<Planned, NotPlanned> {
    if missing.is_empty() {
        return Err(fault("outing-no-missing", &[]));
    }
    for label in missing {
        let place = outing.pieces.iter().position(|piece| piece.label == *label);
        let place = place.ok_or_else(|| fault("outing-no-piece", &[("label", label.clone())]))?;
        outing.pieces.remove(place);
    }
    let asked = Asked { keep: Some(earlier.clone()), ..Asked::default() };
    let choice = chosen(solver, outing, &asked)?;
    Ok(Planned { choice, fix: None, runners_up: Vec::new(), unasked: None })
}

/// The least mass at which every known load is borne with a margin, for margins from the least to the largest that can be had.
/// `step` is told how many points are done, and of how many.
///
/// # Errors
/// As [`plan()`].
pub fn curve(solver: Solver<'_>, outing: &Outing, step: &dyn Fn(usize, usize)) -> Result<Vec<Point>, NotPlanned> {
    let suits =
        outing.needs.iter().flat_map(|need| outing.pieces.iter().filter_map(|piece| need.suit(piece).ok()?.margin));
    let mut margins: Vec<f64> = suits.collect();
    margins.sort_by(f64::total_cmp);
    margins.dedup();
    let most = margins.len().min(POINTS);
    let met = choose(solver, outing)?.goal(Goal::Short);
    let mut points: Vec<Point> = Vec::new();
    for done in 0..most {
        step(done, most);
        let margin = margins[done * (margins.len() - 1) / most.saturating_sub(1).max(1)];
        let choice = chosen(solver, outing, &Asked { least_margin: Some(margin), ..Asked::default() })?;
        if choice.goal(Goal::Short) > met {
            break;
        }
        points.push(Point { margin, mass_g: choice.goal(Goal::Mass) });
    }
    step(most, most);
    Ok(points)
}

/// Solves, and lets nothing through that the checker objects to.
fn chosen(solver: Solver<'_>, outing: &Outing, asked: &Asked) -> Result<Choice, NotPlanned> {
    let statement = Statement::of(outing, asked);
    let solution = solver.solve(&statement.programme)?;
    let choice = statement.choice(outing, &solution);
    match objections(outing, &choice).first() {
        None => Ok(choice),
        Some((what, need, label)) => {
            let need = outing.needs.get(*need).map_or_else(String::new, |need| need.name.clone());
            Err(fault(
                "outing-objection",
                &[("what", what.code().to_owned()), ("need", need), ("label", label.clone())],
            ))
        }
    }
}

/// What doing without each piece would cost, as far as it is found in its share of the patience. Nothing here takes the choice away.
fn runners_up(solver: Solver<'_>, outing: &Outing, choice: &Choice) -> (RunnersUp, Option<Unasked>) {
    let mut costs = vec![Vec::new(); outing.needs.len()];
    let asked = distinct(outing, choice);
    if asked.len() > RUNNERS_UP {
        return (costs, Some(Unasked::Many(asked.len())));
    }
    let statement = |without: &(usize, String)| {
        Statement::of(outing, &Asked { without: Some(without.clone()), ..Asked::default() })
    };
    let statements: Vec<Statement> = asked.iter().map(statement).collect();
    let Some(first) = statements.first() else { return (costs, None) };
    // To do without something makes nothing better.
    let least: Vec<i64> = first.goals.iter().map(|goal| choice.goal(*goal)).collect();
    let programmes: Vec<_> = statements.iter().map(|statement| statement.programme.clone()).collect();
    let own = Solver { patience: solver.patience / RUNNERS_UP_SHARE, ..solver };
    let solved = match own.solve_each(&programmes, &least) {
        Ok(solved) => solved,
        Err(trouble) => return (costs, Some(Unasked::Failed(trouble))),
    };
    let mut late = Vec::new();
    for (((need, label), statement), solution) in asked.into_iter().zip(&statements).zip(solved) {
        match solution {
            Ok(solution) => costs[need].extend(cost(statement, &solution, &least).map(|cost| (label, cost))),
            Err(trouble) if trouble.is_slow() => late.push(label),
            Err(trouble) => return (costs, Some(Unasked::Failed(trouble))),
        }
    }
    let unasked = (!late.is_empty()).then_some(Unasked::Slow(own.patience, late));
    (costs, unasked)
}

/// The first goal that comes to more, and by how much.
fn cost(statement: &Statement, solution: &Solution, least: &[i64]) -> Option<Cost> {
    let goals = statement.goals.iter().zip(solution.goals.iter().zip(least));
    goals.map(|(goal, (sum, least))| Cost { goal: *goal, by: sum - least }).find(|cost| cost.by != 0)
}

/// What each need took, and of pieces that are alike but for their labels one.
fn distinct(outing: &Outing, choice: &Choice) -> Vec<(usize, String)> {
    let mut alike: BTreeSet<(usize, String)> = BTreeSet::new();
    let needs = (0..outing.needs.len()).flat_map(|need| choice.taken(need).into_iter().map(move |taken| (need, taken)));
    let own = needs.filter(|(need, taken)| {
        let piece = outing.piece(&taken.label).cloned().unwrap_or_default();
        alike.insert((*need, format!("{:?}", Piece { label: String::new(), count: 0, ..piece })))
    });
    own.map(|(need, taken)| (need, taken.label)).collect()
}
