#![allow(missing_docs, reason = "the bench macros write functions of their own")]
//! How the engine's time grows with the size of what it is given.

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use mechanics::fall::{Fall, Kind, Leg, Line, Node, default_step, run};
use mechanics::rest::{self, Hold, Net};
use mechanics::rope::Response;
use mechanics::sheet::{DataSheet, DropTest, fit};
use mechanics::vector::Vector;

/// A lead fall past `clips` clips three metres apart, on swinging draws or not.
fn lead(clips: usize, draws: bool) -> Fall<f64> {
    let mut nodes = vec![Node { at: Vector([1.0, 0.0, 0.0]), kind: Kind::Stands(70.0) }];
    let (mut legs, mut through) = (Vec::new(), vec![0]);
    for clip in 0..clips {
        let at = [if clip % 2 == 0 { 0.0 } else { 0.4 }, 0.0, 3.0 * (clip + 1) as f64];
        nodes.push(Node { at: Vector(at), kind: Kind::Fixed });
        if draws {
            nodes.push(Node { at: Vector([at[0], at[1], at[2] - 0.17]), kind: Kind::Free(0.1) });
            legs.push(Leg { ends: [nodes.len() - 2, nodes.len() - 1], stiffness: 400e3 / 0.17, length: 0.17 });
        }
        through.push(nodes.len() - 1);
    }
    nodes.push(Node { at: Vector([0.2, 0.0, 3.0 * clips as f64 + 2.5]), kind: Kind::Free(80.0) });
    through.push(nodes.len() - 1);
    let mut lengths: Vec<f64> = through.windows(2).map(|pair| (nodes[pair[0]].at - nodes[pair[1]].at).norm()).collect();
    lengths[clips] += 0.5;
    let response = Response { slow: 10e3, fast: 18e3, relax: 0.15 };
    let friction = vec![0.25; through.len()];
    Fall {
        nodes,
        legs,
        lines: vec![Line { response, through, lengths, friction, brake: 3e3 }],
        until: 2.0,
        ..Fall::default()
    }
}

/// A net of `rows` by `columns` joints under a row of anchors, loaded along its lower edge.
fn net(rows: usize, columns: usize) -> Net {
    let mut net = Net::default();
    let place = |row: usize, column: usize| row * columns + column;
    for row in 0..=rows {
        for column in 0..columns {
            let load = if row == rows { [20.0, 5.0, -500.0] } else { [0.0; 3] };
            let hold = if row == 0 { Hold::Fixed } else { Hold::Free };
            let at = Vector([0.3 * column as f64, 0.0, -0.3 * row as f64]);
            net.nodes.push(rest::Node { at, hold, load: Vector(load) });
        }
    }
    let mut tie = |a: usize, b: usize| net.legs.push(Leg { ends: [a, b], stiffness: 60e3 / 0.3, length: 0.3 });
    for row in 0..rows {
        for column in 0..columns {
            tie(place(row, column), place(row + 1, column));
            if column + 1 < columns {
                tie(place(row + 1, column), place(row + 1, column + 1));
            }
        }
    }
    net
}

fn falls(criterion: &mut Criterion) {
    for (name, draws) in [("fall/clips", false), ("fall/draws", true)] {
        let mut group = criterion.benchmark_group(name);
        for clips in [1, 2, 4, 8, 16] {
            let fall = lead(clips, draws);
            let step = default_step(&fall);
            group.bench_with_input(BenchmarkId::from_parameter(clips), &fall, |bencher, fall| {
                bencher.iter(|| run(fall, step, &mut ()).expect("a fall that runs"));
            });
        }
        group.finish();
    }
}

fn nets(criterion: &mut Criterion) {
    let shapes = [("rest/chain", [(10, 1), (100, 1), (400, 1)]), ("rest/grid", [(3, 3), (10, 10), (20, 20)])];
    for (name, sizes) in shapes {
        let mut group = criterion.benchmark_group(name);
        for (rows, columns) in sizes {
            let net = net(rows, columns);
            group.bench_with_input(BenchmarkId::from_parameter(rows * columns), &net, |bencher, net| {
                bencher.iter(|| rest::solve(net).expect("a net that is held"));
            });
        }
        group.finish();
    }
}

/// A heavy line over `spans` spans of 60 m: pulleys that hang on slings from points above, a load that rides on the middle
/// span.
fn line_over_pulleys(spans: usize) -> Net {
    let fixed = |at| rest::Node { at: Vector(at), hold: Hold::Fixed, load: Vector::zero() };
    let free = |at, load| rest::Node { at: Vector(at), hold: Hold::Free, load: Vector([0.0, 0.0, load]) };
    let mut net = Net { nodes: vec![fixed([0.0; 3])], ..Net::default() };
    let mut through = vec![0];
    for span in 1..=spans {
        let start = 60.0 * (span - 1) as f64;
        if span == spans.div_ceil(2) {
            net.nodes.push(free([start + 30.0, 0.0, -2.0], -1500.0));
            through.push(net.nodes.len() - 1);
        }
        if span < spans {
            net.nodes.push(fixed([start + 60.0, 0.0, 2.0]));
            net.nodes.push(free([start + 60.0, 0.0, 0.0], 0.0));
            let above = net.nodes.len() - 2;
            net.legs.push(Leg { ends: [above, above + 1], stiffness: 400e3 / 2.0, length: 2.0 });
            through.push(above + 1);
        }
    }
    net.nodes.push(fixed([60.0 * spans as f64, 0.0, 0.0]));
    through.push(net.nodes.len() - 1);
    let length = 60.0 * spans as f64 * 1.01;
    net.lines.push(rest::Line { stiffness: 60e3, weight: 0.8, through, length });
    net
}

fn hung_lines(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("rest/line");
    for spans in [1, 2, 4, 8] {
        let net = line_over_pulleys(spans);
        group.bench_with_input(BenchmarkId::from_parameter(spans), &net, |bencher, net| {
            bencher.iter(|| rest::solve(net).expect("a line that hangs"));
        });
    }
    group.finish();
}

fn sheets(criterion: &mut Criterion) {
    let sheet = DataSheet { impact_force: 8900.0, static_elongation: 0.08, dynamic_elongation: 0.33 };
    criterion.bench_function("data sheet to response", |bencher| {
        bencher.iter(|| fit(&DropTest::en_892(80.0), &sheet).expect("a rope"));
    });
}

criterion_group!(benches, falls, nets, hung_lines, sheets);
criterion_main!(benches);
