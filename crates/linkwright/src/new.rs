//! `linkwright new`: its options are the questions of the scenes, so it is built from them.

use crate::complaint::Complaint;
use crate::machine::Machine;
use clap::{Arg, ArgMatches, Command};
use desk::beginning::{NotBegun, begin, begin_file};
use rig::scene::{Answers, Question, Scene, check_answer};
use std::io::{BufRead, Write};

/// The subcommand with a subcommand for each scene.
pub fn command() -> Command {
    let about = "Begin a rig file from five plain questions, asked or given as options";
    let scenes = Scene::ALL.iter().copied().map(scene_command);
    Command::new("new").about(about).subcommand_required(true).arg_required_else_help(true).subcommands(scenes)
}

fn scene_command(scene: Scene) -> Command {
    let file = Arg::new("file").value_name("FILE.toml").help("The file to write; without it the text is printed");
    let options = scene.questions().iter().map(|question| {
        Arg::new(question.key.as_str())
            .long(question.key.as_str())
            .value_name("ANSWER")
            .allow_hyphen_values(true)
            .help(format!("{} [without it: {}]", question.asks, question.default))
    });
    Command::new(scene.code()).about(scene.title()).arg(file).args(options)
}

/// Takes the answers from the options, or asks where there are none, and writes or prints the file.
pub fn run(matches: &ArgMatches, say: impl Fn(&str)) -> Result<(), Complaint> {
    let Some((scene, matches)) =
        matches.subcommand().and_then(|(name, matches)| Some((Scene::from_code(name)?, matches)))
    else {
        unreachable!("clap asks for one of the scenes");
    };
    let given = given(scene, matches);
    let answers = if given.is_empty() { ask(scene, &mut std::io::stdin().lock())? } else { given };
    match matches.get_one::<String>("file") {
        None => say(&begin(scene, &answers)?),
        Some(path) => {
            begin_file(&Machine, path, scene, &answers)?;
            say(&format!("Written: {path}. Look it over, then: linkwright check {path}\n"));
        }
    }
    Ok(())
}

fn given(scene: Scene, matches: &ArgMatches) -> Answers {
    let answer = |question: &Question| Some((question.key.clone(), matches.get_one::<String>(&question.key)?.clone()));
    scene.questions().iter().filter_map(answer).collect()
}

/// Asks each question until its answer does; an empty line takes the default, and so does the end of the input.
fn ask(scene: Scene, input: &mut impl BufRead) -> Result<Answers, Complaint> {
    let mut answers = Answers::new();
    for question in scene.questions() {
        let answer = loop {
            eprint!("{} [{}] ", question.asks, question.default);
            let _ = std::io::stderr().flush();
            let mut line = String::new();
            input
                .read_line(&mut line)
                .map_err(|why| Complaint::plain(format!("the answer cannot be read: {why}"), None))?;
            let answer = if line.trim().is_empty() { question.default.clone() } else { line.trim().to_owned() };
            match check_answer(question, &answer) {
                Ok(()) => break answer,
                Err(fault) => eprintln!("{}; {}", fault.message, fault.help),
            }
        };
        answers.insert(question.key.clone(), answer);
    }
    Ok(answers)
}

impl From<NotBegun> for Complaint {
    fn from(fault: NotBegun) -> Self {
        match fault {
            NotBegun::Answer(answer) => Self::plain(format!("--{}: {}", answer.key, answer.message), Some(answer.help)),
            NotBegun::Exists { .. } => {
                Self::plain(fault.to_string(), Some("name another file; nothing was changed".to_owned()))
            }
            NotBegun::Unwritable { .. } => Self::plain(fault.to_string(), None),
        }
    }
}
