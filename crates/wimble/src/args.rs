//! The arguments of the command.

use crate::FailOn;
use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use std::path::PathBuf;

/// Checks the holes and notches that pipes, cables and ducts make in timber members of IFC models
/// against published rules. Not a structural design: local code and a licensed person decide.
#[derive(Debug, Parser)]
#[command(name = "wimble", version, max_term_width = 100)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Check every cut: exit 0 if nothing is at or over --fail-on, 1 if something is, 2 if it
    /// could not be checked
    Check(Check),
    /// Compare two JSON reports: exit 1 if something at or over --fail-on is new or worse
    Compare(Compare),
    /// Show what was recognised: members, services, supports, spans, coverage
    Inspect(Inspect),
    /// Show what is allowed in one member: zones, greatest hole and notch, what pipes fit
    Limits(Limits),
    /// One joist and its cuts without a model: asked at the prompt, or given by options
    Sheet(Sheet),
    /// List the rule packs, or explain one pack or rule with its sources
    Rules(Rules),
    /// Write a wimble.toml with every default, to change what differs
    Init(Init),
    /// Print the settings in force here
    Settings(ShowSettings),
    /// Print the JSON Schema of the report, the settings, a rule pack or a site sheet
    Schema(Schema),
    /// Print the completions for a shell
    Completions {
        /// Which shell
        shell: Shell,
    },
    /// Print the manual page of the program, or of one command
    Man {
        /// Which command
        command: Option<String>,
    },
}

/// What `check` and `inspect` have in common.
#[derive(Debug, Args)]
pub(crate) struct Models {
    /// IFC models (.ifc, .ifczip) of one building, or site sheets (.toml, .csv); - is standard
    /// input
    #[arg(required = true, value_name = "MODEL")]
    pub(crate) models: Vec<PathBuf>,
    /// Settings; without it wimble.toml beside the models
    #[arg(long, value_name = "FILE")]
    pub(crate) config: Option<PathBuf>,
    /// How the result is printed
    #[arg(long, value_enum, default_value_t = Format::Terminal)]
    pub(crate) format: Format,
    /// By what several files are put together (over the settings)
    #[arg(long, value_enum)]
    pub(crate) align: Option<Align>,
    /// Fold nothing: passes, notes and every row
    #[arg(long)]
    pub(crate) all: bool,
    /// How many threads work; 0 for one each core
    #[arg(long, default_value_t = 0, value_name = "N")]
    pub(crate) threads: usize,
}

#[derive(Debug, Args)]
pub(crate) struct Check {
    #[command(flatten)]
    pub(crate) models: Models,
    /// Also write the report to a file; the ending or the name before the colon says how
    #[arg(short, long = "output", value_name = "[WRITER:]FILE")]
    pub(crate) outputs: Vec<String>,
    /// From which verdict on the exit code is 1 (over the settings)
    #[arg(long, value_enum)]
    pub(crate) fail_on: Option<FailOn>,
    /// A member that the drawings (-o FILE.svg, -o FILE.png) show, by its GlobalId or name, with
    /// or without findings; several times for several. Without it they show those that need
    /// attention
    #[arg(long = "member", value_name = "GUID|NAME")]
    pub(crate) drawn: Vec<String>,
    /// A site sheet of cuts measured in members of the models: what is there is judged, and set
    /// beside what was planned
    #[arg(long, value_name = "SHEET")]
    pub(crate) as_built: Option<PathBuf>,
    /// Look for what would make it comply even where more than 2,000 cuts do not
    #[arg(long)]
    pub(crate) remedies: bool,
    /// Do not look for what would make it comply
    #[arg(long, conflicts_with_all = ["apply_remedies", "remedies"])]
    pub(crate) no_remedies: bool,
    /// Say of every member where there is room for another hole after all its cuts
    #[arg(long)]
    pub(crate) room: bool,
    /// Write a copy of the services model with the runs shifted as proposed, and check it
    #[arg(long, value_name = "FILE", conflicts_with = "as_built")]
    pub(crate) apply_remedies: Option<PathBuf>,
    /// Take a file that could be read only in part; its cuts are at best unknown
    #[arg(long)]
    pub(crate) allow_partial: bool,
    /// An earlier JSON report: only findings that are new or worse count for the exit code
    #[arg(long, value_name = "OLD.json")]
    pub(crate) baseline: Option<PathBuf>,
    /// When the report is issued (2026-11-25 or 2026-11-25T14:00:00Z); else SOURCE_DATE_EPOCH,
    /// else reports carry no time
    #[arg(long)]
    pub(crate) time: Option<String>,
    #[command(flatten)]
    pub(crate) topics: Topics,
}

