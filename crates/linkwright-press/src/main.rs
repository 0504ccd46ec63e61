//! The helper program that prints sheets: orders come in on standard input, one JSON object a line; for each an answer
//! goes out, one JSON object a line, and after it the PDF.

use linkwright_press::order::{Answer, Order, Trouble, VERSION};
use linkwright_press::printing::{built_in, names, print};
use std::io::{self, BufRead, Write};

fn main() -> io::Result<()> {
    if std::env::args().nth(1).as_deref() == Some("--version") {
        return writeln!(io::stdout(), "linkwright-press {} orders {VERSION}", env!("CARGO_PKG_VERSION"));
    }
    let mut out = io::stdout().lock();
    if let Some(name) = template_asked_for() {
        return show_template(&name, &mut out);
    }
    for line in io::stdin().lock().lines() {
        answer(&line?, &mut out)?;
    }
    Ok(())
}

fn template_asked_for() -> Option<String> {
    let mut arguments = std::env::args().skip(1);
    arguments.next().filter(|argument| argument == "--template").and(arguments.next())
}

/// Prints a template inside the program, to be copied and edited.
fn show_template(name: &str, out: &mut impl Write) -> io::Result<()> {
    match built_in(name) {
        Some(text) => out.write_all(text.as_bytes()),
        None => Err(io::Error::new(
            io::ErrorKind::NotFound,
            format!("no template `{name}`; there are: {}", names().join(", ")),
        )),
    }
}

fn answer(line: &str, out: &mut impl Write) -> io::Result<()> {
    let (answer, pdf) = match read(line).and_then(|order| print(&order)) {
        Ok(sheet) => (Answer::Printed { version: VERSION, pages: sheet.pages, bytes: sheet.pdf.len() }, sheet.pdf),
        Err(troubles) => (Answer::Refused { version: VERSION, troubles }, Vec::new()),
    };
    serde_json::to_writer(&mut *out, &answer)?;
    out.write_all(b"\n")?;
    out.write_all(&pdf)?;
    out.flush()
}

fn read(line: &str) -> Result<Order, Vec<Trouble>> {
    serde_json::from_str(line).map_err(|why| {
        vec![Trouble::plain(
            format!("this is no order: {why}"),
            format!("send one JSON object a line, of version {VERSION}"),
        )]
    })
}
