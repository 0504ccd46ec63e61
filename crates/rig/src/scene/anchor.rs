//! An anchor under a steady load: legs of fixed length, or one loop that slides at the master point.

use super::Scene;
use super::question::{Asked, SlingChoice};
use super::text::{
    ABOUT_CONNECTORS, MASTER_POINT, anchor, connector, example, head, in_title, joint, kilonewtons, leg, place, sling,
    strength,
};

pub(super) fn write(asked: &Asked, losses: bool) -> String {
    let (count, slides) = anchors_and_sliding(asked.word("anchors"));
    let limited = asked.word("anchors").ends_with("limited");
    let scene = if losses { Scene::Losses } else { Scene::Anchor };
    let asks = if losses { "losses = true  # each leg and anchor is taken away in turn\n" } else { "" };
    let cord = asked.sling("cord");
    let (load, off_deg) = asked.pair("load");
    let names: Vec<_> = (1..=count).map(|place| format!("anchor {place}")).collect();
    [
        head(&format!("{}, {} kN {} degrees off plumb", scene.title(), in_title(load), in_title(off_deg)), "rest"),
        asks.to_owned(),
        if slides { loop_rope(cord) } else { sling("cord", cord) },
        anchors(&names, asked.number("spread")),
        joint("master", &place(0.0, -asked.number("depth"))),
        if slides { loop_line(&names, limited) } else { legs(&names) },
        format!("\n{ABOUT_CONNECTORS}"),
        connector("master connector", "master", MASTER_POINT),
        pull(load, off_deg),
    ]
    .concat()
}

/// How many anchors, and whether a loop slides: "3" or "3 sliding".
fn anchors_and_sliding(word: &str) -> (usize, bool) {
    let (count, sliding) = word.split_once(' ').unwrap_or((word, ""));
    (count.parse().unwrap_or_else(|_| panic!("built-in scenes: `{word}`")), !sliding.is_empty())
}

fn anchors(names: &[String], spread: f64) -> String {
    let placed = &example().placement_holds_kn;
    let holds = format!("{{ along = {}, across = {}, upward = {} }}", placed.along, placed.across, placed.upward);
    let last = (names.len() - 1) as f64;
    let at = |index: usize| place(spread * (index as f64 / last - 0.5), 0.0);
    let about = "\n# holds_kn: what each anchor holds, as one number or along, across and against the direction it was placed for;\n\
                 # left out where unknown.\n";
    about.to_owned()
        + &names.iter().enumerate().map(|(index, name)| anchor(name, &at(index), &holds)).collect::<String>()
}

fn legs(names: &[String]) -> String {
    let about = "\n# Fixed legs, each as long as drawn. A leg with length_m of its own hangs slack or pulls early.\n";
    about.to_owned() + &names.iter().map(|name| leg(name, "master", "")).collect::<String>()
}

/// The two strands of a loop taken as one rope that has no loss.
fn loop_rope(cord: &SlingChoice) -> String {
    let (low, high) = (2.0 * cord.band.low.kn(), 2.0 * cord.band.high.kn());
    format!(
        "\n# A loop of {} ({}, {}), its two strands taken as one. slow_kn: force per unit strain,\n\
         # from {low} to {high} from memory; no better source was found. It hardly matters: a loop that slides has one tension.\n\
         # A knot in it is not allowed for here: take its share off strength_kn.\n\
         [rope.loop]\nresponse = {{ slow_kn = {:?}, fast_kn = 0.0, relax_s = 1.0 }}\n{}",
        cord.words,
        cord.band.made_as,
        cord.band.source.quality.words(),
        f64::midpoint(low, high),
        strength(cord)
    )
}

fn loop_line(names: &[String], limited: bool) -> String {
    let limiter = if limited {
        format!("limiter_m = {}  # how far it runs before a limiter knot stops it\n", example().limiter_m)
    } else {
        String::new()
    };
    let through: Vec<_> = names.iter().map(|name| format!("\"{name}\"")).collect();
    format!(
        "\n# The loop comes back to the master point between one anchor and the next. Nothing rubs here; a real loop\n\
         # slides less well, and drops the master point by its slack if an anchor fails.\n\
         [[line]]\nof = \"loop\"\nthrough = [{}]\nslack_m = 0.0\n{limiter}",
        through.join(", \"master\", ")
    )
}

fn pull(load: f64, off_deg: f64) -> String {
    let (sin, cos) = off_deg.to_radians().sin_cos();
    let force = format!("[{}, 0.0, {}]", kilonewtons(load * sin), kilonewtons(-load * cos));
    format!(
        "\n# The load: {load} kN, {off_deg} degrees off straight down.\n[[pull]]\nat = \"master\"\nforce_kn = {force}\n"
    )
}
