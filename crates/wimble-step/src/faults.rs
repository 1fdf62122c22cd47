//! What real exporters get wrong, and what a user sees: one test for each fault known.

use crate::{DiagnosticKind, Record, StepFile, Value};

/// A file around the given records.
fn file_of(records: &[u8]) -> Vec<u8> {
    let head = b"ISO-10303-21;\nHEADER;\nFILE_SCHEMA(('IFC4'));\nENDSEC;\nDATA;\n";
    [head, records, b"\nENDSEC;\nEND-ISO-10303-21;\n"].concat()
}

/// A value as a reader of the file understands it.
fn shown(value: Value<'_>) -> String {
    match value {
        Value::Unset => "unset".into(),
        Value::Derived => "derived".into(),
        Value::Integer(value) => value.to_string(),
        Value::Real(value) => format!("{value:?}"),
        Value::Text(text) => format!("\"{}\"", text.decode()),
        Value::Enumeration(name) => name.into(),
        Value::Reference(name) => format!("#{name}"),
        Value::Binary(digits) => format!("binary {}", String::from_utf8_lossy(digits)),
        Value::Typed(typed) => {
            let values: Vec<String> = typed.values().iter().map(shown).collect();
            format!("{} {}", typed.keyword(), values.join(" "))
        }
        Value::List(list) => {
            let values: Vec<String> = list.iter().map(shown).collect();
            format!("[{}]", values.join(" "))
        }
    }
}

fn values(record: &Record<'_>) -> String {
    record.values().map(shown).collect::<Vec<_>>().join(" ")
}

/// All messages a user gets about a file: of the file, of its records, of their texts.
fn messages(file: &StepFile<'_>) -> Vec<String> {
    let mut messages: Vec<String> = file.diagnostics().iter().map(ToString::to_string).collect();
    for row in file.rows() {
        let record = file.record(row);
        messages.extend(record.trouble().iter().map(ToString::to_string));
        for value in record.values() {
            if let Value::Text(text) = value {
                messages.extend(text.faults().iter().map(|fault| fault.message.to_owned()));
            }
        }
    }
    messages
}

/// Checks one record: how its values read, and the messages that come with it.
#[track_caller]
fn reads(record: impl AsRef<[u8]>, expected: &str, told: &[&str]) {
    let bytes = file_of(record.as_ref());
    let file = StepFile::index(&bytes).unwrap();
    let row = file.rows().next().unwrap();
    assert_eq!(values(&file.record(row)), expected);
    let messages = messages(&file);
    assert_eq!(messages.len(), told.len(), "{messages:?}");
    for (message, told) in messages.iter().zip(told) {
        assert!(message.contains(told), "{message:?} lacks {told:?}");
    }
}

/// Checks several records: name and values of each.
#[track_caller]
fn file_reads(bytes: &[u8], expected: &[&str], told: &[&str]) {
    let file = StepFile::index(bytes).unwrap();
    let rows: Vec<String> = file
        .rows()
        .map(|row| format!("#{} {}", file.name(row), values(&file.record(row))))
        .collect();
    assert_eq!(rows, expected);
    let messages = messages(&file);
    assert_eq!(messages.len(), told.len(), "{messages:?}");
    for (message, told) in messages.iter().zip(told) {
        assert!(message.contains(told), "{message:?} lacks {told:?}");
    }
}

#[test]
fn raw_windows_1252_bytes_are_read_and_told_once() {
    reads(
        b"#1=A('\xD8 110 \x96 Tr\xE4ger');\n#2=A('\xE4');",
        "\"Ø 110 – Träger\"",
        &["line 6: the file holds bytes that are not UTF-8"],
    );
}

#[test]
fn raw_utf_8_is_read_without_a_word() {
    reads("#1=A('梁 Ø');", "\"梁 Ø\"", &[]);
}

#[test]
fn one_bad_string_does_not_spoil_the_utf_8_of_others() {
    let bytes = file_of(b"#1=A('\xC3\x98');\n#2=A('\xD8');");
    file_reads(&bytes, &["#1 \"Ø\"", "#2 \"Ø\""], &["line 7: the file holds bytes"]);
}

