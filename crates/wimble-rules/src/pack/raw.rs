//! A pack as written: one struct per table of the TOML, each value with its place. The JSON
//! Schema is made from these, so that it cannot say anything else than the reader.

use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;
use toml::{Spanned, Value};

type Text = Spanned<String>;

/// A rule pack.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(title = "Wimble rule pack")]
pub(crate) struct RawPack {
    /// Name of the pack: lower-case letters, digits, hyphens.
    #[schemars(with = "String", regex(pattern = r"^[a-z0-9]+(-[a-z0-9]+)*$"))]
    pub(crate) id: Text,
    /// What it is, for a person.
    #[schemars(with = "String")]
    pub(crate) title: Text,
    /// Country or region code (`GB`, `IE`, `US`); absent where the rules hold anywhere.
    pub(crate) region: Option<String>,
    /// How its spans are read; `clear` if absent.
    #[serde(default)]
    pub(crate) span_basis: RawSpanBasis,
    /// Another pack whose rules, sources and tables this one takes over and changes.
    #[schemars(with = "Option<String>")]
    pub(crate) extends: Option<Text>,
    /// Ids of rules of the extended pack that do not hold here.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub(crate) without: Vec<Text>,
    /// Which members it speaks of; every word list that is absent allows all.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, Value1>")]
    pub(crate) applies: BTreeMap<Text, Spanned<Value>>,
    /// Kinds of cut that its members may have without a limit: what none of its rules forbids
    /// passes. Elsewhere a cut passes only where a rule has spoken of it.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub(crate) free: Vec<Text>,
    /// The member that worked examples are made for.
    pub(crate) example: Option<RawExample>,
    /// Where the figures come from.
    #[serde(default)]
    pub(crate) source: Vec<RawSource>,
    /// Tables of size against distance.
    #[serde(default)]
    pub(crate) table: Vec<RawTable>,
    /// The rules.
    #[serde(default)]
    #[schemars(with = "Vec<RawRule>")]
    pub(crate) rule: Vec<Spanned<RawRule>>,
}

/// A word, a list of words, a figure, a length, yes or no, or a range of figures or lengths.
#[derive(JsonSchema)]
#[serde(untagged)]
#[expect(dead_code, reason = "tells the JSON Schema what a condition may be; read as a TOML value")]
pub(crate) enum Value1 {
    Yes(bool),
    Word(String),
    Figure(f64),
    Words(Vec<String>),
    Range(RawRange),
}

/// A range of figures or lengths, or words that must not be.
#[derive(JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
#[expect(dead_code, reason = "tells the JSON Schema what a condition may be; read as a TOML value")]
pub(crate) struct RawRange {
    at_least: Option<Value2>,
    at_most: Option<Value2>,
    above: Option<Value2>,
    below: Option<Value2>,
    not: Option<Vec<String>>,
}

/// A figure, or a length with its unit.
#[derive(JsonSchema)]
#[serde(untagged)]
#[expect(dead_code, reason = "tells the JSON Schema what a condition may be; read as a TOML value")]
pub(crate) enum Value2 {
    Figure(f64),
    Length(String),
}

/// How a pack reads spans.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum RawSpanBasis {
    /// Between the inner faces of the bearings.
    #[default]
    Clear,
    /// Clear span and half of each bearing, at most half the depth at each end.
    Effective,
    /// Between the centres of the bearings.
    BearingCentres,
}

/// The member that worked examples are made for.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(crate) struct RawExample {
    #[schemars(with = "String")]
    pub(crate) breadth: Text,
    #[schemars(with = "String")]
    pub(crate) depth: Text,
    /// Clear span.
    #[schemars(with = "String")]
    pub(crate) span: Text,
    /// Depth of a flange or chord.
    #[schemars(with = "Option<String>")]
    pub(crate) flange: Option<Text>,
    /// Product by name, where a table needs it.
    pub(crate) product: Option<String>,
}

