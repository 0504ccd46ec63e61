//! Scenes from questions: five plain answers become a commented rig file with its coordinates worked out.

mod anchor;
mod drag;
mod fixed_point;
mod followed;
mod ground;
mod guide;
mod haul;
mod high_line;
mod lead;
mod lower;
mod on_the_move;
mod pendulum;
mod question;
mod rappel;
mod table;
mod tether;
mod text;
mod top_rope;
mod two_strands;

use crate::file::read;
use question::{Asked, bad};
pub use question::{BadAnswer, Bounds, Kind, Question, check_answer};
use std::collections::BTreeMap;
pub use table::example_source;
use table::{Entry, TABLE};
use terms::coded;
use text::example;
use trade::change::changes;

coded!(
    /// A scene that can be begun from questions.
    Scene {
        /// A lead climb and a fall.
        Lead = "lead",
        /// A top rope and a fall.
        TopRope = "top-rope",
        /// An anchor under a steady load.
        Anchor = "anchor",
        /// An anchor of which each part is taken away in turn.
        Losses = "losses",
        /// A slip onto a tether, or into a via ferrata set.
        Tether = "tether",
        /// A line across a gap.
        HighLine = "high-line",
        /// How low falls end, clip by clip.
        Ground = "ground",
        /// A lead fall on half or twin ropes.
        TwoStrands = "two-strands",
        /// A fall past a belay at a fixed point.
        FixedPoint = "fixed-point",
        /// A swing at the end of a traverse.
        Pendulum = "pendulum",
        /// Hauling, or lowering through the same pulleys.
        Haul = "haul",
        /// Lowering from an anchor or from the ground.
        Lower = "lower",
        /// A rappel.
        Rappel = "rappel",
        /// Seconds on a device in guide mode.
        Guide = "guide",
        /// The pull of the rope that a leader takes along.
        Drag = "drag",
    }
);

/// How long draws usually are, m: one as it is bought, and an extended one.
#[must_use]
pub fn draw_lengths_m() -> [f64; 2] {
    [example().draw_length_m, changes().longer_draw_m.value]
}

impl Scene {
    /// What it is, in a few words.
    #[must_use]
    pub fn title(self) -> &'static str {
        &self.entry().title
    }

    /// Its five questions.
    #[must_use]
    pub fn questions(self) -> &'static [Question] {
        &self.entry().question
    }

    fn entry(self) -> &'static Entry {
        match self {
            Self::Lead => &TABLE.lead,
            Self::TopRope => &TABLE.top_rope,
            Self::Anchor => &TABLE.anchor,
            Self::Losses => &TABLE.losses,
            Self::Tether => &TABLE.tether,
            Self::HighLine => &TABLE.high_line,
            Self::Ground => &TABLE.ground,
            Self::TwoStrands => &TABLE.two_strands,
            Self::FixedPoint => &TABLE.fixed_point,
            Self::Pendulum => &TABLE.pendulum,
            Self::Haul => &TABLE.haul,
            Self::Lower => &TABLE.lower,
            Self::Rappel => &TABLE.rappel,
            Self::Guide => &TABLE.guide,
            Self::Drag => &TABLE.drag,
        }
    }
}

/// Answers by key; a question that is not among them takes its default.
pub type Answers = BTreeMap<String, String>;

/// The commented rig file of a scene.
///
/// # Errors
/// [`BadAnswer`] for the first answer that does not do, a key that no question has, or answers that do not go together.
pub fn write(scene: Scene, answers: &Answers) -> Result<String, BadAnswer> {
    let questions = scene.questions();
    if let Some(key) = answers.keys().find(|key| !questions.iter().any(|question| question.key == **key)) {
        let known: Vec<_> = questions.iter().map(|question| question.key.as_str()).collect();
        return Err(bad(key, "no question has this name", &format!("the questions are {}", known.join(", "))));
    }
    let asked = Asked::new(questions, answers)?;
    let text = match scene {
        Scene::Lead => lead::write(&asked)?,
        Scene::TopRope => top_rope::write(&asked)?,
        Scene::Anchor => anchor::write(&asked, false),
        Scene::Losses => anchor::write(&asked, true),
        Scene::Tether => tether::write(&asked)?,
        Scene::HighLine => high_line::write(&asked),
        Scene::Ground => ground::write(&asked)?,
        Scene::TwoStrands => two_strands::write(&asked)?,
        Scene::FixedPoint => fixed_point::write(&asked),
        Scene::Pendulum => pendulum::write(&asked)?,
        Scene::Haul => haul::write(&asked),
        Scene::Lower => lower::write(&asked)?,
        Scene::Rappel => rappel::write(&asked)?,
        Scene::Guide => guide::write(&asked),
        Scene::Drag => drag::write(&asked)?,
    };
    debug_assert!(read(&text, "new").is_ok(), "{text}");
    Ok(text)
}
