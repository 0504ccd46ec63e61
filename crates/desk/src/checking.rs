//! The main job: a rig file in, what every link sees and bears out.

use crate::{Surroundings, texts};
use rig::band::{Bands, Corner, bands};
use rig::change::{Offer, offers};
use rig::check::{Check, check};
use rig::file::Faults;
use rig::ground::{ClipFall, clip_falls};
use rig::joined::{Compared, compare};
use rig::loss::{Loss, losses};
use rig::model::Rig;
use rig::moving::{Moving, moving};
use rig::solve::{Failure, Prepared};
use trade::policy::{Policy, PolicyError};

/// A rig that was read, solved and checked.
#[derive(Debug, Clone)]
pub struct Checked {
    /// The rig.
    pub rig: Rig,
    /// What was solved.
    pub bands: Bands,
    /// What it takes to move the load, where ropes are on the move.
    pub moving: Option<Moving>,
    /// What that means for each link.
    pub check: Check,
    /// What would help.
    pub offers: Vec<Offer>,
    /// What comes of each loss, where the rig asks for losses.
    pub losses: Vec<Loss>,
    /// The losses of the anchor joined in other ways, where the rig asks for losses.
    pub joined: Vec<Compared>,
    /// The falls clip by clip, where the rig asks for them.
    pub clip_falls: Vec<ClipFall>,
    /// The policy it was judged by.
    pub policy: Policy,
}

/// A rig that was read and not solved yet.
#[derive(Debug, Clone)]
pub struct ReadRig {
    /// The rig.
    pub rig: Rig,
    /// The policy it is to be judged by.
    pub policy: Policy,
    name: String,
}

/// What is wrong, what would be right, and its line and column from 1 where it has one.
pub type Wrong = (String, String, Option<[usize; 2]>);

/// All that is wrong in a file.
pub(crate) fn wrongs(faults: &Faults) -> Vec<Wrong> {
    let list = faults.list().iter();
    list.map(|fault| (fault.message.clone(), fault.help.clone(), Some([fault.line, fault.column]))).collect()
}

impl Trouble {
    /// All that is wrong.
    #[must_use]
    pub fn wrongs(&self) -> Vec<Wrong> {
        match self {
            Self::Rig(faults) => wrongs(faults),
            Self::Unsolved { what, help, .. } => vec![(what.clone(), help.clone(), None)],
            other => vec![(other.to_string(), String::new(), None)],
        }
    }
}

/// Why a rig could not be checked.
#[derive(Debug, thiserror::Error)]
pub enum Trouble {
    /// A file could not be read.
    #[error("{path} cannot be read: {why}")]
    Unreadable {
        /// Which file.
        path: String,
        /// Why.
        why: std::io::Error,
    },
    /// The rig file is at fault.
    #[error("{0}")]
    Rig(Faults),
    /// The policy file is at fault.
    #[error("{path}:{}:{}: {}", fault.line, fault.column, fault.message)]
    Policy {
        /// Which file.
        path: String,
        /// What is wrong, and where.
        fault: PolicyError,
    },
    /// The rig cannot be solved.
    #[error("{path}: {what}; {help}")]
    Unsolved {
        /// Which file.
        path: String,
        /// What is wrong.
        what: String,
        /// What would be right.
        help: String,
    },
}

/// Reads, solves and checks the rig file at `path` by the policy at `policy_path`, or else the one inside.
///
/// # Errors
/// [`Trouble`] says what is wrong, where, and what would be right. Then nothing was computed.
pub fn check_file(surroundings: &dyn Surroundings, path: &str, policy_path: Option<&str>) -> Result<Checked, Trouble> {
    read_file(surroundings, path, policy_path)?.check()
}

/// Reads the rig file at `path` and the policy at `policy_path`, and goes no further.
///
/// # Errors
/// As [`check_file`].
pub fn read_file(surroundings: &dyn Surroundings, path: &str, policy_path: Option<&str>) -> Result<ReadRig, Trouble> {
    let policy = policy_path.map_or_else(|| Ok(Policy::default()), |path| read_policy(surroundings, path))?;
    read_text(&read(surroundings, path)?, path, policy)
}

/// Reads the policy file at `path`.
///
/// # Errors
/// Where it cannot be read or is at fault.
pub fn read_policy(surroundings: &dyn Surroundings, path: &str) -> Result<Policy, Trouble> {
    Policy::parse(&read(surroundings, path)?).map_err(|fault| Trouble::Policy { path: path.to_owned(), fault })
}

fn read(surroundings: &dyn Surroundings, path: &str) -> Result<String, Trouble> {
    surroundings.read(path).map_err(|why| Trouble::Unreadable { path: path.to_owned(), why })
}

/// The same for a text in hand; `name` stands for it in errors.
///
/// # Errors
/// As [`check_file`].
pub fn check_text(text: &str, name: &str, policy: Policy) -> Result<Checked, Trouble> {
    read_text(text, name, policy)?.check()
}

