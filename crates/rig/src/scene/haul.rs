//! Hauling: the load, the pulleys at the anchor and those that travel on hitches, the hands.
//!
//! A hitch splits a rope into two lines; the one that no hand holds says which way it runs.

use super::Scene;
use super::on_the_move::{firm, friction_key, grip, pulley, rope_with_weight, station};
use super::question::Asked;
use super::text::{anchor, bolt_holds, example, head, in_title, joint, person, place, rope};

/// Height of the station, m; the load hangs below it, travelling pulleys between.
const TOP: f64 = 20.0;

pub(super) fn write(asked: &Asked) -> String {
    let system = asked.word("system");
    let lowers = asked.word("way") == "lower";
    let haul = Haul {
        lowers,
        pulleys: asked.pair("pulleys"),
        hands: asked.count("people") * usize::from(example().hands_per_person),
    };
    let title = format!(
        "{} {system}, {} kg{}",
        Scene::Haul.title(),
        in_title(asked.number("load")),
        if lowers { ", lowered" } else { "" }
    );
    [
        head(&title, "running"),
        friction_key(),
        rope_with_weight(),
        station(TOP),
        format!(
            "\n# What hangs, and who pulls. hands: how many hands hold the rope, {} a person.\n",
            example().hands_per_person
        ),
        person("load", asked.number("load"), &place(0.0, TOP - 12.0), ""),
        match system {
            "5:1" => haul.simple(5),
            "5:1 complex" => haul.complex(),
            "6:1" => haul.on_a_z_rig(&["second station", "second traveller", "hands"]),
            "9:1" => haul.on_a_z_rig(&["second traveller", "second station", "second traveller", "hands"]),
            "2:1 drop" => haul.drop_loop(),
            _ => haul.simple(3),
        },
    ]
    .concat()
}

struct Haul {
    lowers: bool,
    /// Efficiency at the anchor, and of those that travel.
    pulleys: (f64, f64),
    hands: usize,
}

impl Haul {
    /// Strand by strand between the station and one travelling pulley; the hands pull away from the load.
    fn simple(&self, strands: usize) -> String {
        let turns = ["station", "traveller"].repeat(strands / 2);
        let through = [&["traveller"], &turns[..], &["hands"]].concat();
        [
            firm("hands", &place(0.6, TOP + 1.0)),
            self.traveller(),
            self.held("main", &through),
            self.anchor_pulley(),
            pulley("travelling pulley", "traveller", self.pulleys.1),
        ]
        .concat()
    }

    /// A second pulley on a hitch of the rope itself, which comes towards the first; the hands pull towards the load.
    fn complex(&self) -> String {
        [
            firm("hands", &place(0.8, TOP - 11.0)),
            self.traveller(),
            "\n# The second hitch grips the rope that comes down from the station and carries a pulley that travels to meet the first.\n"
                .to_owned(),
            joint("second traveller", &place(0.3, TOP - 2.0)),
            self.along(&["traveller", "station", "second traveller"], "second traveller", "traveller"),
            self.held("main", &["second traveller", "traveller", "second traveller", "hands"]),
            self.anchor_pulley(),
            pulley("travelling pulley", "traveller", self.pulleys.1),
            pulley("second travelling pulley", "second traveller", self.pulleys.1),
            hitch("second hitch", "second traveller"),
        ]
        .concat()
    }

    /// A Z rig whose pulling strand is led over the edge and pulled by a second rope.
    fn on_a_z_rig(&self, second: &[&str]) -> String {
        let mut text = [
            firm("hands", &place(9.0, TOP + 0.4)),
            self.traveller(),
            "\n# Over the edge the pulling strand turns to the level; a second rope pulls on it there.\n".to_owned(),
            anchor("edge", &place(0.4, TOP), &bolt_holds()),
            anchor("second station", &place(9.0, TOP), &bolt_holds()),
            joint("second traveller", &place(4.0, TOP + 0.1)),
            rope().replace("[rope.main]", "[rope.second]").replace("# The rope by", "# The second rope by"),
            self.along(
                &["traveller", "station", "traveller", "edge", "second traveller"],
                "second traveller",
                "traveller",
            ),
            self.held("second", second),
            self.anchor_pulley(),
            pulley("edge pulley", "edge", self.pulleys.0),
            pulley("travelling pulley", "traveller", self.pulleys.1),
            pulley("second travelling pulley", "second traveller", self.pulleys.1),
            hitch("second hitch", "second traveller"),
        ]
        .concat();
        if second[0] == "second traveller" {
            text += &pulley("second anchor pulley", "second station", self.pulleys.0);
        }
        text
    }

    /// A loop let down to a pulley at the load.
    fn drop_loop(&self) -> String {
        [
            firm("hands", &place(0.8, TOP + 1.0)),
            self.held("main", &["station", "load", "hands"]),
            pulley("pulley at the load", "load", self.pulleys.1),
        ]
        .concat()
    }

    /// The rope from the load to the hitch that carries the travelling pulley.
    fn traveller(&self) -> String {
        joint("traveller", &place(0.1, TOP - 6.0))
            + "\n# From the load to the hitch, which splits the rope into two lines.\n\
               [[line]]\nof = \"main\"\nthrough = [\"load\", \"traveller\"]\n"
            + &hitch("hauling hitch", "traveller")
    }

    fn anchor_pulley(&self) -> String {
        pulley("anchor pulley", "station", self.pulleys.0)
    }

    /// The line that the hands hold.
    fn held(&self, of: &str, through: &[&str]) -> String {
        let key = if self.lowers { "paid_out_at" } else { "taken_in_at" };
        format!(
            "\n# The line that the hands hold.\n[[line]]\nof = \"{of}\"\nthrough = [{}]\n{key} = \"hands\"\nhands = {}\n",
            quoted(through),
            self.hands
        )
    }

    /// A line with a hitch at both ends, and the ends that it runs to when the load is raised and lowered.
    fn along(&self, through: &[&str], raising: &str, lowering: &str) -> String {
        let end = if self.lowers { lowering } else { raising };
        format!(
            "\n# A line that no hand holds: runs_to is the end that its rope runs towards.\n\
             [[line]]\nof = \"main\"\nthrough = [{}]\nruns_to = \"{end}\"\n",
            quoted(through)
        )
    }
}

fn hitch(name: &str, at: &str) -> String {
    let about =
        "the least that was measured for an 8 mm three-wrap hitch on 12.7 mm rope (Schwartz); yours may slip sooner";
    grip(name, at, "main", example().hitch_slips_kn, about)
}

fn quoted(names: &[&str]) -> String {
    names.iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ")
}
