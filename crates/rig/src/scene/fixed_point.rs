//! A fall past the belay: brake on a fixed point or on the belayer, with a first piece or none, up to a factor of two.

use super::Scene;
use super::question::Asked;
use super::text::{
    ABOUT_CONNECTORS, MASTER_POINT, anchor, bolt_holds, connector, example, head, in_title, person, place, rope,
};
use trade::friction::brake_band;

pub(super) fn write(asked: &Asked) -> String {
    let (out, device) = (asked.number("out"), asked.word("device"));
    let (leader, belayer) = asked.pair("masses");
    let piece = asked.number("piece");
    let on_anchor = asked.word("brake") == "anchor";
    let title = format!("{}, {} m above the belay", Scene::FixedPoint.title(), in_title(out));
    let mut through = vec![if on_anchor { "belay" } else { "belayer" }];
    if !on_anchor {
        through.push("belay");
    }
    if piece > 0.0 {
        through.push("piece");
    }
    through.push("leader");
    [
        head(&title, "fall"),
        "pulls_out = true  # a piece comes out at the force that it holds, and the fall goes on\n".to_owned(),
        rope(),
        "\n# holds_kn: what each anchor holds, left out where unknown; one that is unknown does not come out.\n"
            .to_owned(),
        anchor("belay", &place(0.0, 0.0), &bolt_holds()),
        if piece > 0.0 { anchor("piece", &place(0.2, piece), "6.0") } else { String::new() },
        person("leader", leader, &place(0.3, out), ""),
        if on_anchor {
            String::new()
        } else {
            person("belayer", belayer, &place(0.2, -1.0), "anchored = true  # hangs in the belay\n")
        },
        line(&through, device),
        format!("\n{ABOUT_CONNECTORS}"),
        connector("belay connector", "belay", MASTER_POINT),
    ]
    .concat()
}

fn line(through: &[&str], device: &str) -> String {
    let names: Vec<_> = through.iter().map(|name| format!("\"{name}\"")).collect();
    let brake = brake_band(device).map_or_else(String::new, |band| {
        format!(
            "brake = {{ slips_at_kn = {} }}  # {device}: {} to {} kN, {}\n",
            band.low.kn(),
            band.low.kn(),
            band.high.kn(),
            band.source.quality.words()
        )
    });
    format!(
        "\n# The brake sits at the first name and pays rope out above its tension.\n\
         [[line]]\nof = \"main\"\nthrough = [{}]\nslack_m = {}\n{brake}",
        names.join(", "),
        example().lead_slack_m
    )
}
