use mechanics::fall::Leg;
use mechanics::rest::*;
use mechanics::vector::Vector;
fn node(at: [f64;3], fixed: bool, load: [f64;3]) -> Node { Node{at: Vector(at), hold: if fixed {Hold::Fixed} else {Hold::Free}, load: Vector(load)} }
fn leg(net: &Net, a: usize, b: usize, s: f64) -> Leg<f64> { let l = (net.nodes[a].at - net.nodes[b].at).norm(); Leg{ends:[a,b], stiffness: s/l, length: l} }
#[test] fn three() {
    let mut n = Net{nodes: vec![node([-0.5,0.,0.2],true,[0.;3]),node([0.1,0.05,0.4],true,[0.;3]),node([0.6,-0.05,0.],true,[0.;3]),node([0.,0.,-0.8],false,[1041.8890660015825,0.,-5908.846518073248])],legs:vec![],lines:vec![]};
    for i in 0..3 { let l = leg(&n,i,3,60e3); n.legs.push(l); }
    let r = solve(&n).unwrap(); println!("{r:?}");
    let mut n = Net{nodes: vec![node([-0.4,0.,0.1],true,[0.;3]),node([0.6,0.1,0.],true,[0.;3]),node([0.,0.,-0.6],false,[0.;3]),node([0.,0.,-0.9],false,[-600.,200.,-5000.])],legs:vec![],lines:vec![]};
    n.legs.push(Leg{ends:[2,3],stiffness:200e3*2./0.3,length:0.3});
    n.lines.push(Line{stiffness:90e3,through:vec![0,2,1],length:1.5});
    let r = solve(&n).unwrap(); println!("{r:?}");
    // wire
    let mut n = Net{nodes: vec![node([-1.,0.,0.],true,[0.;3]),node([1.,0.,0.],true,[0.;3]),node([0.,0.,0.],false,[0.,0.,-0.25*9.81])],legs:vec![],lines:vec![]};
    let ea = 2e11*std::f64::consts::PI*0.25e-6;
    for i in 0..2 { let l = leg(&n,i,2,ea); n.legs.push(l); }
    let r = solve(&n).unwrap(); println!("{r:?}");
    for w in [10usize] { for hgt in [10usize, 2] {
    let w = 100/hgt*w/10;
    let mut n = Net::default();
    let id = |i: usize,j: usize| i*w+j;
    for i in 0..=hgt { for j in 0..w { n.nodes.push(node([j as f64*0.3,0.,-(i as f64)*0.3], i==0, if i==hgt {[ (j%3) as f64*10.,20.,-500.]} else {[0.;3]})); } }
    for i in 0..=hgt { for j in 0..w { if i<hgt { let l=leg(&n,id(i,j),id(i+1,j),60e3); n.legs.push(l);} if j+1<w && i>0 { let l=leg(&n,id(i,j),id(i,j+1),60e3); n.legs.push(l);} if j+1<w && i<hgt { let l=leg(&n,id(i,j),id(i+1,j+1),60e3); n.legs.push(l);} } }
    let t = std::time::Instant::now(); let mut r = solve(&n).unwrap(); for _ in 0..20 { r = solve(&n).unwrap(); } println!("grid {hgt} {:?} rounds {}", t.elapsed()/21, r.rounds);
    }}
}