/// A source.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(crate) struct RawSource {
    /// Short name by which rules cite it.
    #[schemars(with = "String")]
    pub(crate) key: Text,
    /// Who and what.
    pub(crate) title: String,
    /// Edition or year.
    pub(crate) edition: Option<String>,
    /// Where it was read.
    pub(crate) address: Option<String>,
    /// How sure the figure is.
    pub(crate) status: RawStatus,
}

/// How sure a figure is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum RawStatus {
    /// Read in the source itself.
    Published,
    /// Read in a page that restates the source.
    Restated,
    /// What the trade works by; no published source.
    CommonPractice,
    /// From memory; not read in a source.
    Memory,
    /// Our own figure.
    Own,
}

/// A table of size against distance from the support.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(crate) struct RawTable {
    /// Name by which rules use it: `table(key)`.
    #[schemars(with = "String")]
    pub(crate) key: Text,
    /// CSV beside the pack: `product,depth,support,size,distance,span-limit`.
    #[schemars(with = "Option<String>")]
    pub(crate) file: Option<Text>,
    /// The same within the pack.
    #[schemars(with = "Option<String>")]
    pub(crate) rows: Option<Text>,
    /// To which part of the cut the distance is measured, from the face of the support.
    pub(crate) part: RawPart,
    /// Whether the distance shrinks with span / `span-limit` on shorter spans.
    #[serde(default)]
    pub(crate) shrinks_with_span: bool,
}

/// Which part of a cut a distance is measured to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum RawPart {
    /// Every part of it.
    Whole,
    /// Its middle.
    Centre,
    /// The edge that is nearer to the support.
    NearEdge,
}

/// The closed set of checks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum RawCheck {
    /// The cut lies in a stretch of the span, from one of its two supports.
    Zone,
    /// No part of the cut lies in a stretch of the span, or near a bearing, hanger or load.
    KeepOut,
    /// Distance to both supports.
    SupportDistance,
    /// A size of the cut.
    Size,
    /// The centre is within a band of mid-depth.
    Level,
    /// Wood left beside the cut.
    Edge,
    /// What remains of a dimension of the member.
    Left,
    /// Every neighbour is far enough away.
    Apart,
    /// A top and a bottom notch are far enough apart.
    BothEdges,
    /// How many per span.
    Count,
    /// Never holds.
    Forbid,
    /// A fact of the member.
    Member,
    /// Always holds; below the figure something has to be done besides.
    Oblige,
}

