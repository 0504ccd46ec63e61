use mechanics::fall::*;
use mechanics::rope::Response;
use mechanics::vector::Vector;
fn four() -> Fall<f64> {
    let pts = [[0.,0.,3.],[0.3,0.,6.],[-0.2,0.,9.],[0.2,0.,12.],[0.5,0.,15.],[1.,0.,1.]];
    let nodes = pts.iter().enumerate().map(|(i,&p)| Node{at: Vector(p), kind: if i<4 {Kind::Fixed} else if i==4 {Kind::Free(80.)} else {Kind::Stands(70.)}}).collect();
    let through = vec![5,0,1,2,3,4];
    let mut lengths: Vec<f64> = through.windows(2).map(|w| (Vector(pts[w[0]])-Vector(pts[w[1]])).norm()).collect();
    *lengths.last_mut().unwrap() += 0.5;
    Fall{nodes, legs: vec![], lines: vec![Line{response: Response{slow:10e3,fast:18e3,relax:0.15}, through, lengths, friction: vec![0.25;6], brake: 3e3}], until: 2.5}
}
#[test]
fn smoke() {
    for h in [4e-3,2e-3,1e-3,5e-4,2.5e-4, 1.25e-4] {
        let mut fall = four();
        let t = std::time::Instant::now();
        let p = run(&fall, h, &mut ()).unwrap();
        let e = t.elapsed();
        println!("{h} {:?} {:?} low {} bel {} {:?}", p.segments, e, p.nodes[4].lowest, p.nodes[5].highest, p.nodes.iter().map(|n| n.all).collect::<Vec<_>>());
        fall.until = 2.5;
    }
}
