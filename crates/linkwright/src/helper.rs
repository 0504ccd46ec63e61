//! Helper programs: found, started, asked, and stopped when they take too long.

use desk::helper::{HelperTrouble, What};
use std::io::{Read, Write};
use std::path::PathBuf;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::thread;
use std::time::{Duration, Instant};

/// Hands an order to the helper program `name`, and gives back all that it says.
pub fn ask(name: &str, order: &str, limit: Duration) -> Result<Vec<u8>, HelperTrouble> {
    let mut child = start(name)?;
    let (mut input, mut output, mut complaints) = (child.stdin.take(), child.stdout.take(), child.stderr.take());
    let order = format!("{order}\n");
    // Written, read and waited for side by side: a helper that reads slowly or talks much blocks nobody.
    let writing = thread::spawn(move || input.as_mut().map(|input| input.write_all(order.as_bytes())));
    let reading = thread::spawn(move || everything(output.as_mut()));
    let listening = thread::spawn(move || everything(complaints.as_mut()));
    // Whoever was stopped may have left others behind that still hold its output: nobody waits for those.
    let Some(status) = wait(&mut child, limit) else { return Err(HelperTrouble::new(name, What::TooSlow(limit))) };
    let said = reading.join().unwrap_or_default();
    let complained = String::from_utf8_lossy(&listening.join().unwrap_or_default()).trim().to_owned();
    let _ = writing.join();
    if status.success() {
        return Ok(said);
    }
    Err(HelperTrouble::new(name, What::Ended(format!("{status} {complained}").trim().to_owned())))
}

fn start(name: &str) -> Result<Child, HelperTrouble> {
    let mut command = Command::new(program(name));
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    command.spawn().map_err(|why| match why.kind() {
        std::io::ErrorKind::NotFound => HelperTrouble::new(name, What::Missing),
        _ => HelperTrouble::new(name, What::Ended(why.to_string())),
    })
}

/// The one beside this program, or else whatever the search path holds.
fn program(name: &str) -> PathBuf {
    let beside = std::env::current_exe().ok().and_then(|own| Some(own.parent()?.join(name)));
    beside.filter(|path| path.is_file()).unwrap_or_else(|| PathBuf::from(name))
}

fn everything(from: Option<&mut impl Read>) -> Vec<u8> {
    let mut said = Vec::new();
    if let Some(from) = from {
        let _ = from.read_to_end(&mut said);
    }
    said
}

/// Waits until it ends; stops it when it takes too long, and then there is no status.
fn wait(child: &mut Child, limit: Duration) -> Option<ExitStatus> {
    let until = Instant::now() + limit;
    loop {
        if let Ok(Some(status)) = child.try_wait() {
            return Some(status);
        }
        if Instant::now() >= until {
            let _ = child.kill();
            let _ = child.wait();
            return None;
        }
        thread::sleep(Duration::from_millis(2));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LONG: Duration = Duration::from_secs(10);

    #[test]
    fn what_a_helper_says_comes_back() {
        assert_eq!(ask("cat", "an order", LONG), Ok(b"an order\n".to_vec()));
    }

    #[test]
    fn a_helper_that_is_not_there_ends_badly_or_hangs_is_told() {
        let trouble = |name: &str, limit| ask(name, "", limit).expect_err(name).what;
        let short = Duration::from_millis(50);
        assert_eq!(trouble("no-such-helper", LONG), What::Missing);
        assert!(matches!(trouble("false", LONG), What::Ended(_)));
        assert_eq!(trouble("yes", short), What::TooSlow(short));
    }
}
