//! `docs/reading.md` and `docs/reading-census.md`: what is read, from the code's own tables, and
//! what of it was met in the real models beside the repository.

use crate::output::{root, write_or_check};
use anyhow::{Context, Result, bail};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use wimble_ifc::{
    Census, Class, Model, SHAPE_KINDS, Schema, ShapeGroup, ZIP_LARGEST, ZIP_RATIO, ZIP_SMALL,
    is_zip, unzip,
};
use wimble_recognise::CLASS_USES;
use wimble_step::{DiagnosticKind, Severity};

const HOW: &str = "cargo run -p wimble-dev -- reading";
const SCHEMAS: [Schema; 3] = [Schema::Ifc2x3, Schema::Ifc4, Schema::Ifc4x3];

#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// Write nothing; fail when a page is stale
    #[arg(long)]
    check: bool,
    /// Where the real models of the census are; without it the census is left as it is
    #[arg(long)]
    models: Option<PathBuf>,
}

pub(crate) fn run(arguments: &Arguments) -> Result<()> {
    write_or_check("docs/reading.md", page()?.as_bytes(), arguments.check, HOW)?;
    if let Some(models) = &arguments.models {
        let census = census(&root().join(models))?;
        let how = format!("{HOW} --models {}", models.display());
        write_or_check("docs/reading-census.md", census.as_bytes(), arguments.check, &how)?;
    }
    Ok(())
}

fn page() -> Result<String> {
    let mut out =
        String::from("# What is read, and how\n\nMade from the program's own tables by `");
    write!(
        out,
        "{HOW}`; what of it was met in real models: [reading-census.md](reading-census.md).\n\n\
         ## Files\n\n\
         - `.ifc` of any size and encoding, in IFC2X3, IFC4 (with its addenda) and IFC4X3; drafts \
         between them (IFC4X1, IFC4X2, release candidates) as the schema that is nearest. Bytes \
         outside the alphabet of the standard are stepped over wherever they stand, instance names \
         may have 64 bits.\n\
         - `.ifczip` with one model in it, packed by deflate: up to {} GiB unpacked, and up to {} \
         times its packed size once it is over {} MiB.\n\
         - `-` is standard input, for either of them.\n\
         - `.ifcxml` is not read: export `.ifc`.\n\n\
         Several files make one building. They lie where their placements put them; with \
         `--align map` their map conversions decide, and without it files whose map conversions \
         differ are told. Elements are known by file and instance: a GlobalId may repeat, and that \
         it does is told. One that is missing or malformed (other than 22 characters of 0-9 A-Z a-z \
         _ $, the first 0 to 3) is told with its line, too; its element stays in and goes by the \
         text as written, or by file and place (`~1`, `~2` …) where there is none.\n\n\
         ## Faults of files\n\n\
         A *damage* makes the file one that is read in part: no cut of it passes, and the command \
         ends with 2 unless `--allow-partial` is given. A *remark* changes nothing. Both are told \
         with their line.\n\n\
         | what is wrong | what is done | |\n| --- | --- | --- |\n",
        ZIP_LARGEST >> 30,
        ZIP_RATIO,
        ZIP_SMALL >> 20,
    )?;
    for kind in DiagnosticKind::ALL {
        let (wrong, done) = kind.meaning();
        let bad = if kind.severity() == Severity::Error { "damage" } else { "remark" };
        writeln!(out, "| {wrong} | {done} | {bad} |")?;
    }
    out.push_str(
        "\n## Elements\n\nWhat a class is taken as, before shape, material, type and name are \
         looked at. A subclass is taken as its parent. Every element ends in the coverage table of \
         the report, whatever it is.\n\n| classes | taken as |\n| --- | --- |\n",
    );
    for entry in CLASS_USES {
        let classes: Vec<String> = entry.classes.iter().map(|class| format!("`{class}`")).collect();
        writeln!(out, "| {} | {} |", classes.join(" "), entry.taken_as)?;
    }
    out.push_str("| any other | something that may carry, if it has a body |\n");
    for (group, heading, note) in [
        (
            ShapeGroup::Body,
            "Bodies",
            "The representation `Body` is read, else `Body-FallBack`, else any other that holds \
             solids. The entity of an item decides, never the type text. Curved faces become \
             triangles within 0.1 mm.",
        ),
        (ShapeGroup::Profile, "Profiles", "Areas that are swept."),
        (ShapeGroup::Curve, "Curves", "Lines that things are swept along, outlines and edges."),
        (ShapeGroup::Surface, "Surfaces", "What faces lie on."),
    ] {
        write!(out, "\n## {heading}\n\n{note}\n\n| kinds | become |\n| --- | --- |\n")?;
        let mut rows: Vec<(&str, Vec<String>)> = Vec::new();
        for kind in SHAPE_KINDS.iter().filter(|kind| kind.group == group) {
            match rows.iter_mut().find(|(becomes, _)| *becomes == kind.becomes) {
                Some((_, classes)) => classes.push(format!("`{}`", kind.class)),
                None => rows.push((kind.becomes, vec![format!("`{}`", kind.class)])),
            }
        }
        for (becomes, classes) in rows {
            writeln!(out, "| {} | {becomes} |", classes.join(" "))?;
        }
        let left: Vec<String> =
            not_read(group)?.into_iter().map(|class| format!("`{class}`")).collect();
        if left.is_empty() {
            out.push_str("\nEvery kind of the three schemas is read.\n");
        } else {
            writeln!(out, "\nNot read, and named where they are met: {}.", left.join(" "))?;
        }
    }
    out.push_str(
        "\n## What is told when a shape cannot be read\n\n\
         The element stands in the coverage table as *shape not readable* with the reason, the \
         entity and its GlobalId; a service that has an axis is still followed along it, with its \
         size unknown. One unreadable item of a body does not lose the others. An element that is \
         drawn with lines only is told as such: a service takes its size from `OuterDiameter`, or \
         from width and height if it lies level, else what it would cut is `unknown`.\n",
    );
    Ok(out)
}

