//! What the drawings promise, read back from the SVG.

mod common;

use common::{anchor, draws, force_plot, lead, link, point, strand, top_rope};
use draw::elevation::{Elevation, Emphasis, Ghost, PointMark, StrandKind, elevation};
use draw::plot::{Plot, Series, plot};
use roxmltree::{Document, Node};

fn number(node: Node, name: &str) -> f64 {
    node.attribute(name).and_then(|text| text.parse().ok()).unwrap_or_else(|| panic!("{name} of {node:?} is a number"))
}

fn title<'a>(node: Node<'a, '_>) -> &'a str {
    node.children().find(|child| child.has_tag_name("title")).and_then(|child| child.text()).unwrap_or_default()
}

fn of_class<'a, 'i>(document: &'a Document<'i>, class: &'a str) -> impl Iterator<Item = Node<'a, 'i>> {
    document.descendants().filter(move |node| node.attribute("class") == Some(class))
}

fn first_line<'a, 'i>(group: Node<'a, 'i>) -> Node<'a, 'i> {
    group.children().find(|child| child.has_tag_name("line")).expect("the group holds a line")
}

fn length(line: Node) -> f64 {
    let (dx, dy) = (number(line, "x2") - number(line, "x1"), number(line, "y2") - number(line, "y1"));
    (dx * dx + dy * dy).sqrt()
}

/// Left, top, right, bottom of a text, taking 0.55 of its size for a letter.
fn bounds(text: Node) -> [f64; 4] {
    let words = text.text().unwrap_or_default();
    let (size, x, y) = (number(text, "font-size"), number(text, "x"), number(text, "y"));
    let width = words.chars().count() as f64 * 0.55 * size;
    let left = match text.attribute("text-anchor") {
        Some("end") => x - width,
        Some("middle") => x - width / 2.0,
        _ => x,
    };
    [left, y - 0.75 * size, left + width, y + 0.2 * size]
}

fn overlap(a: [f64; 4], b: [f64; 4]) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

fn assert_texts_apart(svg: &str) {
    let document = Document::parse(svg).expect("well-formed");
    let (width, height) = (number(document.root_element(), "width"), number(document.root_element(), "height"));
    let texts: Vec<_> = document.descendants().filter(|node| node.has_tag_name("text")).collect();
    for (index, text) in texts.iter().enumerate() {
        let own = bounds(*text);
        assert!(
            own[0] >= 0.0 && own[1] >= 0.0 && own[2] <= width && own[3] <= height,
            "{:?} leaves the sheet",
            text.text()
        );
        for other in &texts[..index] {
            assert!(!overlap(own, bounds(*other)), "{:?} lies on {:?}", text.text(), other.text());
        }
    }
}

/// The distance of two points of a rig that is seen along x.
fn metres(rig: &Elevation, a: usize, b: usize) -> f64 {
    let (a, b) = (rig.points[a].at, rig.points[b].at);
    ((a[0] - b[0]) * (a[0] - b[0]) + (a[2] - b[2]) * (a[2] - b[2])).sqrt()
}

fn px_per_m(bar: Node) -> f64 {
    let metres: f64 = title(bar).trim_end_matches(" m").parse().expect("a scale bar names its metres");
    length(first_line(bar)) / metres
}

/// Rigs of many points, links and labels scattered without care, by a linear congruential sequence.
fn scattered(seed: u64) -> Elevation {
    let mut state = seed;
    let mut next = move |below: u64| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) % below
    };
    let count = 3 + next(12) as usize;
    let (wide, high) = (1 + next(200), 1 + next(200));
    let kinds = [PointMark::Anchor, PointMark::Joint, PointMark::Person];
    let place =
        |next: &mut dyn FnMut(u64) -> u64| [next(wide) as f64 / 10.0, next(3) as f64 / 10.0, next(high) as f64 / 10.0];
    let points: Vec<_> =
        (0..count).map(|index| point(&format!("point {index}"), place(&mut next), kinds[next(3) as usize])).collect();
    let strands =
        (1..count).map(|to| strand(next(to as u64) as usize, to, StrandKind::Rope, next(60) as f64 / 10.0)).collect();
    let ranks = [Emphasis::Over, Emphasis::Unrated, Emphasis::Low, Emphasis::Within];
    let links = (0..count)
        .map(|index| link(index, ranks[next(4) as usize], &["closed 4.1–6.0 of 22 kN · margin 3.6"]))
        .collect();
    let also = vec![Ghost { point: 0, at: place(&mut next), name: "point 0, lowest".into() }];
    Elevation {
        title: format!("Scattered {seed}"),
        points,
        strands,
        links,
        also,
        floor_m: Some(0.0),
        ..Elevation::default()
    }
}

#[test]
fn every_drawing_is_well_formed_and_says_its_title_as_given() {
    for rig in common::all().into_iter().chain([Elevation::default()]) {
        let svg = elevation(&rig);
        let document = Document::parse(&svg).expect("well-formed");
        assert_eq!(title(document.root_element()), rig.title);
        let description = document.descendants().find(|node| node.has_tag_name("desc")).and_then(|node| node.text());
        let description = description.unwrap_or_default();
        assert!(rig.points.iter().all(|point| description.contains(&point.name)), "{description}");
        assert!(rig.links.iter().flat_map(|link| &link.lines).all(|line| description.contains(line)), "{description}");
    }
}

