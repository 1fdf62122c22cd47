//! The rows of a Part 21 file and how they are laid out in bytes.

use super::value::{Id, Value};
use std::fmt::Write as _;

/// Schemas that can be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Schema {
    /// IFC2X3 TC1
    Ifc2x3,
    /// IFC4 ADD2 TC1
    Ifc4,
    /// IFC4X3 ADD2
    Ifc4x3,
}

impl Schema {
    /// All of them, oldest first.
    pub const ALL: [Self; 3] = [Self::Ifc2x3, Self::Ifc4, Self::Ifc4x3];

    /// As FILE_SCHEMA spells it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ifc2x3 => "IFC2X3",
            Self::Ifc4 => "IFC4",
            Self::Ifc4x3 => "IFC4X3_ADD2",
        }
    }
}

/// How lines end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineEnding {
    /// `\n`
    Lf,
    /// `\r\n`
    CrLf,
    /// `\r`
    Cr,
}

/// How the same rows are laid out in bytes; none of it changes what the file says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layout {
    /// How lines end.
    pub line_ending: LineEnding,
    /// Rows in an order drawn with this seed, in place of the order of writing.
    pub shuffle: Option<u64>,
}

impl Default for Layout {
    fn default() -> Self {
        Self { line_ending: LineEnding::Lf, shuffle: None }
    }
}

/// A file being written: rows of `#id=KEYWORD(values);`, numbered from 1.
#[derive(Debug, Clone)]
pub struct File {
    name: String,
    schema: Schema,
    rows: Vec<(String, Vec<Value>)>,
}

impl File {
    /// An empty file.
    #[must_use]
    pub fn new(name: impl Into<String>, schema: Schema) -> Self {
        Self { name: name.into(), schema, rows: Vec::new() }
    }

    /// The schema that it is written in.
    #[must_use]
    pub const fn schema(&self) -> Schema {
        self.schema
    }

    /// How many rows it has.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether it has no rows.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Adds a row. The class may be spelt as the schema spells it (`IfcBeam`).
    pub fn add(&mut self, class: &str, values: Vec<Value>) -> Id {
        self.rows.push((class.to_uppercase(), values));
        Id(u32::try_from(self.rows.len()).unwrap_or(u32::MAX))
    }

    /// The file's bytes. The time in the header is fixed: the same model gives the same bytes.
    #[must_use]
    pub fn bytes(&self, layout: Layout) -> Vec<u8> {
        let end = match layout.line_ending {
            LineEnding::Lf => "\n",
            LineEnding::CrLf => "\r\n",
            LineEnding::Cr => "\r",
        };
        let mut out = String::new();
        let mut line = |text: &str| {
            out.push_str(text);
            out.push_str(end);
        };
        line("ISO-10303-21;");
        line("HEADER;");
        line("FILE_DESCRIPTION(('ViewDefinition [CoordinationView]'),'2;1');");
        let mut name = String::new();
        Value::text(self.name.as_str()).write(&mut name);
        line(&format!(
            "FILE_NAME({name},'2026-01-01T00:00:00',(''),(''),'wimble-dev','wimble-dev','');"
        ));
        line(&format!("FILE_SCHEMA(('{}'));", self.schema.name()));
        line("ENDSEC;");
        line("DATA;");
        for row in order(self.rows.len(), layout.shuffle) {
            if let Some((keyword, values)) = self.rows.get(row) {
                let mut text = String::new();
                let _ = write!(text, "#{}={keyword}", row + 1);
                Value::List(values.clone()).write(&mut text);
                text.push(';');
                line(&text);
            }
        }
        line("ENDSEC;");
        line("END-ISO-10303-21;");
        out.into_bytes()
    }
}

/// The rows' order: as written, or shuffled (Fisher–Yates) by a small generator of our own, so
/// that a seed means the same order for ever.
fn order(rows: usize, shuffle: Option<u64>) -> Vec<usize> {
    let mut order: Vec<usize> = (0..rows).collect();
    if let Some(seed) = shuffle {
        let mut state = seed;
        for last in (1..rows).rev() {
            state = split_mix(state);
            let pick = usize::try_from(state % (last as u64 + 1)).unwrap_or(0);
            order.swap(last, pick);
        }
    }
    order
}

/// One step of the SplitMix64 sequence.
const fn split_mix(state: u64) -> u64 {
    let state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mixed = (state ^ (state >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    mixed ^ (mixed >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn small() -> File {
        let mut file = File::new("small.ifc", Schema::Ifc4);
        for _ in 0..20 {
            file.add("IfcCartesianPoint", vec![Value::reals([0.0, 1.0])]);
        }
        file
    }

    #[test]
    fn a_row_is_numbered_from_one_and_written_in_capitals() {
        let text = String::from_utf8(small().bytes(Layout::default())).unwrap();
        assert!(text.contains("\n#1=IFCCARTESIANPOINT((0.,1.));\n"), "{text}");
    }

    #[test]
    fn shuffling_keeps_every_row_once() {
        let plain = small().bytes(Layout::default());
        let shuffled = small().bytes(Layout { shuffle: Some(3), ..Layout::default() });
        assert_ne!(plain, shuffled);
        let sorted = |bytes: &[u8]| {
            let text = String::from_utf8(bytes.to_vec()).unwrap();
            let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
            lines.sort();
            lines
        };
        assert_eq!(sorted(&plain), sorted(&shuffled));
    }
}
