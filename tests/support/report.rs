//! The JSON report, read back by names: what an outside reader sees of it.

use serde_json::Value;
use std::collections::BTreeMap;
use wimble::{Input, Settings};

/// A report, read from its JSON text.
pub(crate) struct Report {
    /// The text as it was printed.
    pub(crate) text: String,
    /// The whole of it.
    pub(crate) json: Value,
    /// Members by name, in the report's order.
    pub(crate) members: Vec<Member>,
    /// Cuts, in the report's order.
    pub(crate) cuts: Vec<Cut>,
}

/// A member.
#[derive(Debug, Clone)]
pub(crate) struct Member {
    /// Name.
    pub(crate) name: String,
    /// GlobalId.
    pub(crate) guid: String,
    /// Kind.
    pub(crate) kind: String,
    /// Role, if any.
    pub(crate) role: Option<String>,
    /// Shape of the section.
    pub(crate) section: String,
    /// Breadth and depth, mm.
    pub(crate) size: [f64; 2],
    /// Length, mm.
    pub(crate) length: f64,
    /// Lengths of its clear spans, mm.
    pub(crate) spans: Vec<f64>,
    /// Direction of x in the world.
    pub(crate) x: [f64; 3],
    /// What is said of it alone, and of none of its cuts.
    pub(crate) findings: Vec<Finding>,
}

/// A cut.
#[derive(Debug, Clone)]
pub(crate) struct Cut {
    /// Index of its member.
    pub(crate) member: usize,
    /// Names of the services, sorted.
    pub(crate) services: Vec<String>,
    /// How many openings it joins.
    pub(crate) openings: usize,
    /// Kind.
    pub(crate) kind: String,
    /// Edge.
    pub(crate) edge: String,
    /// Services in it.
    pub(crate) shared: u64,
    /// Least corner, mm.
    pub(crate) min: [f64; 3],
    /// Greatest corner, mm.
    pub(crate) max: [f64; 3],
    /// Level of its centre, mm.
    pub(crate) offset: f64,
    /// The tool, mm.
    pub(crate) bit: f64,
    /// To the nearer face of its span, mm.
    pub(crate) from_bearing: Option<f64>,
    /// Verdict.
    pub(crate) verdict: String,
    /// Whether a site error would break it.
    pub(crate) tight: bool,
    /// What is said of it.
    pub(crate) findings: Vec<Finding>,
}

/// A finding.
#[derive(Debug, Clone)]
pub(crate) struct Finding {
    /// Rule.
    pub(crate) rule: String,
    /// Verdict.
    pub(crate) verdict: String,
    /// Level.
    pub(crate) level: String,
    /// In words.
    pub(crate) message: String,
    /// Remedies: action and figure.
    pub(crate) remedies: Vec<(String, Option<f64>)>,
}

impl Report {
    /// The member of this name; a test's names are unique.
    #[must_use]
    pub(crate) fn member(&self, name: &str) -> Option<&Member> {
        self.members.iter().find(|member| member.name == name)
    }

    /// Cuts of the member of this name.
    pub(crate) fn cuts_of<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a Cut> {
        self.cuts.iter().filter(move |cut| self.members[cut.member].name == name)
    }

    /// Rows of the coverage table: class, status, reason, count.
    #[must_use]
    pub(crate) fn coverage(&self) -> Vec<(String, String, String, u64)> {
        let text = |row: &Value, key: &str| row[key].as_str().unwrap_or_default().to_owned();
        list(&self.json["coverage"])
            .iter()
            .map(|row| {
                let count = row["count"].as_u64().unwrap_or(0);
                (text(row, "class"), text(row, "status"), text(row, "reason"), count)
            })
            .collect()
    }
}

/// Checks models together under the settings of this text.
///
/// # Panics
/// Where the settings are refused or a model cannot be opened.
#[must_use]
pub(crate) fn check(files: &[(String, Vec<u8>)], settings: &str) -> Report {
    let settings = Settings::read("wimble.toml", settings, &|_| None)
        .unwrap_or_else(|trouble| panic!("{trouble}"));
    let inputs: Vec<Input<'_>> =
        files.iter().map(|(name, bytes)| Input::new(name.as_str(), bytes.as_slice())).collect();
    let report = wimble::check(&inputs, &settings).unwrap_or_else(|error| panic!("{error}"));
    read(&report)
}

