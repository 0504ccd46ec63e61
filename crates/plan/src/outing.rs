//! An outing: what is needed, and what there is.

use terms::{Force, Length, coded};
use trade::connector::Lock;
use trade::duty::{Duty, Grade, Manual, Side, Strengths, Traits, Unfit};

/// What is needed on a day, and what there is.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outing {
    /// What is needed.
    pub needs: Vec<Need>,
    /// What there is.
    pub pieces: Vec<Piece>,
    /// The most that it should weigh, g.
    pub budget_g: Option<u32>,
}

/// A duty, and how many do it.
#[derive(Debug, Clone, PartialEq)]
pub struct Need {
    /// What to call it.
    pub name: String,
    /// The duty.
    pub duty: Duty,
    /// How many times it is done: pieces, or pairs of a duty that takes two.
    pub count: u32,
    /// What the piece will see in each position, where it is known.
    pub loads: Strengths,
    /// Strength over load that is asked for, in each position.
    pub margins: [f64; 3],
    /// What the instructions of the device say.
    pub manual: Option<Manual>,
    /// The size that it must be marked with.
    pub size: Option<String>,
    /// The least length.
    pub least_length: Option<Length>,
    /// Least and largest diameter.
    pub diameter: Option<(Length, Length)>,
    /// Locks in the order in which this group takes them, in place of the duty's.
    pub locks: Vec<Lock>,
    /// Whether a pair is to have a sleeve that is screwed by hand beside a lock that closes by itself.
    pub mixed: bool,
}

/// A piece, or a lot of pieces alike.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Piece {
    /// Its label.
    pub label: String,
    /// How many it is: 1 but for lots.
    pub count: u32,
    /// What it is.
    pub is: Traits,
    /// Its model, if known.
    pub model: Option<String>,
    /// Mass of one, g, if known.
    pub mass_g: Option<u32>,
    /// Days of use so far.
    pub days: u32,
    /// The duties that it may do only; with none, any.
    pub restricted_to: Vec<String>,
    /// What it has touched so far, where that binds it.
    pub lives_on: Option<Side>,
    /// The set that it goes along with, whole or not at all.
    pub set: Option<String>,
    /// Why it does not go along as things are.
    pub stays: Option<Stays>,
    /// How many must come along, needed or not.
    pub along: u32,
}

impl Piece {
    /// The set that takes it along: none takes along what stays.
    #[must_use]
    pub fn goes_with(&self) -> Option<&str> {
        self.set.as_deref().filter(|_| self.stays.is_none())
    }
}

coded!(
    /// Why a piece does not go along as things are.
    Stays {
        /// It is to be inspected first.
        Uninspected = "uninspected",
        /// It is at another site.
        Elsewhere = "elsewhere",
        /// Its standing forbids it, or it is away.
        Out = "out",
    }
);

/// Why a piece does not do for a need.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Misfit {
    /// The duty does not take it.
    Unfit(Unfit),
    /// What it bears is too little over what it will see.
    Margin,
    /// It is restricted to other duties.
    Restricted,
    /// It has lived on bolts and would touch rope.
    Burred,
    /// Another size.
    Size,
    /// Too short.
    Short,
    /// A diameter that does not do.
    Diameter,
}

impl Misfit {
    /// The word that stands for it.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Unfit(unfit) => unfit.code(),
            Self::Margin => "margin",
            Self::Restricted => "restricted",
            Self::Burred => "burred",
            Self::Size => "size",
            Self::Short => "short",
            Self::Diameter => "diameter",
        }
    }
}

impl From<Unfit> for Misfit {
    fn from(unfit: Unfit) -> Self {
        Self::Unfit(unfit)
    }
}

impl Outing {
    /// The piece with a label.
    #[must_use]
    pub fn piece(&self, label: &str) -> Option<&Piece> {
        self.pieces.iter().find(|piece| piece.label == label)
    }

    /// The mass of a piece, g. One that nobody weighed counts as the heaviest of its kind, so that it is not taken for being unknown.
    #[must_use]
    pub fn mass_g(&self, piece: &Piece) -> u32 {
        let heaviest = || {
            let alike = self.pieces.iter().filter(|other| other.is.gear == piece.is.gear);
            alike.filter_map(|other| other.mass_g).max().unwrap_or(0)
        };
        piece.mass_g.unwrap_or_else(heaviest)
    }
}

/// How a piece does for a need.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Suit {
    /// Places of its shape and lock.
    pub grade: Grade,
    /// The least of strength over load, over the margin that is asked for; none without a load.
    pub margin: Option<f64>,
}

impl Need {
    /// How many pieces one time takes.
    #[must_use]
    pub const fn pieces_each(&self) -> u32 {
        if self.duty.is_paired { 2 } else { 1 }
    }

    /// How a piece does, whether it goes along or not.
    ///
    /// # Errors
    /// Why it does not do, the first that was found.
    pub fn suit(&self, piece: &Piece) -> Result<Suit, Misfit> {
        let mut grade = self.duty.grade(&piece.is, self.manual.as_ref())?;
        if let (false, Some(lock)) = (self.locks.is_empty(), piece.is.lock) {
            let place = self.locks.iter().position(|one| *one == lock).unwrap_or(self.locks.len());
            grade.lock = u32::try_from(place).unwrap_or(u32::MAX);
        }
        self.allows(piece)?;
        Ok(Suit { grade, margin: self.margin(piece)? })
    }

    fn allows(&self, piece: &Piece) -> Result<(), Misfit> {
        if !piece.restricted_to.is_empty() && !piece.restricted_to.contains(&self.duty.name) {
            return Err(Misfit::Restricted);
        }
        if (self.duty.side, piece.lives_on) == (Some(Side::Rope), Some(Side::Bolt)) {
            return Err(Misfit::Burred);
        }
        if self.size.is_some() && self.size != piece.is.size {
            return Err(Misfit::Size);
        }
        if let Some(least) = self.least_length
            && piece.is.length.is_none_or(|length| length < least)
        {
            return Err(Misfit::Short);
        }
        if let Some((least, most)) = self.diameter
            && piece.is.diameter.is_none_or(|own| own < least || own > most)
        {
            return Err(Misfit::Diameter);
        }
        Ok(())
    }

    fn margin(&self, piece: &Piece) -> Result<Option<f64>, Misfit> {
        let mut least = None;
        let pairs = self.loads.by_position().into_iter().zip(piece.is.bears.by_position()).zip(self.margins);
        for ((load, bears), asked) in pairs {
            let Some(load) = load.filter(|load| *load > Force::default()) else { continue };
            let over = bears.ok_or(Unfit::Unmarked)?.newtons() / load.newtons();
            if over < asked {
                return Err(Misfit::Margin);
            }
            least = Some(least.map_or(over, |least: f64| least.min(over)));
        }
        Ok(least)
    }
}
