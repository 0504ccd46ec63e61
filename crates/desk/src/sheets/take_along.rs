//! What is taken along to an outing on paper: the pack list, then the card of each rig.

use super::Sheet;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// One sheet of a pack list and rig cards. Each card keeps the drawing that it names.
#[must_use]
pub fn take_along(pack: Sheet, cards: Vec<Sheet>) -> Sheet {
    let mut drawings = BTreeMap::new();
    let mut rigs: Vec<Value> = Vec::new();
    for (place, mut card) in cards.into_iter().enumerate() {
        for (name, svg) in card.drawings {
            let own = format!("{place}-{name}");
            card.data["drawing"] = json!(own);
            drawings.insert(own, svg);
        }
        rigs.push(card.data);
    }
    let data = json!({ "title": pack.data["title"], "pack": pack.data, "rigs": rigs, "words": {} });
    Sheet { template: "take-along.typ", data, drawings }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_card_keeps_its_own_drawing() {
        let card = |svg: &str| Sheet {
            template: "rig-card.typ",
            data: json!({ "title": svg, "drawing": "drawing.svg" }),
            drawings: BTreeMap::from([("drawing.svg".to_owned(), svg.to_owned())]),
        };
        let pack =
            Sheet { template: "pack-list.typ", data: json!({ "title": "Top ropes" }), drawings: BTreeMap::new() };
        let sheet = take_along(pack, vec![card("one"), card("two")]);
        assert_eq!(sheet.data["title"], "Top ropes");
        for rig in sheet.data["rigs"].as_array().expect("rigs") {
            let drawing = rig["drawing"].as_str().expect("the name of a file");
            assert_eq!(rig["title"], json!(sheet.drawings[drawing]));
        }
    }
}
