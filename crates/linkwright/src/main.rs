//! Linkwright on the command line: arguments in, words and files out. What happens is in `desk`.

mod args;
mod complaint;
mod helper;
mod machine;
mod new;
mod outing;
mod rack;
mod serve;
mod sheet;
mod wear;

use args::{Args, CheckArgs, Command, ReadArgs, SchemaOf};
use clap::{CommandFactory, FromArgMatches};
use complaint::Complaint;
use desk::Surroundings;
use desk::checking::Checked;
use desk::units::Units;
use machine::Machine;
use std::io::Write;
use std::process::ExitCode;

/// What the exit status says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Status {
    /// Nothing is over its rating in a way that counts.
    Fine = 0,
    /// Something is over its rating as intended, or in a way the policy counts.
    Over = 1,
    /// The input is at fault.
    Fault = 2,
}

impl From<Status> for ExitCode {
    fn from(status: Status) -> Self {
        Self::from(status as u8)
    }
}

fn main() -> ExitCode {
    match start() {
        Ok(status) => status.into(),
        Err(complaint) => {
            complaint.print();
            Status::Fault.into()
        }
    }
}

fn start() -> Result<Status, Complaint> {
    let matches = Args::command().subcommand(new::command()).get_matches();
    if let Some(("new", matches)) = matches.subcommand() {
        return new::run(matches, say).map(|()| Status::Fine);
    }
    let args = Args::from_arg_matches(&matches).unwrap_or_else(|fault| fault.exit());
    run(&args.command)
}

fn run(command: &Command) -> Result<Status, Complaint> {
    match command {
        Command::Check(args) => check(args),
        Command::Read(args) => read(args),
        Command::Schema { of } => {
            let schema = match of {
                SchemaOf::Rig => rig::file::schema(),
                SchemaOf::Wear => desk::wear_file::schema(),
                SchemaOf::Outing => desk::outing::file::schema(),
            };
            say(&format!("{schema}\n"));
            Ok(Status::Fine)
        }
        Command::Serve(args) => serve::run(args, say).map(|()| Status::Fine),
        Command::Sheet(args) => sheet::run(args, say).map(|()| Status::Fine),
        Command::Wear(command) => wear::run(command),
        Command::Outing(command) => outing::run(command),
        about_the_rack => {
            let (text, counts) = rack::run(about_the_rack)?;
            say(&text);
            Ok(if counts { Status::Over } else { Status::Fine })
        }
    }
}

fn check(args: &CheckArgs) -> Result<Status, Complaint> {
    refuse_other_than_svg(args.drawing.as_deref())?;
    let checked = match &args.store {
        None => desk::checking::check_file(&Machine, &args.file, args.policy.as_deref())?,
        Some(store) => check_with(args, store)?,
    };
    if let Some(path) = &args.drawing {
        write(path, &desk::picture::svg(&checked, Units::default()))?;
    }
    let answer = if args.json { desk::json::text(&checked) + "\n" } else { desk::report::text(&checked) };
    tell(&answer, args.drawing.as_deref().filter(|_| !args.json));
    Ok(if checked.check.counts { Status::Over } else { Status::Fine })
}

/// With what the rack knows of the pieces that the rig names.
fn check_with(args: &CheckArgs, store: &str) -> Result<Checked, Complaint> {
    let mut read = desk::checking::read_file(&Machine, &args.file, args.policy.as_deref())?;
    rack::with(store, None, async |rack| rack.lend(&mut read.rig).await)?;
    Ok(read.check()?)
}

fn read(args: &ReadArgs) -> Result<Status, Complaint> {
    refuse_other_than_svg(args.drawing.as_deref())?;
    if let Some(path) = &args.drawing {
        write(path, &desk::reading::svg(&args.marking))?;
    }
    let answer = if args.json { desk::reading::json(&args.marking) + "\n" } else { desk::reading::text(&args.marking) };
    tell(&answer, args.drawing.as_deref().filter(|_| !args.json));
    Ok(Status::Fine)
}

/// A drawing may take the place of a drawing and of nothing else: a slip must not cost somebody a rig file.
fn refuse_other_than_svg(drawing: Option<&str>) -> Result<(), Complaint> {
    drawing.map_or(Ok(()), |path| refuse_other_than(path, ".svg", "drawing"))
}

/// Refuses to write over what does not end as files of its kind do.
fn refuse_other_than(path: &str, ending: &str, what: &str) -> Result<(), Complaint> {
    if path.to_ascii_lowercase().ends_with(ending) {
        return Ok(());
    }
    let told = format!("{path} is no name for a {what}; nothing was written");
    Err(Complaint::plain(told, Some(format!("name a file that ends in {ending}"))))
}

fn write(path: &str, text: &str) -> Result<(), Complaint> {
    Machine.write(path, text).map_err(|why| Complaint::unwritable(path, &why))
}

/// The answer, and where the drawing is if there is one.
fn tell(answer: &str, drawing: Option<&str>) {
    say(answer);
    if let Some(path) = drawing {
        say(&format!("\nThe drawing is in {path}\n"));
    }
}

/// Writes to standard output. A reader that has gone away has read enough.
fn say(text: &str) {
    let _ = std::io::stdout().lock().write_all(text.as_bytes());
}
