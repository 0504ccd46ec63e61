//! Long names, many rows, many scripts, empty fields.

use crate::press::{Press, is_sound, nothing_is_cut};
use std::fmt::Write as _;

const MAKERS: [&str; 5] = ["Maker A", "Кузница Б", "Σιδεράς Γ", "Żółć i Ślusarz", "Atelier de l’Été"];
const MODELS: [&str; 5] = [
    "Model X",
    "Bardzo długa nazwa modelu z wieloma słowami i końcówką",
    "Μοντέλο ΩΨ",
    "Модель Щ",
    "WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW",
];
const KINDS: [&str; 4] = ["connector", "sling", "belay-device", "rappel-device"];

/// 500 pieces: some of which nothing is known but a label, some with words longer than any column.
fn rack() -> (Vec<String>, String) {
    let mut labels: Vec<String> = (1..=497).map(|number| format!("C-{number:03}")).collect();
    labels.extend(["L".repeat(60), "ΔΟΚΙΜΑΣΤΙΚΟ-ΚΟΜΜΑΤΙ-0000000001".to_owned(), "Щ-0000000000000000000007".to_owned()]);
    let mut rows = "label,gear,maker,model,serial,made,bought,first-use,mass-g,site\n".to_owned();
    for (number, label) in labels.iter().enumerate() {
        let (maker, model, kind) = (MAKERS[number % 5], MODELS[number % 5], KINDS[number % 4]);
        let serial = if number % 3 == 0 { format!("{}-{number}", "S".repeat(40)) } else { format!("SN-{number:06}") };
        let told = format!("{kind},{maker},{model},{serial},2019-05,2020-01-15,2020-02-01,60,Shelf {}", number % 9);
        let _ = writeln!(rows, "{label},{}", if number % 50 == 6 { "sling,,,,,,,,".to_owned() } else { told });
    }
    (labels, rows)
}

/// All that stands on a sheet, without spaces and without the places where words may part.
fn run_together(text: &str) -> String {
    text.chars().filter(|char| !char.is_whitespace() && *char != '\u{200b}').collect()
}

#[test]
fn five_hundred_pieces_of_all_kinds_of_names_are_all_there_and_nothing_is_cut() {
    let folder = Press::new("hard");
    let (labels, rows) = rack();
    folder.0.write("rack.csv", &rows);
    folder.says(&["import", "rack.csv", "--on", "2026-01-10"]);
    folder.says(&["people", "add", "Ольга Щербакова-Лебединская"]);
    folder.says(&["inspect", "C-001..C-497", "--passed", "--on", "2026-03-01", "--as", "Ольга Щербакова-Лебединская"]);
    for paper in ["Letter", "A4"] {
        folder.printed(&["inspection-record", "--paper", paper]);
        is_sound(&folder);
        nothing_is_cut(&folder);
        let found = run_together(&folder.words());
        for text in labels.iter().map(String::as_str).chain(MAKERS).chain(MODELS) {
            assert!(found.contains(&run_together(text)), "{text} on {paper}");
        }
        assert_eq!(found.matches("ОльгаЩербакова-Лебединская").count(), 497);
    }
    let (what, long) = (format!("{} {}", "Ω".repeat(300), "Kto był na linie? ".repeat(300)), labels[497].as_str());
    let opened = folder.says(&["incident", "open", long, "--what", &what, "--json"]);
    let case = serde_json::from_str::<serde_json::Value>(&opened).expect("one JSON object")["case"].to_string();
    folder.says(&["kit", "set", &"Bag".repeat(30), &format!("C-001..C-060,{}", labels[497..].join(","))]);
    let kit = "Bag".repeat(30);
    let sheets = [&["incident-record", case.as_str()][..], &["pack-list", "--kit", &kit], &["inspection-record", long]];
    for sheet in sheets {
        folder.printed(sheet);
        nothing_is_cut(&folder);
        assert!(run_together(&folder.words()).contains(long), "{sheet:?}");
    }
}

/// A font for another script, from the package that the message names; `./test` fetches it.
const TAMIL: &str = "/usr/share/fonts/truetype/lohit-tamil/Lohit-Tamil.ttf";

#[test]
fn another_script_needs_a_font_and_a_package_that_has_one_is_named() {
    let folder = Press::new("font");
    folder.says(&["rack", "add", "கயிறு", "--gear", "rope"]);
    let refused = folder.refuses(&["inspection-record", "கயிறு"]);
    for told in ["no font has these characters", "க", "ற", "--font", "fonts-lohit-taml", "0.1 MB", "Debian 12"] {
        assert!(refused.contains(told), "{told}: {refused}");
    }
    folder.printed(&["inspection-record", "கயிறு", "--font", TAMIL]);
    is_sound(&folder);
    assert!(folder.words().contains("கயிறு"), "{}", folder.words());
}
