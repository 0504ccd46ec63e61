//! Every word that the pages ask for stands in the file of texts.

use desk::texts;
use std::path::Path;

/// The codes in quotes behind `before` in the code of a folder and those in it.
fn codes(folder: &Path, before: &str) -> Vec<String> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).expect("code") {
        let path = entry.expect("a file").path();
        if path.is_dir() {
            found.extend(codes(&path, before));
            continue;
        }
        let text = std::fs::read_to_string(&path).expect("its text");
        let quoted = |rest: &str| Some(rest.trim_start().strip_prefix('"')?.split('"').next()?.to_owned());
        found.extend(text.split(before).skip(1).filter_map(quoted));
    }
    found
}

#[test]
fn every_word_on_pages_is_there() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let found: Vec<_> = ["word(", "line("].into_iter().flat_map(|before| codes(&folder, before)).collect();
    assert!(found.len() > 100, "{} words were found", found.len());
    for code in found {
        assert!(!texts::page(&code, &[]).is_empty(), "{code}");
    }
}

#[test]
fn every_part_of_the_handbook_has_a_name_and_every_paragraph_a_title() {
    let mut count = 0;
    for (part, paragraphs) in texts::handbook() {
        assert!(!texts::page(&format!("handbook-{part}"), &[]).is_empty(), "{part}");
        for paragraph in paragraphs {
            for check in paragraph.checks {
                let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../validation").join(check);
                assert!(folder.is_dir(), "{part} {}: no outside check {check}", paragraph.code);
            }
            assert!(!paragraph.title.is_empty() && !paragraph.text.contains('{'), "{part} {}", paragraph.code);
            count += 1;
        }
    }
    assert!(count > 150, "{count} paragraphs");
}
