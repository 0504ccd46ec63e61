//! The helper program that solves plans: orders come in on standard input, one JSON object a line; for each an answer goes
//! out, one JSON object a line.

use linkwright_solve::solve;
use plan::programme::{Answer, Order, Outcome, VERSION};
use std::io::{self, BufRead, Write};

fn main() -> io::Result<()> {
    let mut out = io::stdout().lock();
    if std::env::args().nth(1).as_deref() == Some("--version") {
        return writeln!(out, "linkwright-solve {} orders {VERSION}", env!("CARGO_PKG_VERSION"));
    }
    for line in io::stdin().lock().lines() {
        serde_json::to_writer(&mut out, &Answer { version: VERSION, outcome: outcome(&line?) })?;
        out.write_all(b"\n")?;
        out.flush()?;
    }
    Ok(())
}

fn outcome(line: &str) -> Outcome {
    match serde_json::from_str::<Order>(line) {
        Ok(order) if order.version == VERSION => solve(&order.programme, &order.least),
        Ok(order) => {
            Outcome::Failed(format!("this is an order of version {}, and {VERSION} is understood", order.version))
        }
        Err(why) => Outcome::Failed(format!("this is no order: {why}")),
    }
}
