//! Packs: rules as data.

mod error;
mod fact;
mod kinds;
mod load;
mod raw;
mod reach;
mod said;
mod schema;
mod set;
mod table;

pub use error::PackError;
pub use schema::pack_schema;
pub use set::{PackSet, UnknownPack};

pub(crate) use error::PackText;
pub(crate) use fact::{
    ALL_SERVICES, ALL_TRADES, Condition, Fact, Range, Test, kind_known, load_word, make_word,
    place_word, role_word, shape_word, trade_word,
};
#[cfg(test)]
pub(crate) use kinds::ALL_KINDS;
pub(crate) use kinds::KindSet;
pub(crate) use said::Said;
pub(crate) use table::{Lookup, Table};

use crate::expression::Length;
use wimble_model::{ObligationKind, Verdict};

/// A rule pack, read and checked.
#[derive(Debug, Clone)]
pub struct Pack {
    pub(crate) id: String,
    pub(crate) title: String,
    pub(crate) version: String,
    pub(crate) region: Option<String>,
    pub(crate) span_basis: SpanBasis,
    pub(crate) extends: Option<String>,
    pub(crate) applies: Vec<Condition>,
    pub(crate) free: KindSet,
    pub(crate) example: Example,
    pub(crate) sources: Vec<Source>,
    pub(crate) tables: Vec<Table>,
    pub(crate) rules: Vec<Rule>,
}

impl Pack {
    /// Its name (`uk-solid-joist`).
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// What it is, for a person.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.title
    }

    /// First digits of the BLAKE3 digest of its text: tells which edition of a pack was used.
    #[must_use]
    pub fn version(&self) -> &str {
        &self.version
    }

    /// Country or region code, if it belongs to one.
    #[must_use]
    pub fn region(&self) -> Option<&str> {
        self.region.as_deref()
    }

    /// The pack that it extends and stands for, if any.
    #[must_use]
    pub fn extends(&self) -> Option<&str> {
        self.extends.as_deref()
    }

    /// Its sources, each with its status.
    #[must_use]
    pub fn sources(&self) -> &[Source] {
        &self.sources
    }

    /// Ids of its rules; the rules of a group share the group's id.
    #[must_use]
    pub fn rule_ids(&self) -> Vec<String> {
        let mut ids = Vec::new();
        for rule in &self.rules {
            let id = format!("{}/{}", self.id, rule.said_as());
            if !ids.contains(&id) {
                ids.push(id);
            }
        }
        ids
    }

    /// The sources of a rule in one line, each with its status.
    pub(crate) fn cites(&self, rule: &Rule) -> String {
        let mut said = String::new();
        for source in rule.sources.iter().filter_map(|&at| self.sources.get(at)) {
            if !said.is_empty() {
                said.push_str("; ");
            }
            said.push_str(&source.to_string());
        }
        if let Some(clause) = &rule.clause {
            said = format!("{clause}: {said}");
        }
        said
    }
}

/// How spans are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum SpanBasis {
    Clear,
    Effective,
    BearingCentres,
}

/// The member that worked examples are made for.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Example {
    pub(crate) breadth_mm: f64,
    pub(crate) depth_mm: f64,
    pub(crate) span_mm: f64,
    pub(crate) flange_mm: Option<f64>,
    pub(crate) product: Option<String>,
}

/// Where a figure comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Short name by which the pack's rules cite it.
    pub key: String,
    /// Who and what.
    pub title: String,
    /// Edition or year.
    pub edition: Option<String>,
    /// Where it was read.
    pub address: Option<String>,
    /// How sure the figure is.
    pub status: Status,
}

impl std::fmt::Display for Source {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.title)?;
        if let Some(edition) = &self.edition {
            write!(f, ", {edition}")?;
        }
        write!(f, " ({})", self.status.words())
    }
}

/// How sure a figure is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Status {
    /// Read in the source itself.
    Published,
    /// Read in a page that restates the source.
    Restated,
    /// What the trade works by.
    CommonPractice,
    /// From memory, not read in a source.
    Memory,
    /// Our own figure.
    Own,
}

impl Status {
    /// For a person.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::Restated => "as restated by others",
            Self::CommonPractice => "common practice",
            Self::Memory => "from memory, to be confirmed",
            Self::Own => "our own figure",
        }
    }
}

