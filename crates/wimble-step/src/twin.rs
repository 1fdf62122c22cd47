//! The slow twin of the index: one byte after another, one look ahead at a time, the whole file in
//! one go. Written apart from the fast path; property tests hold the two together.

use proptest::prelude::*;

use crate::diagnostic::DiagnosticKind;
use crate::grammar;
use crate::index;
use crate::layout::clean;
use crate::scan::Ending;

/// A statement: start, end, how it ended.
type Statement = (usize, usize, Ending);

struct Twin<'a> {
    bytes: &'a [u8],
}

impl Twin<'_> {
    fn byte(&self, at: usize) -> Option<u8> {
        self.bytes.get(at).copied()
    }

    fn is(&self, at: usize, text: &str) -> bool {
        self.bytes[at.min(self.bytes.len())..].starts_with(text.as_bytes())
    }

    fn ignored(&self, at: usize) -> bool {
        self.byte(at).is_some_and(|byte| byte < 32 || byte == 127)
    }

    fn blank(&self, at: usize) -> bool {
        self.ignored(at) || self.byte(at) == Some(b' ')
    }

    fn behind_blanks(&self, mut at: usize) -> usize {
        while self.blank(at) {
            at += 1;
        }
        at
    }

    fn behind_comment(&self, at: usize) -> usize {
        let mut end = at + 2;
        while end < self.bytes.len() {
            if self.is(end, "*/") {
                return end + 2;
            }
            end += 1;
        }
        at + 2
    }

    fn statement_start(&self, mut at: usize) -> usize {
        loop {
            if self.blank(at) {
                at += 1;
            } else if self.is(at, "/*") {
                at = self.behind_comment(at);
            } else if self.is(at, r"\N\") || self.is(at, r"\F\") {
                at += 3;
            } else {
                return at;
            }
        }
    }

    fn record_at(&self, at: usize) -> bool {
        let mut digits = at + 1;
        while self.byte(digits).is_some_and(|byte| byte.is_ascii_digit()) {
            digits += 1;
        }
        let equals = self.behind_blanks(digits);
        let behind = self.byte(self.behind_blanks(equals + 1));
        self.byte(at) == Some(b'#')
            && digits > at + 1
            && self.byte(equals) == Some(b'=')
            && behind.is_some_and(|b| b.is_ascii_alphanumeric() || b"_(!".contains(&b))
    }

    fn goes_on_at(&self, at: usize) -> bool {
        let at = self.behind_blanks(at);
        self.record_at(at) || self.is(at, "ENDSEC;") || self.is(at, "END-ISO-10303-21;")
    }

    /// The `n`-th byte from `at` that is not ignored, and its place.
    fn nth(&self, at: usize, n: usize) -> Option<(u8, usize)> {
        (at..self.bytes.len()).filter(|&i| !self.ignored(i)).nth(n).map(|i| (self.bytes[i], i))
    }

    /// Number of visible bytes of the directive or character at `at`.
    fn unit(&self, at: usize) -> usize {
        let visible: Vec<u8> =
            (0..4).map_while(|n| self.nth(at, n).map(|(byte, _)| byte)).collect();
        match visible.as_slice() {
            [b'\\', b'S', b'\\'] => 3,
            [b'\\', b'S', b'\\', _]
            | [b'\\', b'P', b'A'..=b'I', b'\\']
            | [b'\\', b'X', b'0' | b'2' | b'4', b'\\'] => 4,
            [b'\\', b'X' | b'N' | b'F', b'\\', ..] => 3,
            [b'\\', b'\\', ..] => 2,
            _ => 1,
        }
    }

    /// The end of a string, or where its record has to be cut.
    fn string(&self, open: usize) -> Result<usize, Option<usize>> {
        let mut at = open + 1;
        let mut left = 0;
        while at < self.bytes.len() {
            if matches!(self.bytes[at], b'\n' | b'\r') {
                let mut before = at;
                while before > open && matches!(self.bytes[before - 1], b' ' | b'\t') {
                    before -= 1;
                }
                if before > open + 1 && self.bytes[before - 1] == b';' && self.goes_on_at(at) {
                    return Err(Some(before));
                }
            }
            if !self.ignored(at) {
                if left == 0 {
                    if self.bytes[at] == b'\'' {
                        return Ok(at + 1);
                    }
                    left = self.unit(at);
                }
                left -= 1;
            }
            at += 1;
        }
        Err(None)
    }

    fn statement_end(&self, start: usize) -> (usize, Ending) {
        let mut at = start;
        while at < self.bytes.len() {
            if self.is(at, "/*") {
                at = self.behind_comment(at);
                continue;
            }
            match self.bytes[at] {
                b';' => return (at + 1, Ending::Complete),
                b'\'' => match self.string(at) {
                    Ok(end) => at = end,
                    Err(Some(cut)) => return (cut, Ending::OpenString(at)),
                    Err(None) => {
                        let cut = (start..self.bytes.len())
                            .find(|&i| self.bytes[i] == b';' && self.goes_on_at(i + 1));
                        return match cut {
                            Some(cut) => (cut + 1, Ending::OpenString(at.min(cut + 1))),
                            None => (self.bytes.len(), Ending::EndOfFile { in_string: true }),
                        };
                    }
                },
                b'=' => {
                    let mut name = at;
                    while name > start && self.blank(name - 1) {
                        name -= 1;
                    }
                    let end = name;
                    while name > start && self.bytes[name - 1].is_ascii_digit() {
                        name -= 1;
                    }
                    if name < end && name > start + 1 && self.bytes[name - 1] == b'#' {
                        return (name - 1, Ending::NoSemicolon);
                    }
                    at += 1;
                }
                _ => at += 1,
            }
        }
        (self.bytes.len(), Ending::EndOfFile { in_string: false })
    }

    fn statements(&self) -> Vec<Statement> {
        let mut statements = Vec::new();
        let mut at = if self.is(0, "\u{FEFF}") { 3 } else { 0 };
        loop {
            let start = self.statement_start(at);
            if start >= self.bytes.len() {
                return statements;
            }
            let (end, ending) = self.statement_end(start);
            statements.push((start, end, ending));
            at = end;
        }
    }
}

