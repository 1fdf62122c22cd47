//! Limits over a range of spans and depths: one line a member.

use super::member::Asked;
use super::page::{closing, from_either, greatest, places};
use super::{Told, table};
use wimble_model::Verdict;
use wimble_rules::LimitRow;
use wimble_sheet::{Rounded, bare_tape};

pub(super) fn of(asked: &Asked, all: &[Told<'_>], width: usize) -> String {
    let unit = asked.unit;
    let kinds = kinds(all);
    let either = all.iter().all(|told| from_either(&usual(told), told.span_mm()));
    let face = if either { "from either face" } else { "from the left face" };
    let mut head = vec!["depth".to_owned(), "span".to_owned()];
    for kind in &kinds {
        head.push(format!("{kind} to"));
        head.push(face.to_owned());
    }
    let mut rows = vec![head];
    for told in all {
        let member = &told.case.member;
        let mut row = vec![
            bare_tape(member.section.depth_mm(), unit, Rounded::Nearest),
            bare_tape(told.span_mm().unwrap_or(f64::NAN), unit, Rounded::Nearest),
        ];
        for kind in &kinds {
            let of_kind: Vec<&LimitRow> =
                usual(told).into_iter().filter(|row| super::page::kind(row) == *kind).collect();
            row.push(join(&of_kind, |row| match row.verdict {
                Verdict::Pass => greatest(row, unit),
                other => other.word().to_owned(),
            }));
            row.push(join(&of_kind, |row| match row.verdict {
                Verdict::Pass => places(row, told.span_mm(), unit),
                _ => String::new(),
            }));
        }
        rows.push(row);
    }
    let kind = all.first().map_or("member", |told| told.case.member.kind.word());
    let mut text = format!("Limits of a {kind}\n\n");
    text.push_str(&table::text(2, &rows, width));
    let mut outside: Vec<String> =
        all.iter().flat_map(|told| told.limits.outside.iter().cloned()).collect();
    outside.sort();
    outside.dedup();
    text.push_str(&closing(asked, &outside, width));
    text
}

/// The rows of what such a member usually gets.
fn usual<'a>(told: &'a Told<'_>) -> Vec<&'a LimitRow> {
    told.limits.rows.iter().filter(|row| row.usual).collect()
}

/// The kinds of cut (with their options) that any member lets pass, in the order of the rows.
fn kinds(all: &[Told<'_>]) -> Vec<String> {
    let mut kinds: Vec<String> = Vec::new();
    let passing = all.iter().flat_map(usual).filter(|row| row.verdict == Verdict::Pass);
    for kind in passing.map(super::page::kind) {
        if !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    if kinds.is_empty() {
        let rows = all.iter().flat_map(usual);
        kinds.extend(rows.map(super::page::kind).take(1));
    }
    kinds
}

fn join(rows: &[&LimitRow], say: impl Fn(&LimitRow) -> String) -> String {
    let mut said: Vec<String> = rows.iter().map(|row| say(row)).collect();
    said.dedup();
    said.join(" or ")
}
