//! The registry of shipped packs, and packs with mistakes.

use crate::{PackSet, pack_schema};

#[test]
fn every_rule_is_named_cited_and_explained() {
    let set = PackSet::built_in();
    let mut seen = std::collections::BTreeSet::new();
    for pack in set.known() {
        assert!(!pack.sources().is_empty(), "{}", pack.id());
        for rule in &pack.rules {
            assert!(seen.insert((pack.id.clone(), rule.id.clone())));
            assert!(rule.why.ends_with('.'), "{}/{}", pack.id(), rule.id);
            assert!(!pack.cites(rule).is_empty());
            if let Some(says) = &rule.says {
                assert!(says.ends_with('.'), "{}/{}", pack.id(), rule.id);
            }
        }
        for source in pack.sources() {
            assert!(
                pack.rules
                    .iter()
                    .any(|r| { r.sources.iter().any(|&s| pack.sources[s].key == source.key) }),
                "{} cites {} nowhere",
                pack.id(),
                source.key
            );
        }
    }
}

#[test]
fn every_shipped_pack_agrees_with_the_schema() {
    let schema = pack_schema();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("packs");
    let mut count = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "toml") {
            let value: toml::Value =
                toml::from_str(&std::fs::read_to_string(&path).unwrap()).unwrap();
            let json = serde_json::to_value(value).unwrap();
            let errors: Vec<String> = validator.iter_errors(&json).map(|e| e.to_string()).collect();
            assert!(errors.is_empty(), "{}: {errors:?}", path.display());
            count += 1;
        }
    }
    assert_eq!(count, PackSet::built_in().known().count(), "a pack lies there that is not shipped");
}

const GOOD: &str = r#"
id = "mine"
title = "Mine"
[applies]
kind = "joist"
section = "rectangle"
[[source]]
key = "me"
title = "My engineer"
status = "own"
[[rule]]
id = "hole-size"
cut = ["hole"]
check = "size"
of = "height"
at-most = "0.2 h"
source = "me"
why = "Careful."
"#;

fn refused(text: &str) -> (usize, usize, String) {
    let error = PackSet::built_in().with_text("mine.toml", text).unwrap_err();
    assert!(error.to_string().starts_with(&format!("mine.toml:{}:{}: ", error.line, error.column)));
    (error.line, error.column, error.message)
}

fn refused_with(from: &str, to: &str) -> (usize, usize, String) {
    assert!(GOOD.contains(from), "{from}");
    refused(&GOOD.replacen(from, to, 1))
}

#[test]
fn a_users_pack_is_read() {
    let set = PackSet::built_in().with_text("mine.toml", GOOD).unwrap().choose(&["mine"]).unwrap();
    assert_eq!(set.get("mine").unwrap().rule_ids(), ["mine/hole-size"]);
}

#[test]
fn an_unknown_key_names_the_one_that_was_meant() {
    let (line, column, message) = refused_with("at-most =", "at-mots =");
    assert_eq!((line, column), (16, 1));
    assert!(
        message.contains("`at-mots`") && message.contains("Did you mean `at-most`?"),
        "{message}"
    );
}

#[test]
fn a_key_of_another_check_is_refused() {
    let (line, _, message) =
        refused_with("of = \"height\"", "of = \"height\"\nfrom = \"0.1 span\"");
    assert_eq!(line, 16);
    assert!(message.contains("`from` does not belong to this check"), "{message}");
}

#[test]
fn a_unit_clash_is_told_at_its_place() {
    let (line, column, message) = refused_with("0.2 h", "0.2");
    assert_eq!((line, column), (16, 12));
    assert!(message.contains("plain number"), "{message}");
    let (_, column, message) = refused_with("0.2 h", "0.2 h + 3 kg");
    assert_eq!(column, 12 + "0.2 h + 3 ".len());
    assert!(message.contains("`kg` is no unit"), "{message}");
    let (_, _, message) = refused_with("\"0.2 h\"", "0.2");
    assert!(message.contains("in quotes with its unit"), "{message}");
}

