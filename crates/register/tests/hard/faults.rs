//! Faults below the store: errors of the disk, no room, writes cut short, a file that may only be read.

use crate::child::{Told, all_holds, this_program, writer};
use crate::common::{Place, now, some, used};
use register::store::{Dialect, Store};
use std::collections::BTreeSet;
use std::os::unix::fs::PermissionsExt;
use std::os::unix::process::CommandExt as _;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The shim, compiled.
fn shim(folder: &Path) -> PathBuf {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/hard/shim.c");
    let shim = folder.join("shim.so");
    let status =
        Command::new("cc").args(["-shared", "-fPIC", "-O1", "-Wall", "-Werror", "-o"]).arg(&shim).arg(source).status();
    assert!(status.expect("a C compiler").success(), "the shim is compiled");
    shim
}

/// Which write, sync or truncation fails: the first ones one by one, later ones with wider steps.
const AT: [u32; 22] = [1, 2, 3, 4, 5, 6, 7, 9, 11, 14, 18, 23, 29, 37, 47, 60, 77, 99, 127, 163, 209, 268];

#[tokio::test]
async fn an_error_of_the_disk_loses_nothing() {
    let errors = faulty("eio").await;
    assert!(errors.iter().any(|error| error.contains("Check the disk")), "{errors:?}");
}

#[tokio::test]
async fn a_full_disk_loses_nothing() {
    let errors = faulty("enospc").await;
    assert!(errors.iter().any(|error| error.contains("Free some space")), "{errors:?}");
}

#[tokio::test]
async fn a_torn_write_loses_nothing() {
    let errors = faulty("torn").await;
    assert!(errors.iter().any(|error| error.contains("Free some space")), "{errors:?}");
}

#[tokio::test]
async fn a_short_write_is_gone_on_with() {
    assert_eq!(faulty("short").await, BTreeSet::new());
}

/// Lets the nth fail, for each n, once and for good; gives the errors that were told.
async fn faulty(kind: &str) -> BTreeSet<String> {
    let tools = tempfile::tempdir().expect("a folder");
    let (shim, mark) = (shim(tools.path()), tools.path().join("mark"));
    let (mut errors, mut struck) = (BTreeSet::new(), 0);
    for (at, stays) in AT.into_iter().flat_map(|at| [(at, false), (at, true)]) {
        let place = Place::new(Dialect::Sqlite).await;
        let mut command = writer(&this_program(), &place.address, "run0", 8);
        command.env("LD_PRELOAD", &shim).env("FAULT_FILES", "rack.linkwright").env("FAULT_KIND", kind);
        command.env("FAULT_AT", at.to_string()).env("FAULT_MARK", &mark);
        if stays {
            command.env("FAULT_STAYS", "1");
        }
        let told = Told::by(&mut command.spawn().expect("a writer"));
        struck += u32::from(std::fs::remove_file(&mark).is_ok());
        all_holds(&place.address, &told.acknowledged).await;
        let stays_silent = told.errors.is_empty();
        assert!(!stays_silent || told.acknowledged.len() == 8, "{kind} at {at}: neither an error nor all of it");
        errors.extend(told.errors);
    }
    assert!(struck > 30, "{kind}: only {struck} faults struck");
    for error in &errors {
        let says_what_to_do =
            ["Check the disk", "Free some space", "allow writing", "restore from a backup", "do it again"];
        assert!(says_what_to_do.iter().any(|words| error.contains(words)), "{kind}: {error}");
    }
    errors
}

#[tokio::test]
async fn a_store_that_may_only_be_read_says_so() {
    let place = Place::new(Dialect::Sqlite).await;
    let store = place.open().await;
    some(&store).await;
    store.close().await;
    let program = place.file("writer");
    std::fs::copy(this_program(), &program).expect("copied");
    let allow = |path: &Path, mode| std::fs::set_permissions(path, PermissionsExt::from_mode(mode)).expect("set");
    allow(Path::new(&place.address), 0o444);
    allow(place.folder.path(), 0o555);
    let mut command = writer(&program, &place.address, "run0", 1);
    // To root everything may be written to.
    if std::fs::metadata("/proc/self").is_ok_and(|of| std::os::unix::fs::MetadataExt::uid(&of) == 0) {
        command.uid(65_534).gid(65_534);
    }
    let told = Told::by(&mut command.spawn().expect("a writer"));
    allow(place.folder.path(), 0o755);
    allow(Path::new(&place.address), 0o644);
    assert!(!told.errors.is_empty() && told.acknowledged.is_empty());
    assert!(told.errors.iter().all(|error| error.contains("allow writing")), "{:?}", told.errors);
    let store = Store::open(&place.address).await.expect("it opens");
    assert_eq!(store.head().await.expect("a head").seq, 5);
    let mut batch = store.begin(now()).await.expect("now it may be written to");
    batch.push(used("c-6", &[])).await.expect("written");
    assert_eq!(batch.commit().await.expect("durable").seq, 6);
}
