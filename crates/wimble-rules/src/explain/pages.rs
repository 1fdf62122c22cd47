//! The rule pages: one Markdown page for each shipped pack, and an index.

use super::{conditions, explain, otherwise_word};
use crate::pack::{Pack, PackSet};
use std::fmt::Write;

/// A generated page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RulePage {
    /// File name (`uk-solid-joist.md`).
    pub file: String,
    /// Its text.
    pub text: String,
}

/// Pages for all known packs, the index first. They are generated: `docs/rules/` holds copies
/// that a test compares.
#[must_use]
pub fn rule_pages(packs: &PackSet) -> Vec<RulePage> {
    let mut index = String::from(
        "# Rule packs\n\nGenerated from the packs by `cargo run -p wimble-dev -- rules`. \
         What each pack rests on, and how sure it is, stands on its page; the JSON Schema of a pack is in [pack.schema.json](pack.schema.json).\n\n\
         | pack | for | region | stands for |\n| --- | --- | --- | --- |\n",
    );
    let mut pages = Vec::new();
    for pack in packs.known() {
        let _ = writeln!(
            index,
            "| [{0}]({0}.md) | {1} | {2} | {3} |",
            pack.id,
            pack.title,
            pack.region.as_deref().unwrap_or("any"),
            pack.extends.as_deref().unwrap_or("")
        );
        pages.push(RulePage { file: format!("{}.md", pack.id), text: page(pack) });
    }
    index.push_str("\nFindings that no rule makes:\n\n| name | meaning |\n| --- | --- |\n");
    for (name, meaning) in super::SPOKEN {
        let _ = writeln!(index, "| `{name}` | {meaning} |");
    }
    let mut all = vec![RulePage { file: "README.md".to_owned(), text: index }];
    all.extend(pages);
    let schema = serde_json::to_string_pretty(&crate::pack_schema()).unwrap_or_default();
    all.push(RulePage { file: "pack.schema.json".to_owned(), text: schema + "\n" });
    all
}

fn page(pack: &Pack) -> String {
    let mut text = format!("# {}\n\n{}.\n", pack.id, pack.title);
    let applies = conditions(&pack.applies);
    if applies.is_empty() {
        text.push_str("\nApplies to every member.\n");
    } else {
        let _ = writeln!(text, "\nApplies to members with: {applies}.");
    }
    if let Some(parent) = &pack.extends {
        let _ = writeln!(text, "\nExtends and stands for [{parent}]({parent}.md).");
    }
    text.push_str("\n## Rules\n");
    let mut said: Vec<&str> = Vec::new();
    for rule in &pack.rules {
        let name = rule.said_as();
        if said.contains(&name) {
            continue;
        }
        said.push(name);
        let Some(told) = explain(pack, name) else { continue };
        let _ = write!(text, "\n### {}\n\n{}.", told.id, sentence(&told.what));
        if !told.when.is_empty() {
            let _ = write!(text, " Only for: {}.", told.when);
        }
        if rule.always {
            text.push_str(" Judged outside the pack's scope too.");
        }
        if let Some(switch) = &rule.lifted_by {
            let _ = write!(text, " The setting `allow = {{ {switch} = true }}` lifts it.");
        }
        let _ = write!(
            text,
            "\n\n- Else: {}.\n- Why: {}\n- Worked: {}\n- Source: {}\n",
            otherwise_word(rule.otherwise),
            told.why,
            told.example,
            told.clause
                .iter()
                .cloned()
                .chain(told.sources.iter().map(ToString::to_string))
                .collect::<Vec<_>>()
                .join("; ")
        );
    }
    text.push_str("\n## Sources\n\n");
    for source in &pack.sources {
        let _ = write!(text, "- {source}");
        if let Some(address) = &source.address {
            let _ = write!(text, " <{address}>");
        }
        text.push('\n');
    }
    text
}

fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
