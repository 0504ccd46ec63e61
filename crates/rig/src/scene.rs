//! Scenes from questions: five plain answers become a commented rig file with its coordinates worked out.

use crate::file::read;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::LazyLock;
use trade::sling::{StiffnessBand, stiffness_bands};

/// A scene that can be begun from questions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scene {
    /// A lead climb and a fall.
    Lead,
    /// A top rope and a fall.
    TopRope,
    /// An anchor under a steady load.
    Anchor,
}

impl Scene {
    /// Every scene.
    pub const ALL: [Self; 3] = [Self::Lead, Self::TopRope, Self::Anchor];

    /// The word used on the command line.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Lead => "lead",
            Self::TopRope => "top-rope",
            Self::Anchor => "anchor",
        }
    }

    /// The scene that a word names, if any.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|scene| scene.code() == code)
    }

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
        }
    }
}

/// A question.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Question {
    /// Its option on the command line.
    pub key: String,
    /// What is asked.
    pub asks: String,
    /// The answer of whoever just goes on.
    pub default: String,
    least: Option<f64>,
    most: Option<f64>,
    second_least: Option<f64>,
    second_most: Option<f64>,
    #[serde(default)]
    words: Vec<String>,
    #[serde(default)]
    sling: bool,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    title: String,
    question: Vec<Question>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Example {
    draw_length_m: f64,
    draw_fibre: String,
    draw_strength_kn: f64,
    leg_fibre: String,
    leg_strength_kn: f64,
    rope_impact_force_kn: f64,
    rope_static_elongation_pct: f64,
    rope_dynamic_elongation_pct: f64,
    lead_slack_m: f64,
    closed_kn: f64,
    open_kn: f64,
    minor_kn: f64,
    clip_zigzag_m: f64,
    leg_drop_m: f64,
    source: String,
    quality: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Table {
    lead: Entry,
    top_rope: Entry,
    anchor: Entry,
    example: Example,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    toml::from_str(include_str!("../data/scenes.toml")).unwrap_or_else(|fault| panic!("built-in scenes: {fault}"))
});

/// An answer that does not do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{key}`: {message}; {help}")]
pub struct BadAnswer {
    /// The question's key.
    pub key: String,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub help: String,
}

/// Answers by key; a question that is not among them takes its default.
pub type Answers = BTreeMap<String, String>;

/// Checks one answer to a question.
///
/// # Errors
/// [`BadAnswer`] says what would be right.
pub fn check_answer(question: &Question, answer: &str) -> Result<(), BadAnswer> {
    question.parse(answer).map(|_| ())
}

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
    let mut parsed = Vec::new();
    for question in questions {
        parsed.push(question.parse(answers.get(&question.key).unwrap_or(&question.default))?);
    }
    let asked = Asked { answers: parsed };
    let text = match scene {
        Scene::Lead => lead(&asked)?,
        Scene::TopRope => top_rope(&asked)?,
        Scene::Anchor => anchor(&asked),
    };
    debug_assert!(read(&text, "new").is_ok(), "{text}");
    Ok(text)
}

fn bad(key: &str, message: &str, help: &str) -> BadAnswer {
    BadAnswer { key: key.to_owned(), message: message.to_owned(), help: help.to_owned() }
}

/// An answer as parsed.
enum Answer {
    Number(f64),
    Pair(f64, f64),
    Word(String),
    Sling(SlingChoice),
}

/// A fibre, a width and a state, with the stiffness that the table gives.
struct SlingChoice {
    words: String,
    band: StiffnessBand,
}

/// The answers of a scene, in the order of its questions.
struct Asked {
    answers: Vec<Answer>,
}

impl Asked {
    fn number(&self, place: usize) -> f64 {
        match self.answers[place] {
            Answer::Number(value) => value,
            _ => unreachable!("question {place} asks for a number"),
        }
    }

    fn pair(&self, place: usize) -> (f64, f64) {
        match self.answers[place] {
            Answer::Pair(first, second) => (first, second),
            _ => unreachable!("question {place} asks for two numbers"),
        }
    }

    fn word(&self, place: usize) -> &str {
        match &self.answers[place] {
            Answer::Word(word) => word,
            _ => unreachable!("question {place} asks for a word"),
        }
    }

    fn sling(&self, place: usize) -> &SlingChoice {
        match &self.answers[place] {
            Answer::Sling(choice) => choice,
            _ => unreachable!("question {place} asks for a sling"),
        }
    }
}

