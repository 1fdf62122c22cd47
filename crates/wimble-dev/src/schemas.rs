//! Attribute tables of IFC2X3, IFC4 and IFC4X3 as Rust, made from a JSON extract of the EXPRESS
//! schemas.
//!
//! Facts only: names of entities, who descends from whom, and the attributes each adds, in order.

use crate::output::{root, write_or_check};
use anyhow::{Context, Result, ensure};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::PathBuf;

const TARGET: &str = "crates/wimble-ifc/src/schema/generated.rs";

/// One schema each: constant's name in the tables, extract's file name.
const SCHEMAS: [(&str, &str); 3] =
    [("IFC2X3", "IFC2X3_TC1.json"), ("IFC4", "IFC4_ADD2_TC1.json"), ("IFC4X3", "IFC4X3_ADD2.json")];

#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// Folder that holds standards/ifc/attributes/*.json [default: ../shared beside the repository]
    #[arg(long)]
    from: Option<PathBuf>,
    /// Write nothing; fail when the tables are stale
    #[arg(long)]
    check: bool,
}

pub(crate) fn run(arguments: &Arguments) -> Result<()> {
    let from = arguments.from.clone().unwrap_or_else(|| root().join("../shared"));
    let folder = from.join("standards/ifc/attributes");
    let mut schemas = Vec::new();
    for (constant, file) in SCHEMAS {
        let path = folder.join(file);
        let text = fs::read_to_string(&path)
            .with_context(|| format!("{} cannot be read", path.display()))?;
        let schema: Schema = serde_json::from_str(&text)
            .with_context(|| format!("{} is not an attribute extract", path.display()))?;
        schemas.push((constant, schema));
    }
    let text = tables(&schemas)?;
    write_or_check(TARGET, text.as_bytes(), arguments.check, "cargo run -p wimble-dev -- schemas")
}

#[derive(Deserialize)]
struct Schema {
    entities: BTreeMap<String, Entity>,
}

#[derive(Deserialize)]
struct Entity {
    #[serde(rename = "abstract")]
    is_abstract: bool,
    /// Nearest first.
    supertypes: Vec<String>,
    /// Inherited ones included, in the order of the file.
    attributes: Vec<Attribute>,
}

#[derive(Deserialize)]
struct Attribute {
    pos: usize,
    name: String,
    #[serde(rename = "type")]
    kind: String,
    optional: bool,
    from: String,
    #[serde(default)]
    derived: bool,
}

/// Name and type as places in the pool of words, and whether it is optional.
type Row = (usize, usize, bool);

/// Numbers the members of a sorted set.
fn numbered(set: &BTreeSet<&str>) -> BTreeMap<String, usize> {
    set.iter().enumerate().map(|(index, word)| ((*word).to_owned(), index)).collect()
}

fn tables(schemas: &[(&str, Schema)]) -> Result<String> {
    // A look-up by keyword compares upper-case letters, so the classes stand in that order.
    let classes: BTreeMap<String, String> = schemas
        .iter()
        .flat_map(|(_, schema)| schema.entities.keys())
        .map(|name| (name.to_ascii_uppercase(), name.clone()))
        .collect();
    let class_number: BTreeMap<&str, usize> =
        classes.values().enumerate().map(|(index, name)| (name.as_str(), index)).collect();

    let words: BTreeSet<&str> = schemas
        .iter()
        .flat_map(|(_, schema)| schema.entities.values())
        .flat_map(|entity| &entity.attributes)
        .flat_map(|attribute| [attribute.name.as_str(), attribute.kind.as_str()])
        .collect();
    let word_number = numbered(&words);

    let mut text = String::from(
        "//! Made by `cargo run -p wimble-dev -- schemas`; do not edit.\n\
         use super::table::{Added, Entity};\n\n",
    );
    write_words(&mut text, "Classes of all schemas, by keyword", "CLASSES", classes.values());
    write_words(&mut text, "Names of attributes and of their types", "WORDS", words.iter());
    write_ancestors(&mut text, schemas, &classes, &class_number);

    // Schemas share most lists of attributes: each list is stored once.
    let mut pool: Vec<Row> = Vec::new();
    let mut places: BTreeMap<Vec<Row>, usize> = BTreeMap::new();
    let mut derived = Vec::new();
    let mut entity_tables = String::new();
    for (schema_number, (constant, schema)) in schemas.iter().enumerate() {
        let mut items = Vec::new();
        for name in classes.values().filter(|name| schema.entities.contains_key(*name)) {
            let entity = &schema.entities[name];
            let added = added(schema, name, entity)?;
            let rows: Vec<Row> = added
                .iter()
                .map(|a| (word_number[&a.name], word_number[&a.kind], a.optional))
                .collect();
            let start = *places.entry(rows.clone()).or_insert_with(|| {
                pool.extend(&rows);
                pool.len() - rows.len()
            });
            let parent = match entity.supertypes.first() {
                Some(parent) => class_number[parent.as_str()].to_string(),
                None => "NONE".to_owned(),
            };
            let class = class_number[name.as_str()];
            let own = rows.len();
            let is_abstract = u8::from(entity.is_abstract);
            items.push(format!("e({class},{parent},{start},{own},{is_abstract})"));
            derived.extend(
                entity
                    .attributes
                    .iter()
                    .filter(|a| a.derived)
                    .map(|a| format!("({schema_number},{class},{})", a.pos)),
            );
        }
        let doc = format!("Entities of {constant}, by class");
        write_items(&mut entity_tables, &doc, constant, "Entity", &items);
    }
    let pool: Vec<String> = pool
        .iter()
        .map(|(name, kind, optional)| format!("a({name},{kind},{})", u8::from(*optional)))
        .collect();
    write_items(&mut text, "What entities add to their parents", "ADDED", "Added", &pool);
    text.push_str(&entity_tables);
    let doc = "Schema, class and position of inherited attributes that a subtype derives";
    write_items(&mut text, doc, "DERIVED", "(u8, u16, u8)", &derived);
    text.push_str(
        "const NONE: u16 = u16::MAX;\n\
         const fn a(name: u16, kind: u16, optional: u8) -> Added {\n    \
         Added { name, kind, optional: optional != 0 }\n}\n\
         const fn e(class: u16, parent: u16, start: u16, own: u8, is_abstract: u8) -> Entity {\n    \
         Entity { class, parent, start, own, is_abstract: is_abstract != 0 }\n}\n",
    );
    Ok(text)
}

