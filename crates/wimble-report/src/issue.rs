//! How a report came to be: what makes it repeatable and worth keeping as evidence.

use crate::{Report, say};
use jiff::Timestamp;

/// The circumstances of one issue of a report. No clock is read here: the time is what the user
/// gave, so that the same models under the same settings give the same bytes.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Issue {
    /// When it was issued, if the user says so.
    pub time: Option<Timestamp>,
    /// What the project settled, one `key = value` each, in the order of the keys; then the
    /// options of the command line that stand over it.
    pub settings: Vec<String>,
    /// How topics of a file for modelling tools are made.
    pub topics: crate::bcf::Told,
}

impl Issue {
    /// The time as every format prints it (`2026-11-25T14:00:00Z`).
    #[must_use]
    pub fn time_text(&self) -> Option<String> {
        self.time.map(|time| time.strftime("%Y-%m-%dT%H:%M:%SZ").to_string())
    }
}

/// What a reader needs in order to make the report again, a line each: the program, the time, the
/// files with their digests, the packs with their versions, the settings.
#[must_use]
pub fn evidence(report: &Report) -> Vec<(&'static str, String)> {
    let mut lines = vec![("Made by", format!("Wimble {}", env!("CARGO_PKG_VERSION")))];
    lines.push(("Time", report.issue.time_text().unwrap_or_else(|| "not given".into())));
    for input in &report.inputs {
        let part = if input.partial { ", read only in part" } else { "" };
        let (path, schema) = (say::plain(&input.path), say::plain(&input.schema));
        lines.push(("File", format!("{path} ({schema}{part}), BLAKE3 {}", input.blake3)));
    }
    for pack in &report.packs {
        let (id, title) = (say::plain(&pack.id), say::sentence(&pack.title));
        lines.push(("Rules", format!("{id}, version {}: {title}", pack.version)));
    }
    lines.extend(report.issue.settings.iter().map(|text| ("Setting", say::sentence(text))));
    lines
}

/// The same on one line, without titles: for tables and attributes.
#[must_use]
pub fn evidence_line(report: &Report) -> String {
    let mut parts = vec![format!("Wimble {}", env!("CARGO_PKG_VERSION"))];
    parts.extend(report.issue.time_text());
    parts.extend(
        report.inputs.iter().map(|i| format!("{} blake3:{}", say::plain(&i.path), i.blake3)),
    );
    parts.extend(report.packs.iter().map(|p| format!("{}@{}", say::plain(&p.id), p.version)));
    parts.extend(report.issue.settings.iter().map(|text| say::sentence(text)));
    parts.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    #[test]
    fn the_evidence_names_program_time_files_packs_and_settings() {
        let mut report = fixture::report();
        report.issue = Issue {
            time: Timestamp::from_second(1_764_079_200).ok(),
            settings: vec!["cut.clearance = \"5 mm\"".into()],
            ..Issue::default()
        };
        let line = evidence_line(&report);
        for part in [
            "2025-11-25T14:00:00Z",
            "structure.ifc blake3:",
            "uk-solid-joist@",
            "cut.clearance = \"5 mm\"",
        ] {
            assert!(line.contains(part), "{part:?} is not in {line}");
        }
        assert_eq!(evidence(&report).len(), 2 + 2 + 1 + 1);
        assert_eq!(evidence(&fixture::report())[1].1, "not given");
    }
}