#[test]
fn every_name_line_and_caution_is_written() {
    for rig in common::all() {
        let svg = elevation(&rig);
        let document = Document::parse(&svg).expect("well-formed");
        let written: Vec<_> =
            document.descendants().filter(|node| node.has_tag_name("text")).filter_map(|node| node.text()).collect();
        let flow = written.join(" ");
        let names = rig.points.iter().map(|point| &point.name).chain(rig.also.iter().map(|ghost| &ghost.name));
        let lines = rig.links.iter().flat_map(|link| &link.lines).chain(&rig.cautions);
        let labels = rig.strands.iter().filter_map(|strand| strand.label.as_ref());
        for words in names.chain(lines).chain(labels) {
            assert!(flow.contains(words.as_str()), "{words:?} is missing from {:?}", rig.title);
        }
    }
}

#[test]
fn strands_are_to_the_scale_of_the_bar() {
    for rig in [lead(), draws(), anchor(), top_rope(), common::high_line()] {
        let svg = elevation(&rig);
        let document = Document::parse(&svg).expect("well-formed");
        let scale = px_per_m(of_class(&document, "scale-bar").next().expect("a scale bar"));
        let drawn: Vec<_> =
            of_class(&document, "strand").take(rig.strands.len()).map(|group| length(first_line(group))).collect();
        assert_eq!(drawn.len(), rig.strands.len());
        for (strand, px) in rig.strands.iter().zip(drawn) {
            let expected = metres(&rig, strand.from, strand.to) * scale;
            // Coordinates have two decimals, and so has the bar that the scale is read from.
            assert!((px - expected).abs() < 0.02 + 3e-4 * expected, "{px} against {expected} in {:?}", rig.title);
        }
    }
}

#[test]
fn a_crowded_anchor_has_a_detail_to_its_own_scale() {
    let rig = top_rope();
    let svg = elevation(&rig);
    let document = Document::parse(&svg).expect("well-formed");
    let scales: Vec<_> = of_class(&document, "scale-bar").map(px_per_m).collect();
    assert_eq!(scales.len(), 2);
    assert!(scales[1] > 2.0 * scales[0], "{scales:?}");
    let legs: Vec<_> = of_class(&document, "strand").filter(|group| title(*group) == "left – master").collect();
    let drawn: Vec<_> = legs.iter().map(|group| length(first_line(*group))).collect();
    for (px, scale) in drawn.iter().zip(scales) {
        assert!((px / scale - metres(&rig, 0, 2)).abs() < 2e-3, "{px} px at {scale} px/m");
    }
    assert_eq!(drawn.len(), 2);
}

#[test]
fn strokes_grow_with_tension() {
    let rig = lead();
    let svg = elevation(&rig);
    let document = Document::parse(&svg).expect("well-formed");
    let widths = of_class(&document, "strand").map(|group| number(first_line(group), "stroke-width"));
    let mut pairs: Vec<_> =
        rig.strands.iter().map(|strand| strand.tension_kn.expect("all are computed")).zip(widths).collect();
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    assert_eq!(pairs.len(), rig.strands.len());
    assert!(pairs.windows(2).all(|pair| pair[0].1 < pair[1].1), "{pairs:?}");
}

#[test]
fn slack_is_dashed_and_tension_is_not() {
    let svg = elevation(&anchor());
    let document = Document::parse(&svg).expect("well-formed");
    let dashed = |name: &str| {
        let group = of_class(&document, "strand").find(|group| title(*group) == name).expect("the strand is drawn");
        first_line(group).attribute("stroke-dasharray").is_some()
    };
    assert!(dashed("a – master"));
    assert!(!dashed("b – master"));
}

#[test]
fn labels_do_not_overlap() {
    for rig in common::all() {
        assert_texts_apart(&elevation(&rig));
    }
    for seed in 0..300 {
        assert_texts_apart(&elevation(&scattered(seed)));
    }
}

#[test]
fn labels_along_strands_lie_on_no_strand() {
    for rig in common::all().into_iter().chain((0..100).map(scattered)) {
        let svg = elevation(&rig);
        let document = Document::parse(&svg).expect("well-formed");
        let lines: Vec<_> = of_class(&document, "strand").map(first_line).collect();
        let along = of_class(&document, "words halo").filter(|node| node.has_tag_name("text"));
        for text in along {
            let [left, top, right, bottom] = bounds(text);
            for line in &lines {
                let [x1, y1, x2, y2] = ["x1", "y1", "x2", "y2"].map(|name| number(*line, name));
                let inside = (0..=400).map(|step| f64::from(step) / 400.0).any(|share| {
                    let (x, y) = (x1 + (x2 - x1) * share, y1 + (y2 - y1) * share);
                    left < x && x < right && top < y && y < bottom
                });
                assert!(!inside, "{:?} lies on a strand of {:?}", text.text(), rig.title);
            }
        }
    }
}

