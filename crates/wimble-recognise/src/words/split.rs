//! From a text to its words.

/// Words of a text in lower case without accents, split where letters, figures and signs change
/// and before a capital that follows a small letter. Figures that follow at most three letters at
/// once stay with them, as do letters after such figures (`c24`, `gl24h`, `hea200`).
pub(super) fn words(text: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut word = String::new();
    let mut last = None;
    for letter in text.chars() {
        if parts(&word, last, letter) && !word.is_empty() {
            words.push(std::mem::take(&mut word));
        }
        if letter.is_alphanumeric() {
            push_plain(&mut word, letter);
        }
        last = Some(letter);
    }
    if !word.is_empty() {
        words.push(word);
    }
    words
}

/// Whether a new word begins with `letter`.
fn parts(word: &str, last: Option<char>, letter: char) -> bool {
    let Some(last) = last else { return false };
    if !letter.is_alphanumeric() || !last.is_alphanumeric() || is_wide(last) != is_wide(letter) {
        return true;
    }
    let begins_with_figure = word.starts_with(|c: char| c.is_ascii_digit());
    match (last.is_ascii_digit(), letter.is_ascii_digit()) {
        (true, false) => begins_with_figure,
        (false, true) => word.chars().count() > 3 || word.chars().any(|c| c.is_ascii_digit()),
        (false, false) => last.is_lowercase() && letter.is_uppercase(),
        (true, true) => false,
    }
}

/// Whether a letter belongs to a script that sets no blanks between words.
pub(super) fn is_wide(letter: char) -> bool {
    matches!(letter, '\u{3040}'..='\u{30ff}' | '\u{3400}'..='\u{9fff}' | '\u{f900}'..='\u{faff}')
}

/// Adds a letter in lower case, without its accent.
fn push_plain(word: &mut String, letter: char) {
    for small in letter.to_lowercase() {
        let plain = match small {
            'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' | 'ą' | 'ā' => 'a',
            'è' | 'é' | 'ê' | 'ë' | 'ę' | 'ě' | 'ē' => 'e',
            'ì' | 'í' | 'î' | 'ï' | 'ī' => 'i',
            'ò' | 'ó' | 'ô' | 'õ' | 'ö' | 'ø' | 'ő' => 'o',
            'ù' | 'ú' | 'û' | 'ü' | 'ů' | 'ű' => 'u',
            'ý' | 'ÿ' => 'y',
            'ç' | 'ć' | 'č' => 'c',
            'ñ' | 'ń' | 'ň' => 'n',
            'ś' | 'š' => 's',
            'ź' | 'ż' | 'ž' => 'z',
            'ł' => 'l',
            'ř' => 'r',
            'ť' => 't',
            'ď' => 'd',
            'æ' => {
                word.push_str("ae");
                continue;
            }
            'œ' => {
                word.push_str("oe");
                continue;
            }
            'ß' => {
                word.push_str("ss");
                continue;
            }
            // What lower-casing leaves of a letter with its dot or accent apart.
            '\u{300}'..='\u{36f}' => continue,
            other => other,
        };
        word.push(plain);
    }
}

#[cfg(test)]
mod tests {
    use super::words;

    #[test]
    fn letters_figures_and_signs_part() {
        assert_eq!(
            words("CL_28_houten_balk:70x170mm"),
            ["cl", "28", "houten", "balk", "70", "x170mm"]
        );
        assert_eq!(words("FloorJoist 47 x 220"), ["floor", "joist", "47", "x", "220"]);
        assert_eq!(words("Brettschichtholz GL24h"), ["brettschichtholz", "gl24h"]);
        assert_eq!(words("HEA200/S235JR"), ["hea200", "s235jr"]);
    }

    #[test]
    fn accents_are_kept_off() {
        assert_eq!(words("Stütze Épicéa Bjælke"), ["stutze", "epicea", "bjaelke"]);
    }

    #[test]
    fn japanese_parts_from_other_letters() {
        assert_eq!(words("木梁120"), ["木梁", "120"]);
    }
}
