//! Finding where statements end, whatever stands in them.
//!
//! A statement is everything up to a `;` outside strings and comments. The ends of most are told
//! ahead by [`PlainEnds`](crate::plain_ends::PlainEnds); here is the closer look at the others.
//! Everything here depends on the bytes and a start only, so that a statement read again later ends
//! where it ended first, and a scan that starts at a true statement start agrees with every other.

use memchr::{memchr3, memmem};

use crate::escapes::Follower;
use crate::layout::{is_keyword_byte, is_layout, print_directive, skip_layout};

/// How far ahead comments are looked for at once: small enough to stay in the nearest cache.
const WINDOW: usize = 4 * 1024;

/// How a statement ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ending {
    /// By its `;`.
    Complete,
    /// Another record begins inside: a `;` is missing.
    NoSemicolon,
    /// A string opened at this offset and never closed; the record was cut at a `;` inside.
    OpenString(usize),
    /// The file ended first; inside a string if this is true.
    EndOfFile {
        /// Whether a string was open.
        in_string: bool,
    },
}

/// Reads statements of one file, one after another.
#[derive(Debug, Clone)]
pub(crate) struct Scanner<'a> {
    bytes: &'a [u8],
    /// No comment opens in `seen..clear`.
    seen: usize,
    clear: usize,
    /// A comment opens exactly at `clear`.
    comment: bool,
    /// Where a comment that nothing closes was found: none behind it closes either.
    unclosed: Option<usize>,
}

impl<'a> Scanner<'a> {
    /// A scanner that reads on from `from`.
    pub(crate) fn new(bytes: &'a [u8], from: usize) -> Self {
        Self { bytes, seen: from, clear: from, comment: false, unclosed: None }
    }

    /// The first comment mark that nothing closes, if one was met.
    pub(crate) fn unclosed_comment(&self) -> Option<usize> {
        self.unclosed
    }

    /// Where the text after `at` is free of comments up to, and whether one opens there.
    fn clear_until(&mut self, at: usize) -> (usize, bool) {
        if at < self.seen || at > self.clear || (at == self.clear && !self.comment) {
            let end = self.bytes.len().min(at + WINDOW);
            // One byte more, for a mark that lies across the window's end.
            let window = self.bytes.get(at..self.bytes.len().min(end + 1)).unwrap_or_default();
            self.seen = at;
            (self.clear, self.comment) =
                comment_mark(window).map_or((end, false), |found| (at + found, true));
        }
        (self.clear, self.comment)
    }

    /// The end of the comment that opens at `at`. Without an end the mark itself is stepped over,
    /// so that nothing behind it is lost.
    fn comment_end(&mut self, at: usize) -> usize {
        if self.unclosed.is_none_or(|unclosed| at < unclosed) {
            let inside = self.bytes.get(at + 2..).unwrap_or_default();
            if let Some(close) = memmem::find(inside, b"*/") {
                return at + close + 4;
            }
            self.unclosed = Some(at);
        }
        at + 2
    }

    /// The start of the next statement at or after `at`: behind layout, comments, print directives.
    #[inline]
    pub(crate) fn statement_start(&mut self, at: usize) -> usize {
        // Nearly all records start right behind the line break.
        match self.bytes.get(at..) {
            Some([b'\n', b'#', ..]) => at + 1,
            Some([b'\r', b'\n', b'#', ..]) => at + 2,
            _ => self.far_statement_start(at),
        }
    }

    fn far_statement_start(&mut self, mut at: usize) -> usize {
        loop {
            at = skip_layout(self.bytes, at);
            match self.bytes.get(at) {
                Some(b'/') if self.bytes.get(at + 1) == Some(&b'*') => {
                    at = self.comment_end(at);
                }
                Some(b'\\') => match print_directive(self.bytes.get(at..).unwrap_or_default()) {
                    0 => return at,
                    length => at += length,
                },
                _ => return at,
            }
        }
    }

