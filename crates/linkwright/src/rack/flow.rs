//! Inspections piece by piece, by keys: the same for a terminal and a pipe.

use super::Result;
use desk::rack::inspect::{Form, Step};
use desk::rack::{Answer, Fault, Rack};
use desk::texts::Read;
use std::io::{BufRead, Write};
use trade::rack::Occasion;

/// Asks for each piece until its answer does. Each is written as soon as it is told; the end of the input stops.
pub async fn run(rack: &Rack<'_>, labels: &str, occasion: Occasion, on: Option<&str>) -> Result {
    let mut answers = Vec::new();
    for label in desk::rack::labels::expand(labels)? {
        let form = rack.form(&label, occasion).await?;
        match ask(&form, &mut std::io::stdin().lock())? {
            Step::Stop => break,
            Step::Done { found, clears } => {
                let open: Vec<i64> = form.open.iter().map(|(entry, _)| *entry).filter(|_| clears).collect();
                answers.push(rack.inspect(&label, occasion, &found, &open, on).await?);
            }
            Step::Skip | Step::Explain => {}
        }
    }
    Ok(Answer::joined(&answers))
}

fn ask(form: &Form, input: &mut impl BufRead) -> std::result::Result<Step, Fault> {
    loop {
        eprint!("{}", form.prompt());
        let _ = std::io::stderr().flush();
        let mut line = String::new();
        let read = input.read_line(&mut line);
        read.map_err(|why| Fault::new("unreadable", &[("path", "-".to_owned()), ("why", why.to_string())]))?;
        if line.is_empty() {
            return Ok(Step::Stop);
        }
        match form.read(&line) {
            Ok(Step::Explain) => eprint!("{}", form.explain()),
            Ok(step) => return Ok(step),
            Err(fault) => {
                let (what, help) = fault.words(Read::InTerminal);
                eprintln!("  {what}; {help}");
            }
        }
    }
}
