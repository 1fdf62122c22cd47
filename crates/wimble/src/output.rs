//! Where reports go besides the terminal: `-o [WRITER:]FILE`.

use anyhow::{Context, Result, bail};
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::Path;
use wimble_report::Report;

/// A way to write a report.
pub(crate) struct Writer {
    /// Its name before a colon.
    name: &'static str,
    /// The file ending that means it; without one it has to be named.
    ending: Option<&'static str>,
    /// What it gives, for a person.
    what: &'static str,
    write: fn(&Report, &mut dyn Write) -> io::Result<()>,
}

/// All writers, by name.
const WRITERS: &[Writer] = &[
    Writer {
        name: "json",
        ending: Some(".json"),
        what: "the JSON report",
        write: |report, mut out| wimble_report::json::write(report, &mut out),
    },
    Writer {
        name: "jsonl",
        ending: Some(".jsonl"),
        what: "its rows as JSON Lines",
        write: |report, mut out| wimble_report::jsonl::write(report, &mut out),
    },
    Writer {
        name: "csv",
        ending: Some(".csv"),
        what: "a table of the cuts",
        write: |report, mut out| wimble_report::csv::write(report, &mut out),
    },
    Writer {
        name: "sarif",
        ending: Some(".sarif"),
        what: "SARIF 2.1.0 for code hosts",
        write: |report, mut out| wimble_report::sarif::write(report, &mut out),
    },
    Writer {
        name: "html",
        ending: Some(".html"),
        what: "a page for the meeting: plans, drawings, what to do",
        write: |report, mut out| wimble_report::page::write(report, &mut out),
    },
    Writer {
        name: "svg",
        ending: Some(".svg"),
        what: "drawings of the members that need attention",
        write: |report, mut out| wimble_report::drawing::write(report, &mut out),
    },
    Writer {
        name: "plan.svg",
        ending: None,
        what: "the key plans",
        write: |report, mut out| wimble_report::drawing::write_plan(report, &mut out),
    },
    Writer {
        name: "plan.png",
        ending: None,
        what: "the same as dots",
        write: |report, out| dots(out, |svg| wimble_report::drawing::write_plan(report, svg)),
    },
    Writer {
        name: "png",
        ending: Some(".png"),
        what: "the drawings as dots",
        write: |report, out| dots(out, |svg| wimble_report::drawing::write(report, svg)),
    },
    Writer {
        name: "junit",
        ending: None,
        what: "JUnit XML for build servers",
        write: |report, mut out| wimble_report::junit::write(report, &mut out),
    },
    Writer {
        name: "record.html",
        ending: None,
        what: "a sign-off record to print",
        write: |report, mut out| wimble_report::record::html(report, &mut out),
    },
    Writer {
        name: "record.json",
        ending: None,
        what: "the same as data",
        write: |report, mut out| wimble_report::record::json(report, &mut out),
    },
    Writer {
        name: "summary",
        ending: None,
        what: "Markdown for a comment on a change",
        write: |report, mut out| wimble_report::summary_page::write(report, &mut out),
    },
];

/// Dots of the pictures for each unit of a drawing.
const SHARP: f32 = 2.0;

/// A drawing as PNG.
fn dots(out: &mut dyn Write, draw: impl FnOnce(&mut Vec<u8>) -> io::Result<()>) -> io::Result<()> {
    let mut svg = Vec::new();
    draw(&mut svg)?;
    let svg = String::from_utf8_lossy(&svg);
    let png = wimble_report::drawing::png(&svg, SHARP).map_err(io::Error::other)?;
    out.write_all(&png)
}

/// A file to write, and how.
pub(crate) struct Output<'a> {
    writer: &'static Writer,
    file: &'a Path,
}

impl<'a> Output<'a> {
    /// Reads `[WRITER:]FILE`.
    pub(crate) fn parse(given: &'a str) -> Result<Self> {
        let (name, file) = match given.split_once(':') {
            // One letter is a drive, not a writer.
            Some((name, file)) if name.len() > 1 && !name.contains(['/', '\\', '.']) => {
                (Some(name), file)
            }
            _ => (None, given),
        };
        if file.is_empty() {
            bail!("-o {given}: the file is missing; write for example -o report.json");
        }
        let found = match name {
            Some(name) => named(name, file),
            None => {
                let file = file.to_lowercase();
                WRITERS.iter().find(|w| w.ending.is_some_and(|ending| file.ends_with(ending)))
            }
        };
        let Some(writer) = found else {
            let what = match name {
                Some(name) => format!("there is no writer `{name}`"),
                None => "the file's ending names no writer".into(),
            };
            bail!("-o {given}: {what}; there are {}", known());
        };
        Ok(Self { writer, file: Path::new(file) })
    }

    /// Writes the report into the file.
    pub(crate) fn write(&self, report: &Report) -> Result<()> {
        let write = || -> io::Result<()> {
            let mut out = BufWriter::new(File::create(self.file)?);
            (self.writer.write)(report, &mut out)?;
            out.flush()
        };
        write().with_context(|| format!("{} cannot be written", self.file.display()))
    }
}

/// The writer of this name; where several share it, the one for the file's ending (`plan.svg`).
fn named(name: &str, file: &str) -> Option<&'static Writer> {
    let file = file.to_lowercase();
    WRITERS.iter().find(|writer| match writer.name.split_once('.') {
        Some((shared, ending)) => shared == name && file.ends_with(&format!(".{ending}")),
        None => writer.name == name,
    })
}

/// `json (.json): the JSON report; …; junit (named): …`
fn known() -> String {
    let rows: Vec<String> = WRITERS
        .iter()
        .map(|w| format!("{} ({}): {}", w.name, w.ending.unwrap_or("named"), w.what))
        .collect();
    rows.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(given: &str) -> String {
        Output::parse(given).err().map(|e| e.to_string()).unwrap_or_default()
    }

    #[test]
    fn the_ending_or_the_name_chooses_the_writer() {
        assert_eq!(Output::parse("out/report.json").unwrap().writer.name, "json");
        assert_eq!(Output::parse("a.b/REPORT.JSON").unwrap().writer.name, "json");
        let named = Output::parse("json:report.txt").unwrap();
        assert_eq!((named.writer.name, named.file), ("json", Path::new("report.txt")));
    }

    #[test]
    fn a_drive_letter_is_no_writer() {
        assert_eq!(Output::parse("C:report.json").unwrap().file, Path::new("C:report.json"));
    }

    #[test]
    fn an_unknown_writer_is_refused_with_those_there_are() {
        assert!(fault("report.doc").contains("json (.json)"));
        assert!(fault("doc:report.json").contains("there is no writer `doc`"));
        assert!(fault("json:").contains("the file is missing"));
    }

    #[test]
    fn a_writer_without_an_ending_has_to_be_named() {
        assert_eq!(Output::parse("junit:tests.xml").unwrap().writer.name, "junit");
        assert!(fault("tests.xml").contains("junit (named)"));
    }

    #[test]
    fn writers_that_share_a_name_are_told_apart_by_the_ending() {
        assert_eq!(Output::parse("plan:a.svg").unwrap().writer.name, "plan.svg");
        assert_eq!(Output::parse("plan:a.PNG").unwrap().writer.name, "plan.png");
        assert!(fault("plan:a.txt").contains("plan.svg"));
    }
}