/// One rule: one check with what it needs.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(crate) struct RawRule {
    /// Name within the pack: lower-case letters, digits, hyphens.
    #[schemars(with = "String", regex(pattern = r"^[a-z0-9]+(-[a-z0-9]+)*$"))]
    pub(crate) id: Text,
    /// Rules of one group stand and fall together by options.
    #[schemars(with = "Option<String>")]
    pub(crate) group: Option<Text>,
    /// Rules of one option all have to hold; one option of a group is enough.
    #[schemars(with = "Option<String>")]
    pub(crate) option: Option<Text>,
    /// Kinds of cut that it speaks of; absent: all but joinery and what removes nothing.
    #[schemars(with = "Option<Vec<String>>")]
    pub(crate) cut: Option<Vec<Text>>,
    /// Facts of the member, its role or the services that must be so for the rule to speak.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, Value1>")]
    pub(crate) when: BTreeMap<Text, Spanned<Value>>,
    /// Another rule of the pack that must hold for this one to speak.
    #[schemars(with = "Option<String>")]
    pub(crate) after: Option<Text>,
    /// What is checked.
    #[schemars(with = "RawCheck")]
    pub(crate) check: Spanned<RawCheck>,
    /// What a broken check means; `fail` if absent (`refer` for a `member` check).
    #[schemars(with = "Option<RawOtherwise>")]
    pub(crate) otherwise: Option<Spanned<RawOtherwise>>,
    /// Speaks outside the pack's scope too.
    #[serde(default)]
    pub(crate) always: bool,
    /// For a `member` check: the rest of the pack is judged all the same.
    #[serde(default)]
    pub(crate) go_on: bool,
    /// A switch of the settings (`[rules] allow`) that lifts the rule.
    #[schemars(with = "Option<String>")]
    pub(crate) lifted_by: Option<Text>,
    /// Key or keys of its sources.
    #[schemars(with = "Value3")]
    pub(crate) source: Option<Spanned<Value>>,
    /// Clause, table or page of the source.
    pub(crate) clause: Option<String>,
    /// What the rule protects.
    #[schemars(with = "Option<String>")]
    pub(crate) why: Option<Text>,
    /// Words for the finding, in place of the words made from the check.
    pub(crate) says: Option<String>,
    /// What to do next, in place of the usual words.
    pub(crate) next: Option<String>,
    /// Proposals to print with a finding.
    #[schemars(with = "Option<Vec<RawProposal>>")]
    pub(crate) propose: Option<Vec<RawProposal>>,
    /// Findings of several members that are said once: `with` (the plies), `run`, `product`.
    pub(crate) once_per: Option<RawOnce>,

    #[schemars(with = "Option<String>")]
    pub(crate) from: Option<Text>,
    #[schemars(with = "Option<String>")]
    pub(crate) to: Option<Text>,
    #[schemars(with = "Option<String>")]
    pub(crate) measure: Option<Text>,
    #[schemars(with = "Option<String>")]
    pub(crate) part: Option<Text>,
    #[schemars(with = "Option<String>")]
    pub(crate) around: Option<Text>,
    #[schemars(with = "Option<String>")]
    pub(crate) within: Option<Text>,
    #[schemars(with = "Option<Value2>")]
    pub(crate) at_least: Option<Spanned<Value>>,
    #[schemars(with = "Option<Value2>")]
    pub(crate) at_most: Option<Spanned<Value>>,
    #[schemars(with = "Option<String>")]
    pub(crate) refer_to: Option<Text>,
    #[schemars(with = "Option<String>")]
    pub(crate) of: Option<Text>,
    #[schemars(with = "Option<String>")]
    pub(crate) along: Option<Text>,
    #[schemars(with = "Option<Vec<String>>")]
    pub(crate) with: Option<Vec<Text>>,
    /// So many times the larger diameter of the two.
    #[schemars(with = "Option<f64>")]
    pub(crate) times_larger: Option<Spanned<f64>>,
    #[schemars(with = "Option<String>")]
    pub(crate) gap: Option<Text>,
    #[schemars(with = "Option<RawOtherwise>")]
    pub(crate) same_half: Option<Spanned<RawOtherwise>>,
    #[schemars(with = "Option<Vec<String>>")]
    pub(crate) kinds: Option<Vec<Text>>,
    #[schemars(with = "Option<String>")]
    pub(crate) ignore_under: Option<Text>,
    #[schemars(with = "Option<String>")]
    pub(crate) fact: Option<Text>,
    #[schemars(with = "Option<Value1>")]
    pub(crate) is: Option<Spanned<Value>>,
    #[schemars(with = "Option<Value1>")]
    pub(crate) not: Option<Spanned<Value>>,
    #[schemars(with = "Option<String>")]
    pub(crate) obligation: Option<Text>,
}

/// The key of a source, or several.
#[derive(JsonSchema)]
#[serde(untagged)]
#[expect(dead_code, reason = "tells the JSON Schema what `source` may be; read as a TOML value")]
pub(crate) enum Value3 {
    One(String),
    Several(Vec<String>),
}

/// What a broken check means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum RawOtherwise {
    Fail,
    Refer,
    Unknown,
    Note,
}

/// A proposal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum RawProposal {
    Refer,
    Turn,
    TrimOut,
}

/// What several findings of one rule share when they are said once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum RawOnce {
    /// The built-up member (its plies).
    With,
    /// The storey, the kind of member and the run.
    Run,
    /// The storey and the product (section).
    Product,
}