/// The attributes that an entity adds, after a check that the rest is what its parent has.
fn added<'s>(schema: &'s Schema, name: &str, entity: &'s Entity) -> Result<&'s [Attribute]> {
    let inherited = match entity.supertypes.first() {
        Some(parent) => {
            let parent = schema.entities.get(parent).with_context(|| format!("no {parent}"))?;
            &parent.attributes[..]
        }
        None => &[],
    };
    ensure!(inherited.len() <= entity.attributes.len(), "{name} lacks attributes of its parent");
    let (first, own) = entity.attributes.split_at(inherited.len());
    for (position, (here, there)) in first.iter().zip(inherited).enumerate() {
        let same = here.name == there.name && here.kind == there.kind && here.pos == position;
        ensure!(same, "{name}: attribute {position} is not that of its parent");
    }
    ensure!(own.iter().all(|attribute| attribute.from == name), "{name}: own attributes not last");
    Ok(own)
}

/// For each class its ancestors in any schema, nearest first.
fn write_ancestors(
    text: &mut String,
    schemas: &[(&str, Schema)],
    classes: &BTreeMap<String, String>,
    class_number: &BTreeMap<&str, usize>,
) {
    let mut pool = Vec::new();
    let mut ends = Vec::new();
    for name in classes.values() {
        let mut seen = Vec::new();
        for entity in schemas.iter().filter_map(|(_, schema)| schema.entities.get(name)) {
            for ancestor in &entity.supertypes {
                let number = class_number[ancestor.as_str()];
                if !seen.contains(&number) {
                    seen.push(number);
                }
            }
        }
        pool.extend(seen.iter().map(usize::to_string));
        ends.push(pool.len().to_string());
    }
    write_items(text, "Ancestors of the classes, one after the other", "ANCESTORS", "u16", &pool);
    write_items(text, "Where each class's ancestors end", "ANCESTOR_ENDS", "u16", &ends);
}

fn write_words<S: AsRef<str>>(
    text: &mut String,
    doc: &str,
    constant: &str,
    words: impl Iterator<Item = S>,
) {
    let items: Vec<String> = words.map(|word| format!("{:?}", word.as_ref())).collect();
    write_items(text, doc, constant, "&str", &items);
}

/// An array with as many items in a line as fit.
fn write_items(text: &mut String, doc: &str, constant: &str, kind: &str, items: &[String]) {
    // Writing to a String cannot fail.
    let _ = write!(text, "/// {doc}.\npub(super) static {constant}: [{kind}; {}] = [", items.len());
    let mut column = 100;
    for item in items {
        if column + item.len() + 1 > 99 {
            text.push('\n');
            column = 0;
        }
        text.push_str(item);
        text.push(',');
        column += item.len() + 1;
    }
    text.push_str("\n];\n\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    fn schema(text: &str) -> Schema {
        serde_json::from_str(text).expect("a schema")
    }

    const ROOT: &str = r#""IfcRoot": {"abstract": true, "supertypes": [], "attributes":
        [{"pos": 0, "name": "GlobalId", "type": "IfcGuid", "optional": false, "from": "IfcRoot"}]}"#;

    #[test]
    fn an_attribute_list_that_two_schemas_share_is_stored_once() {
        let one = format!("{{\"entities\": {{{ROOT}}}}}");
        let text = tables(&[("A", schema(&one)), ("B", schema(&one))]).expect("tables");
        assert!(text.contains("ADDED: [Added; 1]"), "{text}");
        assert!(text.contains("A: [Entity; 1] = [\ne(0,NONE,0,1,1),"), "{text}");
        assert!(text.contains("B: [Entity; 1] = [\ne(0,NONE,0,1,1),"), "{text}");
    }

    #[test]
    fn an_entity_that_does_not_begin_with_its_parents_attributes_is_refused() {
        let odd = format!(
            r#"{{"entities": {{{ROOT}, "IfcX": {{"abstract": false, "supertypes": ["IfcRoot"],
            "attributes": [{{"pos": 0, "name": "Other", "type": "IfcGuid", "optional": false,
            "from": "IfcRoot"}}]}}}}}}"#
        );
        let error = tables(&[("A", schema(&odd))]).expect_err("no tables");
        assert!(error.to_string().contains("IfcX"), "{error}");
    }
}