impl Question {
    fn parse(&self, answer: &str) -> Result<Answer, BadAnswer> {
        let answer = answer.trim();
        if self.sling {
            return sling_choice(answer)
                .map(Answer::Sling)
                .map_err(|help| bad(&self.key, "no such sling is listed", &help));
        }
        if !self.words.is_empty() {
            return match self.words.iter().find(|word| word.eq_ignore_ascii_case(answer)) {
                Some(word) => Ok(Answer::Word(word.clone())),
                None => Err(bad(
                    &self.key,
                    &format!("\"{answer}\" is no answer"),
                    &format!("say {}", self.words.join(" or ")),
                )),
            };
        }
        let Some((least, most)) = self.second_least.zip(self.second_most) else {
            return self.number(answer, self.least, self.most).map(Answer::Number);
        };
        let Some((first, second)) = answer.split_once('/') else {
            return Err(bad(&self.key, "two numbers are asked for", &format!("such as {}", self.default)));
        };
        let first = self.number(first, self.least, self.most)?;
        Ok(Answer::Pair(first, self.number(second, Some(least), Some(most))?))
    }

    fn number(&self, text: &str, least: Option<f64>, most: Option<f64>) -> Result<f64, BadAnswer> {
        let (least, most) = (least.unwrap_or(f64::MIN), most.unwrap_or(f64::MAX));
        let number = text.trim().replace(',', ".").parse::<f64>().ok();
        number.filter(|value| (least..=most).contains(value)).ok_or_else(|| {
            bad(
                &self.key,
                &format!("\"{}\" does not do", text.trim()),
                &format!("a number from {least} to {most}, such as {}", self.default),
            )
        })
    }
}

/// A sling by fibre, width in mm and state, such as "nylon 16 used"; else what would be right.
fn sling_choice(answer: &str) -> Result<SlingChoice, String> {
    const HELP: &str =
        "say fibre, width in mm and state, such as \"nylon 7 used\" or \"HMPE 11 new\"; states are new, used and wet";
    let parts: Vec<&str> = answer.split_whitespace().collect();
    let [fibre, width, state] = parts[..] else { return Err(HELP.to_owned()) };
    let width: f64 = width.replace(',', ".").parse().map_err(|_| HELP.to_owned())?;
    let bands = stiffness_bands(fibre, width);
    let band = bands.into_iter().find(|band| band.state.eq_ignore_ascii_case(state)).ok_or_else(|| HELP.to_owned())?;
    Ok(SlingChoice { words: answer.to_owned(), band })
}

/// What stands on top of every file.
fn head(title: &str, case: &str) -> String {
    format!(
        "# Begun from five questions; every number here is yours to change.\n\
         # Gear is an invented example: overwrite it with what is stamped on your own pieces. What cannot be read, leave out.\n\
         # Estimates only: the maker's instructions, local rules and a qualified person come first.\n\
         # Lengths in m, masses in kg, forces in kN. Positions are [x, y, z], z up.\n\n\
         title = \"{title}\"\ncase = \"{case}\"\n"
    )
}

fn rope() -> String {
    let example = &TABLE.example;
    format!(
        "\n# The rope by its data sheet: declared impact force, static and dynamic elongation (EN 892).\n\
         [rope.main]\nimpact_force_kn = {}\nstatic_elongation_pct = {}\ndynamic_elongation_pct = {}\n",
        example.rope_impact_force_kn, example.rope_static_elongation_pct, example.rope_dynamic_elongation_pct
    )
}

fn sling(name: &str, choice: &SlingChoice, strength_kn: f64) -> String {
    let (low, high) = (choice.band.low.kn(), choice.band.high.kn());
    format!(
        "\n# {} ({}, {}): force per unit strain of one strand, as a range from memory; no better source was found.\n\
         [sling.{name}]\nstiffness_kn = {}\nstiffness_band_kn = [{low}, {high}]\nstrength_kn = {strength_kn}  # as marked, without a knot\n\
         # knot = \"figure eight\"  # if it is tied: what the knot takes is then allowed for\n",
        choice.words,
        choice.band.made_as,
        choice.band.source.quality.words(),
        (low + high) / 2.0
    )
}

