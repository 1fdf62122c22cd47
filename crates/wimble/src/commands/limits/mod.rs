//! `wimble limits`: what is allowed in one member, or over a range of members.

mod chart;
pub(super) mod drawing;
mod member;
pub(crate) mod page;
mod range;
pub(in crate::commands) mod table;

use super::CLEAN;
use crate::args::{self, Format};
use anyhow::{Context, Result, bail};
use member::{Asked, Case};
use serde::Serialize;
use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::Path;
use wimble_model::{Member, Section};
use wimble_rules::{Limits, limits};
use wimble_sheet::TapeUnit;

pub(super) fn run(arguments: &args::Limits) -> Result<u8> {
    let files = arguments.outputs.iter().map(|f| File::of(f)).collect::<Result<Vec<_>>>()?;
    let asked = Asked::of(arguments)?;
    let cases: Vec<Told> = asked
        .cases
        .iter()
        .map(|case| Told { case, limits: limits(&case.member, &asked.packs, &asked.rules) })
        .collect();
    for file in &files {
        file.write(&asked, &cases)?;
    }
    let mut out = BufWriter::new(io::stdout().lock());
    match arguments.format {
        Format::Json => json(&asked, &cases, &mut out)?,
        Format::Terminal => {
            let width = super::screen::page(false).width;
            let text = match cases.as_slice() {
                [one] => page::of(&asked, one, width),
                many => chart::of(&asked, many, width),
            };
            out.write_all(text.as_bytes())?;
        }
    }
    out.flush()?;
    Ok(CLEAN)
}

/// A member with its limits.
struct Told<'a> {
    case: &'a Case,
    limits: Limits,
}

impl Told<'_> {
    /// Its clear span, if it has one alone.
    fn span_mm(&self) -> Option<f64> {
        match self.case.member.spans.as_slice() {
            [one] => Some(one.length_mm()),
            _ => None,
        }
    }
}

/// A file to write.
enum File<'a> {
    Drawing(&'a Path),
    Picture(&'a Path),
    Json(&'a Path),
}

impl<'a> File<'a> {
    fn of(path: &'a Path) -> Result<Self> {
        match path.extension().and_then(|e| e.to_str()).map(str::to_lowercase).as_deref() {
            Some("svg") => Ok(Self::Drawing(path)),
            Some("png") => Ok(Self::Picture(path)),
            Some("json") => Ok(Self::Json(path)),
            _ => bail!(
                "-o {}: the limits of a member are written as .svg or .png (a drawing to scale) or .json",
                path.display()
            ),
        }
    }

    fn write(&self, asked: &Asked, cases: &[Told<'_>]) -> Result<()> {
        let (path, text) = match self {
            Self::Drawing(path) => (path, drawing::of(asked.unit, cases).into_bytes()),
            Self::Picture(path) => {
                let svg = drawing::of(asked.unit, cases);
                (path, wimble_report::drawing::png(&svg, crate::output::SHARP)?)
            }
            Self::Json(path) => {
                let mut text = Vec::new();
                json(asked, cases, &mut text)?;
                (path, text)
            }
        };
        fs::write(path, text).with_context(|| format!("{} cannot be written", path.display()))
    }
}

/// The figures that other programs read: unrounded millimetres.
#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    tool: Tool,
    packs: Vec<&'a str>,
    assumptions: &'a [String],
    members: Vec<Row<'a>>,
}

#[derive(Serialize)]
struct Tool {
    name: &'static str,
    version: &'static str,
}

#[derive(Serialize)]
struct Row<'a> {
    name: Option<&'a str>,
    guid: Option<&'a str>,
    kind: &'static str,
    section: Section,
    clear_spans_mm: Vec<f64>,
    limits: &'a Limits,
}

fn json(asked: &Asked, cases: &[Told<'_>], out: &mut impl Write) -> Result<()> {
    let members = cases.iter().map(|told| row(&told.case.member, &told.limits)).collect();
    let document = Document {
        schema: "wimble-limits/1",
        tool: Tool { name: "wimble", version: env!("CARGO_PKG_VERSION") },
        packs: asked.packs.in_force().map(wimble_rules::Pack::id).collect(),
        assumptions: &asked.assumptions,
        members,
    };
    serde_json::to_writer_pretty(&mut *out, &document).map_err(io::Error::from)?;
    writeln!(out)?;
    Ok(())
}

fn row<'a>(member: &'a Member, limits: &'a Limits) -> Row<'a> {
    let element = &member.element;
    Row {
        name: element.name.as_deref(),
        guid: Some(element.guid.as_str()).filter(|guid| !guid.is_empty()),
        kind: member.kind.word(),
        section: member.section,
        clear_spans_mm: member.spans.iter().map(wimble_model::Span::length_mm).collect(),
        limits,
    }
}

/// `47 × 220 joist, clear span 3600 mm` in the unit that was typed.
fn name_of(member: &Member, unit: TapeUnit) -> String {
    use wimble_sheet::{Rounded::Nearest, bare_tape, print_tape};
    let of = |mm: f64| bare_tape(mm, unit, Nearest);
    let size = match member.section {
        Section::Round { diameter_mm } => format!("{} round", of(diameter_mm)),
        section => format!("{} × {}", of(section.breadth_mm()), of(section.depth_mm())),
    };
    let shape = match member.section {
        Section::IJoist { .. } => " I-section",
        Section::OpenWeb { .. } => " open web",
        _ => "",
    };
    let spans: Vec<String> =
        member.spans.iter().map(|s| print_tape(s.length_mm(), unit, Nearest)).collect();
    let spans = match spans.as_slice() {
        [] => "span not known".to_owned(),
        [one] if member.kind == wimble_model::MemberKind::Stud => format!("{one} high"),
        [one] => format!("clear span {one}"),
        many => format!("clear spans {}", many.join(", ")),
    };
    let name = match member.element.guid.as_str() {
        "" => String::new(),
        _ => member.element.name.as_deref().map(|n| format!("{n}: ")).unwrap_or_default(),
    };
    format!("{name}{} {size}{shape}, {spans}", member.kind.word())
}
