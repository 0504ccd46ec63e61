//! Accounts on the command line: made before anybody can sign in, with a password that is no argument.

mod common;

use common::{Folder, err, linkwright, out};
use serde_json::Value;
use std::io::Write;
use std::process::{Command, Output, Stdio};

const PASSWORD: &str = "a rope of sand and salt";

/// Runs the program with a line of input.
fn given(line: &str, arguments: &[&str]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_linkwright"))
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut input = child.stdin.take().expect("its input");
    // A program that refuses at once reads nothing.
    let _ = writeln!(input, "{line}");
    drop(input);
    child.wait_with_output().expect("it ends")
}

fn accounts(store: &str) -> Value {
    let told = linkwright(&["account", "list", "--json", "--store", store]);
    serde_json::from_str(&out(&told)).expect("JSON")
}

#[test]
fn an_account_is_made_changed_and_taken_away() {
    let folder = Folder::new("account");
    let store = folder.path("rack.db");
    let add = ["account", "add", "Anna Example", "--store", &store];
    let nobody = given(PASSWORD, &add);
    assert_eq!(nobody.status.code(), Some(2));
    assert!(err(&nobody).contains("`people add Anna Example`"), "{}", err(&nobody));
    linkwright(&["people", "add", "Anna Example", "--store", &store]);
    for weak in ["", "eleven lett", "anna example"] {
        let told = given(weak, &add);
        assert!(err(&told).contains("12 letters or more"), "{weak}: {}", err(&told));
    }
    assert_eq!(accounts(&store)["accounts"], Value::Array(Vec::new()));
    let made = given(PASSWORD, &add);
    assert_eq!((out(&made).as_str(), made.status.code()), ("Anna Example has an account from now on.\n", Some(0)));
    assert!(err(&given(PASSWORD, &add)).contains("has an account already"));
    let account = &accounts(&store)["accounts"][0];
    assert_eq!((&account["name"], &account["sign_ins"]), (&Value::from("Anna Example"), &Value::from(0)));
    let rights = account["rights"].as_array().expect("rights");
    assert!(!rights.contains(&Value::from("keep")) && rights.contains(&Value::from("inspect")), "{rights:?}");
    linkwright(&["people", "allow", "Anna Example", "keep", "--until", "2999-12-31", "--store", &store]);
    assert!(accounts(&store)["accounts"][0]["rights"].to_string().contains("keep"));
    let changed = given("another rope of sand", &["account", "password", "Anna Example", "--json", "--store", &store]);
    assert_eq!(serde_json::from_str::<Value>(&out(&changed)).expect("JSON")["name"], "Anna Example");
    let ended = linkwright(&["account", "sign-out", "Anna Example", "--store", &store]);
    assert_eq!(out(&ended), "Sign-ins of Anna Example that were ended: 0\n");
    assert_eq!(linkwright(&["account", "remove", "Anna Example", "--store", &store]).status.code(), Some(0));
    let gone = linkwright(&["account", "remove", "Anna Example", "--store", &store]);
    assert!(err(&gone).contains("has no account"), "{}", err(&gone));
    assert!(out(&linkwright(&["verify", "--store", &store])).contains("The log is whole"));
}

#[test]
fn a_right_that_there_is_not_is_given_to_nobody() {
    let folder = Folder::new("rights");
    let store = folder.path("rack.db");
    linkwright(&["people", "add", "Anna", "--store", &store]);
    let allow = |right| linkwright(&["people", "allow", "Anna", right, "--until", "2999-12-31", "--store", &store]);
    for right in ["keeep", "", "log:rope", "keep:rope", "inspect:string", "inspect:"] {
        let told = allow(right);
        assert_eq!(told.status.code(), Some(2), "{right}");
        assert!(err(&told).contains("there is no right"), "{right}: {}", err(&told));
    }
    for right in ["inspect:rope", "withdraw:connector", "inspect", "policy", "log", "keep"] {
        assert_eq!(allow(right).status.code(), Some(0), "{right}");
    }
}

#[test]
fn pages_are_not_opened_to_whoever_comes() {
    let folder = Folder::new("doors");
    let store = folder.path("rack.db");
    let serve = |more: &[&str]| linkwright(&[&["serve", "--port", "0", "--store", &store], more].concat());
    for (more, told) in [
        (&["--accounts"][..], "nobody has an account"),
        (&["--listen", "0.0.0.0"], "over HTTPS alone"),
        (&["--listen", "0.0.0.0", "--accounts"], "over HTTPS alone"),
        (&["--listen", "0.0.0.0", "--tls-cert", "c.pem", "--tls-key", "k.pem"], "nobody is let in without an account"),
        (&["--accounts", "--shared-pass"], "cannot be used with"),
        (&["--accounts", "--writer", "Anna"], "cannot be used with"),
    ] {
        let refused = serve(more);
        assert_eq!(refused.status.code(), Some(2), "{more:?}");
        let words = err(&refused).replace("\n        ", " ");
        assert!(words.contains(told), "{more:?}: {words}");
    }
}
