//! Where reports go besides the terminal: `-o [WRITER:]FILE`.

use crate::exchange::{self, NewFile};
use crate::{Input, Settings};
use anyhow::{Context, Result, bail};
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use wimble_report::Report;

/// A way to write a report.
pub(crate) struct Writer {
    /// Its name before a colon.
    name: &'static str,
    /// The file ending that means it; without one it has to be named.
    ending: Option<&'static str>,
    /// What it gives, for a person.
    what: &'static str,
    way: Way,
}

/// From what a file is made.
enum Way {
    /// From the report alone.
    Report(fn(&Report, &mut dyn Write) -> io::Result<()>),
    /// From the report with the solids of members and services.
    Space(fn(&Report, &mut dyn Write) -> io::Result<()>),
    /// From the report, solids included, and the bytes of the models.
    Models(fn(&Report, &[Input<'_>], &Settings) -> Result<Vec<NewFile>>),
}

impl Writer {
    /// How a file of it is asked for.
    fn form(&self) -> String {
        match (self.ending, self.name.split_once('.')) {
            (Some(ending), _) => format!("FILE{ending}"),
            (None, Some((name, ending))) => format!("{name}:FILE.{ending}"),
            (None, None) => format!("{}:FILE", self.name),
        }
    }
}

/// All writers, by name.
const WRITERS: &[Writer] = &[
    Writer {
        name: "json",
        ending: Some(".json"),
        what: "the JSON report",
        way: Way::Report(|report, mut out| wimble_report::json::write(report, &mut out)),
    },
    Writer {
        name: "jsonl",
        ending: Some(".jsonl"),
        what: "its rows as JSON Lines",
        way: Way::Report(|report, mut out| wimble_report::jsonl::write(report, &mut out)),
    },
    Writer {
        name: "csv",
        ending: Some(".csv"),
        what: "a table of the cuts",
        way: Way::Report(|report, mut out| wimble_report::csv::write(report, &mut out)),
    },
    Writer {
        name: "sarif",
        ending: Some(".sarif"),
        what: "SARIF 2.1.0 for code hosts",
        way: Way::Report(|report, mut out| wimble_report::sarif::write(report, &mut out)),
    },
    Writer {
        name: "bcf",
        ending: Some(".bcf"),
        what: "topics for modelling tools",
        way: Way::Space(|report, mut out| wimble_report::bcf::write(report, &mut out)),
    },
    Writer {
        name: "html",
        ending: Some(".html"),
        what: "a page for the meeting: plans, drawings, what to do",
        way: Way::Report(|report, mut out| wimble_report::page::write(report, &mut out)),
    },
    Writer {
        name: "svg",
        ending: Some(".svg"),
        what: "drawings of the members that need attention",
        way: Way::Report(|report, mut out| wimble_report::drawing::write(report, &mut out)),
    },
    Writer {
        name: "marking.html",
        ending: None,
        what: "marking-out sheets to print",
        way: Way::Report(|report, mut out| wimble_report::marking::html(report, &mut out)),
    },
    Writer {
        name: "marking.csv",
        ending: None,
        what: "the same as a table",
        way: Way::Report(|report, mut out| wimble_report::marking::csv(report, &mut out)),
    },
    Writer {
        name: "plan.svg",
        ending: None,
        what: "the key plans",
        way: Way::Report(|report, mut out| wimble_report::drawing::write_plan(report, &mut out)),
    },
    Writer {
        name: "plan.png",
        ending: None,
        what: "the same as dots",
        way: Way::Report(|report, out| {
            dots(out, |svg| wimble_report::drawing::write_plan(report, svg))
        }),
    },
    Writer {
        name: "png",
        ending: Some(".png"),
        what: "the drawings as dots",
        way: Way::Report(|report, out| dots(out, |svg| wimble_report::drawing::write(report, svg))),
    },
    Writer {
        name: "junit",
        ending: None,
        what: "JUnit XML for build servers",
        way: Way::Report(|report, mut out| wimble_report::junit::write(report, &mut out)),
    },
    Writer {
        name: "record.html",
        ending: None,
        what: "a sign-off record to print",
        way: Way::Report(|report, mut out| wimble_report::record::html(report, &mut out)),
    },
    Writer {
        name: "record.json",
        ending: None,
        what: "the same as data",
        way: Way::Report(|report, mut out| wimble_report::record::json(report, &mut out)),
    },
    Writer {
        name: "summary",
        ending: None,
        what: "Markdown for a comment on a change",
        way: Way::Report(|report, mut out| wimble_report::summary_page::write(report, &mut out)),
    },
    Writer {
        name: "view",
        ending: Some(".glb"),
        what: "a glTF scene coloured by verdict, for any viewer",
        way: Way::Space(|report, mut out| wimble_report::gltf::write(report, &mut out)),
    },
    Writer {
        name: "openings",
        ending: None,
        what: "a copy of the structure with an opening for each passing cut that has none, as IFC",
        way: Way::Models(exchange::openings),
    },
    Writer {
        name: "provisions",
        ending: None,
        what: "the voids to be made, as provisions for void in an IFC file of their own",
        way: Way::Models(|report, _, _| Ok(vec![exchange::provisions(report)?])),
    },
];

/// Dots of the pictures for each unit of a drawing.
pub(crate) const SHARP: f32 = 2.0;

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
            bail!("-o {given}: {what}; write one of these: {}", known());
        };
        Ok(Self { writer, file: Path::new(file) })
    }