/// Recognises models together, under the usual settings.
///
/// # Errors
/// In words, where a model cannot be opened.
pub(crate) fn inspect_all(files: &[(String, Vec<u8>)]) -> Result<Report, String> {
    let inputs: Vec<Input<'_>> =
        files.iter().map(|(name, bytes)| Input::new(name.as_str(), bytes.as_slice())).collect();
    let settings = Settings::default();
    wimble::inspect(&inputs, &settings).map(|report| read(&report)).map_err(|e| e.to_string())
}

fn read(report: &wimble_report::Report) -> Report {
    let mut bytes = Vec::new();
    wimble_report::json::write(report, &mut bytes).expect("writing to memory");
    let text = String::from_utf8(bytes).expect("JSON is UTF-8");
    let json: Value = serde_json::from_str(&text).expect("the report is JSON");
    let by_id = |key: &str| -> BTreeMap<String, usize> {
        list(&json[key]).iter().enumerate().map(|(at, row)| (words(&row["id"]), at)).collect()
    };
    let (members_by_id, services_by_id) = (by_id("members"), by_id("services"));
    let findings: BTreeMap<String, Finding> = list(&json["findings"])
        .iter()
        .map(|row| (words(&row["fingerprint"]), finding(row)))
        .collect();
    let alone = |row: &Value| -> Vec<Finding> {
        list(&json["findings"])
            .iter()
            .filter(|said| said["member"] == row["id"] && list(&said["cuts"]).is_empty())
            .map(finding)
            .collect()
    };
    let members =
        list(&json["members"]).iter().map(|row| Member { findings: alone(row), ..member(row) });
    let members = members.collect();
    let service_name = |id: &Value| {
        let at = services_by_id[&words(id)];
        words(&json["services"][at]["name"])
    };
    let cuts = list(&json["cuts"])
        .iter()
        .map(|row| {
            let mut services: Vec<String> =
                list(&row["services"]).iter().map(service_name).collect();
            services.sort();
            Cut {
                member: members_by_id[&words(&row["member"])],
                services,
                openings: list(&row["openings"]).len(),
                kind: words(&row["kind"]),
                edge: words(&row["edge"]),
                shared: row["shared"].as_u64().unwrap_or(0),
                min: ["x0_mm", "y0_mm", "z0_mm"].map(|key| number(&row[key])),
                max: ["x1_mm", "y1_mm", "z1_mm"].map(|key| number(&row[key])),
                offset: number(&row["offset_mm"]),
                bit: number(&row["bit_mm"]),
                from_bearing: row["from_bearing_mm"].as_f64(),
                verdict: words(&row["verdict"]),
                tight: row["tight"].as_bool().unwrap_or(false),
                findings: list(&row["findings"])
                    .iter()
                    .filter_map(|print| findings.get(&words(print)).cloned())
                    .collect(),
            }
        })
        .collect();
    Report { members, cuts, text, json }
}

fn member(row: &Value) -> Member {
    Member {
        name: words(&row["name"]),
        guid: words(&row["guid"]),
        kind: words(&row["kind"]),
        role: row["role"].as_str().map(str::to_owned),
        section: words(&row["section"]["shape"]),
        size: ["breadth_mm", "depth_mm"]
            .map(|key| row["section"][key].as_f64().unwrap_or(f64::NAN)),
        length: number(&row["length_mm"]),
        spans: list(&row["spans"])
            .iter()
            .map(|span| number(&span["to_mm"]) - number(&span["from_mm"]))
            .collect(),
        x: [0, 1, 2].map(|axis| number(&row["frame"]["x"][axis])),
        findings: Vec::new(),
    }
}

fn finding(row: &Value) -> Finding {
    Finding {
        rule: words(&row["rule"]),
        verdict: words(&row["verdict"]),
        level: words(&row["level"]),
        message: words(&row["message"]),
        remedies: list(&row["remedies"])
            .iter()
            .map(|remedy| {
                let figure = remedy["by_mm"].as_f64().or_else(|| remedy["to_mm"].as_f64());
                (words(&remedy["action"]), figure)
            })
            .collect(),
    }
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn words(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}
