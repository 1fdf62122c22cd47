//! The generated pages are fresh, and every rule explains itself.

use crate::{PackSet, rule_pages};
use std::path::Path;

#[test]
fn the_rule_pages_are_fresh() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/rules");
    let pages = rule_pages(&PackSet::built_in());
    for page in &pages {
        let there = std::fs::read_to_string(folder.join(&page.file)).unwrap_or_default();
        assert!(
            there == page.text,
            "docs/rules/{} is stale: make it anew with `cargo run -p wimble-dev -- rules`",
            page.file
        );
    }
    for entry in std::fs::read_dir(&folder).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(pages.iter().any(|p| p.file == name), "docs/rules/{name} belongs to no pack");
    }
}

#[test]
fn every_rule_explains_itself_with_numbers_and_a_source() {
    let set = PackSet::built_in();
    for pack in set.known() {
        for id in pack.rule_ids() {
            let told = set.explain(&id).unwrap();
            assert!(!told.what.is_empty() && !told.why.is_empty(), "{id}");
            assert!(!told.sources.is_empty(), "{id}");
            let worked = told.example.split_once(": ").map(|(_, worked)| worked.len());
            assert!(worked.is_some_and(|n| n > 3), "{id}: {}", told.example);
            assert!(!told.example.contains("silent"), "{id}: {}", told.example);
        }
    }
}

#[test]
fn the_hole_zone_is_worked_for_the_example_joist() {
    let told = PackSet::built_in().explain("uk-solid-joist/hole-zone").unwrap();
    assert_eq!(
        told.what,
        "the whole of a hole lies between 0.25 span and 0.4 span, measured from the face of one of its two supports"
    );
    assert_eq!(
        told.example,
        "47 x 220 joist, 3600 mm clear span: 900 to 1440 or 2160 to 2700 mm from the left face."
    );
    assert!(told.sources.iter().any(|s| s.key == "labc"));
    let notch = PackSet::built_in().explain("uk-solid-joist/notch").unwrap();
    assert!(notch.example.contains("252 to 900") && notch.example.contains("at most 27.5 mm"));
    assert!(notch.example.contains("; or 360 to 720") && notch.example.contains("at most 33 mm"));
}

#[test]
fn a_rule_that_is_not_there_names_those_that_are() {
    let error = PackSet::built_in().explain("uk-solid-joist/hole-zones").unwrap_err();
    assert!(error.to_string().contains("uk-solid-joist/hole-zone"));
    assert!(PackSet::built_in().explain("scope/no-pack").is_ok());
}
