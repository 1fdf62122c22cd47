//! `wimble.toml` as it is written, each value with its place in the text.
//!
//! Nothing is decided here but the shape: which keys there are. Words, figures and names are
//! looked at when the settings are resolved, where a mistake can still be pointed at.

use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Spanned;
use wimble_model::{MemberKind, ServiceKind};

/// Everything that a project decides once.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(title = "Settings of Wimble (wimble.toml)")]
pub(super) struct Raw {
    pub(super) rules: Rules,
    pub(super) cut: Cut,
    pub(super) supports: Supports,
    pub(super) model: Model,
    pub(super) check: Check,
    pub(super) issue: Issue,
    /// Findings that are accepted. They stay in every report, marked; the exit code passes over
    /// them.
    #[schemars(with = "Vec<Waive>")]
    pub(super) waive: Vec<Spanned<Waive>>,
    pub(super) bcf: Bcf,
    /// Places that members keep for a trade: no remedy of another takes the last of them.
    #[schemars(with = "Vec<Reserve>")]
    pub(super) reserve: Vec<Spanned<Reserve>>,
}

/// A place for a hole that is kept for a trade.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Reserve {
    /// The trade (`pipe`, `duct`, `cable`, `carrier`, `soil`, `waste`, `gas`, `air`, `heating`,
    /// `water`).
    #[serde(rename = "for")]
    #[schemars(with = "String")]
    pub(super) trade: Spanned<String>,
    /// Diameter of the hole, clearance included (`"32 mm"`).
    #[schemars(with = "String")]
    pub(super) size: Spanned<String>,
    /// Names of the members (`"JA-*"`); every member, if not given.
    pub(super) member: Option<String>,
    /// Name of their storey.
    pub(super) storey: Option<String>,
}

/// Number and issue of marking-out sheets, printed as written.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default, rename_all = "kebab-case")]
pub(super) struct Issue {
    /// Number of the sheets (`"M-03"`).
    pub(super) number: String,
    /// Their issue (`"B"`).
    pub(super) issue: String,
    /// What they replace (`"M-03 A"`).
    pub(super) replaces: String,
    /// The date, as it is to be printed.
    pub(super) date: String,
}

/// Which rules are in force.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default, rename_all = "kebab-case")]
pub(super) struct Rules {
    /// Packs by name; a name that ends in `.toml` is a pack of your own, beside this file.
    #[schemars(with = "Option<Vec<String>>")]
    pub(super) packs: Option<Vec<Spanned<String>>>,
    /// The usual packs of a region, by its country code (`GB`).
    #[schemars(with = "Option<String>")]
    pub(super) region: Option<Spanned<String>>,
    /// Switches of the packs, each on or off (`bottom-notch`).
    #[schemars(with = "BTreeMap<String, bool>")]
    pub(super) allow: BTreeMap<Spanned<String>, bool>,
    /// Whether the floors are in domestic use; assumed, and said so, if not given.
    #[serde(rename = "use")]
    pub(super) building_use: Option<BuildingUse>,
}

/// Use of the floors.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum BuildingUse {
    /// Homes.
    Domestic,
    /// Any other.
    Other,
}

/// How a crossing becomes a cut.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default, rename_all = "kebab-case")]
pub(super) struct Cut {
    /// One length in place of every default (`"5 mm"`), or a table by kind: `pipe`,
    /// `pipe-plastic`, `waste`, `soil`, `duct`, `cable`, `conduit`, `carrier`, `other`.
    #[schemars(with = "Option<ClearanceSchema>")]
    pub(super) clearance: Option<Spanned<toml::Value>>,
    /// Whether lagging passes through timber.
    pub(super) lagging: Option<Lagging>,
}

/// For the schema: a length, or a length for each kind.
#[derive(JsonSchema)]
#[serde(untagged)]
#[expect(dead_code, reason = "describes what is read as a TOML value")]
enum ClearanceSchema {
    One(String),
    ByKind(BTreeMap<String, String>),
}

/// Whether lagging passes through timber.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Lagging {
    /// Pipes pass bare, but for chilled ones and ducts.
    Bare,
    /// Water and heating pipes pass with a wrap.
    Wrap,
    /// All lagging passes through.
    Through,
}

/// What carries.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default, rename_all = "kebab-case")]
pub(super) struct Supports {
    /// An end of a member without a bearing counts as one.
    pub(super) accept_member_ends: Option<bool>,
    /// Walls and studs whose LoadBearing is not stated carry.
    pub(super) assume_bearing: Option<bool>,
    /// A bearing shorter than this is not counted (`"35 mm"`).
    #[schemars(with = "Option<String>")]
    pub(super) least_bearing: Option<Spanned<String>>,
    /// Bearings or spans that you know.
    pub(super) stated: Vec<Stated>,
}

/// Bearings or clear spans of the chosen members, from the end with the lesser x.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Stated {
    /// Which members.
    #[serde(rename = "where")]
    #[schemars(with = "Selector")]
    pub(super) selector: Spanned<Selector>,
    /// From and to of each bearing (`[["0 mm", "100 mm"], …]`).
    #[serde(default)]
    #[schemars(with = "Vec<[String; 2]>")]
    pub(super) bearings: Vec<[Spanned<String>; 2]>,
    /// From and to of each clear span; used if no bearings are given.
    #[serde(default)]
    #[schemars(with = "Vec<[String; 2]>")]
    pub(super) spans: Vec<[Spanned<String>; 2]>,
}