/// What the index has to find, told by the twin: rows with name and keyword, other statements, how
/// statements ended that did not end well, and the first byte that is not UTF-8.
#[derive(Debug, PartialEq, Default)]
struct Found {
    rows: Vec<(usize, u64, String)>,
    marks: Vec<(usize, usize)>,
    endings: Vec<(usize, DiagnosticKind)>,
    not_utf8: Option<usize>,
}

impl Found {
    fn by_twin(bytes: &[u8]) -> Self {
        let mut found = Self::default();
        let statements = (Twin { bytes }).statements();
        let first = statements.first().map_or(bytes.len(), |&(start, ..)| start);
        found.not_utf8 =
            std::str::from_utf8(&bytes[first..]).err().map(|e| first + e.valid_up_to());
        for (start, end, ending) in statements {
            let raw = &bytes[start..end];
            match ending {
                Ending::Complete => {}
                Ending::NoSemicolon => {
                    found.endings.push((start, DiagnosticKind::MissingSemicolon));
                }
                Ending::OpenString(open) => {
                    found.endings.push((open, DiagnosticKind::UnterminatedString));
                }
                Ending::EndOfFile { .. } => found.endings.push((start, DiagnosticKind::MissingEnd)),
            }
            if raw[0] == b'#' {
                let text = clean(raw);
                if let Ok((_, head)) = grammar::head(&text)
                    && let Ok(name) = std::str::from_utf8(head.digits).unwrap().parse()
                {
                    let keyword = std::str::from_utf8(head.keyword).unwrap().to_uppercase();
                    found.rows.push((start, name, keyword));
                }
            } else if raw != b";" {
                found.marks.push((start, end));
            }
        }
        found
    }

    fn by_index(bytes: &[u8], stretch: usize) -> Self {
        let joined = index::join(bytes, stretch);
        let columns = joined.columns;
        let told = [
            DiagnosticKind::MissingSemicolon,
            DiagnosticKind::UnterminatedString,
            DiagnosticKind::MissingEnd,
        ];
        let words = columns.keywords.iter().map(|word| columns.words[word as usize].clone());
        Self {
            rows: (columns.starts.iter().zip(columns.names.iter()).zip(words))
                .map(|((start, name), word)| (start as usize, name, word))
                .collect(),
            marks: joined.marks,
            endings: (joined.notes.iter())
                .filter(|note| told.contains(&note.kind))
                .map(|note| (note.offset as usize, note.kind))
                .collect(),
            not_utf8: joined.not_utf8,
        }
    }
}

/// Holds the fast index, cut into stretches of several lengths, against the twin.
fn agree(bytes: &[u8]) -> Result<(), TestCaseError> {
    let twin = Found::by_twin(bytes);
    for stretch in [1, 7, 40, 1 << 20] {
        prop_assert_eq!(&Found::by_index(bytes, stretch), &twin, "stretch {}", stretch);
    }
    Ok(())
}

