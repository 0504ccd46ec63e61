//! A line across a gap: tensioned first, then loaded somewhere, with its own weight and stretch.

use super::Scene;
use super::question::Asked;
use super::text::{
    ABOUT_CONNECTORS, MASTER_POINT, anchor, bolt_holds, connector, example, head, in_title, joint, kilonewtons, metres,
    place,
};

pub(super) fn write(asked: &Asked) -> String {
    let (span, share) = (asked.number("span"), asked.number("where"));
    let (pull, load_kg) = (asked.number("tension"), asked.number("load"));
    let at = span * share / 100.0;
    let title = format!("{} {} m wide, {} kg on it", Scene::HighLine.title(), in_title(span), in_title(load_kg));
    [
        head(&title, "rest"),
        "# With losses = true each anchor is taken away in turn, at rest and as the drop that follows.\nlosses = false\n"
            .to_owned(),
        webbing(asked.number("stretch")),
        "\n# holds_kn: what each anchor holds, left out where unknown.\n".to_owned(),
        anchor("near", &place(0.0, 0.0), &bolt_holds()),
        anchor("far", &place(span, 0.0), &bolt_holds()),
        "\n# The load runs along the line; where it is at first is a guess.".to_owned(),
        joint("load", &place(at, -0.05 * span)),
        line(pull, span, at),
        weight(load_kg),
        format!("\n{ABOUT_CONNECTORS}"),
        connector("load connector", "load", MASTER_POINT),
    ]
    .concat()
}

fn webbing(stretch_pct: f64) -> String {
    let example = example();
    // Stretch is declared at 10 kN, as slackline webbing is.
    let stiffness = 10.0 / (stretch_pct / 100.0);
    format!(
        "\n# Rope or webbing that stretches {stretch_pct} % at 10 kN: force per unit strain 10 kN / {}. A low-stretch rope can\n\
         # have low_stretch_elongation_pct = {} instead: its declared elongation from 50 to 150 kg (EN 1891).\n\
         [rope.line]\nresponse = {{ slow_kn = {}, fast_kn = 0.0, relax_s = 1.0 }}\nmass_kg_per_m = {}  # its own weight\n\
         strength_kn = {}  # as marked; what knots and clamps take has to come off\n",
        stretch_pct / 100.0,
        example.low_stretch_pct,
        metres(stiffness),
        example.webbing_kg_per_m,
        example.webbing_strength_kn
    )
}

fn line(pull: f64, span: f64, at: f64) -> String {
    format!(
        "\n# tensioned_kn: the pull at its beginning with nothing on it, by people or a pulley system; its length follows.\n\
         # By hand a strong person pulls some 0.3 kN (from memory).\n\
         # Instead: length_m, its whole unstretched length. A load that is tied on and does not run: two [[line]] tables,\n\
         # here {} m and {} m of span, each with its length_m.\n\
         [[line]]\nof = \"line\"\nthrough = [\"near\", \"load\", \"far\"]\ntensioned_kn = {pull}\n",
        metres(at),
        metres(span - at)
    )
}

fn weight(load_kg: f64) -> String {
    let kn = load_kg * mechanics::GRAVITY / 1e3;
    format!("\n# {load_kg} kg.\n[[pull]]\nat = \"load\"\nforce_kn = [0.0, 0.0, {}]\n", kilonewtons(-kn))
}
