//! The picture of a result in the readme is what the command prints today: a stale one fails here.
//!
//! `WIMBLE_DRAW=1` draws it anew.

#[expect(dead_code, reason = "each test uses its own part of it")]
#[cfg(test)]
mod support;

use std::fs;
use support::shared::{top, variable};
use support::terminal_picture::{picture, plain};
use wimble::{Input, LookFor, Settings, check};
use wimble_report::terminal;

/// What the sample's check prints, in colour.
fn printed() -> String {
    let folder = top().join("sample-models");
    let read = |name: &str| fs::read(folder.join(name)).expect("the models are committed");
    let inputs = ["structure.ifc", "services.ifc"]
        .map(|name| Input::new(format!("sample-models/{name}"), read(name)));
    let text = fs::read_to_string(folder.join("wimble.toml")).expect("its settings are committed");
    let mut settings = Settings::read("wimble.toml", &text, &|_| None).expect("they can be read");
    settings.remedies = LookFor::Everything;
    let report = check(&inputs, &settings).expect("the sample can be checked");
    let mut out = Vec::new();
    let options = terminal::Options { width: 100, colour: true, all: false };
    terminal::write(&report, options, &mut out).expect("a vector takes all");
    String::from_utf8(out).expect("reports are text")
}

/// The head, the answer, and the blocks of the members that the picture shows.
fn excerpt(printed: &str) -> Vec<&str> {
    let lines: Vec<&str> = printed.lines().collect();
    let storey = lines.iter().position(|line| line.contains("First floor:")).expect("a storey");
    let head = lines.iter().position(|line| line.contains("Ground floor:")).expect("a storey");
    let mut shown = lines[..head].to_vec();
    shown.push(lines[storey]);
    for member in ["JA-11,", "JA-14,"] {
        let from = lines.iter().position(|line| plain(line).starts_with(member)).expect("it");
        shown.push("");
        shown.extend(lines[from..].iter().take_while(|line| !line.is_empty()));
    }
    shown
}

#[test]
fn the_picture_of_the_readme_is_what_is_printed() {
    let printed = printed();
    let drawn =
        picture(&excerpt(&printed), "Part of what wimble check prints for the sample building");
    let path = top().join("docs/pictures/check.svg");
    if variable("WIMBLE_DRAW").is_some() {
        fs::write(&path, &drawn).expect("the picture can be written");
    }
    let kept = fs::read_to_string(&path).unwrap_or_default();
    assert!(kept == drawn, "{} is stale: WIMBLE_DRAW=1 draws it anew", path.display());
}
