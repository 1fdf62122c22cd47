//! What the project decides about its topics.

use std::collections::BTreeMap;
use wimble_model::{Trade, Verdict};

/// What the project decides about its topics.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// Version of the format; `None` for that of `before`, else 2.1.
    pub version: Option<Version>,
    /// What one topic holds.
    pub group: Group,
    /// Who makes the topics (many readers want an address).
    pub author: String,
    /// Who is to act, by what the service carries.
    pub assigned: BTreeMap<Trade, String>,
    /// Who is to act on the rest.
    pub assigned_else: Option<String>,
    /// By when (`2026-12-20T00:00:00Z`).
    pub due: Option<String>,
    /// Labels of every topic, besides the verdict and the trade.
    pub labels: Vec<String>,
    /// Priorities of `fail`, `refer`, `unknown`.
    pub priorities: [String; 3],
    /// An earlier file of topics, whose statuses, comments and other entries of people are kept.
    pub before: Option<Vec<u8>>,
}

impl Default for Told {
    fn default() -> Self {
        Self {
            version: None,
            group: Group::Run,
            author: "wimble@localhost".into(),
            assigned: BTreeMap::new(),
            assigned_else: None,
            due: None,
            labels: Vec::new(),
            priorities: ["High".into(), "Normal".into(), "Low".into()],
            before: None,
        }
    }
}

impl Told {
    pub(crate) fn priority(&self, verdict: Verdict) -> &str {
        let [fail, refer, unknown] = &self.priorities;
        match verdict {
            Verdict::Fail => fail,
            Verdict::Refer => refer,
            Verdict::Unknown | Verdict::Pass => unknown,
        }
    }
}

/// Version of the topics' format.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Version {
    /// 2.1.
    V2,
    /// 3.0.
    V3,
}

impl Version {
    /// As it is written.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::V2 => "2.1",
            Self::V3 => "3.0",
        }
    }

    /// Reads it.
    #[must_use]
    pub fn of(text: &str) -> Option<Self> {
        [Self::V2, Self::V3].into_iter().find(|version| version.text() == text.trim())
    }
}

/// What one topic holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// What one rule says of one run of services on one storey.
    Run,
    /// What one rule says on one storey.
    Storey,
    /// What one rule says.
    Rule,
    /// What is said of one member.
    Member,
    /// One finding.
    Finding,
}