#[test]
fn a_byte_order_mark_is_skipped() {
    let bytes = [b"\xEF\xBB\xBF".as_slice(), &file_of(b"#1=A();")].concat();
    file_reads(&bytes, &["#1 "], &[]);
}

#[test]
fn a_windows_path_with_single_backslashes_stays_as_it_is() {
    let kept = "a backslash that opens no control directive";
    reads(r"#1=A('C:\Users\me',$);", r#""C:\Users\me" unset"#, &[kept, kept]);
    reads(r"#1=A('C:\Temp\',1);", r#""C:\Temp\" 1"#, &[kept, kept]);
}

#[test]
fn a_doubled_backslash_before_x2_is_a_backslash() {
    reads(
        r"#1=A('file\\X2\00D8\X0\.x');",
        r#""file\X2\00D8\X0\.x""#,
        &["a backslash that opens no", "closes nothing"],
    );
}

#[test]
fn octets_in_an_unclosed_x_directive_do_not_swallow_the_rest() {
    reads(
        r"#1=A('\X\C3\X96sterreich',5);",
        r#""Ã\X96sterreich" 5"#,
        &["a backslash that opens no control directive"],
    );
}

#[test]
fn half_a_surrogate_pair_is_a_replacement_character() {
    reads(r"#1=A('\X2\D800\X0\x');", "\"\u{FFFD}x\"", &["half of a surrogate pair"]);
}

#[test]
fn lower_case_hexadecimal_and_empty_directives_are_read() {
    reads(r"#1=A('\X2\00e4\X0\','a\X2\\X0\b\X4\\X0\c');", r#""ä" "abc""#, &[]);
}

#[test]
fn a_shifted_apostrophe_is_a_paragraph_sign() {
    reads(r"#1=A('\S\'',$);", r#""§" unset"#, &[]);
    reads(r"#1=A('\S\X\S\r');", r#""Øò""#, &[]);
}

#[test]
fn reals_without_dot_with_small_e_or_a_dot_too_many_are_read() {
    reads(
        "#1=A((1e-05,1E-05,1.3E+14.,3,.5,-.5,+1.,1.D-2));",
        "[1e-5 1e-5 130000000000000.0 3 0.5 -0.5 1.0 0.01]",
        &[],
    );
}

#[test]
fn numbers_that_are_none_are_unset_and_told() {
    reads(
        "#1=A((-1.#INF,-1.#IND),2.);",
        "unset 2.0",
        &["line 6: parameter 1 of #1 (\"(-1.#INF,-1.#IND)\") holds a number that is infinite"],
    );
    reads("#1=A(1.E999,nan);", "unset unset", &["infinite", "cannot be read"]);
}

#[test]
fn line_breaks_may_stand_anywhere_even_in_a_token() {
    reads(
        "#1=\r\nA\n(1.\r5,\n'a\r\nb',#1\n2,.NOT\nDEFINED.,X\nY('c'));",
        "1.5 \"ab\" #12 NOTDEFINED XY \"c\"",
        &[],
    );
    reads("#1=A(12\n34,'it'\n's');", "1234 \"it's\"", &[]);
    file_reads(&file_of(b"#1\n2=IFC\nWALL(1);"), &["#12 1"], &[]);
}

#[test]
fn comments_and_print_directives_may_stand_between_tokens() {
    reads(r"#1 /* ' ; */ = A\N\( /**/ 1 /* , */ ,'a\F\b' );", "1 \"ab\"", &[]);
}

#[test]
fn a_reference_without_brackets_is_a_list_of_one() {
    let bytes = file_of(b"#1=A(#2,$,IFCB(3.),(#4,#5));");
    let file = StepFile::index(&bytes).unwrap();
    let record = file.record(file.find(1).unwrap());
    let lists: Vec<Vec<String>> =
        (0..5).map(|place| record.list(place).iter().map(shown).collect()).collect();
    assert_eq!(lists, [vec!["#2"], vec![], vec!["3.0"], vec!["#4", "#5"], vec![]]);
}

#[test]
fn trailing_and_doubled_commas_and_empty_lists_are_read() {
    reads("#1=A((#1,),(),((),()),$,);", "[#1] [] [[] []] unset", &[]);
    reads("#1=A(1,,2);", "1 unset 2", &["parameter 2 of #1 is left out"]);
    reads("#1=A(,2);", "unset 2", &["parameter 1 of #1 is left out"]);
    reads("#1=A((1,,2));", "[1 unset 2]", &[]);
    reads("#1=A(#1,'Body','',$);", "#1 \"Body\" \"\" unset", &[]);
}

#[test]
fn an_x2_directive_left_open_is_closed_where_its_digits_end() {
    reads(r"#1=A('\X2\00E4',7);", r#""ä" 7"#, &["is not closed by \\X0\\"]);
    reads(r"#1=A('\X2\00E4\X2\00F6\X0\',7);", r#""äö" 7"#, &["is not closed by \\X0\\"]);
}

#[test]
fn a_header_of_the_wrong_shape_is_read_by_its_kinds() {
    let text = "ISO-10303-21;HEADER;FILE_DESCRIPTION($,$);\
                FILE_NAME('n',('me'),('us'),'pre','system');\
                FILE_SCHEMA('IFC2X3');ENDSEC;DATA;ENDSEC;END-ISO-10303-21;";
    let file = StepFile::index(text.as_bytes()).unwrap();
    let header = file.header();
    assert_eq!((header.name.as_str(), header.time_stamp.as_str()), ("n", ""));
    assert_eq!(
        (header.authors.as_slice(), header.organisations.as_slice()),
        (["me".to_owned()].as_slice(), ["us".to_owned()].as_slice())
    );
    assert_eq!(
        (header.preprocessor.as_str(), header.originating_system.as_str()),
        ("pre", "system")
    );
    assert_eq!(header.schemas, ["IFC2X3"]);
    let told: Vec<String> = file.diagnostics().iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        ["line 1: FILE_NAME has 5 parameters instead of 7; they were read by their kind"]
    );
}

#[test]
fn unset_parameters_in_the_header_do_not_shift_the_others() {
    let text = "ISO-10303-21;HEADER;FILE_NAME($,'2026-01-01',$,$,$,'system',$);\
                FILE_SCHEMA(('IFC4 { 1 0 10303 }','X'));ENDSEC;DATA;ENDSEC;END-ISO-10303-21;";
    let file = StepFile::index(text.as_bytes()).unwrap();
    let header = file.header();
    assert_eq!((header.name.as_str(), header.time_stamp.as_str()), ("", "2026-01-01"));
    assert_eq!((header.preprocessor.as_str(), header.originating_system.as_str()), ("", "system"));
    assert_eq!(header.schemas, ["IFC4", "X"]);
    assert!(file.diagnostics().is_empty());
}

#[test]
fn of_two_instances_with_one_name_the_first_is_kept_and_both_places_told() {
    let bytes = file_of(b"#1=A(1);\n#2=B();\n#1=C(2);\n#3=D();");
    file_reads(
        &bytes,
        &["#1 1", "#2 ", "#3 "],
        &["line 8: #1 stands twice in the file, at bytes 59 and 76; the first is kept"],
    );
    let file = StepFile::index(&bytes).unwrap();
    assert!(file.rows_of("C").is_empty());
    assert_eq!(file.find(3).map(|row| file.keyword(row)), Some("D"));
}

#[test]
fn a_plus_in_a_name_is_read_and_told() {
    reads("#+29=A(#+29);", "#29", &["the name is written #+29; it was read as #29"]);
}

#[test]
fn a_reference_to_a_missing_instance_finds_nothing() {
    let bytes = file_of(b"#1=A(#99);");
    let file = StepFile::index(&bytes).unwrap();
    let name = file.record(file.find(1).unwrap()).get(0).reference();
    assert_eq!(name, Some(99));
    assert_eq!(name.and_then(|name| file.find(name)), None);
}

#[test]
fn the_file_keeps_the_trouble_of_the_records_that_were_read() {
    let bytes = file_of(b"#1=A(1,,2);\n#2=B(3);\n#3=C(x y);\n#4=D(z w);");
    let file = StepFile::index(&bytes).unwrap();
    assert!(file.record_diagnostics().is_empty());
    // In any order, and twice.
    for name in [3, 1, 2, 3] {
        let _ = file.record(file.find(name).unwrap());
    }
    let told: Vec<String> = file.record_diagnostics().iter().map(ToString::to_string).collect();
    assert_eq!(told.len(), 2, "{told:?}");
    assert!(told[0].starts_with("line 6: parameter 2 of #1"), "{told:?}");
    assert!(told[1].starts_with("line 8: parameter 1 of #3"), "{told:?}");
}

#[test]
fn an_unterminated_string_loses_its_record_only() {
    let told = "has no closing apostrophe";
    file_reads(
        &file_of(b"#1=A(1,'open,$);\n#2=B('x','y');\n#3=C('z');"),
        &["#1 1 unset", "#2 \"x\" \"y\"", "#3 \"z\""],
        &[
            "line 6: a string in \"#1=A\" has no closing apostrophe",
            told,
            "ends inside parameter 3",
        ],
    );
    // The last record of the section.
    file_reads(
        &file_of(b"#1=A('x');\n#2=B('open);"),
        &["#1 \"x\"", "#2 unset"],
        &["line 7: a string in \"#2=B\"", told, "ends inside parameter 2"],
    );
}

#[test]
fn an_unterminated_string_in_a_file_of_one_line_loses_its_record_only() {
    let text =
        b"ISO-10303-21;HEADER;FILE_SCHEMA(('IFC4'));ENDSEC;DATA;#1=A('open);#2=B('x');#3=C();\
                 ENDSEC;END-ISO-10303-21;";
    let file = StepFile::index(text).unwrap();
    let names: Vec<u64> = file.rows().map(|row| file.name(row)).collect();
    assert_eq!(names, [1, 2, 3]);
    assert_eq!(file.diagnostics()[0].kind, DiagnosticKind::UnterminatedString);
}

#[test]
fn a_file_cut_short_gives_what_is_there() {
    let whole = file_of(b"#1=A('x');\n#2=B((1.,2.),'y');");
    let text = String::from_utf8(whole).unwrap();
    let cut = text.split_once(",'y'").unwrap().0;
    let file = StepFile::index(cut.as_bytes()).unwrap();
    assert_eq!(file.len(), 2);
    let last = file.record(file.find(2).unwrap());
    assert_eq!(values(&last), "[1.0 2.0]");
    let told: Vec<DiagnosticKind> = file.diagnostics().iter().map(|d| d.kind).collect();
    assert_eq!(told, [DiagnosticKind::MissingEnd, DiagnosticKind::MissingEnd]);
    assert_eq!(last.trouble()[0].to_string(), "line 7: #2 ends inside parameter 2");
}

#[test]
fn missing_section_ends_are_told() {
    let text = "ISO-10303-21;\nHEADER;\nFILE_SCHEMA(('IFC4'));\nDATA;\n#1=A();\nEND-ISO-10303-21;";
    let file = StepFile::index(text.as_bytes()).unwrap();
    let told: Vec<(u64, DiagnosticKind)> =
        file.diagnostics().iter().map(|d| (d.line, d.kind)).collect();
    let missing = DiagnosticKind::MissingSectionEnd;
    assert_eq!(told, [(4, missing), (6, missing)]);
    assert_eq!((file.len(), file.header().schemas.len()), (1, 1));
}

#[test]
fn a_missing_semicolon_loses_nothing() {
    file_reads(
        &file_of(b"#1=A(1)\n#2=B(2);"),
        &["#1 1", "#2 2"],
        &["line 6: \"#1=A\" has no ; before the next record", "line 6: #1 has no ; at its end"],
    );
}

#[test]
fn rubbish_between_records_is_told_and_stepped_over() {
    file_reads(
        &file_of(b"#1=A(1);\n** rubbish **\n#2=B(2);\nIFCWALL(3);;\n#=C();\n#3=D(4);"),
        &["#1 1", "#2 2", "#3 4"],
        &[
            "line 7: \"** rubbish **",
            "line 7: \"** rubbish ** \" is neither an instance nor a section; it was skipped",
            "line 9: \"IFCWALL(3);\" is neither",
            "line 10: \"#=C();\" is not an instance",
        ],
    );
}

#[test]
fn a_parameter_that_cannot_be_read_is_unset_and_the_others_stay() {
    reads(
        "#1=A(1,?!,(2,%),'x' 'y',3);",
        "1 unset unset unset 3",
        &["parameter 2 of #1 (\"?!\") cannot be read", "parameter 3", "parameter 4"],
    );
    reads("#1=A(1)2;", "1", &["#1 is followed by \"2;\" instead of ;"]);
    reads("#1=A;", "", &["#1 has no parameters in brackets"]);
}

#[test]
fn brackets_nested_without_end_are_refused_without_harm() {
    let deep = format!("#1=A({}{},7);", "(".repeat(100_000), ")".repeat(100_000));
    reads(deep, "unset 7", &["is nested too deep"]);
}

#[test]
fn a_complex_instance_gives_its_parts_and_is_told() {
    reads(
        "#1=(A(1,2)B('x')C());",
        "A 1 2 B \"x\" C ",
        &["#1 is made of several partial records", "#1 is made of 3 partial records"],
    );
}

#[test]
fn names_of_any_size_are_read() {
    file_reads(
        &file_of(b"#92147483647=A(#18446744073709551615);\n#18446744073709551615=B();\n#18446744073709551616=C();\n#007=D();"),
        &["#92147483647 #18446744073709551615", "#18446744073709551615 ", "#7 "],
        &["line 8: the name #18446744073709551616 does not fit in 64 bits"],
    );
}

#[test]
fn sections_of_edition_3_are_stepped_over() {
    let text = b"ISO-10303-21;HEADER;FILE_SCHEMA(('IFC4'));ENDSEC;\n\
        ANCHOR;<a>=#1 {t:'x'};ENDSEC;REFERENCE;#7=<b.ifc#c>;ENDSEC;\n\
        DATA('one',('IFC4'));#1=A();ENDSEC;DATA;#2=B();ENDSEC;\nEND-ISO-10303-21;\n\
        SIGNATURE\nabc+/=;\nENDSEC;";
    file_reads(text, &["#1 ", "#2 "], &[]);
}

#[test]
fn text_after_the_end_is_told_and_not_read() {
    let bytes = [file_of(b"#1=A();"), file_of(b"#2=A();")].concat();
    file_reads(&bytes, &["#1 "], &["line 9: 93 bytes stand after END-ISO-10303-21"]);
}

#[test]
fn every_line_end_is_good() {
    for line in ["\n", "\r\n", "\r", ""] {
        let text =
            String::from_utf8(file_of(b"#1=A('x');\n#2=B('y');")).unwrap().replace('\n', line);
        let file = StepFile::index(text.as_bytes()).unwrap();
        let second = file.find(2).unwrap();
        assert_eq!(file.line(second), if line.is_empty() { 1 } else { 7 });
        assert_eq!((file.len(), messages(&file)), (2, vec![]));
    }
}

#[test]
fn lower_case_keywords_are_the_same_keywords() {
    let bytes = file_of(b"#1=IfcWall();\n#2=IFCWALL();\n#3=ifcwall();");
    let file = StepFile::index(&bytes).unwrap();
    assert_eq!(file.rows_of("IFCWALL").len(), 3);
    assert_eq!(file.keywords().collect::<Vec<_>>(), ["IFCWALL"]);
}

#[test]
fn many_faults_of_one_kind_are_summed_up() {
    let bytes = file_of("#1=A();\n".repeat(1000).as_bytes());
    let file = StepFile::index(&bytes).unwrap();
    assert_eq!(file.diagnostics().len(), 101);
    let last = file.diagnostics().last().unwrap();
    assert_eq!(last.to_string(), "line 1005: 899 more faults of this kind, the last one here");
}

#[test]
fn what_is_no_step_file_says_what_it_looks_like() {
    for (bytes, told) in [
        (b"".as_slice(), "the file is empty"),
        (b" \r\n", "the file is empty"),
        (b"PK\x03\x04abc", "zip archive: unpack it first"),
        (b"\xEF\xBB\xBF<?xml?>", "looks like XML"),
        (b"\xFF\xFEI\0S\0O\0", "UTF-16"),
        (b"{\"a\":1}", "looks like JSON"),
        (b"hello", "does not open with \"ISO-10303-21;\""),
    ] {
        let error = StepFile::index(bytes).unwrap_err().to_string();
        assert!(error.contains(told), "{error}");
    }
}

#[test]
fn a_missing_start_is_told() {
    file_reads(
        b"#1=A();",
        &["#1 "],
        &["line 1: the file does not open with", "names no schema", "cut short"],
    );
}