    /// The end of the statement that starts at `start`, read on from `from` (behind its head, or
    /// `start` itself).
    pub(crate) fn statement_end(&mut self, start: usize, from: usize) -> (usize, Ending) {
        let mut at = from;
        loop {
            let (clear, comment) = self.clear_until(at);
            let text = self.bytes.get(at..clear).unwrap_or_default();
            let Some(found) = memchr3(b';', b'\'', b'=', text) else {
                if comment {
                    at = self.comment_end(clear);
                } else if clear >= self.bytes.len() {
                    return (self.bytes.len(), Ending::EndOfFile { in_string: false });
                } else {
                    at = clear;
                }
                continue;
            };
            at += found;
            match self.bytes.get(at) {
                Some(b';') => return (at + 1, Ending::Complete),
                Some(b'=') => {
                    if let Some(inside) = name_before(self.bytes, start, at) {
                        return (inside, Ending::NoSemicolon);
                    }
                    at += 1;
                }
                _ => match string_end(self.bytes, at) {
                    StringEnd::Closed(end) => at = end,
                    StringEnd::CutAt(end) => return (end, Ending::OpenString(at)),
                    StringEnd::EndOfFile => return self.end_of_file_in_string(start, at),
                },
            }
        }
    }

    /// A string runs to the end of the file. When the whole file stands on one line, no line break
    /// told where to stop: cut at the first `;` that a record follows.
    fn end_of_file_in_string(&self, start: usize, open: usize) -> (usize, Ending) {
        let mut at = start;
        while let Some(found) =
            memchr::memchr(b';', self.bytes.get(at..).unwrap_or_default()).map(|found| at + found)
        {
            at = found + 1;
            if section_or_record_at(self.bytes, skip_layout(self.bytes, at)) {
                return (at, Ending::OpenString(open.min(at)));
            }
        }
        (self.bytes.len(), Ending::EndOfFile { in_string: true })
    }
}

/// The first `/*` in a text. Asterisks are rare: most texts need no closer look.
fn comment_mark(text: &[u8]) -> Option<usize> {
    let asterisk = memchr::memchr(b'*', text)?;
    let from = asterisk.saturating_sub(1);
    memmem::find(text.get(from..)?, b"/*").map(|found| from + found)
}

/// How a string ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum StringEnd {
    /// The offset behind its apostrophe.
    Closed(usize),
    /// It does not: the record ends at this offset, behind a `;` in it.
    CutAt(usize),
    EndOfFile,
}

/// The end of the string that opens at `open`.
fn string_end(bytes: &[u8], open: usize) -> StringEnd {
    let mut at = open + 1;
    let mut follower = Follower::new(open + 1);
    loop {
        let Some(found) = memchr3(b'\'', b'\n', b'\r', bytes.get(at..).unwrap_or_default()) else {
            return StringEnd::EndOfFile;
        };
        at += found;
        if bytes.get(at) == Some(&b'\'') {
            if follower.ends_at(bytes, at) {
                return StringEnd::Closed(at + 1);
            }
        } else if let Some(cut) = unterminated(bytes, open, at) {
            return StringEnd::CutAt(cut);
        }
        at += 1;
    }
}

/// Whether the line break at `at`, inside the string that opened at `open`, stands between a `;`
/// and the next record. Then the string was never closed; gives the offset behind the `;`.
fn unterminated(bytes: &[u8], open: usize, at: usize) -> Option<usize> {
    let line = bytes.get(open..at).unwrap_or_default();
    let trimmed = line.iter().rposition(|&byte| byte != b' ' && byte != b'\t')?;
    if line.get(trimmed) != Some(&b';') {
        return None;
    }
    section_or_record_at(bytes, skip_layout(bytes, at)).then_some(open + trimmed + 1)
}

/// Whether `#n=`, `ENDSEC;` or `END-ISO-10303-21;` stands at `at`.
fn section_or_record_at(bytes: &[u8], at: usize) -> bool {
    let rest = bytes.get(at..).unwrap_or_default();
    record_at(bytes, at) || rest.starts_with(b"ENDSEC;") || rest.starts_with(b"END-ISO-10303-21;")
}