pub(crate) fn read_text(text: &str, name: &str, policy: Policy) -> Result<ReadRig, Trouble> {
    let rig = rig::read(text, name).map_err(Trouble::Rig)?;
    Ok(ReadRig { rig, policy, name: name.to_owned() })
}

impl ReadRig {
    /// Solves and checks it with the numbers as typed alone: no bands, no losses, nothing offered.
    ///
    /// # Errors
    /// Where it cannot be solved.
    pub fn as_typed(self) -> Result<Checked, Trouble> {
        let Self { rig, policy, name } = self;
        let solved = Prepared::new(&rig).and_then(|prepared| prepared.loads_and_history());
        let (typed, history) = solved.map_err(|failure| unsolved(&name, &failure))?;
        let bands = Bands { cases: vec![(Corner::TYPED, typed)], refined: None, history };
        let check = check(&rig, &bands, &policy);
        let (offers, losses, joined, clip_falls) = Default::default();
        Ok(Checked { bands, moving: None, check, offers, losses, joined, clip_falls, policy, rig })
    }

    /// Solves and checks it.
    ///
    /// # Errors
    /// Where it cannot be solved.
    pub fn check(self) -> Result<Checked, Trouble> {
        let Self { rig, policy, name } = self;
        let unsolved = |failure: Failure| unsolved(&name, &failure);
        let prepared = Prepared::new(&rig).map_err(unsolved)?;
        let table = || clip_falls(&prepared);
        let around = || {
            let bands = bands(&prepared)?;
            let check = check(&rig, &bands, &policy);
            let moving = moving(&prepared, &bands, &check, &policy);
            let offers = offers(&prepared, &bands, &check, &policy);
            let losses = if rig.losses { losses(&prepared, &bands.history, &policy) } else { Vec::new() };
            Ok::<_, Failure>((bands, check, moving, offers, losses))
        };
        // A table is as much work as all the rest and waits for none of it; without one, waking a thread takes longer than it does.
        let (clip_falls, around) =
            if rig.clip_table.is_some() { rayon::join(table, around) } else { (table(), around()) };
        let (bands, mut check, moving, offers, losses) = around.map_err(unsolved)?;
        let clip_falls = clip_falls.map_err(unsolved)?;
        let joined = compare(&rig, &policy);
        check.counts |= moving.as_ref().is_some_and(Moving::cannot_be);
        check.counts |= policy.losses_count_for_exit && losses.iter().any(Loss::counts);
        check.counts |= policy.ground_counts_for_exit && clip_falls.iter().any(|fall| fall.reaches_ground);
        Ok(Checked { bands, moving, check, offers, losses, joined, clip_falls, policy, rig })
    }
}

fn unsolved(name: &str, failure: &Failure) -> Trouble {
    let (what, help) = in_words(failure);
    Trouble::Unsolved { path: name.to_owned(), what, help }
}

pub(crate) fn in_words(failure: &Failure) -> (String, String) {
    let seconds = |time_s: f64| format!("{time_s:.3} s");
    match failure {
        Failure::ImpactForce { rope, least_kn } => {
            let least = format!("{least_kn:.1} kN");
            texts::failure("impact-force", &[("rope", rope.clone()), ("least", least)])
        }
        Failure::DynamicElongation { rope, least_pct, most_pct } => texts::failure(
            "dynamic-elongation",
            &[("rope", rope.clone()), ("least", format!("{least_pct:.1}")), ("most", format!("{most_pct:.1}"))],
        ),
        Failure::NotHeld { point } => texts::failure("not-held", &[("point", point.clone())]),
        Failure::NotBalanced { point } => texts::failure("not-balanced", &[("point", point.clone())]),
        Failure::NotTensioned { rope } => texts::failure("not-tensioned", &[("rope", rope.clone())]),
        Failure::Unsteady { rope } => texts::failure("unsteady", &[("rope", rope.clone())]),
        Failure::NotFinite { element, time_s } => {
            texts::failure("not-finite", &[("element", element.clone()), ("time", seconds(*time_s))])
        }
        Failure::NotSettled { rope, time_s } => {
            texts::failure("not-settled", &[("rope", rope.clone()), ("time", seconds(*time_s))])
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_failure_has_its_words() {
        let name = || "main".to_owned();
        let failures = [
            Failure::ImpactForce { rope: name(), least_kn: 6.0 },
            Failure::DynamicElongation { rope: name(), least_pct: 22.0, most_pct: 36.0 },
            Failure::NotHeld { point: name() },
            Failure::NotBalanced { point: name() },
            Failure::NotTensioned { rope: name() },
            Failure::Unsteady { rope: name() },
            Failure::NotFinite { element: name(), time_s: 0.5 },
            Failure::NotSettled { rope: name(), time_s: 0.5 },
        ];
        for failure in failures {
            let (what, help) = in_words(&failure);
            assert!(!what.contains(['{', '}']) && !help.is_empty(), "{failure:?}: {what}");
            assert!(what.contains("main"), "names what is at fault: {what}");
        }
    }
}
