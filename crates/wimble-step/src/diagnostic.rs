//! What was wrong with a file, where, and what was done about it.

use std::fmt;

/// What kind of fault a [`Diagnostic`] tells of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DiagnosticKind {
    /// The file does not open with `ISO-10303-21;`.
    MissingStart,
    /// A header entry is missing, repeated or not laid out as the standard says.
    Header,
    /// Bytes above 0x7F that are not UTF-8; they are read as Windows-1252.
    NotUtf8,
    /// Two instances have the same name; the first is kept.
    DuplicateName,
    /// An instance name that is not written as `#` and digits, or does not fit in 64 bits.
    BadName,
    /// A string without its closing apostrophe.
    UnterminatedString,
    /// A comment without its closing `*/`.
    UnterminatedComment,
    /// A record without its closing `;`.
    MissingSemicolon,
    /// A statement that is neither an instance nor a section mark.
    UnknownStatement,
    /// A record that does not follow the grammar.
    MalformedRecord,
    /// Parameters nested deeper than the reader follows.
    NestingTooDeep,
    /// An instance made of several partial records (external mapping); IFC does not use it.
    ComplexInstance,
    /// A number that is infinite or not a number.
    NotFinite,
    /// A control directive in a string that could not be followed.
    Directive,
    /// An `ENDSEC;` is missing.
    MissingSectionEnd,
    /// `END-ISO-10303-21;` is missing: the file was probably cut short.
    MissingEnd,
    /// Text after `END-ISO-10303-21;`.
    TextAfterEnd,
}

/// How bad a fault is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Everything could be read; the file is not quite as the standard asks.
    Warning,
    /// Something could not be read, or only by guessing.
    Error,
}

impl DiagnosticKind {
    /// Every kind.
    pub const ALL: [Self; 17] = [
        Self::MissingStart,
        Self::Header,
        Self::NotUtf8,
        Self::DuplicateName,
        Self::BadName,
        Self::UnterminatedString,
        Self::UnterminatedComment,
        Self::MissingSemicolon,
        Self::UnknownStatement,
        Self::MalformedRecord,
        Self::NestingTooDeep,
        Self::ComplexInstance,
        Self::NotFinite,
        Self::Directive,
        Self::MissingSectionEnd,
        Self::MissingEnd,
        Self::TextAfterEnd,
    ];

    /// What is wrong, and what is done about it, for a person.
    #[must_use]
    pub const fn meaning(self) -> (&'static str, &'static str) {
        match self {
            Self::MissingStart => ("the file does not open with `ISO-10303-21;`", "read on"),
            Self::Header => {
                ("a header entry is missing, repeated or of the wrong shape", "read by its kinds")
            }
            Self::NotUtf8 => {
                ("bytes above 0x7F that are not UTF-8", "those strings are read as Windows-1252")
            }
            Self::DuplicateName => ("two instances have one name", "the first is kept"),
            Self::BadName => (
                "an instance name that is not `#` and digits, or does not fit in 64 bits",
                "read if it can be, else left out",
            ),
            Self::UnterminatedString => {
                ("a string without its closing apostrophe", "its record is lost, no other")
            }
            Self::UnterminatedComment => {
                ("a comment without its end", "its mark is stepped over, and reading goes on")
            }
            Self::MissingSemicolon => {
                ("a record without its semicolon", "it ends where the next begins")
            }
            Self::UnknownStatement => {
                ("a statement that is neither an instance nor a section mark", "stepped over")
            }
            Self::MalformedRecord => {
                ("a record that does not follow the grammar", "what cannot be read is unset")
            }
            Self::NestingTooDeep => ("lists nested without end", "that parameter is unset"),
            Self::ComplexInstance => {
                ("an instance of several partial records", "the parts are read one by one")
            }
            Self::NotFinite => ("a number that is infinite or none", "that parameter is unset"),
            Self::Directive => {
                ("a control directive in a string that cannot be followed", "kept as it stands")
            }
            Self::MissingSectionEnd => ("`ENDSEC;` is missing", "read on"),
            Self::MissingEnd => {
                ("`END-ISO-10303-21;` is missing: the file was cut short", "what is there is read")
            }
            Self::TextAfterEnd => ("text after the end", "not read"),
        }
    }

    /// How bad this kind of fault is.
    #[must_use]
    pub fn severity(self) -> Severity {
        match self {
            Self::MissingStart
            | Self::Header
            | Self::NotUtf8
            | Self::ComplexInstance
            | Self::Directive
            | Self::MissingSectionEnd
            | Self::TextAfterEnd => Severity::Warning,
            Self::DuplicateName
            | Self::BadName
            | Self::UnterminatedString
            | Self::UnterminatedComment
            | Self::MissingSemicolon
            | Self::UnknownStatement
            | Self::MalformedRecord
            | Self::NestingTooDeep
            | Self::NotFinite
            | Self::MissingEnd => Severity::Error,
        }
    }
}

/// One fault of a file: where it is, what is wrong, what was done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// Line, counted from 1; LF, CRLF and lone CR all end a line.
    pub line: u64,
    /// Byte offset from the start of the file.
    pub offset: u64,
    /// What kind of fault it is.
    pub kind: DiagnosticKind,
    /// A sentence for the user.
    pub message: String,
}

impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.message)
    }
}

/// A fault as the scanner finds it, before lines are known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Note {
    pub(crate) offset: u64,
    pub(crate) kind: DiagnosticKind,
    pub(crate) message: String,
}

impl Note {
    pub(crate) fn new(offset: usize, kind: DiagnosticKind, message: impl Into<String>) -> Self {
        Self { offset: offset as u64, kind, message: message.into() }
    }
}

/// The start of a text, short enough for a message, with control characters replaced.
pub(crate) fn excerpt(bytes: &[u8]) -> String {
    const LIMIT: usize = 40;
    let text = String::from_utf8_lossy(bytes.get(..bytes.len().min(4 * LIMIT)).unwrap_or_default());
    let mut short: String =
        text.chars().take(LIMIT).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if text.chars().nth(LIMIT).is_some() {
        short.push('…');
    }
    short
}

#[cfg(test)]
mod tests {
    use super::DiagnosticKind;

    #[test]
    fn the_list_of_kinds_is_whole() {
        for (place, kind) in DiagnosticKind::ALL.iter().enumerate() {
            assert_eq!(*kind as usize, place);
        }
        assert_eq!(DiagnosticKind::ALL.len(), DiagnosticKind::TextAfterEnd as usize + 1);
    }
}
