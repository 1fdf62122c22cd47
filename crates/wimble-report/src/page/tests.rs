use super::*;
use crate::fixture;

fn page(report: &Report) -> String {
    let mut out = Vec::new();
    write(report, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn the_question_is_answered_first() {
    let page = page(&fixture::report());
    let heading = page.split("<h1>").nth(1).unwrap().split("</h1>").next().unwrap();
    assert_eq!(
        heading,
        "6 cuts in 4 members: 2 fail, 1 needs an engineer, 1 lacks a fact, 2 pass."
    );
}

#[test]
fn every_member_that_needs_attention_has_its_drawing_and_what_to_do() {
    let page = page(&fixture::report());
    for mark in ["J1", "J2", "J3", "J4"] {
        let article = page.split(&format!("data-mark=\"{mark}\"")).nth(1).unwrap();
        let article = article.split("</article>").next().unwrap();
        assert!(article.contains("role=\"img\""), "{mark} has no drawing");
        assert!(article.contains("class=\"steps\"") || article.contains("engineer"), "{mark}");
    }
    assert!(page.contains("Move the pipe 77 mm towards wall W-S."));
}

#[test]
fn names_of_the_model_are_only_text() {
    let mut report = fixture::report();
    let hostile = "\"><script>alert(1)</script>\u{202e}<img src=x onerror=alert(2)>";
    report.members[0].element.name = Some(hostile.into());
    report.members[0].bearings[0].name = hostile.into();
    report.services[3].element.name = Some(hostile.into());
    report.services[3].system = Some(hostile.into());
    report.storeys[1].name = hostile.into();
    report.inputs[0].path = hostile.into();
    report.warnings[0].text = hostile.into();
    report.assumptions.push(hostile.into());
    report.findings[0].message = hostile.into();
    report.findings[0].rule = hostile.into();
    report.coverage[0].class = hostile.into();
    report.coverage[0].reason = hostile.into();
    let page = page(&report);
    assert_eq!(page.matches("<script>").count(), 1, "only our own");
    assert!(!page.contains("<img"));
    assert!(!page.contains('\u{202e}'));
}

#[test]
fn nothing_is_fetched() {
    let page = page(&fixture::report());
    for outside in ["http://", "https://", "src=", "@import", "url(h", "<link"] {
        let found = page.match_indices(outside).count();
        assert_eq!(found, 0, "{outside}");
    }
    assert!(page.contains("default-src 'none'"));
}

#[test]
fn the_page_is_the_same_every_time() {
    assert_eq!(page(&fixture::report()), page(&fixture::report()));
}

#[test]
fn without_members_it_still_answers() {
    let page = page(&Report::default());
    assert!(page.contains("No timber member was found"));
    assert!(page.contains("Before anyone cuts"));
}