fn connector(name: &str, at: &str, more: &str) -> String {
    let example = &TABLE.example;
    format!(
        "\n[[connector]]\nname = \"{name}\"\nat = \"{at}\"\nclosed_kn = {}  # along the spine, gate closed\n\
         open_kn = {}  # along the spine, gate open\nminor_kn = {}  # across\n{more}",
        example.closed_kn, example.open_kn, example.minor_kn
    )
}

fn example_sling(words: &str) -> SlingChoice {
    sling_choice(words).unwrap_or_else(|help| panic!("built-in scenes: {help}"))
}

fn lead(asked: &Asked) -> Result<String, BadAnswer> {
    let example = &TABLE.example;
    let (last, clips, above) = (asked.number(0), asked.number(1).round() as usize, asked.number(2));
    let (leader, belayer) = asked.pair(3);
    let gap = last / clips as f64;
    if gap < 4.0 * example.draw_length_m {
        return Err(bad(
            "clips",
            &format!("{clips} clips do not fit below {last} m"),
            "take fewer, or a higher last clip",
        ));
    }
    let mut text = head(&format!("{}, {above} m above clip {clips}", Scene::Lead.title()), "fall");
    text.push_str("friction = 0.25  # rope over metal where a connector gives none; the report shows a band around it\nuntil_s = 3.0\n");
    text.push_str(&rope());
    text.push_str(&sling("tape", &example_sling(&example.draw_fibre), example.draw_strength_kn));
    let _ = writeln!(
        text,
        "\n# Clips a third of a metre left and right of a straight line; holds_kn: what each holds, left out where unknown."
    );
    let side = |clip: usize| if clip.is_multiple_of(2) { example.clip_zigzag_m } else { 0.0 };
    for clip in 1..=clips {
        // The rope end of the draw is at the height that was asked for.
        let height = gap * clip as f64 + example.draw_length_m;
        let _ = write!(
            text,
            "\n[[anchor]]\nname = \"bolt {clip}\"\nat_m = [{}, 0.0, {height:.3}]\n# holds_kn = 25\n\
             \n[[draw]]\nname = \"draw {clip}\"\non = \"bolt {clip}\"\nof = \"tape\"\nlength_m = {}\n",
            side(clip),
            example.draw_length_m
        );
        if clip == clips {
            let _ = writeln!(text, "bolt_end = \"bolt-end connector\"\nrope_end = \"rope-end connector\"");
        }
    }
    let last_draw = format!("draw {clips}");
    text.push_str("\n# The connectors of the last draw, which takes the fall. What is left out counts as possible.\n");
    text.push_str(&connector("bolt-end connector", &last_draw, "class = \"B\"\ngate = \"wire\"\nlock = \"none\"\nnose = \"hookless\"\nkeeper = \"none\"\nfree_to_turn = true\nover_edge = false\n"));
    text.push_str(&connector("rope-end connector", &last_draw, "class = \"B\"\ngate = \"wire\"\nlock = \"none\"\nnose = \"hookless\"\nkeeper = \"elastic\"\nover_edge = false\n"));
    let stance =
        if asked.word(4) == "tied" { "anchored = true  # tied down" } else { "stands = true  # can be lifted" };
    let _ = write!(
        text,
        "\n[[person]]\nname = \"leader\"\nmass_kg = {leader}\nat_m = [{}, 0.0, {:.3}]\n\
         \n[[person]]\nname = \"belayer\"\nmass_kg = {belayer}\nat_m = [0.8, 0.0, 0.0]\n{stance}\n",
        side(clips),
        last + above
    );
    let draws: Vec<_> = (1..=clips).map(|clip| format!("\"draw {clip}\"")).collect();
    let _ = write!(
        text,
        "\n# The rope, from the belayer to the leader. brake: the tension at which it slips through; left out, the report\n\
         # shows both a brake that holds and one that slips.\n\
         [[line]]\nof = \"main\"\nthrough = [\"belayer\", {}, \"leader\"]\nslack_m = {}\n# brake = {{ slips_at_kn = 2.5 }}\n",
        draws.join(", "),
        example.lead_slack_m
    );
    Ok(text)
}

