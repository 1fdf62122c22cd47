//! The vocabulary, ready to be asked.

use super::split::{is_wide, words};
use super::{Topic, Topics};
use rustc_hash::{FxHashMap, FxHashSet};
use std::cell::RefCell;
use std::sync::LazyLock;

static LEXICON: LazyLock<Lexicon> =
    LazyLock::new(|| Lexicon::read(include_str!("vocabulary.toml")).unwrap_or_default());

thread_local! {
    static KNOWN: RefCell<Known> = RefCell::default();
}

/// What a thread has asked before: real models say the same few thousand times.
#[derive(Default)]
struct Known {
    /// By texts without their numbers.
    topics: FxHashMap<Box<str>, Topics>,
    /// The text that is asked about, without its numbers.
    asked: String,
}

/// Texts that are kept at most.
const KEPT: usize = 1 << 16;

/// What a text speaks of.
pub(crate) fn topics(text: &str) -> Topics {
    if text.is_empty() {
        return Topics::NONE;
    }
    KNOWN.with_borrow_mut(|Known { topics, asked }| {
        LEXICON.unnumbered(text, asked);
        if let Some(known) = topics.get(asked.as_str()) {
            return *known;
        }
        let found = LEXICON.look_up(&words(asked));
        if topics.len() < KEPT {
            topics.insert(asked.as_str().into(), found);
        }
        found
    })
}

/// Words and what they speak of.
#[derive(Default)]
struct Lexicon {
    whole: FxHashMap<String, Topics>,
    beginnings: FxHashMap<String, Topics>,
    endings: FxHashMap<String, Topics>,
    /// Both ends open, and words of scripts without blanks.
    within: Vec<(String, Topics)>,
    /// Words side by side, under the first of them; the last may end in `*`.
    phrases: FxHashMap<String, Vec<(Vec<String>, Topics)>>,
    /// Runs of figures in these words: other runs say nothing …
    figures: FxHashSet<String>,
    /// … but where a beginning ends with figures (`gl24*`), what follows may be more of them. The
    /// letter before the run, and the run.
    beginning_figures: Vec<(char, String)>,
}

impl Lexicon {
    /// Reads a vocabulary.
    ///
    /// # Errors
    /// In words, when it is not TOML, or a list belongs to no topic.
    fn read(text: &str) -> Result<Self, String> {
        #[derive(serde::Deserialize)]
        struct File {
            topic: std::collections::BTreeMap<String, Vec<String>>,
        }
        let file: File = toml::from_str(text).map_err(|e| e.to_string())?;
        let mut lexicon = Self::default();
        for (name, patterns) in file.topic {
            let topic = Topic::named(&name).ok_or_else(|| format!("no topic `{name}`"))?;
            for pattern in patterns {
                lexicon.add(&pattern, Topics::NONE.with(topic));
            }
        }
        Ok(lexicon)
    }

    fn add(&mut self, pattern: &str, topics: Topics) {
        let put = |map: &mut FxHashMap<String, Topics>, word: String| {
            let entry = map.entry(word).or_default();
            *entry = entry.or(topics);
        };
        let open_front = pattern.starts_with('*');
        let open_back = pattern.ends_with('*');
        let core = pattern.trim_matches('*');
        let runs = core.split(|c: char| !c.is_ascii_digit()).filter(|run| !run.is_empty());
        self.figures.extend(runs.map(str::to_owned));
        let (letters, run) =
            core.split_at(core.trim_end_matches(|c: char| c.is_ascii_digit()).len());
        if let (true, false, Some(letter)) = (open_back, run.is_empty(), letters.chars().last()) {
            self.beginning_figures.push((letter, run.to_owned()));
        }
        if core.contains('#') {
            put(&mut self.whole, core.to_owned());
            return;
        }
        let mut parts = words(core);
        let Some(first) = parts.first().cloned() else { return };
        if first.chars().any(is_wide) || (open_front && open_back) {
            self.within.push((first, topics));
        } else if parts.len() > 1 {
            if let (true, Some(last)) = (open_back, parts.last_mut()) {
                last.push('*');
            }
            self.phrases.entry(first).or_default().push((parts, topics));
        } else if open_front {
            put(&mut self.endings, first);
        } else if open_back {
            put(&mut self.beginnings, first);
        } else {
            put(&mut self.whole, first);
        }
    }

    /// Whether a run of figures behind a letter may make a word of the vocabulary.
    fn may_speak(&self, before: Option<char>, run: &str) -> bool {
        let begins = |(letter, start): &(char, String)| {
            let same = |c: char| !c.is_ascii() || c.eq_ignore_ascii_case(letter);
            before.is_some_and(same) && run.starts_with(start.as_str())
        };
        self.figures.contains(run) || self.beginning_figures.iter().any(begins)
    }

    /// A text with every run of figures that no word of the vocabulary holds as `0`: elements are
    /// numbered one by one, and what their names say is looked up once.
    fn unnumbered(&self, text: &str, plain: &mut String) {
        plain.clear();
        let mut rest = text;
        while let Some(start) = rest.bytes().position(|byte| byte.is_ascii_digit()) {
            let (before, from) = rest.split_at(start);
            let figures = from.bytes().take_while(u8::is_ascii_digit).count();
            let (run, after) = from.split_at(figures);
            plain.push_str(before);
            let speaks = self.may_speak(before.chars().next_back(), run);
            plain.push_str(if speaks { run } else { "0" });
            rest = after;
        }
        plain.push_str(rest);
    }

    fn look_up(&self, words: &[String]) -> Topics {
        words.iter().enumerate().fold(Topics::NONE, |found, (at, word)| {
            found.or(self.word(word)).or(self.phrase(&words[at..]))
        })
    }