/// How topics of a .bcf file are made (over the settings).
#[derive(Debug, Args)]
pub(crate) struct Topics {
    /// Version of the topics' format
    #[arg(long, value_name = "VERSION", value_parser = ["2.1", "3.0"])]
    pub(crate) bcf: Option<String>,
    /// What one topic holds
    #[arg(long, value_enum)]
    pub(crate) group: Option<Group>,
    /// An earlier .bcf file, whose statuses, comments and other entries of people are kept
    #[arg(long, value_name = "OLD.bcf")]
    pub(crate) update: Option<PathBuf>,
}

/// What one topic holds.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, ValueEnum, serde::Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Group {
    /// What one rule says of one run of services on one storey
    Run,
    /// What one rule says on one storey
    Storey,
    /// What one rule says
    Rule,
    /// What is said of one member
    Member,
    /// One finding
    Finding,
}

impl From<Group> for wimble_report::bcf::Group {
    fn from(group: Group) -> Self {
        match group {
            Group::Run => Self::Run,
            Group::Storey => Self::Storey,
            Group::Rule => Self::Rule,
            Group::Member => Self::Member,
            Group::Finding => Self::Finding,
        }
    }
}

#[derive(Debug, Args)]
pub(crate) struct Compare {
    /// The earlier report
    #[arg(value_name = "OLD.json")]
    pub(crate) old: PathBuf,
    /// The later report
    #[arg(value_name = "NEW.json")]
    pub(crate) new: PathBuf,
    /// How the result is printed
    #[arg(long, value_enum, default_value_t = Format::Terminal)]
    pub(crate) format: Format,
    /// From which verdict on what is new or worse makes the exit code 1
    #[arg(long, value_enum)]
    pub(crate) fail_on: Option<FailOn>,
}

#[derive(Debug, Args)]
pub(crate) struct Inspect {
    #[command(flatten)]
    pub(crate) models: Models,
}

#[derive(Debug, Args)]
pub(crate) struct Limits {
    /// Finished depth: 220, 9-1/4 in; or a range with its step: 97..245:25
    #[arg(long, value_name = "LENGTH")]
    pub(crate) depth: Option<String>,
    /// Breadth (without it 47 mm, or 1-1/2 in where inches are typed)
    #[arg(long, value_name = "LENGTH")]
    pub(crate) breadth: Option<String>,
    /// Clear span, face to face (a stud's height between plates): 3600, 3.6 m, 12' 6\"; or a
    /// range: 2000..4500:250
    #[arg(long, value_name = "LENGTH")]
    pub(crate) span: Option<String>,
    /// What the member is
    #[arg(long, value_parser = member_kind, default_value = "joist")]
    pub(crate) kind: KindOf,
    /// What it is made of
    #[arg(long, value_enum, default_value_t = MemberMake::Solid)]
    pub(crate) make: MemberMake,
    /// Depth of a flange: the member is an I-joist
    #[arg(long, value_name = "LENGTH")]
    pub(crate) flange: Option<String>,
    /// Thickness of an I-joist's web
    #[arg(long, value_name = "LENGTH", requires = "flange")]
    pub(crate) web: Option<String>,
    /// Name of the product, for a maker's table
    #[arg(long, value_name = "NAME")]
    pub(crate) product: Option<String>,
    /// A stud, post or plate that carries no load
    #[arg(long)]
    pub(crate) partition: bool,
    /// Packs by name (over the settings)
    #[arg(long, value_name = "PACK", value_delimiter = ',', conflicts_with = "region")]
    pub(crate) packs: Vec<String>,
    /// The packs of a country, by its code: GB, US
    #[arg(long, value_name = "CODE")]
    pub(crate) region: Option<String>,
    /// A member of the models instead, by its GlobalId or name
    #[arg(long, value_name = "GUID", conflicts_with_all = ["depth", "breadth", "span", "flange"])]
    pub(crate) member: Option<String>,
    /// Models that --member is in
    #[arg(value_name = "MODEL")]
    pub(crate) models: Vec<PathBuf>,
    /// Settings; without it wimble.toml here or beside the models
    #[arg(long, value_name = "FILE")]
    pub(crate) config: Option<PathBuf>,
    /// How the result is printed
    #[arg(long, value_enum, default_value_t = Format::Terminal)]
    pub(crate) format: Format,
    /// Also write a drawing to scale (.svg, .png) or the figures (.json)
    #[arg(short, long = "output", value_name = "FILE")]
    pub(crate) outputs: Vec<PathBuf>,
}

