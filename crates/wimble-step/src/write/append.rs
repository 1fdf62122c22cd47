//! Adding instances to a file.

use rustc_hash::FxHashSet;

use super::instance::{InstanceError, NewInstance};
use crate::file::StepFile;

/// Why instances cannot be added.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AppendError {
    /// A value has no spelling in a STEP file.
    #[error("#{name} cannot be written: {source}")]
    Instance {
        /// The new instance's name.
        name: u64,
        /// What is wrong with it.
        source: InstanceError,
    },
    /// A new instance has a name that the file or another new instance uses.
    #[error("#{0} is already in use; take names above the file's largest")]
    NameTaken(u64),
    /// The file has no DATA section, or its last one is not closed.
    #[error(
        "the file's last DATA section has no ENDSEC; it was probably cut short: ask for it again"
    )]
    NoDataEnd,
    /// Damage right before the end of the file's data would hide new instances from readers.
    #[error(
        "the file is damaged right before its end, and what is added there would not be read; repair it first"
    )]
    Damaged,
    /// The file is signed (edition 3); any change makes the signature invalid.
    #[error(
        "the file is signed and would no longer match its signature; remove the SIGNATURE section first"
    )]
    Signed,
}

/// The file with instances added at the end of its last DATA section. All its own bytes stay, and
/// the new lines end as the file's do.
///
/// # Errors
/// When an instance cannot be written, its name is taken, or the file has no place for it.
pub fn append(file: &StepFile<'_>, instances: &[NewInstance]) -> Result<Vec<u8>, AppendError> {
    if file.is_signed() {
        return Err(AppendError::Signed);
    }
    let end = file.last_data_section().and_then(|data| data.end).ok_or(AppendError::NoDataEnd)?;
    let bytes = file.bytes();
    let line_end = line_end(bytes, end);
    let mut added = String::new();
    let mut names = FxHashSet::default();
    for instance in instances {
        let name = instance.name;
        if file.uses(name) || !names.insert(name) {
            return Err(AppendError::NameTaken(name));
        }
        added += &instance.to_text().map_err(|source| AppendError::Instance { name, source })?;
        added += line_end;
    }
    let (before, after) = bytes.split_at(line_start(bytes, end).min(bytes.len()));
    let longer = [before, added.as_bytes(), after].concat();
    // An open string or comment before the end would swallow what was added: read it back.
    let read = StepFile::index(&longer).is_ok_and(|longer| {
        longer.len() == file.len() + instances.len()
            && instances.iter().all(|instance| longer.find(instance.name).is_some())
    });
    if read { Ok(longer) } else { Err(AppendError::Damaged) }
}

/// The start of the line in which `at` stands, if only blanks stand between; else `at`.
fn line_start(bytes: &[u8], at: usize) -> usize {
    let before = bytes.get(..at).unwrap_or_default();
    match before.iter().rposition(|&byte| byte != b' ' && byte != b'\t') {
        Some(last) if matches!(before.get(last), Some(b'\n' | b'\r')) => last + 1,
        _ => at,
    }
}

/// How the lines of the file end, from the last line break before `at`; nothing in a file that is
/// one line.
fn line_end(bytes: &[u8], at: usize) -> &'static str {
    let before = bytes.get(..at).unwrap_or_default();
    match memchr::memrchr2(b'\n', b'\r', before) {
        None => "",
        Some(last) if before.get(last) == Some(&b'\r') => "\r",
        Some(last) => match last.checked_sub(1).and_then(|previous| before.get(previous)) {
            Some(b'\r') => "\r\n",
            _ => "\n",
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::NewValue;

    fn point(name: u64) -> NewInstance {
        NewInstance { name, keyword: "IFCP".into(), values: vec![NewValue::Real(1.0)] }
    }

    fn appended(text: &str, instances: &[NewInstance]) -> Result<String, AppendError> {
        let file = StepFile::index(text.as_bytes()).unwrap();
        append(&file, instances).map(|bytes| String::from_utf8(bytes).unwrap())
    }

    #[test]
    fn instances_go_before_the_last_endsec_and_nothing_else_changes() {
        for line in ["\n", "\r\n", "\r", ""] {
            let text = [
                "ISO-10303-21;",
                "HEADER;FILE_SCHEMA(('IFC4'));ENDSEC;",
                "DATA;",
                "#1=A('ENDSEC;');",
                "ENDSEC;",
                "DATA;",
                "#2=A('ENDSEC;');/* ENDSEC; */",
                "ENDSEC;",
                "END-ISO-10303-21;",
                "",
            ]
            .join(line);
            let new = appended(&text, &[point(3), point(4)]).unwrap();
            let added = format!("#3=IFCP(1.);{line}#4=IFCP(1.);{line}");
            assert_eq!(new.replacen(&added, "", 1), text);
            assert!(new.ends_with(&format!(
                "/* ENDSEC; */{line}{added}ENDSEC;{line}END-ISO-10303-21;{line}"
            )));
            let file = StepFile::index(new.as_bytes()).unwrap();
            assert_eq!((file.len(), file.diagnostics()), (4, [].as_slice()));
        }
    }

    #[test]
    fn an_indented_endsec_keeps_its_indent() {
        let text = "ISO-10303-21;\nDATA;\n  #1=A();\n  ENDSEC;\nEND-ISO-10303-21;";
        assert!(appended(text, &[point(2)]).unwrap().contains("\n#2=IFCP(1.);\n  ENDSEC;"));
    }

    #[test]
    fn names_in_use_are_refused() {
        let text = "ISO-10303-21;REFERENCE;#5=<a#b>;ENDSEC;DATA;#1=A();ENDSEC;END-ISO-10303-21;";
        for names in [[1, 2], [2, 2], [5, 6]] {
            assert!(matches!(appended(text, &names.map(point)), Err(AppendError::NameTaken(_))));
        }
    }

    #[test]
    fn a_file_without_a_place_is_refused() {
        let cut = "ISO-10303-21;DATA;#1=A();";
        assert_eq!(appended(cut, &[point(2)]), Err(AppendError::NoDataEnd));
        let no_end = "ISO-10303-21;DATA;#1=A();END-ISO-10303-21;";
        assert_eq!(appended(no_end, &[point(2)]), Err(AppendError::NoDataEnd));
        let signed = "ISO-10303-21;DATA;#1=A();ENDSEC;END-ISO-10303-21;\nSIGNATURE AbC+/=ENDSEC;";
        assert_eq!(appended(signed, &[point(2)]), Err(AppendError::Signed));
    }
}