/// Whether `#n=` and something like a record stands at `at`.
pub(crate) fn record_at(bytes: &[u8], at: usize) -> bool {
    let Some(rest) = bytes.get(at..).and_then(|rest| rest.strip_prefix(b"#")) else {
        return false;
    };
    let digits = rest.iter().take_while(|byte| byte.is_ascii_digit()).count();
    let equals = skip_layout(rest, digits);
    let after = skip_layout(rest, equals + 1);
    digits > 0
        && rest.get(equals) == Some(&b'=')
        && rest.get(after).is_some_and(|&byte| is_keyword_byte(byte) || matches!(byte, b'(' | b'!'))
}

/// The start of `#n` right before the `=` at `equals`, if it lies behind `start`.
fn name_before(bytes: &[u8], start: usize, equals: usize) -> Option<usize> {
    let text = bytes.get(start..equals).unwrap_or_default();
    let name = text.iter().rposition(|&byte| !is_layout(byte))?;
    let mark = text.get(..=name)?.iter().rposition(|byte| !byte.is_ascii_digit())?;
    (mark > 0 && mark < name && text.get(mark) == Some(&b'#')).then_some(start + mark)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn statements(text: &str) -> Vec<(&str, Ending)> {
        let bytes = text.as_bytes();
        let mut scanner = Scanner::new(bytes, 0);
        let mut found = Vec::new();
        let mut start = scanner.statement_start(0);
        while start < bytes.len() {
            let (end, ending) = scanner.statement_end(start, start);
            found.push((&text[start..end], ending));
            start = scanner.statement_start(end);
        }
        found
    }

    #[test]
    fn semicolons_in_strings_and_comments_do_not_count() {
        assert_eq!(
            statements("#1=A('a;b''c;');/* d;' */ #2=B(/*;*/$); ENDSEC;"),
            [
                ("#1=A('a;b''c;');", Ending::Complete),
                ("#2=B(/*;*/$);", Ending::Complete),
                ("ENDSEC;", Ending::Complete),
            ]
        );
    }

    #[test]
    fn comment_marks_in_strings_do_not_count() {
        assert_eq!(statements("#1=A('/*');#2=B('*/');").len(), 2);
        assert_eq!(statements("/*C:\\TEMP*/#2=B('*/');").len(), 1);
    }

    #[test]
    fn a_shifted_apostrophe_does_not_end_the_string() {
        assert_eq!(statements("#1=A('x\\S\\';');#2=B();").len(), 2);
        assert_eq!(statements("#1=A('C:\\x\\');#2=B();").len(), 2);
    }

    #[test]
    fn an_open_string_is_cut_before_the_next_record() {
        assert_eq!(
            statements("#1=A('x);\n#2=B('y');\n"),
            [("#1=A('x);", Ending::OpenString(5)), ("#2=B('y');", Ending::Complete)]
        );
        assert_eq!(
            statements("#1=A('x);#2=B('y');#3=C();"),
            [
                ("#1=A('x);", Ending::OpenString(9)),
                ("#2=B('y');", Ending::Complete),
                ("#3=C();", Ending::Complete)
            ]
        );
    }

    #[test]
    fn a_line_break_in_a_string_is_not_enough_to_cut() {
        assert_eq!(statements("#1=A('x;\ny','z\n;');#2=B();").len(), 2);
    }

    #[test]
    fn a_missing_semicolon_is_noticed_by_the_next_name() {
        assert_eq!(
            statements("#1=A()\n#2=B();"),
            [("#1=A()\n", Ending::NoSemicolon), ("#2=B();", Ending::Complete)]
        );
    }

    #[test]
    fn an_open_comment_hides_nothing() {
        assert_eq!(statements("#1=A();/* #2=B();#3=C();").len(), 3);
    }

    #[test]
    fn comments_across_the_window_are_seen() {
        for pad in WINDOW - 4..WINDOW + 4 {
            let text = format!("#1=A(\"{}\"/*;*/);#2=B();", "0".repeat(pad - 7));
            assert_eq!(statements(&text).len(), 2, "{pad}");
        }
    }
}