/// Profiles that are lines: read where a surface is swept from one.
const LINES: [&str; 2] = ["IfcArbitraryOpenProfileDef", "IfcProfileDef"];

/// Kinds of the schemas that are not in the table, by name.
fn not_read(group: ShapeGroup) -> Result<Vec<&'static str>> {
    let tops: &[&str] = match group {
        ShapeGroup::Body => &[
            "IfcSolidModel",
            "IfcBooleanResult",
            "IfcHalfSpaceSolid",
            "IfcCsgPrimitive3D",
            "IfcTessellatedFaceSet",
            "IfcFaceBasedSurfaceModel",
            "IfcShellBasedSurfaceModel",
            "IfcSectionedSpine",
        ],
        ShapeGroup::Profile => &["IfcProfileDef"],
        ShapeGroup::Curve => &["IfcCurve"],
        ShapeGroup::Surface => &["IfcSurface"],
    };
    let tops = tops
        .iter()
        .map(|name| Class::of_keyword(name).with_context(|| format!("no schema has {name}")))
        .collect::<Result<Vec<_>>>()?;
    let of_group = Class::all().filter(|class| tops.iter().any(|top| class.is_a(*top)));
    Ok(of_group
        .filter(|class| {
            SCHEMAS.iter().any(|schema| class.is_in(*schema) && !class.is_abstract_in(*schema))
        })
        .map(Class::name)
        .filter(|name| !LINES.contains(name))
        .filter(|name| SHAPE_KINDS.iter().all(|kind| kind.class != *name))
        .collect())
}

/// What one file holds.
#[derive(Default)]
struct Met {
    census: Census,
    files: usize,
    products: usize,
    items: usize,
    lines_only: usize,
    /// Reasons why items were not read, with the files.
    unread: BTreeMap<String, Vec<String>>,
}

impl Met {
    fn add(mut self, other: Self) -> Self {
        self.census.add(&other.census);
        self.files += other.files;
        self.products += other.products;
        self.items += other.items;
        self.lines_only += other.lines_only;
        for (reason, files) in other.unread {
            self.unread.entry(reason).or_default().extend(files);
        }
        self
    }
}