/// One rule.
#[derive(Debug, Clone)]
pub(crate) struct Rule {
    pub(crate) id: String,
    pub(crate) group: Option<String>,
    pub(crate) option: Option<String>,
    pub(crate) cut: KindSet,
    pub(crate) when: Vec<Condition>,
    pub(crate) after: Option<usize>,
    pub(crate) check: Check,
    pub(crate) otherwise: Otherwise,
    pub(crate) always: bool,
    pub(crate) go_on: bool,
    pub(crate) lifted_by: Option<String>,
    pub(crate) sources: Vec<usize>,
    pub(crate) clause: Option<String>,
    pub(crate) why: String,
    pub(crate) says: Option<String>,
    pub(crate) next: Option<String>,
    pub(crate) propose: Vec<Proposal>,
    pub(crate) once_per: Option<Once>,
    /// What its findings have in common.
    pub(crate) said: Said,
}

impl Rule {
    /// The id that findings carry: of the group, where there is one.
    pub(crate) fn said_as(&self) -> &str {
        self.group.as_deref().unwrap_or(&self.id)
    }

    /// Whether it decides the pack's scope: what it is not, the pack is silent on.
    pub(crate) fn is_scope(&self) -> bool {
        matches!(self.check, Check::Member(_)) && !self.go_on && self.otherwise != Otherwise::Note
    }
}

/// What a broken check means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Otherwise {
    Note,
    Unknown,
    Refer,
    Fail,
}

impl Otherwise {
    /// The verdict on the cut; a note changes none.
    pub(crate) const fn verdict(self) -> Verdict {
        match self {
            Self::Note => Verdict::Pass,
            Self::Unknown => Verdict::Unknown,
            Self::Refer => Verdict::Refer,
            Self::Fail => Verdict::Fail,
        }
    }
}

/// A proposal that a rule prints.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Proposal {
    Refer,
    Turn,
    TrimOut,
}

/// What several findings of one rule share when they are said once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Once {
    Plies,
    Run,
    Product,
}

/// The closed set of checks, with what each needs.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Check {
    Zone { from: Length, to: Length, datum: Datum, part: Part },
    KeepOut(KeepOut),
    SupportDistance { bound: DistanceBound, value: Value, part: Part },
    Size { of: SizeOf, at_most: Value },
    Level { at_most: Length, refer_to: Option<Length> },
    Edge { of: EdgeOf, at_least: Length },
    Left { along: Along, at_least: Length },
    Apart { with: With, measure: Spacing, at_least: Option<Length>, times_larger: f64 },
    BothEdges { gap: Option<Length>, same_half: Option<Otherwise> },
    Count { kinds: KindSet, ignore_under: Length, at_most: u32 },
    Forbid { kinds: KindSet },
    Member(Condition),
    Oblige { of: ObligeOf, at_least: Length, obligation: ObligationKind },
}

/// From where a zone is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Datum {
    Face,
    CentreOfBearing,
    End,
}

/// To which part of a cut a distance is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Part {
    Whole,
    Centre,
}

/// What a cut keeps out of.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum KeepOut {
    /// A stretch from either support.
    Stretch { from: Length, to: Length, datum: Datum },
    /// The surroundings of a thing.
    Around { what: Around, within: Length },
}

/// Things to keep clear of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Around {
    Bearings,
    Hangers,
    Ends,
    PartitionsAcross,
    Vessels,
}

/// On which side of a distance a cut has to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum DistanceBound {
    AtLeast,
    AtMost,
}

/// A length, or a table's answer.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Value {
    Length(Length),
    /// Index of the pack's table.
    Table(usize),
}

/// Sizes of a cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum SizeOf {
    Height,
    Width,
    NotchDepth,
    Bit,
    Across,
    Larger,
    Proud,
}

/// Edges that wood is left to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum EdgeOf {
    Top,
    Bottom,
    Nearest,
    Flange,
    Side,
}

/// Dimensions of which something has to remain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Along {
    Depth,
    Breadth,
    Web,
}

/// Neighbours that count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum With {
    Kinds(KindSet),
    /// Of the same kind as the cut.
    Same,
}

/// How the distance to a neighbour is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Spacing {
    Centres,
    GapX,
    Clear,
}

/// Figures below which something has to be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ObligeOf {
    /// Wood between the cut and the nearer of top and bottom.
    Cover,
    /// Wood between the cut and the nearer side.
    SideCover,
    /// What remains of the depth.
    LeftDepth,
    /// What remains of the breadth.
    LeftBreadth,
}
