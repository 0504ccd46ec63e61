//! A password, typed where nobody sees it; never an argument, which everybody on the machine could read.

use desk::rack::Fault;
use desk::texts;
use std::io::{self, BufRead, IsTerminal, Write};

/// Asks for it twice on a terminal; elsewhere it is the first line of the input.
pub fn asked() -> Result<String, Fault> {
    let read = || if io::stdin().is_terminal() { typed() } else { piped().map(Some) };
    match read() {
        Ok(Some(password)) => Ok(password),
        Ok(None) => Err(Fault::new("passwords-differ", &[])),
        Err(why) => Err(Fault::new("no-password", &[("why", why.to_string())])),
    }
}

/// Nothing where the two are not the same.
fn typed() -> io::Result<Option<String>> {
    let ask = |code: &str| {
        // On the other stream, so that the answer alone stands on this one.
        write!(io::stderr(), "{}", texts::rack(code, &[]))?;
        rpassword::read_password()
    };
    let first = ask("password-ask")?;
    Ok((ask("password-again")? == first).then_some(first))
}

fn piped() -> io::Result<String> {
    let mut line = String::new();
    io::stdin().lock().read_line(&mut line)?;
    Ok(line.trim_end_matches(['\r', '\n']).to_owned())
}
