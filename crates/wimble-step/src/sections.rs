//! The sections of the file, from the statements that are no instances.

use std::ops::Range;

use crate::diagnostic::{DiagnosticKind, Note, excerpt};
use crate::layout::{self, clean};

/// A DATA section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct DataSection {
    /// Offset behind `DATA;`.
    pub(crate) start: usize,
    /// Offset of its `ENDSEC;`, if it has one.
    pub(crate) end: Option<usize>,
}

/// Where the sections of a file lie.
#[derive(Debug, Default)]
pub(crate) struct Sections {
    /// Whether the file opens with `ISO-10303-21;`.
    pub(crate) opened: bool,
    /// Header entries: start and end.
    pub(crate) header: Vec<(usize, usize)>,
    pub(crate) data: Vec<DataSection>,
    /// Edition 3: whether the file is signed.
    pub(crate) signed: bool,
    /// Where statements that open with `#` are no instances of this file.
    pub(crate) foreign: Vec<Range<usize>>,
    /// Offset behind `END-ISO-10303-21;`, else the end of the file.
    pub(crate) end: usize,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    /// Before the first section, and between sections.
    Between,
    Header,
    Data,
    /// Edition 3: ANCHOR, or REFERENCE with its names of instances in other files.
    Foreign(usize),
    Signature,
}

impl Sections {
    /// Sorts the statements that are no instances (`marks`: start and end, in file order).
    pub(crate) fn new(bytes: &[u8], marks: &[(usize, usize)], notes: &mut Vec<Note>) -> Self {
        let mut sections = Self { end: bytes.len(), ..Self::default() };
        let mut place = Place::Between;
        let mut ended = false;
        for &(start, end) in marks {
            let raw = bytes.get(start..end).unwrap_or_default();
            let next = match word(raw).as_str() {
                "ISO-10303-21" => {
                    sections.opened = true;
                    place
                }
                "HEADER" => sections.enter(Place::Header, place, start, notes),
                "DATA" => {
                    let place = sections.enter(Place::Data, place, start, notes);
                    sections.data.push(DataSection { start: end, end: None });
                    place
                }
                "ANCHOR" | "REFERENCE" => {
                    sections.enter(Place::Foreign(start), place, start, notes)
                }
                "SIGNATURE" => {
                    sections.signed = true;
                    sections.enter(Place::Signature, place, start, notes)
                }
                "ENDSEC" => {
                    sections.leave(place, start);
                    Place::Between
                }
                "END-ISO-10303-21" => {
                    sections.enter(Place::Between, place, start, notes);
                    sections.end = end;
                    ended = true;
                    break;
                }
                _ => {
                    match place {
                        Place::Header => sections.header.push((start, end)),
                        Place::Foreign(_) | Place::Signature => {}
                        Place::Between | Place::Data => notes.push(unknown(raw, start)),
                    }
                    place
                }
            };
            place = next;
        }
        if ended {
            sections.read_behind_end(bytes, notes);
        } else {
            sections.close_foreign(place, bytes.len());
            notes.push(Note::new(
                bytes.len(),
                DiagnosticKind::MissingEnd,
                "END-ISO-10303-21; is missing: the file was probably cut short; what is there was \
                 read, but ask for the file again",
            ));
        }
        sections
    }

    /// Goes from one section to the next; notes it when the first was not closed.
    fn enter(&mut self, to: Place, from: Place, at: usize, notes: &mut Vec<Note>) -> Place {
        if from != Place::Between {
            notes.push(Note::new(
                at,
                DiagnosticKind::MissingSectionEnd,
                "the section before this has no ENDSEC; it was ended here",
            ));
            self.close_foreign(from, at);
        }
        to
    }

    fn leave(&mut self, place: Place, at: usize) {
        if let (Place::Data, Some(section)) = (place, self.data.last_mut()) {
            section.end = Some(at);
        }
        self.close_foreign(place, at);
    }

    /// Signatures of edition 3 stand behind the end; other text there is not read.
    fn read_behind_end(&mut self, bytes: &[u8], notes: &mut Vec<Note>) {
        let rest = bytes.get(self.end..).unwrap_or_default();
        let gap = layout::gap(rest);
        let rest = rest.get(gap..).unwrap_or_default();
        if rest.starts_with(b"SIGNATURE") {
            self.signed = true;
        } else if !rest.is_empty() {
            let message = format!(
                "{} bytes stand after END-ISO-10303-21; they were not read. If they are a second \
                 file, save it on its own",
                rest.len()
            );
            notes.push(Note::new(self.end + gap, DiagnosticKind::TextAfterEnd, message));
        }
    }

    fn close_foreign(&mut self, place: Place, at: usize) {
        if let Place::Foreign(start) = place {
            self.foreign.push(start..at);
        }
    }
}

/// The leading word of a statement that is no instance, in capitals: `DATA` of `DATA ('x',('y'));`.
fn word(raw: &[u8]) -> String {
    let clean = clean(raw.get(..raw.len().min(256)).unwrap_or_default());
    clean
        .iter()
        .take_while(|&&byte| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_'))
        .map(|&byte| char::from(byte.to_ascii_uppercase()))
        .collect()
}

fn unknown(raw: &[u8], start: usize) -> Note {
    Note::new(
        start,
        DiagnosticKind::UnknownStatement,
        format!("\"{}\" is neither an instance nor a section; it was skipped", excerpt(raw)),
    )
}
