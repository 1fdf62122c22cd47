//! Writing text as a Part 21 string.

use std::fmt::Write as _;

/// A text as a string with its apostrophes: 0x20 to 0x7E as they are (`'` and `\` doubled), the
/// rest as `\X2\…\X0\`, which every edition of the standard reads.
///
/// ```
/// assert_eq!(wimble_step::encode_text("Ø 110 'waste'"), r"'\X2\00D8\X0\ 110 ''waste'''");
/// ```
#[must_use]
pub fn encode_text(text: &str) -> String {
    let mut encoded = String::with_capacity(text.len() + 2);
    let mut wide = false;
    encoded.push('\'');
    for character in text.chars() {
        let plain = (' '..='~').contains(&character);
        if plain == wide {
            encoded.push_str(if plain { r"\X0\" } else { r"\X2\" });
            wide = !plain;
        }
        if plain {
            encoded.push(character);
            if matches!(character, '\'' | '\\') {
                encoded.push(character);
            }
        } else {
            for unit in character.encode_utf16(&mut [0; 2]) {
                // Writing into a String cannot fail.
                let _ = write!(encoded, "{unit:04X}");
            }
        }
    }
    if wide {
        encoded.push_str(r"\X0\");
    }
    encoded.push('\'');
    encoded
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::Text;

    #[test]
    fn runs_of_wide_characters_share_one_directive() {
        assert_eq!(encode_text("梁と管"), r"'\X2\688130687BA1\X0\'");
        assert_eq!(encode_text("a\u{1F600}\nb"), r"'a\X2\D83DDE00000A\X0\b'");
        assert_eq!(encode_text(r"C:\x"), r"'C:\\x'");
        assert_eq!(encode_text(""), "''");
    }

    proptest! {
        #[test]
        fn every_text_comes_back(text in any::<String>()) {
            let encoded = encode_text(&text);
            let inner = &encoded.as_bytes()[1..encoded.len() - 1];
            prop_assert!(encoded.is_ascii());
            let decoded = Text::new(inner).decode();
            prop_assert_eq!(decoded.as_ref(), text.as_str());
        }
    }
}
