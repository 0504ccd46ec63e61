//! Helper programs: found, started, asked, and stopped when they take too long.

use desk::helper::{HelperTrouble, What};
use std::io::{Read, Write};
use std::path::PathBuf;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

/// Hands an order to the helper program `name`, and gives back all that it says.
pub fn ask(name: &str, order: &str, limit: Duration) -> Result<Vec<u8>, HelperTrouble> {
    let mut child = start(name)?;
    let (mut input, mut output, mut complaints) = (child.stdin.take(), child.stdout.take(), child.stderr.take());
    let order = format!("{order}\n");
    // Written, read and waited for side by side: a helper that reads slowly or talks much blocks nobody.
    let writing = thread::spawn(move || input.as_mut().map(|input| input.write_all(order.as_bytes())));
    let (said, complained) = (Heard::default(), Heard::default());
    let reading = said.listen_to(output.take());
    let listening = complained.listen_to(complaints.take());
    // Whoever was stopped may have left others behind that still hold its output: nobody waits for those.
    let Some(status) = wait(&mut child, limit) else {
        return Err(HelperTrouble::new(name, What::TooSlow { limit, said: said.so_far() }));
    };
    let _ = (reading.join(), listening.join());
    let (said, complained) = (said.so_far(), complained.so_far());
    let complained = String::from_utf8_lossy(&complained).trim().to_owned();
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

/// What was heard so far, while somebody may still be listening.
#[derive(Clone, Default)]
struct Heard(Arc<Mutex<Vec<u8>>>);

impl Heard {
    fn listen_to(&self, from: Option<impl Read + Send + 'static>) -> JoinHandle<()> {
        let heard = self.clone();
        thread::spawn(move || {
            let mut some = [0; 1 << 16];
            let mut from = from;
            while let Some(count) = from.as_mut().and_then(|from| from.read(&mut some).ok()).filter(|count| *count > 0)
            {
                heard.own().extend_from_slice(&some[..count]);
            }
        })
    }

    fn so_far(&self) -> Vec<u8> {
        std::mem::take(&mut *self.own())
    }

    fn own(&self) -> MutexGuard<'_, Vec<u8>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
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
        let What::TooSlow { limit, said } = trouble("yes", short) else { panic!("it never ends") };
        assert_eq!(limit, short);
        assert!(said.starts_with(b"y\ny\n"), "what it had said comes back");
    }
}
