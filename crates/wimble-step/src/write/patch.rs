//! Exchanging single records of a file.

use crate::file::{Row, StepFile};
use crate::grammar;
use crate::layout::{clean, is_layout};

/// Why records cannot be exchanged.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PatchError {
    /// The new text is not one complete record.
    #[error("the new text of #{0} is not one record from # to ;")]
    NotARecord(u64),
    /// The new record has another name than the old one.
    #[error("the new text of #{old} has the name #{new}")]
    OtherName {
        /// Name of the record in the file.
        old: u64,
        /// Name in the new text.
        new: String,
    },
    /// A record is to be exchanged twice.
    #[error("#{0} is to be exchanged twice")]
    Twice(u64),
    /// The file is signed (edition 3); any change makes the signature invalid.
    #[error(
        "the file is signed and would no longer match its signature; remove the SIGNATURE section first"
    )]
    Signed,
}

/// The file with the records of some rows exchanged for others of the same names, every other byte
/// as it was. The order of the exchanges makes no difference.
///
/// # Errors
/// When a new text is not one record of the old one's name, a row comes twice, or the file is
/// signed.
pub fn patch(file: &StepFile<'_>, records: &[(Row, &[u8])]) -> Result<Vec<u8>, PatchError> {
    if file.is_signed() {
        return Err(PatchError::Signed);
    }
    let mut records = records.to_vec();
    records.sort_by_key(|&(row, _)| row);
    let bytes = file.bytes();
    let mut patched = Vec::with_capacity(bytes.len());
    let mut copied = 0;
    let mut last = None;
    for (row, text) in records {
        let name = file.name(row);
        if last == Some(row) {
            return Err(PatchError::Twice(name));
        }
        last = Some(row);
        check(name, text)?;
        let start = file.start(row);
        // A record that lacks its `;` reaches to the next one: leave the line break between.
        let old = file.raw(row);
        let length = old.iter().rposition(|&byte| !is_layout(byte)).map_or(0, |end| end + 1);
        patched.extend_from_slice(bytes.get(copied..start).unwrap_or_default());
        patched.extend_from_slice(text);
        copied = start + length;
    }
    patched.extend_from_slice(bytes.get(copied..).unwrap_or_default());
    Ok(patched)
}

/// Whether a text is one record of this name.
fn check(name: u64, text: &[u8]) -> Result<(), PatchError> {
    let text = clean(text);
    let complete = matches!(
        grammar::instance(&text, &mut grammar::Spans::new()),
        Ok((rest, ())) if rest.is_empty()
    );
    let Ok((_, head)) = grammar::head(&text) else {
        return Err(PatchError::NotARecord(name));
    };
    let digits = String::from_utf8_lossy(head.digits);
    if digits.parse() != Ok(name) {
        return Err(PatchError::OtherName { old: name, new: digits.into_owned() });
    }
    if complete { Ok(()) } else { Err(PatchError::NotARecord(name)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "ISO-10303-21;DATA;\r\n#3=A(1);\r\n#1=B('#3=A(1);'); /* #3=A(1); */\r\n\
                        #2=C()\r\n#4=A();\r\nENDSEC;END-ISO-10303-21;";

    fn patched(records: &[(u64, &str)]) -> Result<String, PatchError> {
        let file = StepFile::index(TEXT.as_bytes()).unwrap();
        let records: Vec<(Row, &[u8])> = records
            .iter()
            .map(|&(name, text)| (file.find(name).unwrap(), text.as_bytes()))
            .collect();
        patch(&file, &records).map(|bytes| String::from_utf8(bytes).unwrap())
    }

    #[test]
    fn only_the_records_change() {
        assert_eq!(patched(&[]).as_deref(), Ok(TEXT));
        assert_eq!(
            patched(&[(2, "#2=C(7);"), (3, "#3=A(22);")]),
            Ok(TEXT.replacen("#3=A(1);", "#3=A(22);", 1).replace("#2=C()", "#2=C(7);"))
        );
    }

    #[test]
    fn a_text_that_is_not_the_record_is_refused() {
        let other = PatchError::OtherName { old: 1, new: "2".into() };
        assert_eq!(patched(&[(1, "#2=B();")]), Err(other));
        for text in ["", "#1=B()", "#1=B();#9=A();", "B();", "#1=B('x);"] {
            assert_eq!(patched(&[(1, text)]), Err(PatchError::NotARecord(1)), "{text}");
        }
        assert_eq!(patched(&[(1, "#1=B();"), (1, "#1=B();")]), Err(PatchError::Twice(1)));
    }
}