    /// Whether it needs the solids of members and services in the report.
    pub(crate) fn is_in_space(&self) -> bool {
        !matches!(self.writer.way, Way::Report(_))
    }

    /// Whether it says at which lines of the models things are.
    pub(crate) fn names_lines(&self) -> bool {
        self.writer.name == "sarif"
    }

    /// Whether members may be drawn in it, and so the strips under them.
    pub(crate) fn draws(&self) -> bool {
        let lists = ["json", "jsonl", "csv", "sarif", "junit", "summary", "record.json"];
        !lists.contains(&self.writer.name)
    }

    /// Whether it holds elevations, and so may be of members that are named.
    pub(crate) fn is_drawing(&self) -> bool {
        matches!(self.writer.name, "svg" | "png")
    }

    /// Writes a drawing in place of the usual one.
    pub(crate) fn draw(&self, svg: &str) -> Result<()> {
        put(self.file, |out| match self.writer.name {
            "png" => dots(out, |drawn| drawn.write_all(svg.as_bytes())),
            _ => out.write_all(svg.as_bytes()),
        })
    }

    /// Whether the cuts have to be worked out as they are marked.
    pub(crate) fn is_marking(&self) -> bool {
        self.writer.name.starts_with("marking.")
    }

    /// Writes the file, or files; gives what was left out and why.
    pub(crate) fn write(
        &self,
        report: &Report,
        inputs: &[Input<'_>],
        settings: &Settings,
    ) -> Result<Vec<String>> {
        match self.writer.way {
            Way::Report(write) | Way::Space(write) => {
                put(self.file, |out| write(report, out))?;
                Ok(Vec::new())
            }
            Way::Models(write) => {
                let mut remarks = Vec::new();
                for file in write(report, inputs, settings)? {
                    let path = self.path_of(file.of.as_deref());
                    if let Some(of) = &file.of {
                        remarks.push(format!("the copy of {of} is {}", path.display()));
                    }
                    put(&path, |out| out.write_all(&file.bytes))?;
                    remarks.extend(file.remarks);
                }
                Ok(remarks)
            }
        }
    }

    /// The path of a file of which there are several: `openings-ground.ifc` for the copy of
    /// `ground.ifc`.
    fn path_of(&self, of: Option<&str>) -> PathBuf {
        let stem = |path: &Path| path.file_stem().map(|s| s.to_string_lossy().into_owned());
        match (of, stem(self.file), of.and_then(|of| stem(Path::new(of)))) {
            (Some(_), Some(own), Some(of)) => {
                let ending = self.file.extension().unwrap_or_default().to_string_lossy();
                self.file.with_file_name(format!("{own}-{of}.{ending}"))
            }
            _ => self.file.to_path_buf(),
        }
    }
}

/// Makes a file.
fn put(path: &Path, write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<()> {
    let made = || -> io::Result<()> {
        let mut out = BufWriter::new(File::create(path)?);
        write(&mut out)?;
        out.flush()
    };
    made().with_context(|| format!("{} cannot be written", path.display()))
}

/// The writer of this name; where several share it, the one for the file's ending (`plan.svg`).
fn named(name: &str, file: &str) -> Option<&'static Writer> {
    let file = file.to_lowercase();
    WRITERS.iter().find(|writer| match writer.name.split_once('.') {
        Some((shared, ending)) => shared == name && file.ends_with(&format!(".{ending}")),
        None => writer.name == name,
    })
}

/// `FILE.json: the JSON report; …; junit:FILE: …`
fn known() -> String {
    let rows: Vec<String> = WRITERS.iter().map(|w| format!("{}: {}", w.form(), w.what)).collect();
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
        assert!(fault("report.doc").contains("FILE.json: the JSON report"));
        assert!(fault("report.doc").contains("marking:FILE.html: marking-out sheets"));
        assert!(fault("doc:report.json").contains("there is no writer `doc`"));
        assert!(fault("json:").contains("the file is missing"));
    }

    #[test]
    fn copies_of_several_files_are_told_apart_by_their_names() {
        let output = Output::parse("openings:out/new.ifc").unwrap();
        assert!(output.is_in_space());
        assert_eq!(output.path_of(None), Path::new("out/new.ifc"));
        assert_eq!(output.path_of(Some("models/ground.ifc")), Path::new("out/new-ground.ifc"));
    }

    #[test]
    fn a_writer_without_an_ending_has_to_be_named() {
        assert_eq!(Output::parse("junit:tests.xml").unwrap().writer.name, "junit");
        assert!(fault("tests.xml").contains("junit:FILE: JUnit XML"));
    }

    #[test]
    fn writers_that_share_a_name_are_told_apart_by_the_ending() {
        assert_eq!(Output::parse("plan:a.svg").unwrap().writer.name, "plan.svg");
        assert_eq!(Output::parse("plan:a.PNG").unwrap().writer.name, "plan.png");
        assert!(fault("plan:a.txt").contains("plan:FILE.svg"));
    }
}