/// A kind of member that can be asked about without a model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct KindOf(pub(crate) wimble_model::MemberKind);

fn member_kind(word: &str) -> Result<KindOf, String> {
    use wimble_model::MemberKind as Kind;
    const KINDS: [Kind; 8] = [
        Kind::Joist,
        Kind::Rafter,
        Kind::Beam,
        Kind::Stud,
        Kind::Post,
        Kind::Plate,
        Kind::Rim,
        Kind::Lintel,
    ];
    let found = KINDS.into_iter().find(|kind| kind.word() == word);
    found.map(KindOf).ok_or_else(|| {
        let words = KINDS.map(Kind::word);
        format!("there is no such kind of member; there are {}", words.join(", "))
    })
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum MemberMake {
    /// Sawn timber
    Solid,
    /// Glued laminated timber
    Glulam,
    /// Laminated veneer lumber
    Lvl,
}

#[derive(Debug, Args)]
pub(crate) struct Sheet {
    /// What goes through: 22 mm copper, 40 mm waste push-fit, 1-1/2 in PVC
    #[arg(long, value_name = "NAME")]
    pub(crate) pipe: Option<String>,
    /// Finished depth of the joist: 220, 9-1/4 in
    #[arg(long, value_name = "LENGTH")]
    pub(crate) depth: Option<String>,
    /// Its breadth (without it 47 mm, or 1-1/2 in where inches are typed)
    #[arg(long, value_name = "LENGTH")]
    pub(crate) breadth: Option<String>,
    /// Clear span, face to face: 3.6 m, 12 ft
    #[arg(long, value_name = "LENGTH")]
    pub(crate) span: Option<String>,
    /// How far the pipe's middle is from a bearing face; without it the answer is where it may go
    #[arg(long, value_name = "LENGTH")]
    pub(crate) at: Option<String>,
    /// From which face
    #[arg(long, value_name = "FACE", default_value = "left", value_parser = ["left", "right"])]
    pub(crate) from: String,
    /// How high its middle is above the underside; `top` for a notch in the top (without it
    /// mid-depth)
    #[arg(long, value_name = "LENGTH", requires = "at")]
    pub(crate) level: Option<String>,
    /// Hung, double, trimmer, tank, wall across, wall along: several with commas
    #[arg(long, value_name = "WORDS")]
    pub(crate) held: Option<String>,
    /// Depth of a flange: the joist is an I-joist
    #[arg(long, value_name = "LENGTH")]
    pub(crate) flange: Option<String>,
    /// What is cut already: "hole 48 at 900", "notch 40 x 25 at 500 right" (several times)
    #[arg(long, value_name = "CUT")]
    pub(crate) existing: Vec<String>,
    /// The rules of a country, by its code: GB, US
    #[arg(long, value_name = "CODE")]
    pub(crate) region: Option<String>,
    /// Settings; without it wimble.toml here
    #[arg(long, value_name = "FILE")]
    pub(crate) config: Option<PathBuf>,
    /// Keep it as a site sheet, for wimble check
    #[arg(short, long = "output", value_name = "FILE.toml")]
    pub(crate) output: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Rules {
    /// A pack (uk-solid-joist) or a rule of one (uk-solid-joist/hole-zone)
    pub(crate) id: Option<String>,
    /// Settings whose packs are shown; without it wimble.toml here
    #[arg(long, value_name = "FILE")]
    pub(crate) config: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Init {
    /// The folder of the models
    #[arg(default_value = ".", value_name = "FOLDER")]
    pub(crate) folder: PathBuf,
    /// The rules of a country, by its code: GB, US
    #[arg(long, value_name = "CODE")]
    pub(crate) region: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct ShowSettings {
    /// The folder of the models
    #[arg(default_value = ".", value_name = "FOLDER")]
    pub(crate) folder: PathBuf,
    /// Settings; without it wimble.toml in the folder
    #[arg(long, value_name = "FILE")]
    pub(crate) config: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Schema {
    /// Of what
    #[arg(value_enum)]
    pub(crate) of: SchemaOf,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum SchemaOf {
    /// The JSON report
    Report,
    /// wimble.toml
    Settings,
    /// A rule pack
    Pack,
    /// A site sheet written as TOML
    Sheet,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For a person
    Terminal,
    /// The JSON report
    Json,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Align {
    /// Their placements
    Placement,
    /// Their map conversions
    Map,
}
