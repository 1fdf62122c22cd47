//! Reading the control directives of a string.
//!
//! They are tested from left to right in this order: `''`, `\\`, `\S\`, `\P?\`, `\X2\`, `\X4\`,
//! `\X\`, `\N\`, `\F\`. Anything else after a backslash stays as it is written: real exporters
//! write Windows paths with single backslashes.

use std::borrow::Cow;

use super::{TextFault, pages};
use crate::layout::is_ignored;

/// The text of a string, and a call for each directive that could not be followed.
pub(super) fn decode<'f>(raw: &'f [u8], fault: &mut dyn FnMut(TextFault)) -> Cow<'f, str> {
    // All bytes are looked at, so that several are at once.
    let special = raw
        .iter()
        .fold(false, |any, &byte| any | (byte == b'\\') | (byte == b'\'') | is_ignored(byte));
    match std::str::from_utf8(raw) {
        Ok(text) if !special => return Cow::Borrowed(text),
        _ => {}
    }
    let visible: Cow<'_, [u8]> = if raw.iter().any(|&byte| is_ignored(byte)) {
        raw.iter().copied().filter(|&byte| !is_ignored(byte)).collect::<Vec<u8>>().into()
    } else {
        raw.into()
    };
    let mut decoder = Decoder {
        bytes: &visible,
        at: 0,
        utf8: std::str::from_utf8(&visible).is_ok(),
        page: 1,
        text: String::with_capacity(visible.len()),
    };
    while decoder.step(fault) {}
    Cow::Owned(decoder.text)
}

struct Decoder<'r> {
    bytes: &'r [u8],
    at: usize,
    /// Whether bytes above 0x7F are UTF-8; else they are Windows-1252.
    utf8: bool,
    /// Part of ISO 8859 that `\S\` reads from.
    page: u8,
    text: String,
}

impl Decoder<'_> {
    fn rest(&self) -> &[u8] {
        self.bytes.get(self.at..).unwrap_or_default()
    }

    fn take(&mut self, length: usize, character: char) {
        self.at += length;
        self.text.push(character);
    }

    /// Reads one character or directive; false at the end.
    fn step(&mut self, fault: &mut dyn FnMut(TextFault)) -> bool {
        let at = self.at;
        let mut report = |message| fault(TextFault { at, message });
        match self.rest() {
            [] => return false,
            [b'\'', b'\'', ..] => self.take(2, '\''),
            [b'\\', b'\\', ..] => self.take(2, '\\'),
            [b'\\', b'S', b'\\', character @ 0x20..=0x7E, ..] => {
                let character = pages::character(self.page, character + 0x80);
                self.take(4, character);
            }
            [b'\\', b'P', part @ b'A'..=b'I', b'\\', ..] => {
                self.page = part - b'A' + 1;
                self.at += 4;
            }
            [b'\\', b'X', b'2', b'\\', ..] => self.wide::<4>(&mut report),
            [b'\\', b'X', b'4', b'\\', ..] => self.wide::<8>(&mut report),
            [b'\\', b'X', b'\\', high, low, ..] if hex(&[*high, *low]).is_some() => {
                let octet = hex(&[*high, *low]).and_then(|value| u8::try_from(value).ok());
                self.take(5, octet.map_or(char::REPLACEMENT_CHARACTER, char::from));
            }
            [b'\\', b'N' | b'F', b'\\', ..] => self.at += 3,
            // Kept whole, as the search for the string's end takes them.
            [b'\\', b'X', b'\\', ..] => {
                report("\\X\\ without two hexadecimal digits was kept as it is");
                self.keep(3);
            }
            [b'\\', b'X', b'0', b'\\', ..] => {
                report("\\X0\\ closes nothing; it was kept as it is");
                self.keep(4);
            }
            [b'\\', ..] => {
                report("a backslash that opens no control directive was kept as it is");
                self.take(1, '\\');
            }
            [byte @ 0x80..=0xFF, ..] if !self.utf8 => {
                let character = pages::windows_1252(*byte);
                self.take(1, character);
            }
            _ => self.plain(),
        }
        true
    }

    /// Copies text up to the next byte that may mean something. In UTF-8 text the special bytes
    /// are ASCII, so that the cut falls between characters.
    fn plain(&mut self) {
        let rest = self.rest();
        let special = |&byte: &u8| byte == b'\\' || byte == b'\'' || (byte >= 0x80 && !self.utf8);
        // The first byte is plain, or an apostrophe that stands alone.
        let length = rest.iter().skip(1).position(special).map_or(rest.len(), |next| next + 1);
        self.keep(length);
    }

    /// Copies text as it is written.
    fn keep(&mut self, length: usize) {
        let rest = self.rest();
        let copied = String::from_utf8_lossy(rest.get(..length).unwrap_or_default()).into_owned();
        self.text.push_str(&copied);
        self.at += length;
    }

    /// Reads `\X2\` (units of 4 digits) or `\X4\` (8 digits) up to `\X0\`.
    fn wide<const DIGITS: usize>(&mut self, report: &mut dyn FnMut(&'static str)) {
        self.at += 4;
        let mut units: Vec<u16> = Vec::new();
        loop {
            let rest = self.rest();
            if let Some(value) = rest.get(..DIGITS).and_then(hex) {
                self.at += DIGITS;
                if DIGITS == 4 {
                    units.push(value as u16);
                } else {
                    let character = char::from_u32(value).unwrap_or_else(|| {
                        report("\\X4\\ holds a code that is no character; it was read as U+FFFD");
                        char::REPLACEMENT_CHARACTER
                    });
                    units.extend_from_slice(character.encode_utf16(&mut [0; 2]));
                }
                continue;
            }
            if rest.starts_with(br"\X0\") {
                self.at += 4;
                // A surrogate pair may be split over two directives.
                if DIGITS == 4 && self.rest().starts_with(br"\X2\") {
                    self.at += 4;
                    continue;
                }
                break;
            }
            let digits = rest.iter().take_while(|byte| byte.is_ascii_hexdigit()).count();
            if digits > 0 {
                report("\\X2\\ or \\X4\\ ends in an incomplete code; it was read as U+FFFD");
                units.push(0xFFFD);
                self.at += digits;
                continue;
            }
            report("\\X2\\ or \\X4\\ is not closed by \\X0\\; it was closed where its digits end");
            break;
        }
        for unit in char::decode_utf16(units) {
            self.text.push(unit.unwrap_or_else(|_| {
                report("\\X2\\ holds half of a surrogate pair; it was read as U+FFFD");
                char::REPLACEMENT_CHARACTER
            }));
        }
    }
}

