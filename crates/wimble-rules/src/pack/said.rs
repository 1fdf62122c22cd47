//! What all findings of a rule have in common, made once.

use super::{Pack, Proposal, Rule};
use arcstr::ArcStr;
use std::sync::Arc;
use wimble_model::{Action, Remedy};

/// What all findings of a rule have in common.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Said {
    /// The rule as printed (`pack/rule`).
    pub(crate) name: ArcStr,
    /// Its sources in one line.
    pub(crate) source: ArcStr,
    /// What it proposes where it is broken.
    pub(crate) proposals: Arc<[Remedy]>,
}

impl Said {
    pub(crate) fn new(name: &str, source: &str, proposals: &[Proposal]) -> Self {
        Self { name: name.into(), source: source.into(), proposals: remedies(proposals) }
    }

    /// Of a rule of a pack.
    pub(crate) fn of(pack: &Pack, rule: &Rule) -> Self {
        let name = format!("{}/{}", pack.id, rule.said_as());
        Self::new(&name, &pack.cites(rule), &rule.propose)
    }
}

/// Proposals for a person; to ask is always one of them.
fn remedies(proposals: &[Proposal]) -> Arc<[Remedy]> {
    let ask = (!proposals.contains(&Proposal::Refer)).then_some(Proposal::Refer);
    let all = proposals.iter().copied().chain(ask);
    let remedy = |proposal| {
        let (action, text) = match proposal {
            Proposal::Refer => (Action::Refer, Remedy::ASK),
            Proposal::Turn => (
                Action::Turn,
                "Run it along the members instead of through them, if the services designer agrees.",
            ),
            Proposal::TrimOut => {
                (Action::TrimOut, "Trim out the members for it: a proposal to the engineer.")
            }
        };
        Remedy { action, services: Vec::new(), text: text.to_owned() }
    };
    all.map(remedy).collect()
}