#[test]
fn an_impossible_range_is_refused() {
    let zone = "[[rule]]\nid = \"z\"\ncut = [\"hole\"]\ncheck = \"zone\"\nfrom = \"0.4 span\"\nto = \"0.25 span\"\nsource = \"me\"\nwhy = \"x.\"\n";
    let (_, _, message) = refused(&format!("{GOOD}{zone}"));
    assert!(message.contains("`from` must be less than `to`"), "{message}");
    let scope = "[[rule]]\nid = \"s\"\ncheck = \"member\"\nfact = \"depth\"\nat-least = \"300 mm\"\nat-most = \"200 mm\"\nsource = \"me\"\nwhy = \"x.\"\n";
    let (_, _, message) = refused(&format!("{GOOD}{scope}"));
    assert!(message.contains("no member can be both"), "{message}");
}

#[test]
fn a_missing_source_is_refused() {
    let (line, _, message) = refused_with("source = \"me\"\n", "");
    assert_eq!(line, 12);
    assert!(message.contains("cites no `source`"), "{message}");
    let (line, column, message) = refused_with("source = \"me\"", "source = \"you\"");
    assert_eq!((line, column), (17, 10));
    assert!(message.contains("source `you` is missing"), "{message}");
}

#[test]
fn an_unreachable_rule_is_refused() {
    let (_, _, message) = refused_with("cut = [\"hole\"]", "cut = [\"flange-cut\"]");
    assert!(message.contains("can never speak"), "{message}");
    let (_, _, message) =
        refused_with("check = \"size\"", "when = { kind = \"stud\" }\ncheck = \"size\"");
    assert!(message.contains("can never speak"), "{message}");
    let (_, _, message) = refused_with("check = \"size\"", "after = \"nothing\"\ncheck = \"size\"");
    assert!(message.contains("never speak"), "{message}");
    let scope = "[[rule]]\nid = \"s\"\ncheck = \"member\"\nfact = \"depth\"\nat-most = \"200 mm\"\nsource = \"me\"\nwhy = \"x.\"\n";
    let deep = GOOD.replacen(
        "check = \"size\"",
        "when = { depth = { above = \"250 mm\" } }\ncheck = \"size\"",
        1,
    );
    let (_, _, message) = refused(&format!("{deep}{scope}"));
    assert!(message.contains("outside the pack's scope"), "{message}");
}

#[test]
fn a_duplicate_id_is_refused() {
    let rule = &GOOD[GOOD.find("[[rule]]").unwrap()..];
    let (_, _, message) = refused(&format!("{GOOD}{rule}"));
    assert!(message.contains("two rules are called `hole-size`"), "{message}");
    let (_, _, message) = refused_with("id = \"mine\"", "id = \"uk-stud\"");
    assert!(message.contains("there is a pack `uk-stud` already"), "{message}");
}

/// Each kind of mistake is told at the line that has it, and the message says what to write.
#[test]
fn each_kind_of_mistake_is_told_in_its_line() {
    let zone = "[[rule]]\nid = \"z\"\ncut = [\"hole\"]\ncheck = \"zone\"\nfrom = \"0.4 span\"\n\
        to = \"0.25 span\"\nsource = \"me\"\nwhy = \"x.\"\n";
    let rule = &GOOD[GOOD.find("[[rule]]").unwrap()..];
    let with = |from: &str, to: &str| GOOD.replacen(from, to, 1);
    // The mistake, the text with it, what stands in its line.
    let mistakes = [
        ("unknown key", with("at-most =", "at-mots ="), "at-mots"),
        ("unit clash", with("0.2 h", "0.2 h + 3 kg"), "kg"),
        ("plain number", with("0.2 h", "0.2"), "\"0.2\""),
        ("impossible range", format!("{GOOD}{zone}"), "0.4 span|0.25 span"),
        ("missing source", with("source = \"me\"\n", ""), "id = \"hole-size\""),
        ("source that is not there", with("source = \"me\"", "source = \"you\""), "\"you\""),
        (
            "unreachable rule",
            with("cut = [\"hole\"]", "cut = [\"flange-cut\"]"),
            "hole-size|flange",
        ),
        ("duplicate id", format!("{GOOD}{rule}"), "id = \"hole-size\""),
        ("pack of that name", with("id = \"mine\"", "id = \"uk-stud\""), "uk-stud"),
    ];
    for (mistake, text, stands) in mistakes {
        let (line, column, message) = refused(&text);
        let told = text.lines().nth(line - 1).unwrap_or_default();
        let at_it = stands.split('|').any(|words| told.contains(words));
        assert!(at_it, "{mistake}: line {line} is {told:?}: {message}");
        assert!((1..=told.chars().count()).contains(&column), "{mistake}: column {column}");
        // Of two rules of one name it is the second that is wrong.
        if mistake == "duplicate id" {
            assert!(line > GOOD.lines().count(), "{line}");
        }
        assert!(message.split_whitespace().count() >= 4, "{mistake}: {message}");
    }
}

