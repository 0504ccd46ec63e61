//! Invented rigs to draw.

use draw::elevation::{Elevation, ElevationPoint, Emphasis, Ghost, LinkLabel, PointMark, Strand, StrandKind};
use draw::plot::{Plot, Series};

/// A point.
pub fn point(name: &str, at: [f64; 3], kind: PointMark) -> ElevationPoint {
    ElevationPoint { name: name.into(), at, kind, note: None }
}

/// A strand with its tension written along it.
pub fn strand(from: usize, to: usize, material: StrandKind, kn: f64) -> Strand {
    let label = Some(if kn > 0.0 { format!("{kn:.1} kN") } else { "slack".into() });
    Strand { from, to, via: Vec::new(), material, tension_kn: Some(kn), label }
}

/// A link.
pub fn link(point: usize, rank: Emphasis, lines: &[&str]) -> LinkLabel {
    LinkLabel { point, lines: lines.iter().map(|line| (*line).to_owned()).collect(), rank }
}

fn cautions() -> Vec<String> {
    vec![
        "Estimates from a model and from what was typed in. Ratings are slow pulls on new parts.".into(),
        "The maker's instructions, local rules and a qualified person come first; a piece in doubt is quarantined."
            .into(),
    ]
}

/// A damped swing of force, sampled finely.
fn swing(name: &str, peak: f64, delay: f64) -> Series {
    let force = |t: f64| {
        let since = (t - delay).max(0.0);
        (peak * (-1.6 * since).exp() * (since * 5.5).sin().max(0.0) + 0.8 * (1.0 - (-2.0 * since).exp())).max(0.0)
    };
    let points = (0..=2500).map(|count| f64::from(count) / 1000.0).map(|t| [t, force(t)]).collect();
    Series { name: name.into(), points, dashed: false }
}

/// A lead fall on four clips, 15 m high.
pub fn lead() -> Elevation {
    use PointMark::{Anchor, Person};
    use StrandKind::Rope;
    let points = vec![
        point("clip 1", [0.0, 0.0, 3.0], Anchor),
        point("clip 2", [0.3, 0.0, 6.0], Anchor),
        point("clip 3", [-0.2, 0.0, 9.0], Anchor),
        point("clip 4", [0.2, 0.0, 12.0], Anchor),
        ElevationPoint { note: Some("80 kg, falls".into()), ..point("leader", [0.5, 0.0, 15.0], Person) },
        ElevationPoint { note: Some("70 kg, stands".into()), ..point("belayer", [1.0, 0.0, 1.0], Person) },
    ];
    let tensions = [1.7, 2.0, 2.5, 3.0, 4.4];
    let order = [5, 0, 1, 2, 3, 4];
    let strands = order.windows(2).zip(tensions).map(|(pair, kn)| strand(pair[0], pair[1], Rope, kn)).collect();
    Elevation {
        title: "Lead fall past four clips".into(),
        subtitle: "Fall from 3 m above the fourth clip, 0.5 m of slack, brake slips at 3 kN".into(),
        points,
        strands,
        links: vec![
            link(0, Emphasis::Within, &["closed 0.9–1.6 of 22 kN · margin 13"]),
            link(1, Emphasis::Within, &["closed 0.4–0.6 of 22 kN · margin 36"]),
            link(2, Emphasis::Within, &["closed 0.6–0.9 of 22 kN · margin 24"]),
            link(3, Emphasis::Low, &["closed 5.6–7.3 of 22 kN · margin 3.0", "gate-open 5.6–7.3 of 9 kN · margin 1.2"]),
            link(4, Emphasis::Within, &["rope 3.9–4.4 kN"]),
        ],
        also: vec![Ghost { point: 4, at: [0.4, 0.0, 6.9], name: "leader, lowest 6.9 m".into() }],
        floor_m: Some(1.0),
        plots: vec![force_plot()],
        cautions: cautions(),
    }
}

/// Force against time at three links.
pub fn force_plot() -> Plot {
    Plot {
        title: "Force at the links".into(),
        x_label: "time in s".into(),
        y_label: "force in kN".into(),
        series: vec![swing("clip 4", 8.6, 0.78), swing("leader", 5.2, 0.78), swing("belayer", 1.9, 0.83)],
        marks: vec![(1.02, 6.33, "6.3 kN".into())],
        limit: Some((9.0, "gate-open rating of clip 4, 9 kN".into())),
        ..Plot::default()
    }
}

/// A lead with six quickdraws close together.
pub fn draws() -> Elevation {
    use PointMark::{Anchor, Joint, Person};
    let mut points = Vec::new();
    let mut strands = Vec::new();
    for (index, (x, z)) in
        [(0.0, 3.0), (0.4, 4.6), (-0.1, 6.3), (0.5, 8.1), (0.1, 10.0), (0.3, 12.0)].into_iter().enumerate()
    {
        points.push(point(&format!("bolt {}", index + 1), [x, 0.0, z], Anchor));
        points.push(point(&format!("draw {}", index + 1), [x, 0.0, z - 0.17], Joint));
        strands.push(strand(2 * index, 2 * index + 1, StrandKind::Sling, 0.6 + 0.9 * index as f64));
    }
    points.push(point("leader", [0.4, 0.0, 14.0], Person));
    points.push(point("belayer", [1.5, 0.0, 0.0], Person));
    let rope = [13, 1, 3, 5, 7, 9, 11, 12];
    strands.extend(
        rope.windows(2)
            .enumerate()
            .map(|(index, pair)| strand(pair[0], pair[1], StrandKind::Rope, 1.5 + 0.4 * index as f64)),
    );
    let mut links: Vec<_> =
        (0..6).map(|draw| link(2 * draw + 1, Emphasis::Within, &["closed 1.2–2.0 of 22 kN · margin 11"])).collect();
    links[4] = link(9, Emphasis::Unrated, &["nose-hooked: remove the position"]);
    links[5] = link(11, Emphasis::Over, &["gate-open 6.6–8.1 of 7 kN · margin 0.9"]);
    Elevation {
        title: "Lead on six quickdraws".into(),
        subtitle: "Fall from 2 m above the sixth draw".into(),
        points,
        strands,
        links,
        also: vec![Ghost { point: 12, at: [0.4, 0.0, 8.6], name: "leader, lowest 8.6 m".into() }],
        floor_m: Some(0.0),
        cautions: cautions(),
        ..Elevation::default()
    }
}

