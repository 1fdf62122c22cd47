//! What a rule says, why, by which source, worked with numbers: made from the rule itself, so
//! that it cannot say anything else than the check.

mod describe;
mod example;
mod pages;

pub use pages::{RulePage, rule_pages};

use crate::pack::{Condition, Otherwise, Pack, PackSet, Rule, Source, Test, UnknownPack};

/// A rule (or a group of rules that stand and fall together), explained.
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation {
    /// `pack/rule`.
    pub id: String,
    /// The pack's title.
    pub pack: String,
    /// What has to be so.
    pub what: String,
    /// Of which members or services it speaks, beyond the pack's scope; empty if of all.
    pub when: String,
    /// What a broken rule means.
    pub otherwise: String,
    /// What it protects.
    pub why: String,
    /// The limit worked with numbers.
    pub example: String,
    /// Clause, table or page, if known.
    pub clause: Option<String>,
    /// Its sources, each with its status.
    pub sources: Vec<Source>,
}

/// Names of findings that no rule makes, with what they mean.
const SPOKEN: [(&str, &str); 10] = [
    (
        "scope/no-pack",
        "No pack in force has figures for such a cut in such a member: the engineer or the maker decides.",
    ),
    (
        "scope/fact-missing",
        "A fact is missing without which it cannot be said which packs apply; the finding names it.",
    ),
    (
        "supports/doubtful",
        "A wall under the middle does not say whether it carries: the cut is judged with and without it, and the worse verdict counts.",
    ),
    (
        "supports/span-reading",
        "Read on the effective span (clear span and half of each bearing, at most half the depth at each end) the verdict would be another one.",
    ),
    (
        "measuring/opening-too-small",
        "An opening that is modelled does not take the service that passes it with its clearance; the cut that both need is judged.",
    ),
    (
        "site/within-tolerance",
        "A measured cut would get another verdict if it lay or measured a little otherwise, within what the tape can err: a pass is then not known, a fail stands with a remark.",
    ),
    (
        "as-built/changed",
        "A measured cut is not where, or not as large as, it was planned; its verdict is that of what is there.",
    ),
    (
        "as-built/unplanned",
        "A measured cut lies near no planned one: the designer has to say what it is for.",
    ),
    ("as-built/missing", "A planned cut was not found in a member that was measured."),
    ("as-built/member", "The section or span that was measured is not the model's."),
];

impl PackSet {
    /// Explains a rule (`uk-solid-joist/hole-zone`), a group (`uk-solid-joist/notch`) or a name
    /// that findings carry (`scope/no-pack`).
    ///
    /// # Errors
    /// A name that no known pack has.
    pub fn explain(&self, id: &str) -> Result<Explanation, UnknownPack> {
        if let Some((id, what)) = SPOKEN.iter().find(|(name, _)| *name == id) {
            return Ok(Explanation {
                id: (*id).to_owned(),
                pack: "How cuts are read".to_owned(),
                what: (*what).to_owned(),
                when: String::new(),
                otherwise: String::new(),
                why: "Nothing passes in silence.".to_owned(),
                example: String::new(),
                clause: None,
                sources: Vec::new(),
            });
        }
        let (pack_id, name) = id.split_once('/').unwrap_or((id, ""));
        let Some(pack) = self.get(pack_id) else {
            return Err(UnknownPack {
                what: "pack",
                name: pack_id.to_owned(),
                known: self.known().map(|p| p.id().to_owned()).collect(),
            });
        };
        explain(pack, name).ok_or_else(|| UnknownPack {
            what: "rule",
            name: id.to_owned(),
            known: pack.rule_ids(),
        })
    }
}

/// Explains a rule or a group of one pack.
fn explain(pack: &Pack, name: &str) -> Option<Explanation> {
    let rules: Vec<&Rule> =
        pack.rules.iter().filter(|r| r.said_as() == name || r.id == name).collect();
    let first = rules.first()?;
    let mut sources: Vec<Source> = Vec::new();
    for &at in rules.iter().flat_map(|r| &r.sources) {
        if let Some(source) = pack.sources.get(at)
            && !sources.contains(source)
        {
            sources.push(source.clone());
        }
    }
    let mut otherwise: Vec<&str> = Vec::new();
    for rule in &rules {
        let word = otherwise_word(rule.otherwise);
        if !otherwise.contains(&word) {
            otherwise.push(word);
        }
    }
    Some(Explanation {
        id: format!("{}/{name}", pack.id),
        pack: pack.title.clone(),
        what: by_option(&rules, |rule| describe::what(pack, rule)),
        when: conditions(&first.when),
        otherwise: otherwise.join(" or "),
        why: {
            let mut whys: Vec<&str> = Vec::new();
            for rule in &rules {
                if !whys.contains(&rule.why.as_str()) {
                    whys.push(&rule.why);
                }
            }
            whys.join(" ")
        },
        example: format!(
            "{}: {}.",
            example::member_words(pack),
            by_option(&rules, |rule| example::worked(pack, rule))
        ),
        clause: first.clause.clone(),
        sources,
    })
}

/// Rules of one option are and-ed, the options or-ed.
fn by_option(rules: &[&Rule], text: impl Fn(&Rule) -> String) -> String {
    let mut options: Vec<(&str, Vec<String>)> = Vec::new();
    for rule in rules {
        let name = rule.option.as_deref().unwrap_or_default();
        match options.iter_mut().find(|(option, _)| *option == name) {
            Some((_, texts)) => texts.push(text(rule)),
            None => options.push((name, vec![text(rule)])),
        }
    }
    let joined: Vec<String> = options.into_iter().map(|(_, texts)| texts.join(", and ")).collect();
    joined.join("; or ")
}

const fn otherwise_word(otherwise: Otherwise) -> &'static str {
    match otherwise {
        Otherwise::Fail => "fail",
        Otherwise::Refer => "refer",
        Otherwise::Unknown => "unknown",
        Otherwise::Note => "a note",
    }
}

/// What a rule asks, for a person: without a capital and a full stop.
pub(crate) fn rule_words(pack: &Pack, rule: &Rule) -> String {
    describe::what(pack, rule)
}

/// Conditions for a person.
pub(crate) fn condition_words(all: &[Condition]) -> String {
    conditions(all)
}

/// A kind of cut for a person.
pub(crate) fn kind_words(kind: wimble_model::CutKind) -> String {
    crate::words::cut_word(kind).to_owned()
}

/// Conditions in words.
fn conditions(conditions: &[Condition]) -> String {
    let said: Vec<String> = conditions
        .iter()
        .map(|condition| {
            let fact = condition.fact.word().replace('-', " ");
            match &condition.test {
                Test::Words { is, not } if is.is_empty() => {
                    format!("{fact} not {}", not.join(", "))
                }
                Test::Words { is, .. } => format!("{fact} {}", is.join(" or ")),
                Test::YesNo(true) => fact,
                Test::YesNo(false) => format!("not {fact}"),
                Test::Lengths(range) => format!("{fact}{}", describe::range(range)),
                Test::Figures(range) => format!("{fact}{}", describe::range(range)),
            }
        })
        .collect();
    said.join("; ")
}