#[test]
fn words_and_names_are_checked() {
    let (_, _, message) = refused_with("of = \"height\"", "of = \"hight\"");
    assert!(message.contains("Did you mean `height`?"), "{message}");
    let (_, _, message) = refused_with("kind = \"joist\"", "kind = \"joists\"");
    assert!(message.contains("Did you mean `joist`?"), "{message}");
    let (_, _, message) = refused_with("id = \"hole-size\"", "id = \"Hole size\"");
    assert!(message.contains("lower-case"), "{message}");
    let (_, _, message) = refused_with("check = \"size\"", "check = \"sise\"");
    assert!(message.contains("Did you mean `size`?"), "{message}");
    let (_, _, message) = refused_with("title = \"Mine\"", "title = ");
    assert!(!message.is_empty());
}

#[test]
fn a_pack_may_extend_and_override_another_and_stands_for_it() {
    let text = r#"
id = "house-rules"
title = "Ours"
extends = "uk-solid-joist"
without = ["hole-to-notch-200"]
[[source]]
key = "us"
title = "Our engineer"
status = "own"
[[rule]]
id = "hole-size"
cut = ["hole"]
check = "size"
of = "height"
at-most = "0.2 h"
source = "us"
why = "Careful."
"#;
    let set = PackSet::built_in()
        .with_text("house.toml", text)
        .unwrap()
        .choose(&["uk-solid-joist", "house-rules"])
        .unwrap();
    assert!(!set.in_force().any(|p| p.id() == "uk-solid-joist"));
    let trial = super::joist().hole(1170.0, 0.0, 50.0);
    let judged = trial.judge_by(&set);
    assert_eq!(judged.cuts[0].verdict, wimble_model::Verdict::Fail);
    assert_eq!(&*judged.findings[0].rule, "house-rules/hole-size");
    let notch = super::joist().top_notch(500.0, 520.0, 20.0).judge_by(&set);
    assert_eq!(notch.cuts[0].verdict, wimble_model::Verdict::Pass, "the rest is taken over");
}

#[test]
fn unknown_packs_and_regions_name_those_that_there_are() {
    let error = PackSet::built_in().choose(&["uk-joist"]).unwrap_err();
    assert!(error.to_string().contains("there is no pack `uk-joist`"));
    assert!(error.to_string().contains("uk-solid-joist"));
    assert!(PackSet::built_in().region_set("XX").unwrap_err().to_string().contains("GB"));
    assert!(PackSet::built_in().region_set("gb").is_ok());
}

#[test]
fn a_figure_from_memory_says_so_wherever_it_is_shown() {
    use wimble_model::{MemberKind, Section, Trade, Verdict};
    // Findings: the source stands in each with its status.
    let section = Section::Rectangle { breadth_mm: 120.0, depth_mm: 400.0 };
    let mut beam = crate::member_by_hand(MemberKind::Beam, section, 6000.0);
    beam.make = wimble_model::TimberMake::Glulam;
    let german = PackSet::built_in().choose(&["glulam-lvl-de"]).unwrap();
    let judged = super::Trial::of(beam).hole(2000.0, 0.0, 100.0).judge_by(&german);
    assert_eq!(judged.cuts[0].verdict, Verdict::Refer);
    assert!(judged.findings.iter().all(|f| f.source.contains("from memory, to be confirmed")));
    // Obligations: in their words.
    let section = Section::Rectangle { breadth_mm: 38.1, depth_mm: 88.9 };
    let stud = crate::member_by_hand(MemberKind::Stud, section, 2400.0);
    let mut trial = super::Trial::of(stud).hole(1000.0, 0.0, 40.0);
    trial.services.push(super::service(Trade::Waste));
    let cover = PackSet::built_in().choose(&["us-cover"]).unwrap();
    let trial = trial.last(|cut| cut.services = vec![wimble_model::ServiceIx(0)].into());
    let judged = trial.judge_by(&cover);
    let plate = &judged.cuts[0].obligations[0];
    assert!(plate.text.contains("from memory, to be confirmed"), "{}", plate.text);
}