/// How the model is read.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default, rename_all = "kebab-case")]
pub(super) struct Model {
    /// By what several files are put together.
    pub(super) align: Option<Align>,
    /// What elements are, where the model does not say it well; the first that fits counts.
    pub(super) map: Vec<Map>,
    /// Elements that are not to be looked at.
    #[schemars(with = "Vec<Selector>")]
    pub(super) ignore: Vec<Spanned<Selector>>,
}

/// By what several files are put together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Align {
    /// Their placements.
    Placement,
    /// Their map conversions.
    Map,
}

/// What the chosen elements are.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Map {
    /// Which elements.
    #[serde(rename = "where")]
    #[schemars(with = "Selector")]
    pub(super) selector: Spanned<Selector>,
    /// What they are.
    #[serde(rename = "is")]
    pub(super) take: Take,
}

/// What an element is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Take {
    /// A timber member of this kind (`unknown` leaves the kind to be found).
    Member(MemberKind),
    /// Not timber.
    NotTimber,
    /// Not to be looked at.
    Ignore,
    /// A service of this kind.
    Service(ServiceKind),
    /// Whether it carries members, whatever its class.
    Support(bool),
}

/// Elements chosen by what they say of themselves: every key given must fit. `*` and `?` stand
/// for any letters and any one letter; capitals do not matter, except in a GlobalId.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default, rename_all = "kebab-case")]
pub(super) struct Selector {
    /// GlobalId, exactly.
    pub(super) guid: Option<String>,
    /// Name.
    pub(super) name: Option<String>,
    /// IFC class (`IfcBeam`).
    pub(super) class: Option<String>,
    /// Name of the type, or the object type.
    pub(super) type_name: Option<String>,
    /// Any of the materials.
    pub(super) material: Option<String>,
    /// Name of the storey.
    pub(super) storey: Option<String>,
}

/// What counts as a finding.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default, rename_all = "kebab-case")]
pub(super) struct Check {
    /// From which verdict on the exit code is 1.
    pub(super) fail_on: Option<super::FailOn>,
    /// Trades that must be modelled (`pipe`, `duct`, `cable`, `carrier`, `soil`, `waste`, `gas`,
    /// `air`, `heating`, `water`); one that is missing leaves the model `unknown`.
    #[schemars(with = "Vec<String>")]
    pub(super) expect: Vec<Spanned<String>>,
    /// Errors on site that a pass should survive, else it is tight.
    pub(super) site_tolerance: SiteTolerance,
}

/// Errors on site, each alone.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default, rename_all = "kebab-case")]
pub(super) struct SiteTolerance {
    /// Along the member (`"10 mm"`).
    #[schemars(with = "Option<String>")]
    pub(super) along: Option<Spanned<String>>,
    /// In level (`"3 mm"`).
    #[schemars(with = "Option<String>")]
    pub(super) level: Option<Spanned<String>>,
    /// In size (`"2 mm"`).
    #[schemars(with = "Option<String>")]
    pub(super) size: Option<Spanned<String>>,
}

/// Topics for modelling tools (`-o FILE.bcf`).
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default, rename_all = "kebab-case")]
pub(super) struct Bcf {
    /// `2.1` (also if not given) or `3.0`.
    #[schemars(with = "Option<String>")]
    pub(super) version: Option<Spanned<String>>,
    /// What one topic holds; what one rule says of one run on one storey, if not given.
    pub(super) group: Option<crate::args::Group>,
    /// Who makes the topics; many tools want an address.
    pub(super) author: Option<String>,
    /// Who is to act: one for all, or a table by what the service carries (`waste`, `soil`,
    /// `flue`, `gas`, `air`, `heating`, `water`, `chilled`, `electric`), and `other`.
    #[schemars(with = "Option<ClearanceSchema>")]
    pub(super) assigned_to: Option<Spanned<toml::Value>>,
    /// By when (`2026-12-20`).
    #[schemars(with = "Option<String>")]
    pub(super) due: Option<Spanned<toml::Value>>,
    /// Labels of every topic, besides the verdict and what the service carries.
    pub(super) labels: Vec<String>,
    /// Priorities by verdict.
    pub(super) priority: Priority,
}

/// Priorities by verdict.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub(super) struct Priority {
    /// Of what fails; `High` if not given.
    pub(super) fail: Option<String>,
    /// Of what an engineer decides; `Normal` if not given.
    pub(super) refer: Option<String>,
    /// Of what lacks a fact; `Low` if not given.
    pub(super) unknown: Option<String>,
}

/// A finding, or findings, that are accepted. Every key given must fit; `finding`, `member` or
/// `service` has to be among them. Patterns as in `where`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Waive {
    /// Fingerprint of one finding, from the JSON report.
    pub(super) finding: Option<String>,
    /// The rule (`uk-solid-joist/hole-*`).
    pub(super) rule: Option<String>,
    /// Name of the member, or its GlobalId.
    pub(super) member: Option<String>,
    /// Name of a service, or its GlobalId.
    pub(super) service: Option<String>,
    /// Name of the storey.
    pub(super) storey: Option<String>,
    /// Why it is accepted.
    #[schemars(with = "String")]
    pub(super) reason: Spanned<String>,
    /// Who says so.
    pub(super) by: Option<String>,
    /// The last day on which the waiver holds (`2027-03-01`).
    #[schemars(with = "String")]
    pub(super) until: Spanned<toml::Value>,
}