#[test]
fn each_rank_has_its_ring_and_its_words() {
    let ranks = [
        (Emphasis::Over, "over rating", true, false),
        (Emphasis::Unrated, "no rating", false, true),
        (Emphasis::Low, "low margin", false, false),
    ];
    for (rank, words, heavy, dashed) in ranks {
        let rig = Elevation { links: vec![link(3, rank, &["closed"])], ..anchor() };
        let svg = elevation(&rig);
        let document = Document::parse(&svg).expect("well-formed");
        let master = of_class(&document, "point").find(|group| title(*group) == "master").expect("the point is drawn");
        let ring =
            master.children().find(|node| node.attribute("class") == Some("accent")).expect("the point has a ring");
        assert_eq!(number(ring, "stroke-width") > 3.0, heavy);
        assert_eq!(ring.attribute("stroke-dasharray").is_some(), dashed);
        assert!(of_class(&document, "alert").any(|node| node.text() == Some(words)), "{words}");
    }
    let calm = elevation(&Elevation { links: vec![link(3, Emphasis::Within, &["closed"])], ..anchor() });
    let document = Document::parse(&calm).expect("well-formed");
    assert_eq!(of_class(&document, "accent").chain(of_class(&document, "alert")).count(), 0);
}

#[test]
fn what_refers_to_no_point_is_left_out() {
    let mut rig = anchor();
    let plain = elevation(&rig);
    rig.strands.push(strand(0, 99, StrandKind::Rope, 1.0));
    rig.also.push(Ghost { point: 99, at: [0.0; 3], name: "nobody".into() });
    let drawn = elevation(&rig);
    let count = |svg: &str| svg.matches("class=\"strand\"").count();
    assert_eq!(count(&drawn), count(&plain));
    assert!(
        !Document::parse(&drawn)
            .expect("well-formed")
            .descendants()
            .any(|node| node.text() == Some("nobody") && node.has_tag_name("text"))
    );
}

#[test]
fn points_that_coincide_are_drawn() {
    let alone = point("only", [2.0, 1.0, 3.0], PointMark::Joint);
    let rig = Elevation {
        points: vec![alone.clone(), alone],
        strands: vec![strand(0, 1, StrandKind::Sling, 1.0)],
        ..Elevation::default()
    };
    let svg = elevation(&rig);
    assert!(!svg.contains("NaN") && !svg.contains("inf"));
    assert_eq!(of_class(&Document::parse(&svg).expect("well-formed"), "point").count(), 2);
    assert_texts_apart(&svg);
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    for (once, again) in common::all().iter().zip(common::all()) {
        assert_eq!(elevation(once), elevation(&again));
    }
}

#[test]
fn a_plot_is_thinned_and_keeps_its_peak() {
    let mut series = Series {
        name: "long".into(),
        points: (0..200_000).map(|t| [f64::from(t), f64::from(t % 10)]).collect(),
        dashed: false,
    };
    series.points[77_777][1] = 40.0;
    let svg = plot(&Plot { series: vec![series], ..Plot::default() });
    let document = Document::parse(&svg).expect("well-formed");
    let curve = of_class(&document, "ink").find(|node| node.has_tag_name("polyline")).expect("the curve is drawn");
    let heights: Vec<f64> = curve
        .attribute("points")
        .unwrap_or_default()
        .split(' ')
        .filter_map(|pair| pair.split_once(',')?.1.parse().ok())
        .collect();
    assert!(heights.len() > 100 && heights.len() < 4 * 720, "{}", heights.len());
    let forty = document
        .descendants()
        .find(|node| node.has_tag_name("text") && node.text() == Some("40"))
        .expect("a tick at 40");
    let peak = heights.iter().copied().fold(f64::INFINITY, f64::min);
    assert!((peak + 4.0 - number(forty, "y")).abs() < 0.02, "{peak}");
}

#[test]
fn plots_keep_their_texts_apart() {
    let far = Plot { limit: Some((60.0, "minor axis 60 kN".into())), ..force_plot() };
    for one in [force_plot(), far, Plot::default()] {
        assert_texts_apart(&plot(&one));
    }
}

#[test]
fn a_limit_is_a_line_at_its_height_or_an_arrow() {
    let svg = plot(&force_plot());
    let document = Document::parse(&svg).expect("well-formed");
    let tick = |words: &str| {
        let text = document.descendants().find(|node| node.has_tag_name("text") && node.text() == Some(words));
        number(text.expect("the tick is there"), "y") - 4.0
    };
    let nine = number(of_class(&document, "accent").next().expect("9 kN are in sight"), "y1");
    assert!((nine - (tick("8") + tick("10")) / 2.0).abs() < 0.02);

    let far = plot(&Plot { limit: Some((90.0, "limit".into())), ..force_plot() });
    let document = Document::parse(&far).expect("well-formed");
    assert_eq!(of_class(&document, "accent").count(), 0);
    assert!(document.descendants().any(|node| node.text() == Some("↑ limit, above this plot")));
}