/// The value of up to eight hexadecimal digits of either case.
fn hex(digits: &[u8]) -> Option<u32> {
    digits.iter().try_fold(0u32, |value, &digit| {
        let digit = char::from(digit).to_digit(16)?;
        Some(value << 4 | digit)
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn read(raw: &[u8]) -> (String, usize) {
        let mut faults = 0;
        let text = decode(raw, &mut |_| faults += 1).into_owned();
        (text, faults)
    }

    #[test]
    fn directives_of_the_standard() {
        for (raw, text) in [
            (r"Don''t", "Don't"),
            (r"''''", "''"),
            (r"a\\b", r"a\b"),
            (r"\S\Drger", "Ärger"),
            (r"ends with \S\'", "ends with §"),
            (r"Coordena\S\C\S\'\S\C\S\#o", "CoordenaÃ§Ã£o"),
            (r"\PE\\S\T\PA\\S\D", "дÄ"),
            (r"\X\C4rger", "Ärger"),
            (r"\X2\041A0440\X0\!", "Кр!"),
            (r"\X4\0001F600\X0\", "\u{1F600}"),
            (r"\X2\D83DDE00\X0\", "\u{1F600}"),
            (r"\X2\D83D\X0\\X2\DE00\X0\", "\u{1F600}"),
            (r"one\N\two\F\", "onetwo"),
            (r"\S\X\S\r", "Øò"),
        ] {
            assert_eq!(read(raw.as_bytes()), (text.to_owned(), 0), "{raw}");
        }
    }

    #[test]
    fn plain_text_is_not_copied() {
        assert!(matches!(decode("Träger".as_bytes(), &mut |_| {}), Cow::Borrowed("Träger")));
    }

    #[test]
    fn a_page_lasts_to_the_end_of_its_string_only() {
        assert_eq!(read(br"\PE\x").0, "x");
        assert_eq!(read(br"\S\D").0, "Ä");
    }

    proptest! {
        #[test]
        fn arbitrary_bytes_never_panic(raw in any::<Vec<u8>>()) {
            read(&raw);
        }

        #[test]
        fn directive_soup_never_panics(
            parts in prop::collection::vec(
                prop::sample::select(vec![
                    r"\X2\", r"\X4\", r"\X0\", r"\X\", r"\S\", r"\PB\", r"\", "'", "D83D", "00E4", "ä", "g",
                    "\n", r"\N\",
                ]),
                0..12,
            )
        ) {
            read(parts.concat().as_bytes());
        }
    }
}
