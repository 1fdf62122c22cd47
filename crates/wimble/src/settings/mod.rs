//! What a project decides once: `wimble.toml`, read in two stages.
//!
//! `raw` is the file as written, with the place of each value; `resolve` turns it into the
//! settings of each stage and refuses what cannot be meant, pointing at it.

mod length;
mod raw;
mod reserve;
mod resolve;
mod stated;
mod topics;
mod trouble;
mod waive;

pub use reserve::Reserve;
pub use trouble::Trouble;
pub(crate) use trouble::near;

use schemars::JsonSchema;
use serde::Deserialize;
use wimble_cross::CrossSettings;
use wimble_model::{ServiceKind, Trade, Verdict};
use wimble_recognise::RecogniseSettings;
use wimble_rules::{PackSet, RuleSettings};

/// For how many cuts that do not pass remedies are looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LookFor {
    /// None.
    Nothing,
    /// All, if there are no more than so many: looking takes some milliseconds for each, and a
    /// model with thousands of them has a question that no shift of a pipe answers.
    UpTo(usize),
    /// All, however many.
    Everything,
}

impl LookFor {
    pub(crate) const fn serves(self, cuts: usize) -> bool {
        match self {
            Self::Nothing => false,
            Self::UpTo(most) => cuts <= most,
            Self::Everything => true,
        }
    }
}

/// Everything that a project decides once, resolved.
#[derive(Debug, Clone)]
pub struct Settings {
    /// The packs that are known: those built in and the user's own.
    pub packs: PackSet,
    /// Which of them are in force.
    pub choice: PackChoice,
    /// What the rules are told.
    pub rules: RuleSettings,
    /// What crossing is told.
    pub cross: CrossSettings,
    /// What recognition is told.
    pub recognise: RecogniseSettings,
    /// From which verdict on the exit code is 1.
    pub fail_on: FailOn,
    /// Trades that must be modelled.
    pub expect: Vec<Expected>,
    /// Whether remedies are looked for.
    pub remedies: LookFor,
    /// Places that members keep for a trade.
    pub reserves: Vec<Reserve>,
    /// Whether the report says of every member where there is room after all its cuts.
    pub free: bool,
    /// Whether the shifts of runs are worked out one after the other, to be applied.
    pub(crate) apply: bool,
    /// Whether the report carries the solids of members and services, for outputs in space. Costs
    /// memory.
    pub solids: bool,
    /// Whether the report says at which lines of their files members and services are. Costs
    /// memory.
    pub lines: bool,
    /// Whether it is worked out where else cuts could be that do not pass: the strips under drawings.
    pub strips: bool,
    /// Which issue marking-out sheets are, where they are asked for; working them out takes time.
    pub marking: Option<wimble_report::marking::Issue>,
    /// Number and issue of what goes to site.
    pub sheets: wimble_report::marking::Issue,
    /// What the project accepts, with reasons.
    pub waivers: Vec<crate::Waiver>,
    /// The day on which waivers are held against their last day; `None` lets none hold.
    pub today: Option<jiff::civil::Date>,
    /// Goes into the report: when it is issued, and what was stated.
    pub issue: wimble_report::Issue,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            packs: PackSet::built_in(),
            choice: PackChoice::BySite,
            rules: RuleSettings::default(),
            cross: CrossSettings::default(),
            recognise: RecogniseSettings::default(),
            fail_on: FailOn::Fail,
            expect: Vec::new(),
            remedies: LookFor::Nothing,
            reserves: Vec::new(),
            free: false,
            apply: false,
            solids: false,
            lines: true,
            strips: true,
            marking: None,
            sheets: wimble_report::marking::Issue::default(),
            waivers: Vec::new(),
            today: None,
            issue: wimble_report::Issue::default(),
        }
    }
}

impl Settings {
    /// Whether anything asks for the bodies of members and services once the cuts are known.
    pub(crate) fn looks_at_bodies_again(&self) -> bool {
        self.solids || self.apply || self.remedies != LookFor::Nothing
    }

    /// Reads the text of a `wimble.toml`. `path` names it in messages; `beside` gives the text of
    /// a file beside it (a pack of the user's, and the tables of one).
    ///
    /// # Errors
    /// The first mistake, with its place.
    pub fn read(
        path: &str,
        text: &str,
        beside: &dyn Fn(&str) -> Option<String>,
    ) -> Result<Self, Box<Trouble>> {
        resolve::read(path, text, beside)
    }

    /// The JSON Schema of `wimble.toml`.
    #[must_use]
    pub fn schema() -> serde_json::Value {
        schemars::schema_for!(raw::Raw).to_value()
    }
}

/// How the packs in force are chosen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PackChoice {
    /// These, by name.
    Named(Vec<String>),
    /// The set of this region.
    Region(String),
    /// By what the model says of its site, else the United Kingdom; either is said as an
    /// assumption.
    BySite,
}

/// From which verdict on the exit code is 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize, JsonSchema, clap::ValueEnum)]
#[serde(rename_all = "kebab-case")]
pub enum FailOn {
    /// `fail`.
    #[default]
    Fail,
    /// `refer` and `fail`.
    Refer,
    /// `unknown`, `refer` and `fail`.
    Unknown,
    /// Never.
    Never,
}

impl FailOn {
    /// Whether a verdict is at or over it.
    #[must_use]
    pub fn reached_by(self, verdict: Verdict) -> bool {
        match self {
            Self::Fail => verdict >= Verdict::Fail,
            Self::Refer => verdict >= Verdict::Refer,
            Self::Unknown => verdict >= Verdict::Unknown,
            Self::Never => false,
        }
    }
}

/// A trade that must be modelled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Expected {
    /// Services of a kind.
    Kind(ServiceKind),
    /// Services that carry something.
    Trade(Trade),
}

impl Expected {
    /// The words of the settings, and what they mean.
    pub(crate) const WORDS: [(&'static str, Self); 10] = [
        ("pipe", Self::Kind(ServiceKind::Pipe)),
        ("duct", Self::Kind(ServiceKind::Duct)),
        ("cable", Self::Kind(ServiceKind::Cable)),
        ("carrier", Self::Kind(ServiceKind::Carrier)),
        ("soil", Self::Trade(Trade::Soil)),
        ("waste", Self::Trade(Trade::Waste)),
        ("gas", Self::Trade(Trade::Gas)),
        ("air", Self::Trade(Trade::Air)),
        ("heating", Self::Trade(Trade::Heating)),
        ("water", Self::Trade(Trade::Water)),
    ];

    /// The word of the settings.
    pub(crate) fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, expected)| *expected == self).map_or("", |(word, _)| word)
    }
}

#[cfg(test)]
mod tests;