/// Pieces that make trouble next to each other.
pub(crate) fn piece() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec![
        "#1=IFCA(",
        "#2=IFCB('",
        "');",
        ");",
        ");\n",
        "'",
        "''",
        ";",
        "\n",
        "\r\n",
        "\r",
        " ",
        "/*",
        "*/",
        "/",
        "*",
        r"\S\",
        r"\X2\",
        r"\X0\",
        r"\N\",
        r"\\",
        r"\",
        "S",
        "X",
        "PA",
        "=",
        "#",
        "3",
        "#4=",
        "#5 =",
        "ENDSEC;",
        "DATA;",
        "END-ISO-10303-21;",
        "(",
        ",",
        "$",
        "é",
        "\u{FEFF}",
        "\t",
    ])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn the_index_agrees_with_its_twin_on_trouble(pieces in prop::collection::vec(piece(), 0..60)) {
        agree(pieces.concat().as_bytes())?;
    }

    #[test]
    fn the_index_agrees_with_its_twin_on_bytes(
        bytes in prop::collection::vec(
            prop_oneof![prop::sample::select(b"#1=A(';)\n /*\\SX".to_vec()), any::<u8>()],
            0..80,
        )
    ) {
        agree(&bytes)?;
    }

    #[test]
    fn the_index_agrees_with_its_twin_on_damaged_files(
        records in prop::collection::vec(0..6usize, 1..40),
        damage in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..3),
        cut in any::<prop::sample::Index>(),
    ) {
        let mut text = String::from("ISO-10303-21;\nHEADER;FILE_SCHEMA(('IFC4'));ENDSEC;\nDATA;\n");
        for (name, kind) in records.into_iter().enumerate() {
            let values = [
                "IFCA((0.,1.5E-3,-7))", "IFCB('it''s; here',$)", "IFCC(/* ; ' */#1,\n#2)",
                r"IFCD('\S\';\X2\00E4\X0\')", "IFCE('a\nb',.T.)", "IFCF()",
            ][kind];
            text += &format!("#{}= {values};\r\n", name + 1);
        }
        text += "ENDSEC;\nEND-ISO-10303-21;\n";
        let mut bytes = text.into_bytes();
        for (place, byte) in damage {
            let place = place.index(bytes.len());
            bytes[place] = byte;
        }
        if cut.index(3) == 0 {
            bytes.truncate(cut.index(bytes.len()));
        }
        agree(&bytes)?;
    }
}

/// Reads everything there is to read of a file.
fn read_all(bytes: &[u8]) {
    let Ok(file) = crate::StepFile::index(bytes) else { return };
    for row in file.rows() {
        let record = file.record(row);
        record.values().for_each(read_value);
        let _ = (file.line(row), file.raw(row), file.keyword(row), record.trouble().len());
        let _ = record.list(0).numbers().sum::<f64>();
    }
    let _ = file.keywords().map(|keyword| file.rows_of(keyword).len()).sum::<usize>();
    let _ = crate::append(&file, &[]);
    let _ = crate::patch(&file, &[]);
}

fn read_value(value: crate::Value<'_>) {
    match value {
        crate::Value::List(list) => list.iter().for_each(read_value),
        crate::Value::Typed(typed) => typed.values().iter().for_each(read_value),
        crate::Value::Text(text) => {
            let _ = (text.decode(), text.faults());
        }
        _ => {}
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn nothing_panics_on_trouble(
        pieces in prop::collection::vec(
            prop_oneof![piece(), Just("#1=A("), Just(".5E"), Just("1.#INF"), Just("\"0F"), Just("B(")],
            0..60,
        )
    ) {
        read_all(&[b"ISO-10303-21;", pieces.concat().as_bytes()].concat());
        read_all(format!("#1=A({});", pieces.concat()).as_bytes());
    }

    #[test]
    fn nothing_panics_on_bytes(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        read_all(&[b"#1=A(", bytes.as_slice(), b");"].concat());
        read_all(&bytes);
    }

    #[test]
    fn an_added_record_leaves_any_file_readable(
        pieces in prop::collection::vec(piece(), 0..30)
    ) {
        let text = format!("ISO-10303-21;DATA;{}ENDSEC;END-ISO-10303-21;", pieces.concat());
        let file = crate::StepFile::index(text.as_bytes()).unwrap();
        let new = crate::NewInstance { name: file.largest_name() + 1, keyword: "NEW".into(), values: vec![] };
        if let Ok(bytes) = crate::append(&file, std::slice::from_ref(&new)) {
            let longer = crate::StepFile::index(&bytes).unwrap();
            prop_assert_eq!(longer.len(), file.len() + 1);
            prop_assert!(longer.find(new.name).is_some_and(|row| longer.keyword(row) == "NEW"));
        }
    }
}
