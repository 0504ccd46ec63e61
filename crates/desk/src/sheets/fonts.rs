//! Fonts for scripts that the bundled ones lack: which package has one, and how large it is.

use super::word;
use crate::texts;
use serde::Deserialize;
use std::sync::LazyLock;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    source: String,
    quality: String,
    font: Vec<Font>,
}

/// A package with a font for a script, and its size installed.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Font {
    script: String,
    from: char,
    to: char,
    package: String,
    installed_kb: u32,
}

static TABLE: LazyLock<Table> =
    LazyLock::new(|| toml::from_str(include_str!("../../data/fonts.toml")).expect("the table of fonts built in"));

/// What to do about characters that no font has: the option, and a package for each script that is known.
pub(super) fn help(lacks: &str) -> String {
    let has = |font: &&Font| lacks.chars().any(|char| (font.from..=font.to).contains(&char));
    let package = |font: &Font| {
        let size = format!("{:.1}", f64::from(font.installed_kb) / 1000.0);
        let values = [("script", font.script.clone()), ("package", font.package.clone()), ("size", size)];
        texts::fill(&word("font-package"), &values)
    };
    let packages: Vec<String> = TABLE.font.iter().filter(has).map(package).collect();
    let from = if packages.is_empty() { String::new() } else { format!(" [{} ({})]", TABLE.source, TABLE.quality) };
    format!("{}{}{from}", word("font-help"), packages.concat())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_package_is_named_for_each_script_that_is_missing_and_for_no_other() {
        let help = help("登の க");
        let named = |package: &str| help.contains(package);
        assert!(named("fonts-ipafont-gothic") && named("fonts-noto-cjk") && named("fonts-lohit-taml"), "{help}");
        assert!(!named("fonts-nanum") && !named("fonts-hosny-amiri"), "{help}");
    }

    #[test]
    fn scripts_stand_in_order_and_do_not_overlap() {
        assert!(TABLE.font.iter().all(|font| font.from < font.to && font.installed_kb > 0));
        assert!(TABLE.font.windows(2).all(|pair| pair[0].to < pair[1].from));
    }
}