    fn word(&self, word: &str) -> Topics {
        let mut found = self.whole.get(word).copied().unwrap_or_default();
        if word.contains(|c: char| c.is_ascii_digit()) {
            found = found.or(self.whole.get(&masked(word)).copied().unwrap_or_default());
        }
        for (at, letter) in word.char_indices() {
            let after = at + letter.len_utf8();
            if let Some(&topics) = self.beginnings.get(&word[..after]) {
                found = found.or(topics);
            }
            if let Some(&topics) = self.endings.get(&word[at..]) {
                found = found.or(topics);
            }
        }
        for (inner, topics) in &self.within {
            if word.contains(inner.as_str()) {
                found = found.or(*topics);
            }
        }
        found
    }

    fn phrase(&self, words: &[String]) -> Topics {
        let Some(phrases) = words.first().and_then(|first| self.phrases.get(first)) else {
            return Topics::NONE;
        };
        let fits = |parts: &[String]| {
            parts.len() <= words.len()
                && parts.iter().zip(words).all(|(part, word)| match part.strip_suffix('*') {
                    Some(beginning) => word.starts_with(beginning),
                    None => part == word,
                })
        };
        phrases
            .iter()
            .filter(|(parts, _)| fits(parts))
            .fold(Topics::NONE, |found, (_, topics)| found.or(*topics))
    }
}

/// A word with every run of figures as one `#`: `he220b` is `he#b`.
fn masked(word: &str) -> String {
    let mut masked = String::new();
    for letter in word.chars() {
        if !letter.is_ascii_digit() {
            masked.push(letter);
        } else if !masked.ends_with('#') {
            masked.push('#');
        }
    }
    masked
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn says(text: &str) -> Topics {
        topics(text)
    }

    #[test]
    fn the_vocabulary_is_read_whole() {
        assert!(Lexicon::read(include_str!("vocabulary.toml")).is_ok());
    }

    #[test]
    fn timber_is_known_in_every_language() {
        for text in [
            "Softwood",
            "Nadelholz C24",
            "Bois massif",
            "hout",
            "TIMBER/HARDHOUT",
            "Legno lamellare",
            "Madera laminada",
            "Madeira",
            "Konstruktionstræ",
            "Limtre GL30c",
            "Konstruktionsvirke",
            "Sahatavara",
            "Drewno lite",
            "Dřevo",
            "木材",
            "wood_spruce_beam",
            "Wood - Dimensional Lumber",
        ] {
            assert!(says(text).has_any(&[Topic::Timber, Topic::Species]), "{text}");
        }
    }

    #[test]
    fn joists_are_known_in_every_language() {
        for text in [
            "Floor joist",
            "Deckenbalken",
            "Solive",
            "vloerbalk",
            "Travetto",
            "Vigueta",
            "Barrote",
            "bjelkelag",
            "golvbjälke",
            "lattiapalkki",
            "Belka stropowa",
            "stropní trám",
            "根太",
        ] {
            assert!(says(text).has(Topic::Joist), "{text}");
        }
    }

    #[test]
    fn steel_is_known_by_material_grade_and_profile() {
        for text in [
            "staal",
            "S235JR",
            "HEA200",
            "CL_28_stalen_balk_HEB:HE220B",
            "UB203x133x25",
            "Stahlträger IPE 240",
        ] {
            assert!(says(text).has(Topic::Steel), "{text}");
        }
        assert!(!says("CL_28_houten_balk_vuren_en_grenen_ongeschaafd:70x170mm").has(Topic::Steel));
    }

    #[test]
    fn words_are_not_found_inside_other_words() {
        assert!(!says("Reference centre").has(Topic::Timber));
        assert!(!says("Company").has(Topic::Pipe));
    }

    #[test]
    fn numbers_are_left_out_and_grades_are_not() {
        let plain = |text| {
            let mut plain = String::new();
            LEXICON.unnumbered(text, &mut plain);
            plain
        };
        assert_eq!(plain("Joist:47x221:242797"), "Joist:0x0:0");
        assert_eq!(plain("J-000123 C24"), "J-0 C24");
        assert_eq!(plain("S235 2100f"), "S235 2100f");
        assert_eq!(plain("J51234"), "J0");
    }

    /// Figures that patterns begin or end with where they are open would be found inside longer
    /// runs.
    #[test]
    fn open_ends_of_patterns_are_no_figures() {
        let lexicon = &*LEXICON;
        let figure = |c: char| c.is_ascii_digit();
        assert!(!lexicon.endings.keys().any(|word| word.starts_with(figure)));
        assert!(!lexicon.beginnings.keys().any(|word| word.chars().all(figure)));
        assert!(!lexicon.within.iter().any(|(word, _)| word.contains(figure)));
    }

    proptest! {
        #[test]
        fn texts_say_the_same_without_their_numbers(
            text in r"[ ]?(J|joist|C|GL|S|balk|木|x|f|fe|a)?[0-9]{0,5}([ :x/-]|h|f|cm|JR)?(C|he|d|beam|2100)?[0-9]{0,4}(f|b|[+])?[0-9]{0,3}"
        ) {
            let slow = LEXICON.look_up(&words(&text));
            prop_assert_eq!(topics(&text), slow, "{}", text);
        }
    }

    #[test]
    fn concrete_grades_are_not_timber_grades() {
        assert!(says("beton_C20/25").has(Topic::Concrete));
        assert!(!says("beton_C20/25").has(Topic::Grade));
        assert!(says("C24").has(Topic::Grade));
    }
}
