//! A lead fall: bolts with a draw each, one above the other and a little to either side.

use super::Scene;
use super::followed::RoughFall;
use super::question::{Asked, BadAnswer, bad};
use super::text::{
    ABOUT_CONNECTORS, BOLT_END, ROPE_END, anchor, bolt_holds, connector, example, example_sling, head, in_title, line,
    person, place, rope, sling,
};

/// The answers; lengths in m, masses in kg.
pub(super) struct Lead {
    first_clip: f64,
    last_clip: f64,
    clips: usize,
    above: f64,
    leader: f64,
    belayer: f64,
    is_tied: bool,
    slack: f64,
}

pub(super) fn write(asked: &Asked) -> Result<String, BadAnswer> {
    let (leader, belayer) = asked.pair("masses");
    let is_tied = asked.word("belay") == "tied";
    let (last_clip, clips, above) = (asked.number("last-clip"), asked.count("clips"), asked.number("above"));
    let first_clip = last_clip / clips as f64;
    let lead = Lead { first_clip, last_clip, clips, above, leader, belayer, is_tied, slack: example().lead_slack_m };
    lead.check_room()?;
    Ok(lead.file(&format!("{}, {} m above clip {clips}", Scene::Lead.title(), in_title(above)), ""))
}

impl Lead {
    /// A climb with its first clip at one height and the others `gap` apart, the leader at the next one with so much slack in
    /// the rope.
    pub(super) fn spaced(first_clip: f64, gap: f64, clips: usize, (leader, belayer): (f64, f64), slack: f64) -> Self {
        let last_clip = first_clip + gap * (clips as f64 - 1.0);
        Self { first_clip, last_clip, clips, above: gap, leader, belayer, is_tied: false, slack }
    }

    /// The whole file; `keys` stand at the end of the keys on top, with tables that may follow them.
    pub(super) fn file(&self, title: &str, keys: &str) -> String {
        [
            head(title, "fall"),
            self.rough_fall().keys(),
            keys.to_owned(),
            rope(),
            sling("tape", &example_sling(&example().draw_sling)),
            self.draws(),
            self.connectors(),
            self.people(),
            self.rope_line(),
        ]
        .concat()
    }

    fn rough_fall(&self) -> RoughFall {
        RoughFall {
            drop_m: 2.0 * self.above + self.slack,
            rope_m: self.last_clip + self.above + self.slack,
            faller_kg: self.leader,
            lifts: (!self.is_tied).then(|| (self.belayer, self.gap())),
        }
    }

    /// Between one clip and the next; of a single clip its height.
    fn gap(&self) -> f64 {
        if self.clips > 1 { (self.last_clip - self.first_clip) / (self.clips as f64 - 1.0) } else { self.first_clip }
    }

    fn check_room(&self) -> Result<(), BadAnswer> {
        let least_gap = example().draws_per_gap * example().draw_length_m;
        if self.gap() >= least_gap {
            return Ok(());
        }
        let most = (self.last_clip / least_gap).floor();
        let message = format!("{} clips do not fit below {} m", self.clips, self.last_clip);
        Err(bad("clips", &message, &format!("at most {most}, or a higher last clip")))
    }

    /// How far to the side a clip is: every other one.
    fn side(clip: usize) -> f64 {
        if clip.is_multiple_of(2) { example().clip_zigzag_m } else { 0.0 }
    }

    fn draws(&self) -> String {
        let about = format!(
            "\n# Clips {} m apart, every other one {} m to the side. A draw's rope end is where the clip is.\n\
             # holds_kn: what each bolt holds, left out where unknown.\n",
            (1000.0 * self.gap()).round() / 1000.0,
            example().clip_zigzag_m
        );
        about + &(1..=self.clips).map(|clip| self.draw(clip)).collect::<String>()
    }

    fn draw(&self, clip: usize) -> String {
        let length = example().draw_length_m;
        let height = self.first_clip + self.gap() * (clip as f64 - 1.0) + length;
        let bolt = anchor(&format!("bolt {clip}"), &place(Self::side(clip), height), &bolt_holds());
        let ends = if clip == self.clips {
            "bolt_end = \"bolt-end connector\"  # described below\nrope_end = \"rope-end connector\"\n"
        } else {
            ""
        };
        format!(
            "{bolt}\n[[draw]]\nname = \"draw {clip}\"\non = \"bolt {clip}\"\nof = \"tape\"\nlength_m = {length}\n{ends}"
        )
    }

    fn connectors(&self) -> String {
        let draw = format!("draw {}", self.clips);
        let about =
            "\n# The connectors of the last draw, which takes the fall; others can be added in the same manner.\n";
        [
            about,
            ABOUT_CONNECTORS,
            &connector("bolt-end connector", &draw, BOLT_END),
            &connector("rope-end connector", &draw, ROPE_END),
        ]
        .concat()
    }

    fn people(&self) -> String {
        let leader_at = place(Self::side(self.clips), self.last_clip + self.above);
        let stance = if self.is_tied {
            "anchored = true  # tied down; with \"stands = true\" instead they can be lifted\n"
        } else {
            "stands = true  # can be lifted off the ground; with \"anchored = true\" instead they are tied down\n"
        };
        person("leader", self.leader, &leader_at, "")
            + &person("belayer", self.belayer, &place(example().lead_belayer_out_m, 0.0), stance)
    }

    fn rope_line(&self) -> String {
        let draws: Vec<_> = (1..=self.clips).map(|clip| format!("draw {clip}")).collect();
        let ends = |end| std::iter::once(end);
        let through: Vec<_> = ends("belayer").chain(draws.iter().map(String::as_str)).chain(ends("leader")).collect();
        line(&through, self.slack)
    }
}
