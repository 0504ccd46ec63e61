//! What the drawings of wear promise, read back from the SVG.

use draw::plot::{Plot, Series, plot};
use draw::worn::{PhotoPart, Worn, parts, worn};
use roxmltree::{Document, Node};

fn number(node: Node, name: &str) -> f64 {
    node.attribute(name).and_then(|text| text.parse().ok()).unwrap_or_else(|| panic!("{name} of {node:?} is a number"))
}

fn of_class<'a, 'i>(document: &'a Document<'i>, class: &'a str) -> impl Iterator<Item = Node<'a, 'i>> {
    document.descendants().filter(move |node| node.attribute("class") == Some(class))
}

fn fan() -> Plot {
    let rows = (0..=20).map(|step| f64::from(step) * 50.0);
    Plot {
        title: "Wear against use".into(),
        x_label: "use in kN m".into(),
        y_label: "depth in mm".into(),
        series: vec![Series {
            name: "even chances".into(),
            points: rows.clone().map(|x| [x, 1e-3 * x]).collect(),
            dashed: false,
        }],
        band: rows.map(|x| [x, 0.8e-3 * x, 1.3e-3 * x]).collect(),
        readings: vec![[300.0, 0.32, 0.06], [500.0, 0.49, 0.10], [f64::NAN, 0.2, 0.1]],
        limit: Some((1.0, "limit 1 mm".into())),
        ..Plot::default()
    }
}

#[test]
fn intervals_of_readings_are_to_the_scale_of_the_plot() {
    let svg = plot(&fan());
    let document = Document::parse(&svg).expect("well-formed");
    let upright = |node: &Node| node.has_tag_name("line") && node.attribute("class") == Some("ink");
    let tall = |node: Node| (number(node, "y2") - number(node, "y1")).abs();
    let whiskers: Vec<f64> = document
        .descendants()
        .filter(upright)
        .filter(|node| number(*node, "x1") == number(*node, "x2") && node.attribute("stroke-width") == Some("1.20"))
        .map(tall)
        .collect();
    assert_eq!(whiskers.len(), 2, "the reading that is no number is left out");
    assert!((whiskers[1] / whiskers[0] - 0.10 / 0.06).abs() < 0.01, "{whiskers:?}");
    assert!(svg.contains("Measured at 300.00: 0.32, give or take 0.06."));
}

#[test]
fn the_band_lies_under_the_curve_and_within_the_field() {
    let svg = plot(&fan());
    let document = Document::parse(&svg).expect("well-formed");
    let band = of_class(&document, "wash").next().expect("a band");
    let curve = document.descendants().find(|node| node.has_tag_name("polyline")).expect("a curve");
    assert!(band.range().start < curve.range().start, "what comes later covers what came before");
    let places =
        band.attribute("points").expect("places").split([' ', ',']).map(|text| text.parse::<f64>().expect("a number"));
    assert_eq!(places.clone().count(), 2 * 2 * 21);
    assert!(places.into_iter().all(|value| (0.0..=720.0).contains(&value)));
}

fn pear() -> Worn {
    let oval = |a: f64, b: f64| {
        let place = |step: i32| {
            let angle = f64::from(step) * std::f64::consts::TAU / 200.0;
            [2000.0 + a * angle.cos(), 1500.0 + b * angle.sin()]
        };
        (0..200).map(place).collect::<Vec<_>>()
    };
    Worn {
        title: "Wear of now.jpg against new.jpg".into(),
        found: "Groove: 0.6 mm deep".into(),
        caution: "Feel for a sharp edge".into(),
        photos: Vec::new(),
        piece: vec![oval(700.0, 400.0), oval(600.0, 300.0)],
        reference: vec![oval(700.0, 400.0), oval(595.0, 300.0)],
        deepest: [2600.0, 1500.0],
        profile: fan(),
    }
}

#[test]
fn both_views_show_both_outlines_and_the_closer_one_the_deepest_place() {
    let drawing = pear();
    let [whole, close] = parts(&drawing);
    let inside = |[x, y]: [f64; 2], [left, top, width, height]: [f64; 4]| {
        (left..=left + width).contains(&x) && (top..=top + height).contains(&y)
    };
    assert!(drawing.piece.iter().flatten().all(|place| inside(*place, whole)));
    assert!(inside(drawing.deepest, close) && close[2] < whole[2] / 4.0);
    let svg = worn(&drawing);
    let document = Document::parse(&svg).expect("well-formed");
    let dashed = document.descendants().filter(|node| {
        node.has_tag_name("polyline")
            && node.attribute("class") == Some("accent")
            && node.attribute("stroke-dasharray").is_some()
    });
    assert_eq!(dashed.count(), 4, "what it is compared with is dashed: no colour is needed to tell the two apart");
    assert!(
        ["outline now", "outline it is compared with", "Feel for a sharp edge"].iter().all(|words| svg.contains(words))
    );
    assert_eq!(worn(&drawing), svg, "the same input gives the same bytes");
}

#[test]
fn photos_lie_under_the_lines_and_nothing_breaks_without_an_outline() {
    let part = |corner: [f64; 2]| PhotoPart { png: vec![1, 2, 3, 4], corner, size: [100.0, 100.0] };
    let drawing = Worn { photos: vec![part([1300.0, 800.0]), part([2500.0, 1400.0])], ..pear() };
    let svg = worn(&drawing);
    let document = Document::parse(&svg).expect("well-formed");
    let images: Vec<_> = document.descendants().filter(|node| node.has_tag_name("image")).collect();
    assert_eq!(images.len(), 2);
    assert!(images.iter().all(|image| image.attribute("href") == Some("data:image/png;base64,AQIDBA==")));
    let first_line = document.descendants().find(|node| node.has_tag_name("polyline")).expect("a line");
    assert!(images[0].range().start < first_line.range().start);
    assert!(!worn(&Worn::default()).contains("NaN") && Document::parse(&worn(&Worn::default())).is_ok());
}