fn census(models: &Path) -> Result<String> {
    let files = files(models)?;
    let met = files.par_iter().map(|path| met(models, path)).collect::<Result<Vec<_>>>()?;
    let Met { census, files: opened, products, items, lines_only, unread } =
        met.into_iter().fold(Met::default(), Met::add);
    let mut out = format!(
        "# Shapes met in real models\n\n\
         Made by `{HOW} --models ../shared/models`. Of {} files {opened} are models; they hold \
         {products} products with {items} items of bodies and {lines_only} drawn with lines only. \
         Shapes that belong to no product are counted too. What each kind becomes: \
         [reading.md](reading.md).\n\n\
         | kind | met | read | not read |\n| --- | ---: | ---: | ---: |\n",
        files.len()
    );
    for (keyword, count) in &census.counts {
        let name: &str = match Class::of_keyword(keyword) {
            Some(class) => class.name(),
            None => keyword,
        };
        writeln!(
            out,
            "| `{name}` | {} | {} | {} |",
            count.read + count.unread,
            count.read,
            count.unread
        )?;
    }
    out.push_str("\nKinds that are read and were not met: ");
    let unmet: Vec<String> = SHAPE_KINDS
        .iter()
        .filter(|kind| !census.counts.contains_key(&kind.class.to_uppercase()))
        .map(|kind| format!("`{}`", kind.class))
        .collect();
    writeln!(out, "{}.", unmet.join(" "))?;
    out.push_str(
        "\n## Items that could not be read\n\n| reason | items | files |\n| --- | ---: | --- |\n",
    );
    for (reason, mut files) in unread {
        let count = files.len();
        files.sort_unstable();
        files.dedup();
        writeln!(out, "| {} | {count} | {} |", reason.replace('|', "/"), files.join(", "))?;
    }
    Ok(out)
}

fn met(models: &Path, path: &Path) -> Result<Met> {
    let name = path.strip_prefix(models).unwrap_or(path).display().to_string();
    let bytes = std::fs::read(path).with_context(|| format!("{name} cannot be read"))?;
    let bytes = if is_zip(&bytes) { unzip(&bytes)? } else { bytes };
    let mut met = Met::default();
    // Some are broken on purpose and hold nothing.
    let Ok(model) = Model::open(&bytes) else { return Ok(met) };
    met.files = 1;
    met.products = model.products().len();
    let mut bodies: Vec<_> = model.products().iter().map(|&product| model.body(product)).collect();
    if met.products == 0 {
        let keywords: Vec<String> = model.step().keywords().map(str::to_owned).collect();
        let alone = |k: &&String| {
            let solid = k.contains("SOLID") || k.contains("BREP") || k.ends_with("FACESET");
            solid && !k.contains("HALFSPACE")
        };
        for keyword in keywords.iter().filter(alone) {
            bodies.extend(model.step().rows_of(keyword).iter().map(|&row| model.shape_of(row)));
        }
    }
    for body in bodies {
        met.census.add(&body.census);
        for item in body.items {
            match item.solid {
                Ok(_) => met.items += 1,
                Err(_) if item.lines_only => met.lines_only += 1,
                Err(trouble) => {
                    met.unread
                        .entry(without_names(&trouble.reason))
                        .or_default()
                        .push(name.clone());
                }
            }
        }
    }
    Ok(met)
}

/// A reason without the numbers of instances, so that equal ones are one.
fn without_names(reason: &str) -> String {
    let mut out = String::new();
    let mut rest = reason;
    while let Some((before, after)) = rest.split_once(" #") {
        out.push_str(before);
        rest = after.trim_start_matches(|c: char| c.is_ascii_digit());
    }
    out.push_str(rest);
    out
}

fn files(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(folder) = open.pop() {
        let entries = std::fs::read_dir(&folder)
            .with_context(|| format!("{} cannot be listed", folder.display()))?;
        for entry in entries {
            let path = entry?.path();
            let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
            if path.is_dir() {
                open.push(path);
            } else if matches!(ending.as_deref(), Some("ifc" | "ifczip")) {
                found.push(path);
            }
        }
    }
    if found.is_empty() {
        bail!("{} holds no model", folder.display());
    }
    found.sort();
    Ok(found)
}