/// Three legs to a master point.
pub fn anchor() -> Elevation {
    use PointMark::{Anchor, Joint};
    use StrandKind::Sling;
    Elevation {
        title: "Three cord legs, pulled 10 degrees off line".into(),
        subtitle: "6 kN at the master point".into(),
        points: vec![
            point("a", [-0.5, 0.0, 0.2], Anchor),
            point("b", [0.1, 0.05, 0.4], Anchor),
            point("c", [0.6, -0.05, 0.0], Anchor),
            ElevationPoint { note: Some("pull 6.0 kN".into()), ..point("master", [0.0, 0.0, -0.8], Joint) },
        ],
        strands: vec![strand(0, 3, Sling, 0.0), strand(1, 3, Sling, 3.1), strand(2, 3, Sling, 3.7)],
        links: vec![
            link(0, Emphasis::Within, &["closed 0 of 24 kN"]),
            link(1, Emphasis::Within, &["closed 2.9–3.2 of 24 kN · margin 7.5"]),
            link(2, Emphasis::Low, &["cross-loaded 3.5–3.9 of 7 kN · margin 1.8"]),
            link(
                3,
                Emphasis::Within,
                &["closed 6.0 of 25 kN · margin 4.2", "tri-axial 6.0 kN: no table gives a strength"],
            ),
            link(3, Emphasis::Unrated, &["off-spine: remove the position"]),
        ],
        ..Elevation::default()
    }
}

/// A top rope on two legs, far above the belayer.
pub fn top_rope() -> Elevation {
    use PointMark::{Anchor, Joint, Person};
    use StrandKind::{Rope, Sling};
    Elevation {
        title: "Top rope on two cord legs of unequal height".into(),
        subtitle: "The climber sits down into 0.4 m of slack".into(),
        points: vec![
            point("left", [-0.4, 0.0, 15.2], Anchor),
            point("right", [0.4, 0.0, 15.0], Anchor),
            point("master", [0.0, 0.0, 14.4], Joint),
            point("climber", [0.3, 0.0, 12.0], Person),
            point("belayer", [1.0, 0.0, 1.0], Person),
        ],
        strands: vec![
            strand(0, 2, Sling, 1.9),
            strand(1, 2, Sling, 2.4),
            strand(4, 2, Rope, 1.5),
            strand(2, 3, Rope, 2.6),
        ],
        links: vec![
            link(0, Emphasis::Within, &["closed 1.7–2.0 of 22 kN · margin 11"]),
            link(1, Emphasis::Within, &["closed 2.2–2.6 of 22 kN · margin 8.4"]),
            link(2, Emphasis::Low, &["gate-open 3.8–4.4 of 7 kN · margin 1.6"]),
        ],
        also: vec![Ghost { point: 3, at: [0.2, 0.0, 10.6], name: "climber, lowest 10.6 m".into() }],
        floor_m: Some(0.0),
        plots: vec![
            force_plot(),
            Plot { title: "Rope only".into(), limit: Some((22.0, "22 kN".into())), ..force_plot() },
        ],
        cautions: cautions(),
    }
}

/// A sliding loop: two strands between the same points, seen askew, with names that need care.
pub fn loop_askew() -> Elevation {
    use PointMark::{Anchor, Joint};
    let mut strands = vec![
        strand(0, 2, StrandKind::Sling, 2.0),
        strand(2, 0, StrandKind::Sling, 2.0),
        strand(1, 2, StrandKind::Sling, 3.0),
    ];
    strands.push(Strand { tension_kn: None, label: None, ..strand(0, 1, StrandKind::Rope, 0.0) });
    Elevation {
        title: "Loop <\"Größe\" & 'été'>".into(),
        subtitle: "Two strands & one".into(),
        points: vec![
            point("bolt <1> & \"Öse\"", [0.0, 0.0, 0.6], Anchor),
            point("bolt 'é'", [0.3, 0.4, 0.6], Anchor),
            point("master", [0.15, 0.2, 0.1], Joint),
        ],
        strands,
        links: vec![link(2, Emphasis::Over, &["tri-axial 5 of <4> kN & more"])],
        ..Elevation::default()
    }
}

/// A line far wider than high.
pub fn high_line() -> Elevation {
    use PointMark::{Anchor, Joint};
    Elevation {
        title: "Taut line over a zawn".into(),
        subtitle: "Loaded in the middle".into(),
        points: vec![
            point("north bolts", [0.0, 0.0, 20.0], Anchor),
            point("pulley", [15.0, 0.0, 18.5], Joint),
            point("south tree", [30.0, 0.0, 19.5], Anchor),
        ],
        strands: vec![strand(0, 1, StrandKind::Rope, 6.1), strand(1, 2, StrandKind::Rope, 6.0)],
        links: vec![link(1, Emphasis::Within, &["closed 1.2 of 22 kN · margin 18"])],
        ..Elevation::default()
    }
}

/// All of them.
pub fn all() -> Vec<Elevation> {
    vec![lead(), draws(), anchor(), top_rope(), loop_askew(), high_line()]
}
