use super::*;
use crate::fixture;

fn text(options: Options) -> String {
    let mut out = Vec::new();
    write(&fixture::report(), options, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

fn widest(text: &str) -> usize {
    text.lines().map(textwrap::core::display_width).max().unwrap()
}

#[test]
fn a_check_reads_like_a_letter() {
    insta::assert_snapshot!(text(Options::default()));
}

#[test]
fn all_shows_passes_and_notes() {
    insta::assert_snapshot!(text(Options { all: true, ..Options::default() }));
}

#[test]
fn what_was_recognised_is_told_by_storey_and_system() {
    let mut out = Vec::new();
    inspect(&fixture::report(), Options::default(), &mut out).unwrap();
    insta::assert_snapshot!(String::from_utf8(out).unwrap());
}

#[test]
fn no_line_is_wider_than_asked_nor_than_a_hundred() {
    assert!(widest(&text(Options { width: 400, ..Options::default() })) <= 100);
    assert!(widest(&text(Options { width: 60, all: true, ..Options::default() })) <= 60);
}

#[test]
fn tones_change_no_word() {
    let plain = text(Options::default());
    let toned = text(Options { colour: true, ..Options::default() });
    assert!(toned.contains("\u{1b}["));
    assert_eq!(strip_escapes(&toned), plain);
}

#[test]
fn nothing_in_the_model_can_write_escapes() {
    assert!(!text(Options { all: true, ..Options::default() }).contains('\u{1b}'));
}

#[test]
fn a_long_list_is_folded_with_a_count_and_the_way_to_see_it() {
    let mut report = fixture::report();
    let (member, cut, finding) =
        (report.members[0].clone(), report.cuts[1].clone(), report.findings[0].clone());
    for i in 0..20_u32 {
        let ix = wimble_model::MemberIx::from(report.members.len());
        let at = wimble_model::CutIx::from(report.cuts.len());
        let mut member = member.clone();
        member.element.name = Some(format!("X{i}").into());
        report.members.push(member);
        report.cuts.push(wimble_model::Cut { member: ix, ..cut.clone() });
        report.findings.push(wimble_model::Finding {
            member: ix,
            cuts: [at].into_iter().collect(),
            ..finding.clone()
        });
    }
    let mut out = Vec::new();
    write(&report, Options::default(), &mut out).unwrap();
    let text = String::from_utf8(out).unwrap();
    assert!(text.contains("Not listed: 11 more members with findings"), "{text}");
    assert!(text.contains("--all"));
}

fn strip_escapes(text: &str) -> String {
    let mut clean = String::new();
    let mut chars = text.chars();
    while let Some(c) = chars.next() {
        if c == '\u{1b}' {
            chars.find(|c| *c == 'm');
        } else {
            clean.push(c);
        }
    }
    clean
}
