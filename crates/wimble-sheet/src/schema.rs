//! The JSON Schema of a sheet written as TOML: for editors that complete and check while one types.

use crate::cut::{FROM, IN};
use crate::head::UNITS;
use crate::member::{HUNG, KINDS, MAKES, PLACES, ROLES};
use serde_json::{Map, Value, json};

/// What may stand behind a key.
enum Kind {
    /// A text.
    Text,
    /// A length: a figure in the sheet's unit, or a text with a unit of its own.
    Length,
    /// Two lengths: `47 x 220`.
    Pair,
    /// One length or two.
    Sizes,
    /// One of these words.
    Word(Vec<&'static str>),
    /// Yes or no.
    Yes,
    /// A whole figure.
    Count,
    /// A text, or several.
    Several,
}

/// Key, what may stand behind it, and what it says.
type Key = (&'static str, Kind, &'static str);

impl Kind {
    fn schema(self) -> Value {
        match self {
            Self::Text => json!({ "type": "string" }),
            Self::Length => json!({
                "type": ["number", "string"],
                "examples": [1170, "3.6 m", "7-1/4 in", "12' 6-1/2\""]
            }),
            Self::Pair => json!({ "type": "string", "examples": ["47 x 220", "1-1/2 x 9-1/4 in"] }),
            Self::Sizes => json!({ "type": ["number", "string"], "examples": [48, "60 x 40"] }),
            Self::Word(words) => json!({ "enum": words }),
            Self::Yes => json!({ "enum": [true, false, "yes", "no"] }),
            Self::Count => json!({ "type": ["integer", "string"] }),
            Self::Several => json!({
                "anyOf": [
                    { "type": "string" },
                    { "type": "array", "items": { "type": "string" } }
                ]
            }),
        }
    }
}

fn words<T>(table: &[(&'static str, T)]) -> Vec<&'static str> {
    table.iter().map(|(word, _)| *word).collect()
}

fn head() -> Vec<Key> {
    vec![
        ("title", Kind::Text, "What the sheet is of: 12 Mill Lane, bathroom"),
        ("units", Kind::Word(words(&UNITS)), "The unit of bare figures; without it millimetres"),
        ("region", Kind::Text, "The rules of a country, by its code: GB, US"),
        ("packs", Kind::Several, "Rule packs by name, in place of a region"),
    ]
}

fn measured_keys() -> Vec<Key> {
    vec![
        ("by", Kind::Text, "Who measured"),
        ("on", Kind::Text, "When: 2026-05-04"),
        ("with", Kind::Text, "With what: 5 m tape, class II"),
        ("along", Kind::Length, "How far a distance along the member may be out"),
        ("level", Kind::Length, "How far a level may be out"),
        ("size", Kind::Length, "How far a size may be out"),
    ]
}

fn member() -> Vec<Key> {
    vec![
        ("name", Kind::Text, "What it is called; findings and drawings go by it"),
        ("guid", Kind::Text, "GlobalId of the member of a model that it is"),
        ("tag", Kind::Text, "Tag or mark of the member of a model that it is"),
        ("kind", Kind::Word(words(&KINDS)), "What it is in the building; without it a joist"),
        ("section", Kind::Pair, "Breadth x depth, finished and measured; 2x10 is dressed lumber"),
        ("breadth", Kind::Length, "Its breadth, with `depth` in place of `section`"),
        ("depth", Kind::Length, "Its depth, with `breadth` in place of `section`"),
        ("flange", Kind::Length, "Depth of a flange: it is an I-joist"),
        ("web", Kind::Length, "Thickness of an I-joist's web"),
        ("chord", Kind::Length, "Depth of a chord (or yes): it is an open-web joist"),
        ("make", Kind::Word(words(&MAKES)), "What it is made of"),
        ("product", Kind::Text, "Name of the product, for a maker's table"),
        ("class", Kind::Text, "Strength class: C24"),
        ("span", Kind::Length, "Clear span, face to face; the height of a stud between plates"),
        ("bearing", Kind::Length, "Length of its bearing at each end"),
        ("bearings", Kind::Several, "Bearings from its left end: 0-100, 3700-3800"),
        ("left", Kind::Text, "Name of the left support"),
        ("right", Kind::Text, "Name of the right support"),
        ("hung", Kind::Word(words(&HUNG)), "Which ends hang in hangers"),
        ("spacing", Kind::Length, "Distance to the next one"),
        ("plies", Kind::Count, "How many lie side by side and act as one"),
        ("role", Kind::Word(words(&ROLES)), "What it does at an opening of the floor"),
        ("load-bearing", Kind::Yes, "Whether a stud, post or plate carries load"),
        ("place", Kind::Word(words(&PLACES)), "What part of the building it is in"),
        (
            "load",
            Kind::Several,
            "What stands on the deck, and where from the left face: tank 800-1400",
        ),
    ]
}

fn cut() -> Vec<Key> {
    vec![
        ("pipe", Kind::Text, "A pipe by its trade name: 22 mm copper, 40 mm waste push-fit"),
        ("cable", Kind::Text, "A cable by its trade name: 2.5 mm2 twin and earth"),
        ("duct", Kind::Text, "A duct by its size: 204 x 60"),
        ("name", Kind::Text, "What the cut is called"),
        ("hole", Kind::Sizes, "A hole as measured: its diameter, or width x height if sawn"),
        ("notch", Kind::Pair, "A notch as measured: width x depth"),
        ("in", Kind::Word(words(&IN)), "How a pipe is let in, or which edge is notched"),
        ("at", Kind::Length, "Where its middle is along the member"),
        ("start", Kind::Length, "Where it begins, with `end` in place of `at`"),
        ("end", Kind::Length, "Where it ends"),
        ("from", Kind::Word(words(&FROM)), "The face that distances are from; without it the left"),
        ("up", Kind::Length, "How far its middle is above the underside"),
        ("down", Kind::Length, "How far its middle is below the top"),
        ("existing", Kind::Yes, "It is there already"),
    ]
}

/// An object of these keys and no others.
fn object(keys: Vec<Key>, more: impl IntoIterator<Item = (&'static str, Value)>) -> Value {
    let mut properties = Map::new();
    for (key, kind, says) in keys {
        let mut schema = kind.schema();
        if let Value::Object(entry) = &mut schema {
            entry.insert("description".to_owned(), says.into());
        }
        properties.insert(key.to_owned(), schema);
    }
    properties.extend(more.into_iter().map(|(key, value)| (key.to_owned(), value)));
    json!({ "type": "object", "properties": properties, "additionalProperties": false })
}

/// One of them, or several.
fn some(of: &str) -> Value {
    let one = json!({ "$ref": format!("#/$defs/{of}") });
    json!({ "anyOf": [{ "type": "array", "items": one.clone() }, one] })
}

/// The JSON Schema of a sheet written as TOML.
#[must_use]
pub fn schema() -> Value {
    let measured = json!({ "$ref": "#/$defs/measured" });
    let mut whole = object(head(), [("measured", measured), ("member", some("member"))]);
    if let Value::Object(whole) = &mut whole {
        let dialect = "https://json-schema.org/draft/2020-12/schema";
        whole.insert("$schema".to_owned(), dialect.into());
        whole.insert("title".to_owned(), "Site sheet".into());
        let says = "Members and cuts measured by hand; lengths in mm, m, or feet and inches";
        whole.insert("description".to_owned(), says.into());
        whole.insert("required".to_owned(), json!(["member"]));
        let defs = json!({
            "measured": object(measured_keys(), []),
            "member": object(member(), [("cut", some("cut"))]),
            "cut": object(cut(), []),
        });
        whole.insert("$defs".to_owned(), defs);
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cut::CUT_KEYS;
    use crate::head::{HEAD_KEYS, MEASURED_KEYS};
    use crate::member::MEMBER_KEYS;

    #[test]
    fn the_schema_has_every_key_that_is_read_and_no_other() {
        let whole = schema();
        let keys = |at: &str| -> Vec<String> {
            let table = whole.pointer(at).and_then(Value::as_object).expect("properties");
            table.keys().cloned().collect()
        };
        let sorted = |known: &[&str], more: &[&str]| {
            let mut keys: Vec<String> =
                known.iter().chain(more).map(|key| (*key).to_owned()).collect();
            keys.sort();
            keys
        };
        for (at, known, more) in [
            ("/properties", HEAD_KEYS, &["measured", "member"][..]),
            ("/$defs/measured/properties", MEASURED_KEYS, &[]),
            ("/$defs/member/properties", MEMBER_KEYS, &["cut"]),
            ("/$defs/cut/properties", CUT_KEYS, &[]),
        ] {
            let mut found = keys(at);
            found.sort();
            assert_eq!(found, sorted(known, more), "{at}");
        }
    }
}