fn top_rope(asked: &Asked) -> Result<String, BadAnswer> {
    let example = &TABLE.example;
    let (height, below, slack, angle) = (asked.number(0), asked.number(1), asked.number(2), asked.number(4));
    let (climber, belayer) = asked.pair(3);
    if below >= height {
        return Err(bad("below", "the fall would begin below the belayer's feet", &format!("less than {height}")));
    }
    let half = (angle / 2.0).to_radians();
    let (drop, out) = (example.leg_drop_m, example.leg_drop_m * half.tan());
    let mut text = head(&format!("{}, {below} m below the master point", Scene::TopRope.title()), "fall");
    text.push_str("friction = 0.25  # rope over metal where a connector gives none; the report shows a band around it\nuntil_s = 3.0\n");
    text.push_str(&rope());
    text.push_str(&sling("cord", &example_sling(&example.leg_fibre), example.leg_strength_kn));
    let _ = write!(
        text,
        "\n# Two legs that make {angle} degrees. holds_kn: what each anchor holds, left out where unknown.\n\
         \n[[anchor]]\nname = \"left\"\nat_m = [{:.3}, 0.0, {:.3}]\n# holds_kn = 25\n\
         \n[[anchor]]\nname = \"right\"\nat_m = [{out:.3}, 0.0, {:.3}]\n# holds_kn = 25\n\
         \n[[joint]]\nname = \"master\"\nat_m = [0.0, 0.0, {height}]\n\
         \n[[leg]]\nfrom = \"left\"\nto = \"master\"\nof = \"cord\"\nstrands = 2\n\
         \n[[leg]]\nfrom = \"right\"\nto = \"master\"\nof = \"cord\"\nstrands = 2\n",
        -out,
        height + drop,
        height + drop
    );
    text.push_str("\n# Two connectors of one size, opposite and opposed.\n");
    let lock = "class = \"H\"\nshape = \"pear\"\nlock = \"screw\"\nlocked = true\nnose = \"hookless\"\nfree_to_turn = false\nover_edge = false\njoins = [\"cord\", \"main\"]\n";
    text.push_str(&connector("one", "master", &format!("{lock}opposed_to = \"other\"\n")));
    text.push_str(&connector("other", "master", lock));
    let _ = write!(
        text,
        "\n[[person]]\nname = \"climber\"\nmass_kg = {climber}\nat_m = [0.3, 0.0, {:.3}]\n\
         \n[[person]]\nname = \"belayer\"\nmass_kg = {belayer}\nat_m = [1.0, 0.0, 0.0]\nstands = true\n\
         \n[[line]]\nof = \"main\"\nthrough = [\"belayer\", \"master\", \"climber\"]\nslack_m = {slack}\n# brake = {{ slips_at_kn = 2.5 }}\n",
        height - below
    );
    Ok(text)
}

fn anchor(asked: &Asked) -> String {
    let (count, spread, depth) = (asked.number(0).round() as usize, asked.number(1), asked.number(2));
    let (load, off) = asked.pair(3);
    let (sin, cos) = off.to_radians().sin_cos();
    let mut text = head(&format!("{}, {load} kN {off} degrees off plumb", Scene::Anchor.title()), "rest");
    text.push_str(&sling("cord", asked.sling(4), TABLE.example.leg_strength_kn));
    text.push_str("\n# holds_kn: what each anchor holds, as one number or along, across and against the direction it was placed for;\n# left out where unknown.\n");
    for place in 0..count {
        let x = spread * (place as f64 / (count - 1) as f64 - 0.5);
        let _ = write!(
            text,
            "\n[[anchor]]\nname = \"anchor {}\"\nat_m = [{x:.3}, 0.0, 0.0]\n# holds_kn = {{ along = 12, across = 8, upward = 3 }}\n",
            place + 1
        );
    }
    let _ = write!(text, "\n[[joint]]\nname = \"master\"\nat_m = [0.0, 0.0, {:.3}]\n", -depth);
    text.push_str(
        "\n# Fixed legs, each as long as drawn. A leg with length_m of its own hangs slack or pulls early.\n",
    );
    for place in 1..=count {
        let _ = write!(text, "\n[[leg]]\nfrom = \"anchor {place}\"\nto = \"master\"\nof = \"cord\"\n");
    }
    text.push_str(&connector("master connector", "master", "class = \"H\"\nshape = \"pear\"\nlock = \"screw\"\nlocked = true\nnose = \"hookless\"\nfree_to_turn = false\nover_edge = false\n"));
    let _ = write!(text, "\n[[pull]]\nat = \"master\"\nforce_kn = [{:.4}, 0.0, {:.4}]\n", load * sin, -load * cos);
    text
}

/// Where the gear of a new file comes from, and how that was read.
#[must_use]
pub fn example_source() -> (&'static str, &'static str) {
    (&TABLE.example.source, &TABLE.example.quality)
}
